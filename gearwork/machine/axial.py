"""What stands on every rod of a machine, piece after piece: one model of where and how long.

Lengths of rods, the bill, the drawings of sections and the test that nothing
overlaps all come from these pieces. z as everywhere: 0 on the inner face of the lowest plate. mm.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from gearwork.checks.hub.bar_screws import screw_for, screw_length
from gearwork.checks.hub.coupling import Coupling, pin_length, pin_name
from gearwork.checks.hub.fixing import HubRating
from gearwork.checks.hub.fixing import Piece as Fitted
from gearwork.checks.hub.joints import (
    BoltedJoint,
    Clamp,
    FaceFriction,
    Pinned,
    Seat,
    SteelPlate,
    ring_area,
    seat,
)
from gearwork.checks.hub.tightening import Tightening
from gearwork.errors import GearworkError
from gearwork.geometry.part import Point
from gearwork.geometry.plate import EAR, ROD_HOLE
from gearwork.geometry.rack import Bar
from gearwork.machine.brief import Shafts
from gearwork.machine.cradle import Cradle
from gearwork.machine.frame import (
    CRADLE,
    PLAY,
    POST,
    POST_TUBE,
    RING_WALL,
    TUBE_WALL,
    Frame,
    Grip,
    Kind,
    Layer,
    seat_depth,
)
from gearwork.machine.stage import MountedGear
from gearwork.machine.train import GearTrain
from gearwork.stock.hardware import Bearing, Rod, bolt_head, nut, shim, spring_pin, washer
from gearwork.stock.laminate import Panel

SHOULDER = 2.0  # of a bearing's outer ring that wood covers on either side, mm (assumption)
RING_SCREWS = 3
AIR = 2.0  # along a rod, between what turns and what stands outside the plates, mm (assumption)
PLATE, MIDDLE, RING = "side plate", "middle plate", "retaining ring"
THREAD_LOCK, EPOXY = "thread-lock, high strength", "epoxy"
TURNABLE = "thread-lock, medium strength"  # of nuts that are tightened again
WOOD_GLUE = "wood glue, EN 204 D3"
EXTRA_WASHERS = 2  # plain ones that may take the place of a second nut between two gears
ROUNDING = 1e-6

CARE = "hard wax or paraffin, degreaser, varnish for edges"  # of flanks, steel and wood
FRAME_RODS = "frame rods"
FOOT_SCREW, FOOT_SCREWS = "M6", 4  # of its size, in the feet between two plates

_SCREW = 3.5  # diameter of the screws of a retaining ring, mm
_SCREW_LENGTHS = (12.0, 16.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0)  # DIN 7997, from memory
_FOOT_SCREW_LENGTHS = (40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0, 120.0)  # DIN 571, from memory
_WOOD_GLUE = 1.8e-4  # g/mm², one joint (common practice: 150 to 200 g/m²)
_EPOXY = 0.2 * 1.2e-3  # g/mm²: 0.2 mm thick (assumption)
_OF_SCREWS = 0.2  # g of thread-lock for the screws of a sleeve (assumption)
_THREAD_LOCK = 0.1 * 1.1e-3  # g/mm² of the thread's cylinder: fills its play (assumption)


@dataclass(frozen=True)
class Piece:
    """One piece on or about a rod, from `start` to `end` along it.

    `item` is what it is called in the bill or, of wood, in the cut list; `name` what it is here;
    `inner` and `outer` diameter; `count` of them, where more than 1 on a circle between the two;
    `grams` of glue. `fixed`: it does not turn.
    """

    kind: Kind
    item: str
    start: float
    end: float
    inner: float
    outer: float
    name: str = ""
    count: int = 1
    grams: float = 0.0
    fixed: bool = False

    @property
    def length(self) -> float:
        """Along the rod, mm."""
        return self.end - self.start

    @property
    def on_rod(self) -> bool:
        """Whether the rod is hidden by it: not a plate it passes, nor a bolt beside it."""
        beside = ("bolt", "glue", "rod", "tool")
        return not self.fixed and self.count == 1 and self.kind not in beside


@dataclass(frozen=True)
class Layout:
    """A rod and every piece on and about it, from the lowest up.

    `at`: the axes on which such a rod stands. `ends` says what the lower and the upper end of the
    rod stick out for; empty: they do not.
    """

    name: str
    at: tuple[Point, ...]
    rod: Piece
    pieces: tuple[Piece, ...]
    ends: tuple[str, str] = ("", "")

    @property
    def bare(self) -> tuple[tuple[float, float], ...]:
        """From where to where the rod is bare, mm."""
        found, z = [], self.rod.start
        for piece in sorted((p for p in self.pieces if p.on_rod), key=lambda p: p.start):
            if piece.start > z + ROUNDING:
                found.append((z, piece.start))
            z = max(z, piece.end)
        if self.rod.end > z + ROUNDING:
            found.append((z, self.rod.end))
        return tuple(found)


@dataclass(frozen=True)
class OnRod:
    """A gear, or what is fixed to a shaft's end, with what holds it there.

    `layers`: names of its layers in the cut list from the lowest up, or of the whole; `cuts`:
    diameter and depth of what is cut for a nut into its lower and its upper face, mm.
    """

    name: str
    rating: HubRating
    grip: Grip
    layers: tuple[str, ...]
    outer: float
    thickness: float
    cuts: tuple[tuple[float, float], ...] = ((0.0, 0.0), (0.0, 0.0))
    kind: Kind = "gear"


def _layer(piece: Fitted, start: float) -> Layer:
    kind: Kind = "ring" if piece.kind == "plate" else piece.kind
    return Layer(kind, piece.name, start, piece.length, piece.hole, piece.diameter)


def _stack(pieces: Iterable[Fitted], start: float = 0.0) -> tuple[Layer, ...]:
    """Pieces one on the other, outwards; what is let in begins inside the face."""
    found = []
    for piece in pieces:
        found.append(_layer(piece, start - piece.let_in))
        start = found[-1].end
    return tuple(found)


def grip_of(held: HubRating) -> Grip:
    """Return what stands on the faces of a gear that is held like this."""
    fixing, plate = held.fixing, 0.0
    below, above = _stack(fixing.below), _stack(fixing.above)
    for joint in fixing.joints:
        if isinstance(joint, BoltedJoint) and held.bolts is not None:
            if isinstance(joint.partner, SteelPlate):
                plate = joint.partner.thickness
            count, item, length = held.bolts
            thread, circle = joint.bolt.thread, joint.circle_diameter
            reach = nut(thread).width_across_corners
            item = f"{item}, {length:g} mm"
            head = Layer("bolt", item, plate, bolt_head(thread), 0.0, reach)
            ring, hexagon = _stack((Fitted.ring(thread), Fitted.hexagon(joint.bolt)))
            rest = length - held.panel.thickness - plate - ring.length  # the nut and what is over
            below += (_around(head, circle, count),)
            above += tuple(
                _around(one, circle, count) for one in (ring, replace(hexagon, length=rest))
            )
    return Grip(below, above)


def _around(layer: Layer, circle: float, count: int) -> Layer:
    """So many of a thing, its middle on a circle."""
    return replace(layer, inner=circle - layer.outer, outer=circle + layer.outer, count=count)


def inner_shim(ball: Bearing, on: Rod) -> Layer:
    """Return the ring between a nut and a bearing that presses on the inner ring alone.

    The narrowest that covers half a millimetre of it all round and stays clear of the outer ring,
    which begins about a quarter of the section below the outer diameter (catalogues).
    """
    most = ball.outer_diameter - 0.25 * (ball.outer_diameter - ball.bore)
    rings = (
        (shim(on.thread), f"shim ring {shim(on.thread).hole_diameter:g} × "
         f"{shim(on.thread).diameter:g} × 1, DIN 988"),
        (washer(on.thread), Fitted.ring(on.thread).name),
        (washer(on.thread, wide=True), Fitted.ring(on.thread, wide=True).name),
    )  # fmt: skip
    for ring, item in rings:
        if ball.bore + 1.0 <= ring.diameter <= most:
            return Layer("shim", item, 0.0, ring.thickness, ring.hole_diameter, ring.diameter)
    raise GearworkError(
        f"no ring of the table presses on the inner ring of a {ball.name} bearing on an {on.thread}"
        f" rod: it must be {ball.bore + 1.0:g} to {most:g} mm wide; take a thicker rod or a smaller"
        " bearing"
    )


def nut_stack(ball: Bearing, on: Rod) -> tuple[Layer, Layer]:
    """Return the shim and the thin nut on either side of a bearing, from it outwards."""
    ring = inner_shim(ball, on)
    return ring, _layer(Fitted.hexagon(on, thin=True), ring.end)


def hole_before(ball: Bearing) -> float:
    """Return the diameter of the hole in the wood before and behind a bearing, mm."""
    return ball.outer_diameter - 2.0 * SHOULDER


def ring_diameter(ball: Bearing) -> float:
    """Return the outer diameter of a retaining ring, mm."""
    return ball.outer_diameter + 2.0 * RING_WALL


def fitted(frame: Frame, train: GearTrain, grips: tuple[Grip, ...], shafts: Shafts) -> Frame:
    """Return the frame with the axial room that just takes what stands on the rods.

    `train` has its stages in planes in order, each its own but behind an idler. Between two gears
    of one rod there is one nut for both where the room allows it, else two.
    """
    ball, on, planes = shafts.bearing, shafts.rod, range(max(train.planes) + 1)
    _, locknut = nut_stack(ball, on)
    carried, plates = train.stack_up.carried, len(train.stack_up.plates)

    def beside_plate(plane: int, above: bool) -> float:
        """Hubs, and between them and the plate the nut of a bearing or the clearance."""
        found = []
        for gear, grip in zip(train.gears, grips, strict=True):
            if gear.plane != plane:
                continue
            plate = carried[gear.shaft][above]
            standing = -math.inf
            if plate in (0, plates - 1) and above == (plate > 0):
                free = above == train.stack_up.fixed_below(gear.shaft)
                wood = frame.plate_thickness - ball.width - (PLAY / 2 if free else 0.0)
                standing = locknut.end - wood
            elif plate not in (0, plates - 1):
                standing = locknut.end
            found.append(grip.height(above) + max(standing, frame.clearance))
        return max(found)

    rooms = [[0.0, 0.0] for _ in planes]
    rooms[0][0], rooms[-1][1] = beside_plate(0, False), beside_plate(planes[-1], True)
    for plane in planes[1:]:
        if plates > 2:  # the shafts on one axis meet in a plate between
            rooms[plane - 1][1] = beside_plate(plane - 1, True)
            rooms[plane][0] = beside_plate(plane, False)
        else:
            rooms[plane - 1][1] = rooms[plane][0] = _between(frame, train, grips, plane, on)
    ends = 2.0 * (ball.width + locknut.end + on.pitch) + AIR
    return replace(
        frame,
        gaps=tuple((low, high) for low, high in rooms),
        middle_thickness=math.ceil(ends / frame.plate_thickness) * frame.plate_thickness,
    )


def _between(frame: Frame, train: GearTrain, grips: tuple[Grip, ...], plane: int, on: Rod) -> float:
    """Room between a plane of gears and the one below it without a plate between, mm."""
    under, over = (
        {
            gear.shaft: grip
            for gear, grip in zip(train.gears, grips, strict=True)
            if gear.plane == place
        }
        for place in (plane - 1, plane)
    )
    heights = [one.height(True) for one in under.values()]
    heights += [one.height(False) for one in over.values()]
    least = max(heights) + frame.clearance
    (shared,) = under.keys() & over.keys()
    wheel, pinion = under[shared], over[shared]
    both = wheel.height(True) + pinion.height(False)
    if not shares_nut(wheel, pinion, on):
        return max(least, both)
    one_nut = both - wheel.above[-1].length
    extra = math.ceil((least - one_nut) / washer(on.thread).thickness - ROUNDING)
    filled = one_nut + max(extra, 0) * washer(on.thread).thickness
    most = 0 if pinion.below[-1].start < 0.0 else EXTRA_WASHERS  # a pocket holds a nut alone
    return filled if extra <= most and filled <= max(least, both) else max(least, both)


def shares_nut(lower: Grip, upper: Grip, on: Rod) -> bool:
    """Whether one nut can clamp both gears: both stacks end in a plain nut."""
    plain = _layer(Fitted.hexagon(on), 0.0)
    ends = (*lower.above[-1:], *upper.below[-1:])
    return len(ends) == 2 and all(replace(end, start=0.0) == plain for end in ends)


def shaft_layout(
    shaft: int,
    train: GearTrain,
    shafts: Shafts,
    carried: tuple[tuple[MountedGear, OnRod], ...],
    ends: tuple[str, str],
    outside: tuple[OnRod | None, OnRod | None],
    coupling: Coupling | None = None,
) -> Layout:
    """Return all that stands on one shaft.

    `carried`: its gears; `ends`: what its lower and upper end stick out for; `outside`: what is
    fixed to them with a hub, else they are gripped as they are; `coupling`: by which the drive
    takes hold of the lower one.
    """
    on, ball, frame = shafts.rod, shafts.bearing, train.frame
    pieces = [piece for gear, held in carried for piece in _held(held, gear.start, gear.end)]
    if len(carried) == 2:
        pieces = _one_nut(pieces, *carried, on)
    places, stack = train.bearings(shaft), train.stack_up
    reach = []
    for above, more in enumerate(outside):
        sign, number = 2 * above - 1, stack.carried[shaft][above]
        nut_end = bearing_nut(train, shaft, shafts, bool(above))
        pieces += _bearing(ball, on, *places[above], name=("lower", "upper")[above])
        pieces += _wood(stack.plates, number, above, ball, frame, stack.fixed_below(shaft))
        face = stack.span(shaft)[above]
        tips = [face + sign * (nut_end + on.pitch)]
        if coupling is not None and not above:
            least = coupled_at(coupling, nut_end, frame, ball)
            middle = max(least, shafts.overhangs[0])
            pieces += _coupled(coupling, face - middle)
            tips.append(face - middle - coupling.length / 2.0 + coupling.beyond)
        if ends[above] and not (coupling is not None and coupling.pieces and not above):
            tips.append(face + sign * (shafts.overhangs[above] + shafts.free_end / 2.0))
        if more is not None:
            least = min_overhang(more.grip, more.thickness, nut_end, frame, ball)
            middle = face + sign * max(shafts.overhangs[above], least)
            start, end = middle - more.thickness / 2.0, middle + more.thickness / 2.0
            pieces += (added := _held(more if above else _turned(more), start, end))
            tips += [(piece.start, piece.end)[above] + sign * on.pitch for piece in added]
        reach.append(max(tips) if above else min(tips))
    for number in range(stack.carried[shaft][0] + 1, stack.carried[shaft][1]):
        hole = ball.outer_diameter + frame.fit
        pieces.append(Piece("plate", MIDDLE, *stack.plates[number], hole, math.inf, fixed=True))
    bar = _cut_rod(on, *reach)
    return Layout(f"shaft {shaft + 1}", (train.points[shaft],), bar, _sorted(pieces), ends)


@dataclass(frozen=True)
class OnEnds:
    """What is fixed to the ends of the first and of the last shaft: what it is, and how.

    `crank` and `coupling` are the drive's, `outside` is drum or wheel, on both ends where `both`.
    """

    drive: str
    load: str
    crank: OnRod | None = None
    coupling: Coupling | None = None
    outside: OnRod | None = None
    both: bool = False

    def drive_overhang(self, train: GearTrain, shafts: Shafts) -> float:
        """Return how far from the plate coupling or crank stand at least, mm."""
        nut_end = bearing_nut(train, 0, shafts, False)
        if self.crank is not None:
            grip, thick = self.crank.grip, self.crank.thickness
            return min_overhang(grip, thick, nut_end, train.frame, shafts.bearing)
        if self.coupling is None:
            return 0.0
        return coupled_at(self.coupling, nut_end, train.frame, shafts.bearing)

    def load_overhang(self, train: GearTrain, shafts: Shafts) -> float:
        """Return the same of drum or wheel, mm; 0: there is none."""
        if self.outside is None:
            return 0.0
        last = len(train.shafts) - 1
        nuts = [bearing_nut(train, last, shafts, above) for above in (True, not self.both)]
        grip, thick = self.outside.grip, self.outside.thickness
        return min_overhang(grip, thick, max(nuts), train.frame, shafts.bearing)


def layouts_of(
    train: GearTrain,
    shafts: Shafts,
    ends: OnEnds,
    cradle: Cradle,
    held: Sequence[OnRod | None],
) -> tuple[Layout, ...]:
    """Return all that stands on every shaft, on the rods of the frame and of the cradle.

    `held`: how each gear is, in the order of the train's.
    """
    last, found = len(train.shafts) - 1, list[Layout]()
    for shaft in range(last + 1):
        on = tuple(
            (gear, one)
            for gear, one in zip(train.gears, held, strict=True)
            if gear.shaft == shaft and one is not None
        )
        out = ends.outside if shaft == last else None
        names = (ends.drive * (shaft == 0), ends.load * (shaft == last))
        below = out if ends.both else None
        if below is not None:
            names = (ends.load, ends.load)
        if shaft == 0:
            below = ends.crank
        coupling = ends.coupling if shaft == 0 else None
        found.append(shaft_layout(shaft, train, shafts, on, names, (below, out), coupling))
    places = train.box.rods
    if not cradle.body_diameter:
        return (*found, frame_layout(train, places))
    far, beyond = cradle.posts(places), cradle.handle_distance
    near = tuple(place for place in places if place not in far)
    return (
        *found,
        frame_layout(train, near),
        frame_layout(train, far, beyond),
        peg_layout(train, cradle.pegs, beyond, cradle.handle_width),
    )


def depth_of(layouts: Iterable[Layout]) -> float:
    """Return how far it is from end to end of all that stands on rods, mm."""
    every = [p for layout in layouts for p in (layout.rod, *layout.pieces)]
    return max(p.end for p in every) - min(p.start for p in every)


def coupled_at(held: Coupling, nut_end: float, frame: Frame, ball: Bearing) -> float:
    """Return how far from the plate's face the middle of a coupling stands at least, mm.

    As of `min_overhang`.
    """
    wide = max((piece.diameter for piece in held.pieces), default=0.0)
    ring = frame.plate_thickness + AIR if wide > hole_before(ball) - AIR else 0.0
    return max(nut_end, ring) + held.length / 2.0


def _coupled(held: Coupling, z: float) -> list[Piece]:
    """A coupling on the lower end of a rod, its middle here; nuts end flush with the rod."""
    on = held.rod
    layers = _stack(held.pieces, -held.length / 2.0)
    found = [_placed(layer, z, False, "coupling") for layer in layers]
    found += [Piece("tool", item, z, z, 0.0, 0.0, "coupling") for item in held.tools]
    if held.name in ("bonded nut", "jammed nuts"):
        item = THREAD_LOCK if held.name == "bonded nut" else TURNABLE
        found.append(_locking(item, on.diameter, held.length, z))
    if held.shaft is not None:
        found.append(Piece("glue", TURNABLE, z, z, on.diameter, on.diameter, "", 1, _OF_SCREWS))
    if any(isinstance(joint, Pinned) for joint in held.joints):
        pin, across = spring_pin(on.thread), held.pieces[0].diameter * (held.shaft is not None)
        at = z + (held.length / 4.0 if held.shaft else 0.0)
        ends, long = (at - pin.diameter / 2.0, at + pin.diameter / 2.0), pin_length(on, across)
        item = pin_name(on, across)
        found.append(Piece("screw", item, *ends, 0.0, long, "coupling", fixed=True))
    return found


def bearing_nut(train: GearTrain, shaft: int, shafts: Shafts, above: bool) -> float:
    """Return how far beyond the plate's face the outer nut of a bearing ends, mm."""
    sign, face = 2 * above - 1, train.stack_up.span(shaft)[above]
    end = train.bearings(shaft)[above][above]
    return sign * float(end - face) + nut_stack(shafts.bearing, shafts.rod)[1].end


