"""Strength of the teeth: what each gear bears in each load case, and the checks of it.

The answer of the strength side: greatest torque by load case, what limits it, the clutch.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import Any, Literal

import numpy as np

from gearwork.checks.check import Check, Step, Way
from gearwork.checks.hub.johansen import bolt_embedment
from gearwork.checks.tooth.breaking import (
    ExpectedBreak,
    breaking_shares,
    expected_break,
    measured_break,
)
from gearwork.checks.tooth.load_case import LoadCase
from gearwork.checks.tooth.mesh import CutPair
from gearwork.checks.tooth.speed import (
    DEVIATION,
    SUBCRITICAL,
    bearable,
    relative_speed,
    thrown_load,
)
from gearwork.checks.tooth.stress import DIRECTIONS, SheetPolar, Utilisation
from gearwork.errors import GearworkError, number
from gearwork.geometry.gear import GearShape
from gearwork.geometry.pair import PairShape, Side
from gearwork.geometry.rack import Rack
from gearwork.geometry.tooth import CutTooth
from gearwork.numbers import FUZZ, figures_down, last_that, told_apart
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
BEAM = (
    "beam of the section as cut, notch factor ISO 6336-3, stiffness of the sheet, each layer alone;"
    " wood that yields when pushed, own elements"
)
KV_SOURCE = (
    "ISO 6336-1 method B with the stiffness of the sheet (from memory); deviations of three"
    " standard deviations of the cutting error; assumption: soft rods keep the rotor out of it"
)
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
    breaks : ExpectedBreak, optional
        Where the weakest tooth breaks on average, N/mm.
    origin : str
        Where the strength comes from, if not from the table of the sheet.
    """

    kind: Kind
    share: float
    angle: float
    strength: float
    source: str
    breaks: ExpectedBreak | None = None
    origin: str = ""


@dataclass(frozen=True)
class ToothLimit:
    """What one gear's weakest tooth bears in one load case.

    Attributes
    ----------
    side : {"pinion", "wheel"}
        The gear.
    part : str
        What it is called: a rack is no wheel.
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
    expected_break : float
        Torque on the pinion at which a tooth of the pair, whichever gear's is first, is expected
        to break: the mean of one slow load, N·m.
    expected_range : tuple of float
        From where the pulled edge may begin to split to where a millimetre of it is at its
        strength, N·m.
    max_speed : float
        Of the pinion, rpm, up to which the case's torque is allowed, where at its own nothing is.
    """

    side: Side
    part: str
    case: LoadCase
    kind: Kind
    stress: float
    strength: float
    torque: float
    source: str
    basis: tuple[Step, ...]
    expected_break: float
    expected_range: tuple[float, float]
    max_speed: float = np.inf

    @property
    def ratio(self) -> float:
        """Expected breaking torque over the allowed one; infinite where nothing is allowed."""
        return self.expected_break / self.torque if self.torque > 0.0 else np.inf

    @property
    def break_words(self) -> str:
        """Where a tooth is expected to break: "12.5 N·m (7.3 to 17.7)"."""
        low, high = self.expected_range
        return f"{self.expected_break:.3g} N·m ({low:.3g} to {high:.3g})"

    @property
    def place(self) -> str:
        """What gives way, in words."""
        return KINDS[self.kind].format(part=self.part)

    @property
    def summary(self) -> str:
        """Both figures and their ratio, in words."""
        return (
            f"breaks at about {self.break_words}, allowed {self.torque:.3g} N·m,"
            f" {self.ratio:.2g} times less"
        )

    @property
    def chain(self) -> str:
        """Both figures and what lies between them, in words."""
        steps = "; ".join(f"{s.quantity} {s.value:.3g}" for s in self.basis[1:-1])
        weak = "" if self.kind != "contact" else "; the flanks are the limit, not the root"
        return (
            f"{self.summary}: from the mean to the characteristic strength, from a split right"
            f" through to the first fibre; {steps}; K_A {self.case.application_factor:g}{weak}"
        )


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
    tuning : float or ndarray
        Share of the speed of resonance that 1 rpm of the pinion makes.
    thrown : float or ndarray
        What deviations of the teeth add at resonance.
    """

    pinion: Any
    wheel: Any
    contact: Any
    tuning: Any
    thrown: Any

    @classmethod
    def of(
        cls,
        pair: PairShape[Any],
        roots: tuple[Any, Any],
        panel: Panel,
        face_width: float,
        deviation: float = DEVIATION,
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
        deviation : float
            Of base pitch and profile as cut, mm.
        """
        per_torque = line_load(pair.pinion, 1.0, face_width)
        pinion, wheel = (1.0 / (per_torque * share) for share in roots)
        radius = contact_radius(pair)
        pressure = flank_embedment(radius, panel) / MEAN_PRESSURE
        contact = pressure**2 * np.pi * radius / _contact_modulus(panel) / per_torque
        modulus = 1.0 / float(np.mean(1.0 / np.asarray(panel.sheet.modulus_at(DIRECTIONS))))
        tuning = relative_speed(pair, 1.0, modulus, panel.sheet.density)
        thrown = thrown_load(pair, modulus, deviation) / per_torque
        return cls(pinion, wheel, contact, tuning, thrown)

    def allowable(self, case: LoadCase, pinion_speed: Any, wheel_speed: Any) -> Any:
        """Return the greatest torque the pinion may be given in a load case, N·m.

        Parameters
        ----------
        case : LoadCase
            Its torque and speed do not count here.
        pinion_speed, wheel_speed : float or ndarray
            rpm.
        """
        pinion = self.pinion * case.share_left(pinion_speed)
        wheel = self.wheel * case.share_left(wheel_speed)
        if case.driver == "pinion":
            pinion = pinion / case.drag.value
        else:
            wheel = wheel / case.drag.value
        pinion, wheel = (self.bearable(torque, case, pinion_speed) for torque in (pinion, wheel))
        contact = self.contact * case.static_share**2
        return np.minimum(np.minimum(pinion, wheel), contact) / case.application_factor

    def bearable(self, torque: Any, case: LoadCase, pinion_speed: Any) -> Any:
        """Return what K_v leaves of a torque that teeth or rim bear at rest, N·m.

        Only while it runs: what starts or stalls is slow.
        """
        if not case.repeated:
            return torque
        return bearable(torque, self.speed_share(pinion_speed), self.thrown)

    def speed_share(self, pinion_speed: Any) -> Any:
        """Return N, the share of the speed of resonance, at most that up to which K_v holds."""
        return np.minimum(self.tuning * pinion_speed, SUBCRITICAL)


