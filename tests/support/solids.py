"""A machine as solids: what stands on its rods, judged by its own arithmetic.

Every piece is a ring about its axis, from `start` to `end` along it. Of the package the pieces' own
figures are used, and its verdict on rods too close to each other; distances by Pythagoras.
"""

import itertools
import math

from gearwork.errors import GearworkError

NEAR = 1e-6
PLAY = 0.5
"""Axial play on either side of a free bearing, mm: half of the 1 mm its seat is deeper."""


def faults(design):
    """Return what is wrong with the solids of a machine, in words; nothing where all is right.

    Rods that stand too close to each other, and wheels in the box, are no fault where the machine's
    own checks say so.
    """
    found = []
    for layout in design.layouts:
        found += [f"{layout.name}: {fault}" for fault in _along(layout)]
    for layout in design.shaft_layouts:
        found += [f"{layout.name}: {fault}" for fault in (*_held(layout), *_ends(layout, design))]
    found += _frame(design)
    if design.room_report().ok:
        found += [*_in_the_box(design), *_in_the_plane(design)]
    return found


def _frame(design):
    """Boards are as high as the plates are apart and their tenons no longer than plates are
    thick."""
    try:
        parts = {part.name: part for part in design.parts}
    except GearworkError:  # not to be cut with this bit
        return
    plates = design.train.stack_up.plates
    for number, (below, above) in enumerate(itertools.pairwise(plates), 1):
        gap = above[0] - below[1]
        name = f" {number}" if len(plates) > 2 else ""
        for what in ("foot board", "lid", "end board"):
            _, low, _, high = parts[what + name].bounds
            straight = {round(float(y), 6) for _, y in parts[what + name].outer.vertices}
            if not {0.0, round(gap, 6)} <= straight:
                yield f"{what}{name} is not {gap:.2f} mm high between its shoulders"
            for tenon, plate in ((-low, below), (high - gap, above)):
                room = plate[1] - plate[0]
                if tenon > room * (1.0 if plate in (plates[0], plates[-1]) else 0.5) + NEAR:
                    yield f"a tenon of {what}{name} is {tenon:.2f} mm long: {room:.2f} mm of plate"


def _in_the_box(design):
    """Everything between the plates but what meshes stays inside the box."""
    plates, box = design.train.stack_up.plates, design.train.box
    for layout in design.layouts[:-1]:
        (x, y) = layout.at[0]
        room = min(x - box.left, box.right - x, y - box.low, box.high - y)
        for piece in solid(layout):
            inside = piece.start > plates[0][1] - NEAR and piece.end < plates[-1][0] + NEAR
            if inside and not piece.fixed and piece.outer / 2 > room - 5.0 + NEAR:
                yield f"{piece.item} is {room - piece.outer / 2:.2f} mm from a board"


def solid(layout):
    """The rod and what takes room; glue does not, and screws stand in holes made for them."""
    return [layout.rod, *(p for p in layout.pieces if p.kind not in ("glue", "screw", "tool"))]


def overlap(a, b, c, d):
    return min(b, d) - max(a, c)


def _along(layout):
    """Nothing overlaps; all is on the rod; the lengths add up."""
    for one, other in itertools.combinations(solid(layout), 2):
        deep = overlap(one.start, one.end, other.start, other.end)
        wide = overlap(one.inner, one.outer, other.inner, other.outer)
        if deep > NEAR and wide > NEAR:
            yield f"{one.item} and {other.item} of {one.name} overlap by {deep:.2f} mm"
    rod = layout.rod
    turning = [p for p in solid(layout)[1:] if not p.fixed and p.count == 1]
    for piece in turning:
        if piece.kind == "sleeve":  # a motor's shaft is in its outer half
            if not piece.start < rod.start < piece.start + piece.length / 2 + 1.0:
                yield f"{piece.item} does not reach halfway over the end of the rod"
        elif piece.start < rod.start - NEAR or piece.end > rod.end + NEAR:
            yield f"{piece.item} of {piece.name} is not on the rod"
    # along the rod each place is covered by a piece or bare, and by one of the two alone
    cuts = sorted({rod.start, rod.end, *(z for p in turning for z in (p.start, p.end))})
    for low, high in itertools.pairwise(cuts):
        middle = (low + high) / 2
        covered = any(p.start < middle < p.end for p in turning if p.kind != "rod")
        bare = any(start < middle < end for start, end in layout.bare)
        if high - low > NEAR and covered == bare and layout.name.startswith("shaft"):
            yield f"from {low:.2f} to {high:.2f} mm it is neither bare nor covered, or both"
    told = float(rod.item.split(", ")[-1].removesuffix(" mm"))
    if abs(told - (rod.end - rod.start)) > NEAR:
        yield f"the rod is {rod.end - rod.start} mm long and the bill says {told}"


