"""The path of the bit's centre, against shapely's buffer and swept discs."""

from itertools import pairwise

import numpy as np
import pytest
import shapely

import gearwork as gw
from gearwork.geometry.features import BoltCircle, Bore, NutPocket, Windows, gear_part
from gearwork.geometry.outline import Outline
from gearwork.geometry.part import Cut, Part
from gearwork.geometry.toolpath import Tabs, bit_paths, grown

FINE = 2e-4  # chord error of sampled polygons, mm
BIT = gw.Bit(3.0)


def polygon(outline, tolerance=FINE):
    return shapely.Polygon(outline.points(tolerance))


def gear_edges(bit=BIT):
    pair = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.15), gw.Gear(5, 38, thinning=0.15))
    return (
        gw.gear_outline(pair.pinion, bit, pair.wheel, pair.centre_distance),
        gw.gear_outline(pair.wheel, bit, pair.pinion, pair.centre_distance),
    )


PINION, WHEEL = gear_edges()
WINDOW = Windows(6, 60, 16, 14, 8).cuts(BIT, 177.5)[0].outline
NARROW = Windows(12, 30, 16, 14, 3.3).cuts(BIT, 177.5)[0].outline
HEXAGON = NutPocket(13).cuts(BIT, 177.5)[0].outline
BOX = Outline([(-40, -25), (40, -25), (40, 25), (-40, 25)], [0, 0, 0, 0])

OFFSETS = [
    (PINION, 1.5),
    (WHEEL, 1.5),
    (WHEEL, 0.4),
    (WHEEL.reversed(), 1.5),
    (WINDOW, -1.5),
    (WINDOW.reversed(), -1.5),
    (NARROW, -1.5),
    (HEXAGON, -1.5),
    (BOX, 7.0),
    (Outline.circle(22.0, (5.0, 3.0)), -1.5),
]


@pytest.mark.parametrize(("outline", "distance"), OFFSETS)
def test_grown_is_shapelys_buffer(outline, distance):
    path = grown(outline, distance)
    sampled, buffered = polygon(path, 1e-3), polygon(outline, 1e-3).buffer(distance, 64)
    assert sampled.is_valid
    assert np.sign(path.area) == np.sign(outline.area)
    # Both are sampled to 1e-3 mm; the buffer's round corners in 64 pieces a quarter to 6e-4 mm.
    assert buffered.buffer(3e-3).covers(sampled)
    assert sampled.buffer(3e-3).covers(buffered)
    assert abs(path.area) == pytest.approx(buffered.area, abs=2e-3 * path.length)


def test_grown_circle_and_box_by_their_closed_forms():
    assert grown(Outline.circle(20.0), 3.0).area == pytest.approx(np.pi * 13**2, rel=1e-12)
    # Steiner's formula for convex figures: A + L d + π d², L + 2π d.
    path = grown(BOX, 4.0)
    assert path.area == pytest.approx(BOX.area + BOX.length * 4 + np.pi * 16, rel=1e-12)
    assert path.length == pytest.approx(BOX.length + 2 * np.pi * 4, rel=1e-12)


def test_growing_and_shrinking_a_smooth_path_gives_it_back():
    back = grown(grown(WINDOW, -1.5), 1.5)
    assert back.vertices == pytest.approx(WINDOW.vertices, abs=1e-9)
    assert back.bulges == pytest.approx(WINDOW.bulges, abs=1e-9)


def test_no_distance_changes_nothing():
    assert grown(WHEEL, 0.0) == WHEEL


def angle_iron(radius):
    """An L whose inside corner has an arc of that radius about (10 + radius, 10 + radius)."""
    inner = 10 + radius
    corners = [(0, 0), (50, 0), (50, 10), (inner, 10), (10, inner), (10, 50), (0, 50)]
    return Outline(corners, [0, 0, 0, -np.tan(np.pi / 8), 0, 0, 0])


def test_an_inside_arc_of_the_bits_radius_becomes_a_corner_at_its_centre():
    path = grown(angle_iron(1.5), 1.5)
    at_centre = np.hypot(*(path.vertices - [11.5, 11.5]).T) < 1e-9
    assert np.count_nonzero(at_centre) == 1
    assert path.corner_angles()[at_centre] == pytest.approx([-90.0])
    assert polygon(path).hausdorff_distance(polygon(angle_iron(1.5)).buffer(1.5, 128)) < 1e-3


def keyhole():
    """A block with a slot 2.4 mm wide that opens into a round hole 8 mm wide."""
    half = np.arcsin(1.2 / 4)
    neck = 20 + 4 * np.cos(half)
    corners = [(-20, 0), (20, 0), (20, 50), (1.2, 50), (1.2, neck), (-1.2, neck), (-1.2, 50)]
    hole = -np.tan((2 * np.pi - 2 * half) / 4)
    return Outline([*corners, (-20, 50)], [0, 0, 0, 0, hole, 0, 0, 0])


