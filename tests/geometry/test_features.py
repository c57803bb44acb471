"""What a gear carries beside its teeth, its mass and inertia, against shapely and closed forms."""

from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import gearwork as gw
from gearwork.geometry.features import (
    MIN_WALL,
    BoltCircle,
    Bore,
    NutPocket,
    Windows,
    Witness,
    gear_part,
)
from gearwork.geometry.outline import Outline, depth_inside, wood_between
from gearwork.geometry.part import Cut, Part, heft, polar_moment, taken_off
from gearwork.stock.hardware import nut, threads

FINE = 2e-4  # chord error of sampled polygons, mm
BIT = gw.Bit(3.175)
ROOT = 177.5  # root circle of the orchard wheel, mm


def polygon(outline, tolerance=FINE):
    return shapely.Polygon(outline.points(tolerance))


@pytest.fixture(scope="module")
def wheel():
    pair = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.15), gw.Gear(5, 38, thinning=0.15))
    return gw.gear_outline(pair.wheel, BIT, pair.pinion, pair.centre_distance)


def dense_polar_moment(outline):
    """Second moment of a fine polygon, x² + y² over its triangles to the origin."""
    x, y = outline.points(1e-5).T
    u, v = np.roll(x, -1), np.roll(y, -1)
    return ((x * v - y * u) * (x * x + x * u + u * u + y * y + y * v + v * v)).sum() / 12


# --- second moment, mass and inertia ---------------------------------------------------------


def test_polar_moment_of_a_circle_and_a_rectangle_by_their_closed_forms():
    # I_p = π d⁴/32 and b h (b² + h²)/12 about the centroid; Steiner's theorem off it.
    d = 40.0
    assert polar_moment(Outline.circle(d)) == pytest.approx(np.pi * d**4 / 32, rel=1e-12)
    aside = np.pi * d**4 / 32 + np.pi * d**2 / 4 * (30**2 + 7**2)
    assert polar_moment(Outline.circle(d, (30.0, -7.0))) == pytest.approx(aside, rel=1e-12)
    box = Outline([(-15, -5), (15, -5), (15, 5), (-15, 5)], [0, 0, 0, 0])
    assert polar_moment(box) == pytest.approx(30 * 10 * (30**2 + 10**2) / 12, rel=1e-12)


def test_polar_moment_of_a_gear_is_that_of_a_dense_polygon(wheel):
    # The polygon's chords stray 1e-5 mm over a path of about 1.5 m at 100 mm: 2e-7 of it.
    assert polar_moment(wheel) == pytest.approx(dense_polar_moment(wheel), rel=1e-6)
    assert polar_moment(wheel.reversed()) == pytest.approx(-polar_moment(wheel), rel=1e-12)


def test_polar_moment_of_a_nearly_straight_arc_is_that_of_the_line():
    corners = [(0, 0), (50, 0), (50, 20)]
    straight = polar_moment(Outline(corners, [0, 0, 0]))
    assert polar_moment(Outline(corners, [1e-12, -1e-10, 1e-12])) == pytest.approx(straight, 1e-9)


def test_heft_of_a_ring_by_its_closed_form():
    # A disc of diameter D with a hole d: m = ρ t π (D² − d²)/4, J = m (D² + d²)/8.
    part = Part("ring", Outline.circle(200.0), 12.0, (Cut.drilled(50.0),))
    mass = 680 * 0.012 * np.pi * (0.2**2 - 0.05**2) / 4
    assert heft(part, 680.0).mass == pytest.approx(mass, rel=1e-12)
    assert heft(part, 680.0).inertia == pytest.approx(mass * (0.2**2 + 0.05**2) / 8, rel=1e-12)


def test_a_bore_through_a_pocket_is_taken_off_once():
    pocket, bore = Cut(Outline.circle(20.0), "pocket", 6.0), Cut.drilled(8.0)
    mark = Cut(Outline.circle(30.0), "mark")
    volume = np.pi / 4 * (20**2 * 6 + 8**2 * (12 - 6))
    assert taken_off([bore, pocket, mark], 12.0, 1e9).mass == pytest.approx(volume, rel=1e-12)


def test_windows_save_what_the_gear_with_them_lacks(wheel):
    windows = Windows(6, 60, 16, 14, 8)
    solid = heft(gear_part("solid", wheel, BIT, 12, [Bore(8)]), 680)
    light = heft(gear_part("light", wheel, BIT, 12, [Bore(8), windows]), 680)
    saved = taken_off(windows.cuts(BIT, ROOT), 12, 680)
    assert (solid - light).mass == pytest.approx(saved.mass, rel=1e-6)
    assert (solid - light).inertia == pytest.approx(saved.inertia, rel=1e-6)
    assert 0.2 < saved.mass / solid.mass < 0.5