def _cut_rod(on: Rod, start: float, end: float) -> Piece:
    """A rod that reaches so far, cut to whole millimetres."""
    length = math.ceil(end - start - ROUNDING)
    item = f"rod {on.thread} {on.grade.name}, DIN 976-1, {length} mm"
    return Piece("rod", item, start, start + length, 0.0, on.diameter)


def _sorted(pieces: Iterable[Piece]) -> tuple[Piece, ...]:
    return tuple(sorted(pieces, key=lambda p: (round(p.start, 6), round(p.end, 6), p.outer)))


def _placed(layer: Layer, face: float, up: bool, name: str = "") -> Piece:
    """A layer on a face, outwards up or down."""
    ends = (face + layer.start, face + layer.end) if up else (face - layer.end, face - layer.start)
    return Piece(layer.kind, layer.item, *ends, layer.inner, layer.outer, name, layer.count)


def _turned(held: OnRod) -> OnRod:
    """The same the other way up."""
    grip = Grip(held.grip.above, held.grip.below)
    return replace(held, grip=grip, cuts=held.cuts[::-1])


def _held(held: OnRod, start: float, end: float) -> list[Piece]:
    """A gear from face to face, and what holds it."""
    thick = (end - start) / len(held.layers)
    bore, found = held.rating.fixing.bore_diameter, list[Piece]()
    (wide, deep), (upper_wide, upper_deep) = held.cuts
    for place, item in enumerate(held.layers):
        low = start + place * thick
        high = low + thick
        sunk = deep * (place == 0), upper_deep * (place == len(held.layers) - 1)
        cuts = (low, low + sunk[0], high - sunk[1], high)
        for a, b, inner in zip(cuts, cuts[1:], (wide, bore, upper_wide), strict=False):
            if b > a + ROUNDING:
                found.append(Piece(held.kind, item, a, b, inner, held.outer, held.name))
    found += [_placed(layer, start, False, held.name) for layer in held.grip.below]
    found += [_placed(layer, end, True, held.name) for layer in held.grip.above]
    return [*found, *_glue(held, start, end)]