REFUSED = [
    (BOX, -1.5, r"corner at \(-40\.00, -25\.00\) mm turns inward by 90\.00 degrees.*round it"),
    (angle_iron(1.4), 1.5, r"arc of 2\.800 mm diameter curves inward.*needs 3 mm.*smaller bit"),
    (Outline.circle(2.9), -1.5, r"arc of 2\.900 mm diameter"),
    (Outline.circle(3.0), -1.5, r"nothing is left.*plunge or drill"),
    (keyhole(), 1.5, r"leaves 2\.4. mm of room near .*3 mm are needed; take a smaller bit"),
    (BOX, "wide", r"distance is 'wide'"),
]


@pytest.mark.parametrize(("outline", "distance", "text"), REFUSED)
def test_where_the_bit_does_not_follow_is_said(outline, distance, text):
    with pytest.raises(gw.GearworkError, match=text):
        grown(outline, distance)


# --- whole paths ------------------------------------------------------------------------------


def line(run):
    """One run as a fine line string."""
    points = [run.vertices[:1]]
    for ends, bulge in zip(pairwise(run.vertices), run.bulges, strict=True):
        piece = Outline(ends, [bulge, 0.0]).points(FINE)
        points.append(np.vstack([piece[1:-1] if len(piece) > 2 else piece[:0], ends[1]]))
    return shapely.LineString(np.vstack(points))


def test_the_line_of_a_run_is_its_arcs():
    run = bit_paths(Part("disc", Outline.circle(47.0), 9.0), BIT)[0].runs[-1]
    assert line(run).length == pytest.approx(np.pi * 50, rel=1e-4)


@pytest.fixture(scope="module")
def part():
    features = [Bore(8), NutPocket(13, 5), BoltCircle(6, 5, 46), Windows(6, 62, 16, 14, 8)]
    return gear_part("wheel", WHEEL, BIT, 12, features)


@pytest.fixture(scope="module")
def paths(part):
    return bit_paths(part, BIT, Tabs(3, 5.0, 3.0))


def test_every_edge_cut_through_has_a_path_the_outer_one_last(part, paths):
    assert len(paths) == 1 + 6 + 1  # bore, windows, teeth; neither pocket nor drilled holes
    assert all(path.bit_diameter == 3.0 for path in paths)
    reach = [np.hypot(*np.vstack([run.vertices for run in path.runs]).T).max() for path in paths]
    assert reach[0] == pytest.approx(2.5)
    assert np.argmax(reach) == len(paths) - 1


def test_runs_follow_each_other_and_close(paths):
    for path in paths:
        for before, after in pairwise(path.runs):
            assert after.vertices[0] == pytest.approx(before.vertices[-1], abs=1e-9)
        around = path.runs[1:]
        assert around[-1].vertices[-1] == pytest.approx(around[0].vertices[0], abs=1e-9)
        assert all(len(run.vertices) == len(run.bulges) + 1 for run in path.runs)


def test_the_bit_touches_the_piece_nowhere_and_frees_all_but_the_tabs(part, paths):
    wood = polygon(part.outer)
    for cut in part.cuts:
        if cut.operation == "inside edge":
            wood -= polygon(cut.outline)
    for path in paths:
        swept = shapely.unary_union([line(run).buffer(1.5, 32) for run in path.runs])
        assert swept.intersection(wood).area < FINE * 2 * sum(line(r).length for r in path.runs)
    cut = [line(run).buffer(1.5, 32) for run in paths[-1].runs[1:] if run.height == 0]
    band = polygon(part.outer).buffer(3.0, 32) - polygon(part.outer)
    left = band - shapely.unary_union(cut).buffer(0.01)
    assert len([piece for piece in left.geoms if piece.area > 1.0]) == 3


def test_bit_keeps_the_wood_to_its_right(paths):
    *inside, outside = [
        shapely.LinearRing(np.vstack([np.array(line(run).coords)[:-1] for run in path.runs[1:]]))
        for path in paths
    ]
    assert all(ring.is_ccw for ring in inside)
    assert not outside.is_ccw


def test_lead_in_comes_from_the_waste_and_joins_without_a_corner(part, paths):
    edges = [cut.outline for cut in part.cuts if cut.operation == "inside edge"]
    for path, edge in zip(paths, [*edges, part.outer], strict=True):
        lead_in, run = path.runs[:2]
        begin = shapely.Point(lead_in.vertices[0])
        assert begin.distance(polygon(edge).exterior) > 1.5 + 0.2
        ways = [np.diff(np.array(line(lead_in).coords)[-2:], axis=0)[0]]
        ways.append(np.diff(np.array(line(run).coords)[:2], axis=0)[0])
        turn = np.diff([np.arctan2(y, x) for x, y in ways])
        # The chords of the sampled arcs: 2 sqrt(2 FINE / R) on the lead-in of 1.5 mm.
        assert abs(np.angle(np.exp(1j * turn))) < 0.05


