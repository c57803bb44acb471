"""Pieces of sheet drawn in space: what hides what, by white faces from the back to the front."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from gearwork.geometry.part import Placed
from gearwork.numbers import Floats
from gearwork.output.drawing.draft import Drawing, Line, Shape, polygon
from gearwork.output.marking import Label, Marks, text_width

NUMBER_HEIGHT = 2.4
_COARSE = 0.3
_CORNER = np.cos(np.radians(30.0))  # sharper bends of an edge are drawn as a line

FROM_LOAD = np.array([[0.42, 0.0, 1.0], [0.28, 1.0, 0.0]])
"""Rods to the right, y upwards: what x, y and z look like from the load's side, left and above."""
FROM_DRIVE = np.array([[-0.42, 0.0, -1.0], [-0.28, 1.0, 0.0]])
"""The same machine from the drive's side: rods to the left."""
LYING = np.array([[1.0, 0.35, 0.0], [0.0, 0.45, 1.0]])
"""What lies flat, from before it and above."""


@dataclass(frozen=True)
class View:
    """A parallel projection: a row each for right and up, as large as it is on paper."""

    rows: Floats

    @property
    def towards(self) -> Floats:
        """The way to who looks at it."""
        return np.cross(*self.rows)

    def __call__(self, points: Floats) -> Floats:
        """Where points in space are on paper, mm."""
        seen: Floats = np.asarray(points) @ self.rows.T
        return seen

    @classmethod
    def fitting(
        cls,
        rows: Floats,
        pieces: Iterable[Placed],
        room: tuple[float, float],
        more: Floats = np.empty((0, 3)),  # noqa: B008
    ) -> "View":
        """Return the view in which pieces and more points take so much room on paper, mm."""
        seen = np.vstack([*(one.corners for one in pieces), more]) @ rows.T
        return cls(rows * float(min(np.array(room) / np.ptp(seen, axis=0))))


def backmost_first(pieces: Iterable[Placed], rows: Floats) -> list[Placed]:
    """Return pieces in the order in which a view draws them, by their middles."""
    towards = np.cross(*rows)
    return sorted(pieces, key=lambda one: float(one.corners.mean(axis=0) @ towards))


def blocks_drawing(
    title: str,
    view: View,
    pieces: Sequence[Placed],
    names: Mapping[str, int | str] | None = None,
    lines: Sequence[Line] = (),
    marks: Marks = Marks(),  # noqa: B008
) -> Drawing:
    """Return pieces from the back to the front; `names`: what to write on which part."""
    shapes = [shape for piece in pieces for shape in _shapes(piece, view)]
    labels: list[Label] = []
    for piece in pieces:
        if names and (words := names.get(piece.part.name)):
            labels.append(_below_others(_number(piece, f"{words}", view), labels))
    return Drawing(title, tuple(shapes), tuple(lines), marks=Marks(tuple(labels)) + marks)


def _below_others(label: Label, others: Sequence[Label]) -> Label:
    """A label moved down until it lies on no other."""
    (x, y), (wide, high) = label.at, (text_width(label.text, NUMBER_HEIGHT), 1.2 * NUMBER_HEIGHT)
    while any(abs(x - a) < wide and abs(y - b) < high - 1e-9 for a, b in (o.at for o in others)):
        y -= high
    return replace(label, at=(x, y))


def _shapes(piece: Placed, view: View) -> Iterator[Shape]:
    """The sides that are seen, then the face with its cuts."""
    top = float(piece.normal @ view.towards) > 0.0
    near, far = (1.0, 0.0) if top else (0.0, 1.0)
    yield from _sides(piece, view, near, far)
    yield _polygon(view(piece.at(piece.part.outer.points(_COARSE), near)))
    for cut in piece.part.cuts:
        if cut.operation != "mark" and (top or cut.depth is None):
            yield _polygon(view(piece.at(cut.outline.points(_COARSE), near)))


def _sides(piece: Placed, view: View, near: float, far: float) -> Iterator[Shape]:
    """Strips of the edge that are seen, between sharp corners, the farthest first."""
    points = piece.part.outer.points(_COARSE)
    along = np.roll(points, -1, axis=0) - points
    along = along / np.hypot(*along.T)[:, None]
    out = along[:, 1, None] * piece.across - along[:, 0, None] * piece.up
    seen = out @ view.towards > 1e-9
    bends = (along * np.roll(along, 1, axis=0)).sum(axis=1) < _CORNER
    starts = np.flatnonzero(seen & (bends | ~np.roll(seen, 1)))
    found = []
    for start in starts:
        last = start + 1
        while seen[last % len(seen)] and not bends[last % len(seen)] and last < start + len(seen):
            last += 1
        strip = points[np.arange(start, last + 1) % len(points)]
        front, back = piece.at(strip, near), piece.at(strip, far)
        ring = np.vstack([front, back[::-1]])
        found.append((float(ring.mean(axis=0) @ view.towards), _polygon(view(ring))))
    yield from (shape for _, shape in sorted(found, key=lambda one: one[0]))


def _polygon(points: Floats) -> Shape:
    points = np.round(points, 2)
    points = points[(points != np.roll(points, 1, axis=0)).any(axis=1)]
    return Shape(polygon(points), fill="white")


def _number(piece: Placed, words: str, view: View) -> Label:
    """A number where the face has most room for it; beside a face that has too little."""
    ((place, wide),) = piece.part.clear_circles(1)
    height = float(piece.normal @ view.towards) > 0.0
    x, y = view(piece.at(np.array([place]), float(height)))[0]
    ring = view(wide / 2 * np.array([piece.across, piece.up]))
    if np.ptp([*ring, *-ring], axis=0)[1] < 1.2 * NUMBER_HEIGHT:
        x, y = max(view(piece.corners).tolist())
        return Label((x + 1.0, y - NUMBER_HEIGHT / 2), NUMBER_HEIGHT, words)
    return Label((float(x), float(y) - NUMBER_HEIGHT / 2), NUMBER_HEIGHT, words, "middle")
