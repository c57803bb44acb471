"""The two side plates that carry the bearings, with their spacers."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from gearwork.errors import GearworkError, number, whole_number
from gearwork.geometry.features import MIN_WALL, routed_circle
from gearwork.geometry.outline import Outline, circle_hull
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
    """Where one bearing sits in both plates."""

    x: float  # its axis, mm
    y: float
    diameter: float  # outer diameter D of the bearing, mm (ISO 15)
    allowance: float = 0.0  # added for the fit, mm; negative for a press fit
    depth: float | None = None  # of a pocket from the inner face, mm; None: through
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
        """Return the seat as cut from the inner face."""
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

    length: float  # inside between the plates, mm
    outer_diameter: float  # room each takes, mm: that of the tube, or of the nuts on a rod
    hole_diameter: float  # in the plates for the rod or screw, mm
    count: int = 4  # from 3
    name: str = "tube"  # what they are made of

    def __post_init__(self) -> None:
        number("spacer length", self.length, unit="mm", above=0.0)
        number("spacer diameter", self.outer_diameter, unit="mm", above=0.0)
        number(
            "hole for a spacer",
            self.hole_diameter,
            unit="mm",
            above=0.0,
            at_most=self.outer_diameter,
        )
        whole_number("count of spacers", self.count, at_least=3)


def side_plates(
    seats: Sequence[Seat],
    bit: Cutter,
    thickness: float,
    margin: float,
    spacers: Spacers,
    grain: float = 0.0,
    name: str = "side plate",
) -> tuple[Part, ...]:
    """Return the plates that carry the bearings of a train, one seat an axis.

    The spacers stand on the hull round everything that turns, as far from each other as they can;
    the edge is the hull round seats and spacers, `margin` mm of wood beside each. One part of which
    two are needed where every seat goes through; else the plate and its mirror image, as pockets
    lie on the inner faces. Grain in degrees from +x.
    """
    if not seats:
        raise GearworkError("side plates have no seat: give at least one axis")
    margin = number("margin of the side plates", margin, unit="mm", at_least=MIN_WALL)
    _check_seats(seats)
    kept_clear = [  # by the middles of the spacers: of what turns, and of the seats' wood
        max(seat.swept_diameter + 2 * GEAR_GAP, seat.seat_diameter + 2 * margin)
        + spacers.outer_diameter
        for seat in seats
    ]
    band = circle_hull([(seat.centre, size) for seat, size in zip(seats, kept_clear, strict=True)])
    places = _spread(band.spaced(_STEP), spacers.count)
    rings = [(seat.centre, seat.seat_diameter) for seat in seats]
    rings += [(place, spacers.hole_diameter) for place in places]
    cuts = [cut for seat in seats for cut in seat.cuts(bit)]
    cuts += [Cut.drilled(spacers.hole_diameter, place) for place in places]
    edge = circle_hull([(centre, size + 2 * margin) for centre, size in rings])
    through = all(seat.depth is None for seat in seats)
    notes = _notes(seats, spacers)
    plate = Part(name, edge, thickness, tuple(cuts), 2 if through else 1, grain, notes)
    if through:
        return (plate,)
    mirrored = replace(
        plate,
        name=f"{name} B",
        outer=_turned_over(plate.outer),
        cuts=tuple(replace(cut, outline=_turned_over(cut.outline)) for cut in cuts),
        grain=(180.0 - plate.grain) % 360.0,
        notes=(*notes, "mirror image: x counts to the left"),
    )
    return replace(plate, name=f"{name} A"), mirrored


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


def _notes(seats: Sequence[Seat], spacers: Spacers) -> tuple[str, ...]:
    lines = []
    for seat in seats:
        deep = "through" if seat.depth is None else f"{seat.depth:g} mm deep, from the inner face"
        lines.append(
            f"{seat.name} seat {seat.seat_diameter:g} mm at ({seat.x:.3f}, {seat.y:.3f}), {deep}"
        )
    lines.append(f"spacers: {spacers.count} x {spacers.name}, {spacers.length:g} mm long")
    return tuple(lines)


def _turned_over(outline: Outline) -> Outline:
    return Outline(outline.vertices * np.array([-1.0, 1.0]), -outline.bulges).reversed()
