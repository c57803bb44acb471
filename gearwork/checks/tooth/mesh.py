"""Checks of the mesh: contact, undercut, interference, tips, root as cut, backlash.

What to change where one does not hold is tried out before it is told: keys of the design file with
the values to write there, in steps that a bench has.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import lru_cache, partial
from itertools import product
from typing import Any, NamedTuple

import numpy as np

from gearwork.checks.check import NO_WAY, Check, Way
from gearwork.errors import GearworkError, need
from gearwork.geometry.gear import Gear
from gearwork.geometry.gear_outline import largest_bit, running_tooth
from gearwork.geometry.pair import SIDES, GearPair, PairShape, Side
from gearwork.geometry.rack import Rack
from gearwork.geometry.tooth import (
    Cutter,
    CutTooth,
    TipPath,
    mate_tip_path,
    need_bit,
    tooth_for,
    widest_path,
)
from gearwork.numbers import last_that, round_down, round_up
from gearwork.stock.bit import SOLD

MIN_CONTACT_RATIO = 1.0
WANTED_CONTACT_RATIO = 1.2
MIN_TIP = 0.2
WANTED_TIP = 0.4
MIN_BODY = 1.2
"""Bar below a rack's teeth, tooth depths: from there on Y_B of ISO 6336-3:2006 is 1 (from memory),
so that the root bears what it is rated for."""

MIN_CLEARANCE = 0.05
WANTED_CLEARANCE = 0.1

_least = partial(Check, unit="mm", sense="at least")


@dataclass(frozen=True)
class CutPair:
    """A pair and the bit that cuts it, whether or not it can run: what every check is made of.

    Parameters
    ----------
    pair : GearPair
        The gears.
    bit : Bit
        What cuts them; its `cut_diameter` counts.
    before, after : GearPair, optional
        Whose wheel the pinion is as well, and whose pinion the wheel is: of an idler, which is cut
        for both its mates and loaded on both flanks.

    Attributes
    ----------
    pinion, wheel : CutTooth
        Their teeth as the bit leaves them.

    Raises
    ------
    GearworkError
        If the pair is no `GearPair`, the bit no `Bit`, the idler of two pairs not the same gear, or
        teeth cannot be cut at all.

    Examples
    --------
    A large bit leaves a rounder root and less flank than the gears were designed with.

    >>> from gearwork import Bit, Gear, GearPair
    >>> pair = GearPair(Gear(module=5, teeth=14), Gear(module=5, teeth=38))
    >>> CutPair(pair, Bit(6.0)).contact_ratio <= pair.contact_ratio
    True
    """

    pair: GearPair
    bit: Cutter
    before: GearPair | None = None
    after: GearPair | None = None
    pinion: CutTooth[float] = field(init=False, repr=False, compare=False)
    wheel: CutTooth[float] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        need("CutPair", self.pair, GearPair, "a GearPair", "gw.GearPair(pinion, wheel)")
        need_bit("CutPair", self.bit)
        for first, second in ((self.before, self.pair), (self.pair, self.after)):
            if first is not None and second is not None and first.wheel != second.pinion:
                raise GearworkError(
                    f"{second.pinion!r} is not {first.wheel!r}: the idler of two pairs is one gear"
                )
        for side in SIDES:
            tooth = tooth_for(getattr(self.pair, side), self.bit.cut_diameter, self.tip_path(side))
            object.__setattr__(self, side, tooth)

    def tip_path(self, side: Side) -> TipPath[float]:
        """Return the path of the mate's tip through the spaces of a gear, of an idler of both."""
        gears = self.pair.pinion, self.pair.wheel
        gear, mate = gears if side == "pinion" else gears[::-1]
        paths = [mate_tip_path(gear, mate, self.pair.centre_distance)]
        other = self.before if side == "pinion" else self.after
        if other is not None:
            far = other.pinion if side == "pinion" else other.wheel
            paths.append(mate_tip_path(gear, far, other.centre_distance))
        return widest_path(paths)

    def is_idler(self, side: Side) -> bool:
        """Whether a gear runs with another mate as well, on its other flanks."""
        return (self.before if side == "pinion" else self.after) is not None

    def called(self, side: Side) -> str:
        """Return what a gear is called: an idler is neither pinion nor wheel."""
        return "idler" if self.is_idler(side) else self.pair.called(side)

    def running(self, side: Side) -> CutTooth[float]:
        """Return the tooth of a gear, or refuse it where it could not run."""
        return running_tooth(self.pair, self.tooth_of(side), self.tip_path(side))

    def tooth_of(self, side: Side) -> CutTooth[float]:
        """Return the tooth of one of its gears."""
        return self.pinion if side == "pinion" else self.wheel

    def sides(self) -> tuple[tuple[Side, Gear, Gear, CutTooth[float]], ...]:
        """Name, gear, mate and cut tooth of both gears."""
        return (
            ("pinion", self.pair.pinion, self.pair.wheel, self.pinion),
            ("wheel", self.pair.wheel, self.pair.pinion, self.wheel),
        )

    @property
    def contact_ratio(self) -> float:
        """ε_α with the flank that is left above both fillets."""
        return self._overlap(self.pair)

    def contact_ratio_at(self, centre_distance: float) -> float:
        """Return ε_α of the same teeth on shafts that have come to stand this far apart, mm."""
        return self._overlap(PairShape(self.pair.pinion, self.pair.wheel, centre_distance))

    def _overlap(self, pair: PairShape[float]) -> float:
        start, end = pair.contact_limits
        end = min(end, pair.line_of_action - self.wheel.contact)
        return max(end - max(start, self.pinion.contact), 0.0) / pair.pinion.base_pitch


