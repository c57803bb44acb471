"""Judge the frame: fingers kept from teeth, wood about the bearings, feet that take the load."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial, reduce
from itertools import pairwise
from typing import Any

import numpy as np

from gearwork.checks.check import Check, CheckReport, Step, Subject
from gearwork.checks.hub.joints import JointUse, factor_steps
from gearwork.geometry.plate import EAR, END, END_PLAY, MARGIN, ROD_HOLE, TENON, foot_holes
from gearwork.machine.train import Ends, GearTrain
from gearwork.stock.hardware import Bearing
from gearwork.stock.laminate import Panel, weakest_direction
from gearwork.stock.timber import design_value

SAFETY_DISTANCES = (
    (4.0, 2.0), (6.0, 10.0), (8.0, 20.0), (10.0, 80.0), (12.0, 100.0), (20.0, 120.0),
    (120.0, 850.0),
)  # fmt: skip
"""Width of a slot up to which a distance from what hurts is enough, both mm: ISO 13857 Table 4,
people of 14 years and older (from memory)."""


_stress = partial(Check, kind="strength", unit="MPa", sense="at most")


def safety_distance(opening: float) -> float:
    """Return how far teeth must be behind a slot that is so wide, mm; infinite: close it."""
    return next((least for widest, least in SAFETY_DISTANCES if opening <= widest), math.inf)


@dataclass(frozen=True)
class FeetLoad:
    """What feet must take: greatest force, N, its moments along and across the rods, N·mm.

    `turning`: about an axis along the rods; `tilting`: about one along the feet. Statics about the
    middle of the feet; of forces in several directions the worst. Arrays for many trains.
    """

    force: Any
    turning: Any
    tilting: Any

    @classmethod
    def of(
        cls,
        events: Iterable[tuple[Any, Ends]],
        at: tuple[tuple[Any, Any], tuple[Any, Any]],
        half_depth: Any,
    ) -> "FeetLoad":
        """Return the worst of all that can happen.

        `events`: torque that turns the frame, N·m, and what is fixed to first and last shaft;
        `at`: where these stand from the middle of the feet, mm; `half_depth` over the plates, mm.
        """
        found = []
        for turned, ends in events:
            force, turning, tilting = 0.0, 1000.0 * turned, 0.0
            for (x, y), end in zip(at, ends, strict=True):
                arms = [sum(np.abs(x * f[1] - y * f[0]) for f, _ in way) for way in end.ways]
                force = force + end.force
                turning = turning + reduce(np.maximum, arms)
                if end.count == 1:  # pieces on both ends of a shaft do not tilt the frame
                    reach = half_depth + end.overhang
                    tilting = tilting + end.force * reach
            found.append((force, turning, tilting))
        return cls(*(reduce(np.maximum, column) for column in zip(*found, strict=True)))

    def pull(self, train: GearTrain) -> float:
        """Return the greatest pull at one of the screws, N: of four, all of it taken by them."""
        apart, across = _between_holes(train)
        pull: float = self.force / 4 + self.turning / (2 * apart) + self.tilting / (2 * across)
        return pull


def _between_holes(train: GearTrain) -> tuple[float, float]:
    """Distance of the screws from foot to foot, and across a foot, mm."""
    left, _, right, _ = train.box.bounds
    plates = train.stack_up.plates
    first = foot_holes(plates[1][0] - plates[0][1])[0]
    last = foot_holes(plates[-1][0] - plates[-2][1])[0]
    return right - left - EAR, float(plates[-1][0] - last - plates[0][1] - first)


def check_frame(
    train: GearTrain,
    plate: Panel,
    ball: Bearing,
    forces: Sequence[float],
    feet: FeetLoad,
    edge_tolerance: float,
    use: JointUse,
) -> CheckReport:
    """Judge guard, plates and feet.

    `plate`: the sheet of plates and boards; `forces`: the greatest on a bearing of each shaft, N;
    `edge_tolerance`: of routed edges, mm.
    """
    return CheckReport(
        Subject("frame", "frame"),
        (
            _guard(train, edge_tolerance),
            *(_web(train, plate, ball, i, force, use) for i, force in enumerate(forces)),
            _feet(train, plate, feet, use),
        ),
    )


def opening_of(edge_tolerance: float) -> float:
    """Return how far joints of the boards may gape, mm: their play, and two edges as cut."""
    return END_PLAY + 2.0 * edge_tolerance


def _guard(train: GearTrain, edge_tolerance: float) -> Check:
    """Teeth behind the joints of the boards; plates and boards close all other ways to them."""
    opening = opening_of(edge_tolerance)
    room = min(train.box.distance(train.points[g.shaft]) - g.gear.tip_diameter / 2
               for g in train.gears)  # fmt: skip
    least = safety_distance(opening)
    return Check(
        judged="teeth behind the joints of the guard",
        kind="room",
        value=room,
        limit=least,
        unit="mm",
        sense="at least",
        why=f"Plates and boards close the machine; their joints may gape by {opening:.2g} mm, and"
        " no finger may reach a tooth through them.",
        ways=((("frame.clearance", least),),) if math.isfinite(least) else (),
        source="ISO 13857 Table 4, slots, from 14 years on (from memory); play: assumption",
    )


def web_stresses(force: Any, wide: Any, seat: float, deep: float) -> tuple[Any, Any]:
    """Return shear and tension, MPa, in so much wood beside a seat, mm; arrays too.

    Torn out in two planes, F / (2 a t), or a beam over the seat held at its ends, 6 F D / (8 t a²).
    """
    return force / (2.0 * wide * deep), 6.0 * (force * seat / 8.0) / (deep * wide**2)


def foot_stress(load: FeetLoad, width: Any, apart: Any, thick: float) -> Any:
    """Return the bending stress of a foot board, MPa, held at its tenon; arrays too.

    `width` over the boards from plate to plate; `apart` from the screws of one foot to the other's,
    mm.
    """
    on_foot = load.force / 2.0 + load.turning / apart
    arm = END + TENON / 2.0 + thick + MARGIN + EAR / 2.0
    return 6.0 * on_foot * arm / (width * thick**2)


def _web(
    train: GearTrain, plate: Panel, ball: Bearing, shaft: int, force: float, use: JointUse
) -> Check:
    """Wood between a bearing's seat and what is cut next to it: torn out, or bent like a beam."""
    seat = ball.outer_diameter + train.frame.fit
    wide, where = min(_beside(train, shaft, seat))
    deep = min(ball.width, train.frame.plate_thickness)
    torn, bent = web_stresses(force, wide, seat, deep)
    direction, tension = weakest_direction(plate, "tension")
    factors = use.factors("shear")  # which tires soonest
    by_shear = torn / plate.panel_shear >= bent / tension
    name, value, strength = "panel shear strength", torn, plate.panel_shear
    if not by_shear:
        name = f"tension strength at {direction:g}° to the face grain, the weakest"
        value, strength = bent, tension
    limit = design_value(strength, *factors)
    return _stress(
        judged="wood beside the bearings",
        part=f"shaft {shaft + 1}",
        value=value,
        limit=limit,
        why=f"{force:.3g} N press on {wide:.1f} mm of wood between the seat and {where}, which"
        f" {'is torn out' if by_shear else 'bends'} as deep as the bearing is wide.",
        source="two planes sheared, F/(2 a t), or a held beam over the seat, 6 F D/(8 t a²)",
        basis=(Step(name, strength, "MPa", plate.sheet.source), *factor_steps(factors)),
    )


