"""Finding a place for each dimension where it crosses no text and few lines; drawings of a gear."""

import cmath
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np

from gearwork.geometry.gear import GearShape
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
)
from gearwork.output.marking import DOT, Marks, dots, marks_on

_AROUND = 150.0
_TEXT_COST = 50

T = TypeVar("T", bound=Length | Diameter | Marks)


class Ground:
    """The sheet as a grid of cells, each knowing how much is drawn and written in it."""

    def __init__(self, paths: Sequence[Floats]) -> None:
        every = np.vstack(paths)
        self._origin = every.min(axis=0) - _AROUND
        size = ((np.ptp(every, axis=0) + 2 * _AROUND) / DOT).astype(int) + 1
        self._drawn = np.zeros(size, dtype=int)
        self._written = np.zeros(size, dtype=int)
        self._mark(Marks(strokes=tuple(paths)))

    def place(self, choices: Iterable[T]) -> T:
        """Return what crosses least, an early one if equal, and take its room.

        No more are asked for once one crosses nothing.
        """
        min_cost = math.inf
        for choice in choices:
            marks = _room(choice)
            cost = self._cost(marks)
            if cost < min_cost:
                best, room, min_cost = choice, marks, cost
            if cost == 0:
                break
        self._mark(room)
        return best

    def _cost(self, marks: Marks) -> int:
        nothing = np.empty((0, 2))
        text = self._cells(np.vstack([nothing, *(label.dots for label in marks.labels)]))
        strokes = self._cells(np.vstack([nothing, *map(dots, marks.strokes)]))
        overwritten = self._written[text].sum() + self._written[strokes].sum()
        return int(self._drawn[text].sum() + _TEXT_COST * overwritten)

    def _mark(self, marks: Marks) -> None:
        for stroke in marks.strokes:
            self._drawn[self._cells(dots(stroke))] = 1
        for label in marks.labels:
            self._written[self._cells(label.dots)] = 1

    def _cells(self, points: Floats) -> tuple[Floats, ...]:
        """Indices of the cells points lie in; what is far outside counts as at the rim."""
        cells = ((points - self._origin) / DOT).astype(int)
        return tuple(np.clip(cells, 0, np.array(self._drawn.shape) - 1).T)


def _room(thing: Length | Diameter | Marks) -> Marks:
    """Return what it covers, also for readers that turn a diameter along its leader."""
    marks = thing if isinstance(thing, Marks) else thing.marks
    if not isinstance(thing, Diameter) or thing.auxiliary:
        return marks
    label = marks.labels[0]
    x, y = label.corners.mean(axis=0)
    angle = (thing.angle + 90) % 180 - 90
    return marks + Marks((replace(label, at=(x, y), anchor="middle", angle=angle),))


def leaders(circle: Diameter, outside: float) -> Iterator[Diameter]:
    """Yield ways to dimension a circle, the best first: near it, and outside all others.

    `outside`: diameter of the largest circle about the same centre, mm.
    """
    gap = (outside - circle.value) / 2
    reaches = sorted({reach + extra for extra in (0.0, gap) for reach in (8.0, 14.0, 22.0)})
    steps = sorted(range(5, 180, 10), key=lambda turn: abs(turn - 45))
    turns = (sign * turn for turn in steps for sign in (1, -1))
    angles = [(circle.angle + turn) % 360 for turn in turns]
    for angle in angles:
        if 8 < angle % 90 < 82:
            for reach in reaches:
                yield replace(circle, angle=angle, reach=reach)


_OVERHANG = 5.0
CLEAR = 10.0
_CIRCLE_NAMES: dict[Operation, str] = {
    "inside edge": "bore",
    "pocket": "pocket",
    "drilled hole": "hole",
    "mark": "mark",
}