def need_cut_pair(caller: str, cut: object) -> None:
    """Refuse anything but a `CutPair`, in the name of the function that was called."""
    need(caller, cut, CutPair, "a CutPair", "gw.CutPair(pair, bit)")


@lru_cache(maxsize=64)
def mesh_checks(cut: CutPair) -> tuple[Check, ...]:
    """Return all checks of a mesh; those that do not hold with a remedy that was tried out.

    Parameters
    ----------
    cut : CutPair
        The pair and both its teeth as cut.
    """
    return tuple(_with_remedy(cut, place) for place in range(len(judges(cut))))


def _with_remedy(cut: CutPair, place: int) -> Check:
    side, judge = judges(cut)[place]
    check = judge()
    if check.verdict == "pass" or check.ways:
        return check

    def again(pair: GearPair, cut_diameter: float) -> Check:
        other = replace(cut, pair=pair, bit=_Slot(cut_diameter))
        return judges(other)[place][1]()

    measured = getattr(cut.bit, "measured_diameter", None) is not None
    return mesh_remedy(check, cut.pair, cut.pinion.cut_diameter, side, again, measured)


class _Slot(NamedTuple):
    """A bit of any diameter, mm."""

    cut_diameter: float


def judges(cut: CutPair) -> tuple[tuple[Side, Callable[[], Check]], ...]:
    """Every check, made only when it is called, and whose; always in this order.

    What is of both gears counts as the pinion's. Of an idler the pair before tells all but whether
    its flanks suit this mate.
    """
    judges: list[tuple[Side, Callable[[], Check]]] = [("pinion", partial(_contact_check, cut))]
    for side, gear, mate, tooth in cut.sides():
        part, reserve = cut.called(side), cut.pair.interference_reserve[side == "wheel"]
        told = side == "pinion" and cut.is_idler(side)
        if isinstance(gear, Rack):  # its straight flanks can be neither undercut nor dug into
            judges.append((side, partial(_body_check, gear, tooth)))
        else:
            other = cut.called("wheel" if side == "pinion" else "pinion")
            if not told:
                judges.append((side, partial(_undercut_check, part, gear)))
            judges.append((side, partial(_interference_check, part, other, mate, reserve)))
        if not told:
            judges += [
                (side, partial(_tip_check, part, gear)),
                (side, partial(_fit_check, part, tooth, cut.tip_path(side))),
                (side, partial(_flank_check, part, tooth)),
                (side, partial(_clearance_check, part, tooth)),
            ]
    return (*judges, ("pinion", partial(_backlash_check, cut.pair)))