def _glue(held: OnRod, start: float, end: float) -> Iterator[Piece]:
    """Glue and thread-lock of a gear, in grams."""
    fixing, joints = held.rating.fixing, len(held.layers) - 1
    d = fixing.rod.diameter

    def glue(item: str, per_area: float, area: float, wide: float, z: float = end) -> Piece:
        return Piece("glue", item, z, z, d, wide, held.name, grams=per_area * area)

    if joints:
        area = joints * ring_area(held.outer, fixing.bore_diameter)
        yield glue(WOOD_GLUE, _WOOD_GLUE, area, held.outer, (start + end) / 2.0)
    if held.rating.epoxy_area > 0.0:
        on_rod = not (fixing.below or fixing.above)
        wide = d if on_rod else max(one.outer for one in held.grip.above)
        yield glue(EPOXY, _EPOXY, held.rating.epoxy_area, wide)
    nuts = sum(one.length for one in (*fixing.below, *fixing.above) if one.kind == "nut")
    if nuts:
        again = any(isinstance(joint, FaceFriction) for joint in fixing.joints)
        yield _locking(TURNABLE if again else THREAD_LOCK, d, nuts, end, held.name)
    for joint in fixing.joints:
        if isinstance(joint, BoltedJoint):
            bolt = joint.bolt
            high = joint.count * nut(bolt.thread).height
            yield _locking(TURNABLE, bolt.diameter, high, end, held.name)


