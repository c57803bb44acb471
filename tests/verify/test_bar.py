"""A pinion turned along a bar, against the backlash's formula and polygons of shapely."""

import dataclasses

import numpy as np
import pytest
from volume import every

import gearwork as gw
from gearwork.geometry.outline import Outline
from gearwork.geometry.rack import Bar
from gearwork.verify.rolling import check_bar_rolling
from tests.support.rack_rolling import play


def cut_pair(teeth=14, shift=0.3, rack_teeth=7):
    pinion = gw.Gear(5, teeth, shift, thinning=0.2)
    pair = gw.GearPair(pinion, gw.Rack(5, rack_teeth, thinning=0.2))
    return gw.CutPair(pair, gw.Bit(3.0))


def whole(rack):
    return Bar(rack, ((),)).pieces(0)[0]


@pytest.fixture(scope="module")
def cut():
    return cut_pair()


@pytest.fixture(scope="module")
def outlines(cut):
    pair = cut.pair
    return tuple(
        gw.gear_outline(gear, cut.bit, mate, pair.centre_distance)
        for _, gear, mate, _ in cut.sides()
    )


def test_the_outlines_roll_with_the_play_of_the_pair(cut):
    rolling = gw.roll(cut)
    assert not rolling.collides
    assert rolling.backlash == pytest.approx(cut.pair.backlash, abs=0.02)
    assert rolling.contact_ratio == pytest.approx(cut.contact_ratio, abs=0.04)
    assert rolling.tip_clearances == pytest.approx(cut.pair.tip_clearances, abs=0.01)
    assert np.ptp(rolling.pinion_angle) > 360.0


@pytest.mark.parametrize("share", [0.0, 0.3])
def test_polygons_have_the_same_play(cut, share):
    assert sum(play(cut, share)) == pytest.approx(gw.roll(cut).backlash.mean(), abs=0.01)


def test_sound_outlines_pass(cut, outlines):
    report = check_bar_rolling(*outlines, cut, whole(cut.pair.wheel), tolerance=0.1)
    assert report.ok, report


def damaged(bar, change):
    points = bar.vertices.copy()
    change(points)
    return Outline(points, bar.bulges)


def thicken(points):
    points[(points[:, 1] > 4.9) & (np.abs(points[:, 0] - 3 * np.pi * 5) < 4), 0] *= 1.01


def scale(points):
    points *= 1.002


def shorten(points):
    points[points[:, 1] > 4.9, 1] -= 0.1


@pytest.mark.parametrize(
    ("change", "judged"),
    every(3, [(shorten, "size"), (thicken, "teeth alike"), (scale, "size")]),
)
def test_a_changed_bar_is_found(cut, outlines, change, judged):
    report = check_bar_rolling(
        outlines[0], damaged(outlines[1], change), cut, whole(cut.pair.wheel)
    )
    assert judged in [check.judged for check in report if not check.ok]


def test_a_bar_of_other_teeth_is_no_such_bar(cut, outlines):
    rack = dataclasses.replace(cut.pair.wheel, teeth=8)
    report = check_bar_rolling(*outlines, cut, whole(rack))
    assert "teeth missing or added" in [check.judged for check in report if not check.ok]


def test_too_near_the_teeth_overlap(cut, outlines):
    report = check_bar_rolling(*outlines, cut, whole(cut.pair.wheel), tolerance=0.8)
    assert "backlash" in [check.judged for check in report if not check.ok]
