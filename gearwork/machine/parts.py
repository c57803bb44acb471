"""The edges of a train's gears where they stand, a tooth of each pinion in a space of its wheel.

The pieces of sheet a design is built from: every layer of every gear, plates and boards.
"""

import math
import re
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import chain, pairwise
from string import ascii_uppercase
from typing import Any, NamedTuple, TypeVar

from gearwork.checks.hub.fixing import Fixing
from gearwork.checks.hub.joints import BoltedJoint, NutsInPockets
from gearwork.checks.tooth.mesh import CutPair
from gearwork.errors import GearworkError
from gearwork.geometry.features import (
    BoltCircle,
    Bore,
    Feature,
    NutPocket,
    Witness,
    bar_part,
    gear_part,
)
from gearwork.geometry.gear_outline import bar_outline, tooth_outline
from gearwork.geometry.outline import Outline
from gearwork.geometry.pair import Side
from gearwork.geometry.part import Part, Placed, Point
from gearwork.geometry.plate import (
    Seat,
    board_places,
    boards,
    retaining_ring,
    side_plate,
    turned_over,
)
from gearwork.geometry.rack import Bar, BarPiece, Rack
from gearwork.machine import axial
from gearwork.machine.brief import Brief, GearBrief
from gearwork.machine.frame import RING_WALL, seat_depth
from gearwork.machine.stage import MountedGear, Stage
from gearwork.machine.train import GearTrain
from gearwork.stock.bit import Bit
from gearwork.stock.hardware import nut


def edges_in_place(
    gear: MountedGear,
    cut: CutPair,
    at: Point,
    stages: Sequence[Stage],
    angles: Sequence[float],
    tolerance: float,
) -> list[Outline]:
    """Return the toothed edge of a gear and, after it, its windows, turned so that it meshes.

    `angles`: from axis to axis of each stage, degrees; `tolerance`: largest distance of the toothed
    edge from the true curve, mm.
    """
    turn, tooth = _turn(stages, angles, gear.stage, gear.side), cut.tooth_of(gear.side)
    edges = [tooth_outline(tooth, tolerance)]
    if gear.windows is not None:
        edges += [window.outline for window in gear.windows.cuts(tooth, tooth.root_diameter)]
    return [edge.turned(turn).moved(*at) for edge in edges]


def _turn(stages: Sequence[Stage], angles: Sequence[float], stage: int, side: Side) -> float:
    """By how much a gear is turned, degrees: a tooth of its pinion stands in a space of a wheel.

    A pinion has a tooth on the centre line, unless it is an idler, which stands as its own pinion
    lets it; its wheel is then turned back by as many pitches as the idler is on.
    """
    along, pair = angles[stage], stages[stage].pair
    if side == "pinion":
        return _turn(stages, angles, stage - 1, "wheel") if stages[stage].idler else along
    on = (_turn(stages, angles, stage, "pinion") - along) * pair.pinion.teeth / pair.wheel.teeth
    return along + 180.0 + 180.0 / pair.wheel.teeth - on


BOLT_PLAY = 0.5
"""Bolt hole over bolt diameter, mm."""

MARK = 4.0
"""Diameter of a witness mark, mm, where the bit is no wider."""

PINS = (4.0, 3.0, 2.0)
"""Pins through the layers of a stack while its glue sets, mm, the first that finds room."""

_Made = TypeVar("_Made")

SCREW_HOLE = 4.0  # in a retaining ring, mm