def test_teeth_are_held_at_their_tips(paths):
    tabs = [run for run in paths[-1].runs if run.height > 0]
    assert [run.height for run in tabs] == [3.0] * 3
    tip = np.hypot(*WHEEL.points().T).max()
    for run in tabs:
        middle = line(run).interpolate(0.5, normalized=True)
        assert np.hypot(middle.x, middle.y) == pytest.approx(tip + 1.5, abs=1e-3)
        assert line(run).length == pytest.approx(5.0 + 3.0, abs=1e-3)


def test_round_holes_carry_no_tabs_but_windows_do(paths):
    assert all(run.height == 0 for run in paths[0].runs)
    assert all(any(run.height > 0 for run in path.runs) for path in paths[1:-1])
    for path in paths[1:-1]:  # on straight pieces and wide arcs, never in a corner
        assert all(len(run.bulges) == 1 for run in path.runs if run.height > 0)


def test_the_bit_enters_a_window_where_it_costs_no_tab():
    """Of four sides the base alone is long enough for a tab, 10 mm where the bit runs, no half."""
    sides = np.array([(0.0, 0.0), (10.0, 0.0), (7.0, 3.0), (3.0, 3.0)])
    window = Cut(grown(Outline(sides, np.zeros(4)), 1.0), "inside edge")
    board = Outline(
        np.array([(-20, -20), (30, -20), (30, 30), (-20, 30)], dtype=float), np.zeros(4)
    )
    path, _ = bit_paths(Part("board", board, 9.0, (window,)), gw.Bit(1.5), Tabs(3, 5.0, 3.0))
    (tab,) = (run for run in path.runs if run.height > 0.0)
    assert tab.vertices[:, 1] == pytest.approx([-0.25, -0.25])
    assert line(tab).length == pytest.approx(5.0 + 1.5, abs=1e-3)


def test_a_tab_on_a_straight_edge_is_as_wide_as_asked():
    (path,) = bit_paths(Part("board", BOX, 9.0), BIT, Tabs(4, 6.0, 2.0))
    cut = [line(run).buffer(1.5, 128) for run in path.runs[1:] if run.height == 0]
    cut = [shapely.union(cut[-1], cut[0]), *cut[1:-1]]
    gaps = [one.distance(other) for one, other in zip(cut, [*cut[1:], cut[0]], strict=True)]
    assert gaps == pytest.approx([6.0] * 4, abs=1e-3)


def test_without_room_for_a_lead_in_the_bit_is_let_down_on_the_path():
    hole = Cut(Outline.circle(3.1), "inside edge")
    first, _ = bit_paths(Part("board", BOX, 9.0, (hole,)), BIT)
    assert line(first.runs[0]).length == pytest.approx(np.pi * 0.1, rel=1e-2)


BAD = [
    (Tabs(3, 5.0, 9.0), r"tab height is 9 mm: it must be below the sheet's 9 mm"),
    (Tabs(40, 5.0, 3.0), r"40 tabs of 5 mm.*gap of 8 mm.*do not fit.*fewer or narrower"),
]


@pytest.mark.parametrize(("tabs", "text"), BAD)
def test_tabs_that_cannot_be_are_refused(tabs, text):
    with pytest.raises(gw.GearworkError, match=text):
        bit_paths(Part("board", BOX, 9.0), BIT, tabs)


@pytest.mark.parametrize(
    ("values", "text"),
    [((0, 5, 3), "count of tabs"), ((3, 0, 3), "tab width"), ((3, 5, "3"), "tab height is '3'")],
)
def test_bad_tab_values_are_named(values, text):
    with pytest.raises(gw.GearworkError, match=text):
        Tabs(*values)


def test_a_ratchet_whose_tips_lean_over_is_held_and_entered_all_the_same():
    # Radial fronts, straight backs and roots of 2 mm radius: no middle of a piece is outermost.
    fronts = np.exp(1j * np.radians(30 * np.arange(12)))
    centre = 42 + 2j
    way = 50 * fronts[1] - centre
    touch = np.angle(way) + np.arccos(2 / np.abs(way))
    root = -np.tan((1.5 * np.pi - touch) / 4)
    points = np.array([[50, 42, centre + 2 * np.exp(1j * touch)]]) * fronts[:, None]
    points = points.ravel()
    outline = Outline(np.column_stack([points.real, points.imag]), [0.0, root, 0.0] * 12)
    (path,) = bit_paths(Part("ratchet", outline, 9.0), BIT, Tabs(3, 4.0, 3.0))
    assert [run.height for run in path.runs] == [0, 0, 3, 0, 3, 0, 3, 0]
    swept = shapely.unary_union([line(run).buffer(1.5, 32) for run in path.runs])
    assert swept.intersection(polygon(outline)).area < 0.5
