"""The box about a train: plates that carry the bearings, boards between them, feet, rings.

The boards keep the plates apart and close the sides; rods in the corners clamp them. The lid lies
in notches, so that it comes off once its rods are loosened, with a spanner.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

import numpy as np

from gearwork.errors import GearworkError, number
from gearwork.geometry.features import MIN_WALL, RELIEF, BoltCircle, routed_circle
from gearwork.geometry.outline import Outline, as_pairs, rounded
from gearwork.geometry.part import Cut, Part, Placed, Point
from gearwork.geometry.tooth import Cutter

GEAR_GAP = 5.0
"""Air between a gear's tip circle and a spacer, mm (assumption)."""

SHOULDER = 1.0
"""Floor that must be left under a bearing's outer ring in a pocket, mm (assumption)."""

MARGIN = 12.0
"""Wood about seats and slots, mm (assumption)."""

ROD_HOLE = 8.5
"""For the M8 rods that hold the plates together, mm."""

INSET = 10.0
"""Of those rods from the boards, mm: a washer of 16 mm, and wood between hole and slot."""

TENON = 40.0
"""Of a board, at most, mm; a fifth of a short board."""

SLOT_PLAY, END_PLAY = 0.3, 0.4
"""Of a tenon in its slot, and of end boards between lid and foot board, mm (assumption)."""

END = 10.0
"""From the corner of the box to a slot, mm."""

EAR = 45.0
"""How far the foot board sticks out on either side, mm."""

FOOT_HOLE = 6.5
"""For screws of 6 mm, mm."""


@dataclass(frozen=True)
class Seat:
    """Where one bearing sits in a plate."""

    x: float  # its axis, mm
    y: float
    diameter: float  # outer diameter D of the bearing, mm (ISO 15)
    allowance: float = 0.0  # added for the fit, mm; negative for a press fit
    depth: float | None = None  # of a pocket from the outer face, mm; None: through
    hole_diameter: float | None = None  # for the shaft through a pocket's floor, mm; None: closed
    swept_diameter: float = 0.0  # largest tip circle on this axis, mm; rods and boards keep clear
    name: str = "bearing"  # what turns there

    def __post_init__(self) -> None:
        number(f"x of the {self.name} seat", self.x, unit="mm")
        number(f"y of the {self.name} seat", self.y, unit="mm")
        number(f"diameter of the {self.name} seat", self.diameter, unit="mm", above=0.0)
        number(
            f"allowance of the {self.name} seat", self.allowance, unit="mm", above=-self.diameter
        )
        number(
            f"swept diameter at the {self.name} seat", self.swept_diameter, unit="mm", at_least=0.0
        )
        if self.depth is not None:
            number(f"depth of the {self.name} seat", self.depth, unit="mm", above=0.0)
        if self.hole_diameter is None:
            return
        if self.depth is None:
            raise GearworkError(
                f"{self.name} seat goes through and has a hole of {self.hole_diameter!r} mm in its"
                " floor: leave the hole out or give the seat a depth"
            )
        largest = self.seat_diameter - 2 * SHOULDER
        number(
            f"hole in the floor of the {self.name} seat",
            self.hole_diameter,
            unit="mm",
            above=0.0,
            at_most=largest,
        )

    @property
    def seat_diameter(self) -> float:
        """Diameter to cut, mm."""
        return self.diameter + self.allowance

    @property
    def centre(self) -> Point:
        """Its axis, mm."""
        return self.x, self.y

    def cuts(self, bit: Cutter) -> tuple[Cut, ...]:
        """Return the seat as cut from the outer face."""
        ring = routed_circle(f"{self.name} seat", self.seat_diameter, bit, self.centre)
        if self.depth is None:
            return (Cut(ring, "inside edge"),)
        pocket = Cut(ring, "pocket", self.depth)
        if self.hole_diameter is None:
            return (pocket,)
        label = f"hole in the {self.name} seat"
        hole = routed_circle(label, self.hole_diameter, bit, self.centre)
        return pocket, Cut(hole, "inside edge")


