"""The flanks of a cut outline as tables of direction over distance from the gear's centre.

Points are complex numbers about the gear's centre; angles are radians.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gearwork.errors import GearworkError, whole_number
from gearwork.geometry.gear import FEWEST_TEETH, MOST_TEETH
from gearwork.geometry.outline import Complex, Outline, as_complex

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SAMPLING = 5e-4
"""Chord error of the sampled outline, mm."""

SKIN = 1e-3
"""Tips and roots are cut off by this, mm, so that rounded files still have a clear corner."""

CELLS = 192
"""Cells of one flank."""

SHARP = 1.0
"""A change of direction from this on is a corner, degrees."""


@dataclass(frozen=True, eq=False)
class FlankTable:
    """The flanks on the counter-clockwise side of all teeth, each in the frame of its tooth.

    A table stands between `root` and `tip` at root + (tip − root) s², s in equal steps from 0
    to 1: finer towards the root, where the flank turns flat.

    Attributes
    ----------
    root, tip : ndarray, shape (z,)
        Least and greatest distance from the centre, mm.
    ways : ndarray, shape (z, CELLS + 1)
        Unit vectors to the flank.
    corners : ndarray, shape (z, c)
        Corners that stick out, mm; 0 where a tooth has fewer than others.
    """

    root: Floats
    tip: Floats
    ways: Complex
    corners: Complex

    @classmethod
    def of(cls, points: Complex, corners: Complex, teeth: int) -> "FlankTable":
        """Return the table of a path that runs counter-clockwise, tooth 0 centred on +x.

        Raises
        ------
        GearworkError
            If one of the teeth has no such flank.
        """
        tooth, angle, radius = _half_teeth(points, teeth)
        present = np.bincount(tooth, minlength=teeth) > 1
        if not present.all():
            raise GearworkError(
                f"outline has no flank where tooth {int(np.argmin(present))} of {teeth} should"
                " be: is it the toothed edge of this gear, centred on (0, 0)?"
            )
        first = np.searchsorted(tooth, np.arange(teeth))
        root = np.minimum.reduceat(radius, first)
        tip = np.maximum.reduceat(radius, first)
        if not (tip - root > 4 * SKIN).all():
            raise GearworkError("outline has a tooth without depth: is it the edge of a gear?")
        low = radius < root[tooth] + SKIN / 2
        high = radius > tip[tooth] - SKIN / 2
        ends = (low & np.append(low[1:], False)) | (high & np.append(False, high[:-1]))
        radius, angle, tooth = radius[~ends], angle[~ends], tooth[~ends]
        root, tip = root + SKIN, tip - SKIN
        shares = np.linspace(0.0, 1.0, CELLS + 1) ** 2
        wanted = root[:, None] + (tip - root)[:, None] * shares
        angles = _outermost(tooth, radius, angle, wanted)
        return cls(root, tip, np.exp(1j * angles), _padded(corners, teeth))

    @cached_property
    def _steps(self) -> Complex:
        """From each entry to the next; the last has none."""
        return np.diff(self.ways, axis=1, append=self.ways[:, -1:])

    @cached_property
    def typical(self) -> int:
        """Number of a tooth that most others are like, of three tried."""
        teeth = len(self.tip)
        return max((0, teeth // 3, 2 * teeth // 3), key=lambda t: self._like(t).sum())

    @cached_property
    def kinds(self) -> Ints:
        """For each tooth the number of one of the same shape: the typical one's, or its own."""
        kinds: Ints = np.where(self._like(self.typical), self.typical, np.arange(len(self.tip)))
        return kinds

    def _like(self, tooth: int) -> NDArray[np.bool_]:
        """Which teeth have the shape of the given one, to what sampling leaves open."""
        turned = np.abs(self.ways - self.ways[tooth]).max(axis=1) * self.tip[tooth]
        moved = np.abs(self.corners - self.corners[tooth])
        grown = np.maximum(abs(self.root - self.root[tooth]), abs(self.tip - self.tip[tooth]))
        alike: NDArray[np.bool_] = (
            np.maximum(turned, grown) + moved.max(axis=1, initial=0.0) < SAMPLING
        )
        return alike

    def locate(self, tooth: Ints, radius: Floats) -> tuple[Ints, Floats]:
        """Return where in the flattened table a distance lies: entry and share of its cell."""
        low = self.root[tooth]
        share = np.clip((radius - low) / (self.tip[tooth] - low), 0.0, 1.0)
        place = np.sqrt(share) * CELLS
        cell = np.minimum(place.astype(np.int64), CELLS - 1)
        return tooth * (CELLS + 1) + cell, place - cell

    def way(self, tooth: Ints, radius: Floats) -> Complex:
        """Return unit vectors to the flanks at distances from the centre, which are clipped."""
        entry, share = self.locate(tooth, radius)
        way: Complex = self.ways.ravel()[entry] + share * self._steps.ravel()[entry]
        return way

    def slope(self, tooth: Ints, radius: Floats) -> Floats:
        """Return the change of the flank's angle with the distance, radians per mm."""
        entry, _ = self.locate(tooth, radius)
        turn = (self._steps.ravel()[entry] * np.conj(self.ways.ravel()[entry])).imag
        cell = entry - tooth * (CELLS + 1)
        rise = (self.tip - self.root)[tooth] * (2 * cell + 1) / CELLS**2
        slope: Floats = turn / rise
        return slope

    def beyond(self, tooth: Ints, radius: Floats) -> NDArray[np.bool_]:
        """Return where a distance is past the tip or below the root."""
        outside: NDArray[np.bool_] = (radius > self.tip[tooth]) | (radius < self.root[tooth])
        return outside


