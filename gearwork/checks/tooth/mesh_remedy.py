"""What to change where a check of the mesh does not hold, tried out before it is told."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property, partial
from itertools import product
from typing import Any

import numpy as np

from gearwork.checks.check import Check, sentence
from gearwork.errors import GearworkError
from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import GearPair, Side
from gearwork.geometry.rack import Rack
from gearwork.numbers import last_that, round_down, round_up

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


THINNEST_BIT = 0.1
"""Nothing thinner is sold, mm."""

COUNTS = 16
"""Tooth counts tried."""

MOUTHFULS = np.array([0.02, 0.04, 0.07, 0.1, 0.15, 0.2, 0.3, 0.4, 0.6])
"""Tip shortenings tried, modules."""

SHIFTS = np.array([0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.5])
"""Changes of the profile shift tried."""


@dataclass(frozen=True)
class Trial:
    """A changed pair and cutting diameter, and the words for the change."""

    words: str
    pair: GearPair
    cut_diameter: float


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

    def mended_by(self, pair: GearPair, cut_diameter: float) -> bool:
        """Whether a change is enough."""
        again = self.judge(pair, cut_diameter)
        return again.verdict == "pass" if self.fully else again.ok

    @property
    def wanted(self) -> float:
        """What the value must come to."""
        return self.check.wanted or 0.0 if self.fully else self.check.limit

    @cached_property
    def largest_bit(self) -> float | None:
        """Cutting diameter below the present one that is enough, mm."""
        if self.check.judged == Mesh.BIT_FIT:
            return _sold(self.check.limit)
        return _largest_bit(self, self.pair)

    def changed(self, side: Side, distance: float | None, **changes: Any) -> GearPair:
        """Return the pair with one gear changed; without a distance at its own new one."""
        gears = {"pinion": self.pair.pinion, "wheel": self.pair.wheel}
        if isinstance(gears[side], Rack) and "profile_shift" in changes:
            raise GearworkError("a rack has no profile shift of its own: shift the pinion")
        gears[side] = replace(gears[side], **changes)
        return GearPair(gears["pinion"], gears["wheel"], distance)


Way = Callable[[], Trial | None]
Ways = Callable[[Fault], Iterator[Way]]


def mesh_remedy(check: Check, pair: GearPair, cut_diameter: float, side: Side, judge: Judge) -> str:
    """Return a sentence with every kind of change that was found to be enough.

    A check that fails is brought within its limit, the contact ratio further where that can be;
    one to be watched comes to what is wanted.

    Parameters
    ----------
    check, pair, cut_diameter, side, judge
        As in `Fault`.
    """
    judged = Mesh(check.judged)
    aims = (True, False) if judged is Mesh.CONTACT_RATIO and not check.ok else (check.ok,)
    for fully, alternatives in product(aims, REMEDIES[judged]):
        fault = Fault(check, pair, cut_diameter, side, judge, fully)
        found = [words for ways in alternatives if (words := _first_enough(fault, ways))]
        if found:
            return sentence(", or ".join(found))
    return (
        "No single change of bit, module, tip or profile shift is enough: take other numbers of"
        " teeth, another pressure angle or more addendum."
    )


def _first_enough(fault: Fault, ways: Ways) -> str:
    for way in ways(fault):
        try:
            trial = way()
            if trial and fault.mended_by(trial.pair, trial.cut_diameter):
                return trial.words
        except GearworkError:
            continue  # no such gear or pair
    return ""


def _smaller_bit(fault: Fault) -> Iterator[Way]:
    largest = fault.largest_bit
    if largest is not None:
        words = f"take a bit that cuts at most {largest:.10g} mm"
        yield partial(Trial, words, fault.pair, largest)


def _larger_module(fault: Fault) -> Iterator[Way]:
    if fault.largest_bit is not None:
        old = fault.pair.pinion.module
        module = round_up(old * fault.cut_diameter / fault.largest_bit, 2)
        yield partial(_scaled, fault, module)


def _scaled(fault: Fault, module: float) -> Trial:
    share = module / fault.pair.pinion.module
    pinion, wheel = (
        replace(gear, module=module, thinning=gear.thinning * share)
        for gear in (fault.pair.pinion, fault.pair.wheel)
    )
    pair = GearPair(pinion, wheel, fault.pair.centre_distance * share)
    return Trial(f"take a module of at least {module:.10g} mm", pair, fault.cut_diameter)


def _largest_bit(fault: Fault, pair: GearPair) -> float | None:
    return _sold(last_that(partial(fault.mended_by, pair), 0.0, fault.cut_diameter, 11))


def _sold(diameter: float) -> float | None:
    rounded = round_down(diameter, 2)
    return rounded if rounded >= THINNEST_BIT else None


def _shorter_mate(fault: Fault) -> Iterator[Way]:
    """The mate's tip where it just leaves the involute, then step by step."""
    mate = fault.mate
    changes = [-share for share in MOUTHFULS]
    if fault.check.judged == Mesh.INTERFERENCE:
        reach = 2 * max(fault.pair.line_of_action - fault.wanted, 0.0)
        tip = float(np.hypot(reach, mate.base_diameter))
        changes.insert(0, (tip - mate.tip_diameter) / 2 / mate.module)
    for change in changes:
        yield partial(_with_tip_of_mate, fault, round_down(mate.tip_alteration + change, 4))


