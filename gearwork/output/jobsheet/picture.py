"""Pictures of a train and of the sheets for the job sheet, as SVG to stand inside HTML."""

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

import numpy as np
from markupsafe import Markup

from gearwork.checks.tooth.mesh import CutPair
from gearwork.geometry.gear_outline import tooth_outline
from gearwork.geometry.outline import Outline, as_pairs
from gearwork.geometry.part import Part
from gearwork.machine.axial import Layout, Piece
from gearwork.machine.break_test import HELD, BreakTest
from gearwork.machine.design import Design
from gearwork.machine.layout import SheetLayout
from gearwork.machine.parts import edges_in_place
from gearwork.machine.stage import MountedGear
from gearwork.machine.train import GearTrain
from gearwork.numbers import Bools, Floats, fixed
from gearwork.output.drawing.spacing import bar_in_place
from gearwork.output.html import (
    ACCENT,
    GREY,
    INK,
    PALE,
    PALE_ACCENT,
    PALE_WARM,
    WARM,
    element,
)
from gearwork.output.svg import path_data

_LINES = (ACCENT, WARM, INK)
_FILLS = (PALE_ACCENT, PALE_WARM, PALE)
_LETTERS_ACROSS = 32.0
"""The picture is as wide as so many times the height of its letters."""

_SMALL = 6.0
"""Gears of a smaller root diameter, in heights of letters, have their names beside them."""

_COARSE = 0.1
"""How far a drawn line may stray, mm: below a pixel."""

_WORDS_ARE_WIDE = np.array([0.5, 1.0])
"""A word needs more room sideways than upwards."""

Frame = tuple[float, float, float, float]


class Outside(NamedTuple):
    """The edge of what turns or runs outside the plates, its name and where that stands, if any."""

    edge: Outline
    name: str = ""
    at: tuple[float, float] = (0.0, 0.0)


def train_view(
    train: GearTrain, cuts: Sequence[CutPair], title: str, outside: Sequence[Outside] = ()
) -> Markup:
    """Return a train seen along its rods from the load's side, all teeth as cut, and the ground.

    `cuts`: the pairs of its stages as the bit leaves them.
    """
    every = np.array([train.bounds, *(one.edge.bounds for one in outside)])
    left, low = every[:, :2].min(axis=0).tolist()
    right, top = every[:, 2:].max(axis=0).tolist()
    ground = None
    if train.frame.output_height is not None:
        ground = train.points[-1][1] - train.frame.output_height
        low = min(low, ground)
    edge = 0.03 * (right - left)
    frame = (left - edge, low - edge, right + edge, top + edge)
    size, gears = _letters(frame), _deepest_first(train)
    shapes = _gears(train, cuts, gears)
    shapes += [_shape([one.edge], *_look(len(train.stages))) for one in outside]
    shapes += [_circle(train.points[g.shaft], g.bore, "white", INK) for g in gears]
    shapes += [
        _turning(train.points[gear.shaft], gear, train.directions[gear.shaft], size)
        for gear in _foremost(gears)
    ]
    places = _label_places(train, gears, size)
    words = [_text(place, name, size) for name, place in places.items()]
    for shaft, what in ((0, "drive"), (len(train.points) - 1, "load")):
        x, y = train.points[shaft]
        words.append(_text((x, y + gears[0].bore / 2 + 0.3 * size), what, size))
    words += [_text(one.at, one.name, size) for one in outside if one.name]
    if ground is not None:
        shapes.append(_thin([(frame[0], ground), (frame[2], ground)]))
        words.append(_text(((left + right) / 2, ground + 0.3 * size), "ground", size))
    return _svg(frame, shapes, words, f"The gears of {title}, seen along their rods")


def pinion_and_bar(design: Design) -> list[Outside]:
    """Return the pinion outside the plates and some of its bar, in mesh."""
    if design.on_bed is None:
        return []
    (x, y), hole = design.points(design.on_bed)
    turn = float(np.degrees(np.arctan2(hole[1] - y, hole[0] - x)))  # a tooth in a space
    pinion = tooth_outline(design.cut_pairs[design.on_bed].running("pinion"), _COARSE)
    (bar,) = bar_in_place(design, design.on_bed)
    return [
        Outside(pinion.turned(turn).moved(x, y)),
        Outside(bar, design.gears[-1].name, hole),
    ]


_SMALL_LETTERS = 17.0
"""The same for trains side by side, which are smaller."""

_BAR = 100.0
"""Length of the bar that shows the scale of trains side by side, mm."""