def _touched(piece, others):
    """Whether something lies against its lower and against its upper face."""
    near = [o for o in others if overlap(o.inner, o.outer, piece.inner, piece.outer) > NEAR]
    return (
        any(abs(o.end - piece.start) < NEAR for o in near),
        any(abs(o.start - piece.end) < NEAR for o in near),
    )


def _held(layout):
    """Nothing can slide: between two nuts at the last, or glued; bearings by both rings."""
    pieces = [p for p in solid(layout) if not p.fixed and p.kind != "rod"]
    glued = {p.name for p in layout.pieces if p.kind == "glue" and p.outer == layout.rod.outer}
    for piece in pieces:
        if piece.kind in ("nut", "bolt", "sleeve") or (
            piece.kind in ("gear", "disc") and piece.name in glued
        ):
            continue
        others = [p for p in pieces if p is not piece and p.kind != "bush"]
        if piece.kind == "bush":
            others = [p for p in pieces if p.kind == "shim"]
        below, above = _touched(piece, others)
        if not below or not above:
            where = "both sides" if below == above else "below" if above else "above"
            yield f"{piece.item} of {piece.name} lies against nothing {where}"
    for ball in (p for p in pieces if p.kind == "bearing"):
        wood = [p for p in layout.pieces if p.fixed and p.kind in ("plate", "ring")]
        rooms = (
            min((ball.start - p.end for p in wood if _stops(p, ball, below=True)), default=None),
            min((p.start - ball.end for p in wood if _stops(p, ball, below=False)), default=None),
        )
        between = any(
            p.item == "middle plate" and p.start - NEAR <= ball.start < p.end for p in wood
        )
        free = all(room is not None and abs(room - PLAY) < NEAR for room in rooms)
        fixed = all(room is not None and abs(room) < NEAR for room in rooms)
        if not (between or free or fixed):
            yield f"{ball.name} has {rooms} mm of room in its seat"


def _stops(wood, ball, below):
    """Whether a piece of wood covers the outer ring of a bearing, at least 1 mm, on a side."""
    covers = overlap(wood.inner, wood.outer, ball.inner, ball.outer) >= 2.0
    beyond = wood.end <= ball.start + NEAR if below else wood.start >= ball.end - NEAR
    return covers and beyond


def _ends(layout, design):
    """One bearing of a shaft is fixed; an end that is for nothing ends inside the wood."""
    wood = [p for p in layout.pieces if p.fixed and p.kind in ("plate", "ring")]
    balls = [p for p in layout.pieces if p.kind == "bearing"]
    fixed = [
        b
        for b in balls
        if any(abs(p.end - b.start) < NEAR for p in wood if _stops(p, b, below=True))
        and any(abs(p.start - b.end) < NEAR for p in wood if _stops(p, b, below=False))
    ]
    if len(balls) != 2 or len(fixed) != 1:
        yield f"{len(fixed)} of its {len(balls)} bearings are fixed"
    low, high = min(p.start for p in wood), max(p.end for p in wood)
    if not layout.ends[0] and layout.rod.start < low - NEAR:
        yield f"its lower end sticks out by {low - layout.rod.start:.2f} mm"
    if not layout.ends[1] and layout.rod.end > high + NEAR:
        yield f"its upper end sticks out by {layout.rod.end - high:.2f} mm"


def _in_the_plane(design):
    """Nothing of one rod stands in anything of another, meshing gears apart."""
    gears = {
        gear.name: {gear.stage, gear.stage + gear.name.startswith("idler")}
        for gear in design.train.gears
    }
    for one, other in itertools.combinations(design.layouts, 2):
        for at, to in itertools.product(one.at, other.at):
            apart = math.dist(at, to)
            for a, b in itertools.product(solid(one), solid(other)):
                if a.kind == "plate" or b.kind == "plate":
                    continue
                mates = a.kind == b.kind == "gear" and bool(gears[a.name] & gears[b.name])
                if mates or overlap(a.start, a.end, b.start, b.end) < NEAR:
                    continue
                if apart < (a.outer + b.outer) / 2 - NEAR:
                    yield (
                        f"{a.item} of {one.name} and {b.item} of {other.name} overlap:"
                        f" {apart:.2f} mm apart"
                    )
