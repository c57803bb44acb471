"""Judge the placement of a train: does everything turn free, does it fit between the plates."""

import math
from dataclasses import replace
from functools import partial
from itertools import combinations

import numpy as np

from gearwork.checks.check import Check, CheckReport, Subject
from gearwork.machine.frame import (
    RING_WALL,
    Column,
    Cylinder,
    closest,
    fold_opening,
    touching_distance,
)
from gearwork.machine.train import GearTrain
from gearwork.numbers import round_down, round_up

_PLACES = "places and sizes of all bodies of the train"
_CLEARANCE = f"{_PLACES}; clearance: assumption unless given"
_ROUNDING = 1e-6
_room = partial(Check, unit="mm", sense="at least", kind="room")


def check_train(train: GearTrain) -> CheckReport:
    """Judge whether gears, hubs, rods, plates and ground keep clear of each other.

    Bodies count as discs of their greatest diameter; meshing teeth are left to the checks of
    the pair.

    Parameters
    ----------
    train : GearTrain
        With its frame.

    Returns
    -------
    CheckReport
        Room in mm between all that turns and stands.

    Examples
    --------
    >>> from gearwork import Gear, GearPair
    >>> from gearwork.machine import Frame, GearTrain, ShaftParts, Stage
    >>> stage = Stage(GearPair(Gear(module=5, teeth=16), Gear(module=5, teeth=44)), face_width=24)
    >>> parts = ShaftParts(8, hub_diameter=24, hub_height=8, seat_diameter=22, bearing_width=7)
    >>> train = GearTrain((stage, stage), (parts,) * 3, Frame(plate_thickness=18, gap=12))
    >>> check_train(train).ok
    True
    """
    shared = train.on_one_axis
    pairs = [p for p in combinations(range(len(train.shafts)), 2) if p not in shared]
    checks = [check for pair in pairs if (check := _shafts_check(train, *pair)) is not None]
    checks += [_seats_check(train, pairs), _gap_check(train)]
    checks += [_middle_plate_check(train, *pair) for pair in shared]
    if train.frame.output_height is not None:
        checks.append(_ground_check(train, train.frame.output_height))
    return CheckReport(Subject("train", "room in the train"), tuple(checks))


def _shafts_check(train: GearTrain, one: int, other: int) -> Check | None:
    columns, room = train.columns, train.frame.clearance
    bodies = closest(columns[one], columns[other], room)
    if bodies is None:
        return None
    distance = math.dist(train.points[one], train.points[other])
    first, second = bodies
    return _room(
        judged=f"room between shafts {one + 1} and {other + 1}",
        value=distance - touching_distance(bodies),
        limit=room - _ROUNDING,
        why=f"Of all that passes there, {first.name} and {second.name} come closest.",
        remedy=_shafts_remedy(train, (one, other), bodies, distance),
        source=_CLEARANCE,
    )


def _shafts_remedy(
    train: GearTrain, pair: tuple[int, int], bodies: tuple[Cylinder, Cylinder], distance: float
) -> str:
    needed = touching_distance(bodies) + train.frame.clearance
    one, other = pair
    if other == one + 2:
        return _fold_remedy(train, one + 1, needed)
    if other > one + 2:
        return (
            f"Set the two shafts at least {round_up(needed):.2f} mm apart by other angles of the"
            " stages."
        )
    hubs = _narrower_hub(train, pair, bodies, 2 * (needed - distance))
    return f"{hubs}{_raised_distance(train, pair, distance)}"


def _raised_distance(train: GearTrain, pair: tuple[int, int], distance: float) -> str:
    """Which gear of a stage must grow, and by how much.

    What fouls the pinion asks for a larger wheel and the other way round, as each gear keeps its
    distance to what stands beside it when the other grows; for the rest either will do.
    """
    one, other = pair
    first, second, room = train.columns[one], train.columns[other], train.frame.clearance
    pinion, wheel = ([body for body in column if one in body.meshes] for column in (first, second))

    def lack(first: Column, second: Column) -> float:
        return max(touching_distance(closest(first, second, room)) + room - distance, 0.0)

    by_wheel, by_pinion = lack(pinion, second), lack(first, wheel)
    by_pinion += max(lack(first, second) - by_wheel - by_pinion, 0.0)
    growths = (("pinion", 2 * by_pinion), ("wheel", 2 * by_wheel))
    larger = " and ".join(
        f"the {name} {round_up(growth):.2f} mm" for name, growth in growths if growth > 0
    )
    same = "".join(f" and the {name} as it is" for name, growth in growths if growth == 0)
    return (
        f"Raise the centre distance of stage {other} from {distance:.2f} to at least"
        f" {round_up(distance + by_pinion + by_wheel):.2f} mm: {larger} larger in diameter{same}."
    )