def trains_side_by_side(designs: Sequence[Design]) -> list[Markup]:
    """Return several trains, to one scale where all are shown equally wide; teeth on every gear."""
    spans = [design.train.bounds for design in designs]
    wide = 1.06 * max(right - left for left, _, right, _ in spans)
    size = wide / _SMALL_LETTERS
    high = max(top - low for _, low, _, top in spans) + 3 * size
    found = []
    for design, (left, low, right, _) in zip(designs, spans, strict=True):
        start, foot = (left + right - wide) / 2, low - 2 * size
        at, level = start + size, foot + size / 2
        tick = level + size / 3
        bar = _thin([(at, tick), (at, level), (at + _BAR, level), (at + _BAR, tick)])
        gears = _deepest_first(design.train)
        middles = {gear.name: design.train.points[gear.shaft] for gear in _foremost(gears)}
        places = _label_places(design.train, gears, size) | {
            name: (x, y - 0.35 * size) for name, (x, y) in middles.items()
        }
        words = [_text(places[gear.name], f"{gear.gear.teeth:g}", size) for gear in gears]
        words.append(_text((at + _BAR / 2, tick), f"{_BAR:g} mm", 0.8 * size))
        title = f"The gears of {design.train.ratio:.3g} to 1"
        frame = (start, foot, start + wide, foot + high)
        shapes = [*_gears(design.train, design.cut_pairs, gears), bar]
        found.append(_svg(frame, shapes, words, title, across=300.0))
    return found


def _deepest_first(train: GearTrain) -> list[MountedGear]:
    return sorted(train.gears, key=lambda gear: gear.plane)


def _foremost(gears: Sequence[MountedGear]) -> Iterable[MountedGear]:
    """Of each shaft the gear drawn last."""
    return {gear.shaft: gear for gear in gears}.values()


def _gears(train: GearTrain, cuts: Sequence[CutPair], gears: Sequence[MountedGear]) -> list[Markup]:
    """Their faces in place."""
    return [
        _shape(edges_in_place(train, gear, cuts[gear.stage], _COARSE), *_look(gear.stage))
        for gear in gears
    ]


def _turning(at: tuple[float, float], gear: MountedGear, way: int, size: float) -> Markup:
    """An arrow about the middle of a gear: which way it turns; counter-clockwise for 1."""
    reach = max(0.42 * gear.gear.root_diameter / 2, 0.6 * gear.bore + size / 2)
    turn = np.radians(np.linspace(200.0, 340.0, 29))[::way]
    path = np.array(at) + reach * np.column_stack([np.cos(turn), np.sin(turn)])
    tip, along = path[-1], path[-1] - path[-3]
    along = along / np.hypot(*along) * 0.6 * size
    across = 0.4 * np.array([-along[1], along[0]])
    head = np.array([tip - along + across, tip, tip - along - across])
    line = f"M{_points(path)}M{_points(head)}"
    return element("path", d=line, fill="none", stroke=INK)


_SECTION_LETTERS = 62.0
"""A section is as wide as so many times the height of its letters."""

STEP_LETTERS = 42.0
"""The same for a small picture of what a step has put on a rod."""

_CUT_OFF = 5.0
"""Of gears and plates a section shows so much beyond all that stands on the rod, mm."""


