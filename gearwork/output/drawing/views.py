"""Finding a place for each dimension where it crosses no text and few lines.

What is on the drawings: spacing drawing of any number of axes, drawing of one gear.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from gearwork.errors import GearworkError, number, whole_number
from gearwork.geometry.outline import Outline, circle_of
from gearwork.geometry.part import Operation, Part, Point
from gearwork.geometry.tooth import CutTooth
from gearwork.numbers import Floats
from gearwork.output.drawing.draft import (
    Diameter,
    Drawing,
    Length,
    Line,
    Shape,
    Style,
    Table,
    dimension_ink,
)
from gearwork.output.marking import TEXT_HEIGHT, Label, Marks, arrow, marks_on, text_width

_CELL = 1.25
_AROUND = 150.0
_TEXT_COST = 50

D = TypeVar("D", Length, Diameter)
T = TypeVar("T")


class Ground:
    """The sheet as a grid of cells, each knowing how much is drawn and written in it."""

    def __init__(self, shapes: Iterable[Shape], lines: Iterable[Line]) -> None:
        closed = [shape.outline.points(0.05) for shape in shapes]
        paths = [np.vstack([points, points[:1]]) for points in closed]
        paths += [np.array([line.start, line.end]) for line in lines]
        every = np.vstack(paths)
        self._origin = every.min(axis=0) - _AROUND
        size = ((np.ptp(every, axis=0) + 2 * _AROUND) / _CELL).astype(int) + 1
        self._drawn = np.zeros(size, dtype=int)
        self._written = np.zeros(size, dtype=int)
        self._mark(Marks(strokes=tuple(paths)))

    def place(self, choices: Iterable[D]) -> D:
        """Return the dimension that crosses least, an early one if equal, and take its room."""
        return self._first_clear((choice, _room(choice)) for choice in choices)

    def clearest(self, choices: Iterable[Marks]) -> Marks:
        """Return the marks that cross least, early ones if equal, and take their room."""
        return self._first_clear((marks, marks) for marks in choices)

    def _first_clear(self, choices: Iterable[tuple[T, Marks]]) -> T:
        """Return what crosses least; no more are asked for once one crosses nothing."""
        min_cost = math.inf
        for choice, marks in choices:
            cost = self._cost(marks)
            if cost < min_cost:
                best, room, min_cost = choice, marks, cost
            if cost == 0:
                break
        self._mark(room)
        return best

    def _cost(self, marks: Marks) -> int:
        text = self._cells(np.vstack([np.empty((0, 2)), *map(_filled, marks.labels)]))
        strokes = self._cells(np.vstack([np.empty((0, 2)), *map(_dots, marks.strokes)]))
        overwritten = self._written[text].sum() + self._written[strokes].sum()
        return int(self._drawn[text].sum() + _TEXT_COST * overwritten)

    def _mark(self, marks: Marks) -> None:
        for stroke in marks.strokes:
            self._drawn[self._cells(_dots(stroke))] = 1
        for label in marks.labels:
            self._written[self._cells(_filled(label))] = 1

    def _cells(self, points: Floats) -> tuple[Floats, ...]:
        """Indices of the cells points lie in; what is far outside counts as at the rim."""
        cells = ((points - self._origin) / _CELL).astype(int)
        return tuple(np.clip(cells, 0, np.array(self._drawn.shape) - 1).T)


def _room(dimension: Length | Diameter) -> Marks:
    """Return what a dimension covers, also for readers that turn a diameter along its leader."""
    marks = dimension_ink(dimension).marks
    if not isinstance(dimension, Diameter) or dimension.auxiliary:
        return marks
    label = marks.labels[0]
    x, y = label.corners.mean(axis=0)
    angle = (dimension.angle + 90) % 180 - 90
    return marks + Marks((replace(label, at=(x, y), anchor="middle", angle=angle),))


def _dots(path: Floats) -> Floats:
    """Return points along an open path, close enough to meet every cell, shape (n, 2)."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])
    places = np.linspace(0.0, along[-1], int(1.5 * along[-1] / _CELL) + 2)
    return np.column_stack([np.interp(places, along, column) for column in path.T])


def _filled(label: Label) -> Floats:
    """Return points all over the room of a text, shape (n, 2)."""
    corner, right, _, upper = label.corners
    wide, high = right - corner, upper - corner
    x, y = (np.linspace(0.0, 1.0, int(1.5 * np.hypot(*side) / _CELL) + 2) for side in (wide, high))
    points: Floats = corner + (x[:, None, None] * wide + y[None, :, None] * high).reshape(-1, 2)
    return points


