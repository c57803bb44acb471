"""The two side plates that carry the bearings, with their spacers and screw holes."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from gearwork.errors import GearworkError, number, whole_number
from gearwork.geometry.features import MIN_WALL, routed_circle
from gearwork.geometry.outline import Circle, Outline, circle_hull
from gearwork.geometry.part import Cut, Part, Point
from gearwork.geometry.tooth import Cutter
from gearwork.numbers import Floats

GEAR_GAP = 5.0
"""Air between a gear's tip circle and a spacer, mm (assumption)."""

SHOULDER = 1.0
"""Floor that must be left under a bearing's outer ring in a pocket, mm (assumption)."""

_STEP = 1.0
"""Between places tried for spacers and screws, mm."""


@dataclass(frozen=True)
class Seat:
    """Where one bearing sits in both plates.

    Attributes
    ----------
    x, y : float
        Its axis, mm.
    diameter : float
        Outer diameter D of the bearing, mm (ISO 15).
    allowance : float
        Added to it for the fit, mm; negative for a press fit.
    depth : float, optional
        Of a pocket from the inner face of the plate, mm; None: through.
    hole_diameter : float, optional
        Hole for the shaft through the floor of a pocket, mm; None: a closed floor.
    swept_diameter : float
        Largest tip circle that turns on this axis between the plates, mm; spacers keep clear.
    name : str
        What turns there.

    Raises
    ------
    GearworkError
        If a value cannot be.
    """

    x: float
    y: float
    diameter: float
    allowance: float = 0.0
    depth: float | None = None
    hole_diameter: float | None = None
    swept_diameter: float = 0.0
    name: str = "bearing"

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
        """Return the seat as cut from the inner face.

        Raises
        ------
        GearworkError
            If the bit does not go in.
        """
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
    """What keeps the plates apart.

    Attributes
    ----------
    length : float
        Inside between the plates, mm.
    outer_diameter : float
        Room each takes between the plates, mm: that of the tube, or of the nuts on a rod.
    hole_diameter : float
        Hole in the plates for the rod or screw, mm.
    count : int
        How many, from 3.
    name : str
        What they are made of.

    Raises
    ------
    GearworkError
        If a value cannot be.
    """

    length: float
    outer_diameter: float
    hole_diameter: float
    count: int = 4
    name: str = "tube"

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


@dataclass(frozen=True)
class Screws:
    """Drilled holes by which the plates are screwed to the machine: how many, diameter in mm."""

    count: int
    hole_diameter: float

    def __post_init__(self) -> None:
        whole_number("count of screws", self.count, at_least=1)
        number("screw hole diameter", self.hole_diameter, unit="mm", above=0.0)


@dataclass(frozen=True)
class SidePlates:
    """Both plates, and where their spacers and screws are.

    Attributes
    ----------
    parts : tuple of Part
        One part of which two are needed where every seat goes through; else the plate and its
        mirror image, as pockets lie on the inner faces.
    spacer_centres, screw_centres : tuple of (float, float)
        mm.
    """

    parts: tuple[Part, ...]
    spacer_centres: tuple[Point, ...]
    screw_centres: tuple[Point, ...]


def side_plates(
    seats: Sequence[Seat],
    bit: Cutter,
    thickness: float,
    margin: float,
    spacers: Spacers,
    screws: Screws | None = None,
    grain: float = 0.0,
    name: str = "side plate",
) -> SidePlates:
    """Return the plates that carry the bearings of a train.

    The spacers stand on the hull round everything that turns, as far from each other as they
    can; the edge is the hull round seats and spacers, `margin` of wood beside each. Screw holes
    go along the edge, their centres two diameters from it and from seats and spacers and four
    from each other (common practice for panels; bolts that carry at full strength want more).

    Parameters
    ----------
    seats : sequence of Seat
        One an axis.
    bit : Bit
        Its `cut_diameter` counts.
    thickness : float
        Of the sheet, mm.
    margin : float
        Wood between a seat or spacer hole and the edge, mm.
    spacers : Spacers
        Between the plates.
    screws : Screws, optional
        To fasten the plates; their heads are to be sunk, as gears may turn before them.
    grain : float
        Direction of the face grain, degrees from +x.
    name : str
        What the maker calls a plate.

    Raises
    ------
    GearworkError
        If seats come too near to each other, the bit does not go in, or there is no room for
        the screws.
    """
    if not seats:
        raise GearworkError("side plates have no seat: give at least one axis")
    margin = number("margin of the side plates", margin, unit="mm", at_least=MIN_WALL)
    _check_seats(seats)
    places = _spacer_places(seats, spacers, margin)
    rings = [(seat.centre, seat.seat_diameter) for seat in seats]
    rings += [(place, spacers.hole_diameter) for place in places]
    screwed = () if screws is None else _screw_places(rings, len(seats), margin, spacers, screws)
    cuts = [cut for seat in seats for cut in seat.cuts(bit)]
    cuts += [Cut.drilled(spacers.hole_diameter, place) for place in places]
    if screws is not None:
        cuts += [Cut.drilled(screws.hole_diameter, place) for place in screwed]
    edge = circle_hull([(centre, size + 2 * margin) for centre, size in rings])
    through = all(seat.depth is None for seat in seats)
    notes = _notes(seats, spacers, screws)
    plate = Part(name, edge, thickness, tuple(cuts), 2 if through else 1, grain, notes)
    if through:
        return SidePlates((plate,), places, screwed)
    mirrored = replace(_mirrored(plate), name=f"{name} B")
    return SidePlates((replace(plate, name=f"{name} A"), mirrored), places, screwed)


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


