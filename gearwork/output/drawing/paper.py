"""Sheets of paper: what fits on one, and how a larger drawing is spread over several."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from gearwork.errors import GearworkError
from gearwork.geometry.part import Point
from gearwork.numbers import Floats
from gearwork.output.drawing.draft import Shape, Table, box, point
from gearwork.output.drawing.views import Ground
from gearwork.output.marking import TEXT_HEIGHT, Bounds, Label, Marks

OVERLAP = 16.0
MARGIN = 10.0
FOOT = 24.0
GAP = 8.0
SMALL = 2.5
_MAP = 110.0
_CAPTION = 10.0
_PAPERS = {"A4": (210.0, 297.0), "A3": (297.0, 420.0)}

Placed = tuple["Table | PageMap", float, float]
"""A table, its distance from the left and from the top, mm."""


@dataclass(frozen=True)
class Sheet:
    """A sheet of paper and the room on it, inside the margins and above the foot, mm."""

    width: float
    height: float

    @property
    def room(self) -> tuple[float, float]:
        """Width and height of the room, mm."""
        return self.width - 2 * MARGIN, self.height - MARGIN - FOOT

    @property
    def corners(self) -> tuple[Point, Point]:
        """Its lower left and upper right corner, mm."""
        return (MARGIN, FOOT), (self.width - MARGIN, self.height - MARGIN)


@dataclass(frozen=True)
class Tiling:
    """How a drawing is spread over sheets: equal windows on it that overlap."""

    sheet: Sheet
    columns: int
    rows: int
    left: float  # edge of the first window on the drawing, mm
    top: float

    @property
    def places(self) -> list[tuple[int, int]]:
        """Row and column of each window."""
        return list(product(range(self.rows), range(self.columns)))

    def window(self, row: int, column: int) -> Bounds:
        """Return left, lower, right and upper edge of a window on the drawing, mm."""
        wide, high = self.sheet.room
        left = self.left + column * (wide - OVERLAP)
        top = self.top - row * (high - OVERLAP)
        return left, top - high, left + wide, top

    @property
    def whole(self) -> Bounds:
        """Left, lower, right and upper edge of all windows together, mm."""
        _, low, right, _ = self.window(self.rows - 1, self.columns - 1)
        return self.left, low, right, self.top

    def keeps_whole(self, corners: Floats) -> NDArray[np.bool_]:
        """Whether what has such corners, shape (..., n, 2), lies within one of the windows."""
        low, high = corners.min(axis=-2)[..., None, :], corners.max(axis=-2)[..., None, :]
        windows = np.reshape([self.window(*place) for place in self.places], (-1, 2, 2))
        inside = (low >= windows[:, 0]) & (high <= windows[:, 1])
        whole: NDArray[np.bool_] = inside.all(axis=-1).any(axis=-1)
        return whole

    @property
    def crosses(self) -> Marks:
        """Numbered crosses in the overlaps, on two neighbouring sheets each, to lay together."""
        found = []
        for row, column in self.places:
            left, low, right, top = self.window(row, column)
            if column + 1 < self.columns:
                x = right - OVERLAP / 2
                found += [(x, low + share * (top - low)) for share in (0.8, 0.2)]
            if row + 1 < self.rows:
                y = low + OVERLAP / 2
                found += [(left + share * (right - left), y) for share in (0.2, 0.8)]
        arms = np.array([[(-5.0, 0.0), (5.0, 0.0)], [(0.0, -5.0), (0.0, 5.0)]])
        labels = (Label((x + 1.0, y + 1.0), SMALL, f"{i}") for i, (x, y) in enumerate(found, 1))
        return Marks(tuple(labels), tuple(arm + at for at in found for arm in arms))


@dataclass(frozen=True)
class PageMap:
    """Which page shows what, much smaller, with how to join them: placed as tables are."""

    paths: Sequence[Floats]  # what is drawn
    tiles: Tiling
    first: int  # number of the first page of the tiling

    @property
    def _scale(self) -> float:
        left, low, right, top = self.tiles.whole
        return _MAP / max(right - left, top - low)

    @property
    def size(self) -> tuple[float, float]:
        """Width and height, mm."""
        left, low, right, top = self.tiles.whole
        return self._scale * (right - left), self._scale * (top - low) + _CAPTION

    def marks(self, left: float, top: float) -> Marks:
        """Return it with its upper left corner at a place."""
        words = (
            "map of the pages, by their numbers, not to scale:",
            "lay crosses of the same number on each other",
        )
        labels = [
            Label((left, top - 1.5 * row * SMALL), SMALL, line) for row, line in enumerate(words, 1)
        ]
        x, _, _, high = self.tiles.whole
        shift = np.array([left, top - _CAPTION]) - self._scale * np.array([x, high])
        frames = [Shape(box(*self.tiles.window(*place))).path for place in self.tiles.places]
        paths = [self._scale * path + shift for path in (*self.paths, *frames)]
        ground = Ground(paths)
        for number, path in enumerate(paths[len(self.paths) :], self.first):
            low, room = path.min(axis=0), np.ptp(path, axis=0)
            places = product(np.linspace(0.85, 0.1, 16), np.linspace(0.25, 0.75, 11))
            names = (
                Label(point(low + room * (across, up)), TEXT_HEIGHT, f"{number}", "middle")
                for up, across in places
            )
            labels += ground.place(Marks((name,)) for name in names).labels
        return Marks(tuple(labels), tuple(paths))


def sheets(paper: str) -> list[Sheet]:
    """Return the paper lying and standing."""
    if paper not in _PAPERS:
        raise GearworkError(f"paper is {paper!r}: it must be one of {', '.join(_PAPERS)}")
    short, long = _PAPERS[paper]
    return [Sheet(long, short), Sheet(short, long)]


def tiling(bounds: Bounds, paper: str, words: Sequence[Floats] = ()) -> Tiling:
    """Return the tiling with the fewest sheets that cuts the fewest words apart.

    `words`: corners of each text on the drawing, mm. All else equal, what the windows have left
    over lies half before and half behind the drawing.
    """
    left, low, right, top = bounds
    shares = sorted(np.linspace(0.0, 1.0, 7).tolist(), key=lambda one: round(abs(one - 0.5), 6))
    found = []
    for sheet in sheets(paper):
        wide, high = (size - OVERLAP for size in sheet.room)
        columns = max(1, math.ceil((right - left - OVERLAP) / wide - 1e-9))
        rows = max(1, math.ceil((top - low - OVERLAP) / high - 1e-9))
        beside, above = columns * wide + OVERLAP - right + left, rows * high + OVERLAP - top + low
        found += [
            Tiling(sheet, columns, rows, left - x * beside, top + y * above)
            for x, y in product(shares, shares)
        ]
    fewest = min(len(one.places) for one in found)
    corners = np.reshape(words, (-1, 4, 2))
    return min(
        (one for one in found if len(one.places) == fewest),
        key=lambda one: np.sum(~one.keeps_whole(corners)),
    )


def flow(tables: Sequence[Table | PageMap], width: float, height: float) -> list[list[Placed]]:
    """Place tables in columns, downwards and then to the right, on as many pages as it takes.

    `width`, `height`: room on a page, mm; a table larger than that is placed all the same.
    """
    pages: list[list[Placed]] = [[]]
    x = depth = column = 0.0
    for table in tables:
        wide, high = table.size
        if depth > 0 and depth + high > height:
            x, depth, column = x + column + GAP, 0.0, 0.0
        if pages[-1] and x + wide > width:
            pages.append([])
            x = depth = column = 0.0
        pages[-1].append((table, x, depth))
        depth, column = depth + high + GAP, max(column, wide)
    return pages


def beside_or_below(
    size: tuple[float, float], tables: Sequence[Table | PageMap], sheet: Sheet
) -> list[Placed] | None:
    """Place tables to the right of a drawing of such a size in the upper left corner, or below it.

    Returns None if they do not fit.
    """
    (wide, high), (room_wide, room_high) = size, sheet.room
    if wide > room_wide or high > room_high:
        return None
    for left, top in ((wide + GAP, 0.0), (0.0, high + GAP)):
        page, *more = flow(tables, room_wide - left, room_high - top)
        page = [(table, left + x, top + depth) for table, x, depth in page]
        ends = [(x + table.size[0], depth + table.size[1]) for table, x, depth in page]
        if not more and all(x <= room_wide and depth <= room_high for x, depth in ends):
            return page
    return None
