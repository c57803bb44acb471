"""How far points lie from a path and on which side, circles among paths, wood between two."""

import numpy as np
from numpy.typing import ArrayLike

from gearwork.geometry.outline import DEFAULT_TOLERANCE, Array, Outline

Circle = tuple[tuple[float, float], float]

_BLOCK = 200_000


def depth_inside(
    points: ArrayLike, outline: Outline, tolerance: float = DEFAULT_TOLERANCE
) -> Array:
    """Return how deep points lie inside a closed path.

    Parameters
    ----------
    points : array_like, shape (n, 2)
        Points, mm.
    outline : Outline
        The path, run either way round.
    tolerance : float
        Largest error where the path is an arc, mm; a full circle has none.

    Returns
    -------
    ndarray, shape (n,)
        Distance from the path, mm; negative outside.
    """
    places = np.asarray(points, dtype=float).reshape(-1, 2)
    circle = circle_of(outline)
    if circle is not None:
        centre, diameter = circle
        return np.asarray(diameter / 2 - np.hypot(*(places - centre).T))
    start = outline.points(tolerance)
    rows = max(1, _BLOCK // len(start))
    blocks = [_depth(places[first : first + rows], start) for first in range(0, len(places), rows)]
    return np.concatenate(blocks)


def circle_of(outline: Outline) -> Circle | None:
    """Return centre and diameter, mm, of an outline that is a full circle, else None."""
    if len(outline) != 2 or not np.array_equal(outline.bulges, np.sign(outline.area) * np.ones(2)):
        return None
    first, second = outline.vertices
    x, y = (first + second) / 2
    return (float(x), float(y)), float(np.hypot(*(first - second)))


def wood_between(one: Outline, other: Outline) -> float:
    """Return the wood left between two paths beside each other, mm; negative where they overlap.

    A circle is measured from its centre; other paths between points on each and the whole of
    the other, to 0.01 mm. Two long straight pieces that cross without a corner of either inside
    the other go unnoticed.
    """
    tolerance = 0.01
    for first, second in ((one, other), (other, one)):
        circle = circle_of(first)
        if circle is not None:
            centre, diameter = circle
            return float(-depth_inside(centre, second, tolerance / 10)[0]) - diameter / 2
    deepest = max(
        depth_inside(one.points(tolerance), other, tolerance).max(),
        depth_inside(other.points(tolerance), one, tolerance).max(),
    )
    return float(-deepest)


def _depth(points: Array, start: Array) -> Array:
    side = np.roll(start, -1, axis=0) - start
    x, y = (points[:, axis, None] - start[:, axis] for axis in (0, 1))
    dx, dy = side.T
    share = np.clip((x * dx + y * dy) / (dx**2 + dy**2), 0.0, 1.0)
    distance = np.sqrt(((x - share * dx) ** 2 + (y - share * dy) ** 2).min(axis=1))
    crossed = (y >= 0) != (y - dy >= 0)
    leftwards = (x * dy - y * dx < 0) == (dy > 0)
    inside = np.count_nonzero(crossed & leftwards, axis=1) % 2 == 1
    return np.where(inside, distance, -distance)
