"""Racks: closed formulas of the straight line, and outlines held against each other by shapely."""

import os

import numpy as np
import pytest
from shapely.geometry import Polygon

import gearwork as gw
from gearwork.geometry.tooth import cut_tooth
from tests.support.rack_rolling import overlaps


def closed_contact_ratio(pinion, rack_tip):
    """ISO 21771-1 with the rack's part h / sin α; `rack_tip` above the pitch line, mm."""
    alpha = np.radians(pinion.pressure_angle)
    base, radius = pinion.base_diameter / 2, pinion.reference_diameter / 2
    recess = np.sqrt(pinion.tip_diameter**2 / 4 - base**2) - radius * np.sin(alpha)
    return (recess + rack_tip / np.sin(alpha)) / (np.pi * pinion.module * np.cos(alpha))


@pytest.mark.parametrize(("teeth", "shift"), [(12, 0.6), (18, 0.0), (40, 0.0), (25, -0.2)])
def test_contact_ratio_is_that_of_a_straight_line(teeth, shift):
    pair = gw.GearPair(gw.Gear(5, teeth, shift), gw.Rack(5, 20))
    assert not pair.interferes
    expected = closed_contact_ratio(pair.pinion, 5.0 * (1 - shift))
    assert pair.contact_ratio == pytest.approx(expected, abs=1e-6)


def test_backlash_grows_by_twice_the_tangent_of_the_way_apart():
    """Straight flanks: j_t = 2 Δa tan α exactly, and thinning adds as it is."""
    pinion, rack = gw.Gear(5, 20, thinning=0.1), gw.Rack(5, 20, thinning=0.05)
    pair = gw.GearPair(pinion, rack, centre_distance=50.4)
    expected = 0.15 + 2 * 0.4 * np.tan(np.radians(20))
    assert pair.backlash == pytest.approx(expected, abs=1e-6)
    assert pair.distance_for_backlash(expected) == pytest.approx(50.4, abs=1e-5)


def test_the_profile_shift_of_the_pinion_is_distance():
    near, far = (gw.GearPair(gw.Gear(4, 15, x), gw.Rack(4, 12)) for x in (0.2, 0.5))
    assert far.centre_distance - near.centre_distance == pytest.approx(0.3 * 4, abs=1e-6)
    assert near.working_pitch_diameters[0] == pytest.approx(60.0, abs=1e-4)


def test_the_bar_has_straight_flanks_and_ends_amid_a_space():
    pair = gw.GearPair(gw.Gear(5, 14, 0.3), gw.Rack(5, 8, height=30.0))
    outline = gw.gear_outline(pair.wheel, gw.Bit(3.0), pair.pinion, pair.centre_distance)
    pitch = np.pi * 5
    assert outline.bounds == pytest.approx((-pitch / 2, -30.0, 7.5 * pitch, 5.0), abs=1e-5)
    lines = outline.chords[(outline.bulges == 0) & (np.abs(outline.chords[:, 1]) > 1.0)]
    slopes = np.degrees(np.arctan2(np.abs(lines[:-2, 0]), np.abs(lines[:-2, 1])))
    assert slopes[:16] == pytest.approx(20.0, abs=1e-4)
    # ISO 53: the tooth is m π/2 on the reference line, so half of the bar there is wood.
    line = Polygon(outline.points(1e-4)).intersection(Polygon.from_bounds(-8, -1e-6, 200, 1e-6))
    assert line.area / 2e-6 == pytest.approx(4 * pitch, abs=1e-3)


def test_a_bit_that_spans_the_space_leaves_one_arc_and_a_shallower_root():
    pair = gw.GearPair(gw.Gear(5, 14, 0.25), gw.Rack(5, 6))
    outline = gw.gear_outline(pair.wheel, gw.Bit(5.0), pair.pinion, pair.centre_distance)
    # A circle of radius r between flanks of 20° that leave π m / 2 on the line, by trigonometry.
    r = 2.5
    depth = (np.pi * 5 / 4 - r / np.cos(np.radians(20))) / np.tan(np.radians(20)) + r
    lowest = outline.vertices[outline.vertices[:, 1] > -20, 1].min()
    assert lowest == pytest.approx(-min(depth, 6.25), abs=1e-4)
    assert outline.inside_corner_diameter >= 5.0 - 1e-5


def test_the_mate_of_a_pinion_alone():
    with pytest.raises(gw.GearworkError, match="a rack is the mate of a pinion"):
        gw.GearPair(gw.Rack(5, 20), gw.Gear(5, 20))


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"height": 6.0}, "its teeth go 6.25 mm below"),
        ({"thinning": 8.0}, "no tooth is left"),
        ({"addendum": 2.0, "pressure_angle": 30.0}, "above the reference line"),
        ({"teeth": 2}, "teeth"),
    ],
)
def test_racks_that_cannot_be(given, told):
    with pytest.raises(gw.GearworkError, match=told):
        gw.Rack(**{"module": 5, "teeth": 20, **given})


def random_pairs(seed, count):
    """Pinions with racks, and bits, of all sorts; None for what is refused when made."""
    random = np.random.default_rng(seed)
    for _ in range(count):
        module, angle = random.uniform(2, 8), random.uniform(15, 28)
        thinning = random.uniform(0, 0.1) * module
        addendum = random.uniform(0.8, 1.2)
        common = {"pressure_angle": angle, "addendum": addendum, "thinning": thinning}
        try:
            pinion = gw.Gear(module, random.integers(7, 61), random.uniform(-0.2, 0.8), **common)
            pair = gw.GearPair(pinion, gw.Rack(module, 6, **common))
            yield gw.CutPair(pair, gw.Bit(random.uniform(0.1, 1.2) * module))
        except gw.GearworkError:
            yield None


@pytest.mark.parametrize("seed", [20261128])
def test_random_racks_are_refused_or_run(seed):
    """Nothing overlaps anywhere in a pitch, and the backlash is what the formula says."""
    refused = 0
    count = int(os.environ.get("RACKS", "25"))
    for cut in random_pairs(seed, count):
        if cut is None or cut.pair.interferes or not (cut.pinion.runs and cut.wheel.runs):
            refused += 1
            continue
        assert overlaps(cut, turns=9) < 1e-3, cut
    assert refused < 0.8 * count


def test_arrays_of_racks_are_cut_like_single_ones():
    """The search's arrays and a notebook's numbers are one formula text."""
    pairs = [gw.GearPair(gw.Gear(m, 16, 0.3), gw.Rack(m, 6)) for m in (3.0, 5.0)]
    for pair in pairs:
        one = cut_tooth(pair.wheel, 2.0, pair.pinion, pair.centre_distance)
        other = cut_tooth(pair.wheel.shape, 2.0, pair.pinion.shape, pair.centre_distance)
        assert other.fillet_diameter == one.fillet_diameter


@pytest.mark.parametrize("measure", [lambda rack: rack.span(), lambda rack: rack.over_pins(8.0)])
def test_what_is_measured_on_gears_alone_is_refused(measure):
    with pytest.raises(gw.GearworkError, match="from its back"):
        measure(gw.Rack(5, 20))


def test_arrays_of_racks_shift_their_edges_like_gears():
    """Both flanks move by e square to themselves: 2 e / cos 20° of tooth, and e of tip."""
    rack = gw.Rack(5, 20)
    wider = rack.offset(np.array([0.0, 0.1]))
    grown = np.diff(wider.tooth_thickness), np.diff(wider.tip_diameter) / 2
    assert np.ravel(grown) == pytest.approx([0.2 / np.cos(np.radians(20)), 0.1], abs=1e-7)
