"""How the machine of a design is put together: what the steps are told from, and their pictures."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby, pairwise
from math import inf
from typing import NamedTuple

import numpy as np
from markupsafe import Markup

from gearwork.checks.hub.coupling import GAP
from gearwork.checks.hub.fixing import HubRating
from gearwork.errors import GearworkError
from gearwork.geometry.features import BoltCircle, Feature
from gearwork.geometry.outline import Outline, circle_of
from gearwork.geometry.part import Part, Placed, Point
from gearwork.machine.axial import Layout, frame_tightenings, more_pieces
from gearwork.machine.design import Design, EndFixing
from gearwork.machine.drive import Motor
from gearwork.machine.frame import CRADLE, POST, POST_TUBE
from gearwork.machine.parts import PINS, Hub, frame_places, stacked
from gearwork.machine.stage import MountedGear
from gearwork.numbers import Floats
from gearwork.output.drawing.blocks import (
    FROM_DRIVE,
    FROM_LOAD,
    LYING,
    NUMBER_HEIGHT,
    View,
    backmost_first,
    blocks_drawing,
)
from gearwork.output.drawing.draft import Drawing, Line, Shape, box, point, polygon
from gearwork.output.drawing.views import hub_drawing
from gearwork.output.html import ACCENT, GREY, PALE, PALE_ACCENT, PALE_WARM, WARM
from gearwork.output.jobsheet.picture import (
    HALF,
    cut_through,
    direction,
    pinion_and_bar,
    section_view,
    wheels,
)
from gearwork.output.marking import Label, Marks, arrow, barbs
from gearwork.output.svg import drawing_picture

ROOM = (78.0, 52.0)  # of a picture on paper, mm
_MARGIN = 1.0  # of white about it, mm
_APART = 0.4  # how far the pieces of a frame are drawn from each other, of its own size
_LIFT = 0.42  # from layer to layer of a gear, of its diameter
ARM = 150.0  # from the drive's axis to where its cradle is held, mm (common practice)
_ARROW = 30.0  # of a force or a screw, mm in the machine

_BEARINGS = ("lower bearing", "upper bearing")
_OF_FRAME = ("plate", "ring", "screw")


class OnRod(NamedTuple):
    """Something that goes on a rod: how it is held, and what the rod looks like then.

    `faces`: where it begins and ends, from the lower end of the rod, mm, of two alike of both;
    `like`: what was held in
    the very same way before; `features`: what is cut into it, where no file cuts it, and `hub`
    their picture.
    """

    name: str
    rod: int
    held: HubRating
    faces: Sequence[float]
    picture: Markup
    like: str = ""
    features: tuple[Feature, ...] = ()
    hub: Markup = Markup()


def assembly(design: Design, numbers: Mapping[str, int]) -> dict[str, object]:
    """Return what the steps are told from, with the numbers of the bill on their pictures."""
    outside = tuple(gear.name for gear in design.gears[len(design.train.gears) :])
    gears = list(_gears(design, numbers))
    ends = [_at_end(design, numbers, end, outside) for end in design.end_fixings]
    every = list(_told_once([*gears, *ends]))
    plate = design.brief.frame.plate or design.brief.gears.sheet
    of_bearings, of_rods = frame_tightenings(design.brief.shafts, plate)
    return {
        "on_rods": every[: len(gears)],
        "ends": every[len(gears) :],
        "apart": sorted({round(b[0] - a[1], 1) for a, b in pairwise(design.train.stack_up.plates)}),
        "of_rods": of_rods,
        "of_bearings": of_bearings,
        "arm": ARM,
        "pins": _pins(design),
        "sleeve_gap": GAP,
        "turned_back": isinstance(design.duty.drive, Motor) or design.coupling is not None,
        "pictures": step_views(design, numbers) | _shafts(design, numbers),
    }


def _pins(design: Design) -> list[float]:
    """The pins that keep layers on each other, mm, thin ones last."""
    found = set()
    for part in () if design.cannot_be_cut else design.parts:
        for cut in part.cuts:
            circle = circle_of(cut.outline) if cut.operation == "drilled hole" else None
            if circle and part.witness and np.allclose(circle[0], part.witness):
                found.add(circle[1])
    return sorted(found or PINS[:1], reverse=True)


def _gears(design: Design, numbers: Mapping[str, int]) -> Iterator[OnRod]:
    """The gears in the order in which they go on their rods."""
    fixed = list(zip(design.train.gears, design.fixings, strict=True))
    for shaft in range(len(design.train.shafts)):
        on = [(gear.name, held) for gear, held in fixed if gear.shaft == shaft]
        names = tuple(name for name, _ in on)
        for count, (name, held) in enumerate(on, 1):
            yield _on_rod(design, shaft, numbers, name, held, names[:count])


def _on_rod(
    design: Design,
    shaft: int,
    numbers: Mapping[str, int],
    name: str,
    held: HubRating,
    shown: tuple[str, ...],
    kinds: tuple[str, ...] = (),
) -> OnRod:
    layout = design.layouts[shaft]
    found = wheels(layout.pieces)
    # a rack's pinion has its own name there, and nothing else is shown
    called = next(one for one in (name, *shown) if any(one == own for own, *_ in found))
    low = layout.rod.start
    faces = [z - low for own, *both in found if own == called for z in both]
    return OnRod(name, shaft + 1, held, faces, _standing(layout, numbers, shown, kinds))


def _at_end(
    design: Design, numbers: Mapping[str, int], end: EndFixing, outside: tuple[str, ...]
) -> OnRod:
    """What is fixed to the end of a rod; of what is not cut from the sheets also its hub."""
    layout, shown = design.layouts[end.shaft], (end.name, *outside)
    found = _on_rod(design, end.shaft, numbers, end.name, end.held, shown, ("plate",))
    if not any(p.kind == "disc" and p.name == end.name for p in layout.pieces):
        return found
    hub = Hub.of(end.held.fixing, end.held.panel.thickness)
    features = hub.let_in if hub.faces else hub.features
    return found._replace(features=features, hub=hub_view(design, end.name, features))


def _told_once(steps: Iterable[OnRod]) -> Iterator[OnRod]:
    """Each way to hold something is told once; who is held alike is named after that."""
    first: dict[object, str] = {}
    for one in steps:
        fixing, drawn = one.held.fixing, one.held.tightenings
        nuts = tuple((each.what, each.torque, each.springs and each.turn) for each in drawn)
        held = fixing.name, fixing.hold, nuts
        like = first.setdefault(held, one.name)
        yield one._replace(like="" if like == one.name else like)


def _standing(
    layout: Layout,
    numbers: Mapping[str, int],
    names: tuple[str, ...],
    kinds: tuple[str, ...] = (),
    within: tuple[float, float] = (-inf, inf),
) -> Markup:
    """A rod with what a step has put on it: pieces of these names or kinds, in this room."""
    seen = (p for p in layout.pieces if p.name in names or p.kind in kinds)
    pieces = tuple(p for p in seen if within[0] <= p.start and p.end <= within[1])
    return section_view(replace(layout, pieces=pieces, ends=("", "")), numbers, HALF)


def _shafts(design: Design, numbers: Mapping[str, int]) -> dict[str, Markup]:
    """The first shaft with its inner nuts, with its bearings, with what couples it."""
    first = design.layouts[0]
    bearings = sorted((p.start, p.end) for p in first.pieces if p.kind == "bearing")
    on_first = tuple(gear.name for gear in design.train.gears if gear.shaft == 0)
    inside = bearings[0][1], bearings[-1][0]
    return {
        "nuts": _standing(first, numbers, on_first, ("nut", "shim"), inside),
        "bearings": _standing(first, numbers, _BEARINGS, _OF_FRAME),
        "coupling": _standing(first, numbers, ("coupling",), _OF_FRAME),
    }


def step_views(design: Design, numbers: Mapping[str, int]) -> dict[str, Markup]:
    """Return the pictures by step; empty ones where a part cannot be made, and without a bill."""
    made = {
        "stack": _stack, "pads": _pads, "rods": _rods, "frame": _frame, "trueing": _trueing,
        "feet": _feet, "bed": _bed, "drive": _drive,
    }  # fmt: skip
    found = {}
    for name, maker in made.items():
        try:
            drawing = maker(design, numbers) if numbers else None
        except GearworkError:  # the checks tell what to change
            drawing = None
        found[name] = drawing_picture(drawing, _MARGIN) if drawing else Markup()
    return found


def hub_view(design: Design, name: str, features: Sequence[Feature]) -> Markup:
    """Return what is cut into something that no file cuts, with its sizes, at half of them."""
    cuts = tuple(cut for one in features for cut in one.cuts(design.brief.bit, inf))
    wide = 1.3 * max(float(np.abs(cut.outline.bounds).max()) for cut in cuts)
    part = Part(f"hub of the {name}", Outline.circle(2 * wide), 1e3, cuts)
    circles = [one.circle_diameter for one in features if isinstance(one, BoltCircle)]
    return drawing_picture(hub_drawing(part, circles), _MARGIN)


def _stack(design: Design, numbers: Mapping[str, int]) -> Drawing | None:
    """The layers of the first gear that has several, lifted off each other, with their grain."""
    stacked = [gear for gear in design.train.gears if design.stages[gear.stage].layers > 1]
    if not stacked:
        return None
    gear = stacked[0]
    layers = list(_layers(design, gear))
    view = View.fitting(LYING, layers, (0.62 * ROOM[0], ROOM[1]))
    marks, lines = Marks(), list[Line]()
    tip, lift = gear.gear.tip_diameter, _LIFT * gear.gear.tip_diameter
    for one in layers:
        ((at, wide),) = one.part.clear_circles(1)
        strokes = arrow((at, wide), one.part.grain)
        height = float(one.normal[2] > 0)
        marks += Marks(strokes=tuple(view(one.at(stroke, height)) for stroke in strokes))
        edge = view(np.array([(0.62 * tip, 0.0, one.origin[2])]))[0]
        words = f"{numbers[one.part.name]}  {one.part.name}"
        marks += Marks((Label(point(edge), NUMBER_HEIGHT, words),))
        top = one.corners[:, 2].max()
        for x, y in ((0.0, 0.0), one.part.witness or (0.0, 0.0)):
            ends = view(np.array([(x, y, top), (x, y, top + lift - 0.225 * tip)]))
            lines.append(Line(point(ends[0]), point(ends[1]), "chain"))
    title = f"The layers of {gear.name} as they are glued, pins through bore and witness holes"
    return blocks_drawing(title, view, layers, lines=lines, marks=marks)


def _layers(design: Design, gear: MountedGear) -> Iterator[Placed]:
    """The layers of a gear from the lowest up, one lifted off the other; a turned one face down."""
    named = {part.name: part for part in design.layers(gear)}
    hub = design.hubs[design.gears.index(gear)]
    lift = _LIFT * gear.gear.tip_diameter
    for place, layer in enumerate(stacked(gear, hub, design.brief)):
        part, y = named[layer.name], -1.0 if layer.turned_over else 1.0
        z = place * lift + (part.thickness if layer.turned_over else 0.0)
        yield Placed(part, (0.0, 0.0, z), (1.0, 0.0, 0.0), (0.0, y, 0.0))


def _pads(design: Design, numbers: Mapping[str, int]) -> Drawing:
    """The first foot board with its pads off it, as they are glued on."""
    pieces = frame_places(design.train, design.parts)
    first = next(place for place, one in enumerate(pieces) if one.under_foot)
    board, *pads = pieces[first - 1 : first + 2]  # a board stands before its pads
    off = 1.5 * _ARROW * (1.0 if design.train.box.feet_up else -1.0)
    order = [board, *(one.moved(0.0, off, 0.0) for one in pads)]
    view = View.fitting(FROM_LOAD, order, (0.8 * ROOM[0], 0.5 * ROOM[1]))
    return blocks_drawing("Foot pads and the board they are glued to", view, order, numbers)


def _rods(design: Design, numbers: Mapping[str, int]) -> Drawing:
    """All rods to one scale, each with its number in the bill and its length."""
    longest = max(one.rod.length for one in design.layouts)
    scale, apart = 0.6 * ROOM[0] / longest, 2.5 * NUMBER_HEIGHT
    shapes, labels = [], []
    for row, one in enumerate(design.layouts):
        level, thick = -row * apart, scale * one.rod.outer / 2
        end = scale * one.rod.length
        shapes.append(Shape(box(0.0, level - thick, end, level + thick), fill=GREY))
        words = f"{numbers[one.rod.item]}  {one.name}: {one.rod.length:.0f}"
        at = scale * longest + 2.0, level - NUMBER_HEIGHT / 2
        labels.append(Label(at, NUMBER_HEIGHT, words))
    return Drawing("The rods, cut to length", tuple(shapes), marks=Marks(tuple(labels)))


def _bed(design: Design, numbers: Mapping[str, int]) -> Drawing | None:
    """Some of a rack on its bed under its pinion, with the distance to keep."""
    if design.on_bed is None:
        return None
    pinion, bar = (one.edge for one in pinion_and_bar(design))
    (x, y), hole = design.points(design.on_bed)
    turn = 90.0 - direction(hole, (x, y))
    pinion, bar = (one.moved(-x, -y).turned(turn) for one in (pinion, bar))
    pair = design.stages[design.on_bed].pair
    left, low, right, _ = bar.bounds
    away, deep = pair.centre_distance, right - left
    scale = 0.7 * ROOM[0] / deep
    shapes = (
        Shape(box(left, low - 0.15 * deep, right, low), fill=PALE),
        Shape(pinion, "thin", PALE_ACCENT, ACCENT),
        Shape(bar, "thin", PALE_WARM, WARM),
    )
    side, height = right + 0.1 * deep, NUMBER_HEIGHT / scale
    lines = (
        Line((0.0, 0.0), (side, 0.0), "chain"),
        Line((left, -away), (side, -away), "chain"),
        Line((side, 0.0), (side, -away)),
    )
    words = (
        Label((0.0, low - 0.075 * deep - height / 2), height, "bed", "middle"),
        Label((side + 1.5 * height, -away / 2), height, f"{away:.2f}", "middle", 90.0),
    )
    title = "The rack on its bed, and how far its reference line is from the pinion's axis"
    return Drawing(title, shapes, lines, marks=Marks(words), scale=scale)


def _frame(design: Design, numbers: Mapping[str, int]) -> Drawing:
    """Plates and boards off each other, each in the direction in which it goes on."""
    places = frame_places(design.train, design.parts)
    corners = np.vstack([one.corners for one in places])
    middle, size = (corners.max(axis=0) + corners.min(axis=0)) / 2, np.ptp(corners, axis=0)
    off = _APART * np.array([0.0, size[1], max(size[0], 2.5 * size[2])])
    apart = []
    for one in places:
        way = np.sign(np.round(one.corners.mean(axis=0) - middle, 1)) * np.abs(one.normal) * off
        apart.append(one.moved(*way.tolist()))
    view = View.fitting(FROM_LOAD, apart, ROOM)
    names = {**numbers} | {
        name: f"{numbers[name]} {name[-1]}" for name in ("side plate A", "side plate B")
    }
    title = "The frame, its pieces off each other"
    # a plate, then the boards before the next plate, which hides them
    rooms = groupby(apart, key=lambda one: bool(one.normal[2]))
    order = [one for _, room in rooms for one in backmost_first(room, FROM_LOAD)]
    return blocks_drawing(title, view, order, names)


def _feet(design: Design, numbers: Mapping[str, int]) -> Drawing:
    """The frame with the screws of its feet, and which way they go."""
    pieces = backmost_first(frame_places(design.train, design.parts), FROM_LOAD)
    view = View.fitting(FROM_LOAD, pieces, (0.6 * ROOM[0], 0.72 * ROOM[1]))
    up = design.train.box.feet_up
    pads = [one for one in pieces if one.under_foot]
    marks = Marks()
    for pad in pads:
        for cut in pad.part.cuts:
            ((x, y), _) = circle_of(cut.outline) or ((0.0, 0.0), 0.0)
            hole = pad.at(np.array([(x, y)]), 1.0)[0]
            marks += _arrow(view, hole, (0.0, _ARROW if up else -_ARROW, 0.0))
    screw = numbers[more_pieces(design.train.stack_up.plates)[0].item]
    right = view(np.vstack([one.corners for one in pads]))
    at = float(right[:, 0].max()) + 2.0, float(right[:, 1].max() if up else right[:, 1].min())
    marks += Marks((Label(at, NUMBER_HEIGHT, f"{screw}"),))
    return blocks_drawing("The feet", view, pieces, marks=marks)


def _drive(design: Design, numbers: Mapping[str, int]) -> Drawing | None:
    """The frame from the drive's side: its cradle on two rods, or the rest of its handle."""
    if not isinstance(design.duty.drive, Motor) and design.coupling is None:
        return None
    cradle, face = design.brief.cradle, float(design.train.stack_up.plates[0][0])
    pieces = backmost_first(frame_places(design.train, design.parts), FROM_DRIVE)
    axis = np.array([*design.train.points[0], face])
    out = np.array([0.0, 0.0, -cradle.handle_distance])
    turn = np.radians(cradle.handle_direction)
    along = np.array([np.cos(turn), np.sin(turn), 0.0])
    aside = np.array([-along[1], along[0], 0.0])
    if not cradle.body_diameter:
        out *= 0.5  # the drawing need not be as long as the drill
        hand = axis + out + ARM * along
        ends = [axis + out, hand, *(hand + sign * 2 * _ARROW * aside for sign in (1, -1))]
        view = View.fitting(FROM_DRIVE, pieces, ROOM, np.array(ends))
        marks = Marks(strokes=(view(np.array(ends[:2])),))
        for sign in (1.0, -1.0):
            marks += _arrow(view, hand, sign * 2 * _ARROW * aside)
        base = blocks_drawing("Where the drive is kept from turning", view, pieces)
        return replace(base, lines=(_axis(view, axis, axis + 1.2 * out),), marks=marks)
    (plate,) = (part for part in design.parts if part.name == CRADLE)
    way = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)
    front = Placed(plate, (0.0, 0.0, face + out[2] - plate.thickness), *way)
    view = View.fitting(FROM_DRIVE, [*pieces, front], ROOM)
    posts = [np.array([*at, face]) for at in cradle.posts(design.train.box.rods)]
    tubes = [_bar(view, post, post + out, POST_TUBE) for post in posts]
    long = np.array([0.0, 0.0, -cradle.handle_width])
    pegs = [np.array([*at, front.origin[2]]) for at in cradle.pegs]
    bars = [_bar(view, peg, peg + long, POST.diameter) for peg in pegs]
    base = blocks_drawing("", view, pieces)
    plate_in_front = blocks_drawing("", view, [front], numbers)
    shapes = (*base.shapes, *tubes, *plate_in_front.shapes, *bars)
    title = "The cradle of the drill on two long rods of the frame"
    return Drawing(title, shapes, (_axis(view, axis + out, axis + 1.5 * out),),
                   marks=plate_in_front.marks)  # fmt: skip


