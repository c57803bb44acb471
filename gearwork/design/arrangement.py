"""Where the shafts of a train stand, and how its gears and plates are stacked along them.

Coordinates: the first shaft at (0, 0), +y up, seen with the axial coordinate z towards the eye;
z is 0 on the inner face of the lowest plate. All in mm.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, product

import numpy as np
from numpy.typing import NDArray

from gearwork.design.frame import Frame
from gearwork.errors import GearworkError

Point = tuple[float, float]

COAXIAL = 1e-3
"""Axes closer than this are one axis, mm: nobody drills finer."""

_EASE = 0.01
"""What a folded train is opened beyond the tightest place, mm."""


@dataclass(frozen=True)
class Cylinder:
    """One body on a shaft: the rod, a gear (of a stage) or its hub; from start to end along z."""

    name: str
    start: float
    end: float
    diameter: float
    stage: int | None = None
    is_hub: bool = False

    def near(self, other: "Cylinder", room: float) -> bool:
        """Whether two bodies are less than `room` apart along z and no meshing pair."""
        mates = self.stage is not None and self.stage == other.stage
        return not mates and self.start < other.end + room and other.start < self.end + room


Column = Sequence[Cylinder]


def closest(first: Column, second: Column, room: float) -> tuple[Cylinder, Cylinder] | None:
    """Return the two bodies of two shafts that would touch first; None if they pass each other.

    Parameters
    ----------
    first, second : sequence of Cylinder
        Everything on either shaft.
    room : float
        Bodies closer than this along z count as side by side, mm.
    """
    near = [(one, other) for one, other in product(first, second) if one.near(other, room)]
    return max(near, key=touching_distance, default=None)


def touching_distance(bodies: tuple[Cylinder, Cylinder] | None) -> float:
    """Distance of two axes at which their bodies just touch, mm; 0 if they never do."""
    return 0.0 if bodies is None else (bodies[0].diameter + bodies[1].diameter) / 2


@dataclass(frozen=True)
class StackUp:
    """Where planes of gears and plates are along z.

    Attributes
    ----------
    planes : tuple of float
        Where each plane of gears begins, mm; its gears stand flush there.
    plates : tuple of (float, float)
        Start and end of each plate, mm, the lowest first; more than two where shafts share an
        axis, for these meet in a plate of their own.
    carried : tuple of (int, int)
        The lower and the upper plate that carry each shaft.
    """

    planes: tuple[float, ...]
    plates: tuple[tuple[float, float], ...]
    carried: tuple[tuple[int, int], ...]

    @classmethod
    def of(
        cls,
        planes: Sequence[int],
        face_widths: Sequence[float],
        frame: Frame,
        shared: Sequence[tuple[int, int]] = (),
    ) -> "StackUp":
        """Stack the planes of gears from plate to plate.

        Parameters
        ----------
        planes : sequence of int
            Plane of each stage, the lowest is 0.
        face_widths : sequence of float
            Face width of each stage, mm.
        frame : Frame
            Plates and gaps.
        shared : sequence of (int, int)
            Shafts that stand on one axis.

        Raises
        ------
        GearworkError
            If the gears of two shafts on one axis overlap along it.
        """
        middle = {pair: _between(planes, *pair) for pair in shared}
        after = sorted({plane for plane, _ in middle.values()})
        starts, plates = [], [(-frame.plate_thickness, 0.0)]
        z = frame.gap
        for plane in range(max(planes) + 1):
            starts.append(z)
            widths = [b for p, b in zip(planes, face_widths, strict=True) if p == plane]
            z += max(widths) + frame.gap
            if plane in after or plane == max(planes):
                plates.append((z, z + frame.plate_thickness))
                z += frame.plate_thickness + frame.gap
        carried = [[0, len(plates) - 1] for _ in range(len(planes) + 1)]
        for plane, (lower, upper) in middle.values():
            plate = 1 + after.index(plane)
            carried[lower][1] = min(carried[lower][1], plate)
            carried[upper][0] = max(carried[upper][0], plate)
        return cls(tuple(starts), tuple(plates), tuple((low, high) for low, high in carried))

    def span(self, shaft: int) -> tuple[float, float]:
        """Outer faces of the two plates that carry a shaft, mm."""
        low, high = self.carried[shaft]
        return self.plates[low][0], self.plates[high][1]

    def bearings(self, shaft: int) -> tuple[float, float]:
        """Middles of the two plates that carry a shaft, mm."""
        first, second = (self.plates[plate] for plate in self.carried[shaft])
        return (first[0] + first[1]) / 2, (second[0] + second[1]) / 2


def shaft_planes(planes: Sequence[int], shaft: int) -> tuple[int, ...]:
    """Planes in which a shaft carries gears: wheel of the stage before, pinion of its own."""
    return tuple(planes[max(shaft - 1, 0) : shaft + 1])


def _between(planes: Sequence[int], one: int, other: int) -> tuple[int, tuple[int, int]]:
    """The plane above which two shafts on one axis meet, and the lower and upper of them."""
    lower, upper = sorted((one, other), key=lambda shaft: max(shaft_planes(planes, shaft)))
    top, bottom = max(shaft_planes(planes, lower)), min(shaft_planes(planes, upper))
    if top >= bottom:
        raise GearworkError(
            f"shafts {one + 1} and {other + 1} stand on one axis and the gears of one reach plane"
            f" {top}, those of the other begin in plane {bottom}: they must not overlap; give each"
            " stage its own plane or turn a stage by another angle"
        )
    return top, (lower, upper)


def positions(angles: Sequence[float], distances: Sequence[float]) -> tuple[Point, ...]:
    """Return the axes from the directions (degrees) and lengths (mm) of the centre lines."""
    turn = np.radians(np.asarray(angles, dtype=float))
    steps = np.asarray(distances)[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])
    return ((0.0, 0.0), *((float(x), float(y)) for x, y in np.cumsum(steps, axis=0)))


def on_one_axis(points: Sequence[Point]) -> tuple[tuple[int, int], ...]:
    """Return the pairs of shafts that stand on one axis."""
    count = len(points)
    pairs = ((one, other) for one in range(count) for other in range(one + 1, count))
    return tuple(p for p in pairs if math.dist(points[p[0]], points[p[1]]) <= COAXIAL)


def coaxial_angles(distances: Sequence[float]) -> tuple[float, ...]:
    """Return the angles of a reverted train: two stages, the second goes straight back.

    Raises
    ------
    GearworkError
        If there are not two stages or their centre distances differ.
    """
    if len(distances) != 2:
        raise GearworkError(
            f'arrangement is "coaxial" with stages: {len(distances)}; it must be 2; take "folded"'
            ' or "in line", or give the angle of each stage'
        )
    first, second = distances
    if abs(first - second) > COAXIAL:
        raise GearworkError(
            f'arrangement is "coaxial" and the centre distances are {first:.4f} and'
            f" {second:.4f} mm: they must be equal; give the first pair"
            f' centre_distance={second:.4f}, change its profile shifts, or take "folded"'
        )
    return 0.0, 180.0


def folded_angles(
    distances: Sequence[float], columns: Sequence[Column], frame: Frame, height: float
) -> tuple[float, ...]:
    """Return the angles at which each shaft stands as close to the last but one as it can.

    The first stage points along +x, each further one straight back, turned by as little as
    keeps all bodies apart by the clearance, downwards where both senses are alike. Where
    nothing keeps them apart it goes straight on.

    Parameters
    ----------
    distances : sequence of float
        Centre distances, mm.
    columns : sequence of sequence of Cylinder
        What is on each shaft.
    frame : Frame
        Clearance and spacers.
    height : float
        Distance of the plates, mm: the length of the spacers.
    """
    room = frame.clearance
    posts = [(s.at, (Cylinder("spacer", 0.0, height, s.diameter),)) for s in frame.spacers]
    angles = [0.0]
    for shaft in range(2, len(columns)):
        points = positions(angles, distances[: shaft - 1])
        fixed = [*zip(points[:-1], columns[: shaft - 1], strict=True), *posts]
        obstacles = [
            (*at, touching_distance(pair) + room + _EASE)
            for at, column in fixed
            if (pair := closest(columns[shaft], column, room)) is not None
        ]
        last = angles[-1]
        angles.append(_tightest(points[-1], distances[shaft - 1], last, np.array(obstacles)))
    return tuple(angles)


def _tightest(centre: Point, distance: float, last: float, obstacles: NDArray[np.float64]) -> float:
    """Direction closest to straight back that keeps its distances; straight on if none does.

    Obstacles are rows of x, y and least distance. The least turn is 0 or at the edge of a
    forbidden arc, whose half angle the law of cosines gives.
    """
    offset = obstacles[:, :2] - np.array(centre)
    away = np.maximum(np.hypot(*offset.T), COAXIAL)
    cosine = (distance**2 + away**2 - obstacles[:, 2] ** 2) / (2 * distance * away)
    half = np.arccos(np.clip(cosine, -1.0, 1.0))
    towards = np.arctan2(offset[:, 1], offset[:, 0])
    back = math.radians(last + 180.0)
    turns = np.concatenate([[back], towards + half, towards - half]) - back
    turns = np.round((turns + math.pi) % (2 * math.pi) - math.pi, 9)
    ends = distance * np.column_stack([np.cos(back + turns), np.sin(back + turns)])
    apart = np.hypot(*(ends[:, None] - offset).transpose(2, 0, 1))
    free = (apart >= obstacles[:, 2] - _EASE / 2).all(axis=1)
    if not free.any():
        return last
    best = min(np.flatnonzero(free), key=lambda i: (abs(turns[i]), ends[i, 1]))
    return float(np.degrees(back + turns[best])) % 360.0


def fold_opening(points: Sequence[Point], corner: int) -> float:
    """Angle between the centre lines that meet at a shaft, degrees: 180 in line."""
    (x, y), *ends = points[corner], points[corner - 1], points[corner + 1]
    first, second = (math.atan2(py - y, px - x) for px, py in ends)
    return abs(math.degrees(math.remainder(second - first, 2 * math.pi)))


def neighbours_differ(planes: Sequence[int]) -> bool:
    """Whether no shaft carries both its gears in one plane."""
    return all(one != other for one, other in pairwise(planes))