@dataclass(frozen=True, eq=False)
class ToothedEdge:
    """Both sides of all teeth of a cut outline.

    Attributes
    ----------
    front : FlankTable
        The sides that lead when the gear turns counter-clockwise.
    back : FlankTable
        The other sides, of the outline mirrored about the x axis: tooth i is number −i there.
    """

    front: FlankTable
    back: FlankTable

    @classmethod
    def of(cls, outline: Outline, teeth: int) -> "ToothedEdge":
        """Return the flanks of an outline about the origin; tooth 0 is the one nearest +x.

        Raises
        ------
        GearworkError
            If the outline has no such teeth.
        """
        count = whole_number("teeth", teeth, at_least=FEWEST_TEETH, at_most=MOST_TEETH)
        path = outline if outline.area > 0 else outline.reversed()
        points, vertices = as_complex(path.points(SAMPLING)), as_complex(path.vertices)
        corners = vertices[path.corner_angles() > SHARP]
        turn = np.exp(-1j * _first_tooth(points, count))
        points, corners = points * turn, corners * turn
        return cls(
            FlankTable.of(points, corners, count),
            FlankTable.of(np.conj(points[::-1]), np.conj(corners), count),
        )

    @property
    def teeth(self) -> int:
        """z."""
        return len(self.front.tip)

    @property
    def pitch(self) -> float:
        """Angle from tooth to tooth, radians."""
        return 2 * np.pi / self.teeth

    @property
    def reach(self) -> float:
        """Distance of the highest tip from the centre, mm."""
        return float(max(self.front.tip.max(), self.back.tip.max()) + SKIN)


def _first_tooth(points: Complex, teeth: int) -> float:
    """Angle of tooth 0: the phase of the outline's radius at `teeth` waves a turn."""
    following = np.roll(points, -1)
    middle = (points + following) / 2
    wave = np.abs(middle) * np.exp(-1j * teeth * np.angle(middle)) * np.angle(following / points)
    return float(-np.angle(wave.sum()) / teeth)


def _half_teeth(points: Complex, teeth: int) -> tuple[Ints, Floats, Floats]:
    """Tooth, angle from its axis and radius of the points beyond each axis, root to tip."""
    pitches = np.angle(points) * (teeth / (2 * np.pi))
    half = np.floor(2 * pitches).astype(np.int64)
    start = int(np.argmax(half != np.roll(half, 1)))
    order = np.roll(np.arange(len(points)), -start)[::-1]
    order = order[half[order] % 2 == 0]
    tooth = half[order] // 2
    angle = (pitches[order] - tooth) * (2 * np.pi / teeth)
    tooth = tooth % teeth
    by_tooth = np.argsort(tooth, kind="stable")
    order, tooth, angle = order[by_tooth], tooth[by_tooth], angle[by_tooth]
    return tooth, angle, np.abs(points[order])


def _outermost(tooth: Ints, radius: Floats, angle: Floats, wanted: Floats) -> Floats:
    """Angle of the outermost flank at the wanted distances, one row a tooth.

    Where a flank folds back over itself, its outermost course is that of the points beyond all
    before them or that of the points below all after them.
    """
    apart = 2 * (radius.max() + 1.0)
    along = tooth * apart + radius
    wanted = np.arange(len(wanted))[:, None] * apart + wanted
    rising = np.diff(np.maximum.accumulate(along), prepend=-1.0) > 0
    angles: Floats = np.interp(wanted, along[rising], angle[rising])
    if not rising.all():
        lowest = np.minimum.accumulate(along[::-1])[::-1]
        falling = np.append(np.diff(lowest) > 0, True)
        angles = np.maximum(angles, np.interp(wanted, along[falling], angle[falling]))
    return angles


def _padded(corners: Complex, teeth: int) -> Complex:
    """Corners by tooth in the frames of the teeth, those beyond each axis only."""
    pitches = np.angle(corners) * (teeth / (2 * np.pi))
    half = np.floor(2 * pitches).astype(np.int64)
    corners, tooth = corners[half % 2 == 0], (half[half % 2 == 0] // 2) % teeth
    order = np.argsort(tooth, kind="stable")
    corners, tooth = corners[order], tooth[order]
    rank = np.arange(len(tooth)) - np.searchsorted(tooth, tooth)
    table = np.zeros((teeth, int(rank.max(initial=-1)) + 1), dtype=complex)
    table[tooth, rank] = corners * np.exp(-2j * np.pi / teeth * tooth)
    return table