# --- points along paths and distances --------------------------------------------------------


def test_points_along_a_path_lie_on_it_and_their_rates_sum_to_its_length(wheel):
    pieces = np.arange(len(wheel))
    ends, rates = wheel.along(pieces, 1.0)
    assert np.abs(rates).sum() == pytest.approx(wheel.length, rel=1e-12)
    following = np.roll(wheel.vertices, -1, axis=0)
    assert np.column_stack([ends.real, ends.imag]) == pytest.approx(following, abs=1e-9)
    middles, _ = wheel.along(pieces[:, None], [0.3, 0.7])
    places = shapely.points(np.column_stack([middles.real.ravel(), middles.imag.ravel()]))
    assert shapely.distance(polygon(wheel).exterior, places).max() < 2 * FINE


def test_a_point_at_the_height_of_corners_is_outside_whatever_the_last_digits():
    """Beside rectangles whose corners are at heights that no binary number gives exactly."""
    heights = np.random.default_rng(2).uniform(50.0, 400.0, 200)
    for low, top in zip(-heights / 3, heights, strict=True):
        box = Outline([(-40, low), (40, low), (40, top), (-40, top)], [0, 0, 0, 0])
        near = [np.nextafter(end, way) for end in (low, top) for way in (-np.inf, end, np.inf)]
        beside = [(x, y) for x in (-41.0, 41.0) for y in near]
        np.testing.assert_allclose(depth_inside(beside, box), -1.0)


def test_depth_inside_is_shapelys_distance(wheel):
    places = np.random.default_rng(4).uniform(-110, 110, (200, 2))
    wood, points = polygon(wheel), shapely.points(places)
    expected = shapely.distance(wood.exterior, points)
    expected = np.where(shapely.contains(wood, points), expected, -expected)
    assert depth_inside(places, wheel, FINE) == pytest.approx(expected, abs=2 * FINE)
    assert depth_inside(places, wheel.reversed(), FINE) == pytest.approx(expected, abs=2 * FINE)


def test_wood_between_circles():
    one, other = Outline.circle(10.0), Outline.circle(6.0, (12.0, 0.0))
    assert wood_between(one, other) == pytest.approx(4.0, abs=0.02)
    assert wood_between(one, Outline.circle(6.0, (7.0, 0.0))) < 0


def test_reach_is_that_of_dense_points(wheel):
    angles = np.linspace(0, 360, 50)
    for outline in (wheel, wheel.turned(33).moved(20, -5), wheel.reversed()):
        x, y = outline.points(1e-5).T
        way = np.radians(angles)[:, None]
        dense = (np.cos(way) * x + np.sin(way) * y).max(axis=1)
        assert outline.reach(angles) == pytest.approx(dense, abs=2e-5)


# --- bore and nut pocket ---------------------------------------------------------------------


@pytest.mark.parametrize("thread", threads())
@pytest.mark.parametrize("bit", [2.0, 3.175])
def test_the_sharpest_nut_enters_its_pocket_and_the_bit_reaches_all_of_it(thread, bit):
    flats = nut(thread).width_across_flats
    (cut,) = NutPocket(flats, 5.0, angle=17.0).cuts(gw.Bit(bit), 100.0)
    pocket = polygon(cut.outline)
    around = np.radians(17 + 60 * np.arange(6))
    sharp = (flats + 0.19) / np.sqrt(3) * np.column_stack([np.cos(around), np.sin(around)])
    assert pocket.covers(shapely.Polygon(sharp))
    swept = pocket.buffer(-bit / 2, 64).buffer(bit / 2, 64)
    assert pocket.difference(swept).area < 0.01
    straight = np.hypot(*cut.outline.chords[cut.outline.bulges == 0].T)
    assert straight.min() > (flats + 0.2) / np.sqrt(3) / 3
    assert 2 * np.hypot(*pocket.exterior.coords.xy).min() >= flats


def test_nut_pocket_across_flats_is_the_nut_and_its_allowance():
    (cut,) = NutPocket(13.0, allowance=0.3).cuts(BIT, 100.0)
    _, low, _, high = cut.outline.bounds
    lines = cut.outline.bulges == 0
    middles = (cut.outline.vertices + cut.outline.chords / 2)[lines]
    assert 2 * np.hypot(*middles.T) == pytest.approx(13.3, abs=1e-9)
    assert cut.operation == "inside edge"
    assert high - low > 13.3  # the corner circles reach past the flats' corners


def test_the_largest_bit_named_for_a_nut_pocket_fits():
    with pytest.raises(gw.GearworkError, match=r"largest bit is 4\.6 mm"):
        NutPocket(13.0).cuts(gw.Bit(6.35), 100.0)
    assert NutPocket(13.0).cuts(gw.Bit(4.6), 100.0)
    with pytest.raises(gw.GearworkError):
        NutPocket(13.0).cuts(gw.Bit(4.7), 100.0)