def _beside(train: GearTrain, shaft: int, seat: float) -> Iterator[tuple[float, str]]:
    """Wood from a seat to every other hole and to the boards, mm, and what is there."""
    at = train.points[shaft]
    for other, place in enumerate(train.points):
        if other != shaft and (min(shaft, other), max(shaft, other)) not in train.on_one_axis:
            yield math.dist(at, place) - seat, f"that of shaft {other + 1}"
    for place in train.box.rods:
        yield math.dist(at, place) - (seat + ROD_HOLE) / 2.0, "a rod of the frame"
    yield train.box.distance(at) - seat / 2.0, "the boards"


def _feet(train: GearTrain, plate: Panel, load: FeetLoad, use: JointUse) -> Check:
    """The foot boards where they leave the plates, bent by what one foot takes."""
    stack = train.stack_up.plates
    wide = sum(high[0] - low[1] for low, high in pairwise(stack))
    thick = train.frame.plate_thickness
    apart, _ = _between_holes(train)
    strength = (plate.sheet.bending or plate.sheet.tension)[0]
    factors = use.factors("shear")  # which tires soonest
    value, limit = foot_stress(load, wide, apart, thick), design_value(strength, *factors)
    on_foot = load.force / 2.0 + load.turning / apart
    return _stress(
        judged="bending of the feet",
        value=value,
        limit=limit,
        why=f"Drive and load lift one foot with up to {on_foot:.3g} N, no weight counted;"
        f" {load.pull(train):.3g} N on one screw.",
        source="statics about the middle of the feet; foot board held at its tenon",
        basis=(
            Step("bending strength along the face grain", strength, "MPa", plate.sheet.source),
            *factor_steps(factors),
        ),
    )
