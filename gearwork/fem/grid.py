"""Triangles over a plane region, fine where asked: the mesh of the elastic check."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.spatial import Delaunay, cKDTree
from scipy.spatial.distance import cdist

from gearwork.errors import GearworkError, number
from gearwork.geometry.outline import depth_in_polygons
from gearwork.numbers import Bools, Floats, Ints

CORNER = np.radians(15.0)  # a turn beyond this is a corner of the shape, below it a curve's facet
SMOOTHING_ROUNDS = 8
RIM = 1.5  # sizes by which the rim of equal elements is wide


@dataclass(frozen=True)
class PlaneMesh:
    """Triangles over a region whose outer edges are bent to the given curve; mm."""

    vertices: Floats  # (n, 2)
    triangles: Ints  # (t, 3) vertex numbers, counter-clockwise
    edges: Ints  # (m, 2) of the boundary, in order round each loop, region on the left
    middles: Floats  # (m, 2) points of the true boundary half-way along each edge
    loops: Ints  # (m,) of the given loops, the one each edge belongs to


def mesh_region(loops: Sequence[Floats], sizes: Sequence[Floats], growth: float = 0.3) -> PlaneMesh:
    """Cover a region with triangles.

    Loops, the outer boundary first, then holes, run in any sense, first point not repeated; curves
    are chains of short facets, and a turn of more than 15° counts as a corner. Sizes are the wanted
    edge lengths at the points, mm; they are lowered where the growth (of the size over the distance
    from a finer place, after a rim of about two equal elements) asks for it and where a piece
    between two corners is shorter. Refused where loops do not bound a region, come too close to
    each other for the size, or have hollow curves facetted too coarsely.
    """
    number("growth of the element size", growth, above=0.0, at_most=1.0)
    turned = [
        _oriented(np.asarray(loop, float), np.asarray(size, float), outer=i == 0)
        for i, (loop, size) in enumerate(zip(loops, sizes, strict=True))
    ]
    finest = min(float(size.min()) for _, size in turned)
    dense = [_densified(loop, size, finest) for loop, size in turned]
    limited = _graded([d[0] for d in dense], [d[1] for d in dense], growth)
    pieces = [_divided(loop, size) for (loop, _), size in zip(dense, limited, strict=True)]
    corners = np.vstack([p[0] for p in pieces])
    middles = np.vstack([p[1] for p in pieces])
    counts = [len(p[0]) for p in pieces]
    starts = np.cumsum([0, *counts[:-1]])
    ahead = np.concatenate(
        [s + np.roll(np.arange(c), -1) for s, c in zip(starts, counts, strict=True)]
    )
    edges = np.column_stack([np.arange(len(corners)), ahead])
    lengths = np.linalg.norm(corners[edges[:, 1]] - corners[edges[:, 0]], axis=1)
    before = np.empty_like(lengths)
    before[ahead] = lengths
    field = _size_field(corners, 0.5 * (lengths + before), growth)
    inner = _smoothed(corners, edges, _inner_points(corners, edges, field), field)
    vertices, triangles = _triangulated(corners, edges, inner)
    return PlaneMesh(vertices, triangles, edges, middles, np.repeat(np.arange(len(loops)), counts))


def turns(loop: Floats) -> Floats:
    """Angle, radians, by which a closed polyline turns left at each of its points."""
    after = np.roll(loop, -1, axis=0) - loop
    before = np.roll(after, 1, axis=0)
    return np.asarray(np.arctan2(cross(before, after), np.sum(before * after, axis=1)))


def cross(a: Floats, b: Floats) -> Floats:
    """Return the product a_x b_y − a_y b_x of vectors (..., 2)."""
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def _oriented(loop: Floats, size: Floats, *, outer: bool) -> tuple[Floats, Floats]:
    if loop.ndim != 2 or loop.shape[1] != 2 or len(loop) < 3 or size.shape != (len(loop),):
        raise GearworkError(
            f"a boundary loop has the shape {loop.shape} with sizes {size.shape}:"
            " at least 3 points (n, 2) with a size each (n,) are needed"
        )
    if not (np.isfinite(loop).all() and np.isfinite(size).all() and size.min() > 0.0):
        raise GearworkError(
            "a boundary loop or its element sizes hold a value that is no positive number"
        )
    if np.any(np.all(np.roll(loop, -1, axis=0) == loop, axis=1)):
        raise GearworkError("a boundary loop repeats a point: leave out doubled points")
    area = 0.5 * float(np.sum(cross(loop, np.roll(loop, -1, axis=0))))
    if area == 0.0:
        raise GearworkError("a boundary loop encloses no area")
    return (loop, size) if (area > 0.0) == outer else (loop[::-1], size[::-1])


def _densified(loop: Floats, size: Floats, finest: float) -> tuple[Floats, Floats]:
    """The same loop with its long facets divided, so that sizes can change along them."""
    along = _arc_length(loop)
    pieces = np.ceil(np.diff(along) / max(finest, along[-1] / 500.0)).astype(int)
    marks = np.concatenate(
        [np.linspace(along[i], along[i + 1], n, endpoint=False) for i, n in enumerate(pieces)]
    )
    closed = np.vstack([loop, loop[:1]])
    return _at_length(along, closed, marks), np.interp(marks, along, np.append(size, size[0]))


def _graded(loops: list[Floats], sizes: list[Floats], growth: float) -> list[Floats]:
    """Sizes lowered to the length of the pieces and to the growth from finer places."""
    lowered = [np.minimum(s, _piece_lengths(p)) for p, s in zip(loops, sizes, strict=True)]
    points = np.vstack(loops)
    graded = _size_field(points, np.concatenate(lowered), growth)(points)
    return np.split(graded, np.cumsum([len(p) for p in loops])[:-1])


def _size_field(sources: Floats, sizes: Floats, growth: float) -> Callable[[Floats], Floats]:
    """Size at any points: the least of the sources' sizes grown over the distance to them."""
    chunk = max(1, 1_000_000 // len(sources))

    def field(points: Floats) -> Floats:
        parts = [np.empty(0)]
        for i in range(0, len(points), chunk):
            away = cdist(points[i : i + chunk], sources)
            parts.append(np.min(sizes + growth * np.maximum(away - RIM * sizes, 0.0), axis=1))
        return np.concatenate(parts)

    return field


def _piece_lengths(loop: Floats) -> Floats:
    """Length of the piece between corners, at corners; unlimited elsewhere."""
    limit = np.full(len(loop), np.inf)
    at = np.flatnonzero(np.abs(turns(loop)) > CORNER)
    if len(at) > 1:
        along = _arc_length(loop)
        gaps = np.diff(along[at], append=along[at[0]] + along[-1])
        limit[at] = np.minimum(gaps, np.roll(gaps, 1))
    return limit


def _arc_length(loop: Floats) -> Floats:
    """(n + 1,) length along the closed loop up to each point and back to the first."""
    steps = np.linalg.norm(np.roll(loop, -1, axis=0) - loop, axis=1)
    return np.concatenate([[0.0], np.cumsum(steps)])


def _divided(loop: Floats, size: Floats) -> tuple[Floats, Floats]:
    """Mesh vertices along a loop, and the points of the loop half-way between them."""
    at = np.flatnonzero(np.abs(turns(loop)) > CORNER)
    _refuse_coarse_facets(loop, size)
    first = int(at[0]) if len(at) else 0
    loop, size, at = np.roll(loop, -first, axis=0), np.roll(size, -first), at - first
    along = _arc_length(loop)
    closed = np.vstack([loop, loop[:1]])
    density = 1.0 / np.append(size, size[0])
    count = np.concatenate([[0.0], np.cumsum(np.diff(along) * 0.5 * (density[1:] + density[:-1]))])
    bounds = np.append(at if len(at) else [0], len(loop))
    least = 1 if len(at) > 2 else 3
    marks = np.concatenate(
        [
            np.linspace(count[i], count[j], max(least, round(count[j] - count[i])) + 1)[:-1]
            for i, j in pairwise(bounds)
        ]
    )
    where = np.interp(marks, count, along)
    half = 0.5 * (where + np.append(where[1:], along[-1]))
    return _at_length(along, closed, where), _at_length(along, closed, half)


def _refuse_coarse_facets(loop: Floats, size: Floats) -> None:
    """Raise an error if hollow curves, where stress peaks, are coarser than the elements allow."""
    hollow = np.maximum(-turns(loop), 0.0)
    turn = np.where(hollow > CORNER, 0.0, hollow)
    facet = np.linalg.norm(np.roll(loop, -1, axis=0) - loop, axis=1)
    sagitta = turn * np.maximum(facet, np.roll(facet, 1)) / 8.0
    worst = int(np.argmax(sagitta / size))
    if sagitta[worst] > 0.01 * size[worst]:
        x, y = loop[worst]
        raise GearworkError(
            f"the boundary near ({x:.3g}, {y:.3g}) is sampled with a chord error of about"
            f" {sagitta[worst]:.2g} mm: at most a hundredth of the element size there"
            f" ({size[worst]:.3g} mm) is allowed; sample the curve with a smaller tolerance"
        )


def _at_length(along: Floats, closed: Floats, where: Floats) -> Floats:
    return np.column_stack([np.interp(where, along, closed[:, i]) for i in (0, 1)])


def _inner_points(corners: Floats, edges: Ints, field: Callable[[Floats], Floats]) -> Floats:
    """One row of points along the boundary, and graded points in the remaining region."""
    start, end = corners[edges[:, 0]], corners[edges[:, 1]]
    along = end - start
    # The apexes of equilateral triangles on the boundary's edges.
    row = 0.5 * (start + end) + np.sqrt(0.75) * np.column_stack([-along[:, 1], along[:, 0]])
    points = np.vstack([row, _quadtree_centres(corners, field)])
    wanted = field(points)
    good = depth_in_polygons(points, start, end) > 0.6 * wanted
    points, wanted = points[good], wanted[good]
    return points[_spaced(points, 0.7 * wanted)]


def _quadtree_centres(corners: Floats, field: Callable[[Floats], Floats]) -> Floats:
    """Centres of square cells, each divided in four until it is no larger than the size there."""
    low, high = corners.min(axis=0), corners.max(axis=0)
    side = float(np.max(high - low))
    cells = 0.5 * (low + high)[None, :]
    quarter = np.array([[-1.0, -1.0], [1.0, -1.0], [-1.0, 1.0], [1.0, 1.0]]) / 4.0
    done = []
    while len(cells):
        small = side < 1.15 * field(cells)
        done.append(cells[small])
        cells = (cells[~small][:, None, :] + side * quarter).reshape(-1, 2)
        cells = cells[np.all((cells > low - side) & (cells < high + side), axis=1)]
        side *= 0.5
    return np.vstack(done)


def _spaced(points: Floats, gap: Floats) -> Bools:
    """Mark points to keep so that none lies within the gap of one kept before it."""
    keep = np.ones(len(points), dtype=bool)
    tree = cKDTree(points)
    for i, near in enumerate(tree.query_ball_point(points, gap)):
        if keep[i]:
            keep[[j for j in near if j > i]] = False
    return keep


def _smoothed(
    corners: Floats, edges: Ints, inner: Floats, field: Callable[[Floats], Floats]
) -> Floats:
    start, end = corners[edges[:, 0]], corners[edges[:, 1]]
    fixed = len(corners)
    # Each inner point goes to the density-weighted mean of its triangles' centroids (Chen and
    # Holst, Efficient mesh optimization schemes based on optimal Delaunay triangulations, 2011).
    for _ in range(SMOOTHING_ROUNDS):
        points = np.vstack([corners, inner])
        triangles = Delaunay(points).simplices
        triangles = triangles[np.any(triangles >= fixed, axis=1)]
        a, b, c = points[triangles].transpose(1, 0, 2)
        centre = (a + b + c) / 3.0
        # An area counts by the density of elements squared, and that goes with 1 / size².
        weight = np.abs(cross(b - a, c - a)) / field(centre) ** 4
        total = np.zeros((len(points), 3))
        moment = np.column_stack([weight, weight[:, None] * centre])
        for i in range(3):
            np.add.at(total, triangles[:, i], moment)
        inner = total[fixed:, 1:] / total[fixed:, :1]
        inner = inner[depth_in_polygons(inner, start, end) > 0.5 * field(inner)]
    return inner


def _triangulated(corners: Floats, edges: Ints, inner: Floats) -> tuple[Floats, Ints]:
    points = np.vstack([corners, inner])
    triangles = Delaunay(points).simplices.astype(np.intp)
    centres = points[triangles].mean(axis=1)
    start, end = corners[edges[:, 0]], corners[edges[:, 1]]
    triangles = triangles[depth_in_polygons(centres, start, end) > 0.0]
    a, b, c = points[triangles].transpose(1, 0, 2)
    twice_area = cross(b - a, c - a)
    wrong = twice_area < 0.0
    triangles[wrong] = triangles[wrong][:, ::-1]
    flat = abs(twice_area) < 1e-6 * np.sum((b - a) ** 2 + (c - a) ** 2, axis=1)
    triangles = triangles[~flat]  # left by rounding along straight sides
    sides = np.vstack([triangles[:, [i, (i + 1) % 3]] for i in range(3)])
    missing = ~np.isin(edges @ [len(points), 1], sides @ [len(points), 1])
    if missing.any():
        x, y = corners[edges[np.argmax(missing), 0]]
        raise GearworkError(
            f"the boundary near ({x:.3g}, {y:.3g}) crosses itself or comes closer to another part"
            " of itself than the element size there: ask for smaller elements or mend the outline"
        )
    return points, triangles
