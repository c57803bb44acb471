"""A dimensioned drawing as plain values: shapes, lines, dimensions, tables; no file format."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from gearwork.geometry.outline import Outline
from gearwork.geometry.part import Point
from gearwork.numbers import Floats
from gearwork.output.html import GREY, INK
from gearwork.output.marking import TEXT_HEIGHT, Bounds, Label, Marks, barbs, bounds_of, text_width

# ISO 128-2 line types; widths 0.5 and 0.25 mm are line group 0.5.
Style = Literal["edge", "hole", "thin", "dashed", "chain", "leader"]
LINE_WIDTH: dict[Style, float] = {
    "edge": 0.5, "hole": 0.5, "thin": 0.25, "dashed": 0.25, "chain": 0.25, "leader": 0.2
}  # fmt: skip
DASHES: dict[Style, tuple[float, ...]] = {"dashed": (3.0, 1.5), "chain": (8.0, 1.5, 0.75, 1.5)}

ARROW = 3.0
TABLE_TEXT = 2.5
_BEYOND = 2.0
_LIFT = 1.0
_ROW = 5.0
_CELL_GAP = 3.0


def point(at: Iterable[float]) -> Point:
    """Return a place as plain numbers."""
    x, y = at
    return float(x), float(y)


def polygon(corners: ArrayLike) -> Outline:
    """Return a closed path of straight lines."""
    return Outline(corners, np.zeros(len(np.asarray(corners))))


def box(left: float, low: float, right: float, high: float) -> Outline:
    """Return a rectangle."""
    return polygon([(left, low), (right, low), (right, high), (left, high)])


@dataclass(frozen=True)
class Shape:
    """A closed path and how it is drawn; a "hole" is one to be drilled just there."""

    outline: Outline
    style: Style = "thin"
    fill: str = "none"  # on a page, a colour that hides what was drawn before
    colour: str = INK  # of its line there
    holes: tuple[Outline, ...] = ()  # what is not filled

    @property
    def path(self) -> Floats:
        """Its corners, the first once more at the end, shape (n, 2)."""
        points = self.outline.points()
        return np.vstack([points, points[:1]])


@dataclass(frozen=True)
class Line:
    """A straight line and how it is drawn."""

    start: Point
    end: Point
    style: Style = "leader"

    @property
    def path(self) -> Floats:
        """Its ends, shape (2, 2)."""
        return np.array([self.start, self.end])

    @property
    def colour(self) -> str:
        """On a page."""
        return GREY if self.style == "leader" else INK


@dataclass(frozen=True)
class Length:
    """The distance between two points, mm, measured along the line through them."""

    start: Point
    end: Point
    through: Point  # on the dimension line
    play: float | None = None  # by how much it may be off either way, mm
    name: str = ""  # what stands before the number

    @property
    def value(self) -> float:
        """The measured distance, mm."""
        return math.dist(self.start, self.end)

    @property
    def tolerance(self) -> str:
        """Limit deviations as text, empty where there are none."""
        return "" if self.play is None else f" ±{self.play:.2f}"

    @property
    def text(self) -> str:
        """The dimension in words, e.g. "a 130.25 ±0.10"."""
        return f"{self.name} {self.value:.2f}{self.tolerance}".strip()

    @property
    def ends(self) -> tuple[Floats, Floats]:
        """The two ends of the dimension line."""
        start, end = np.array(self.start), np.array(self.end)
        across = _normal(end - start)
        shift = ((np.array(self.through) - start) @ across) * across
        return start + shift, end + shift

    @cached_property
    def marks(self) -> Marks:
        """Its lines, arrows and text."""
        first, second = self.ends
        along = (second - first) / self.value
        feet = ((np.array(self.start), first), (np.array(self.end), second))
        strokes = [_extension(foot, end) for foot, end in feet if np.hypot(*(end - foot)) > _BEYOND]
        wide = text_width(self.text, TEXT_HEIGHT)
        roomy = self.value > wide + 2 * ARROW
        inward = 1.0 if self.value > 3 * ARROW else -1.0
        tail = first - (0 if inward > 0 else 2 * ARROW) * along
        head = second + (0 if roomy else 2 * ARROW + wide) * along
        strokes += [np.array([tail, head]), _tip(first, -inward * along)]
        strokes.append(_tip(second, inward * along))
        angle = math.degrees(math.atan2(along[1], along[0]))
        readable = -90 < round(angle, 6) <= 90
        middle = (first + second) / 2 if roomy else second + (2 * ARROW + wide / 2) * along
        at = point(middle + _LIFT * _normal(along) * (1 if readable else -1))
        turn = angle if readable else angle - math.copysign(180.0, angle)
        label = Label(at, TEXT_HEIGHT, self.text, "middle", turn)
        return Marks((label,), tuple(strokes))


@dataclass(frozen=True)
class Diameter:
    """The diameter of a circle, written at the end of a leader."""

    centre: Point  # of the circle, mm
    value: float  # mm
    angle: float  # of the leader from the centre, degrees
    reach: float  # length of the leader from the circle outwards, mm
    name: str = ""  # what stands before the number
    auxiliary: bool = False  # for information, nothing to measure or make by: stands in brackets

    @property
    def text(self) -> str:
        """The dimension in words, e.g. "tip ⌀200.00"."""
        text = f"{self.name} ⌀{self.value:.2f}".strip()
        return f"({text})" if self.auxiliary else text

    @property
    def _direction(self) -> Floats:
        return np.array([math.cos(math.radians(self.angle)), math.sin(math.radians(self.angle))])

    @property
    def foot(self) -> Floats:
        """Where the leader's arrow touches the circle."""
        return np.array(self.centre) + self.value / 2 * self._direction

    @cached_property
    def marks(self) -> Marks:
        """Its leader, arrow and text."""
        foot, direction = self.foot, self._direction
        end = foot + self.reach * direction
        right = direction[0] >= -1e-9
        wide = text_width(self.text, TEXT_HEIGHT) * (1 if right else -1)
        stroke = np.array([foot, end, end + np.array([wide, 0.0])])
        at = (float(end[0]), float(end[1]) + _LIFT)
        label = Label(at, TEXT_HEIGHT, self.text, "start" if right else "end")
        return Marks((label,), (stroke, _tip(foot, -direction)))


