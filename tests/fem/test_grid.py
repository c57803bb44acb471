"""The triangles cover the region, keep its boundary and have the sizes asked for."""

import numpy as np
import pytest

from gearwork.errors import GearworkError
from gearwork.fem.grid import mesh_region, turns
from gearwork.geometry.outline import depth_in_polygons

SQUARE = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
ELL = np.array([[0, 0], [10, 0], [10, 2], [2, 2], [2, 10], [0, 10]], dtype=float)


def circle(radius, points=2000, centre=(5.0, 5.0)):
    angle = np.linspace(0, 2 * np.pi, points, endpoint=False)
    return radius * np.column_stack([np.cos(angle), np.sin(angle)]) + centre


def areas(mesh):
    a, b, c = mesh.vertices[mesh.triangles].transpose(1, 0, 2)
    return 0.5 * ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])


def even(loop, size):
    return np.full(len(loop), size)


CASES = [
    ([SQUARE], [1.0], 100.0),
    ([ELL], [0.5], 36.0),
    ([SQUARE, circle(2.0)], [1.5, 0.2], 100.0 - 4 * np.pi),
    ([SQUARE, circle(0.5), circle(1, centre=(2, 2))], [2, 0.1, 0.3], 100 - 1.25 * np.pi),
]


@pytest.mark.parametrize(("loops", "sizes", "area"), CASES)
def test_triangles_cover_the_region_once(loops, sizes, area):
    mesh = mesh_region(loops, [even(loop, s) for loop, s in zip(loops, sizes, strict=True)])
    assert areas(mesh).min() > 0.0
    assert areas(mesh).sum() == pytest.approx(area, rel=2e-3)  # chords for arcs
    used, count = np.unique(
        np.sort(np.vstack([mesh.triangles[:, [i, (i + 1) % 3]] for i in range(3)])),
        axis=0,
        return_counts=True,
    )
    assert set(map(tuple, used[count == 1])) == set(map(tuple, np.sort(mesh.edges)))
    assert count.max() == 2


@pytest.mark.parametrize(("loops", "sizes", "area"), CASES)
def test_no_triangle_is_a_sliver(loops, sizes, area):
    mesh = mesh_region(loops, [even(loop, s) for loop, s in zip(loops, sizes, strict=True)])
    corners = mesh.vertices[mesh.triangles]
    sides = np.roll(corners, -1, axis=1) - corners
    ways = sides[..., 0] + 1j * sides[..., 1]
    angles = np.degrees(np.angle(-np.roll(ways, 1, axis=1) / ways))
    assert np.allclose(angles.sum(axis=1), 180.0)
    assert angles.min() > 15.0


def test_corners_are_kept_and_arcs_followed():
    hole = circle(2.0)
    mesh = mesh_region([SQUARE, hole], [even(SQUARE, 2.0), even(hole, 0.3)])
    for corner in SQUARE:
        assert np.linalg.norm(mesh.vertices - corner, axis=1).min() == 0.0
    ring = mesh.loops == 1
    assert np.linalg.norm(mesh.middles[ring] - 5.0, axis=1) == pytest.approx(2.0, abs=1e-5)


def test_edges_have_the_size_asked_for_and_grow_slowly():
    hole = circle(1.0)
    mesh = mesh_region([SQUARE, hole], [even(SQUARE, 5.0), even(hole, 0.1)], growth=0.3)
    length = np.linalg.norm(np.diff(mesh.vertices[mesh.edges], axis=1)[:, 0], axis=1)
    assert length[mesh.loops == 1] == pytest.approx(0.1, rel=0.05)
    away = np.linalg.norm(mesh.middles - 5.0, axis=1) - 1.0
    assert np.all(length < 1.3 * (0.1 + 0.3 * away))


def test_finer_at_one_place_of_a_loop():
    size = np.array([0.1, 3.0, 3.0, 3.0])
    mesh = mesh_region([SQUARE], [size])
    near = np.linalg.norm(mesh.middles, axis=1) < 0.2
    length = np.linalg.norm(np.diff(mesh.vertices[mesh.edges], axis=1)[:, 0], axis=1)
    assert length[near].max() < 0.13
    assert length.max() > 1.0


def test_edges_run_with_the_region_on_the_left_whatever_the_sense_of_the_loops():
    hole = circle(2.0)
    for outer, inner in ((SQUARE, hole), (SQUARE[::-1], hole[::-1])):
        mesh = mesh_region([outer, inner], [even(outer, 2.0), even(inner, 0.5)])
        start, end = mesh.vertices[mesh.edges].transpose(1, 0, 2)
        left = np.column_stack([-(end - start)[:, 1], (end - start)[:, 0]])
        assert (depth_in_polygons(0.5 * (start + end) + 0.1 * left, start, end) > 0).all()


def test_same_input_same_mesh():
    one, other = (mesh_region([ELL], [even(ELL, 0.5)]) for _ in range(2))
    assert np.array_equal(one.vertices, other.vertices)
    assert np.array_equal(one.triangles, other.triangles)


def test_turns_of_a_square():
    assert turns(SQUARE) == pytest.approx(np.pi / 2)
    assert turns(SQUARE[::-1]) == pytest.approx(-np.pi / 2)


@pytest.mark.parametrize(
    ("loop", "size", "message"),
    [
        (SQUARE[:2], 1.0, "at least 3 points"),
        (SQUARE, -1.0, "no positive number"),
        (SQUARE * [1.0, np.nan], 1.0, "no positive number"),
        (np.array([[0, 0], [1, 1], [2, 2]]), 1.0, "no area"),
        (np.repeat(SQUARE, 2, axis=0), 1.0, "repeats a point"),
        (np.array([[0, 0], [10, 10], [10, 0], [3, 20]]), 1.0, "crosses itself"),
    ],
)
def test_unfit_boundaries_are_refused(loop, size, message):
    with pytest.raises(GearworkError, match=message):
        mesh_region([loop], [even(loop, size)])


def test_a_hollow_curve_in_coarse_facets_is_refused():
    hole = circle(2.0, points=40)
    with pytest.raises(GearworkError, match="smaller tolerance"):
        mesh_region([SQUARE, hole], [even(SQUARE, 2.0), even(hole, 0.2)])
    assert areas(mesh_region([hole], [even(hole, 0.2)])).sum() == pytest.approx(4 * np.pi, rel=0.01)


def test_a_gap_narrower_than_the_elements_is_refused():
    slit = np.array(
        [[0, 0], [10, 0], [10, 4.95], [1, 4.95], [1, 5.05], [10, 5.05], [10, 10], [0, 10]]
    )
    near = np.array([[3, 9.99], [7, 9.99], [5, 6]], dtype=float)
    with pytest.raises(GearworkError, match="comes closer"):
        mesh_region([SQUARE, near], [even(SQUARE, 3.0), even(near, 3.0)])
    assert areas(mesh_region([slit], [even(slit, 1.0)])).sum() == pytest.approx(99.1)