def _locking(item: str, d: float, length: float, z: float, name: str = "") -> Piece:
    """Thread-lock on so much of a thread, mm, somewhere on its rod."""
    return Piece("glue", item, z, z, d, d, name, grams=_THREAD_LOCK * math.pi * d * length)


def _one_nut(
    pieces: list[Piece],
    first: tuple[MountedGear, OnRod],
    second: tuple[MountedGear, OnRod],
    on: Rod,
) -> list[Piece]:
    """One nut for both gears where there is no room for two, and washers to fill the rest."""
    (under, lower), (over, upper) = sorted((first, second), key=lambda one: one[0].start)
    room = over.start - under.end
    need = lower.grip.height(True) + upper.grip.height(False)
    if room >= need - ROUNDING or not shares_nut(lower.grip, upper.grip, on):
        return pieces
    spare = _placed(upper.grip.below[-1], over.start, False, upper.name)
    kept = [piece for piece in pieces if piece != spare]
    z = under.end + lower.grip.height(True)
    ring = _layer(Fitted.ring(on.thread), 0.0)
    for _ in range(round((room - need + spare.length) / ring.length)):
        kept.append(_placed(ring, z, True, upper.name))
        z += ring.length
    return kept


def _bearing(ball: Bearing, on: Rod, start: float, end: float, name: str) -> list[Piece]:
    """A bearing, on a bush where the rod is thinner, with shim and thin nut on either side."""
    found = [Piece("bearing", f"bearing {ball.name}", start, end, ball.bore, ball.outer_diameter)]
    if ball.bore > on.diameter:
        wall = (ball.bore - on.diameter) / 2.0
        item = f"bush of brass tube {ball.bore:g} × {wall:g}, {ball.width:g} mm"
        found.append(Piece("bush", item, start, end, on.diameter, ball.bore))
    for layer in nut_stack(ball, on):
        found += [_placed(layer, start, False), _placed(layer, end, True)]
    height = 2.0 * nut(on.thread, thin=True).height
    found.append(_locking(THREAD_LOCK, on.diameter, height, end))
    return [replace(piece, name=f"{name} bearing") for piece in found]


