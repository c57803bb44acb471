"""Judge a shaft: the rod's strength, its bearings, their seats in the sheet."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import partial
from math import inf

from gearwork.checks.check import Check, CheckReport, Step, Subject
from gearwork.checks.hub.joints import Factors, JointUse, factor_steps
from gearwork.checks.shaft.beam import Shaft, bearing_life, thread_fatigue_strength
from gearwork.errors import number
from gearwork.numbers import how_often
from gearwork.stock.laminate import Panel, weakest_direction
from gearwork.stock.timber import design_value

Shock = tuple[Shaft, float]
"""A shaft under a load that comes now and then, and how often in its life."""

YIELD_SAFETY = 1.5  # common practice
FATIGUE_SAFETY = 1.2  # VDI 2230 (from memory)
UNBRANDED = 0.75  # share of a rating that counts where no maker stands behind it (assumption)
MIN_STATIC_SAFETY, WANTED_STATIC_SAFETY = 1.0, 1.5  # ISO 76; 1.5 for shocks (from memory)


@dataclass(frozen=True)
class _Case:
    """A shaft with all that it is judged by; `quality` is the share of the bearings' ratings."""

    running: tuple[Shaft, ...]
    speed: float
    hours: float
    peak: float
    shocks: tuple[Shock, ...]
    plate: Panel
    plate_strength: tuple[float, float]
    quality: float
    factors: Factors

    @property
    def shaft(self) -> Shaft:
        """As it runs, with the first of the forces that are possible."""
        return self.running[0]

    @property
    def max_stress(self) -> float:
        """Greatest there is at all, MPa."""
        running = (self.peak * float(one.von_mises_stress.max()) for one in self.running)
        return max(*running, *(float(one.von_mises_stress.max()) for one, _ in self.shocks), 0.0)

    @property
    def forces(self) -> tuple[float, float]:
        """Greatest on bearing A and B while it runs, N."""
        return _max_forces(one.bearing_forces for one in self.running)

    @property
    def peak_forces(self) -> tuple[float, float]:
        """Greatest on bearing A and B, N."""
        a, b = self.forces
        found = [(self.peak * a, self.peak * b), *(one.bearing_forces for one, _ in self.shocks)]
        return _max_forces(found)

    @property
    def cycles(self) -> tuple[float, float]:
        """Amplitude of bending that uses most of the thread, MPa, and how often it comes.

        Running, each turn is a full cycle. A shock bends the rod and lets go: half of it is
        amplitude.
        """
        found = [(float(one.bending_stress.max()), self.turns) for one in self.running]
        found += [(float(one.bending_stress.max()) / 2.0, often) for one, often in self.shocks]
        return max(
            found,
            key=lambda one: one[0] / thread_fatigue_strength(self.shaft.rod.diameter, one[1]),
        )

    @property
    def turns(self) -> float:
        """In its life."""
        return 60.0 * self.speed * self.hours


def _max_forces(forces: Iterable[tuple[float, float]]) -> tuple[float, float]:
    on_a, on_b = zip(*forces, strict=True)
    return max(on_a), max(on_b)


