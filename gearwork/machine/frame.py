"""What carries the gears of a train, and where that stands.

Coordinates: the first shaft at (0, 0), +y up, seen with the axial coordinate z towards the eye;
z is 0 on the inner face of the lowest plate. All in mm. Shafts and stages are counted from 0 here
and from 1 in names and sentences.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import combinations, product
from typing import Annotated, Any, Literal

import numpy as np

from gearwork.checks.hub.hub import MIN_FLOOR
from gearwork.errors import Bound, GearworkError, NoMachineError, check_values, number
from gearwork.geometry.plate import GEAR_GAP
from gearwork.stock.hardware import Bearing, Nut, Rod, Washer, rod
from gearwork.stock.plywood import Plywood


@dataclass(frozen=True)
class ShaftParts:
    """The rod of one shaft, what clamps a gear on it, and its bearings.

    Attributes
    ----------
    rod_diameter : float
        mm.
    hub_diameter : float
        The widest of nut, flange and washer that stand on the face of a gear, mm.
    hub_height : float
        How far they stand out from that face, mm.
    seat_diameter : float
        Outer diameter of the bearing, mm: its seat in the plate.
    bearing_width : float
        mm.
    free_end : float
        Length of rod beyond the frame for what is coupled to it: drill, crank, drum, wheel; mm.

    Raises
    ------
    GearworkError
        If a size cannot be.

    Examples
    --------
    From the names of parts that can be bought; a 608 bearing measures 8 x 22 x 7 mm (ISO 15).

    >>> from gearwork.stock.hardware import bearing, nut, rod, washer
    >>> parts = ShaftParts.of(rod("M8"), nut("M8"), washer("M8"), bearing("608"))
    >>> parts.rod_diameter, parts.seat_diameter, parts.bearing_width
    (8.0, 22.0, 7.0)
    """

    rod_diameter: float
    hub_diameter: float
    hub_height: float
    seat_diameter: float
    bearing_width: float
    free_end: float = 0.0

    def __post_init__(self) -> None:
        rod = number("rod diameter", self.rod_diameter, unit="mm", above=0.0)
        number("hub diameter", self.hub_diameter, unit="mm", at_least=rod)
        number("hub height", self.hub_height, unit="mm", at_least=0.0)
        number("seat diameter", self.seat_diameter, unit="mm", above=rod)
        number("bearing width", self.bearing_width, unit="mm", above=0.0)
        number("free end of the rod", self.free_end, unit="mm", at_least=0.0)

    @classmethod
    def of(
        cls, rod: Rod, nut: Nut, washer: Washer, bearing: Bearing, free_end: float = 0.0
    ) -> "ShaftParts":
        """Return the sizes of parts that can be bought: gears between washers and nuts.

        Raises
        ------
        GearworkError
            If the rod does not pass through the bearing.
        """
        if bearing.bore < rod.diameter:
            raise GearworkError(
                f"bearing {bearing.name} has a bore of {bearing.bore:g} mm: a rod of"
                f" {rod.diameter:g} mm needs one of at least {rod.diameter:g} mm; take another"
                " bearing or a thinner rod"
            )
        return cls(
            rod_diameter=rod.diameter,
            hub_diameter=max(nut.width_across_corners, washer.diameter),
            hub_height=nut.height + washer.thickness,
            seat_diameter=bearing.outer_diameter,
            bearing_width=bearing.width,
            free_end=free_end,
        )


Point = tuple[float, float]
Arrangement = Literal["folded", "in line", "coaxial"] | Sequence[float] | None

ROOM = Bound("mm", at_least=0.0)
FIT = Bound("mm", at_least=-0.3, at_most=0.5)
"""By how much a bearing seat may be cut larger than the bearing."""


@dataclass(frozen=True)
class Frame:
    """The plates between which the train stands, and how its shafts stand in them.

    Attributes
    ----------
    plate_thickness : float
        Of each plate, which carries the bearings in pockets from its outer face, mm.
    gap : float
        Axial room from one plane of gears to the next and to the plates, mm: nuts and washers
        stand in it.
    clearance : float
        Smallest room between what turns and anything beside it, mm (2: assumption, for run-out
        and moisture of wooden gears).
    arrangement : {"folded", "in line", "coaxial"} or sequence of float, optional
        How the shafts stand; none: folded, or in line where that alone fits the room and holds.
        Folded: each shaft as close to the last but one as bodies and clearance allow. Coaxial:
        a reverted train of two stages with equal centre distances, its first and last shaft on
        one axis with a plate between them. Or the direction of each centre line, degrees.
    output_height : float, optional
        Height of the output shaft above the ground, mm; none: of a vehicle half its
        wheel_diameter, else nothing is known of the ground. +y is up. The feet are then on the
        upper side: the machine hangs under what it drives.
    ground_clearance : float
        Smallest height of the frame above the ground, mm (10: assumption).
    fit : float
        By how much a bearing seat is cut larger than the bearing, mm: tighter than the least no
        hand presses it in, in a seat wider than the most axes stray and rings turn (assumption).
    plate : Plywood, optional
        Sheet of the plates; None where their thickness alone counts.
    gaps : tuple of (float, float)
        The same room below and above each plane, mm, where it is known what stands in it;
        empty: `gap`.
    middle_thickness : float, optional
        Of a plate in which two shafts on one axis meet, mm; default: as the others.
    why : str
        Why the arrangement was chosen, in words; empty where it was not.

    Raises
    ------
    GearworkError
        If a size cannot be.

    Examples
    --------
    >>> Frame(plate_thickness=12.0, gap=10.0).clearance
    2.0
    """

    plate_thickness: Annotated[float, Bound("mm", above=0.0)]
    gap: Annotated[float, ROOM]
    clearance: Annotated[float, ROOM] = 2.0
    arrangement: Arrangement = "folded"
    output_height: Annotated[float | None, Bound("mm", above=0.0)] = None
    ground_clearance: Annotated[float, ROOM] = 10.0
    fit: Annotated[float, FIT] = 0.1
    plate: Plywood | None = None
    gaps: tuple[tuple[float, float], ...] = ()
    middle_thickness: float | None = None
    why: str = ""

    def __post_init__(self) -> None:
        check_values(self)

    @property
    def air(self) -> float:
        """Room between gears and the boards and rods of the frame, mm."""
        return max(GEAR_GAP, self.clearance)

    @property
    def seat_wood(self) -> float:
        """Wood between the seats of two bearings, mm: half a plate, and a ring about each."""
        return max(self.plate_thickness / 2.0, 2.0 * RING_WALL)

    def room(self, plane: int, above: bool) -> float:
        """Axial room below or above a plane of gears, mm."""
        return self.gaps[plane][above] if self.gaps else self.gap


POST = rod("M8", "4.8")
POST_TUBE, TUBE_WALL = 16.0, 2.0  # outer diameter and wall of what a cradle stands on, mm
CRADLE = "cradle plate"

PLAY = 1.0
"""By how much the seat of a free bearing is deeper than the bearing, mm (assumption): what rods,
boards and nuts set by hand may be off."""


RING_WALL = 8.0
"""Wood of a ring that holds a bearing in, beside the bearing, mm: room for screws (assumption)."""


def seat_depth(bearing_width: float, free: bool) -> float:
    """Return how deep the pocket of a bearing is, mm."""
    return bearing_width + (PLAY if free else 0.0)


def min_plate(bearing_width: float) -> float:
    """Return the thinnest plate that has wood behind its bearings, mm."""
    return seat_depth(bearing_width, free=True) + MIN_FLOOR


@dataclass(frozen=True)
class Layer:
    """One thing that holds a gear on its rod: `start` from the gear's face outwards, mm.

    Negative where it is let in. `item` is what to buy; `inner` and `outer` diameter in mm; `count`
    of them, more than 1 for bolts on a circle between the two diameters.
    """

    kind: "Kind"
    item: str
    start: float
    length: float
    inner: float
    outer: float
    count: int = 1

    @property
    def end(self) -> float:
        """Where it ends, from the gear's face outwards, mm."""
        return self.start + self.length