def _spacer_places(seats: Sequence[Seat], spacers: Spacers, margin: float) -> tuple[Point, ...]:
    """Places on the band round everything that turns, where the gears leave room."""
    kept_clear = [
        (
            seat.centre,
            max(
                seat.swept_diameter + 2 * GEAR_GAP + spacers.outer_diameter,
                seat.seat_diameter + 2 * margin + spacers.outer_diameter,
            ),
        )
        for seat in seats
    ]
    return _spread(circle_hull(kept_clear).spaced(_STEP), spacers.count)


def _screw_places(
    rings: Sequence[Circle], seats: int, margin: float, spacers: Spacers, screws: Screws
) -> tuple[Point, ...]:
    """Places along the edge that keep clear of seats and spacers."""
    away = 2 * screws.hole_diameter
    least = max(away - ring / 2 for _, ring in rings)
    if margin < least:
        raise GearworkError(
            f"margin of the side plates is {margin:g} mm: screws of {screws.hole_diameter:g} mm"
            f" need {least:g} mm; take a wider margin or thinner screws"
        )
    places = circle_hull([(c, ring + 2 * (margin - away)) for c, ring in rings]).spaced(_STEP)
    free = np.ones(len(places), dtype=bool)
    for index, ((x, y), ring) in enumerate(rings):
        taken = ring if index < seats else spacers.outer_diameter
        free &= np.hypot(places[:, 0] - x, places[:, 1] - y) >= taken / 2 + away
    found = _spread(places[free], screws.count)
    near = [np.hypot(a[0] - b[0], a[1] - b[1]) for a, b in combinations(found, 2)]
    if len(found) < screws.count or min(near, default=np.inf) < 2 * away:
        raise GearworkError(
            f"{screws.count} screws of {screws.hole_diameter:g} mm find no room along the edge of"
            f" the side plates, {away:g} mm from it and from seats and spacers and {2 * away:g} mm"
            " from each other; take a wider margin, or fewer or thinner screws"
        )
    return found


def _spread(places: Floats, count: int) -> tuple[Point, ...]:
    """Choose places far from each other, each the farthest from those before it."""
    if len(places) == 0:
        return ()
    room = np.hypot(*(places - places.mean(axis=0)).T)
    found: list[Point] = []
    for _ in range(count):
        x, y = places[int(np.argmax(np.round(room, 6)))]
        apart = np.hypot(places[:, 0] - x, places[:, 1] - y)
        room = np.minimum(room, apart) if found else apart
        found.append((float(x), float(y)))
    return tuple(found)


def _notes(seats: Sequence[Seat], spacers: Spacers, screws: Screws | None) -> tuple[str, ...]:
    lines = []
    for seat in seats:
        deep = "through" if seat.depth is None else f"{seat.depth:g} mm deep, from the inner face"
        lines.append(
            f"{seat.name} seat {seat.seat_diameter:g} mm at ({seat.x:.3f}, {seat.y:.3f}), {deep}"
        )
    lines.append(f"spacers: {spacers.count} x {spacers.name}, {spacers.length:g} mm long")
    if screws is not None:
        lines.append("screws: sink the heads on the inner face")
    return tuple(lines)


def _mirrored(part: Part) -> Part:
    """The part turned over about the y axis, its notes' coordinates those of the other plate."""
    cuts = tuple(replace(cut, outline=_turned_over(cut.outline)) for cut in part.cuts)
    notes = (*part.notes, "mirror image: x counts to the left")
    return replace(
        part,
        outer=_turned_over(part.outer),
        cuts=cuts,
        grain=(180.0 - part.grain) % 360.0,
        notes=notes,
    )


def _turned_over(outline: Outline) -> Outline:
    return Outline(outline.vertices * np.array([-1.0, 1.0]), -outline.bulges).reversed()
