"""What a file to cut by holds: lines on named layers; text, grain arrow, witness mark beside."""

import math
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import count, repeat
from typing import Literal, TypeVar

import numpy as np
from numpy.typing import ArrayLike

from gearwork.errors import GearworkError
from gearwork.geometry.outline import Circle, Outline, depth_inside
from gearwork.geometry.part import Cut, Part, Point
from gearwork.geometry.toolpath import Run
from gearwork.machine.layout import Stock
from gearwork.numbers import Floats
from gearwork.output.jobsheet.pages import sentences

_Path = TypeVar("_Path", Outline, Run)

Line = tuple[str, Outline | Run]
"""A path and the layer it lies on."""

Bounds = tuple[float, float, float, float]
"""Smallest x and y, largest x and y, mm."""

OUTER = "outer-edge"
INNER = "inner-edge"
HOLES = "holes"
NOT_CUT = "not-cut"
MILLIMETRES = 4  # code of the unit in DXF files

TEXT_HEIGHT = 3.5
LEAST_HEIGHT, NARROW_HEIGHT = 1.5, 2.0  # of a name amid a piece, and along its edge, mm
LETTER_SHARE = 0.72  # height of capitals in that of their type, as pages have it
_LINE_PITCH = 1.7 * TEXT_HEIGHT
_LETTER_WIDTH = 0.9
_GAP = 8.0
_WITNESS = np.array([[(-1.0, -1.0), (1.0, 1.0)], [(-1.0, 1.0), (1.0, -1.0)]])
DOT = 1.25  # as near as words and lines come to each other before they are moved, mm

_PLAIN = str.maketrans(
    {"°": " deg", "·": ".", "×": "x", "±": "+/-", "⌀": "dia ", "Ø": "dia ", "ø": "dia ", "–": "-",
     "—": "-", "−": "-", "α": "alpha", "β": "beta", "γ": "gamma", "ε": "epsilon", "µ": "u",
     "μ": "u", "ß": "ss", "≤": "<=", "≥": ">=", "’": "'", "…": "...", "\\": "/", "^": " "}
)  # fmt: skip