def _wood(
    plates: tuple[tuple[float, float], ...],
    number: int,
    above: int,
    ball: Bearing,
    frame: Frame,
    fixed_below: bool,
) -> list[Piece]:
    """The plate about a bearing; an outer one with wood behind it and a ring before it."""
    (low, high), thick = plates[number], frame.plate_thickness
    wide, hole = ball.outer_diameter + frame.fit, hole_before(ball)
    if 0 < number < len(plates) - 1:
        return [Piece("plate", MIDDLE, low, high, wide, math.inf, fixed=True)]
    depth = seat_depth(ball.width, free=bool(above) == fixed_below)
    name, item = (f"{PLATE} A", f"{PLATE} B")[above], RING
    pocket, floor, ring = (low, low + depth), (low + depth, high), (low - thick, low)
    if above:
        pocket, floor, ring = (high - depth, high), (low, high - depth), (high, high + thick)
    turn, screw = ball.outer_diameter + RING_WALL, ring_screw(thick)
    return [
        Piece("plate", name, *pocket, wide, math.inf, fixed=True),
        Piece("plate", name, *floor, hole, math.inf, fixed=True),
        Piece("ring", item, *ring, hole, ring_diameter(ball), fixed=True),
        Piece("screw", screw, *ring, turn - _SCREW, turn + _SCREW, "", RING_SCREWS, fixed=True),
    ]