@dataclass(frozen=True)
class Box:
    """The room that boards enclose between two plates, by the inner faces of the boards, mm.

    `thickness`: of plates and boards; `feet_up`: whether the feet are on the upper side, as of a
    machine that hangs under a floor, and the lid on the lower one.
    """

    left: float
    low: float
    right: float
    high: float
    thickness: float
    feet_up: bool = False

    @classmethod
    def around(
        cls, seats: Sequence[Seat], air: float, thickness: float, feet_up: bool = False
    ) -> "Box":
        """Enclose all that turns on these axes, `air` mm beside it.

        With room for a rod in each corner and wood about every seat.
        """
        if not seats:
            raise GearworkError("side plates have no seat: give at least one axis")
        turns = np.array([turning(seat.swept_diameter, seat.seat_diameter, air) for seat in seats])
        beside = turns / 2 + air + corner_room(float(turns.min()), air)
        x, y = np.array([seat.centre for seat in seats]).T
        left, low = float((x - beside).min()), float((y - beside).min())
        right, high = float((x + beside).max()), float((y + beside).max())
        return cls(left, low, right, high, thickness, feet_up)

    @property
    def rods(self) -> tuple[Point, ...]:
        """Where the rods stand that hold the plates together: in its corners."""
        return tuple(
            (x, y)
            for y in (self.low + INSET, self.high - INSET)
            for x in (self.left + INSET, self.right - INSET)
        )

    @property
    def edge(self) -> tuple[float, float, float, float]:
        """Smallest x and y, largest x and y of a plate: flush with feet and lid."""
        aside, foot, lid = self.thickness + MARGIN, FOOT * self.thickness, self.thickness
        low, high = (lid, foot) if self.feet_up else (foot, lid)
        return self.left - aside, self.low - low, self.right + aside, self.high + high

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """The same with the feet, which stick out at both sides."""
        left, low, right, high = self.edge
        return left - EAR, low, right + EAR, high

    def distance(self, at: Point) -> float:
        """From an axis to the nearest board, mm."""
        (x, y), sides = at, (self.left, self.low, self.right, self.high)
        return min(x - sides[0], y - sides[1], sides[2] - x, sides[3] - y)


FOOT = 2.0
"""A plate reaches so many thicknesses beyond the box at the feet: foot board, and pads below it."""


def plate_sizes(
    width: Any, height: Any, thickness: float, sheet: tuple[float, float]
) -> dict[str, tuple[Any, float]]:
    """Return what plates and boards need of a sheet and what it has, mm; arrays too.

    `width`, `height`: of a plate, which may lie at any right angle on its sheet; boards, of which
    the one at the feet is the longest or an end board, lie along the grain; `sheet`: along it and
    across, without margins.
    """
    board = np.maximum(width + 2.0 * EAR, height - (FOOT + 1.0) * thickness)
    return {
        "short side of the plates": (np.minimum(width, height), min(sheet)),
        "long side of the plates": (np.maximum(width, height), max(sheet)),
        "length of the boards": (board, sheet[0]),
    }


def turning(swept_diameter: Any, seat_diameter: Any, air: float) -> Any:
    """Return the circle about an axis which a box keeps `air` away from, mm; arrays too.

    That of its gears, or of the wood that a seat needs about it.
    """
    return np.maximum(swept_diameter, seat_diameter + 2.0 * (MARGIN - air))


def corner_room(diameter: Any, air: float) -> Any:
    """Return by how much more a box must be away from a circle in its corner, mm; arrays too.

    So that a rod in the corner, `INSET` from both boards, keeps `air` from the circle: √2 (R + air
    + room - INSET) = R + air + half the rod's hole.
    """
    reach = diameter / 2.0 + air
    return np.maximum((reach + ROD_HOLE / 2.0) / np.sqrt(2.0) - reach + INSET, 0.0)


