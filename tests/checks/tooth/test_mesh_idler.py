"""An idler: one gear, cut for both its mates and loaded on both flanks."""

from math import log10

import pytest

import gearwork as gw
from gearwork.checks import load_cases
from gearwork.checks.tooth.load_case import Service
from gearwork.checks.tooth.mesh import CutPair, Mesh, mesh_checks
from gearwork.checks.tooth.strength import tooth_limits
from gearwork.geometry.gear_outline import tooth_outline

BIT = gw.Bit(2.0)
# a pinion of short teeth, which would leave room for a root that 80 teeth come too near to
PINION = gw.Gear(5, 12, 0.5, thinning=0.2, tip_alteration=-0.3)
FIRST = gw.GearPair(PINION, gw.Gear(5, 20, thinning=0.2))
SECOND = gw.GearPair(FIRST.wheel, gw.Gear(5, 80, thinning=0.2))
ALONE = CutPair(FIRST, BIT)
ON, OFF = CutPair(FIRST, BIT, after=SECOND), CutPair(SECOND, BIT, before=FIRST)


def test_its_root_leaves_both_mates_the_room_they_need():
    """By rolling the outlines: 0.4 c is kept free of a widened root, 0.5 mm here, at either mesh.

    A root cut for the short teeth alone comes nearer to the tips of the other mate.
    """
    assert ON.wheel == OFF.pinion
    for cut in (ON, OFF):
        found = gw.roll(cut)
        assert not found.collides
        assert min(found.tip_clearances) >= 0.5 - 1e-3
    narrow = gw.roll(OFF, outlines=(tooth_outline(ALONE.wheel), tooth_outline(OFF.wheel)))
    assert min(narrow.tip_clearances) < 0.49


def test_its_bit_must_suit_both_mates():
    (fit,) = (c for c in mesh_checks(ON) if (c.judged, c.part) == (Mesh.BIT_FIT, "idler"))
    alone = [
        next(c.limit for c in mesh_checks(cut) if (c.judged, c.part) == (Mesh.BIT_FIT, part))
        for cut, part in ((ALONE, "wheel"), (CutPair(SECOND, BIT), "pinion"))
    ]
    assert fit.limit == pytest.approx(min(alone), abs=1e-4)


def test_what_is_of_the_idler_alone_is_told_once():
    first, second = ([c.name for c in mesh_checks(cut)] for cut in (ON, OFF))
    assert [name for name in second if "idler" in name] == ["interference, idler flank"]
    assert "interference, idler flank" in first
    assert sum("idler" in name for name in first) == 6


@pytest.mark.parametrize(("cut", "side", "turns"), [(ON, "wheel", 12 / 20), (OFF, "pinion", 1.0)])
def test_its_teeth_are_bent_both_ways_once_in_a_turn(cut, side, turns):
    """R = −1: EN 1995-2 A.3 (constants of tension and shear) and, at R = −1, N^(−1/13.4).

    The first is 1 − 2/(9.5 · 2.1) log N in tension; by the Wind Energy Handbook's design line of
    wood laminates less is left. A tooth that is pushed one way has 1 − 1/(9.5 · 1.1) log N.
    ISO 6336-3 gives steel 0.7 of it for an idler (from memory): wood is not spared more.
    """
    hours, speed = 100.0, 300.0
    (case,) = load_cases(1.0, speed, Service(running_hours=hours))
    cycles = 60.0 * speed * hours
    limits = {
        one.side: one
        for one in tooth_limits(cut, gw.plywood("birch", 12), 12.0, (case,))
        if one.kind != "contact"
    }
    other = "pinion" if side == "wheel" else "wheel"
    both = cycles * turns
    reversed_share = min(
        1 - 2 / (9.5 * 2.1) * log10(both),
        2 * (1 - 2 / (6.7 * 2.3) * log10(both)),
        both ** (-1 / 13.4),
    )
    assert _fatigue(limits[side]) == pytest.approx(reversed_share, rel=1e-9)
    ratio = {"pinion": 1.0, "wheel": cut.pair.pinion.teeth / cut.pair.wheel.teeth}[other]
    once = cycles * ratio
    pulsating = min(1 - 1 / (9.5 * 1.1) * log10(once), 2 * (1 - 1 / (6.7 * 1.3) * log10(once)))
    assert _fatigue(limits[other]) == pytest.approx(pulsating, rel=1e-9)


def _fatigue(limit):
    (step,) = (s for s in limit.basis if "cycles" in s.quantity)
    return step.value


def test_an_idler_is_one_gear():
    stranger = gw.GearPair(gw.Gear(5, 21), gw.Gear(5, 80))
    with pytest.raises(gw.GearworkError, match="idler of two pairs is one gear"):
        CutPair(FIRST, BIT, after=stranger)
