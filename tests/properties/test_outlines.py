"""What must hold for every outline: true area, no bit in the wood, no tooth in its mate."""

import numpy as np
import pytest
from hypothesis import assume, given
from shapely import Point, Polygon, affinity
from strategies import between, bits, gears, one_in, running_pairs

import gearwork as gw
from gearwork.geometry.gear_outline import fitting_tooth
from gearwork.geometry.toolpath import grown
from gearwork.verify.rolling import roll_outlines as roll

TOLERANCE = 0.002
ROUND = 64
"""Chords a quarter circle of shapely's buffers, which then stray by r (1 - cos(π/256)) inward."""


def strays(radius):
    return 2 * TOLERANCE + radius * (1 - np.cos(np.pi / 4 / ROUND))


def polygon(outline, tolerance=TOLERANCE):
    return Polygon(outline.points(tolerance))


def edges_of(pair, bit):
    pinion, wheel = pair.pinion, pair.wheel
    return (
        gw.gear_outline(pinion, bit, wheel, pair.centre_distance),
        gw.gear_outline(wheel, bit, pinion, pair.centre_distance),
    )


def near_first_space(wood, gear):
    """The wood about the space after tooth 0: a wedge of two and a half teeth to each side."""
    if gear.teeth < 12:
        return wood
    reach, middle = gear.tip_diameter, np.pi / gear.teeth
    turn = 4 * middle
    corners = [(0.0, 0.0)] + [
        (reach * np.cos(angle), reach * np.sin(angle)) for angle in (middle - turn, middle + turn)
    ]
    return wood.intersection(Polygon(corners))


@given(running_pairs(), between(0.0002, 0.05))
def test_area_and_length_are_those_of_the_polygon(case, tolerance):
    pair, bit = case
    for outline in edges_of(pair, bit):
        shape = polygon(outline, tolerance)
        assert shape.is_valid
        # every chord strays by the tolerance at most, over the whole length
        assert outline.area == pytest.approx(shape.area, abs=tolerance * outline.length)
        assert shape.length <= outline.length * (1 + 1e-12)
        fine = polygon(outline, tolerance / 100)
        assert outline.area == pytest.approx(fine.area, abs=tolerance / 100 * outline.length)
        assert outline.length == pytest.approx(fine.length, rel=1e-3)


@given(running_pairs())
def test_an_outline_is_its_teeth_over_and_over(case):
    pair, bit = case
    for gear, outline in zip((pair.pinion, pair.wheel), edges_of(pair, bit), strict=True):
        assert outline.area > 0.0
        teeth, each = int(gear.teeth), len(outline) // int(gear.teeth)
        next_tooth = outline.turned(360 / teeth)
        assert np.roll(outline.vertices, -each, axis=0) == pytest.approx(
            next_tooth.vertices, abs=1e-9
        )
        x, y = outline.points(TOLERANCE).T
        radius = np.hypot(x, y)
        assert radius.max() == pytest.approx(gear.tip_diameter / 2, abs=1e-9)
        assert radius.min() >= gear.root_diameter / 2 - TOLERANCE
        mirrored = affinity.scale(polygon(outline), yfact=-1, origin=(0, 0))
        assert mirrored.symmetric_difference(polygon(outline)).area < 1e-6 * outline.area


@given(running_pairs())
def test_no_inside_corner_is_tighter_than_the_bit(case):
    pair, bit = case
    for gear, outline in zip((pair.pinion, pair.wheel), edges_of(pair, bit), strict=True):
        assert outline.inside_corner_diameter >= bit.cut_diameter - 1e-6
        # the waste opened by the bit is all of the waste: the wood closed by it grows nowhere
        wood, radius = polygon(outline), bit.cut_diameter / 2
        wood = near_first_space(wood, gear)
        closed = wood.buffer(radius, quad_segs=ROUND).buffer(-radius, quad_segs=ROUND)
        inner = Point(0, 0).buffer(gear.root_diameter / 4)
        space = near_first_space(Point(0, 0).buffer(gear.tip_diameter / 2, quad_segs=256), gear)
        filled = closed.intersection(space).difference(inner)
        grown_by = filled.difference(wood.buffer(2 * strays(radius), quad_segs=8))
        about = Point(
            gear.reference_diameter
            / 2
            * np.array([np.cos(np.pi / gear.teeth), np.sin(np.pi / gear.teeth)])
        ).buffer(1.5 * gear.module)
        assert grown_by.intersection(about).area < 1e-6 * gear.module**2


@one_in(5)
@given(running_pairs(max_teeth=40))
def test_the_bit_on_its_path_leaves_the_wood_alone_and_reaches_all_of_the_edge(case):
    pair, bit = case
    radius = bit.cut_diameter / 2
    for outline in edges_of(pair, bit):
        path = grown(outline, radius)
        way = polygon(path).exterior
        swept = way.buffer(radius, quad_segs=ROUND)
        wood = polygon(outline)
        touched = swept.intersection(wood.buffer(-2 * strays(radius)))
        assert touched.area < 1e-9
        left = wood.exterior.difference(swept.buffer(2 * strays(radius)))
        assert left.length < 1e-6


@given(gears(), bits())
def test_any_gear_is_cut_or_refused(gear, bit):
    try:
        outline = gw.gear_outline(gear, bit)
    except gw.GearworkError:
        return
    assert polygon(outline, min(TOLERANCE, gear.module / 100)).is_valid
    assert outline.inside_corner_diameter >= bit.cut_diameter * (1 - 1e-9)
    cut = fitting_tooth(gear, bit)
    assert cut.form_diameter < gear.tip_diameter
    assert outline.bounds[2] == pytest.approx(gear.tip_diameter / 2, abs=2e-4)


@given(running_pairs(max_teeth=40), between(0.0, 1.0))
def test_outlines_never_overlap_through_a_turn(case, start):
    pair, bit = case
    pinion, wheel = map(polygon, edges_of(pair, bit))
    step = 360 / pair.pinion.teeth
    # within the play the pinion stands in the middle; the outlines may stray by the tolerance
    allowed = 4 * TOLERANCE * pair.pinion.module
    for share in start + np.arange(5) / 5:
        turned = affinity.rotate(pinion, share * step, origin=(0, 0))
        against = 180 - 180 / pair.wheel.teeth - share * 360 / pair.wheel.teeth
        mate = affinity.rotate(wheel, against, origin=(0, 0))
        mate = affinity.translate(mate, pair.centre_distance, 0.0)
        assert turned.intersection(mate).area <= allowed


@one_in(4)
@given(running_pairs(max_teeth=40))
def test_rolling_finds_the_backlash_and_clearance_whichever_gear_is_first(case):
    pair, bit = case
    pinion, wheel = edges_of(pair, bit)
    teeth = int(pair.pinion.teeth), int(pair.wheel.teeth)
    assume(pair.contact_ratio > 1.05)
    one = roll(pinion, wheel, pair.centre_distance, teeth)
    other = roll(wheel, pinion, pair.centre_distance, teeth[::-1])
    # two outlines stray 0.005 mm on both flanks each
    assert one.min_backlash == pytest.approx(pair.backlash, abs=0.025)
    assert other.min_backlash == pytest.approx(one.min_backlash, abs=0.01)
    assert other.min_clearance == pytest.approx(one.min_clearance, abs=0.01)
    assert other.tip_clearances[::-1] == pytest.approx(one.tip_clearances, abs=1e-6)
    assert other.contact_ratio == pytest.approx(one.contact_ratio, abs=0.06)
