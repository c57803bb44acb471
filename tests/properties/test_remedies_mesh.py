"""What the remedies of the mesh checks tell is enough, or they say that nothing is."""

from dataclasses import dataclass, replace

import pytest
from hypothesis import given
from remedies import told
from strategies import bits, one_in, pairs, workshop_pairs

import gearwork as gw
from gearwork.checks.tooth.mesh import CutPair, judges, mesh_checks


@dataclass
class AnyBit:
    """A bit thinner or thicker than those `Bit` knows."""

    cut_diameter: float


def by_more_teeth(pair, bit, text, side):
    thinner = told(r"bit that cuts at most # mm", text)
    bit = AnyBit(thinner[0]) if thinner else bit
    numbers = told(r"Take # and # teeth of module # mm without profile shift at # mm", text)
    if numbers is None:
        if thinner:
            yield pair, bit
        return
    z1, z2, module, distance = numbers
    gears = (
        replace(
            gear,
            module=module,
            teeth=teeth,
            profile_shift=0.0,
            tip_alteration=0.0,
            thinning=gear.thinning * module / gear.module,
        )
        for gear, teeth in ((pair.pinion, z1), (pair.wheel, z2))
    )
    again = gw.GearPair(*gears)
    assert again.centre_distance == pytest.approx(distance, abs=0.005)
    yield again, bit


def with_gear(pair, side, distance, **changes):
    gears = {"pinion": pair.pinion, "wheel": pair.wheel}
    gears[side] = replace(gears[side], **changes)
    return gw.GearPair(gears["pinion"], gears["wheel"], distance)


def by_shift(pair, bit, text, side):
    shift = told(r"profile shift of # or more", text)
    if shift:
        yield with_gear(pair, side, None, profile_shift=shift[0]), bit
    teeth = told(r"at least # teeth", text)
    if teeth:
        yield with_gear(pair, side, None, teeth=teeth[0]), bit


def by_tip_of_mate(pair, bit, text, side):
    change = told(r"\(tip alteration #\)", text)
    if change:
        mate = "wheel" if side == "pinion" else "pinion"
        yield with_gear(pair, mate, pair.centre_distance, tip_alteration=change[0]), bit
    shift = told(r"profile shift of # and set the shafts # mm apart", text)
    if shift:
        again = with_gear(pair, side, None, profile_shift=shift[0])
        assert again.centre_distance == pytest.approx(shift[1], abs=6e-4)
        yield again, bit


def by_own_tip(pair, bit, text, side):
    change = told(r"tip alteration of #", text)
    if change:
        yield with_gear(pair, side, pair.centre_distance, tip_alteration=change[0]), bit
    yield from by_tip_of_mate(pair, bit, text, side)


def by_bit_or_module(pair, bit, text, side):
    yield from by_tip_of_mate(pair, bit, text, side)
    diameter = told(r"bit that cuts at most # mm", text)
    if diameter:
        yield pair, AnyBit(diameter[0])
    module = told(r"module of at least # mm", text)
    if module:
        share = module[0] / pair.pinion.module
        gears = (
            replace(g, module=module[0], thinning=g.thinning * share)
            for g in (pair.pinion, pair.wheel)
        )
        yield gw.GearPair(*gears, pair.centre_distance * share), bit


def by_play(pair, bit, text, side):
    distance = told(r"shafts # mm apart", text)
    if distance:
        yield gw.GearPair(pair.pinion, pair.wheel, distance[0]), bit
    thinner = told(r"thin each tooth by another # mm", text)
    if thinner:
        gears = (replace(g, thinning=g.thinning + thinner[0]) for g in (pair.pinion, pair.wheel))
        yield gw.GearPair(*gears, pair.centre_distance), bit


WAYS = {
    "contact ratio": by_more_teeth,
    "undercut": by_shift,
    "interference": by_tip_of_mate,
    "tip thickness": by_own_tip,
    "bit fit": by_bit_or_module,
    "flank below contact": by_bit_or_module,
    "root clearance": by_bit_or_module,
    "backlash": by_play,
}


def mended(pair, bit, place, check):
    """The pairs and bits that the remedy of a check describes, each with that check again."""
    subject, _, side = check.name.partition(", ")
    for again, cutter in WAYS[subject](pair, bit, check.remedy, side.split()[0] if side else ""):
        yield judges(CutPair(again, cutter))[place][1]()


def check_remedies(pair, bit):
    for place, check in enumerate(mesh_checks(CutPair(pair, bit))):
        if check.verdict == "pass":
            continue
        again = list(mended(pair, bit, place, check))
        assert again or check.remedy.startswith("No single change"), check
        for one in again:
            assert one.ok if not check.ok else one.verdict == "pass", f"{check}\n{one}"


@one_in(5)
@given(workshop_pairs(), bits(most=8.0))
def test_remedies_of_a_mesh_are_enough(pair, bit):
    check_remedies(pair, bit)


@one_in(10)
@given(pairs(), bits())
def test_remedies_of_any_mesh_are_enough_or_say_that_nothing_is(pair, bit):
    check_remedies(pair, bit)
