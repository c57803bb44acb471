"""The box about a train, its plates and boards, against shapely and sums by hand."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import gearwork as gw
from gearwork.geometry.outline import circle_hull, circle_of, rounded
from gearwork.geometry.plate import MARGIN, Box, Seat, boards, side_plate, turned_over
from gearwork.stock.hardware import bearing

BIT = gw.Bit(3.175)
PINION = Seat(0, 0, bearing("608").outer_diameter, 0.1, swept_diameter=82.5, name="pinion")
WHEEL = Seat(132, 0, bearing("6001").outer_diameter, 0.1, swept_diameter=200, name="wheel")


def made(seats, bit=BIT):
    return side_plate(seats, Box.around(seats, 5.0, 12.0), bit)


def edge(part):
    return shapely.Polygon(part.outer.points(1e-4))


def test_seats_take_the_bearings_where_the_axes_are():
    plate = made([PINION, WHEEL])
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


def overlap(wood, *corners):
    return wood.intersection(shapely.box(*corners)).area


def rectangle(left, low, right, high):
    return shapely.box(left, low, right, high)


@pytest.mark.parametrize("seats", TRAINS)
@pytest.mark.parametrize("feet_up", [False, True])
@pytest.mark.parametrize("air", [5.0, 9.0])
def test_the_box_keeps_clear_of_all_that_turns(seats, feet_up, air):
    box = Box.around(seats, air, 12.0, feet_up)
    inside = rectangle(box.left, box.low, box.right, box.high)
    rods = [shapely.Point(place).buffer(4.25, 64) for place in box.rods]
    for seat in seats:
        turns = shapely.Point(seat.centre).buffer(max(seat.swept_diameter / 2, 0.01), 64)
        hole = shapely.Point(seat.centre).buffer(seat.seat_diameter / 2, 64)
        assert inside.contains(turns)
        assert turns.distance(inside.exterior) >= air - 1e-6
        assert min(turns.distance(rod) for rod in rods) >= air - 0.02  # circles as polygons
        assert min(hole.distance(rod) for rod in rods) >= MARGIN - 0.02
        assert hole.distance(inside.exterior) >= MARGIN - 1e-6
    plate = side_plate(seats, box, BIT, "plate")
    wood = edge(plate)
    for cut in plate.cuts:
        wood = wood.difference(shapely.Polygon(cut.outline.points(1e-3)))
    assert wood.geom_type == "Polygon"  # all in one piece
    assert wood.is_valid


@pytest.mark.parametrize("feet_up", [False, True])
@pytest.mark.parametrize("seats", TRAINS)
def test_boards_stand_in_slots_and_notches_and_close_the_box(seats, feet_up):
    """Each board as a solid seen along the rods: its tenons are in holes of the plate, no wood."""
    box = Box.around(seats, 5.0, 12.0, feet_up)
    plate, height = side_plate(seats, box, BIT), 60.0
    foot, lid, end, pad = boards(box, height, (12.0, 12.0), BIT)
    assert (foot.count, lid.count, end.count, pad.count) == (1, 1, 2, 2)
    wood = edge(plate)
    for cut in plate.cuts:
        wood = wood.difference(shapely.Polygon(cut.outline.points(1e-3)))
    left, low, right, high = box.edge
    y_foot = (box.high, box.high + 12.0) if feet_up else (box.low - 12.0, box.low)
    y_lid = (box.low - 12.0, box.low) if feet_up else (box.high, box.high + 12.0)
    ends = [(box.left - 12.0, box.left), (box.right, box.right + 12.0)]

    def tenons(board, above):
        """From where to where along the board, above its upper or below its lower shoulder."""
        line = shapely.LineString([(-999, 66.0 if above else -6.0), (999, 66.0 if above else -6.0)])
        cut = edge(board).intersection(line)
        return [part.bounds[::2] for part in getattr(cut, "geoms", [cut])]

    for above in (False, True):
        for start, stop in tenons(foot, above):
            at = left - 45.0
            assert (
                wood.intersection(rectangle(at + start, y_foot[0], at + stop, y_foot[1])).area
                < 1e-6
            )
        for start, stop in tenons(lid, above):
            at = box.left - 12.0
            assert overlap(wood, at + start, y_lid[0], at + stop, y_lid[1]) < 1e-6
        for start, stop in tenons(end, above):
            for x in ends:
                at = box.low + 0.2
                assert overlap(wood, x[0], at + start, x[1], at + stop) < 1e-6
    # where a fillet runs up beside a tenon there is no wood of the plate either
    assert foot.bounds[2] == pytest.approx(right - left + 90.0)
    assert lid.bounds[2] == pytest.approx(box.right - box.left + 24.0)
    assert end.bounds[2] == pytest.approx(box.high - box.low - 0.4)
    # pads bring the feet flush with the plate's edge
    assert (high - y_foot[1] if feet_up else y_foot[0] - low) == pytest.approx(pad.thickness)
    assert (y_lid[0] - low if feet_up else high - y_lid[1]) == pytest.approx(0.0)


def test_a_box_by_hand():
    """Circles of 82.5 and 200, 132 apart, 5 of air, 12 of plywood: no corner is too narrow.

    Left 41.25 + 5, right 132 + 105, up and down 105; plates 24 more to the sides, 12 at the lid,
    24 at the feet, feet 45 more.
    """
    box = Box.around([PINION, WHEEL], 5.0, 12.0)
    assert (box.left, box.low, box.right, box.high) == pytest.approx((-46.25, -105.0, 237.0, 105.0))
    assert box.edge == pytest.approx((-70.25, -129.0, 261.0, 117.0))
    assert box.bounds == pytest.approx((-115.25, -129.0, 306.0, 117.0))
    assert box.rods[0] == pytest.approx((-36.25, -95.0))
    assert box.distance((0.0, 0.0)) == pytest.approx(46.25)


def test_a_rounded_polygon_by_hand():
    """A square of 10 mm with one corner rounded by 2 mm: 100 - 4 + π, 40 - 4 + π."""
    one = rounded([(0, 0, 0), (10, 0, 2.0), (10, 10, 0), (0, 10, 0)])
    assert one.area == pytest.approx(96 + np.pi)
    assert one.length == pytest.approx(36 + np.pi)
    hollow = rounded([(0, 0, 0), (20, 0, 0), (20, 10, 0), (10, 10, 2.0), (10, 20, 0), (0, 20, 0)])
    assert hollow.area == pytest.approx(300 + 4 - np.pi)


def test_the_plate_of_the_other_side_is_the_mirror_image():
    seat = Seat(90, 20, 26, depth=8, hole_diameter=14)
    left = replace(made([PINION, seat]), grain=30)
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
    once, again = (made([PINION, WHEEL]) for _ in range(2))
    assert once.cuts == again.cuts
    assert once.outer == again.outer


REFUSED = [
    (lambda: made([]), "no seat"),
    (
        lambda: made([PINION, Seat(23, 0, 22, name="idler")]),
        r"pinion and idler seats have 0\.95 mm of wood.* 2 mm is needed.* 24\.05 mm",
    ),
    (
        lambda: made([PINION], gw.Bit(25.0)),
        r"slots for boards in the plates are 12\.3 mm wide: a bit that cuts 25 mm does not go in",
    ),
    (
        lambda: made([Seat(0, 0, 22, depth=12)]),
        r"12 mm deep.*below the sheet's 12 mm",
    ),
    (lambda: Seat(0, 0, 22, hole_diameter=12), "goes through and has a hole"),
    (lambda: Seat(0, 0, 22, depth=7, hole_diameter=21), r"hole in the floor.*at most 20 mm"),
    (lambda: Seat("a", 0, 22), "x of the bearing seat is 'a'"),
    (lambda: Seat(0, 0, 22, -22), "allowance of the bearing seat is -22 mm"),
]


@pytest.mark.parametrize(("make", "text"), REFUSED)
def test_what_cannot_be_is_refused_with_a_way_out(make, text):
    with pytest.raises(gw.GearworkError, match=text):
        make()


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