def line_load(pinion: GearShape[Any], torque: float, face_width: float) -> Any:
    """Return the normal force per mm of face width, F_n / b = T / (r_b b), N/mm."""
    return 2000 * torque / pinion.base_diameter / face_width


def tooth_limits(
    cut: CutPair,
    panel: Panel,
    face_width: float,
    cases: Sequence[LoadCase],
    roots: Mapping[Side, WeakestRoot] | None = None,
    deviation: float = DEVIATION,
) -> tuple[ToothLimit, ...]:
    """Return what pinion and wheel bear, for each case, root first, then contact.

    One assumption of sharing: the whole load stands on one pair of teeth, at the tip for the
    root, and between the flanks alike: a routed gear shares it only by chance.

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
    deviation : float
        Of base pitch and profile as cut, mm: three standard deviations of the cutting error.

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
    capacity = Capacity.of(cut.pair, shares, panel, face_width, deviation)
    # The weaker of both gears breaks; elements change the limits, not what is expected.
    plain = found if roots is None or found["pinion"].breaks else beam_roots(cut, panel)
    breaks = min((root.breaks for root in plain.values() if root.breaks), key=lambda b: b.mean)
    torque = 1.0 / line_load(cut.pair.pinion, 1.0, face_width)
    broken = float(breaks.mean * torque), (float(breaks.low * torque), float(breaks.high * torque))
    limits = []
    for case in cases:
        limits += [
            _root_limit(cut, side, root, capacity, panel, case, broken)
            for side, root in found.items()
        ]
        limits.append(_contact_limit(cut, capacity, panel, face_width, case, broken))
    return tuple(limits)


def beam_roots(cut: CutPair, panel: Panel) -> dict[Side, WeakestRoot]:
    """Return the weakest root of pinion and wheel from beam theory."""
    rose, shown = SheetPolar.of_teeth(panel), panel.sheet.broken_teeth
    origin = "" if shown is None else shown.source
    found: dict[Side, WeakestRoot] = {}
    for side, gear, _, tooth in cut.sides():
        root = weakest_place(breaking_shares(tooth, gear.tip_diameter, rose), rose, BEAM)
        found[side] = replace(root, breaks=tooth_break(tooth, panel), origin=origin)
    return found


def tooth_break(tooth: CutTooth[float], panel: Panel) -> ExpectedBreak:
    """Return where the weakest tooth breaks on average, loaded at its tip, from beam theory."""
    shown = panel.sheet.broken_teeth
    measured = shown is not None and shown.covers
    rose = SheetPolar.of_teeth(panel) if measured else SheetPolar.of(panel)
    share = float(breaking_shares(tooth, tooth.gear.tip_diameter, rose).max)
    if shown is not None and measured:
        return measured_break(share, shown.weakest)
    return expected_break(share / rose.layers, tooth.fillet_diameter / 2, rose.layers)


def weakest_place(share: Utilisation, rose: SheetPolar, source: str) -> WeakestRoot:
    """Return which of the shares counts, and the direction in which the sheet fails by it.

    Parameters
    ----------
    share : Utilisation
        In the worst direction, for 1 N/mm at a tooth's tip.
    rose : SheetPolar
        Of the sheet or stack.
    source : str
        How the stress was found.
    """
    kind = share.kind
    strength = getattr(rose, kind)
    load = rose.edge_factor(DIRECTIONS) if kind == "tension" else 1.0
    worst = int(np.argmax(load / strength))
    return WeakestRoot(
        kind=kind,  # type: ignore[arg-type]
        share=float(getattr(share, kind)),
        angle=float(DIRECTIONS[worst]),
        strength=float(strength[worst]),
        source=source,
    )


Broken = tuple[float, tuple[float, float]]
"""Expected break and its range, N·m on the pinion."""


def _root_limit(
    cut: CutPair,
    side: Side,
    root: WeakestRoot,
    capacity: Capacity,
    panel: Panel,
    case: LoadCase,
    broken: Broken,
) -> ToothLimit:
    at_rest = float(getattr(capacity, side))
    factors = speed_factors(cut, side, capacity, case, at_rest)
    design = design_value(root.strength, *factors)
    unfactored = at_rest / case.application_factor
    torque = unfactored * design / root.strength
    return ToothLimit(
        side=side,
        part=cut.called(side),
        case=case,
        kind=root.kind,
        stress=case.torque / unfactored * root.strength,
        strength=design,
        torque=torque,
        source=root.source,
        basis=root_basis(root, panel, factors),
        expected_break=broken[0],
        expected_range=broken[1],
        max_speed=np.inf if torque > 0.0 else _max_speed(cut, side, capacity, case, at_rest),
    )


def _max_speed(
    cut: CutPair, side: Side, capacity: Capacity, case: LoadCase, at_rest: float
) -> float:
    """Speed of the pinion, rpm, up to which fatigue and K_v leave a case's torque; 0: none."""

    def holds(speed: float) -> bool:
        left = at_rest * design_value(1.0, *slow_factors(cut, side, replace(case, speed=speed)))
        allowed = capacity.bearable(left, case, speed) / case.application_factor
        return bool(allowed >= case.torque)

    return last_that(holds, 0.0, case.speed, 30)