def file_stem(name: str) -> str:
    """Return the name of a part's files, without ending."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")


SKIN = 1.0
"""Wood above a sinking that is not worth leaving in a layer, mm (assumption)."""


class Hub(NamedTuple):
    """What is cut into the middle of a gear's layers, and of those at a face with a nut let in.

    `let_in` holds the features of a layer with a nut; `faces` tells how many faces have one: the
    lower alone, or both.
    """

    features: tuple[Feature, ...]
    let_in: tuple[Feature, ...] = ()
    faces: int = 0

    @classmethod
    def of(cls, fixing: Fixing, thickness: float) -> "Hub":
        """Return what a fixing has cut into layers of that thickness, mm."""
        bore, faces = Bore(fixing.bore_diameter), 0
        bolts, outer = list[Feature](), list[Feature]([bore])
        if fixing.sinking is not None:
            (wide, depth), faces = fixing.sinking, 1
            through = thickness - depth < SKIN
            outer = [Bore(wide) if through else replace(bore, sinking=fixing.sinking)]
        for joint in fixing.joints:
            if isinstance(joint, BoltedJoint):
                hole = joint.bolt.diameter + BOLT_PLAY
                bolts.append(BoltCircle(joint.count, hole, joint.circle_diameter))
            elif isinstance(joint, NutsInPockets):
                faces = joint.nuts
                across, through = nut(joint.rod.thread).width_across_flats, joint.depth >= thickness
                pocket = NutPocket(across, None if through else joint.depth)
                outer = [pocket] if through else [bore, pocket]
        return cls((bore, *bolts), (*outer, *bolts), faces)

    def face_cuts(self, thickness: float) -> tuple[tuple[float, float], tuple[float, float]]:
        """Diameter and depth of what is cut for a nut into the lower and the upper face, mm.

        `thickness`: of a layer, through which it may go.
        """
        wide = depth = 0.0
        for feature in self.let_in if self.faces else ():
            if isinstance(feature, NutPocket):
                corners = 2.0 * (feature.across_flats + feature.allowance) / 3.0**0.5
                wide, depth = corners, feature.depth or thickness
            elif isinstance(feature, Bore) and feature.sinking is not None:
                wide, depth = feature.sinking
            elif isinstance(feature, Bore) and feature != self.features[0]:
                wide, depth = feature.hole_diameter, thickness
        return (wide, depth), (wide, depth) if self.faces == 2 else (0.0, 0.0)


def gear_layers(gear: MountedGear, cut: CutPair, hub: Hub, brief: GearBrief) -> tuple[Part, ...]:
    """Return the layers of one gear; layers that are cut alike make one part with a count."""
    if isinstance(gear.gear, Rack):
        return tuple(_bar_parts(gear, cut, brief))
    outline = tooth_outline(cut.running(gear.side))
    sheet, bit = brief.gears.sheet, brief.bit
    windows = [gear.windows] if gear.windows else []
    layers = stacked(gear, hub, brief)

    def made(witness: Witness | None) -> tuple[Part, ...]:
        return tuple(
            _named(
                gear_part,
                layer.name,
                outline,
                bit,
                sheet.thickness,
                [*(hub.let_in if layer.outer else hub.features), *windows],
                count=count,
                grain=-layer.angle if layer.turned_over else layer.angle,
                notes=_notes(gear, layer),
                witness=witness,
            )
            for layer, count in Counter(layers).items()
        )

    return _marked(made, _marks(bit, stacked=len(layers) > 1))


class NamedPiece(NamedTuple):
    """A piece of a bar, the name of its part, and the direction of its grain, degrees."""

    name: str
    piece: BarPiece
    grain: float


def bar_of(rack: Rack, stage: int, brief: GearBrief) -> Bar:
    """Return a rack whole, or in the longest pieces that the sheets of a design have room for."""
    layers = brief.cut_stages[stage].layers
    return Bar.of(
        rack, [_longest(rack, angle, brief) for angle in brief.gears.panel(layers).layers]
    )


def _longest(rack: Rack, angle: float, brief: GearBrief) -> int:
    """How many teeth a piece of bar may have on a sheet on which its grain must lie so, degrees."""
    across, along = abs(math.sin(math.radians(angle))), abs(math.cos(math.radians(angle)))
    deep, (width, height) = rack.tip_height + rack.back_depth, brief.stock.within(brief.margin)
    ways = ((width, along, across), (height, across, along))
    rooms = (
        (size - deep * own_deep) / own_long for size, own_long, own_deep in ways if own_long > 1e-9
    )
    return math.floor(min(rooms) / rack.pitch + 1e-9)


def named_pieces(gear: MountedGear, brief: GearBrief) -> tuple[tuple[NamedPiece, ...], ...]:
    """Return the pieces of every layer of a rack; those that are cut alike have one name."""
    assert isinstance(gear.gear, Rack)
    bar = bar_of(gear.gear, gear.stage, brief)
    kinds: dict[object, str] = {}
    found = []
    for place, layer in enumerate(stacked(gear, Hub(()), brief)):
        row = []
        for piece in bar.pieces(place):
            name = layer.name
            if bar.butts[place]:
                kind = layer.angle, piece.rack, piece.holes
                name += f" piece {kinds.setdefault(kind, ascii_uppercase[len(kinds)])}"
            row.append(NamedPiece(name, piece, layer.angle))
        found.append(tuple(row))
    return tuple(found)


def _bar_parts(gear: MountedGear, cut: CutPair, brief: GearBrief) -> Iterator[Part]:
    """The pieces of a rack; such as are cut alike are one part with a count."""
    tooth, layers = cut.running("wheel"), named_pieces(gear, brief)
    # Pieces that butt are kept on each other by their screw holes, and marked in one layer alone.
    whole = all(len(layer) == 1 for layer in layers)
    marks = _marks(brief.bit, stacked=whole and len(layers) > 1)
    every = [*chain.from_iterable(layers)]
    for name, count in Counter(one.name for one in every).items():
        _, piece, grain = next(one for one in every if one.name == name)
        outline = bar_outline(piece.rack, tooth, piece.short)
        made = partial(
            _named, bar_part, name, piece, outline, brief.bit, brief.gears.sheet.thickness,
            gear.bore, count=count, grain=grain, notes=_bar_notes(gear, piece),
        )  # fmt: skip
        yield _marked(made, marks)


def layer_names(gear: MountedGear, hub: Hub, brief: GearBrief) -> tuple[str, ...]:
    """Return the names of the parts of one gear, without making them."""
    if isinstance(gear.gear, Rack):
        return tuple(dict.fromkeys(one.name for one in chain(*named_pieces(gear, brief))))
    return tuple(layer.name for layer in Counter(stacked(gear, hub, brief)))


def _named(make: Callable[..., Part], name: str, *given: Any, **more: Any) -> Part:
    """The part of that name, which stands before the reason if it cannot be made."""
    try:
        return make(name, *given, **more)
    except GearworkError as error:
        raise GearworkError(f"{name}: {error}") from None


def _marked(make: Callable[..., _Made], marks: Sequence[Witness | None]) -> _Made:
    """What is made with the first of these marks that finds room."""
    for mark in marks[:-1]:
        try:
            return make(witness=mark)
        except GearworkError:
            continue
    return make(witness=marks[-1])


class StackedLayer(NamedTuple):
    """One layer of a gear: its part's name, its grain, and how it lies."""

    name: str
    angle: float
    outer: bool
    turned_over: bool