def _contact_check(cut: CutPair) -> Check:
    pair = cut.pair
    if pair.interferes:
        why = (
            f"The usual formula gives {pair.formula_contact_ratio:.3f}, which means nothing here:"
            " the pair interferes, and part of that contact has no flank to happen on."
        )
    else:
        why = (
            "On average this many tooth pairs carry the load; below 1 the drive loses contact"
            " between teeth."
        )
    return Check(
        judged=Mesh.CONTACT_RATIO,
        value=cut.contact_ratio,
        limit=MIN_CONTACT_RATIO,
        wanted=WANTED_CONTACT_RATIO,
        unit="",
        sense="at least",
        why=why,
        source="ISO 21771-1 (contact ratio from the real limits of contact); 1.2 common practice",
    )


def _body_check(rack: Rack, tooth: CutTooth[float]) -> Check:
    root = -rack.above(tooth.root_diameter)
    limit = MIN_BODY * (rack.tip_height + root)
    ways: tuple[Way, ...] = ((("stage.rack_height", round_up(root + limit, 1)),),)
    return _least(
        judged="bar below the teeth",
        part="rack",
        value=rack.back_depth - root,
        limit=limit,
        why="A bar too low below its teeth bends with them, and their roots bear less than rated.",
        ways=ways,
        source="ISO 6336-3:2006 Y_B (from memory), rim of 1.2 tooth depths",
    )


def _undercut_check(side: str, gear: Gear) -> Check:
    return Check(
        judged=Mesh.UNDERCUT,
        part=side,
        value=gear.profile_shift,
        limit=-np.inf,
        wanted=gear.min_shift,
        unit="profile shift",
        sense="at least",
        why=(
            "Below this shift a rack or hob would cut away the foot of the involute. A router"
            " bit does not, but the flank that is left is short and slides hard."
        ),
        source="ISO 21771-1; x = h_a* − z sin² α / 2",
    )


def _interference_check(side: str, other: str, mate: Gear, reserve: float) -> Check:
    return _least(
        judged=Mesh.INTERFERENCE,
        part=f"{side} flank",
        value=reserve,
        limit=0.0,
        wanted=0.05 * mate.module,
        why=(
            f"Radius of curvature of the {side}'s flank where the {other}'s tip meets it; below"
            " 0 that tip runs past the end of the involute and digs into the foot."
        ),
        source="ISO 21771-1; base tangent point as limit of the path of contact",
    )


def _tip_check(side: str, gear: Gear) -> Check:
    return _least(
        judged=Mesh.TIP_THICKNESS,
        part=side,
        value=gear.tip_thickness,
        limit=MIN_TIP * gear.module,
        wanted=WANTED_TIP * gear.module,
        why="A thin tip of veneer splinters when it is cut and when it meets the mate.",
        source="0.2 m common practice; 0.4 m for wood is an assumption",
    )


def _fit_check(side: str, tooth: CutTooth[float], path: TipPath[float]) -> Check:
    return Check(
        judged=Mesh.BIT_FIT,
        part=side,
        value=tooth.cut_diameter,
        limit=largest_bit(tooth, path),
        unit="mm",
        sense="at most",
        why="Largest cutting diameter that leaves the mate its flank and its way to the root.",
        source="geometry of the tooth as cut",
    )


def _flank_check(side: str, tooth: CutTooth[float]) -> Check:
    return _least(
        judged=Mesh.FLANK_BELOW_CONTACT,
        part=side,
        value=(tooth.active_diameter - tooth.form_diameter) / 2,
        limit=0.0,
        why="Involute left between the lowest point the mate touches and the root fillet.",
        source="ISO 21771-1, d_Nf against d_Ff of the tooth as cut",
    )


def _clearance_check(side: str, tooth: CutTooth[float]) -> Check:
    return _least(
        judged=Mesh.ROOT_CLEARANCE,
        part=side,
        value=tooth.fillet_clearance,
        limit=MIN_CLEARANCE * tooth.gear.module,
        wanted=WANTED_CLEARANCE * tooth.gear.module,
        why="Least room between the mate's tip and the root as cut, all along its way.",
        source="path of the mate's tip; 0.05 m for dust and swelling is an assumption",
    )