def _axis(view: View, start: Floats, end: Floats) -> Line:
    first, last = view(np.array([start, end]))
    return Line(point(first), point(last), "chain")


def _bar(view: View, start: Floats, end: Floats, diameter: float) -> Shape:
    """A round bar from one place to another, by its two sides."""
    first, last = view(np.array([start, end]))
    scale = float(np.hypot(*view(np.array([[0.0, 1.0, 0.0]]))[0]))
    along = (last - first) / np.hypot(*(last - first))
    side = scale * diameter / 2 * np.array([-along[1], along[0]])
    corners = np.array([first + side, last + side, last - side, first - side])
    return Shape(polygon(corners), fill="white")


def _arrow(view: View, start: Floats, way: Floats | tuple[float, float, float]) -> Marks:
    """An arrow in space, as strokes."""
    tail, tip = view(np.array([start, np.add(start, way)]))
    return Marks(strokes=(np.array([tail, tip]), barbs(tip, tip - tail, 1.6, 0.5)))


def _trueing(design: Design, numbers: Mapping[str, int]) -> Drawing:
    """The shaft of the largest gear in the frame, a pointer at its tips and one at its face."""
    gear = max(design.train.gears, key=lambda one: one.gear.tip_diameter)
    layout = design.layouts[gear.shaft]
    reach = gear.gear.tip_diameter / 2
    rod, pieces = layout.rod, [p for p in layout.pieces if p.kind in ("plate", "bearing", "gear")]
    scale = min(ROOM[0] / rod.length, 0.8 * ROOM[1] / (2.3 * reach))
    shapes = tuple(cut_through(rod, pieces, 1.1 * reach))
    tip = np.array([(gear.start + gear.end) / 2, reach])
    face = np.array([gear.end, -0.8 * reach])
    marks = _pointer(tip, (0.0, 1.0), "a", scale) + _pointer(face, (1.0, 0.0), "b", scale)
    at = (gear.start + gear.end) / 2, -0.45 * reach
    marks += Marks((Label(at, NUMBER_HEIGHT / scale, gear.name, "middle", 90.0),))
    title = f"{gear.name} between its bearings: a pointer at the tips, a, and at the face, b"
    return Drawing(title, shapes, marks=marks, scale=scale)


def _pointer(at: Floats, away: Point, name: str, scale: float) -> Marks:
    """A pointer whose end touches a place, with its letter."""
    along, height = np.array(away) / scale, NUMBER_HEIGHT / scale
    body = barbs(at, -along, 4.0 / scale, 0.9 / scale)
    label = at + 6.5 * along - np.array([0.0, height / 2])
    return Marks((Label(point(label), height, name, "middle"),), (np.vstack([body, body[:1]]),))
