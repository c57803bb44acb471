"""What to change where a check of the mesh does not hold, tried out before it is told.

A way out is keys of the design file with the values to write there, in steps that a bench has.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import product
from typing import Any

import numpy as np

from gearwork.checks.check import NO_WAY, Check, Way
from gearwork.errors import GearworkError
from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import SIDES, GearPair, Side
from gearwork.geometry.rack import Rack
from gearwork.numbers import last_that, round_down, round_up
from gearwork.stock.bit import SOLD

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