@dataclass(frozen=True)
class Grip:
    """All that stands on the lower and on the upper face of a gear to hold it on its rod."""

    below: tuple[Layer, ...]
    above: tuple[Layer, ...]

    def height(self, above: bool) -> float:
        """How far it stands out from a face, mm."""
        layers = self.above if above else self.below
        return max((layer.end for layer in layers), default=0.0)


Kind = Literal[
    "rod", "gear", "nut", "washer", "shim", "bush", "bearing", "ring", "plate", "tube", "disc",
    "bolt", "screw", "glue", "tool", "spring", "sleeve",
]  # fmt: skip


COAXIAL = 1e-3
"""Axes closer than this are one axis, mm: nobody drills finer."""

_EASE = 0.01
"""What a folded train is opened beyond the tightest place, mm."""


@dataclass(frozen=True)
class Cylinder:
    """One body on a shaft: the rod, a gear or its hub; from start to end along z.

    `meshes`: the stages in which it is a gear, of an idler two. Sizes may be arrays, of the bodies
    of many trains.
    """

    name: str
    start: Any
    end: Any
    diameter: Any
    meshes: tuple[int, ...] = ()

    def near(self, other: "Cylinder", room: float) -> Any:
        """Whether two bodies are less than `room` apart along z and no meshing pair."""
        if {*self.meshes} & {*other.meshes}:
            return False
        return (self.start < other.end + room) & (other.start < self.end + room)


