"""The answer of the strength side: greatest torque by load case, what limits it, the clutch."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from gearwork.checks.load_case import Service, load_cases
from gearwork.checks.mesh import CutPair
from gearwork.checks.strength import ToothLimit, WeakestRoot, tooth_limits
from gearwork.errors import GearworkError, number
from gearwork.geometry.pair import Side
from gearwork.stock.laminate import Panel

UNKNOWNS = (
    "Fatigue: no tests of birch plywood are known. Figures of clear wood in cyclic bending are"
    " taken, from the static strength at one cycle straight over the logarithm of the cycles, and"
    " no endurance limit. They multiply the characteristic strength, with duration and partial"
    " factor on top, which errs on the safe side; how crossed veneers tire beside clear wood is"
    " not known and may err either way.",
    "Wear and fatigue of the flanks: nothing is known for plywood. Flank pressure is held against"
    " the strength under a bolt, once, without fatigue: that may be on the unsafe side for long"
    " running. Watch the flanks.",
    "Friction between the flanks is left out. At a coefficient of 0.3 it adds about an eighth to"
    " the pull at the root of the driving tooth, takes a little from the push and relieves the"
    " driven tooth: on the unsafe side only where the pull counts.",
    "Compression across the face: no characteristic value of birch plywood has been published."
    " A value below those of yellow birch and of EN 384 is taken, on the safe side; it matters"
    " under nuts and washers, not for the teeth.",
    "Friction of steel on plywood: 0.1 to 0.5 in the literature, and a clamp relaxes as the wood"
    " creeps. 0.15 is taken for what a clamp holds, on the safe side unless the faces are waxed or"
    " oily; half the clamp is taken as lost, on the unsafe side if nuts are never tightened"
    " again.",
    "The peak of stress at the fillet counts in full, though a peak a tenth of a millimetre wide"
    " need not break a tooth of veneers: on the safe side by an unknown amount.",
    "The whole load is put at the tip of one tooth. Well cut gears share it between two, which"
    " then have about a quarter in hand; that is not counted on.",
)
"""What is not known, what is assumed instead, and which way that errs."""

KINDS = {
    "tension": "root of the {side}, pulled side of the fillet",
    "compression": "root of the {side}, pushed side of the fillet",
    "shear": "root of the {side}, shear",
    "contact": "pressure between the flanks",
}


@dataclass(frozen=True)
class Rating:
    """What a pair may carry, by load case.

    Attributes
    ----------
    title : str
        Of what.
    limits : tuple of ToothLimit
        The first to be reached in each case.
    unknowns : tuple of str
        What is not known, what is assumed instead, and which way that errs.
    """

    title: str
    limits: tuple[ToothLimit, ...]
    unknowns: tuple[str, ...] = UNKNOWNS

    @classmethod
    def of(cls, limits: Iterable[ToothLimit], title: str = "pair") -> "Rating":
        """Return the rating from all limits of a pair, as `tooth_limits` gives them."""
        first: dict[str, ToothLimit] = {}
        for limit in limits:
            known = first.setdefault(limit.case.name, limit)
            if limit.torque < known.torque:
                first[limit.case.name] = limit
        return cls(title, tuple(first.values()))

    def __getitem__(self, case: str) -> ToothLimit:
        for limit in self.limits:
            if limit.case.name == case:
                return limit
        cases = ", ".join(limit.case.name for limit in self.limits)
        raise GearworkError(f"{self.title} is not rated for {case!r}; there are: {cases}")

    @property
    def rows(self) -> tuple[tuple[str, float, str, float], ...]:
        """Load case, greatest torque on the pinion in N·m, what gives way, design strength, MPa."""
        return tuple(
            (limit.case.name, limit.torque, place(limit), limit.strength) for limit in self.limits
        )

    def __str__(self) -> str:
        lines = [
            f"{case}: {torque:.3g} N·m on the pinion; first to give way: {what}, {strength:.3g} MPa"
            for case, torque, what, strength in self.rows
        ]
        return "\n".join([f"{self.title}, greatest torque", *lines])

    def _repr_html_(self) -> str:
        from gearwork.shop.report import rating_table

        return rating_table(self)


def place(limit: ToothLimit) -> str:
    """Return in words what gives way at a limit."""
    return KINDS[limit.kind].format(side=limit.side)


def rate_pair(
    cut: CutPair,
    panel: Panel,
    face_width: float,
    speed: float,
    service: Service | None = None,
    roots: Mapping[Side, WeakestRoot] | None = None,
) -> Rating:
    """Return the greatest torque a pair may be given running, starting and stalled.

    Parameters
    ----------
    cut : CutPair
        The pair as cut.
    panel : Plywood or Stack
        What the gears are cut from.
    face_width : float
        b, mm.
    speed : float
        Of the pinion, rpm.
    service : Service, optional
        How the machine is used.
    roots : mapping, optional
        As for `tooth_limits`.

    Returns
    -------
    Rating
        A row for each of "running", "starting" and "stall"; ``rating["stall"].torque`` in N·m.

    Raises
    ------
    GearworkError
        If face width or speed cannot be.

    Examples
    --------
    >>> from gearwork import Bit, CutPair, Gear, GearPair, plywood
    >>> cut = CutPair.by(GearPair(Gear(5, 14, 0.25), Gear(5, 38)), Bit(3.0))
    >>> rating = rate_pair(cut, plywood("birch", 12), face_width=24, speed=150)
    >>> rating["running"].torque < rating["stall"].torque  # what is seldom may be more
    True
    """
    cases = load_cases(1.0, speed, service or Service(), 1.0, 1.0)
    pair = cut.pair
    title = (
        f"pair {pair.pinion.teeth:g}/{pair.wheel.teeth:g}, module {pair.pinion.module:g} mm,"
        f" {face_width:g} mm thick"
    )
    return Rating.of(tooth_limits(cut, panel, face_width, cases, roots), title)


@dataclass(frozen=True)
class ClutchTorque:
    """Where to set the drive's clutch so that no tooth breaks at a stall.

    Attributes
    ----------
    torque : float
        At the drive, N·m.
    stage : int
        Whose teeth set it, the drive's stage first, from 1.
    limit : ToothLimit
        What gives way there.
    """

    torque: float
    stage: int
    limit: ToothLimit

    def __str__(self) -> str:
        return (
            f"Set the clutch to slip at {self.torque:.3g} N·m or less: stage {self.stage} then has"
            f" its greatest torque at a stall, {self.limit.torque:.3g} N·m on its pinion"
            f" ({place(self.limit)})."
        )


def clutch_torque(
    ratings: Sequence[Rating], stage_ratios: Sequence[float], efficiency: float = 1.0
) -> ClutchTorque:
    """Return the torque at which the drive's clutch must slip, by the weakest stage.

    Parameters
    ----------
    ratings : sequence of Rating
        Of every stage, the drive's first, with the case "stall".
    stage_ratios : sequence of float
        Ratio of each stage.
    efficiency : float
        Of one stage. 1, the default, lets the whole torque through, which is the safe side.

    Returns
    -------
    ClutchTorque
        Its `torque` in N·m at the drive, and whose teeth set it.

    Raises
    ------
    GearworkError
        If there is not one ratio for each rating, or a stage is not rated for a stall.

    Examples
    --------
    Two equal stages of ratio 3: the second bears three times the drive's torque and sets it.

    >>> from gearwork import Bit, CutPair, Gear, GearPair, plywood, rate_pair
    >>> cut = CutPair.by(GearPair(Gear(5, 15, 0.2), Gear(5, 45)), Bit(3.0))
    >>> rating = rate_pair(cut, plywood("birch", 12), face_width=24, speed=150)
    >>> clutch = clutch_torque([rating, rating], [3.0, 3.0])
    >>> clutch.stage, round(rating["stall"].torque / clutch.torque, 6)
    (2, 3.0)
    """
    if not ratings or len(ratings) != len(stage_ratios):
        raise GearworkError(
            f"there are {len(ratings)} ratings and {len(stage_ratios)} ratios: give one of each"
            " for every stage"
        )
    for ratio in stage_ratios:
        number("ratio of a stage", ratio, above=0.0)
    kept = number("efficiency of a stage", efficiency, above=0.0, at_most=1.0)
    gains = np.cumprod([1.0, *(ratio * kept for ratio in stage_ratios[:-1])])
    stalls = [rating["stall"] for rating in ratings]
    at_drive = [limit.torque / gain for limit, gain in zip(stalls, gains, strict=True)]
    weakest = int(np.argmin(at_drive))
    return ClutchTorque(float(at_drive[weakest]), weakest + 1, stalls[weakest])