def test_bore_is_the_rod_and_its_allowance():
    (cut,) = Bore(8.0, allowance=0.15).cuts(BIT, 100.0)
    assert cut.outline.area == pytest.approx(np.pi / 4 * 8.15**2)


# --- windows ---------------------------------------------------------------------------------


def ring_without_spokes(windows, arc_pieces):
    centre = shapely.Point(0, 0)
    ring = centre.buffer(ROOT / 2 - windows.rim_thickness, 100)
    ring -= centre.buffer(windows.hub_diameter / 2, arc_pieces)
    for angle in 2 * np.pi / windows.count * np.arange(windows.count):
        tip = 2 * ROOT * np.array([np.cos(angle), np.sin(angle)])
        spoke = shapely.LineString([(0, 0), tip])
        ring -= spoke.buffer(windows.spoke_width / 2, cap_style="flat")
    return ring


@pytest.mark.parametrize(
    "windows",
    [
        Windows(6, 60, 16, 14, 8),
        Windows(6, 20, 16, 14, 8),  # the corners at the hub meet
        Windows(3, 30, 10, 20, 20),
        Windows(12, 30, 8, 6, 4),
        Windows(5, 90, 12, 9.5, 3.175),
        Windows(3, 10, 2, 2, 7),
    ],
)
def test_windows_are_the_ring_without_spokes_opened_by_a_disc(windows):
    cuts = windows.cuts(BIT, ROOT)
    corner = windows.corner_diameter / 2
    ring = ring_without_spokes(windows, arc_pieces=25)
    expected = ring.buffer(-corner, 64).buffer(corner, 64)
    cut = shapely.unary_union([polygon(one.outline, 1e-3) for one in cuts])
    # The rim's 400 chords stray up to 0.003 mm, the hub's 100 up to 0.02 mm.
    assert cut.symmetric_difference(expected).area < 6.0


@given(
    st.integers(3, 12),
    st.floats(10, 120),
    st.floats(2, 40),
    st.floats(2, 30),
    st.floats(3.175, 30),
)
def test_any_windows_stay_in_their_bounds_and_let_the_bit_round(count, hub, rim, spoke, corner):
    windows = Windows(count, hub, rim, spoke, corner)
    try:
        cuts = windows.cuts(BIT, ROOT)
    except gw.GearworkError:
        return
    shapes = [polygon(cut.outline, 1e-3) for cut in cuts]
    assert len(shapes) == count
    assert all(shape.is_valid for shape in shapes)
    assert ring_without_spokes(windows, 100).buffer(0.01).covers(shapely.unary_union(shapes))
    for outline in (cut.outline for cut in cuts):
        assert np.abs(outline.corner_angles()).max() < 1e-3
        assert outline.radii[outline.bulges > 0].min() >= corner / 2 - 1e-9


@pytest.mark.parametrize("windows", [Windows(6, 60, 16, 14, 8), Windows(5, 90, 12, 9.5, 4)])
def test_windows_leave_hub_rim_and_spokes(windows):
    shapes = [polygon(cut.outline) for cut in windows.cuts(BIT, ROOT)]
    neighbours = [shapes[0].distance(shapes[1]), shapes[0].distance(shapes[-1])]
    assert neighbours == pytest.approx([windows.spoke_width] * 2, abs=1e-6)
    reach_of = np.hypot(*np.concatenate([shape.exterior.coords for shape in shapes]).T)
    assert 2 * reach_of.min() == pytest.approx(windows.hub_diameter, abs=2 * FINE)
    assert 2 * reach_of.max() == pytest.approx(ROOT - 2 * windows.rim_thickness, abs=2 * FINE)


# --- the whole piece -------------------------------------------------------------------------


def test_gear_part_keeps_wood_everywhere_and_marks_tooth_0(wheel):
    features = [Bore(8, 0.2), NutPocket(13, 6.5), BoltCircle(6, 5, 46), Windows(6, 62, 16, 14, 8)]
    part = gear_part("wheel", wheel, BIT, 12, features, count=2, grain=45, notes=("z 38",))
    assert (part.count, part.grain, part.notes) == (2, 45, ("z 38",))
    wood = polygon(part.outer)
    holes = [polygon(cut.outline, 1e-3) for cut in part.cuts]
    assert all(wood.contains(hole.buffer(MIN_WALL - 0.02)) for hole in holes)
    bore, pocket, *others = holes
    assert pocket.contains(bore)
    least = min(a.distance(b) for a, b in combinations([pocket, *others], 2))
    assert least >= MIN_WALL - 0.02
    assert part.cuts[-1].depth == 1.0  # the witness mark, blind
    mark = holes[-1].centroid
    assert (mark.x, mark.y) == pytest.approx(part.witness, abs=1e-6)
    assert mark.y == pytest.approx(0.0, abs=1e-9)  # on the centre line of tooth 0
    assert 2 * mark.x + 4.0 == pytest.approx(ROOT - 2 * MIN_WALL, abs=1e-3)