Column = Sequence[Cylinder]


def hub_cylinders(name: str, grip: Grip, start: Any, end: Any) -> list[Cylinder]:
    """Return what holds a gear from start to end, mm, as bodies."""
    below = [Cylinder(name, start - p.end, start - p.start, p.outer) for p in grip.below]
    above = [Cylinder(name, end + p.start, end + p.end, p.outer) for p in grip.above]
    return below + above


def closest(first: Column, second: Column, room: float) -> tuple[Cylinder, Cylinder] | None:
    """Return the two bodies of two shafts that would touch first; None if they pass each other.

    Bodies closer than `room` (mm) along z count as side by side.
    """
    near = [(one, other) for one, other in product(first, second) if one.near(other, room)]
    return max(near, key=touching_distance, default=None)


def touching_distance(bodies: tuple[Cylinder, Cylinder] | None) -> float:
    """Return the distance of two axes at which their bodies just touch, mm; 0: they never do."""
    return 0.0 if bodies is None else (bodies[0].diameter + bodies[1].diameter) / 2


@dataclass(frozen=True)
class StackUp:
    """Where planes of gears and plates are along z, mm; arrays for many trains at once.

    `planes`: where each plane of gears begins; its gears stand flush there. `plates`: start and
    end of each, the lowest first; more than two where shafts share an axis, for these meet in a
    plate of their own. `carried`: the lower and the upper plate that carry each shaft.
    """

    planes: tuple[Any, ...]
    plates: tuple[tuple[Any, Any], ...]
    carried: tuple[tuple[int, int], ...]

    @classmethod
    def of(
        cls,
        planes: Sequence[int],
        face_widths: Sequence[Any],
        frame: Frame,
        shared: Sequence[tuple[int, int]] = (),
    ) -> "StackUp":
        """Stack the planes of gears from plate to plate.

        `planes` and `face_widths` are those of each stage, `shared` the shafts that stand on one
        axis; it is an error if the gears of two such shafts overlap.
        """
        middle = {pair: _between(planes, *pair) for pair in shared}
        after = sorted({plane for plane, _ in middle.values()})
        starts: list[Any] = []
        plates: list[tuple[Any, Any]] = [(-frame.plate_thickness, 0.0)]
        z: Any = frame.room(0, above=False)
        top = max(planes)
        for plane in range(top + 1):
            starts.append(z)
            widths = [b for p, b in zip(planes, face_widths, strict=True) if p == plane]
            # not in place: starts keeps it
            z = z + (reduce(np.maximum, widths) + frame.room(plane, above=True))
            if plane in after or plane == top:
                thick = frame.plate_thickness
                if plane < top and frame.middle_thickness is not None:
                    thick = frame.middle_thickness
                plates.append((z, z + thick))
                z = z + (thick + (0.0 if plane == top else frame.room(plane + 1, above=False)))
        carried = [[0, len(plates) - 1] for _ in range(len(planes) + 1)]
        for plane, (lower, upper) in middle.values():
            plate = 1 + after.index(plane)
            carried[lower][1] = min(carried[lower][1], plate)
            carried[upper][0] = max(carried[upper][0], plate)
        return cls(tuple(starts), tuple(plates), tuple((low, high) for low, high in carried))

    def span(self, shaft: int) -> tuple[Any, Any]:
        """Outer faces of the two plates that carry a shaft, mm."""
        low, high = self.carried[shaft]
        return self.plates[low][0], self.plates[high][1]

    def fixed_below(self, shaft: int) -> bool:
        """Whether the lower bearing of a shaft is the fixed one: always in an outer plate."""
        return self.carried[shaft][0] == 0

    def bearings(self, shaft: int, width: float) -> tuple[tuple[Any, Any], tuple[Any, Any]]:
        """Start and end of the lower and of the upper bearing of a shaft, so wide, mm.

        In the pockets of the outer plates, the free one in the middle of its play; in a plate
        between, flush with the face on the shaft's side.
        """
        below, above = (self.plates[plate] for plate in self.carried[shaft])
        fixed_below, last = self.fixed_below(shaft), self.carried[shaft][1] == len(self.plates) - 1
        low = below[0] if fixed_below else below[1] - width
        high = above[0] + width
        if last:
            high = above[1] - (PLAY / 2 if fixed_below else 0.0)
        return (low, low + width), (high - width, high)