@dataclass(frozen=True)
class Table:
    """Rows of text under a heading; the first row is the head of the columns."""

    heading: str
    rows: tuple[tuple[str, ...], ...]

    @property
    def columns(self) -> list[float]:
        """Width of each column, mm."""
        widths = [[text_width(cell, TABLE_TEXT) for cell in row] for row in self.rows]
        return [max(column) + _CELL_GAP for column in zip(*widths, strict=True)]

    @property
    def size(self) -> tuple[float, float]:
        """Width and height, mm."""
        width = max(sum(self.columns), text_width(self.heading, TEXT_HEIGHT))
        return width, _ROW * (len(self.rows) + 1.5)

    def marks(self, left: float, top: float) -> Marks:
        """Return texts and rules with the upper left corner at the given place."""
        labels = [Label((left, top - _ROW), TEXT_HEIGHT, self.heading)]
        starts = np.concatenate([[0.0], np.cumsum(self.columns)]) + left
        for line, row in enumerate(self.rows):
            base = top - (line + 2.25) * _ROW
            labels += [
                Label((float(x), base), TABLE_TEXT, cell)
                for x, cell in zip(starts, row, strict=False)
                if cell
            ]
        levels = (top - 1.5 * _ROW, top - 2.5 * _ROW, top - self.size[1])
        rules = [np.array([(left, y), (starts[-1], y)]) for y in levels]
        return Marks(tuple(labels), tuple(rules))


@dataclass(frozen=True)
class Drawing:
    """A drawing in millimetres, and the tables that go with it."""

    title: str
    shapes: tuple[Shape, ...] = ()
    lines: tuple[Line, ...] = ()
    dimensions: tuple[Length | Diameter, ...] = ()
    marks: Marks = field(default_factory=Marks)  # further texts and strokes, e.g. the grain arrow
    tables: tuple[Table, ...] = ()  # placed beside it by whatever prints it
    scale: float = 1.0  # on a page, of what is on paper to what is drawn
    frame: Bounds | None = None  # what a page shows of it, if that is not all

    @cached_property
    def ink(self) -> Marks:
        """All that is written and stroked: the marks, and those of every dimension."""
        return sum((dimension.marks for dimension in self.dimensions), self.marks)

    @property
    def paths(self) -> list[Floats]:
        """Shapes and lines as open paths, shape (n, 2)."""
        return [one.path for one in self.shapes + self.lines]

    @property
    def bounds(self) -> Bounds:
        """Smallest x and y, largest x and y of all but the tables, mm."""
        lines = Marks(strokes=tuple(line.path for line in self.lines))
        return bounds_of((shape.outline for shape in self.shapes), self.ink + lines)


def _extension(foot: Floats, end: Floats) -> Floats:
    outward = (end - foot) / np.hypot(*(end - foot))
    return np.array([foot + _LIFT * outward, end + _BEYOND * outward])


def _tip(at: Floats, way: Floats) -> Floats:
    """The head of an arrow that goes a way, 30 degrees wide (ISO 129-1, from memory)."""
    return barbs(at, way, ARROW, ARROW * math.tan(math.radians(15.0)))


def _normal(vector: Floats) -> Floats:
    """Return the unit vector to the left of another."""
    turned: Floats = np.array([-vector[1], vector[0]]) / np.hypot(*vector)
    return turned