def ring_screw(thick: float) -> str:
    """What the screws of a retaining ring are called: as long as ring and plate take, less 2 mm."""
    longest = max(size for size in _SCREW_LENGTHS if size <= 2.0 * thick - 2.0)
    return f"countersunk wood screw {_SCREW:g} × {longest:g}, DIN 7997"


def min_overhang(grip: Grip, thickness: float, last: float, frame: Frame, ball: Bearing) -> float:
    """Return how far from the plate's face the middle of drum or wheel must be at least, mm.

    `last`: where the nut of the bearing ends. What is wider than the hole in the retaining ring
    stays clear of the ring.
    """
    below, hole = grip.below, hole_before(ball)
    on_rod = max((one.end for one in below if one.count == 1), default=0.0)
    wide = max((one.end for one in below if one.outer > hole - AIR), default=0.0)
    return max(last + on_rod, frame.plate_thickness + AIR + wide) + thickness / 2.0


def frame_tightenings(shafts: Shafts, plate: Panel) -> tuple[Tightening, Tightening]:
    """Return how tight the nuts of the bearings and those of the frame's rods are drawn.

    A tenth of what a rod yields at keeps a bearing's inner ring from creeping on it (assumption);
    on a plate washer and tube press no harder than its wood bears.
    """
    on, post = shafts.rod, seat(POST.thread, "washer")
    tube = Seat("tube", POST_TUBE, POST_TUBE - 2.0 * TUBE_WALL)
    clamp = min(Clamp(POST, ring).tight(plate)[0] for ring in (post, tube))
    return (
        Tightening("nuts of the bearings", on, 0.1 * on.grade.yield_strength * on.stress_area),
        Tightening("nuts of the frame rods", POST, clamp),
    )