def leaders(circle: Diameter, outside: float) -> Iterator[Diameter]:
    """Yield ways to dimension a circle, the best first: near it, and outside all others.

    `outside`: diameter of the largest circle about the same centre, mm.
    """
    gap = (outside - circle.diameter) / 2
    reaches = sorted({reach + extra for extra in (0.0, gap) for reach in (8.0, 14.0, 22.0)})
    steps = sorted(range(5, 180, 10), key=lambda turn: abs(turn - 45))
    turns = (sign * turn for turn in steps for sign in (1, -1))
    angles = [(circle.angle + turn) % 360 for turn in turns]
    for angle in angles:
        if 8 < angle % 90 < 82:
            for reach in reaches:
                yield replace(circle, angle=angle, reach=reach)


_OVERHANG = 5.0
_CLEAR = 10.0
_CIRCLE_NAMES: dict[Operation, str] = {
    "inside edge": "bore",
    "pocket": "pocket",
    "drilled hole": "hole",
    "mark": "mark",
}


@dataclass(frozen=True)
class GearCircles:
    """The circles of one gear on an axis: working pitch, tip and root diameter, mm."""

    name: str
    pitch_diameter: float
    tip_diameter: float
    root_diameter: float


@dataclass(frozen=True)
class Axis:
    """One axis of a train: its name, where it is, its bore or bearing seat, mm, and its gears."""

    name: str
    at: Point
    bore: float
    gears: tuple[GearCircles, ...] = ()

    def __post_init__(self) -> None:
        for coordinate in self.at:
            number(f"position of axis {self.name}", coordinate, unit="mm")
        number(f"bore of axis {self.name}", self.bore, unit="mm", above=0.0)

    @property
    def outside(self) -> float:
        """The largest diameter on this axis, mm."""
        return max([self.bore, *(gear.tip_diameter for gear in self.gears)])


@dataclass(frozen=True)
class Distance:
    """A centre distance to keep: the names of two axes and the limit deviations, mm."""

    start: str
    end: str
    upper: float
    lower: float

    def __post_init__(self) -> None:
        name = f"deviation of centre distance {self.start}-{self.end}"
        number(f"upper {name}", self.upper, unit="mm", at_least=self.lower)
        number(f"lower {name}", self.lower, unit="mm")


@dataclass(frozen=True)
class GearMeasures:
    """What is measured on one gear, mm; tooth 0 of the part is centred on +x."""

    teeth: int
    tip_diameter: float
    root_diameter: float
    reference_diameter: float
    base_diameter: float
    teeth_spanned: int
    span: float
    pin_diameter: float
    over_pins: float

    @classmethod
    def of(cls, tooth: CutTooth[float], teeth_spanned: int, pin_diameter: float) -> "GearMeasures":
        """Return the measures of a gear as cut, over so many teeth and over pins of that size."""
        gear = tooth.gear
        return cls(
            teeth=int(gear.teeth),
            tip_diameter=gear.tip_diameter,
            root_diameter=tooth.root_diameter,
            reference_diameter=gear.reference_diameter,
            base_diameter=gear.base_diameter,
            teeth_spanned=teeth_spanned,
            span=gear.span(teeth_spanned),
            pin_diameter=pin_diameter,
            over_pins=gear.over_pins(pin_diameter),
        )

    def __post_init__(self) -> None:
        whole_number("number of teeth", self.teeth, at_least=1)
        whole_number("teeth spanned", self.teeth_spanned, at_least=1)
        for name in ("tip_diameter", "root_diameter", "reference_diameter", "base_diameter"):
            number(name.replace("_", " "), getattr(self, name), unit="mm", above=0.0)
        number("span", self.span, unit="mm", above=0.0)
        number("pin diameter", self.pin_diameter, unit="mm", above=0.0)
        number("dimension over pins", self.over_pins, unit="mm", above=self.pin_diameter)


def spacing_drawing(
    title: str,
    axes: Sequence[Axis],
    distances: Sequence[Distance],
    tables: Sequence[Table] = (),
    grain: float = 0.0,
) -> Drawing:
    """Return the drawing to drill by: bores where they belong, centre distances, circles.

    `grain`: direction of the face grain of the plate, degrees from +x.
    """
    named = {axis.name: axis for axis in axes}
    if not named or len(named) != len(axes):
        raise GearworkError(f"axes are {[axis.name for axis in axes]}: each needs its own name")
    _check_distances(named, distances)
    shapes = tuple(shape for axis in axes for shape in _axis_shapes(axis))
    lines = [line for axis in axes for line in _cross(axis.at, axis.outside)]
    lines += [Line(named[each.start].at, named[each.end].at, "chain") for each in distances]
    ground = Ground(shapes, lines)
    lengths = tuple(ground.place(_distance_choices(named, each)) for each in distances)
    diameters = tuple(
        ground.place(leaders(circle, axis.outside))
        for axis in axes
        for circle in _axis_circles(axis, axes)
    )
    drawing = Drawing(title, shapes, tuple(lines), lengths, diameters)
    arrows = _grain_arrows(drawing.bounds, grain)
    return replace(
        drawing,
        marks=ground.clearest(arrows),
        tables=(_axis_table(axes), *_distance_table(distances, lengths), *tables),
    )