def slow_factors(
    cut: CutPair, side: Side, case: LoadCase, kind: str = "tension"
) -> tuple[Factor, ...]:
    """Return the factors between characteristic and design strength but for K_v."""
    gear = getattr(cut.pair, side)
    felt = case.both_ways if cut.is_idler(side) else case
    factors = felt.factors(case.speed * _loads_per_turn(cut.pair, gear, case.travel), kind)
    return (*factors, case.drag) if side == case.driver and kind == "tension" else factors


def _loads_per_turn(pair: PairShape[Any], gear: GearShape[Any], travel: float | None) -> float:
    """How often a tooth of a gear is loaded in a turn of the pinion.

    A rack moves to and fro: each of its teeth comes once in a stroke of so much travel, mm; where
    that is not known, at most once a turn. In a stroke shorter than a turn so do the pinion's.
    """
    if not isinstance(pair.wheel, Rack):
        return float(pair.pinion.teeth / gear.teeth)
    strokes = 1.0 if travel is None else float(pair.travel_per_turn) / travel
    return strokes if isinstance(gear, Rack) else max(strokes, 1.0)


def speed_factors(
    cut: CutPair,
    side: Side,
    capacity: Capacity,
    case: LoadCase,
    at_rest: float,
    kind: str = "tension",
) -> tuple[Factor, ...]:
    """Return all factors between characteristic and design strength, K_v at the allowed load.

    Deviations of the teeth add a load that does not grow with the load, so that K_v depends on
    it: it is taken where strength and load meet. `at_rest`: torque on the pinion at which the
    place has its characteristic strength, N·m; the rest as of `Capacity` and `LoadCase.factors`.
    """
    factors = slow_factors(cut, side, case, kind)
    if not case.repeated:
        return factors
    slow = at_rest * design_value(1.0, *factors)
    left = float(capacity.bearable(slow, case, case.speed)) / slow if slow > 0.0 else 0.0
    quick = float(capacity.speed_share(case.speed))
    if left >= 1.0:
        return factors
    words = f"1/K_v at the allowed load, N = {quick:.2g} of resonance"
    return (*factors, Factor(words, left, KV_SOURCE))


