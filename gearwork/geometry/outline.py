"""Outline: a closed path of straight lines and circular arcs.

And how far points lie from a path and on which side, circles among paths, the wood between two,
the hull of circles. Points of the plane are complex numbers inside.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from gearwork.errors import GearworkError, number
from gearwork.numbers import Complexes, Floats, Ints

DEFAULT_TOLERANCE = 0.005


def as_complex(points: ArrayLike) -> Complexes:
    """Return points of the plane, shape (..., 2), as complex numbers x + iy, shape (...)."""
    return np.ascontiguousarray(points, dtype=float).view(complex)[..., 0]


def as_pairs(points: ArrayLike) -> Floats:
    """Return complex numbers x + iy, shape (...), as points of the plane, shape (..., 2)."""
    values = np.asarray(points, dtype=complex)
    return np.ascontiguousarray(values[..., None]).view(float)


def unit(angles: Floats) -> Complexes:
    """Unit vectors at angles, radians: by cosine and sine in half the time of an exponential."""
    found = np.empty(angles.shape, dtype=complex)
    found.real, found.imag = np.cos(angles), np.sin(angles)
    return found


@dataclass(frozen=True, eq=False)
class Outline:
    """A closed path of lines and arcs, in millimetres.

    Segment i runs from vertex i to vertex i + 1, the last one back to vertex 0.

    Parameters
    ----------
    vertices : array_like, shape (n, 2), or complex, shape (n,)
        Corner points in order; the first is not repeated at the end.
    bulges : array_like, shape (n,)
        Tangent of a quarter of each segment's included angle: 0 for a line, positive for an
        arc that turns counter-clockwise (the convention of DXF polylines).

    Raises
    ------
    GearworkError
        If the shapes do not match, a value is not finite, or a segment has no length.

    Examples
    --------
    A square of 10 mm, and a circle of 10 mm as two arcs.

    >>> Outline([(0, 0), (10, 0), (10, 10), (0, 10)], [0, 0, 0, 0]).area
    100.0
    >>> round(Outline.circle(10).length, 4)  # 10 pi
    31.4159
    """

    vertices: Floats
    bulges: Floats

    def __init__(self, vertices: ArrayLike, bulges: ArrayLike) -> None:
        points = as_pairs(vertices) if np.iscomplexobj(vertices) else np.array(vertices, float)
        arcs = np.array(bulges, dtype=float)
        if points.ndim != 2 or points.shape[1:] != (2,) or arcs.shape != points.shape[:1]:
            raise GearworkError(
                f"outline of {points.shape} vertices and {arcs.shape} bulges:"
                " (n, 2) and (n,) are needed"
            )
        if not (np.isfinite(points).all() and np.isfinite(arcs).all()):
            at = int(np.argmin(np.isfinite(points).all(axis=1) & np.isfinite(arcs)))
            raise GearworkError(
                f"outline has at vertex {at} a value that is not a finite number: correct it"
            )
        if len(points) < 2:
            raise GearworkError(f"outline has {len(points)} vertices: at least 2 are needed")
        points.flags.writeable = False
        arcs.flags.writeable = False
        object.__setattr__(self, "vertices", points)
        object.__setattr__(self, "bulges", arcs)
        moves = as_complex(self.chords) != 0.0
        if not moves.all():
            raise GearworkError(
                f"outline has a segment of no length at vertex {int(np.argmin(moves))}: leave"
                " out repeated vertices"
            )

    @classmethod
    def circle(cls, diameter: float, centre: tuple[float, float] = (0.0, 0.0)) -> "Outline":
        """Return a full circle as two half-circle arcs, counter-clockwise; sizes in mm."""
        radius = number("circle diameter", diameter, unit="mm", above=0.0) / 2
        x, y = centre
        return cls([(x + radius, y), (x - radius, y)], [1.0, 1.0])

    @cached_property
    def chords(self) -> Floats:
        """Vectors from each vertex to the next, shape (n, 2), mm."""
        following = np.concatenate([self.vertices[1:], self.vertices[:1]])
        return following - self.vertices

    @cached_property
    def turns(self) -> Floats:
        """Included angle of each segment, degrees, shape (n,), counter-clockwise positive."""
        return np.degrees(4 * np.arctan(self.bulges))

    @property
    def lengths(self) -> Floats:
        """Length of each segment, mm, shape (n,)."""
        half, sine, _, chord = self._bent
        return np.abs(chord) * np.where(half == 0.0, 1.0, half / sine)

    @cached_property
    def radii(self) -> Floats:
        """Radius of each segment, mm, shape (n,); infinite for lines."""
        chord = np.hypot(*self.chords.T)
        bulge = np.abs(self.bulges)
        with np.errstate(divide="ignore"):
            return np.where(bulge > 0, chord * (1 + bulge**2) / (4 * bulge), np.inf)

    @property
    def centres(self) -> Floats:
        """Centre of each arc, mm, shape (n, 2); not a number for lines."""
        chords = self.chords
        left = np.column_stack([-chords[:, 1], chords[:, 0]])
        bulge = np.where(self.bulges == 0, np.nan, self.bulges)
        return self.vertices + chords / 2 + left * ((1 - bulge**2) / (4 * bulge))[:, None]

    @cached_property
    def area(self) -> float:
        """Enclosed area, mm²; negative for a clockwise outline."""
        x, y = self.vertices.T
        dx, dy = self.chords.T
        turn = np.radians(self.turns)
        radius = np.where(self.bulges == 0, 0.0, self.radii)
        # The chords' polygon by the shoelace formula, and a circular segment on every arc.
        caps = radius**2 / 2 * (turn - np.sin(turn))
        return float(((x * dy - y * dx) / 2 + caps).sum())

    @cached_property
    def length(self) -> float:
        """Length of the path, mm."""
        return float(self.lengths.sum())

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """Smallest x and y, largest x and y, mm."""
        circle = circle_of(self)
        if circle is not None:
            (x, y), diameter = circle
            radius = diameter / 2
            return x - radius, y - radius, x + radius, y + radius
        right, top, left, low = self.reach([0.0, 90.0, 180.0, 270.0]).tolist()
        return -left, -low, right, top

    def reach(self, angles: ArrayLike) -> Floats:
        """Return how far the path reaches from the origin, exactly, mm; directions in degrees."""
        turned = np.radians(np.asarray(angles, dtype=float))
        ways = np.column_stack([np.cos(turned), np.sin(turned)])
        corners = (ways @ self.vertices.T).max(axis=1)
        arcs = self.bulges != 0
        if not arcs.any():
            return corners
        centre, turn = self.centres[arcs], np.radians(self.turns[arcs])
        start = np.arctan2(*(self.vertices[arcs] - centre).T[::-1])
        on_arc = (turned[:, None] - start) * np.sign(turn) % (2 * np.pi) <= np.abs(turn)
        bulging = ways @ centre.T + self.radii[arcs]
        return np.maximum(corners, np.where(on_arc, bulging, -np.inf).max(axis=1))

    @property
    def inside_corner_diameter(self) -> float:
        """Diameter of the tightest inward curve, mm; the largest bit that can follow the path.

        Infinite where no arc curves inward. Sharp inward corners count as 0.
        """
        outward = np.sign(self.area)
        hollow = self.bulges * outward < 0
        if (self.corner_angles() * outward < -1.0).any():
            return 0.0
        return float(2 * self.radii[hollow].min(initial=np.inf))

    def corner_angles(self) -> Floats:
        """Change of direction at each vertex, degrees, shape (n,), left turns positive.

        Zero where the path is tangent-continuous.
        """
        chords = self.chords
        direction = np.degrees(np.arctan2(chords[:, 1], chords[:, 0]))
        start = direction - self.turns / 2
        end = np.roll(direction + self.turns / 2, 1)
        turn: Floats = (start - end + 180.0) % 360.0 - 180.0
        return turn

    def points(self, tolerance: float = DEFAULT_TOLERANCE) -> Floats:
        """Return points along the path whose chords keep within `tolerance` of it.

        Parameters
        ----------
        tolerance : float
            Largest distance between chord and arc, mm.

        Returns
        -------
        ndarray, shape (n, 2)
            Closed: the first point is not repeated.

        Raises
        ------
        GearworkError
            If the tolerance is not above 0.
        """
        if tolerance in self._sampled:
            return self._sampled[tolerance]
        tolerance = number("tolerance", tolerance, unit="mm", above=0.0)
        turn = np.abs(np.radians(self.turns))
        radius = np.where(self.bulges == 0, 1.0, self.radii)
        widest = 2 * np.arccos(1 - np.minimum(tolerance / radius, 1.0))
        points = self._divided(np.maximum(np.ceil(turn / widest - 1e-9), 1))
        points.flags.writeable = False
        self._sampled[tolerance] = points
        return points

    @cached_property
    def _sampled(self) -> dict[float, Floats]:
        """Its points by their tolerance, once asked for: many look at the same edge."""
        return {}

    def spaced(self, step: ArrayLike) -> Floats:
        """Return points (m, 2) along the path, evenly spaced on each segment, at most a step apart.

        The step, mm, is one for all or one for each segment; the first point is not repeated.
        """
        return self._divided(np.ceil(self.lengths / np.asarray(step)))

    def _divided(self, counts: Floats) -> Floats:
        """Points that divide each segment into so many equal pieces."""
        pieces = counts.astype(int)
        segment = np.repeat(np.arange(len(pieces)), pieces)
        place = np.arange(len(segment)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
        return as_pairs(self._at(segment, place / pieces[segment]))

    def along(self, segment: ArrayLike, share: ArrayLike) -> tuple[Complexes, Complexes]:
        """Return points on segments of the path as x + iy, mm, and the way it runs there.

        The share of the segment goes from 0 at its start to 1 at its end; broadcast against
        `segment`. The way is the change of the point with the share: along the path, as long as the
        segment.
        """
        where, share = np.asarray(segment), np.asarray(share, dtype=float)
        half, sine, _, chord = (each[where] for each in self._bent)
        speed = np.where(half == 0.0, 1.0, half / sine)
        return self._at(where, share), chord * speed * np.exp(1j * half * (2 * share - 1))

    @cached_property
    def _bent(self) -> tuple[Floats, Floats, Complexes, Complexes]:
        """Half angle of each segment, radians, and its sine; where it starts, its chord, mm.

        Nearly straight arcs count as lines, for which angle and sine are 0 and 1.
        """
        half = 2 * np.arctan(self.bulges)
        half[np.abs(half) < 1e-9] = 0.0
        sine = np.where(half == 0.0, 1.0, np.sin(half))
        return half, sine, as_complex(self.vertices), as_complex(self.chords)

    def _at(self, where: Ints, share: Floats) -> Complexes:
        """Points at shares of segments, x + iy, mm."""
        # On an arc of half angle h the chord to the share s is sin(h s) / sin(h) of the whole and
        # turned by h (s − 1) from it.
        half, sine, start, chord = self._bent
        half, sine = half[where], sine[where]
        reach = np.where(half == 0.0, share, np.sin(half * share) / sine)
        return np.asarray(start[where] + chord[where] * reach * unit(half * (share - 1)))

    def turned(self, angle: float) -> "Outline":
        """Return the outline turned about the origin by `angle` degrees."""
        c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
        return Outline(self.vertices @ np.array([[c, s], [-s, c]]), self.bulges)

    def moved(self, x: float, y: float) -> "Outline":
        """Return the outline moved by (x, y) mm."""
        return Outline(self.vertices + np.array([x, y]), self.bulges)

    def reversed(self) -> "Outline":
        """Return the same path run the other way round."""
        return Outline(self.vertices[::-1], -np.roll(self.bulges[::-1], -1))

    def __len__(self) -> int:
        return len(self.vertices)

    def __eq__(self, other: object) -> bool:
        return (
            isinstance(other, Outline)
            and np.array_equal(self.vertices, other.vertices)
            and np.array_equal(self.bulges, other.bulges)
        )

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        arcs = int(np.count_nonzero(self.bulges))
        return (
            f"Outline({arcs} arcs, {len(self) - arcs} lines, length {self.length:.2f} mm,"
            f" area {self.area:.1f} mm²)"
        )


Circle = tuple[tuple[float, float], float]

_BLOCK = 20_000  # distances at once: arrays of 160 kB stay in the processor's cache


def depth_inside(
    points: ArrayLike, outline: Outline, tolerance: float = DEFAULT_TOLERANCE
) -> Floats:
    """Return how deep points (n, 2) lie inside a closed path, mm; negative outside.

    The path may run either way round; the tolerance, mm, is of chords for its arcs, but a full
    circle is measured exactly.
    """
    places = np.asarray(points, dtype=float).reshape(-1, 2)
    circle = circle_of(outline)
    if circle is not None:
        centre, diameter = circle
        return np.asarray(diameter / 2 - np.hypot(*(places - centre).T))
    start = outline.points(tolerance)
    return depth_in_polygons(places, start, np.concatenate([start[1:], start[:1]]))


def depth_in_polygons(points: Floats, starts: Floats, ends: Floats) -> Floats:
    """Return how deep points (n, 2) lie inside closed polygons, by their sides (m, 2), mm.

    Polygons within polygons are holes; negative outside.
    """
    rows = max(1, _BLOCK // len(starts))
    blocks = [
        _depth(points[first : first + rows], starts, ends) for first in range(0, len(points), rows)
    ]
    return np.concatenate(blocks) if blocks else np.empty(0)


def circle_of(outline: Outline) -> Circle | None:
    """Return centre and diameter, mm, of an outline that is a full circle, else None."""
    if len(outline) != 2 or outline.bulges.tolist() not in ([1.0, 1.0], [-1.0, -1.0]):
        return None
    (x, y), (to_x, to_y) = outline.vertices.tolist()
    return ((x + to_x) / 2, (y + to_y) / 2), math.hypot(x - to_x, y - to_y)


def wood_between(one: Outline, other: Outline) -> float:
    """Return the wood left between two paths beside each other, mm; negative where they overlap.

    To 0.01 mm. Two long straight pieces that cross without a corner of either inside the other go
    unnoticed.
    """
    tolerance = 0.01
    # A circle is measured from its centre, other paths between points on each and the other.
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


def _depth(points: Floats, start: Floats, end: Floats) -> Floats:
    side = end - start
    x, y = (points[:, axis, None] - start[:, axis] for axis in (0, 1))
    dx, dy = side.T
    share = np.clip((x * dx + y * dy) / (dx**2 + dy**2), 0.0, 1.0)
    distance = np.sqrt(((x - share * dx) ** 2 + (y - share * dy) ** 2).min(axis=1))
    # Even-odd rule: a point is inside if a ray from it crosses the sides an odd number of times.
    # Both ends of a side are asked in the same way, or a corner level with the point counts twice.
    crossed = (y >= 0) != (points[:, 1, None] - end[:, 1] >= 0)
    leftwards = (x * dy - y * dx < 0) == (dy > 0)
    inside = np.count_nonzero(crossed & leftwards, axis=1) % 2 == 1
    return np.where(inside, distance, -distance)


def rounded(corners: Sequence[tuple[float, float, float]]) -> Outline:
    """Return a polygon by its corners: x, y and the radius of the arc in it, mm; 0: left sharp."""
    place = np.array([complex(x, y) for x, y, _ in corners])
    back, on = (np.roll(place, by) - place for by in (1, -1))
    turn = np.angle(-on / back)
    points, bulges = list[complex](), list[float]()
    for p, before, after, angle, (_, _, radius) in zip(place, back, on, turn, corners, strict=True):
        if radius == 0.0:
            points.append(p)
            bulges.append(0.0)
            continue
        cut = radius * abs(np.tan(angle / 2))
        points += [p + cut * before / abs(before), p + cut * after / abs(after)]
        bulges += [np.tan(angle / 4), 0.0]
    return Outline(np.array(points), bulges)


def circle_hull(circles: Sequence[Circle]) -> Outline:
    """Return the tightest band round circles: arcs and the lines tangent to them.

    At least one circle, by centre and diameter, mm; the band runs counter-clockwise.
    """
    centre = np.array([complex(*place) for place, _ in circles])
    radius = np.array([diameter for _, diameter in circles]) / 2
    first = int(np.lexsort((-radius, -centre.imag, -np.round(centre.real + radius, 9)))[0])
    steps = _band(centre, radius, first)
    if not steps:
        return Outline.circle(2 * radius[first], (centre[first].real, centre[first].imag))
    points, bulges = [], []
    before = steps[-1][0] - 2 * np.pi
    for angle, circle in steps:
        if (angle - before) * radius[circle] > 1e-9:
            points.append(centre[circle] + radius[circle] * np.exp(1j * before))
            bulges.append(np.tan((angle - before) / 4))
        points.append(centre[circle] + radius[circle] * np.exp(1j * angle))
        bulges.append(0.0)
        before = angle
    return Outline(points, bulges)


def _band(centre: Complexes, radius: Floats, first: int) -> list[tuple[float, int]]:
    """Angle of the normal at which the band leaves each circle in turn, radians up to 2π."""
    steps: list[tuple[float, int]] = []
    current, angle = first, 0.0
    for _ in range(2 * len(centre)):
        # Circle j reaches farther than i from the angle on at which (c_j − c_i)·u = r_i − r_j.
        way = centre - centre[current]
        apart = np.abs(way)
        shorter = radius[current] - radius
        others = apart > np.abs(shorter) + 1e-9
        if not others.any():
            break
        safe = np.where(others, apart, 1.0)
        leave = np.angle(way) - np.arccos(np.where(others, shorter / safe, 0.0))
        turn = np.where(others, (leave - angle + 1e-9) % (2 * np.pi) - 1e-9, np.inf)
        after = int(np.lexsort((-apart, np.round(turn, 9)))[0])
        if angle + turn[after] > 2 * np.pi + 1e-9:
            break
        angle += float(turn[after])
        steps.append((angle, current))
        current = after
    return steps