def stacked(gear: MountedGear, hub: Hub, brief: GearBrief) -> list[StackedLayer]:
    """Return every layer of a gear, from the lowest up."""
    angles = brief.gears.panel(brief.cut_stages[gear.stage].layers).layers
    let_in = (0, len(angles) - 1)[: hub.faces]
    if len(angles) == 1:
        return [StackedLayer(gear.name, angles[0], bool(let_in), False)]
    layers = []
    for place, angle in enumerate(angles):
        outer = place in let_in
        face = f" {'lower' if place == 0 else 'upper'} face" if outer else ""
        name = f"{gear.name} grain {angle:g}{face}"
        layers.append(StackedLayer(name, angle, outer, outer and place == 0))
    return layers


def _marks(bit: Bit, stacked: bool) -> tuple[Witness | None, ...]:
    """Holes for a pin through all layers, or a mark in a single one, which can do without."""
    if stacked:
        return tuple(Witness(depth=None, diameter=pin) for pin in PINS)
    return Witness(diameter=max(MARK, bit.cut_diameter)), None


def _notes(gear: MountedGear, layer: StackedLayer) -> tuple[str, ...]:
    g = gear.gear
    lines = [
        f"z {g.teeth:g}, m {g.module:g} mm, x {g.profile_shift:g}, {g.pressure_angle:g} deg",
        f"tip {g.tip_diameter:.3f} mm, root {g.root_diameter:.3f} mm",
        f"span over {g.default_teeth_spanned:g} teeth {g.span():.3f} mm",
    ]
    if layer.turned_over:
        lines.append(f"lies face down in the gear; there its grain is at {layer.angle:g} deg")
    return tuple(lines)


