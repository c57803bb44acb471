"""Strength of the teeth: what each gear bears in each load case, and the checks of it.

The answer of the strength side: greatest torque by load case, what limits it, the clutch.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from gearwork.checks.check import Check, Step, sentence
from gearwork.checks.hub.johansen import bolt_embedment
from gearwork.checks.tooth.load_case import LoadCase
from gearwork.checks.tooth.mesh import CutPair
from gearwork.checks.tooth.stress import (
    DIRECTIONS,
    SheetRose,
    Utilisation,
    root_stress,
    weakest_tooth,
)
from gearwork.errors import GearworkError, number
from gearwork.geometry.gear import Gear, GearShape
from gearwork.geometry.pair import PairShape, Side
from gearwork.numbers import figures_down, round_up
from gearwork.stock.laminate import Panel
from gearwork.stock.timber import Factor, design_value

Kind = Literal["tension", "compression", "shear", "contact"]

POISSON = 0.3
THICKEST = 1000.0
"""Face width up to which a pair is judged, mm."""

LARGEST_PEG = 30.0
"""Bolt diameter up to which the embedment rule of EN 1995-1-1 8.5.1.1 holds, mm."""

MEAN_PRESSURE = np.pi / 4
"""Mean over greatest pressure of a Hertzian line contact; embedment is a mean pressure too."""

WORDS = {
    "tension": "Stress along the root fillet on the pulled side",
    "compression": "Stress along the root fillet on the pushed side",
    "shear": "Shear across the root",
    "contact": "Pressure between the flanks",
}
BEAM = "beam of the section as cut, notch factor ISO 6336-3, stiffness of the sheet"
HERTZ = (
    "Hertz, two cylinders, mean pressure; embedment as limit, no fatigue of it known: assumption"
)


@dataclass(frozen=True)
class WeakestRoot:
    """Where the weakest tooth of a gear breaks, and what 1 N/mm at its tip does there.

    Attributes
    ----------
    kind : {"tension", "compression", "shear"}
        What gives way.
    share : float
        Of the strength used by 1 N of normal force per mm of face width.
    angle : float
        Direction of the stress to the face grain, degrees.
    strength : float
        Characteristic, in that direction, MPa.
    source : str
        How the stress was found.
    """

    kind: Kind
    share: float
    angle: float
    strength: float
    source: str


@dataclass(frozen=True)
class ToothLimit:
    """What one gear's weakest tooth bears in one load case.

    Attributes
    ----------
    side : {"pinion", "wheel"}
        The gear.
    case : LoadCase
        The load.
    kind : str
        What gives way first: "tension", "compression", "shear" or "contact".
    stress, strength : float
        Design stress under the case's torque and design strength, MPa.
    torque : float
        Greatest allowable torque on the pinion, N·m.
    source : str
        How the stress was found.
    basis : tuple of Step
        From the characteristic strength to the design value.
    """

    side: Side
    case: LoadCase
    kind: Kind
    stress: float
    strength: float
    torque: float
    source: str
    basis: tuple[Step, ...]


@dataclass(frozen=True)
class Capacity:
    """Torque on the pinion at which a pair reaches its characteristic strengths, N·m.

    Numbers, or arrays for as many pairs. The factors of a load case are not in it.

    Attributes
    ----------
    pinion, wheel : float or ndarray
        At which the weakest tooth of either gear breaks at the root.
    contact : float or ndarray
        At which the flanks crush.
    """

    pinion: Any
    wheel: Any
    contact: Any

    @classmethod
    def of(
        cls,
        pair: PairShape[Any],
        roots: tuple[Any, Any],
        panel: Panel,
        face_width: float,
    ) -> "Capacity":
        """Return the capacity of a pair or of arrays of pairs.

        Parameters
        ----------
        pair : PairShape
            The gears.
        roots : tuple of float or ndarray
            Share of the strength that 1 N/mm at the tip uses in the weakest tooth of pinion and
            wheel.
        panel : Plywood or Stack
            What they are cut from.
        face_width : float
            b, mm.
        """
        per_torque = line_load(pair.pinion, 1.0, face_width)
        pinion, wheel = (1.0 / (per_torque * share) for share in roots)
        radius, modulus = contact_radius(pair), _contact_modulus(panel)
        pressure = flank_embedment(radius, panel) / MEAN_PRESSURE
        return cls(pinion, wheel, pressure**2 * np.pi * radius / modulus / per_torque)

    def allowable(
        self, case: LoadCase, pinion_speed: Any, wheel_speed: Any, pitch_line_speed: Any
    ) -> Any:
        """Return the greatest torque the pinion may be given in a load case, N·m.

        Parameters
        ----------
        case : LoadCase
            Its torque and speed do not count here.
        pinion_speed, wheel_speed : float or ndarray
            rpm.
        pitch_line_speed : float or ndarray
            m/s.
        """
        pinion = self.pinion * case.share_left(pinion_speed, pitch_line_speed)
        wheel = self.wheel * case.share_left(wheel_speed, pitch_line_speed)
        contact = self.contact * case.static_share**2
        return np.minimum(np.minimum(pinion, wheel), contact) / case.application_factor


def line_load(pinion: GearShape[Any], torque: float, face_width: float) -> Any:
    """Return the normal force per mm of face width, F_n / b = T / (r_b b), N/mm."""
    return 2000 * torque / pinion.base_diameter / face_width


def tooth_limits(
    cut: CutPair,
    panel: Panel,
    face_width: float,
    cases: Sequence[LoadCase],
    roots: Mapping[Side, WeakestRoot] | None = None,
) -> tuple[ToothLimit, ...]:
    """Return what pinion and wheel bear, for each case, root first, then contact.

    The whole load stands at the tip on one tooth: a routed gear shares it only by chance.

    Parameters
    ----------
    cut : CutPair
        The pair as cut.
    panel : Plywood or Stack
        What the gears are cut from.
    face_width : float
        b, mm.
    cases : sequence of LoadCase
        The loads.
    roots : mapping, optional
        Weakest root of "pinion" and "wheel"; default `beam_roots`, finer `elastic_roots`.

    Returns
    -------
    tuple of ToothLimit
        Torques in N·m on the pinion, stresses and strengths in MPa.

    Examples
    --------
    >>> from gearwork import Bit, CutPair, Gear, GearPair, Service, plywood
    >>> from gearwork.checks import load_cases
    >>> cut = CutPair(GearPair(Gear(5, 14, 0.25), Gear(5, 38)), Bit(3.0))
    >>> cases = load_cases(1.0, 150.0, Service())
    >>> thin, thick = (tooth_limits(cut, plywood("birch", 12), b, cases)[0] for b in (12, 24))
    >>> round(thick.torque / thin.torque, 6)  # torque goes with the face width
    2.0
    """
    found = beam_roots(cut, panel) if roots is None else roots
    shares = found["pinion"].share, found["wheel"].share
    capacity = Capacity.of(cut.pair, shares, panel, face_width)
    limits = []
    for case in cases:
        limits += [
            _root_limit(cut, side, root, capacity, panel, case) for side, root in found.items()
        ]
        limits.append(_contact_limit(cut, capacity, panel, face_width, case))
    return tuple(limits)


def beam_roots(cut: CutPair, panel: Panel) -> dict[Side, WeakestRoot]:
    """Return the weakest root of pinion and wheel from beam theory."""
    rose = SheetRose.of(panel)
    return {
        side: weakest_place(
            weakest_tooth(root_stress(tooth, gear.tip_diameter), rose), panel, rose, BEAM
        )
        for side, gear, _, tooth in cut.sides()
    }


def weakest_place(share: Utilisation, panel: Panel, rose: SheetRose, source: str) -> WeakestRoot:
    """Return which of the shares counts, and the direction in which the sheet fails by it.

    Parameters
    ----------
    share : Utilisation
        In the worst direction, for 1 N/mm at a tooth's tip.
    panel : Plywood or Stack
        The sheet or stack.
    rose : SheetRose
        Its rose.
    source : str
        How the stress was found.
    """
    kind = share.kind
    strength = np.asarray(getattr(panel, f"{kind}_at")(DIRECTIONS))
    load = 1.0 if kind == "shear" else rose.edge_factor(DIRECTIONS)
    worst = int(np.argmax(load / strength))
    return WeakestRoot(
        kind=kind,  # type: ignore[arg-type]
        share=float(getattr(share, kind)),
        angle=float(DIRECTIONS[worst]),
        strength=float(strength[worst]),
        source=source,
    )


def _root_limit(
    cut: CutPair,
    side: Side,
    root: WeakestRoot,
    capacity: Capacity,
    panel: Panel,
    case: LoadCase,
) -> ToothLimit:
    gear: Gear = getattr(cut.pair, side)
    factors = case.factors(gear, cut.pair.pinion)
    design = design_value(root.strength, *factors)
    bearable = float(getattr(capacity, side)) / case.application_factor
    return ToothLimit(
        side=side,
        case=case,
        kind=root.kind,
        stress=case.torque / bearable * root.strength,
        strength=design,
        torque=bearable * design / root.strength,
        source=root.source,
        basis=root_basis(root, panel, factors),
    )


def root_basis(root: WeakestRoot, panel: Panel, factors: Sequence[Factor]) -> tuple[Step, ...]:
    """Return the way from the characteristic strength at a place to its design value."""
    name = f"{root.kind} strength at {root.angle:.3g}° to the grain"
    return _basis(name, root.strength, panel.source, factors)


def _basis(
    name: str, characteristic: float, source: str, factors: Sequence[Factor]
) -> tuple[Step, ...]:
    steps = [Step(f"characteristic {name}", characteristic, "MPa", source)]
    steps += [
        Step(f"{'divided by' if f.divides else 'times'} {f.quantity}", f.value, "", f.source)
        for f in factors
    ]
    return (*steps, Step("design value", design_value(characteristic, *factors), "MPa", "product"))


def contact_curvature(pair: PairShape[Any]) -> Any:
    """Return the least effective radius of curvature where one tooth pair carries alone, mm."""
    start, end = pair.contact_limits
    pitch = pair.pinion.base_pitch
    line = pair.line_of_action
    first, last = np.maximum(end - pitch, start), np.minimum(start + pitch, end)
    return np.minimum(first * (line - first), last * (line - last)) / line


def contact_radius(pair: PairShape[Any]) -> Any:
    """Return `contact_curvature`, kept above 0: a pair out of reach bears next to nothing."""
    return np.maximum(contact_curvature(pair), 1e-9)


def flank_embedment(radius: Any, panel: Panel) -> Any:
    """Return the characteristic embedment strength under a flank of this radius, mm, in MPa."""
    return bolt_embedment(np.minimum(2 * radius, LARGEST_PEG), panel.characteristic_density)


def _contact_modulus(panel: Panel) -> float:
    """Modulus of the contact of two flanks of one sheet, MPa."""
    return float(np.max(panel.modulus_at(DIRECTIONS))) / (2 * (1 - POISSON**2))


def _contact_limit(
    cut: CutPair, capacity: Capacity, panel: Panel, face_width: float, case: LoadCase
) -> ToothLimit:
    pair = cut.pair
    radius, factors = float(contact_radius(pair)), case.static_factors
    strength = float(flank_embedment(radius, panel))
    load = case.application_factor * line_load(pair.pinion, case.torque, face_width)
    return ToothLimit(
        side="pinion",
        case=case,
        kind="contact",
        stress=float(MEAN_PRESSURE * np.sqrt(load * _contact_modulus(panel) / (np.pi * radius))),
        strength=design_value(strength, *factors),
        torque=float(capacity.contact) * case.static_share**2 / case.application_factor,
        source=HERTZ,
        basis=_basis(
            f"embedment strength under a peg of {min(2 * radius, LARGEST_PEG):.3g} mm",
            strength,
            "EN 1995-1-1:2004 eq. (8.36)",
            factors,
        ),
    )


def strength_checks(limits: Sequence[ToothLimit], face_width: float) -> tuple[Check, ...]:
    """Return a check for each limit.

    Parameters
    ----------
    limits : sequence of ToothLimit
        From `tooth_limits`.
    face_width : float
        b, mm, for the remedy.
    """
    return tuple(_strength_check(limit, face_width) for limit in limits)


def _strength_check(limit: ToothLimit, face_width: float) -> Check:
    case = limit.case
    wider = round_up(face_width * case.torque / limit.torque, 1)
    thick = f"make the gears {wider:.10g} mm thick, " if wider <= THICKEST else ""
    flanks = limit.kind == "contact"
    return Check(
        judged="flank pressure" if flanks else "tooth bending",
        part="" if flanks else limit.side,
        case=case.name,
        kind="pressure" if flanks else case.kind,
        value=limit.stress,
        limit=limit.strength,
        unit="MPa",
        sense="at most",
        why=(
            f"{WORDS[limit.kind]}, weakest tooth, whole load at the tip; the pinion may be given"
            f" {limit.torque:.3g} N·m in this case, it is given {case.torque:.3g} N·m."
        ),
        remedy=sentence(
            f"{thick}keep the pinion's torque to {figures_down(limit.torque):.10g} N·m, or take a"
            " larger module"
        ),
        source=limit.source,
        basis=limit.basis,
    )


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


def place(limit: ToothLimit) -> str:
    """Return in words what gives way at a limit."""
    return KINDS[limit.kind].format(side=limit.side)


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
    >>> cut = CutPair(GearPair(Gear(5, 15, 0.2), Gear(5, 45)), Bit(3.0))
    >>> rating = rate_pair(cut, plywood("birch", 12), speed=150)
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