def side_plate(seats: Sequence[Seat], box: Box, bit: Cutter, name: str = "side plate") -> Part:
    """Return a plate that carries the bearings of a train, one seat an axis, from its outer face.

    Boards stand in its slots, the lid in notches of its edge, rods go through its corners.
    """
    _check_seats(seats)
    left, low, right, high = box.edge
    slots = _Tenons.of(box.right - box.left, box.thickness, bit)
    sides = _Tenons.of(box.high - box.low, box.thickness, bit)
    thick, wide, r = box.thickness, slots.slot / 2, slots.corner
    # the lid's notches, as if it were above; turned upside down where it is not
    under, lid, top = (-high, -box.low, -low) if box.feet_up else (low, box.high, high)
    corners = [(left, under, 0.0), (right, under, 0.0), (right, top, 0.0)]
    for centre in reversed(slots.places):
        x = box.left + centre
        corners += [(x + wide, top, 0.0), (x + wide, lid, r), (x - wide, lid, r),
                    (x - wide, top, 0.0)]  # fmt: skip
    outer = rounded([*corners, (left, top, 0.0)])
    if box.feet_up:
        outer = _upside_down(outer)
    cuts = [cut for seat in seats for cut in seat.cuts(bit)]
    cuts += [Cut.drilled(ROD_HOLE, place) for place in box.rods]
    feet = box.high + thick / 2 if box.feet_up else box.low - thick / 2
    paths = [_slot(box.left + c, feet, slots.slot, slots.width, r) for c in slots.places]
    for x in (box.left - thick / 2, box.right + thick / 2):
        paths += [_slot(x, box.low + c, sides.width, sides.slot, r) for c in sides.places]
    cuts += [Cut(path, "inside edge") for path in paths]
    # judged in its weakest direction
    return Part(name, outer, thick, tuple(cuts), grain=None, notes=_notes(seats))


@dataclass(frozen=True)
class _Tenons:
    """Where the tenons of a board are along the box, how wide, and the slots they stand in, mm.

    `corner`: radius in the corners of slots and beside tenons; `width`: across a slot.
    """

    places: tuple[float, ...]
    tenon: float
    slot: float
    width: float
    corner: float

    @classmethod
    def of(cls, length: float, thickness: float, bit: Cutter) -> "_Tenons":
        """Return two tenons near the ends, or one in the middle where the board is short."""
        width = thickness + SLOT_PLAY
        if bit.cut_diameter > 0.98 * width:
            raise GearworkError(
                f"slots for boards in the plates are {width:g} mm wide: a bit that cuts"
                f" {bit.cut_diameter:g} mm does not go in; take a thicker plate or a bit of at most"
                f" {0.98 * width:.1f} mm"
            )
        corner = min(RELIEF * bit.cut_diameter / 2, 0.49 * width)
        tenon = min(TENON, length / 5)
        slot = tenon + 2 * corner + SLOT_PLAY
        end = END + slot / 2
        places = (end, length - end) if length >= 2 * slot + 3 * END else (length / 2,)
        return cls(places, tenon, slot, width, corner)


def _slot(x: float, y: float, width: float, height: float, corner: float) -> Outline:
    """A slot about its middle, mm."""
    left, right, low, high = x - width / 2, x + width / 2, y - height / 2, y + height / 2
    return rounded([(left, low, corner), (right, low, corner), (right, high, corner),
                    (left, high, corner)])  # fmt: skip


def boards(
    box: Box, height: float, ends: tuple[float, float], bit: Cutter, which: str = ""
) -> tuple[Part, ...]:
    """Return the boards between two plates: foot board, lid, end boards, pads under the feet.

    `height`: from plate to plate, mm; `ends`: how far tenons go into the lower and the upper plate.
    """
    length, across = box.right - box.left, box.high - box.low
    thick = box.thickness
    along, up = _Tenons.of(length, thick, bit), _Tenons.of(across, thick, bit)
    beyond = EAR + thick + MARGIN
    foot = _board(length + 2 * beyond, height, along, beyond, ends)
    lid = _board(length + 2 * thick, height, along, thick, ends)
    end = _board(across - END_PLAY, height, up, -END_PLAY / 2, ends)
    holes = tuple(
        Cut.drilled(FOOT_HOLE, (x, y))
        for x in (EAR / 2, length + 2 * beyond - EAR / 2)
        for y in foot_holes(height)
    )
    pad = rounded([(0.0, 0.0, 0.0), (EAR, 0.0, 0.0), (EAR, height, 0.0), (0.0, height, 0.0)])
    return (
        Part(f"foot board{which}", foot, thick, holes),
        Part(f"lid{which}", lid, thick, grain=None),
        Part(f"end board{which}", end, thick, count=2),
        Part(f"foot pad{which}", pad, thick, holes[:2], count=2, grain=None),
    )


