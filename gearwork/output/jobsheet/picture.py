"""Pictures of a train, its rods and the sheets: for pages, notebooks and files of their own."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from statistics import fmean
from typing import NamedTuple

import numpy as np
from markupsafe import Markup

from gearwork.checks.tooth.mesh import CutPair
from gearwork.geometry.gear_outline import tooth_outline
from gearwork.geometry.outline import Outline, as_pairs
from gearwork.geometry.part import Point
from gearwork.geometry.rack import Rack
from gearwork.machine.axial import Layout, Piece
from gearwork.machine.break_test import HELD, BreakTest
from gearwork.machine.design import Design
from gearwork.machine.gear_set import GearSet
from gearwork.machine.layout import SheetLayout
from gearwork.machine.parts import edges_in_place
from gearwork.machine.stage import MountedGear, Stage
from gearwork.machine.train import GearTrain
from gearwork.numbers import Floats
from gearwork.output.drawing.draft import Drawing, Line, Shape, box
from gearwork.output.drawing.spacing import bar_in_place
from gearwork.output.html import ACCENT, GREY, INK, PALE, PALE_ACCENT, PALE_WARM, WARM
from gearwork.output.marking import LETTER_SHARE, Bounds, Label, Marks, barbs
from gearwork.output.svg import drawing_picture

_LOOKS = ((PALE_ACCENT, ACCENT), (PALE_WARM, WARM), (PALE, INK))
_TYPE = 2.3  # height of type on paper, mm
_MARGIN = 1.5  # of white about a picture on paper, mm
WHOLE, HALF = 150.0, 84.0  # width of a picture on paper: of a page, of one of two columns, mm
FLAT = 50.0  # height of one that shares a page with much else, mm

_SMALL = 6.0  # heights of type: a gear of a smaller root diameter has its name beside it
_COARSE = 0.1  # how far a drawn line may stray, mm: below a pixel
_HALF_LETTER = 0.28  # half the width of a letter, heights of type


class Outside(NamedTuple):
    """The edge of what turns or runs outside the plates, its name and where that stands, if any."""

    edge: Outline
    name: str = ""
    at: Point = (0.0, 0.0)


class Standing(NamedTuple):
    """A gear where it stands in mesh, and its face as the bit leaves it."""

    gear: MountedGear
    at: Point
    face: Shape


def _standing(
    gear: MountedGear,
    at: Point,
    cut: CutPair,
    mesh: tuple[Sequence[Stage], Sequence[float]],
    look: int,
) -> Standing:
    """A gear at its place; `mesh`: all stages, and the directions of their centre lines."""
    return Standing(gear, at, _face(edges_in_place(gear, cut, at, *mesh, _COARSE), look))


def _in_train(train: GearTrain, cuts: Sequence[CutPair]) -> list[Standing]:
    """The gears of a train, the deepest first."""
    mesh = train.stages, train.angles
    return [
        _standing(gear, train.points[gear.shaft], cuts[gear.stage], mesh, gear.stage)
        for gear in sorted(train.gears, key=lambda gear: gear.plane)
    ]


def train_view(
    train: GearTrain, cuts: Sequence[CutPair], title: str, outside: Sequence[Outside] = ()
) -> Markup:
    """Return a train seen along its rods from the load's side, all teeth as cut, and the ground.

    `cuts`: the pairs of its stages as the bit leaves them.
    """
    every = np.array([train.bounds, *(one.edge.bounds for one in outside)])
    left, right = float(every[:, 0].min()), float(every[:, 2].max())
    size = _TYPE * (right - left) / HALF
    gears = _in_train(train, cuts)
    shapes = [one.face for one in gears]
    shapes += [_face([one.edge], len(train.stages)) for one in outside]
    shapes += [Shape(Outline.circle(one.gear.bore, one.at), fill="white") for one in gears]
    arrows = [_turning(one, train.directions[one.gear.shaft], size) for one in _foremost(gears)]
    words, said = [], {one.gear.name: one.gear.name for one in gears}
    for shaft, what in ((0, "drive"), (len(train.points) - 1, "load")):
        front = [one.gear for one in gears if one.gear.shaft == shaft][-1]
        if front.gear.root_diameter < _SMALL * size:
            said[front.name] += f", {what}"
        else:
            x, y = train.points[shaft]
            words.append(_word((x, y + front.bore / 2 + 0.3 * size), what, size))
    names = _label_places(gears, train.points, train.bounds, size, said)
    words += [_word(at, said[name], size) for name, at in names.items()]
    words += [_word(one.at, one.name, size) for one in outside if one.name]
    lines = []
    if train.frame.output_height is not None:
        ground = train.points[-1][1] - train.frame.output_height
        lines.append(Line((left, ground), (right, ground)))
        words.append(_word(((left + right) / 2, ground + 0.3 * size), "ground", size))
    strokes = tuple(stroke for arrow in arrows for stroke in arrow)
    title = f"The gears of {title}, seen along their rods"
    return _picture(title, shapes, lines, Marks(tuple(words), strokes), size)


def gears_view(design: GearSet) -> Markup:
    """Return pairs in mesh, all teeth as cut, and how far their axes stand apart; some of a bar."""
    ends = [design.points(stage) for stage in range(len(design.stages))]
    mesh = design.stages, [direction(*both) for both in ends]
    pairs = [stage for stage, one in enumerate(design.stages) if one.only is None]
    bars = {i: bar for i in pairs for bar in bar_in_place(design, i, whole=False)}
    gears = []
    for gear in design.gears:
        if gear.stage in pairs and not isinstance(gear.gear, Rack):
            side, cut = gear.side == "wheel", design.cut_pairs[gear.stage]
            gears.append(_standing(gear, ends[gear.stage][side], cut, mesh, gear.stage + side))
    shapes = [_face([bar], stage + 1) for stage, bar in bars.items()] + [one.face for one in gears]
    shapes += [Shape(Outline.circle(axis.bore, axis.at), fill="white") for axis in design.axes]
    every = np.array([shape.outline.bounds for shape in shapes])
    (left, low), (right, high) = every[:, :2].min(axis=0), every[:, 2:].max(axis=0)
    size = _TYPE * max((right - left) / HALF, (high - low) / FLAT)
    between = [(0.5 * (x + u), 0.5 * (y + v)) for (x, y), (u, v) in (ends[i] for i in pairs)]
    taken = [*between, *(axis.at for axis in design.axes)]
    names = _label_places(gears, taken, (left, low, right, high), size)
    for gear in design.gears:
        if gear.stage in bars and isinstance(gear.gear, Rack):
            x, y = ends[gear.stage][1]
            names[gear.name] = x, y - 3.0 * size
    words = [_word(at, name, size) for name, at in names.items()]
    words += [
        _word((x, y + 0.3 * size), f"{distance:.2f}", size)
        for (x, y), ((_, _, distance), _) in zip(between, design.toleranced_distances, strict=True)
    ]
    lines = [Line(*ends[i], "chain") for i in pairs]
    return _picture(f"The gears of {design.title}", shapes, lines, Marks(tuple(words)), size)


def direction(start: Point, end: Point) -> float:
    """Return the direction from one place to another, degrees."""
    return float(np.degrees(np.arctan2(end[1] - start[1], end[0] - start[0])))


def pinion_and_bar(design: Design) -> list[Outside]:
    """Return the pinion outside the plates and some of its bar, in mesh."""
    if design.on_bed is None:
        return []
    (x, y), hole = design.points(design.on_bed)
    turn = direction((x, y), hole)  # a tooth in a space
    pinion = tooth_outline(design.cut_pairs[design.on_bed].running("pinion"), _COARSE)
    (bar,) = bar_in_place(design, design.on_bed, whole=False)
    return [Outside(pinion.turned(turn).moved(x, y)), Outside(bar, design.gears[-1].name, hole)]


_BAR = 100.0  # length of what shows the scale of trains side by side, mm


def trains_side_by_side(designs: Sequence[Design]) -> list[Markup]:
    """Return several trains, to one scale where all are shown equally wide; teeth on every gear."""
    spans = [design.train.bounds for design in designs]
    wide = 1.06 * max(right - left for left, _, right, _ in spans)
    size = _TYPE * wide / (0.5 * HALF)
    high = max(top - low for _, low, _, top in spans) + 3 * size
    found = []
    for design, (left, low, right, _) in zip(designs, spans, strict=True):
        start, foot = (left + right - wide) / 2, low - 2 * size
        at, level = start + size, foot + size / 2
        tick = level + size / 3
        bar = [(at, tick), (at, level), (at + _BAR, level), (at + _BAR, tick)]
        gears = _in_train(design.train, design.cut_pairs)
        places = _label_places(gears, design.train.points, design.train.bounds, size)
        for one in _foremost(gears):
            places[one.gear.name] = one.at[0], one.at[1] - 0.35 * size
        words = [_word(places[one.gear.name], f"{one.gear.gear.teeth:g}", size) for one in gears]
        words.append(_word((at + _BAR / 2, tick), f"{_BAR:g} mm", 0.8 * size))
        title = f"The gears of {design.train.ratio:.3g} to 1"
        frame = (start, foot, start + wide, foot + high)
        faces = [one.face for one in gears]
        found.append(_picture(title, faces, _lines(bar), Marks(tuple(words)), size, frame))
    return found


def _foremost(gears: Sequence[Standing]) -> Iterable[Standing]:
    """Of each shaft the gear drawn last."""
    return {one.gear.shaft: one for one in gears}.values()


def _turning(one: Standing, way: int, size: float) -> tuple[Floats, Floats]:
    """An arrow about the middle of a gear: which way it turns; counter-clockwise for 1."""
    reach = max(0.42 * one.gear.gear.root_diameter / 2, 0.6 * one.gear.bore + size / 2)
    turn = np.radians(np.linspace(200.0, 340.0, 29))[::way]
    path = np.array(one.at) + reach * np.column_stack([np.cos(turn), np.sin(turn)])
    return path, barbs(path[-1], path[-1] - path[-3], 0.6 * size, 0.24 * size)


_TOUCHING = 0.5  # layers of one gear are no farther apart, mm

_CUT_OFF = 5.0  # so much of gears and plates a section shows beyond all else on the rod, mm

_LOW, _LEAST = 50.0, 2.0
"""How high a section is on paper, and its type at least, mm; it takes seven times its height."""


def section_view(layout: Layout, numbers: Mapping[str, int], wide: float = WHOLE) -> Markup:
    """Return a section of a shaft, to scale, with the numbers of the bill and measures along it.

    Lower end to the left; `wide`: of the picture on paper, mm. Gears and plates are cut off where
    nothing else is; the measures count from the lower end of the rod.
    """
    rod, pieces = layout.rod, [p for p in layout.pieces if p.kind not in ("glue", "tool")]
    near = [p.inner if p.kind in ("gear", "disc", "plate") else p.outer for p in (rod, *pieces)]
    reach = max(near) / 2 + _CUT_OFF
    low, high = min(rod.start, *(p.start for p in pieces)), max(rod.end, *(p.end for p in pieces))
    size = max((high - low) / (wide / _TYPE - 6.0), 2 * reach * _LEAST / (_LOW - 7.0 * _LEAST))
    lines = [Line((low - 2 * size, 0.0), (high + 2 * size, 0.0), "chain")]
    words = [
        _word(((start + end) / 2, -reach + 0.6 * size), name, size)
        for name, start, end in wheels(pieces)
    ]
    known = [(p, numbers[p.item]) for p in (*pieces, rod) if p.item in numbers]
    marks = sorted({((p.start + p.end) / 2, number): p for p, number in known}.items(),
                   key=lambda one: one[0])  # fmt: skip
    above = _spread([x for (x, _), _ in marks], 1.9 * size)
    for place, ((x, number), piece) in zip(above, marks, strict=True):
        foot = min((piece.outer + max(piece.inner, 0.0)) / 4, reach)
        lines.append(Line((x, foot), (place, reach + 1.0 * size)))
        words.append(_word((place, reach + 1.2 * size), f"{number}", size))
    edges = _measured(layout)
    below = _spread(edges, 1.25 * size)
    for place, x in zip(below, edges, strict=True):
        bend = (x, -reach - 0.5 * size)
        lines += _lines([(x, -rod.outer / 2), bend, (place, -reach - 1.7 * size)])
        at = (place + 0.35 * size, -reach - 4.0 * size)
        words.append(_word(at, f"{x - rod.start:.1f}", size, 90.0))
    for end, x in zip(layout.ends, (rod.start, rod.end), strict=True):
        words.append(_word((x, rod.outer / 2 + 0.4 * size), end, 0.9 * size))
    title = f"{layout.name}, cut lengthwise"
    return _picture(title, cut_through(rod, pieces, reach), lines, Marks(tuple(words)), size)


_WOOD_FIRST = {"plate": 0, "ring": 1, "gear": 2, "disc": 2, "screw": 4, "bolt": 4}
"""So that nothing of it hides what stands in it."""

_CUT_LOOKS = {
    "plate": (PALE, GREY),
    "ring": (PALE_WARM, WARM),
    "gear": (PALE_ACCENT, ACCENT),
    "disc": (PALE_ACCENT, ACCENT),
    "bearing": ("white", ACCENT),
}


def cut_through(rod: Piece, pieces: Sequence[Piece], reach: float) -> Iterator[Shape]:
    """Yield a rod and what stands on it, cut lengthwise; pieces at most so far from the axis."""
    for piece in sorted(pieces, key=lambda one: _WOOD_FIRST.get(one.kind, 3)):
        inner, outer = piece.inner / 2, min(piece.outer / 2, reach)
        fill, colour = _CUT_LOOKS.get(piece.kind, ("white", INK))
        for low, high in ((inner, outer), (-outer, -inner)):
            yield Shape(box(piece.start, low, piece.end, high), "thin", fill, colour)
    yield Shape(box(rod.start, -rod.outer / 2, rod.end, rod.outer / 2), "thin", GREY)


def wheels(pieces: Iterable[Piece]) -> list[tuple[str, float, float]]:
    """Return name, start and end of gears and discs, mm, layers on each other together."""
    found: list[tuple[str, float, float]] = []
    for p in sorted(pieces, key=lambda piece: piece.start):
        if p.kind not in ("gear", "disc"):
            continue
        name, start, end = found[-1] if found else ("", 0.0, 0.0)
        if name == p.name and p.start < end + _TOUCHING:
            found[-1] = name, start, max(end, p.end)
        else:
            found.append((p.name, p.start, p.end))
    return found


def _measured(layout: Layout) -> list[float]:
    """Where nuts, gears and bearings begin and end on a rod, and its ends, mm."""
    on = [p for p in layout.pieces if p.on_rod]
    ends = [layout.rod.start, layout.rod.end]
    ends += [z for p in on if p.kind in ("nut", "bearing") for z in (p.start, p.end)]
    ends += [z for _, *both in wheels(on) for z in both]
    return sorted({round(z, 3) for z in ends})


def _spread(places: Sequence[float], apart: float) -> list[float]:
    """Places as near to the given ones as they can stand beside each other, in order.

    By least squares: neighbours that come too near move as one block about their mean.
    """
    blocks: list[list[float]] = []
    for row, place in enumerate(places):
        blocks.append([place - row * apart])
        while len(blocks) > 1 and fmean(blocks[-2]) > fmean(blocks[-1]):
            last = blocks.pop()
            blocks[-1] += last
    means = [fmean(block) for block in blocks for _ in block]
    return [mean + row * apart for row, mean in enumerate(means)]


def break_test_views(test: BreakTest) -> tuple[Markup, Markup]:
    """Return the break test put together, its first tooth touched by the lever; and the contact."""
    turn = test.tested - float(test.places[0])
    sector, lever = test.sector.turned(turn), test.lever.moved(0.0, test.pivot.imag)
    every = [test.plate, sector, lever]
    shapes = [
        Shape(part.outer, "thin", *look, tuple(cut.outline for cut in part.cuts))
        for part, look in zip(every, ((PALE, GREY), _LOOKS[1], _LOOKS[0]), strict=True)
    ]
    lefts, _, rights, tops = zip(*(part.bounds for part in every), strict=True)
    size = _TYPE * (max(rights) - min(lefts)) / HALF
    hook = complex(test.arm, test.pivot.imag)
    foot, wide = test.plate.bounds[1] + HELD, test.plate.bounds[2]
    words = (
        _word((test.arm, hook.imag - 4.5 * size), "scale or bucket", size),
        _word((test.arm / 2, max(tops) + 0.5 * size), f"lever, arm {test.arm:g} mm", size),
        _word((0.0, foot - HELD / 2), "held here", size),
    )
    put_together = _picture(
        "The break test put together, seen from the front",
        shapes,
        [Line((-wide, foot), (wide, foot), "dashed")],
        Marks(words, _force(hook, -3.5j * size)),
        size,
    )
    module, at = test.gear.module, test.contact
    near = (at.real - 9 * module, at.imag - 6 * module, at.real + 9 * module, at.imag + 5 * module)
    size = _TYPE * 18 * module / HALF
    numbers = []
    for number, place in enumerate(test.places + turn, 1):
        spot = 0.88 * test.tooth.root_diameter / 2 * np.exp(1j * np.radians(place))
        if near[0] < spot.real < near[2] and near[1] < spot.imag:
            numbers.append(_word((spot.real, spot.imag), f"{number}", size))
    marks = Marks(tuple(numbers), _force(at, test.push * 3 * module))
    title = "The lever's tooth on the tip of tooth 1"
    return put_together, _picture(title, shapes, (), marks, size, near)


def _force(at: complex, way: complex) -> tuple[Floats, Floats]:
    """An arrow of a force from where it is applied."""
    return _arrow(at, way, min(abs(way) / 4, 12.0))


def _arrow(at: complex, way: complex, long: float) -> tuple[Floats, Floats]:
    """An arrow from a place on, its head so long."""
    tip, along = as_pairs([at + way, way])
    return as_pairs([at, at + way]), barbs(tip, along, long, long / 2)


def sheet_view(sheet: SheetLayout, numbers: Mapping[str, int]) -> Markup:
    """Return a sheet with its pieces, each with its number in the cut list; its grain below."""
    wide, high = sheet.stock.width, sheet.stock.height
    size = 1.2 * _TYPE * wide / HALF
    shapes, words = [Shape(box(0.0, 0.0, wide, high), "thin", "white")], []
    for part in sheet.parts:
        shapes.append(Shape(part.outer, "thin", PALE))
        for cut in sorted(part.cuts, key=lambda cut: cut.operation != "pocket"):
            fill = PALE_ACCENT if cut.operation == "pocket" else "white"
            shapes.append(Shape(cut.outline, "thin", fill, GREY))
        left, low, right, top = part.bounds
        for (x, y), room in part.clear_circles(1):
            fits = min(size, max(room, 0.5 * min(right - left, top - low)))
            words.append(_word((x, y - 0.35 * fits), str(numbers[part.name]), fits))
    grain = np.exp(1j * np.radians(sheet.stock.grain))
    tip = 2 * size * grain
    middle = complex(abs(tip.real), -0.7 * size - abs(tip.imag))
    strokes = _arrow(middle - tip, 2 * tip, 0.6 * size)
    beside = (2 * abs(tip.real) + 0.5 * size, middle.imag - 0.35 * size)
    words.append(Label(beside, LETTER_SHARE * size, "face grain"))
    title = f"Sheet {sheet.number} of {sheet.of} with its pieces"
    return _picture(title, shapes, (), Marks(tuple(words), strokes), size)


def _label_places(
    gears: Sequence[Standing],
    words: Iterable[Point],
    bounds: Bounds,
    size: float,
    said: Mapping[str, str] | None = None,
) -> dict[str, Point]:
    """Where on each gear its name stays clear of the gears above and of other words.

    A small gear has it beside all gears. `words`: where something is written, rods among it;
    `said`: what is written instead of a name.
    """
    taken = [(*at, 1.2 * size) for at in words]
    low, high = np.reshape(bounds, (2, 2))
    # for a short name before the edge of the picture, and above or below all gears
    room = size * np.array([2.5, -0.5])
    found: dict[str, Point] = {}
    turn = np.radians(np.arange(0.0, 360.0, 15.0))
    around = np.column_stack([np.cos(turn), np.sin(turn)])
    for place, one in reversed(list(enumerate(gears))):
        name, gear = one.gear.name, one.gear.gear
        root, tip = gear.root_diameter / 2, gear.tip_diameter / 2
        half = size * np.array([_HALF_LETTER * len((said or {}).get(name, name)), 0.5])
        if 2 * root < _SMALL * size:
            others = list(gears)
            reach = tip + size * np.array([[0.8], [1.8], [3.0], [4.5]])
            enough = 0.7 * size  # then the nearest
        else:
            others = list(gears[place + 1 :])
            reach, enough = root * np.array([[0.4], [0.55], [0.7]]), np.inf
        discs = np.array([*((*o.at, o.gear.gear.tip_diameter / 2) for o in others), *taken])
        tried = one.at + (reach[:, None] * around).reshape(-1, 2)
        offset = np.maximum(np.abs(tried[:, None] - discs[:, :2]) - half, 0.0)
        apart = np.hypot(*offset.transpose(2, 0, 1)) - discs[:, 2]
        if np.isfinite(enough):  # nearer to it than to a gear on another rod
            own = [other.at == one.at for other in others]
            gaps = apart[:, : len(others)]
            strange = np.min(gaps, axis=1, where=~np.array(own), initial=np.inf)
            apart[strange < np.min(gaps, axis=1, where=own, initial=np.inf)] -= 10.0 * size
        inside = (tried > low + room) & (tried < high - room)
        apart[~inside.all(axis=1)] = -np.inf
        x, y = tried[int(np.argmax(np.round(np.minimum(apart.min(axis=1), enough), 3)))]
        found[name] = (float(x), float(y) - 0.35 * size)
        taken.append((x, y, 1.2 * size))
    return found


def _face(edges: Sequence[Outline], look: int) -> Shape:
    """An area with holes: the first edge around it, the others around the holes."""
    return Shape(edges[0], "thin", *_LOOKS[look % len(_LOOKS)], tuple(edges[1:]))


def _lines(path: Sequence[Point]) -> list[Line]:
    return [Line(start, end) for start, end in pairwise(path)]


def _word(at: Point, text: str, size: float, angle: float = 0.0) -> Label:
    return Label(at, LETTER_SHARE * size, text, "middle", angle)


def _picture(
    title: str,
    shapes: Iterable[Shape],
    lines: Iterable[Line],
    marks: Marks,
    size: float,
    frame: Bounds | None = None,
) -> Markup:
    """A picture whose type is so high, mm as drawn."""
    drawing = Drawing(
        title, tuple(shapes), tuple(lines), marks=marks, scale=_TYPE / size, frame=frame
    )
    return drawing_picture(drawing, _MARGIN)
