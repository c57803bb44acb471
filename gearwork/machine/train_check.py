"""Judge the placement of a train: does everything turn free, does it fit between the plates."""

import math
from functools import partial
from itertools import combinations

from gearwork.checks.check import Check, CheckReport, Subject
from gearwork.machine.frame import (
    closest,
    touching_distance,
)
from gearwork.machine.train import GearTrain
from gearwork.numbers import round_up

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
        source=_CLEARANCE,
    )


def _seats_check(train: GearTrain, pairs: list[tuple[int, int]]) -> Check:
    def wood(pair: tuple[int, int]) -> float:
        seats = sum(train.shafts[shaft].seat_diameter for shaft in pair) / 2
        return math.dist(*(train.points[shaft] for shaft in pair)) - seats

    one, other = min(pairs, key=wood)
    limit, value = train.frame.seat_wood, wood((one, other))
    return _room(
        judged="wood between bearing seats",
        value=value,
        limit=limit,
        why=f"The seats of shafts {one + 1} and {other + 1} are the closest; the plate must not"
        " break out between them, and each has a ring that holds its bearing.",
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
        ways=((("gap", round_up(limit)),),),
        source=_PLACES,
    )


def _middle_plate_check(train: GearTrain, one: int, other: int) -> Check:
    widths = train.shafts[one].bearing_width + train.shafts[other].bearing_width
    (plate,) = {*train.stack_up.carried[one]} & {*train.stack_up.carried[other]}
    low, high = train.stack_up.plates[plate]
    return _room(
        judged=f"plate between shafts {one + 1} and {other + 1}",
        value=float(high - low),
        limit=widths,
        why="The two shafts stand on one axis; both have a bearing in the plate between them.",
        ways=((("plate_thickness", round_up(widths)),),),
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
        ways=((("frame.output_height", round_up(output_height + limit - lowest, 1)),),),
        source=f"{_PLACES}; ground clearance: assumption unless given",
    )
