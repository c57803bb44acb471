"""What to change on a shaft that bends too far: a thicker rod, shorter distances; tried out.

Judge a shaft: the rod's strength, its bearings, their seats in the sheet.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import partial
from math import ceil, inf, pow

from gearwork.checks.check import Check, CheckReport, Step, Subject, sentence
from gearwork.checks.hub.joints import Factors, wood_factors
from gearwork.checks.shaft.beam import Shaft, bearing_life, thread_fatigue_strength
from gearwork.errors import GearworkError, number
from gearwork.numbers import figures_down
from gearwork.stock.hardware import Bearing, Rod, bearing, bearings, rod, threads
from gearwork.stock.laminate import Panel, weakest_direction
from gearwork.stock.timber import design_value

Change = Callable[[Shaft], Shaft]
Trial = Callable[[Change], bool]
"""Whether a check holds with shafts changed like this."""

SHARES = range(95, 45, -5)
"""Shares of the distances that are tried, %."""


def stiffer_shaft(shaft: Shaft, holds: Trial, rods: str) -> Iterator[str]:
    """Yield the ways in which a stiffer shaft is enough.

    Parameters
    ----------
    shaft : Shaft
        As it is.
    holds : callable
        Makes the check again with changed shafts.
    rods : str
        What to say of a rod that is enough, with {rod} and {bearing} to be filled in.
    """
    for on in thicker_rods(shaft.rod):
        ball = bearing_on(on, shaft.bearing)
        if enough(holds, partial(replace, rod=on, bearing=ball)):
            yield rods.format(rod=on.thread, bearing=ball.name)
            break
    for share in SHARES:
        if enough(holds, partial(closer, share=share / 100.0, about=shaft.bearing_positions[0])):
            yield f"move gears and bearings together, to {share} % of their distances"
            break


def enough(holds: Trial, change: Change) -> bool:
    """Return whether a change can be made and is enough."""
    try:
        return holds(change)
    except GearworkError:
        return False  # the bearings would stand in each other


def fitting_bearings(on: Rod) -> list[Bearing]:
    """Return the bearings of the table through which a rod goes, the weakest first."""
    fitting = [ball for ball in map(bearing, bearings()) if ball.bore >= on.diameter]
    return sorted(fitting, key=lambda ball: ball.dynamic_rating)


def thicker_rods(than: Rod) -> list[Rod]:
    """Return the rods of the table that are thicker, of the same grade, thinnest first."""
    rods = (rod(name, than.grade.name) for name in threads())
    return [one for one in rods if one.diameter > than.diameter]


def bearing_on(on: Rod, present: Bearing) -> Bearing:
    """Return the present bearing if the rod goes through it, else the smallest no weaker."""
    if present.bore >= on.diameter:
        return present
    fitting = fitting_bearings(on)
    return next(
        (ball for ball in fitting if ball.dynamic_rating >= present.dynamic_rating), fitting[-1]
    )


def closer(shaft: Shaft, share: float, about: float) -> Shaft:
    """Return the shaft with all distances of bearings and loads from `about` shrunk."""

    def moved(x: float) -> float:
        return about + share * (x - about)

    first, second = shaft.bearing_positions
    return replace(
        shaft,
        bearing_positions=(moved(first), moved(second)),
        loads=tuple(replace(load, position=moved(load.position)) for load in shaft.loads),
    )


YIELD_SAFETY = 1.5
FATIGUE_SAFETY = 1.2
UNBRANDED = 0.75
LEAST_STATIC_SAFETY, WANTED_STATIC_SAFETY = 1.0, 1.5


@dataclass(frozen=True)
class _Case:
    """A shaft with all that it is judged by."""

    shaft: Shaft
    speed: float
    hours: float
    peak: float
    braking: Shaft | None
    plate: Panel
    plate_strength: tuple[float, float]
    quality: float
    factors: Factors

    @property
    def stress(self) -> float:
        """Greatest there is at all, MPa."""
        running = self.peak * float(self.shaft.von_mises_stress.max())
        back = 0.0 if self.braking is None else float(self.braking.von_mises_stress.max())
        return max(running, back)

    @property
    def peak_forces(self) -> tuple[float, float]:
        """Greatest on bearing A and B, N."""
        back = (0.0, 0.0) if self.braking is None else self.braking.bearing_forces
        a, b = (
            max(self.peak * driven, braked)
            for driven, braked in zip(self.shaft.bearing_forces, back, strict=True)
        )
        return a, b

    def changed(self, change: Change) -> "_Case":
        braking = None if self.braking is None else change(self.braking)
        return replace(self, shaft=change(self.shaft), braking=braking)


def check_shaft(
    shaft: Shaft,
    *,
    speed: float,
    plate: Panel,
    hours: float = 100.0,
    peak_factor: float = 1.0,
    braking: Shaft | None = None,
    branded_bearings: bool = False,
    factors: Factors | None = None,
) -> CheckReport:
    """Judge a rod, its bearings and their seats.

    Parameters
    ----------
    shaft : Shaft
        With its loads in normal running.
    speed : float
        rpm.
    plate : Plywood or Stack
        The sheet that holds the bearings.
    hours : float
        Wanted running time in the machine's life.
    peak_factor : float
        Greatest load (start, jam) over that in running; for strength and seats.
    braking : Shaft, optional
        The same shaft under the greatest load when the drive brakes; for strength and seats.
    branded_bearings : bool
        Whether the bearings are of a maker with a catalogue; others count three quarters.
    factors : tuple of Factor, optional
        Between characteristic and design strength of the seats. Default: `wood_factors()`.

    Returns
    -------
    CheckReport
        Stresses in MPa, deflections in mm, life in hours.

    Raises
    ------
    GearworkError
        If a number cannot be.

    Examples
    --------
    >>> from gearwork import Shaft, ShaftLoad, bearing, mesh_load, plywood, rod
    >>> wheel = mesh_load("wheel", 30.0, 1.0, 37.6, 20.0, mate_direction=0.0, face_width=24.0)
    >>> drum = ShaftLoad("drum", 80.0, (0.0, 0.0), torque=-1.0)
    >>> shaft = Shaft(rod("M8"), bearing("608"), (0.0, 60.0), (wheel, drum))
    >>> check_shaft(shaft, speed=60, plate=plywood("birch", 12)).ok
    True
    """
    case = _Case(
        shaft,
        number("speed of the shaft", speed, unit="rpm", above=0.0),
        number("running time", hours, unit="h", above=0.0),
        number("peak load over running load", peak_factor, at_least=1.0),
        braking,
        plate,
        weakest_direction(plate, "compression"),
        1.0 if branded_bearings else UNBRANDED,
        wood_factors() if factors is None else factors,
    )
    checks = (*_rod_checks(case), *_bearing_checks(case))
    rod, ball = shaft.rod, shaft.bearing
    return CheckReport(
        Subject("shaft", f"shaft, {rod.thread} {rod.grade.name} rod in {ball.name} bearings"),
        tuple(
            check if check.ok else replace(check, remedy=_remedy(case, check)) for check in checks
        ),
    )


class Judged(StrEnum):
    """What is judged of a shaft."""

    ROD = "rod"
    LIFE = "life"
    STATIC_SAFETY = "static safety"
    SEAT = "seat"


def _rod_checks(case: _Case) -> Iterator[Check]:
    shaft = case.shaft
    grade, cycles = shaft.rod.grade, 60.0 * case.speed * case.hours
    yield Check(
        judged=Judged.ROD,
        case="static",
        kind="strength",
        value=case.stress,
        limit=grade.yield_strength / YIELD_SAFETY,
        unit="MPa",
        sense="at most",
        why="Bending and torsion at the core of the thread under the greatest load; beyond the"
        " yield strength the rod stays bent.",
        remedy="",
        source="σ = 32 M/(π d3³), τ = 16 T/(π d3³), von Mises; safety 1.5 common practice",
        basis=(
            Step("yield strength R_p0.2", grade.yield_strength, "MPa", grade.source),
            Step("safety against yielding", YIELD_SAFETY, "", "common practice"),
        ),
    )
    strength = thread_fatigue_strength(shaft.rod.diameter, cycles)
    yield Check(
        judged=Judged.ROD,
        case="fatigue",
        kind="fatigue",
        value=float(shaft.bending_stress.max()),
        limit=strength / FATIGUE_SAFETY,
        unit="MPa",
        sense="at most",
        why=f"The rod turns {cycles:.2g} times under bending, each turn a full cycle, and the"
        " thread is its notch. Figures are those of a bolt at the first thread of its nut, also"
        " for stainless rods: an assumption, likely on the safe side between the nuts.",
        remedy="",
        source="VDI 2230 Part 1, rolled thread (from memory), bending at d3 as nominal stress",
        basis=(
            Step("amplitude a rolled thread bears so often", strength, "MPa", "VDI 2230"),
            Step("safety against fatigue", FATIGUE_SAFETY, "", "VDI 2230 (from memory)"),
        ),
    )


def _bearing_checks(case: _Case) -> Iterator[Check]:
    shaft = case.shaft
    ball = shaft.bearing
    for place, force, peak in zip("AB", shaft.bearing_forces, case.peak_forces, strict=True):
        yield Check(
            judged=Judged.LIFE,
            part=f"bearing {place}",
            kind="life",
            value=bearing_life(case.quality * ball.dynamic_rating, force, case.speed),
            limit=case.hours,
            unit="h",
            sense="at least",
            why=f"Nine in ten bearings run longer under {force:.3g} N.",
            remedy="",
            source="ISO 281, L10 = (C/P)³",
            basis=_rating_steps(case, "dynamic rating C", ball.dynamic_rating),
        )
        wanted = ceil(WANTED_STATIC_SAFETY * peak / case.quality)
        yield Check(
            judged=Judged.STATIC_SAFETY,
            part=f"bearing {place}",
            kind="safety",
            value=inf if peak == 0.0 else case.quality * ball.static_rating / peak,
            limit=LEAST_STATIC_SAFETY,
            wanted=WANTED_STATIC_SAFETY,
            unit="",
            sense="at least",
            why=f"C0 over the greatest force, {peak:.3g} N; below 1 the balls dent their track.",
            remedy=f"Keep it from shocks, or take a bearing with C0 of at least {wanted} N.",
            source="ISO 76, s0 = C0/P0; 1.5 for shocks (from memory)",
            basis=_rating_steps(case, "static rating C0", ball.static_rating),
        )
        yield _seat_check(case, place, peak)


def _rating_steps(case: _Case, quantity: str, rating: float) -> tuple[Step, Step]:
    return (
        Step(quantity, rating, "N", case.shaft.bearing.source),
        Step("share of it that counts", case.quality, "", "assumption: 0.75 for unbranded parts"),
    )


def _seat_check(case: _Case, place: str, peak: float) -> Check:
    ball, plate = case.shaft.bearing, case.plate
    depth = min(ball.width, plate.thickness)
    direction, strength = case.plate_strength
    return Check(
        judged=Judged.SEAT,
        part=f"bearing {place}",
        kind="strength",
        value=peak / (ball.outer_diameter * depth),
        limit=design_value(strength, *case.factors),
        unit="MPa",
        sense="at most",
        why="The outer ring presses on the sheet over its diameter and depth; a crushed seat lets"
        " the shaft wander.",
        remedy="",
        source="mean pressure F/(D t) against compression in the weakest direction of the plane",
        basis=(
            Step(
                f"compression strength at {direction:g}° to the face grain, the weakest",
                strength,
                "MPa",
                plate.source,
            ),
            *(Step(f.quantity, f.value, "", f.source) for f in case.factors),
        ),
    )


def _remedy(case: _Case, check: Check) -> str:
    """What makes this check hold, tried out."""
    ways = [*_changes(case, check)] or [_last_way(case, check)]
    return sentence(", or ".join(ways))


def _changes(case: _Case, check: Check) -> Iterator[str]:
    shaft, facts = case.shaft, (check.judged, check.part, check.case)

    def holds(change: Change) -> bool:
        again = case.changed(change)
        judged = (*_rod_checks(again), *_bearing_checks(again))
        return next(c.ok for c in judged if (c.judged, c.part, c.case) == facts)

    if check.judged == Judged.ROD:
        yield from stiffer_shaft(shaft, holds, "take an {rod} rod with {bearing} bearings")
        return
    if check.judged == Judged.SEAT:
        yield from _deeper_seat(case, check)
    for ball in fitting_bearings(shaft.rod):
        if enough(holds, partial(replace, bearing=ball)):
            wide = ball.bore > shaft.rod.diameter
            sleeve = f", with a {ball.bore:g} mm sleeve on the rod" * wide
            yield f"take {ball.name} bearings{sleeve}"
            return


def _deeper_seat(case: _Case, check: Check) -> Iterator[str]:
    ball, plate = case.shaft.bearing, case.plate
    depth = ceil(10.0 * min(ball.width, plate.thickness) * check.value / check.limit) / 10.0
    if depth <= ball.width:
        yield f"seat the bearing {depth:g} mm deep in a thicker sheet"


def _last_way(case: _Case, check: Check) -> str:
    """Where nothing in the tables helps: the number that would."""
    share = check.value / check.limit
    ball = case.shaft.bearing
    if check.judged == Judged.LIFE:
        rating = ball.dynamic_rating * pow(share, -1.0 / 3.0)
        life = figures_down(check.value)
        return f"take a bearing with C of at least {ceil(rating)} N, or accept {life:.10g} h"
    if check.judged == Judged.STATIC_SAFETY:
        return f"take a bearing with C0 of at least {ceil(ball.static_rating / share)} N"
    if check.judged == Judged.SEAT:
        ring = ceil(ball.outer_diameter * share)
        return f"seat the bearing in a steel ring of at least {ring} mm outside diameter"
    left = figures_down(100.0 / share)
    return f"no rod of the table is enough: lower the load to {left:.10g} %"