def root_basis(root: WeakestRoot, panel: Panel, factors: Sequence[Factor]) -> tuple[Step, ...]:
    """Return the way from the characteristic strength at a place to its design value."""
    name = f"{root.kind} strength at {root.angle:.3g}° to the grain"
    return _basis(name, root.strength, root.origin or panel.sheet.source, factors)


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
    return bolt_embedment(np.minimum(2 * radius, LARGEST_PEG), panel.sheet.characteristic_density)


def _contact_modulus(panel: Panel) -> float:
    """Modulus of the contact of two flanks of one sheet, MPa."""
    return float(np.max(panel.modulus_at(DIRECTIONS))) / (2 * (1 - POISSON**2))


def _contact_limit(
    cut: CutPair,
    capacity: Capacity,
    panel: Panel,
    face_width: float,
    case: LoadCase,
    broken: Broken,
) -> ToothLimit:
    pair = cut.pair
    radius, factors = float(contact_radius(pair)), case.static_factors
    strength = float(flank_embedment(radius, panel))
    load = case.application_factor * line_load(pair.pinion, case.torque, face_width)
    return ToothLimit(
        side="pinion",
        part="flanks",
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
        expected_break=broken[0],
        expected_range=broken[1],
    )


Layered = Callable[[int], Sequence[ToothLimit]]
"""The same limits of gears of another number of layers."""

PARAMETERS = {
    "running": "torque", "starting": "starting_torque", "stall": "stall_torque", "speed": "speed"
}  # fmt: skip
"""What gives torques and speed on the bench."""

MAX_TOLD_LAYERS = 6
"""Layers that are told as a way out: more can be declared, but are hard to glue square
(assumption)."""

MORE_LAYERS = 3
"""Numbers of layers tried from the one that load and width alone ask for."""


def strength_checks(
    limits: Sequence[ToothLimit],
    layers: float,
    layered: Layered,
    asks: Mapping[str, str] = PARAMETERS,
) -> tuple[Check, ...]:
    """Return a check for each limit; those that fail with ways out that were tried.

    Parameters
    ----------
    limits : sequence of ToothLimit
        From `tooth_limits`.
    layers : float
        How many sheets thick the gears are.
    layered : callable
        Returns the limits of the same gears made of so many layers.
    asks : mapping
        Keys that give the torque of each case, and "speed"; none where drive and load do.
    """
    return tuple(
        _strength_check(limit, _ways(place, limit, layers, layered, asks))
        for place, limit in enumerate(limits)
    )


def what_is_given(allowed: float, case: LoadCase) -> str:
    """What the pinion may be given in a load case, N·m, and what it is given, as a sentence."""
    bears, acts = told_apart(allowed, case.torque)
    return f"The pinion may be given {bears} N·m in this case, it is given {acts} N·m."


def _strength_check(limit: ToothLimit, ways: tuple[Way, ...]) -> Check:
    case = limit.case
    flanks = limit.kind == "contact"
    return Check(
        judged="flank pressure" if flanks else "tooth bending",
        part="" if flanks else limit.part,
        case=case.name,
        kind="pressure" if flanks else case.kind,
        value=limit.stress,
        limit=limit.strength,
        unit="MPa",
        sense="at most",
        meaning=(
            f"{WORDS[limit.kind]}, weakest tooth, whole load at the tip.",
            f"A tooth breaks at about {limit.break_words}.",
        ),
        why=what_is_given(limit.torque, case),
        ways=ways,
        source=limit.source,
        basis=limit.basis,
    )


def _ways(
    place: int, limit: ToothLimit, layers: float, layered: Layered, asks: Mapping[str, str]
) -> tuple[Way, ...]:
    """What may be changed without other gears."""
    if limit.stress <= limit.strength:
        return ()
    if limit.torque == 0.0:  # deviations alone use the strength up at this speed
        return asked(asks, "speed", limit.max_speed)
    needed = ceil(min(layers * limit.case.torque / limit.torque, 2.0 * MAX_TOLD_LAYERS) - FUZZ)
    more: tuple[Way, ...] = ()
    for count in range(needed, min(needed + MORE_LAYERS, MAX_TOLD_LAYERS + 1)):
        again = layered(count)[place]
        if again.stress <= again.strength:
            more = ((("stage.layers", count),),)
            break
    return more + asked(asks, limit.case.name, limit.torque)


