"""The plates that carry the bearings, with their spacers, and the rings that hold them in."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from gearwork.errors import GearworkError, number, whole_number
from gearwork.geometry.features import MIN_WALL, BoltCircle, routed_circle
from gearwork.geometry.outline import Outline, as_pairs, circle_hull
from gearwork.geometry.part import Cut, Part, Point
from gearwork.geometry.tooth import Cutter
from gearwork.numbers import Floats

GEAR_GAP = 5.0
"""Air between a gear's tip circle and a spacer, mm (assumption)."""

SHOULDER = 1.0
"""Floor that must be left under a bearing's outer ring in a pocket, mm (assumption)."""

_STEP = 1.0
"""Between places tried for spacers, mm."""


@dataclass(frozen=True)
class Seat:
    """Where one bearing sits in a plate."""

    x: float  # its axis, mm
    y: float
    diameter: float  # outer diameter D of the bearing, mm (ISO 15)
    allowance: float = 0.0  # added for the fit, mm; negative for a press fit
    depth: float | None = None  # of a pocket from the outer face, mm; None: through
    hole_diameter: float | None = None  # for the shaft through a pocket's floor, mm; None: closed
    swept_diameter: float = 0.0  # largest tip circle on this axis, mm; spacers keep clear
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
class Spacers:
    """What keeps the plates apart."""

    outer_diameter: float  # room each takes, mm: that of the tube, or of the nuts on a rod
    hole_diameter: float  # in the plates for the rod or screw, mm
    count: int = 4  # from 3

    def __post_init__(self) -> None:
        number("spacer diameter", self.outer_diameter, unit="mm", above=0.0)
        number(
            "hole for a spacer",
            self.hole_diameter,
            unit="mm",
            above=0.0,
            at_most=self.outer_diameter,
        )
        whole_number("count of spacers", self.count, at_least=3)


def side_plate(
    seats: Sequence[Seat],
    bit: Cutter,
    thickness: float,
    margin: float,
    spacers: Spacers,
    grain: float = 0.0,
    name: str = "side plate",
) -> Part:
    """Return a plate that carries the bearings of a train, one seat an axis, from its outer face.

    The spacers stand on the hull round everything that turns, as far from each other as they can;
    the edge is the hull round seats and spacers, `margin` mm of wood beside each. Grain in degrees
    from +x.
    """
    if not seats:
        raise GearworkError("side plates have no seat: give at least one axis")
    margin = number("margin of the side plates", margin, unit="mm", at_least=MIN_WALL)
    _check_seats(seats)
    places = spacer_places(seats, margin, spacers)
    rings = [(seat.centre, seat.seat_diameter) for seat in seats]
    rings += [(place, spacers.hole_diameter) for place in places]
    cuts = [cut for seat in seats for cut in seat.cuts(bit)]
    cuts += [Cut.drilled(spacers.hole_diameter, place) for place in places]
    edge = circle_hull([(centre, size + 2 * margin) for centre, size in rings])
    return Part(name, edge, thickness, tuple(cuts), grain=grain, notes=_notes(seats))


def spacer_places(seats: Sequence[Seat], margin: float, spacers: Spacers) -> list[Point]:
    """Return where the spacers stand: clear of what turns and of the seats' wood."""
    kept_clear = [
        max(seat.swept_diameter + 2 * GEAR_GAP, seat.seat_diameter + 2 * margin)
        + spacers.outer_diameter
        for seat in seats
    ]
    band = circle_hull([(seat.centre, size) for seat, size in zip(seats, kept_clear, strict=True)])
    return _spread(band.spaced(_STEP), spacers.count)


def turned_over(part: Part, name: str) -> Part:
    """Return the mirror image of a part, which lies on the other side of the machine."""
    return replace(
        part,
        name=name,
        outer=_turned_over(part.outer),
        cuts=tuple(replace(cut, outline=_turned_over(cut.outline)) for cut in part.cuts),
        grain=(180.0 - part.grain) % 360.0,
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
    return Part(name, edge, thickness, (inside, *screws.cuts(bit, diameter)))


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


def _spread(places: Floats, count: int) -> list[Point]:
    """Choose places far from each other, each the farthest from those before it."""
    room = np.hypot(*(places - places.mean(axis=0)).T)
    found: list[Point] = []
    for _ in range(count):
        # Rounded, so that places that are as good come out the same on every machine.
        x, y = places[int(np.argmax(np.round(room, 6)))]
        apart = np.hypot(places[:, 0] - x, places[:, 1] - y)
        room = np.minimum(room, apart) if found else apart
        found.append((float(x), float(y)))
    return found


def _notes(seats: Sequence[Seat]) -> tuple[str, ...]:
    return tuple(
        f"{seat.name} seat {seat.seat_diameter:g} mm at ({seat.x:.3f}, {seat.y:.3f}), "
        + ("through" if seat.depth is None else f"{seat.depth:g} mm deep, from the outer face")
        for seat in seats
    )


def _turned_over(outline: Outline) -> Outline:
    return Outline(outline.vertices * np.array([-1.0, 1.0]), -outline.bulges).reversed()