def gear_drawing(part: Part, tooth: CutTooth[float], spanned: int, pin: float) -> Drawing:
    """Return the drawing of one gear: tip, root and bore diameter, span, dimension over pins.

    The root form and the flanks are the part's own outline, tooth 0 centred on +x; span over so
    many teeth (ISO 701 symbol W) and dimension over pins of such a diameter (M) are drawn where the
    jaws of the caliper touch.
    """
    gear, outside = tooth.gear, tooth.gear.tip_diameter
    rings: list[tuple[str, float, Style]] = [
        ("tip", outside, "thin"),
        ("reference", gear.reference_diameter, "chain"),
        ("root", tooth.root_diameter, "dashed"),
    ]
    pins = _pins(gear, pin)
    shapes = [Shape(path, "edge") for path in (part.outer, *(cut.outline for cut in part.cuts))]
    shapes += [Shape(Outline.circle(diameter), style) for _, diameter, style in rings]
    shapes += [Shape(Outline.circle(pin, _point(at))) for at in pins]
    drawing = Drawing(part.name, tuple(shapes), cross((0.0, 0.0), outside))
    ground = Ground(drawing.paths)
    lengths = [_span(gear, spanned), _over_pins(pins, pin, outside)]
    lengths = [ground.place([length]) for length in lengths]
    circles = _circles_cut(part)
    circles += [
        Diameter((0.0, 0.0), size, 180.0, 0.0, name, auxiliary=name != "tip")
        for name, size, _ in rings
    ]
    diameters = [ground.place(leaders(circle, outside)) for circle in circles]
    marks = marks_on(part, named=False)
    return replace(drawing, dimensions=(*lengths, *diameters), marks=marks)


def hub_drawing(part: Part, circles: Sequence[float]) -> Drawing:
    """Return the drawing of what is cut into the middle of a part, and of its bolt circles, mm."""
    rings = [Outline.circle(diameter) for diameter in circles]
    shapes = [Shape(cut.outline, "edge") for cut in part.cuts]
    shapes += [Shape(ring, "chain") for ring in rings] + [Shape(part.outer, "thin")]
    outside = part.bounds[2] * 2
    drawing = Drawing(part.name, tuple(shapes), cross((0.0, 0.0), outside))
    ground = Ground(drawing.paths)
    wanted = [*_circles_cut(part), *(Diameter((0.0, 0.0), d, 0.0, 0.0, "circle") for d in circles)]
    diameters = tuple(ground.place(leaders(circle, outside)) for circle in wanted)
    return replace(drawing, dimensions=diameters)


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
        replace(group[0], name=f"{len(group)} × {name}" if len(group) > 1 else name)
        for (name, _), group in alike.items()
    ]


def cross(at: Point, diameter: float) -> tuple[Line, Line]:
    """Return the centre lines of a circle."""
    (x, y), half = at, diameter / 2 + _OVERHANG
    return Line((x - half, y), (x + half, y), "chain"), Line((x, y - half), (x, y + half), "chain")


def _span(gear: GearShape[float], spanned: int) -> Length:
    """The span, drawn on the tangent of the base circle where the jaws touch, at the top."""
    out = cmath.rect(1.0, _near_top(int(gear.teeth), tooth=spanned % 2 == 1))
    middle, half = gear.base_diameter / 2 * out, gear.span(spanned) / 2 * 1j * out
    through = _point((gear.tip_diameter / 2 + CLEAR) * out)
    return Length(_point(middle + half), _point(middle - half), through, name=f"W{spanned}")


def _over_pins(pins: tuple[complex, complex], diameter: float, outside: float) -> Length:
    """The dimension over pins, drawn through both pins, to the right of the gear."""
    upper, lower = pins
    along = (lower - upper) / abs(lower - upper)
    across = 1j * along if along.imag < 0.0 else -1j * along
    start, end = upper - diameter / 2 * along, lower + diameter / 2 * along
    return Length(_point(start), _point(end), _point((outside / 2 + CLEAR) * across), name="M")


def _pins(gear: GearShape[float], diameter: float) -> tuple[complex, complex]:
    """Centres of two pins in the opposite or nearly opposite spaces that M is measured over."""
    z = int(gear.teeth)
    chord = gear.over_pins(diameter) - diameter
    reach = chord / 2 / math.cos(math.pi / 2 / z if z % 2 else 0.0)
    upper = cmath.rect(reach, _near_top(z, tooth=False))
    return upper, upper * cmath.rect(1.0, z // 2 * 2 * math.pi / z)


def _near_top(teeth: int, *, tooth: bool) -> float:
    """Direction of the tooth or space nearest to +y, tooth 0 being at +x, rad."""
    half_pitches = 2 * round(teeth / 4) if tooth else 2 * round(teeth / 4 - 0.5) + 1
    return half_pitches * math.pi / teeth


def _point(at: complex) -> Point:
    return at.real, at.imag