def _between(planes: Sequence[int], *pair: int) -> tuple[int, tuple[int, int]]:
    """The plane above which two shafts on one axis meet, and the lower and upper of them."""
    # a shaft carries the wheel of the stage before it and the pinion of its own
    held = {shaft: planes[max(shaft - 1, 0) : shaft + 1] for shaft in sorted(pair)}
    lower, upper = sorted(held, key=lambda shaft: max(held[shaft]))
    top, bottom = max(held[lower]), min(held[upper])
    if top >= bottom:
        one, other = pair
        raise GearworkError(
            f"shafts {one + 1} and {other + 1} stand on one axis and the gears of one reach plane"
            f" {top}, those of the other begin in plane {bottom}: they must not overlap; give each"
            " stage its own plane or turn a stage by another angle"
        )
    return top, (lower, upper)


def reach(first: Column, second: Column, room: float) -> Any:
    """Return the least distance of two axes at which no body touches another, mm; 0: at any."""
    found: Any = 0.0
    for one, other in product(first, second):
        touch = (one.diameter + other.diameter) / 2
        found = np.maximum(found, np.where(one.near(other, room), touch, 0.0))
    return found


def positions(angles: Sequence[Any], distances: Sequence[Any]) -> tuple[tuple[Any, Any], ...]:
    """Return the axes from the directions (degrees) and lengths (mm) of the centre lines."""
    points: list[tuple[Any, Any]] = [(0.0, 0.0)]
    for angle, distance in zip(angles, distances, strict=True):
        turn = np.radians(angle)
        x, y = points[-1]
        points.append((x + distance * np.cos(turn), y + distance * np.sin(turn)))
    return tuple(points)