def board_places(box: Box, made: Sequence[Part], start: float) -> tuple[Placed, ...]:
    """Return where boards from `boards` stand, pads and end boards twice, from a plate's face on.

    In the order foot board, its pads, lid, end boards. `start`: that face along the rods, mm.
    """
    foot, lid, end, pad = made
    thick, beyond = box.thickness, EAR + box.thickness + MARGIN
    below, above = (box.high + thick, box.low) if box.feet_up else (box.low, box.high + thick)
    outside = below + thick if box.feet_up else below - thick
    x, y, z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
    ears = box.left - beyond, box.right + beyond - EAR
    return (
        Placed(foot, (box.left - beyond, below, start), x, z),
        *(Placed(pad, (ear, outside, start), x, z, under_foot=True) for ear in ears),
        Placed(lid, (box.left - thick, above, start), x, z),
        *(
            Placed(end, (side, box.low + END_PLAY / 2, start), y, z)
            for side in (box.left - thick, box.right)
        ),
    )


def foot_holes(height: float) -> tuple[float, float]:
    """Return where the holes of a foot are across a board of such a height, mm."""
    aside = min(FOOT_HOLE / 2 + MARGIN, height / 4)
    return aside, height - aside


def _board(
    length: float, height: float, tenons: _Tenons, start: float, ends: tuple[float, float]
) -> Outline:
    """A board with tenons on both long edges; the box begins `start` mm from its end."""
    half, r = tenons.tenon / 2, tenons.corner
    corners = [(0.0, 0.0, 0.0)]
    for place in tenons.places:
        x = start + place
        corners += [(x - half, 0.0, r), (x - half, -ends[0], 0.0), (x + half, -ends[0], 0.0),
                    (x + half, 0.0, r)]  # fmt: skip
    corners += [(length, 0.0, 0.0), (length, height, 0.0)]
    top = height + ends[1]
    for place in reversed(tenons.places):
        x = start + place
        corners += [(x + half, height, r), (x + half, top, 0.0), (x - half, top, 0.0),
                    (x - half, height, r)]  # fmt: skip
    return rounded([*corners, (0.0, height, 0.0)])


def turned_over(part: Part, name: str) -> Part:
    """Return the mirror image of a part, which lies on the other side of the machine."""
    return replace(
        part,
        name=name,
        outer=_turned_over(part.outer),
        cuts=tuple(replace(cut, outline=_turned_over(cut.outline)) for cut in part.cuts),
        grain=None if part.grain is None else (180.0 - part.grain) % 360.0,
        notes=(*part.notes, "seen from its own outside: x counts to the left"),
    )


def retaining_ring(
    name: str, diameter: float, hole: float, screws: BoltCircle, bit: Cutter, thickness: float
) -> Part:
    """Return a ring screwed to a plate before a bearing; sizes in mm."""
    inside = Cut(routed_circle(f"hole in the {name}", hole, bit), "inside edge")
    corners = diameter / 2 * np.exp(2j * np.pi * np.arange(8) / 8)
    # eight arcs, so that there is room for holding tabs between their ends
    edge = Outline(as_pairs(corners), np.full(8, np.tan(np.pi / 16)))
    return Part(name, edge, thickness, (inside, *screws.cuts(bit, diameter)), grain=None)


def _check_seats(seats: Sequence[Seat]) -> None:
    for one, other in combinations(seats, 2):
        apart = float(np.hypot(one.x - other.x, one.y - other.y))
        wood = apart - (one.seat_diameter + other.seat_diameter) / 2
        if wood < MIN_WALL:
            raise GearworkError(
                f"{one.name} and {other.name} seats have {wood:.2f} mm of wood between them:"
                f" {MIN_WALL:g} mm is needed; take smaller bearings or move the axes to"
                f" {apart - wood + MIN_WALL:.2f} mm from each other"
            )


def _notes(seats: Sequence[Seat]) -> tuple[str, ...]:
    return tuple(
        f"{seat.name} seat {seat.seat_diameter:g} mm at ({seat.x:.3f}, {seat.y:.3f}), "
        + ("through" if seat.depth is None else f"{seat.depth:g} mm deep, from the outer face")
        for seat in seats
    )


def _upside_down(outline: Outline) -> Outline:
    """Mirrored in the x axis."""
    return Outline(outline.vertices * np.array([1.0, -1.0]), -outline.bulges).reversed()


def _turned_over(outline: Outline) -> Outline:
    return Outline(outline.vertices * np.array([-1.0, 1.0]), -outline.bulges).reversed()