def check_shaft(
    shaft: Shaft,
    *,
    speed: float,
    plate: Panel,
    hours: float = 100.0,
    peak_factor: float = 1.0,
    others: Sequence[Shaft] = (),
    shocks: Sequence[Shock] = (),
    branded_bearings: bool = False,
    use: JointUse | None = None,
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
        Greatest load (start, jam) over that in running, where shocks do not say it.
    others : sequence of Shaft
        The same shaft running, with its forces in other directions that are possible.
    shocks : sequence of (Shaft, float)
        The same shaft under each load that comes now and then, and how often in its life: stall,
        braking, bumps.
    branded_bearings : bool
        Whether the bearings are of a maker with a catalogue; others count three quarters.
    use : JointUse, optional
        What decides between characteristic and design strength of the seats.

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
    >>> from gearwork import plywood
    >>> from gearwork.checks import Shaft, ShaftLoad, mesh_load
    >>> from gearwork.stock import bearing, rod
    >>> wheel = mesh_load("wheel", 30.0, 1.0, 37.6, 20.0, mate_direction=0.0, face_width=24.0)
    >>> drum = ShaftLoad("drum", 80.0, (0.0, 0.0), torque=-1.0)
    >>> shaft = Shaft(rod("M8"), bearing("608"), (0.0, 60.0), (wheel, drum))
    >>> check_shaft(shaft, speed=60, plate=plywood("birch", 12)).ok
    True
    """
    case = _Case(
        (shaft, *others),
        number("speed of the shaft", speed, unit="rpm", above=0.0),
        number("running time", hours, unit="h", above=0.0),
        number("peak load over running load", peak_factor, at_least=1.0),
        tuple(shocks),
        plate,
        weakest_direction(plate, "compression"),
        1.0 if branded_bearings else UNBRANDED,
        (use or JointUse()).factors("compression"),
    )
    rod, ball = shaft.rod, shaft.bearing
    return CheckReport(
        Subject("shaft", f"shaft, {rod.thread} {rod.grade.name} rod in {ball.name} bearings"),
        tuple(_checks(case)),
    )


class Judged(StrEnum):
    """What is judged of a shaft."""

    ROD = "rod"
    LIFE = "life"
    STATIC_SAFETY = "static safety"
    SEAT = "seat"


def _checks(case: _Case) -> Iterator[Check]:
    shaft, ball, plate = case.shaft, case.shaft.bearing, case.plate
    grade, (bending, cycles) = shaft.rod.grade, case.cycles
    often = f"Shocks bend the rod {how_often(cycles, 2)} times"
    if cycles == case.turns:
        often = f"The rod turns {how_often(cycles, 2)} times under bending, each turn a full cycle"
    most = partial(Check, unit="MPa", sense="at most")
    yield most(
        judged=Judged.ROD,
        case="static",
        kind="strength",
        value=case.max_stress,
        limit=grade.yield_strength / YIELD_SAFETY,
        why="Bending and torsion at the core of the thread under the largest load; beyond the"
        " yield strength the rod stays bent.",
        source="σ = 32 M/(π d3³), τ = 16 T/(π d3³), von Mises; safety 1.5 common practice",
        basis=(
            Step("yield strength R_p0.2", grade.yield_strength, "MPa", grade.source),
            Step("safety against yielding", YIELD_SAFETY, "", "common practice"),
        ),
    )
    amplitude = float(thread_fatigue_strength(shaft.rod.diameter, cycles))
    yield most(
        judged=Judged.ROD,
        case="fatigue",
        kind="fatigue",
        value=bending,
        limit=amplitude / FATIGUE_SAFETY,
        why=f"{often}, and the thread is its notch. Figures are those of a bolt at the first thread"
        " of its nut, also for stainless rods: an assumption, likely on the safe side between the"
        " nuts.",
        source="VDI 2230 Part 1, rolled thread (from memory), bending at d3 as nominal stress",
        basis=(
            Step("amplitude a rolled thread bears so often", amplitude, "MPa", "VDI 2230"),
            Step("safety against fatigue", FATIGUE_SAFETY, "", "VDI 2230 (from memory)"),
        ),
    )
    counted = Step(
        "share of it that counts", case.quality, "", "assumption: 0.75 for unbranded parts"
    )
    direction, strength = case.plate_strength
    weakest = f"compression strength at {direction:g}° to the face grain, the weakest"
    seat_basis = (Step(weakest, strength, "MPa", plate.sheet.source), *factor_steps(case.factors))
    for place, force, peak in zip("AB", case.forces, case.peak_forces, strict=True):
        part = f"bearing {place}"
        least = partial(Check, part=part, sense="at least")
        yield least(
            judged=Judged.LIFE,
            kind="life",
            value=float(bearing_life(case.quality * ball.dynamic_rating, force, case.speed)),
            limit=case.hours,
            unit="h",
            why=f"Nine in ten bearings run longer under {force:.3g} N.",
            source="ISO 281, L10 = (C/P)³",
            basis=(Step("dynamic rating C", ball.dynamic_rating, "N", ball.source), counted),
        )
        yield least(
            judged=Judged.STATIC_SAFETY,
            kind="safety",
            value=inf if peak == 0.0 else case.quality * ball.static_rating / peak,
            limit=MIN_STATIC_SAFETY,
            wanted=WANTED_STATIC_SAFETY,
            unit="",
            meaning=("Below 1 the balls dent their track.",),
            why=f"C0 over the largest force, {peak:.3g} N.",
            source="ISO 76, s0 = C0/P0; 1.5 for shocks (from memory)",
            basis=(Step("static rating C0", ball.static_rating, "N", ball.source), counted),
        )
        yield most(
            judged=Judged.SEAT,
            part=part,
            kind="strength",
            value=peak / (ball.outer_diameter * min(ball.width, plate.thickness)),
            limit=design_value(strength, *case.factors),
            why="The outer ring presses on the sheet over its diameter and depth; a crushed seat"
            " lets the shaft wander.",
            source="mean pressure F/(D t) against compression in the weakest direction of the"
            " plane",
            basis=seat_basis,
        )