def frame_layout(train: GearTrain, places: tuple[Point, ...], beyond: float = 0.0) -> Layout:
    """Return a rod that clamps the plates on the boards between them: nuts outside.

    `beyond`: how far from the lowest plate the cradle of the drive stands on it, on a tube, mm;
    0: none.
    """
    plates = [*train.stack_up.plates]
    names = [f"{PLATE} A", *(MIDDLE,) * (len(plates) - 2), f"{PLATE} B"]
    if beyond:
        thick, low = train.frame.plate_thickness, plates[0][0] - beyond
        plates, names = [(low - thick, low), *plates], [CRADLE, *names]
    nuts = _stack((Fitted.ring(POST.thread), Fitted.hexagon(POST)))
    bottom, top = plates[0][0], plates[-1][1]
    pieces = [_placed(layer, bottom, False) for layer in nuts]
    pieces += [_placed(layer, top, True) for layer in nuts]
    pieces.append(_locking(TURNABLE, POST.diameter, 2.0 * nuts[1].length, top))
    pieces += [
        Piece("plate", name, *z, ROD_HOLE, math.inf, fixed=True)
        for name, z in zip(names, plates, strict=True)
    ]
    if beyond:
        (_, low), (high, _) = plates[:2]
        item = f"steel tube {POST_TUBE:g} × {TUBE_WALL:g}, {high - low:.1f} mm"
        pieces.append(Piece("tube", item, low, high, POST_TUBE - 2.0 * TUBE_WALL, POST_TUBE))
    reach = nuts[1].end + POST.pitch
    return Layout(FRAME_RODS + " with the cradle" * bool(beyond), places,
                  _cut_rod(POST, bottom - reach, top + reach), _sorted(pieces))  # fmt: skip