def _narrower_hub(
    train: GearTrain, pair: tuple[int, int], bodies: tuple[Cylinder, Cylinder], excess: float
) -> str:
    """Another way out where it is enough to make a hub smaller."""
    room = train.frame.clearance
    for (shaft, mate), body in zip((pair, pair[::-1]), bodies, strict=True):
        widest = round_down(body.diameter - excess)
        if body.is_hub and widest > train.shafts[shaft].rod_diameter:
            slim = [replace(b, diameter=widest) if b.is_hub else b for b in train.columns[shaft]]
            left = closest(slim, train.columns[mate], room)
            if touching_distance(left) <= touching_distance(bodies) - excess / 2:
                return (
                    f"Take nuts and washers no wider than {widest:.2f} mm on shaft {shaft + 1}, or"
                    " let them into the gear. Or: "
                )
    return ""


def _fold_remedy(train: GearTrain, corner: int, needed: float) -> str:
    first, second = train.centre_distances[corner - 1 : corner + 1]
    now = fold_opening(train.points, corner)
    lines = f"the centre lines at shaft {corner + 1}"
    if needed >= first + second:
        return (
            f"No angle helps: make the centre distances of stages {corner} and {corner + 1} add up"
            f" to more than {round_up(needed):.2f} mm, now {first + second:.2f} mm."
        )
    cosine = (first**2 + second**2 - needed**2) / (2 * first * second)
    opening = math.ceil(10 * math.degrees(math.acos(np.clip(cosine, -1.0, 1.0)))) / 10
    return f"Open the angle between {lines} from {now:.1f}° to at least {opening:.1f}°."


def _seats_check(train: GearTrain, pairs: list[tuple[int, int]]) -> Check:
    def wood(pair: tuple[int, int]) -> float:
        seats = sum(train.shafts[shaft].seat_diameter for shaft in pair) / 2
        return math.dist(*(train.points[shaft] for shaft in pair)) - seats

    one, other = min(pairs, key=wood)
    limit, value = max(train.frame.plate_thickness / 2, 2.0 * RING_WALL), wood((one, other))
    return _room(
        judged="wood between bearing seats",
        value=value,
        limit=limit,
        why=f"The seats of shafts {one + 1} and {other + 1} are the closest; the plate must not"
        " break out between them, and each has a ring that holds its bearing.",
        remedy=f"Set these shafts at least {round_up(limit - value):.2f} mm farther apart, or take"
        " smaller bearings.",
        source=f"{_PLACES}; half the plate's thickness, width of the rings: assumption",
    )


def _gap_check(train: GearTrain) -> Check:
    highest = max(parts.hub_height for parts in train.shafts)
    limit = max(highest, train.frame.clearance)
    return _room(
        judged="gap between planes of gears",
        value=train.frame.gap,
        limit=limit,
        why=f"Nuts and washers {highest:.2f} mm high stand between gear and gear, and between gear"
        " and plate.",
        remedy=f"Make the gap at least {round_up(limit):.2f} mm, or let the nuts into the gears.",
        source=_PLACES,
    )


def _middle_plate_check(train: GearTrain, one: int, other: int) -> Check:
    widths = train.shafts[one].bearing_width + train.shafts[other].bearing_width
    return _room(
        judged=f"plate between shafts {one + 1} and {other + 1}",
        value=train.frame.plate_thickness,
        limit=widths,
        why="The two shafts stand on one axis; both have a bearing in the plate between them.",
        remedy=f"Make the plates at least {round_up(widths):.2f} mm thick, or take narrower"
        " bearings.",
        source=_PLACES,
    )


def _ground_check(train: GearTrain, output_height: float) -> Check:
    lowest = train.box.edge[1] - (train.points[-1][1] - output_height)
    limit = train.frame.ground_clearance
    return _room(
        judged="ground clearance",
        value=lowest,
        limit=limit,
        why=f"The lid under the gears reaches lowest, with the output shaft {output_height:.1f} mm"
        " above the ground.",
        remedy="Set the output shaft at least"
        f" {round_up(output_height + limit - lowest):.2f} mm above it, or give"
        " angles that lift the lowest gear by"
        f" {round_up(limit - lowest):.2f} mm.",
        source=f"{_PLACES}; ground clearance: assumption unless given",
    )