def section_view(
    layout: Layout, numbers: Mapping[str, int], letters: float = _SECTION_LETTERS
) -> Markup:
    """Return a section of a shaft, to scale, with the numbers of the bill and measures along it.

    Lower end to the left; as wide as so many times the height of its letters. Gears and plates are
    cut off where nothing else is; the measures count from the lower end of the rod.
    """
    rod, pieces = layout.rod, [p for p in layout.pieces if p.kind not in ("glue", "tool")]
    near = [rod.outer, *(p.outer for p in pieces if p.kind not in ("gear", "disc", "plate"))]
    reach = max(near) / 2 + _CUT_OFF
    low, high = min(rod.start, *(p.start for p in pieces)), max(rod.end, *(p.end for p in pieces))
    size = (high - low) / (letters - 6.0)
    shapes = [_half(p, reach, side) for p in _backmost_first(pieces) for side in (1.0, -1.0)]
    shapes.append(_box(rod.start, -rod.outer / 2, rod.length, rod.outer, GREY, INK))
    axis = np.array([[low - 2 * size, 0.0], [high + 2 * size, 0.0]])
    shapes.append(element("path", d=f"M{_points(axis)}", stroke=INK, stroke_dasharray="8 2 1 2"))
    named = {p.name: [q for q in pieces if (q.name, q.kind) == (p.name, p.kind)]
             for p in pieces if p.kind in ("gear", "disc")}  # fmt: skip
    words = [
        _text(((layers[0].start + layers[-1].end) / 2, -reach + 0.6 * size), name, size)
        for name, layers in named.items()
    ]
    known = [(p, numbers[p.item]) for p in (*pieces, rod) if p.item in numbers]
    marks = sorted({((p.start + p.end) / 2, number): p for p, number in known}.items(),
                   key=lambda one: one[0])  # fmt: skip
    above = _spread([x for (x, _), _ in marks], 1.9 * size, low, high)
    for place, ((x, number), piece) in zip(above, marks, strict=True):
        foot = min((piece.outer + max(piece.inner, 0.0)) / 4, reach)
        shapes.append(_thin([(x, foot), (place, reach + 1.0 * size)]))
        words.append(_text((place, reach + 1.2 * size), f"{number}", size))
    edges = _measured(layout)
    below = _spread(edges, 1.25 * size, low, high)
    for place, x in zip(below, edges, strict=True):
        ends = [(x, -rod.outer / 2), (x, -reach - 0.5 * size), (place, -reach - 1.7 * size)]
        shapes.append(_thin(ends))
        at = (place + 0.35 * size, -reach - 4.0 * size)
        words.append(_text(at, f"{x - rod.start:.1f}", size, turned=True))
    frame = (low - 3 * size, -reach - 6.5 * size, high + 3 * size, reach + 2.6 * size)
    for end, x in zip(layout.ends, (rod.start, rod.end), strict=True):
        words.append(_text((x, rod.outer / 2 + 0.4 * size), end, 0.9 * size))
    title = f"{layout.name}, cut lengthwise"
    return _svg(frame, shapes, words, title)


def _backmost_first(pieces: Iterable[Piece]) -> list[Piece]:
    """Wood first, so that nothing of it hides what stands in it."""
    order = {"plate": 0, "ring": 1, "gear": 2, "disc": 2, "screw": 4, "bolt": 4}
    return sorted(pieces, key=lambda piece: order.get(piece.kind, 3))


def _half(piece: Piece, reach: float, side: float) -> Markup:
    """One half of a piece cut through; at most so far from the axis."""
    fill, line = _CUT_LOOKS.get(piece.kind, ("white", INK))
    inner, outer = piece.inner / 2, min(piece.outer / 2, reach)
    if side < 0.0:
        inner, outer = -outer, -inner
    return _box(piece.start, inner, piece.length, outer - inner, fill, line)


_CUT_LOOKS = {
    "plate": (PALE, GREY),
    "ring": (PALE_WARM, WARM),
    "gear": (PALE_ACCENT, ACCENT),
    "disc": (PALE_ACCENT, ACCENT),
    "bearing": ("white", ACCENT),
}


def _measured(layout: Layout) -> list[float]:
    """Where nuts, gears and bearings begin and end on a rod, and its ends, mm."""
    kinds = ("nut", "gear", "disc", "bearing")
    on = [p for p in layout.pieces if p.on_rod and p.kind in kinds]
    ends = [layout.rod.start, layout.rod.end]
    ends += [z for p in on if p.kind in ("nut", "bearing") for z in (p.start, p.end)]
    for name in {p.name for p in on if p.kind in ("gear", "disc")}:
        layers = [p for p in on if p.name == name and p.kind in ("gear", "disc")]
        ends += [min(p.start for p in layers), max(p.end for p in layers)]
    return sorted({round(z, 3) for z in ends})


def _spread(places: Sequence[float], apart: float, low: float, high: float) -> list[float]:
    """Places as near to the given ones as they can stand beside each other, in order."""
    found: list[float] = []
    for place in places:
        found.append(max(place, found[-1] + apart) if found else place)
    over = found[-1] - max(high, places[-1]) if found else 0.0
    if over > 0.0:  # pushed beyond the end: back as far as there is room
        limit = found[-1] - over
        for place in range(len(found) - 1, -1, -1):
            found[place] = min(found[place], limit)
            limit = found[place] - apart
    return found


def _thin(points: Sequence[tuple[float, float]]) -> Markup:
    return element("path", d=f"M{_points(np.array(points))}", fill="none", stroke=GREY)