def _with_tip_of_mate(fault: Fault, altered: float) -> Trial:
    pair = fault.changed(fault.other, fault.pair.centre_distance, tip_alteration=altered)
    mate = getattr(pair, fault.other)
    words = (
        f"shorten the {pair.called(fault.other)}'s tip to {mate.at_circle(mate.tip_diameter)}"
        f" (tip alteration {altered:.10g})"
    )
    return Trial(words, pair, fault.cut_diameter)


def _shorter_tip(fault: Fault) -> Iterator[Way]:
    gear = fault.gear
    tip = last_that(
        lambda diameter: gear.thickness_at(diameter) > fault.wanted,
        gear.base_diameter,
        gear.tip_diameter,
        40,
    )
    altered = round_down(gear.tip_alteration - (gear.tip_diameter - tip) / 2 / gear.module, 4)
    yield partial(_with_tip, fault, altered)


def _with_tip(fault: Fault, altered: float) -> Trial:
    pair = fault.changed(fault.side, fault.pair.centre_distance, tip_alteration=altered)
    return Trial(f"take a tip alteration of {altered:.10g}", pair, fault.cut_diameter)


def _another_shift(fault: Fault) -> Iterator[Way]:
    """Step by step away from the present shift, at the distance that goes with it."""
    sign = -1 if fault.check.judged == Mesh.TIP_THICKNESS else 1
    for change in SHIFTS:
        yield partial(_with_shift, fault, round(fault.gear.profile_shift + sign * change, 2))


def _with_shift(fault: Fault, shift: float) -> Trial:
    pair = fault.changed(fault.side, None, profile_shift=shift)
    words = (
        f"give the {fault.side} a profile shift of {shift:.10g} and"
        f" {pair.set_at(f'{pair.centre_distance:.3f}')}"
    )
    return Trial(words, pair, fault.cut_diameter)


def _shift_of_a_rack(fault: Fault) -> Iterator[Way]:
    yield partial(_from_shift, fault, round_up(fault.gear.min_shift, 2))


def _from_shift(fault: Fault, shift: float) -> Trial:
    pair = fault.changed(fault.side, None, profile_shift=shift)
    return Trial(f"take a profile shift of {shift:.10g} or more", pair, fault.cut_diameter)


def _teeth_of_a_rack(fault: Fault) -> Iterator[Way]:
    gear = fault.gear
    height = gear.addendum - gear.profile_shift
    least = 2 * height / np.sin(np.radians(gear.pressure_angle)) ** 2
    yield partial(_from_teeth, fault, int(round_up(least, 0)))


def _from_teeth(fault: Fault, teeth: int) -> Trial:
    pair = fault.changed(fault.side, None, teeth=teeth)
    return Trial(f"take at least {teeth} teeth", pair, fault.cut_diameter)


def _more_teeth(fault: Fault) -> Iterator[Way]:
    """More and smaller teeth in about the same room, first with this bit, then with a thinner."""
    if isinstance(fault.pair.wheel, Rack):
        return  # finer teeth would change its travel
    first = fault.pair.pinion.teeth
    counts = np.unique(np.geomspace(first + 1, 4 * first + 40, COUNTS).round())
    for make in (_finer, _finer_by_thinner_bit):
        for teeth in counts:
            yield partial(make, fault, int(teeth))


def _finer(fault: Fault, teeth: int) -> Trial | None:
    share = teeth / fault.pair.pinion.teeth
    pinion, wheel = (
        replace(
            gear,
            teeth=round(gear.teeth * share),
            module=round(gear.module / share, 3),
            profile_shift=0.0,
            tip_alteration=0.0,
            thinning=gear.thinning / share,
        )
        for gear in (fault.pair.pinion, fault.pair.wheel)
    )
    pair = GearPair(pinion, wheel)
    if pair.interferes or pair.contact_ratio < fault.wanted:
        return None
    words = (
        f"take {teeth} and {wheel.teeth:g} teeth of module {pinion.module:.10g} mm without"
        f" profile shift at {pair.centre_distance:.2f} mm"
    )
    return Trial(words, pair, fault.cut_diameter)


def _finer_by_thinner_bit(fault: Fault, teeth: int) -> Trial | None:
    finer = _finer(fault, teeth)
    largest = _largest_bit(fault, finer.pair) if finer else None
    if finer is None or largest is None:
        return None
    return Trial(
        f"{finer.words}, with a bit that cuts at most {largest:.10g} mm", finer.pair, largest
    )


def _wider_distance(fault: Fault) -> Iterator[Way]:
    distance = round_up(fault.pair.distance_for_backlash(1.01 * _wanted_play(fault)), 3)
    yield partial(_at_distance, fault, distance)


def _at_distance(fault: Fault, distance: float) -> Trial:
    pair = GearPair(fault.pair.pinion, fault.pair.wheel, distance)
    return Trial(pair.set_at(f"{distance:.10g}"), pair, fault.cut_diameter)


def _thinner_teeth(fault: Fault) -> Iterator[Way]:
    missing = _wanted_play(fault) - fault.pair.backlash
    yield partial(_thinned, fault, round_up(1.01 * missing / 2, 3))


def _thinned(fault: Fault, more: float) -> Trial:
    pinion, wheel = (
        replace(gear, thinning=gear.thinning + more)
        for gear in (fault.pair.pinion, fault.pair.wheel)
    )
    pair = GearPair(pinion, wheel, fault.pair.centre_distance)
    return Trial(f"thin each tooth by another {more:.10g} mm", pair, fault.cut_diameter)


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