def on_one_axis(points: Sequence[Point]) -> tuple[tuple[int, int], ...]:
    """Return the pairs of shafts that stand on one axis."""
    pairs = combinations(range(len(points)), 2)
    return tuple(p for p in pairs if math.dist(points[p[0]], points[p[1]]) <= COAXIAL)


def coaxial_angles(distances: Sequence[float]) -> tuple[float, ...]:
    """Return the angles of a reverted train: two stages, the second goes straight back."""
    if len(distances) != 2:
        raise GearworkError(
            f'arrangement is "coaxial" with stages: {len(distances)}; it must be 2; take "folded"'
            ' or "in line", or give the angle of each stage'
        )
    first, second = distances
    if abs(first - second) > COAXIAL:
        raise NoMachineError(
            f'arrangement is "coaxial" and the centre distances are {first:.4f} and'
            f" {second:.4f} mm: they must be equal; give the first pair"
            f' centre_distance={second:.4f}, change its profile shifts, or take "folded"'
        )
    return 0.0, 180.0


def folded_angles(
    distances: Sequence[Any],
    columns: Sequence[Column],
    room: float,
    turns: Sequence[float | None] = (),
) -> tuple[Any, ...]:
    """Return the angles at which each shaft stands as close to the last but one as it can.

    The first stage points along +x, each further one straight back, turned by as little as
    keeps all bodies (`columns`, one for each shaft) apart by `room` (mm), downwards where both
    senses are alike. Where nothing keeps them apart it goes straight on. `turns`: by how much a
    stage is to turn off from the one before, degrees, where that is given. Arrays of many trains
    make arrays of angles.
    """
    angles: list[Any] = [0.0]
    for shaft in range(2, len(columns)):
        turn = turns[shaft - 1] if turns else None
        if turn is not None:
            angles.append(angles[-1] + turn)
            continue
        points = positions(angles, distances[: shaft - 1])
        distance, last = distances[shaft - 1], angles[-1]
        obstacles = []
        for at, column in zip(points[: shaft - 1], columns, strict=False):
            touch = reach(columns[shaft], column, room)
            apart = np.where(touch > 0.0, touch + room + _EASE, 0.0)
            (x, y), (x0, y0) = at, points[shaft - 1]
            obstacles.append(np.broadcast_arrays(x - x0, y - y0, apart))
        angles.append(_tightest(distance, last, obstacles))
    return tuple(angles)


def _tightest(distance: Any, last: Any, obstacles: Sequence[Sequence[Any]]) -> Any:
    """Direction closest to straight back that keeps its distances; straight on if none does.

    Each obstacle is x and y from the shaft it turns about, and the least distance.
    """
    x, y, least = (np.stack(parts, axis=-1) for parts in zip(*obstacles, strict=True))
    far, away = np.asarray(distance)[..., None], np.maximum(np.hypot(x, y), COAXIAL)
    # each obstacle forbids an arc of directions; its half angle by the law of cosines
    cosine = (far**2 + away**2 - least**2) / (2 * far * away)
    half, towards = np.arccos(np.clip(cosine, -1.0, 1.0)), np.arctan2(y, x)
    back = np.broadcast_to(np.radians(np.asarray(last) + 180.0), far.shape[:-1])[..., None]
    # so the least turn is none at all, or one of the ends of an arc
    turns = np.concatenate([0.0 * back, towards + half - back, towards - half - back], axis=-1)
    turns = np.round((turns + math.pi) % (2 * math.pi) - math.pi, 9)  # left and right: a tie
    end_x, end_y = far * np.cos(back + turns), far * np.sin(back + turns)
    apart = np.hypot(end_x[..., None] - x[..., None, :], end_y[..., None] - y[..., None, :])
    free = (apart >= least[..., None, :] - _EASE / 2).all(axis=-1)
    turn = np.where(free, np.abs(turns), np.inf)
    best = np.lexsort((end_y, turn), axis=-1)[..., :1]
    found = np.degrees(back + np.take_along_axis(turns, best, axis=-1)) % 360.0
    return np.where(free.any(axis=-1), found[..., 0], last)