def dots(path: Floats) -> Floats:
    """Return points along an open path, closer than `DOT`, shape (n, 2)."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])
    places = np.linspace(0.0, along[-1], int(1.5 * along[-1] / DOT) + 2)
    return np.column_stack([np.interp(places, along, column) for column in path.T])


@dataclass(frozen=True)
class Label:
    """One line of text."""

    at: Point  # on its baseline, mm
    height: float  # of its capitals and digits, mm
    text: str
    anchor: Literal["start", "middle", "end"] = "start"  # which point of the baseline `at` is
    angle: float = 0.0  # of the baseline, degrees

    @property
    def start(self) -> Floats:
        """Where the text begins, about, shape (2,)."""
        width = text_width(self.text, self.height)
        share = {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor]
        return np.array(self.at) - share * width * self._directions[0]

    @cached_property
    def corners(self) -> Floats:
        """Corners of the room to leave for it, shape (4, 2); generous, as letters differ."""
        along, up = self._directions
        wide = text_width(self.text, self.height) * along
        start = self.start
        low, high = start - 0.5 * self.height * up, start + 1.3 * self.height * up
        return np.array([low, low + wide, high + wide, high])

    @property
    def dots(self) -> Floats:
        """Points all over the room to leave for it, closer than `DOT`, shape (n, 2)."""
        corner, right, _, upper = self.corners
        across, up = (
            np.linspace(0.0, 1.0, int(1.5 * np.hypot(*side) / DOT) + 2)[:, None] * side
            for side in (right - corner, upper - corner)
        )
        points: Floats = corner + (across[:, None] + up).reshape(-1, 2)
        return points

    @cached_property
    def _directions(self) -> tuple[Floats, Floats]:
        turned = math.radians(self.angle)
        c, s = math.cos(turned), math.sin(turned)
        return np.array([c, s]), np.array([-s, c])


@dataclass(frozen=True)
class Marks:
    """What is never cut: lines of text and open strokes, shape (n, 2)."""

    labels: tuple[Label, ...] = ()
    strokes: tuple[Floats, ...] = ()

    def __add__(self, other: "Marks") -> "Marks":
        return Marks(self.labels + other.labels, self.strokes + other.strokes)


def layer_of(cut: Cut) -> str:
    """Return the layer of a cut; only letters, digits, - and _ as R12 demands."""
    if cut.operation == "pocket":
        depth = f"{cut.depth:.2f}".rstrip("0").rstrip(".").replace(".", "_")
        return f"sunk-{depth}mm"
    return {"inside edge": INNER, "drilled hole": HOLES, "mark": NOT_CUT}[cut.operation]


def cut_paths(parts: Iterable[Part]) -> list[tuple[str, Outline]]:
    """Return layer and path of everything on the parts, inside first, outer edges last."""
    parts = list(parts)
    named = [(part, layer_of(cut), cut.outline) for part in parts for cut in part.cuts]
    named += [(part, OUTER, part.outer) for part in parts]
    seen: set[bytes] = set()
    for part, layer, outline in named:
        key = path_key(outline)
        if key in seen:
            raise GearworkError(f"{part.name} has the same path twice on {layer}: leave one out")
        seen.add(key)
    return [(layer, rounded(outline)) for _, layer, outline in named]


def to_nanometre(lengths: ArrayLike) -> Floats:
    """Return lengths, mm, to the nanometre: the last bits of another machine change no file."""
    return np.asarray(lengths, dtype=float).round(6) + 0.0


def rounded(path: _Path) -> _Path:
    """Return a path whose vertices are rounded `to_nanometre`."""
    vertices, bulges = to_nanometre(path.vertices), np.round(path.bulges, 9) + 0.0
    return replace(path, vertices=vertices, bulges=bulges)


def bounds_of(paths: Iterable[Outline | Run], marks: Marks) -> Bounds:
    """Return smallest x and y, largest x and y of paths, strokes and texts, mm."""
    corners = [np.reshape(path.bounds, (2, 2)) for path in paths] + list(marks.strokes)
    corners += [label.corners for label in marks.labels]
    every = np.vstack(corners)
    (left, low), (right, high) = every.min(axis=0).tolist(), every.max(axis=0).tolist()
    return left, low, right, high


def path_key(outline: Outline) -> bytes:
    """Return the same key for the same path, wherever it starts and whichever way it runs."""
    middle = outline.vertices + outline.chords / 2
    rows = np.round(np.vstack([outline.vertices, middle]), 5) + 0.0
    arcs = np.sort(np.round(np.abs(outline.bulges), 5))
    return rows[np.lexsort(rows.T)].tobytes() + arcs.tobytes()


def plain_text(text: str) -> str:
    """Return one line of ASCII: many readers garble anything else, or take it as a code."""
    spelled = unicodedata.normalize("NFKD", str(text).translate(_PLAIN).replace("%%", "% %"))
    known = "".join(letter for letter in spelled if not unicodedata.combining(letter))
    return "".join(letter if " " <= letter <= "~" else "?" for letter in " ".join(known.split()))


def text_width(text: str, height: float) -> float:
    """Return the width to reserve for a text, mm."""
    return _LETTER_WIDTH * height * len(text)


def part_lines(part: Part) -> list[str]:
    """Return everything to write beside a part: name, sheet, what each layer means, its notes."""
    head = [part.name, f"{part.count} x, sheet {part.thickness:g} mm", "all lengths in mm"]
    named = {"layer_of": layer_of, "outer": OUTER, "not_cut": NOT_CUT}
    return [*head, *dict.fromkeys(sentences("layers.txt", part=part, **named)), *part.notes]


@dataclass(frozen=True)
class CutLines:
    """What a file to cut by holds: lines on their layers, in the order of cutting, and marks."""

    title: str
    lines: Sequence[Line]
    marks: Marks

    @classmethod
    def of_part(cls, part: Part) -> "CutLines":
        """Return one part alone."""
        return cls(part.name, cut_paths([part]), part_marks(part, part_lines(part)))

    @classmethod
    def of_sheet(cls, parts: Sequence[Part], stock: Stock, notes: Sequence[str] = ()) -> "CutLines":
        """Return a sheet with the parts where they lie."""
        return cls("sheet", cut_paths(parts), sheet_marks(parts, stock, notes))

    @property
    def bounds(self) -> Bounds:
        """Smallest x and y, largest x and y of all, mm."""
        return bounds_of((line for _, line in self.lines), self.marks)


def part_marks(part: Part, words: Iterable[str]) -> Marks:
    """Return the marks of a part drawn alone: words to the right of it, arrow and witness."""
    _, _, right, top = part.bounds
    return _text_block(words, right + _GAP, top) + marks_on(part, named=False)


def sheet_marks(parts: Sequence[Part], stock: Stock, notes: Sequence[str]) -> Marks:
    """Return the marks of a sheet: its edge, names on the parts, the text to the right of it.

    The arrow of its face grain begins in its lower left corner, where the margin for clamps is.
    """
    width, height = stock.width, stock.height
    edge = np.array([(0, 0), (width, 0), (width, height), (0, height), (0, 0)], dtype=float)
    lines = sheet_lines(stock, notes)
    marks = _text_block(lines, width + _GAP, height) + Marks(strokes=(edge,))
    room = min(50.0, width, height)
    across, up = (abs(f(math.radians(stock.grain))) for f in (math.cos, math.sin))
    at = 0.1 * room + 0.4 * room * across, 0.1 * room + 0.4 * room * up
    marks += Marks(strokes=arrow((at, room), stock.grain))
    return sum((marks_on(part, named=True) for part in parts), marks)


def sheet_lines(stock: Stock, notes: Sequence[str]) -> list[str]:
    """Return everything to write beside a sheet."""
    size = f"sheet {stock.width:g} x {stock.height:g} mm"
    return [size, f"{stock.grain_words}, as the arrows", "all lengths in mm", *notes]


def _text_block(lines: Iterable[str], left: float, top: float) -> Marks:
    """Lines of text below each other, the first one's upper edge at `top`."""
    bases = ((left, top - TEXT_HEIGHT - row * _LINE_PITCH) for row in count())
    return Marks(tuple(map(Label, bases, repeat(TEXT_HEIGHT), lines)))