def min_backlash(module: float, centre_distance: float) -> float:
    """Return the least normal backlash that metal drives are given, mm (ISO/TR 10064-2, A.1)."""
    return round_up(2 / 3 * (0.06 + 0.0005 * centre_distance + 0.03 * module), 2)


def distance_tolerance(pair: GearPair) -> float:
    """Return by how much the shafts may stand nearer or farther than they should, mm.

    Nearer takes half of the backlash; the other half is for cutting error, run-out and swelling
    (assumption). Farther is allowed as much.
    """
    closest = pair.distance_for_backlash(max(pair.backlash, 0.0) / 2)
    return round_down(max(pair.centre_distance - closest, 0.0), 2)


def _backlash_check(pair: GearPair) -> Check:
    limit = min_backlash(pair.pinion.module, pair.centre_distance)
    return _least(
        judged=Mesh.BACKLASH,
        value=pair.normal_backlash,
        limit=limit,
        wanted=1.5 * limit,
        why=(
            "Play between the flanks; cutting error, shaft position and swelling take from it,"
            " and a mesh without play binds."
        ),
        source=(
            "ISO/TR 10064-2:1996 table A.1 for metal drives (from memory); half as much again"
            " for plywood is an assumption"
        ),
    )


Judge = Callable[[GearPair, float], Check]


class Mesh(StrEnum):
    """What is judged of a mesh."""

    CONTACT_RATIO = "contact ratio"
    UNDERCUT = "undercut"
    INTERFERENCE = "interference"
    TIP_THICKNESS = "tip thickness"
    BIT_FIT = "bit fit"
    FLANK_BELOW_CONTACT = "flank below contact"
    ROOT_CLEARANCE = "root clearance"
    BACKLASH = "backlash"


GROWTHS = (1.02, 1.05, 1.1, 1.15, 1.2, 1.3, 1.4, 1.6, 1.8, 2.0, 2.5, 3.0, 4.0, 6.0)
"""Changes of the module tried."""

COUNTS = 16
"""Tooth counts tried."""

MOUTHFULS = np.array([0.02, 0.04, 0.07, 0.1, 0.15, 0.2, 0.3, 0.4, 0.6])
"""Tip shortenings tried, modules."""

SHIFTS = np.array([0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.5])
"""Changes of the profile shift tried."""

BIT = "bit.diameter"

Keys = dict[str, float]
"""Keys of [stage], and `BIT`, with the values to write."""


def with_keys(pair: GearPair, keys: Keys) -> GearPair:
    """Return the pair of a design file in which these keys of its stage are changed."""
    *_, distance = pair.as_given
    return GearPair(*_gears(pair, keys), keys.get("centre_distance", distance))


def _gears(pair: GearPair, keys: Keys) -> tuple[Gear, Gear]:
    pinion, wheel, _ = pair.as_given
    other = "wheel_thinning" if "wheel_thinning" in keys else "thinning"
    return _with(pinion, "pinion", "thinning", keys), _with(wheel, "wheel", other, keys)


def _with(gear: Gear, side: Side, thinning: str, keys: Keys) -> Gear:
    names = {
        "module": "module",
        "teeth": f"{side}_teeth",
        "profile_shift": f"{side}_shift",
        "tip_alteration": f"{side}_tip_alteration",
        "thinning": thinning,
    }
    changes: dict[str, Any] = {field: keys[key] for field, key in names.items() if key in keys}
    if isinstance(gear, Rack) and "profile_shift" in changes:
        raise GearworkError("a rack has no profile shift of its own: shift the pinion")
    return replace(gear, **changes)


