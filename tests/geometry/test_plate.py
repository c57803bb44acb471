"""The side plates and the hull of circles, against shapely and closed forms."""

from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

import gearwork as gw
from gearwork.geometry.outline import Outline, circle_hull, circle_of
from gearwork.geometry.plate import GEAR_GAP, Seat, Spacers, side_plate, turned_over
from gearwork.stock.hardware import bearing

BIT = gw.Bit(3.175)
SPACERS = Spacers(outer_diameter=12.0, hole_diameter=8.5)
PINION = Seat(0, 0, bearing("608").outer_diameter, 0.1, swept_diameter=82.5, name="pinion")
WHEEL = Seat(132, 0, bearing("6001").outer_diameter, 0.1, swept_diameter=200, name="wheel")


# --- hull -------------------------------------------------------------------------------------


def test_band_round_two_pulleys_by_the_formula_of_the_open_belt():
    # Open belt (textbook closed form): L = 2 C cos φ + π (R + r) + 2 φ (R − r), sin φ = (R − r)/C.
    large, small, apart = 60.0, 25.0, 140.0
    phi = np.arcsin((large - small) / apart)
    length = 2 * apart * np.cos(phi) + np.pi * (large + small) + 2 * phi * (large - small)
    band = circle_hull([((0.0, 0.0), 2 * large), ((0.0, apart), 2 * small)])
    assert band.length == pytest.approx(length, rel=1e-12)


def test_band_round_equal_circles_on_a_grid_is_a_rounded_square():
    circles = [((30.0 * i, 30.0 * j), 8.0) for i in range(3) for j in range(3)]
    band = circle_hull(circles)
    assert len(band) == 8
    assert band.area == pytest.approx(60**2 + 4 * 60 * 4 + np.pi * 16, rel=1e-12)


def test_band_round_one_circle_or_circles_within_it_is_that_circle():
    band = circle_hull([((3.0, 4.0), 5.0), ((0.0, 0.0), 40.0), ((-2.0, 1.0), 6.0)])
    assert circle_of(band) == ((0.0, 0.0), 40.0)


places = st.tuples(st.integers(-5, 5).map(float), st.integers(-5, 5).map(float))


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.tuples(places, st.sampled_from([0.5, 1.0, 2.0, 2.5, 4.0])), min_size=1, max_size=8)
)
def test_any_band_is_shapelys_convex_hull(circles):
    band = circle_hull(circles)
    discs = [shapely.Point(place).buffer(size / 2, 128) for place, size in circles]
    expected = shapely.unary_union(discs).convex_hull
    assert band.area == pytest.approx(expected.area, rel=1e-4)  # circles of 512 chords: 3e-5
    assert band.length == pytest.approx(expected.length, rel=1e-4)
    assert np.abs(band.corner_angles()).max() < 1e-4
    assert (band.bulges >= 0).all()


# --- plates -----------------------------------------------------------------------------------


def hole(cut):
    (x, y), diameter = circle_of(cut.outline)
    return shapely.Point(x, y).buffer(diameter / 2, 64)


def edge(part):
    return shapely.Polygon(part.outer.points(1e-4))


def test_seats_take_the_bearings_where_the_axes_are():
    plate = side_plate([PINION, WHEEL], BIT, 12, 12, SPACERS)
    first, second = plate.cuts[:2]
    assert circle_of(first.outline) == ((0.0, 0.0), pytest.approx(22.1))  # 608: ISO 15, D = 22
    assert circle_of(second.outline) == ((132.0, 0.0), pytest.approx(28.1))  # 6001: D = 28
    assert first.operation == second.operation == "inside edge"
    assert "wheel seat 28.1 mm at (132.000, 0.000), through" in plate.notes


TRAINS = [
    [PINION, WHEEL],
    [PINION],
    [PINION, WHEEL, Seat(132, 118, 22, swept_diameter=60)],
    [Seat(0, 0, 22), Seat(40, 5, 22)],
    [Seat(0, 0, 22, swept_diameter=60), Seat(90, 0, 26, depth=8, hole_diameter=14)],
]