def marks_on(part: Part, *, named: bool) -> Marks:
    """Return grain arrow, where the grain matters, and witness mark on a part, and its name."""
    places = part.clear_circles(2 if named else 1)
    labels = [_name_in(places.pop(0), part.name)] if named and places else []
    strokes = arrow(places[0], part.grain) if places else ()
    if labels and labels[0].height < LEAST_HEIGHT:
        labels = _name_along(part, strokes) or labels
    if part.witness is not None:
        strokes += tuple(part.witness + _WITNESS)
    return Marks(tuple(labels), strokes)


def _name_in(circle: Circle, text: str) -> Label:
    (x, y), diameter = circle
    height = min(TEXT_HEIGHT, 0.9 * diameter / text_width(text, 1.0), diameter / 3)
    return Label((x, y - height / 2), height, text, "middle")


def _name_along(part: Part, strokes: Iterable[Floats]) -> list[Label]:
    """The name of a narrow piece along its longest straight edge, where it is clear of all else."""
    outer, height = part.outer, NARROW_HEIGHT
    chords = outer.chords * (outer.bulges == 0.0)[:, None]
    longest = int(np.hypot(*chords.T).argmax())
    start, way = outer.vertices[longest], chords[longest]
    if not way.any():
        return []
    inward = np.array([-way[1], way[0]]) / np.hypot(*way) * np.sign(outer.area)
    angle = math.degrees(math.atan2(way[1], way[0]))
    upright = -90.0 < angle <= 90.0
    drawn = np.vstack([np.full((1, 2), np.inf), *map(dots, strokes)])
    for share in sorted(np.linspace(0.05, 0.95, 19), key=lambda share: round(abs(share - 0.5), 3)):
        x, y = (start + share * way + (1.5 if upright else 2.5) * height * inward).tolist()
        turned = angle if upright else angle + 180.0
        label = Label((x, y), height, part.name, "middle", turned)
        room = label.dots
        clear = depth_inside(room, outer, height).min() > 0.0 and all(
            depth_inside(room, cut.outline, height).max() < 0.0 for cut in part.cuts
        )
        if clear and np.hypot(*(room[:, None] - drawn).transpose(2, 0, 1)).min() > DOT:
            return [label]
    return []


def arrow(circle: Circle, angle: float | None) -> tuple[Floats, ...]:
    """Return the strokes of an arrow inside a circle, at most 40 mm long; none of no direction."""
    if angle is None:
        return ()
    (x, y), diameter = circle
    half = min(0.4 * diameter, 20.0)
    barb = min(0.25 * half, 2.0)
    direction = np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
    tail, tip = (np.array([x, y]) + sign * half * direction for sign in (-1, 1))
    return np.array([tail, tip]), barbs(tip, direction, 2.5 * barb, barb)


def barbs(tip: Floats, way: Floats, long: float, wide: float) -> Floats:
    """Return the head of an arrow that goes a way: so long, so wide to either side."""
    along = way / np.hypot(*way)
    across = wide * np.array([-along[1], along[0]])
    back = tip - long * along
    return np.array([back + across, tip, back - across])