def gear_drawing(part: Part, measures: GearMeasures, tables: Sequence[Table] = ()) -> Drawing:
    """Return the drawing of one gear: tip, root and bore diameter, span, dimension over pins.

    The root form and the flanks are the part's own outline; span (ISO 701 symbol W) and
    dimension over pins (M) are drawn where the jaws of the caliper touch.
    """
    rings: list[tuple[str, float, Style]] = [
        ("tip", measures.tip_diameter, "thin"),
        ("reference", measures.reference_diameter, "chain"),
        ("root", measures.root_diameter, "dashed"),
    ]
    shapes = [Shape(part.outer, "edge")]
    shapes += [Shape(cut.outline, "edge") for cut in part.cuts]
    shapes += [Shape(Outline.circle(diameter), style) for _, diameter, style in rings]
    shapes += [Shape(Outline.circle(measures.pin_diameter, at), "thin") for at in _pins(measures)]
    lines = _cross((0.0, 0.0), measures.tip_diameter)
    ground = Ground(shapes, lines)
    lengths = (ground.place([_span(measures)]), ground.place([_over_pins(measures)]))
    circles = _circles_cut(part)
    circles += [
        Diameter((0.0, 0.0), size, 180.0, 0.0, name, auxiliary=name != "tip")
        for name, size, _ in rings
    ]
    return Drawing(
        part.name,
        tuple(shapes),
        lines,
        lengths,
        tuple(ground.place(leaders(circle, measures.tip_diameter)) for circle in circles),
        marks_on(part, named=False),
        tuple(tables),
    )


def hub_drawing(part: Part, circles: Sequence[float]) -> Drawing:
    """Return the drawing of what is cut into the middle of a part, and of its bolt circles, mm."""
    rings = [Outline.circle(diameter) for diameter in circles]
    shapes = [Shape(cut.outline, "edge") for cut in part.cuts]
    shapes += [Shape(ring, "chain") for ring in rings] + [Shape(part.outer, "thin")]
    outside = part.bounds[2] * 2
    lines = _cross((0.0, 0.0), outside)
    ground = Ground(shapes, lines)
    wanted = [*_circles_cut(part), *(Diameter((0.0, 0.0), d, 0.0, 0.0, "circle") for d in circles)]
    diameters = tuple(ground.place(leaders(circle, outside)) for circle in wanted)
    return Drawing(part.name, tuple(shapes), lines, (), diameters)


def _circles_cut(part: Part) -> list[Diameter]:
    """Return the circles cut in a part, equal ones dimensioned once with their number."""
    alike: dict[tuple[str, float], list[Diameter]] = {}
    for cut in part.cuts:
        circle = circle_of(cut.outline)
        if circle is not None:
            name = _CIRCLE_NAMES[cut.operation]
            group = alike.setdefault((name, round(circle[1], 3)), [])
            group.append(Diameter(*circle, 0.0, 0.0, name))
    return [
        replace(group[0], name=f"{len(group)} x {name}" if len(group) > 1 else name)
        for (name, _), group in alike.items()
    ]


def _check_distances(named: dict[str, Axis], distances: Sequence[Distance]) -> None:
    for distance in distances:
        for name in (distance.start, distance.end):
            if name not in named:
                raise GearworkError(
                    f"centre distance names axis {name!r}: it must be one of {', '.join(named)}"
                )
        if named[distance.start].at == named[distance.end].at:
            raise GearworkError(
                f"axes {distance.start} and {distance.end} stand at the same place: give them"
                " a centre distance above 0 mm"
            )


def _axis_shapes(axis: Axis) -> list[Shape]:
    rings: list[tuple[float, Style]] = [(axis.bore, "hole")]
    for gear in axis.gears:
        rings += [
            (gear.pitch_diameter, "chain"),
            (gear.tip_diameter, "dashed"),
            (gear.root_diameter, "dashed"),
        ]
    return [Shape(Outline.circle(diameter, axis.at), style) for diameter, style in rings]


def _cross(at: Point, diameter: float) -> tuple[Line, Line]:
    (x, y), half = at, diameter / 2 + _OVERHANG
    return Line((x - half, y), (x + half, y), "chain"), Line((x, y - half), (x, y + half), "chain")


def _axis_table(axes: Sequence[Axis]) -> Table:
    rows = [(axis.name, *(f"{value:.2f}" for value in (*axis.at, axis.bore))) for axis in axes]
    return Table("axes, mm", (("axis", "x", "y", "bore"), *rows))