def break_test_views(test: BreakTest) -> tuple[Markup, Markup]:
    """Return the break test put together, its first tooth touched by the lever; and the contact."""
    turn = test.tested - float(test.places[0])
    sector, lever = test.sector.turned(turn), test.lever.moved(0.0, test.pivot.imag)
    every = [test.plate, sector, lever]
    looks = ((PALE, GREY), (PALE_WARM, WARM), (PALE_ACCENT, ACCENT))
    shapes = [
        _shape([part.outer, *(cut.outline for cut in part.cuts)], *look)
        for part, look in zip(every, looks, strict=True)
    ]
    lefts, lows, rights, tops = zip(*(part.bounds for part in every), strict=True)
    edge = 0.04 * (max(rights) - min(lefts))
    frame = (min(lefts) - edge, min(lows) - edge, max(rights) + 2 * edge, max(tops) + 2 * edge)
    size = 0.8 * _letters(frame)
    hook = complex(test.arm, test.pivot.imag)
    foot, wide = test.plate.bounds[1] + HELD, test.plate.bounds[2]
    ends = np.array([[-wide, foot], [wide, foot]])
    held = element("path", d=f"M{_points(ends)}", stroke=GREY, stroke_dasharray="4 3")
    words = [
        _text((test.arm, hook.imag - 4.5 * size), "scale or bucket", size),
        _text((test.arm / 2, max(tops) + 0.5 * size), f"lever, arm {test.arm:g} mm", size),
        _text((0.0, foot - HELD / 2), "held here", size),
    ]
    whole = [*shapes, _force(hook, -3.5j * size), held]
    title = "The break test put together, seen from the front"
    put_together = _svg(frame, whole, words, title)
    module, at = test.gear.module, test.contact
    near = (at.real - 9 * module, at.imag - 6 * module, at.real + 9 * module, at.imag + 5 * module)
    push = test.push * 3 * module
    title = "The lever's tooth on the tip of tooth 1"
    numbers = []
    for number, place in enumerate(test.places + turn, 1):
        spot = 0.88 * test.tooth.root_diameter / 2 * np.exp(1j * np.radians(place))
        if near[0] < spot.real < near[2] and near[1] < spot.imag:
            numbers.append(_text((spot.real, spot.imag), f"{number}", 0.6 * _letters(near)))
    return put_together, _svg(near, [*shapes, _force(at, push)], numbers, title)


def _force(at: complex, way: complex) -> Markup:
    """An arrow of a force from where it is applied."""
    along = way / abs(way) * min(abs(way) / 4, 12.0)
    head = [at + way - along * (1 + 0.5j), at + way, at + way - along * (1 - 0.5j)]
    line = f"M{_points(as_pairs([at, at + way]))}M{_points(as_pairs(head))}"
    return element("path", d=line, fill="none", stroke=INK)


def sheet_view(sheet: SheetLayout, numbers: Mapping[str, int]) -> Markup:
    """Return a sheet with its pieces, each with its number in the cut list."""
    wide, high = sheet.stock.width, sheet.stock.height
    frame = (-5.0, -5.0, wide + 5.0, high + 5.0)
    size = 1.2 * _letters(frame)
    shapes, words = [_box(0.0, 0.0, wide, high, "white", INK)], []
    for part in sheet.parts:
        shapes.append(_shape([part.outer], PALE, INK))
        for cut in sorted(part.cuts, key=lambda cut: cut.operation != "pocket"):
            fill = PALE_ACCENT if cut.operation == "pocket" else "white"
            shapes.append(_shape([cut.outline], fill, GREY))
        x, y = _beside_cuts(part)
        words.append(_text((x, y - 0.35 * size), str(numbers[part.name]), size))
    return _svg(frame, shapes, words, f"Sheet {sheet.number} of {sheet.of} with its pieces")


def _beside_cuts(part: Part) -> tuple[float, float]:
    """Where in the middle of a piece there is most room between its cuts."""
    left, low, right, top = part.bounds
    share = np.linspace(0.3, 0.7, 9)
    x, y = np.meshgrid(left + share * (right - left), low + share * (top - low))
    places = np.column_stack([x.ravel(), y.ravel()])
    edges = np.reshape([cut.outline.bounds for cut in part.cuts], (-1, 2, 2))
    around, wide = edges.mean(axis=1), np.ptp(edges, axis=1).max(axis=1) / 2
    room = np.hypot(*(places[:, None] - around).transpose(2, 0, 1)) - wide
    middle = [(left + right) / 2, (low + top) / 2]
    room = np.column_stack([room, right - left - np.hypot(*(places - middle).T)])
    found = places[int(np.argmax(np.round(room.min(axis=1), 2)))]
    return float(found[0]), float(found[1])