def _bar_notes(gear: MountedGear, piece: BarPiece) -> tuple[str, ...]:
    g, own = piece.rack, ""
    if g.teeth < gear.gear.teeth:
        own = f" of {gear.gear.teeth:g}"
    return (
        f"rack of {g.teeth:g}{own} teeth, m {g.module:g} mm, {g.pressure_angle:g} deg",
        f"tips {g.tip_height:.3f} mm above the reference line, holes {g.hole_depth:.3f} mm and"
        f" back {g.back_depth:.3f} mm below it",
    )


FIRST_PLATE = f"{axial.PLATE} B"
"""The plate that is drawn as the train stands: its outer face is seen from the load's side."""


def plate_seats(train: GearTrain, brief: Brief, plate: int) -> list[Seat]:
    """Return the bearing seats of a plate, from its outer face; those of one between go through."""
    ball, stack, found = brief.shafts.bearing, train.stack_up, []
    outer = plate in (0, len(stack.plates) - 1)
    for axis in train.axes:
        depth = None
        if outer:
            (shaft,) = (one for one in axis.shafts if plate in stack.carried[one])
            depth = seat_depth(ball.width, free=stack.fixed_below(shaft) == (plate > 0))
        seat = Seat(
            x=axis.at[0],
            y=axis.at[1],
            diameter=ball.outer_diameter,
            allowance=brief.frame.fit,
            depth=depth,
            hole_diameter=None if depth is None else axial.hole_before(ball),
            swept_diameter=max((tip for _, _, tip, _ in axis.circles), default=0.0),
            name=axis.name,
        )
        found.append(seat)
    return found


def frame_parts(train: GearTrain, brief: Brief) -> tuple[Part, ...]:
    """Return plates with bearings, rings that hold these in, boards about gears, the cradle."""
    thick, bit, ball = train.frame.plate_thickness, brief.bit, brief.shafts.bearing
    box, stack = train.box, train.stack_up.plates
    count = len(stack)
    lower, *between, upper = (
        side_plate(plate_seats(train, brief, i), box, bit, name)
        for i, name in enumerate((axial.PLATE, *(axial.MIDDLE,) * (count - 2), FIRST_PLATE))
    )
    plates = [turned_over(lower, f"{axial.PLATE} A"), upper]
    middle = train.frame.middle_thickness or thick
    sheets = round(middle / thick)
    plates += [replace(one, count=sheets, notes=(*one.notes, "glued together")) for one in between]
    screws = BoltCircle(axial.RING_SCREWS, SCREW_HOLE, ball.outer_diameter + RING_WALL)
    ring = retaining_ring(
        axial.RING, axial.ring_diameter(ball), axial.hole_before(ball), screws, bit, thick
    )
    held = sum(plate in (0, count - 1) for on in train.stack_up.carried for plate in on)
    found = [*plates, replace(ring, count=held)]
    for i, ((_, low), (high, _)) in enumerate(pairwise(stack), 1):
        # two boards share a plate between: each goes half-way into it
        ends = thick if i == 1 else middle / 2, thick if i == count - 1 else middle / 2
        found += boards(box, float(high - low), ends, bit, f" {i}" if count > 2 else "")
    if brief.cradle.body_diameter:
        found.append(brief.cradle.part(brief.cradle.posts(box.rods), bit, thick))
    return tuple(found)


def frame_places(train: GearTrain, parts: Sequence[Part]) -> tuple[Placed, ...]:
    """Return where plates and boards of a frame stand, from the lowest plate up."""
    named, stack, box = {part.name: part for part in parts}, train.stack_up.plates, train.box
    x, y, found, last = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), list[Placed](), len(stack) - 1
    for i, (low, high) in enumerate(stack):
        if i == 0:  # its upper face is the outer one, as of plate B
            found.append(Placed(named[f"{axial.PLATE} A"], (0.0, 0.0, high), (-1.0, 0.0, 0.0), y))
        elif i < last:
            middle = replace(named[axial.MIDDLE], thickness=float(high - low))
            found.append(Placed(middle, (0.0, 0.0, low), x, y))
        else:
            found.append(Placed(named[FIRST_PLATE], (0.0, 0.0, low), x, y))
        if i < last:
            which = f" {i + 1}" if last > 1 else ""
            kinds = ("foot board", "lid", "end board", "foot pad")
            found += board_places(box, [named[kind + which] for kind in kinds], high)
    return tuple(found)