def _distance_table(distances: Sequence[Distance], lengths: Sequence[Length]) -> list[Table]:
    rows = [
        (f"{each.start} - {each.end}", f"{length.value:.2f}", length.tolerance.strip())
        for each, length in zip(distances, lengths, strict=True)
    ]
    return [Table("centre distances, mm", (("axes", "a", "limits"), *rows))] if rows else []


def _distance_choices(named: dict[str, Axis], distance: Distance) -> list[Length]:
    """Return places for a centre distance, outside the circles, below them first."""
    start, end = named[distance.start], named[distance.end]
    along = np.subtract(end.at, start.at)
    across = np.array([-along[1], along[0]]) / np.hypot(*along)
    down = across if (across[1], across[0]) < (0, 0) else -across
    reach = max(start.outside, end.outside) / 2 + _CLEAR
    return [
        Length(
            start.at,
            end.at,
            _point(np.array(start.at) + (reach + extra) * side),
            distance.upper,
            distance.lower,
            "a",
        )
        for extra in (0.0, 10.0, 20.0, 40.0)
        for side in (down, -down)
    ]


def _axis_circles(axis: Axis, axes: Sequence[Axis]) -> Iterator[Diameter]:
    """Yield each circle of an axis to be dimensioned, best on the side away from the others."""
    away = np.sum([np.subtract(axis.at, other.at) for other in axes], axis=0)
    prefer = math.degrees(math.atan2(away[1], away[0])) if np.any(away) else 180.0
    yield Diameter(axis.at, axis.bore, prefer, 0.0, f"{axis.name} bore")
    for gear in axis.gears:
        owner = f"{gear.name} " if len(axis.gears) > 1 else ""
        for name, diameter in (
            ("tip", gear.tip_diameter),
            ("pitch", gear.pitch_diameter),
            ("root", gear.root_diameter),
        ):
            yield Diameter(axis.at, diameter, prefer, 0.0, owner + name, auxiliary=True)


def _grain_arrows(bounds: tuple[float, float, float, float], grain: float) -> list[Marks]:
    """Return places for the arrow of the face grain: inside the four corners, or above."""
    left, low, right, top = bounds
    name, half = "face grain", 13.0
    width = 2 * half + text_width(name, TEXT_HEIGHT)
    found = []
    for y in (top - half, low + half, top + half):
        for x in (left, right - width):
            label = Label((x + 2 * half, y - TEXT_HEIGHT / 2), TEXT_HEIGHT, name)
            found.append(Marks((label,), arrow(((x + half, y), 2 * half), grain)))
    return found


def _span(measures: GearMeasures) -> Length:
    """The span, drawn on the tangent of the base circle where the jaws touch, at the top."""
    half_pitches = _nearest_top(measures.teeth, tooth=measures.teeth_spanned % 2 == 1)
    out, along = _directions(half_pitches * 180.0 / measures.teeth)
    middle = measures.base_diameter / 2 * out
    ends = [middle + sign * measures.span / 2 * along for sign in (1, -1)]
    through = (measures.tip_diameter / 2 + _CLEAR) * out
    name = f"W{measures.teeth_spanned}"
    return Length(_point(ends[0]), _point(ends[1]), _point(through), name=name)


def _over_pins(measures: GearMeasures) -> Length:
    """The dimension over pins, drawn through both pins, to the right of the gear."""
    first, second = (np.array(pin) for pin in _pins(measures))
    along = (second - first) / np.hypot(*(second - first))
    overhang = measures.pin_diameter / 2 * along
    across = np.array([-along[1], along[0]])
    side = across if across[0] > 0 else -across
    through = (measures.tip_diameter / 2 + _CLEAR) * side
    return Length(_point(first - overhang), _point(second + overhang), _point(through), name="M")


def _pins(measures: GearMeasures) -> tuple[Point, Point]:
    """Centres of two pins in the opposite or nearly opposite spaces that M is measured over."""
    z = measures.teeth
    chord = measures.over_pins - measures.pin_diameter
    radius = chord / 2 / math.cos(math.radians(90.0 / z) if z % 2 else 0.0)
    first = _nearest_top(z, tooth=False)
    second = first + 2 * (z // 2)
    upper, lower = (radius * _directions(half * 180.0 / z)[0] for half in (first, second))
    return _point(upper), _point(lower)


def _nearest_top(teeth: int, *, tooth: bool) -> int:
    """Half pitches from +x to the tooth (even) or space (odd) nearest to +y."""
    return 2 * round(teeth / 4) if tooth else 2 * round(teeth / 4 - 0.5) + 1


def _directions(angle: float) -> tuple[Floats, Floats]:
    """Unit vectors outward and, to its left, along, at an angle in degrees."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return np.array([c, s]), np.array([-s, c])


def _point(vector: Floats) -> Point:
    return float(vector[0]), float(vector[1])