def _label_places(
    train: GearTrain, gears: Sequence[MountedGear], size: float
) -> dict[str, tuple[float, float]]:
    """Where on each gear its name stays clear of the gears above, the rods and other names."""
    points = np.array(train.points)
    taken = [(*point, 1.2 * size) for point in points]
    found: dict[str, tuple[float, float]] = {}
    turn = np.radians(np.arange(0.0, 360.0, 15.0))
    around = np.column_stack([np.cos(turn), np.sin(turn)])
    for place, gear in reversed(list(enumerate(gears))):
        if gear.gear.root_diameter < _SMALL * size:
            others = [other for other in gears if other != gear]
            reach = gear.gear.tip_diameter / 2 + size * np.array([[2.6, 1.0]])
        else:
            others = list(gears[place + 1 :])
            reach = gear.gear.root_diameter / 2 * np.array([[0.4], [0.55], [0.7]])
        discs = np.array([*((*points[g.shaft], g.gear.tip_diameter / 2) for g in others), *taken])
        tried = points[gear.shaft] + (reach[:, None] * around).reshape(-1, 2)
        offset = (tried[:, None] - discs[:, :2]) * _WORDS_ARE_WIDE
        apart = np.hypot(*offset.transpose(2, 0, 1)) - discs[:, 2]
        apart[~_within(tried, train.bounds, size)] = -np.inf
        x, y = tried[int(np.argmax(np.round(apart.min(axis=1), 3)))]
        found[gear.name] = (float(x), float(y) - 0.35 * size)
        taken.append((x, y, 1.2 * size))
    return found


def _within(places: Floats, frame: Frame, size: float) -> Bools:
    """Which places leave room for a short name before the edge of the picture."""
    left, low, right, top = frame
    x, y = places.T
    across = (x > left + 2.5 * size) & (x < right - 2.5 * size)
    inside: Bools = across & (y > low + size / 2) & (y < top - size / 2)
    return inside


def _letters(frame: Frame) -> float:
    return (frame[2] - frame[0]) / _LETTERS_ACROSS


def _look(stage: int) -> tuple[str, str]:
    return _FILLS[stage % len(_FILLS)], _LINES[stage % len(_LINES)]


def _points(points: Floats) -> str:
    return " ".join(f"{_short(x)},{_short(-y)}" for x, y in points)


def _shape(edges: Iterable[Outline], fill: str, line: str) -> Markup:
    """An area with holes: the first edge around it, the others around the holes."""
    loops = "".join(path_data(edge) for edge in edges)
    look = {"fill": fill, "fill_opacity": "0.85", "stroke": line}
    return element("path", d=loops, fill_rule="evenodd", **look)


def _circle(at: tuple[float, float], diameter: float, fill: str, line: str) -> Markup:
    x, y, r = _short(at[0]), _short(-at[1]), _short(diameter / 2)
    return element("circle", cx=x, cy=y, r=r, fill=fill, stroke=line)


def _box(x: float, y: float, wide: float, high: float, fill: str, line: str) -> Markup:
    return element(
        "rect",
        x=_short(x),
        y=_short(-y - high),
        width=_short(wide),
        height=_short(high),
        fill=fill,
        stroke=line,
    )


def _text(at: tuple[float, float], text: str, size: float, *, turned: bool = False) -> Markup:
    x, y = _short(at[0]), _short(-at[1])
    turn = {"transform": f"rotate(-90 {x} {y})"} if turned else {}
    return element("text", text, x=x, y=y, font_size=_short(size), **turn)


def _svg(
    frame: Frame,
    shapes: Iterable[Markup],
    words: Iterable[Markup],
    title: str,
    across: float = 600.0,
) -> Markup:
    """A picture that is so many widths of its lines across."""
    left, low, right, top = frame
    box = " ".join(map(_short, (left, -top, right - left, top - low)))
    line = (right - left) / across
    drawn = f"stroke-width:{_short(line)}px;stroke-linejoin:round"
    written = (
        f"font-family:sans-serif;text-anchor:middle;fill:{INK};paint-order:stroke;stroke:white;"
        f"stroke-width:{_short(5 * line)}px;stroke-linejoin:round"
    )
    return element(
        "svg",
        element("title", title),
        element("g", *shapes, style=drawn),
        element("g", *words, style=written),
        viewBox=box,
        role="img",
    )


def _short(value: float) -> str:
    return fixed(value, 1).removesuffix(".0")