def test_a_pin_through_the_witness_holes_fits_every_layer(wheel):
    part = gear_part("layer", wheel, BIT, 12, witness=Witness(depth=None, diameter=3.0))
    assert part.cuts[-1].operation == "drilled hole"
    assert gear_part("plain", wheel, BIT, 12, witness=None).witness is None


REFUSED = [
    ([Bore(3)], r"bore of 3 mm is 3 mm wide.*make it at least 3\.175 mm"),
    ([Windows(6, 60, 16, 14, 2)], r"corner diameter.* 2 mm.*needs 1\.1. mm more.*at least 3\.49"),
    ([Windows(20, 60, 16, 14, 8)], r"20 windows.*no room: 85\.5 mm.*fewer windows"),
    ([Windows(6, 150, 16, 14, 8)], r"no room: 0\.0 mm"),
    (
        [BoltCircle(6, 5, 46, angle=30), Windows(6, 52, 16, 14, 8)],
        r"bolt circle.* and 6 windows.*mm of wood",
    ),
    ([BoltCircle(6, 5, 170)], r"bolt circle.*leaves 1\.25 mm of wood to the root circle.*5 mm is"),
    ([Bore(8), BoltCircle(3, 5, 20)], r"bore of 8 mm and bolt circle.* 3\.50 mm of wood.* 5 mm"),
    ([Bore(14), NutPocket(13, 5)], r"bore is 14 mm: it must be below the nut pocket's 13\.2"),
    ([Bore(8), NutPocket(13)], r"swallows the bore: leave the bore out"),
    ([Bore(8), Bore(8)], r"bore of 8 mm and bore of 8 mm have 0\.00 mm"),
    ([NutPocket(13, 12)], r"pocket.*12 mm deep.*below the sheet's 12 mm"),
]


@pytest.mark.parametrize(("features", "text"), REFUSED)
def test_what_cannot_be_cut_is_refused_with_a_way_out(wheel, features, text):
    with pytest.raises(gw.GearworkError, match=text):
        gear_part("wheel", wheel, BIT, 12, features)


def test_moving_apart_by_the_amount_named_is_enough(wheel):
    with pytest.raises(gw.GearworkError, match=r"that is 3\.00 mm in diameter"):
        gear_part("wheel", wheel, BIT, 12, [Bore(8), BoltCircle(3, 5, 20)])
    assert gear_part("wheel", wheel, BIT, 12, [Bore(8), BoltCircle(3, 5, 23)])
    with pytest.raises(gw.GearworkError, match=r"at least 38\.7 mm or fewer holes"):
        BoltCircle(12, 5, 30)
    assert BoltCircle(12, 5, 38.7)


BAD_VALUES = [
    (lambda: Bore(-8), "bore is -8 mm"),
    (lambda: Bore(8, -9), "allowance of the bore is -9 mm"),
    (lambda: NutPocket("M8"), "nut pocket across flats is 'M8'"),
    (lambda: NutPocket(13, 0), "depth of the nut pocket is 0 mm"),
    (lambda: BoltCircle(2.5, 5, 60), "count of bolt holes is 2.5"),
    (lambda: Windows(2, 60, 16, 14, 8), "count is 2"),
    (lambda: Windows(6, 60, 1, 14, 8), "rim thickness is 1 mm: it must be at least 2 mm"),
    (lambda: Windows(6, 60, 16, float("nan"), 8), "spoke width is nan"),
    (lambda: Witness(depth=-1), "depth of the witness mark is -1 mm"),
    (lambda: heft(Part("disc", Outline.circle(9), 9.0), 0), "density is 0"),
]


@pytest.mark.parametrize(("make", "text"), BAD_VALUES)
def test_bad_values_are_named(make, text):
    with pytest.raises(gw.GearworkError, match=text):
        make()


def test_wood_between_a_side_and_a_point_is_found_whichever_comes_first():
    """The tip of a wedge stands 3 mm before the middle of a plate's side."""
    plate = Outline([(0, 0), (40, 0), (40, 10), (0, 10)], np.zeros(4))
    wedge = Outline([(20, 13), (35, 30), (5, 30)], np.zeros(3))
    for one, other in ((plate, wedge), (wedge, plate)):
        assert wood_between(one, other) == pytest.approx(3.0)
        assert wood_between(one, other.moved(0.0, 4.0 if other is plate else -4.0)) < 0