@pytest.mark.parametrize("seats", TRAINS)
@pytest.mark.parametrize("count", [3, 4, 5])
def test_holes_keep_their_distances(seats, count):
    margin, spacers = 14.0, Spacers(12.0, 8.5, count)
    plate = side_plate(seats, BIT, 12, margin, spacers)
    outer = edge(plate)
    rings = [shapely.Point(s.centre).buffer(s.seat_diameter / 2, 64) for s in seats]
    drilled = [hole(cut) for cut in plate.cuts if cut.operation == "drilled hole"]
    spaced = [ring.centroid for ring in drilled]
    assert len(spaced) == count
    for ring in [*rings, *(place.buffer(4.25) for place in spaced)]:
        assert outer.contains(ring)
        assert ring.distance(outer.exterior) >= margin - 1e-2
    for seat, place in ((s, p) for s in seats for p in spaced):
        apart = place.distance(shapely.Point(seat.centre))
        assert apart >= (seat.swept_diameter + 12) / 2 + GEAR_GAP - 1e-6
    assert min(a.distance(b) for a, b in combinations(drilled, 2)) > 4.0


def test_the_plate_of_the_other_side_is_the_mirror_image():
    seat = Seat(90, 20, 26, depth=8, hole_diameter=14)
    left = side_plate([PINION, seat], BIT, 12, 12, SPACERS, grain=30)
    right = turned_over(left, "the other")
    assert (left.grain, right.grain) == (30, 150)
    pocket, through = right.cuts[1:3]
    assert pocket.depth == 8
    assert circle_of(pocket.outline) == ((-90.0, 20.0), 26.0)
    assert circle_of(through.outline) == ((-90.0, 20.0), 14.0)
    flipped = shapely.transform(edge(left), lambda points: points * [-1, 1])
    assert edge(right).symmetric_difference(flipped).area < 1e-2
    assert right.outer.area > 0


def test_the_same_plates_come_out_every_time():
    once, again = (side_plate([PINION, WHEEL], BIT, 12, 12, SPACERS) for _ in range(2))
    assert once.cuts == again.cuts
    assert once.outer == again.outer


REFUSED = [
    (lambda: side_plate([], BIT, 12, 12, SPACERS), "no seat"),
    (lambda: side_plate([PINION], BIT, 12, 1, SPACERS), "margin of the side plates is 1 mm"),
    (
        lambda: side_plate([PINION, Seat(23, 0, 22, name="idler")], BIT, 12, 12, SPACERS),
        r"pinion and idler seats have 0\.95 mm of wood.* 2 mm is needed.* 24\.05 mm",
    ),
    (
        lambda: side_plate([PINION], gw.Bit(25.0), 12, 12, SPACERS),
        r"pinion seat is 22\.1 mm wide: a bit that cuts 25 mm does not go in",
    ),
    (
        lambda: side_plate([Seat(0, 0, 22, depth=12)], BIT, 12, 12, SPACERS),
        r"12 mm deep.*below the sheet's 12 mm",
    ),
    (lambda: Seat(0, 0, 22, hole_diameter=12), "goes through and has a hole"),
    (lambda: Seat(0, 0, 22, depth=7, hole_diameter=21), r"hole in the floor.*at most 20 mm"),
    (lambda: Seat("a", 0, 22), "x of the bearing seat is 'a'"),
    (lambda: Seat(0, 0, 22, -22), "allowance of the bearing seat is -22 mm"),
    (lambda: Spacers(8, 8.5), r"hole for a spacer is 8\.5 mm: it must be at most 8 mm"),
    (lambda: Spacers(12, 8.5, 2), "count of spacers is 2"),
]


@pytest.mark.parametrize(("make", "text"), REFUSED)
def test_what_cannot_be_is_refused_with_a_way_out(make, text):
    with pytest.raises(gw.GearworkError, match=text):
        make()


def test_hull_takes_numbers_as_they_come():
    assert isinstance(circle_hull([((0, 0), 4)]), Outline)