@dataclass(frozen=True)
class Fault:
    """A check that does not hold, and how to judge it again.

    Attributes
    ----------
    check : Check
        The check.
    pair : GearPair
        What it was made of.
    cut_diameter : float
        Of the bit, mm.
    side : str
        "pinion" or "wheel", where it is about one of them.
    judge : callable
        Makes the same check of another pair and cutting diameter.
    fully : bool
        Whether to come to what is wanted, not just within the limit.
    """

    check: Check
    pair: GearPair
    cut_diameter: float
    side: Side
    judge: Judge
    fully: bool

    @property
    def gear(self) -> Gear:
        """The gear it is about."""
        gear: Gear = getattr(self.pair, self.side)
        return gear

    @property
    def other(self) -> Side:
        """The side of its mate."""
        return "wheel" if self.side == "pinion" else "pinion"

    @property
    def mate(self) -> Gear:
        """The gear it runs with."""
        gear: Gear = getattr(self.pair, self.other)
        return gear

    def mended_by(self, keys: Keys) -> bool:
        """Whether a change is enough."""
        try:
            pair = with_keys(self.pair, keys)
            again = self.judge(pair, keys.get(BIT, self.cut_diameter))
        except GearworkError:
            return False  # no such gear or pair
        return again.verdict == "pass" if self.fully else again.ok

    @property
    def wanted(self) -> float:
        """What the value must come to."""
        return self.check.wanted or 0.0 if self.fully else self.check.limit

    def moved(self, keys: Keys) -> Keys:
        """Return a change of the gears with the distance that goes with it, where one is given."""
        if self.pair.as_given[2] is None:
            return keys
        try:
            usual = GearPair(*_gears(self.pair, keys)).centre_distance
        except GearworkError:
            return keys
        return {**keys, "centre_distance": round_up(usual, 1)}


Ways = Callable[[Fault], Iterator[Keys]]


def mesh_remedy(
    check: Check,
    pair: GearPair,
    cut_diameter: float,
    side: Side,
    judge: Judge,
    measured: bool = False,
) -> Check:
    """Return the check with a remedy: every kind of change that was found to be enough.

    A check that fails is brought within its limit, the contact ratio further where that can be;
    one to be watched comes to what is wanted.

    Parameters
    ----------
    check, pair, cut_diameter, side, judge
        As in `Fault`.
    measured : bool
        Whether the bit was measured, which says nothing of another bit.
    """
    judged = Mesh(check.judged)
    aims = (True, False) if judged is Mesh.CONTACT_RATIO and not check.ok else (check.ok,)
    for fully, alternatives in product(aims, REMEDIES[judged]):
        fault = Fault(check, pair, cut_diameter, side, judge, fully)
        found = [keys for ways in alternatives if (keys := _first_enough(fault, ways))]
        if found:
            told = tuple(_way(keys, measured) for keys in found)
            return replace(check, ways=told)
    return replace(check, otherwise=NO_WAY)


def _first_enough(fault: Fault, ways: Ways) -> Keys | None:
    return next((keys for keys in ways(fault) if fault.mended_by(keys)), None)


def _way(keys: Keys, measured: bool) -> Way:
    named = [(key if "." in key else f"stage.{key}", value) for key, value in keys.items()]
    return (*named, *((("bit.measured_diameter", None),) if measured and BIT in keys else ()))


def _smaller_bit(fault: Fault) -> Iterator[Keys]:
    yield from ({BIT: size} for size in reversed(SOLD) if size < fault.cut_diameter)


def _larger_module(fault: Fault) -> Iterator[Keys]:
    *_, distance = fault.pair.as_given
    old = fault.pair.pinion.module
    for growth in GROWTHS:
        module = round_up(old * growth, 1)
        keys = {"module": module}
        if distance is not None:
            keys["centre_distance"] = round_up(distance * module / old, 1)
        yield keys


def _shorter_mate(fault: Fault) -> Iterator[Keys]:
    """The mate's tip where it just leaves the involute, then step by step."""
    mate = fault.mate
    changes = [-share for share in MOUTHFULS]
    if fault.check.judged == Mesh.INTERFERENCE:
        reach = 2 * max(fault.pair.line_of_action - fault.wanted, 0.0)
        tip = float(np.hypot(reach, mate.base_diameter))
        changes.insert(0, (tip - mate.tip_diameter) / 2 / mate.module)
    for change in changes:
        yield {f"{fault.other}_tip_alteration": round_down(mate.tip_alteration + change, 2)}


def _shorter_tip(fault: Fault) -> Iterator[Keys]:
    gear = fault.gear
    tip = last_that(
        lambda diameter: gear.thickness_at(diameter) > fault.wanted,
        gear.base_diameter,
        gear.tip_diameter,
        40,
    )
    altered = round_down(gear.tip_alteration - (gear.tip_diameter - tip) / 2 / gear.module, 2)
    yield {f"{fault.side}_tip_alteration": altered}