def peg_layout(train: GearTrain, places: tuple[Point, ...], beyond: float, length: float) -> Layout:
    """Return a peg of the cradle: a rod through its plate, held by nuts on both faces."""
    high = train.stack_up.plates[0][0] - beyond
    low = high - train.frame.plate_thickness
    nuts = _stack((Fitted.ring(POST.thread), Fitted.hexagon(POST)))
    pieces = [_placed(layer, low, False) for layer in nuts]
    pieces += [_placed(layer, high, True) for layer in nuts]
    pieces.append(_locking(TURNABLE, POST.diameter, 2.0 * nuts[1].length, high))
    pieces.append(Piece("tool", "strip of felt, 1 mm", low, low, 0.0, 0.0))
    pieces.append(Piece("plate", CRADLE, low, high, ROD_HOLE, math.inf, fixed=True))
    bar = _cut_rod(POST, low - length, high + nuts[1].end + POST.pitch)
    return Layout("pegs of the cradle", places, bar, _sorted(pieces))


def more_pieces(plates: Sequence[tuple[float, float]]) -> tuple[Piece, ...]:
    """Return what stands on no rod: of the feet screws into a wooden bench, washers and glue; care.

    The screws go 25 mm into the bench, four diameters (common practice).
    """
    thick = plates[0][1] - plates[0][0]
    longest = next(size for size in _FOOT_SCREW_LENGTHS if size >= 2.0 * thick + 25.0)
    area = sum(2.0 * EAR * (high - low) for (_, low), (high, _) in pairwise(plates))
    ring, count = Fitted.ring(FOOT_SCREW), FOOT_SCREWS * (len(plates) - 1)
    return (
        Piece(
            "screw",
            f"hexagon wood screw 6 × {longest:g}, DIN 571",
            0.0,
            longest,
            0.0,
            6.0,
            count=count,
        ),
        Piece("washer", ring.name, 0.0, ring.length, ring.hole, ring.diameter, count=count),
        Piece("glue", WOOD_GLUE, 0.0, 0.0, 0.0, 0.0, grams=_WOOD_GLUE * area),
        Piece("tool", CARE, 0.0, 0.0, 0.0, 0.0),
    )


def bed_screws(bar: Bar, hole: float, panel: Panel) -> Piece:
    """Return the screws that hold a rack on its bed through holes so wide, mm."""
    size, long = screw_for(hole), screw_length(hole, panel)
    name = f"countersunk wood screw {size:g} × {long:g}, DIN 7997"
    return Piece("screw", name, 0.0, long, 0.0, size, count=len(bar.holes))


@dataclass(frozen=True)
class BillRow:
    """One line of the bill: its number, how many of what; grams of glue where there are any."""

    number: int
    count: int
    item: str
    grams: float = 0.0

    @property
    def amount(self) -> str:
        """How many, or how many grams."""
        return f"{self.grams:.1f} g" if self.grams else f"{self.count}"


ORDER: tuple[Kind, ...] = (
    "rod", "sleeve", "tube", "bearing", "bush", "shim", "nut", "washer", "spring", "ring", "bolt",
    "screw", "tool", "glue",
)  # fmt: skip


def bill_of(
    layouts: Iterable[Layout],
    sheets: Iterable[str],
    wood: Iterable[str],
    more: Iterable[Piece] = (),
) -> tuple[BillRow, ...]:
    """Return what to buy for these layouts and more pieces, each item once.

    `wood`: items cut from the sheets.
    """
    own = {*wood}
    counts: dict[str, int] = {}
    grams: dict[str, float] = {}
    place: dict[str, tuple[int, str]] = {}
    for sheet in sheets:
        counts[sheet] = counts.get(sheet, 0) + 1
        place[sheet] = (-1, sheet)
    every = [(p, len(one.at)) for one in layouts for p in (one.rod, *one.pieces)]
    for piece, times in (*every, *((p, 1) for p in more)):
        if piece.item in own or piece.kind not in ORDER:
            continue
        counts[piece.item] = counts.get(piece.item, 0) + piece.count * times
        grams[piece.item] = grams.get(piece.item, 0.0) + piece.grams * times
        place[piece.item] = (ORDER.index(piece.kind), piece.item)
    return tuple(
        BillRow(number, counts[item], item, grams.get(item, 0.0))
        for number, item in enumerate(sorted(place, key=place.__getitem__), 1)
    )