def asked(asks: Mapping[str, str], what: str, most: float) -> tuple[Way, ...]:
    """Ask for no more than this of a torque or a speed, where there is a key for it."""
    least = figures_down(most)
    return (((asks[what], least),),) if what in asks and least > 0.0 else ()


UNKNOWNS = (
    "Fatigue: no tests of birch plywood are known. k_fat of EN 1995-2 Annex A, made for timber"
    " bridges and recalled from memory, is taken with its partial factor of 1.0, and at R = −1 the"
    " design line of wood laminates where that is lower; how crossed veneers tire beside clear wood"
    " is not known and may err either way. Moisture is carried over from k_mod: assumption.",
    "Wear of the flanks: nothing is known for plywood. Pressure between flanks is held against the"
    " strength under a bolt, once, as crushing; wear goes with pressure times sliding and is not"
    " reckoned, which is on the unsafe side for long running. Wax the flanks, measure the teeth"
    " again after the first hours and then now and then, and renew gears that have become thin.",
    "Friction between the flanks adds to the pull at the root of the driving tooth, by 19 % dry and"
    " 31 % from standstill at the most, and is counted there; the expected break is without it, as"
    " a tooth breaks on a lever. What it takes from the driven tooth is not counted on.",
    "Speed: the rotor of the motor is taken as kept out of the mesh by soft rods. With a short"
    " stiff coupling between motor and pinion the dynamic load is several times greater: on the"
    " unsafe side there. Deviations of pitch and profile are taken as three standard deviations of"
    " the cutting error.",
    "Creep and drying: teeth that stand loaded for long creep, and dry wood splits sooner. Neither"
    " is reckoned beyond k_mod, which is on the unsafe side.",
    "Compression across the face: no characteristic value of birch plywood has been published."
    " A value below those of yellow birch and of EN 384 is taken, on the safe side; it matters"
    " under nuts and washers, not for the teeth.",
    "Friction of steel on plywood: 0.1 to 0.5 in the literature, and a clamp relaxes as the wood"
    " creeps. 0.15 is taken for what a clamp holds, on the safe side unless the faces are waxed or"
    " oily; half the clamp is taken as lost, on the unsafe side if nuts are never tightened"
    " again.",
    "How a tooth breaks: own elements with veneers that yield; where no teeth of the sheet itself"
    " were broken ([broken_teeth]), none has been. The pull"
    " at the fillet counts in full, though a peak a tenth of a millimetre wide need not break a"
    " tooth of veneers: on the safe side by an unknown amount. Splitting by pull across the grain"
    " together with shear is not in them, which may be on the unsafe side. The mean strength is"
    " taken as the characteristic one over 0.75, and the expected break as half-way between the"
    " first fibre and a millimetre at its strength: assumptions, either way.",
    "The whole load is put on one pair of teeth, for root and flank alike. Well cut gears share it"
    " between two, which then have about a quarter in hand; that is not counted on.",
)
"""What is not known, what is assumed instead, and which way that errs."""

KINDS = {
    "tension": "root of the {part}, pulled side of the fillet",
    "compression": "root of the {part}, pushed side of the fillet",
    "shear": "root of the {part}, shear",
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
    def rows(self) -> tuple[tuple[str, str, float, float, str, float], ...]:
        """Load case, expected break and its range, allowed torque, ratio, what gives way, MPa.

        Torques in N·m on the pinion; the last is the design strength.
        """
        return tuple(
            (
                limit.case.name, limit.break_words, limit.torque, limit.ratio, limit.place,
                limit.strength,
            )
            for limit in self.limits
        )  # fmt: skip

    def __str__(self) -> str:
        lines = [
            f"{case}: breaks at about {breaks}, allowed {torque:.3g} N·m on the pinion ({ratio:.2g}"
            f" times less); first to give way: {what}, {strength:.3g} MPa"
            for case, breaks, torque, ratio, what, strength in self.rows
        ]
        return "\n".join([f"{self.title}, expected break and largest torque", *lines])


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
            f" its largest torque at a stall, {self.limit.torque:.3g} N·m on its pinion"
            f" ({self.limit.place})."
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