def _another_shift(fault: Fault) -> Iterator[Keys]:
    """Step by step away from the present shift, at the distance that goes with it."""
    sign = -1 if fault.check.judged == Mesh.TIP_THICKNESS else 1
    for change in SHIFTS:
        shift = round(fault.gear.profile_shift + sign * change, 2)
        yield fault.moved({f"{fault.side}_shift": shift})


def _shift_of_a_rack(fault: Fault) -> Iterator[Keys]:
    yield fault.moved({f"{fault.side}_shift": round_up(fault.gear.min_shift, 2)})


def _teeth_of_a_rack(fault: Fault) -> Iterator[Keys]:
    gear = fault.gear
    height = gear.addendum - gear.profile_shift
    least = 2 * height / np.sin(np.radians(gear.pressure_angle)) ** 2
    yield fault.moved({f"{fault.side}_teeth": int(round_up(least, 0))})


def _more_teeth(fault: Fault) -> Iterator[Keys]:
    """More and smaller teeth in about the same room, first with this bit, then with a thinner."""
    pinion, wheel, _ = fault.pair.as_given
    if isinstance(wheel, Rack):
        return  # finer teeth would change its travel
    plain = {
        f"{side}_{what}": 0.0
        for side, gear in zip(SIDES, (pinion, wheel), strict=True)
        for what, own in (("shift", gear.profile_shift), ("tip_alteration", gear.tip_alteration))
        if own
    }
    counts = np.unique(np.geomspace(pinion.teeth + 1, 4 * pinion.teeth + 40, COUNTS).round())
    finer = []
    for teeth in map(int, counts):
        share = teeth / pinion.teeth
        size = {"module": max(round(pinion.module / share, 1), 0.1)}
        count = {"pinion_teeth": teeth, "wheel_teeth": round(wheel.teeth * share)}
        keys = fault.moved({**size, **count, **plain})
        pair = with_keys(fault.pair, keys)
        if not pair.interferes and pair.contact_ratio >= fault.wanted:
            finer.append(keys)
    yield from finer
    for bit, keys in product(_smaller_bit(fault), finer):
        yield {**keys, **bit}


def _wider_distance(fault: Fault) -> Iterator[Keys]:
    distance = fault.pair.distance_for_backlash(1.01 * _wanted_play(fault))
    yield {"centre_distance": round_up(distance, 1)}


def _thinner_teeth(fault: Fault) -> Iterator[Keys]:
    more = 1.01 * (_wanted_play(fault) - fault.pair.backlash) / 2
    pinion, wheel = (round_up(g.thinning + more) for g in (fault.pair.pinion, fault.pair.wheel))
    yield {"thinning": pinion} if pinion == wheel else {"thinning": pinion, "wheel_thinning": wheel}


def _wanted_play(fault: Fault) -> float:
    angle = np.radians(fault.pair.working_pressure_angle)
    return float((fault.check.wanted or 0.0) / np.cos(angle))


BIT_OR_MODULE = ((_smaller_bit, _larger_module), (_shorter_mate, _another_shift))

REMEDIES: dict[Mesh, tuple[tuple[Ways, ...], ...]] = {
    Mesh.CONTACT_RATIO: ((_smaller_bit,), (_more_teeth,)),
    Mesh.UNDERCUT: ((_shift_of_a_rack, _teeth_of_a_rack),),
    Mesh.INTERFERENCE: ((_shorter_mate,), (_another_shift,)),
    Mesh.TIP_THICKNESS: ((_shorter_tip,), (_another_shift,)),
    Mesh.BIT_FIT: BIT_OR_MODULE,
    Mesh.FLANK_BELOW_CONTACT: BIT_OR_MODULE,
    Mesh.ROOT_CLEARANCE: ((_shorter_mate, _smaller_bit, _larger_module), (_another_shift,)),
    Mesh.BACKLASH: ((_wider_distance, _thinner_teeth),),
}
"""Ways out by subject; of the first group with one that is enough, all that are are told."""
