"""Frame and ShaftParts: what carries the gears of a train, in plain sizes.

Where the shafts of a train stand, and how its gears and plates are stacked along them.

Coordinates: the first shaft at (0, 0), +y up, seen with the axial coordinate z towards the eye;
z is 0 on the inner face of the lowest plate. All in mm.

Placement: the gears of a train on their shafts, the shafts in their frame.

Shafts and stages are counted from 0 here and from 1 in names and sentences. Shaft 0 is the
drive's; stage i turns shaft i + 1 from shaft i; a shaft between carries the wheel of one stage
and the pinion of the next.

"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise, product
from typing import Literal

import numpy as np

from gearwork.errors import GearworkError, number, whole_number
from gearwork.machine.stage import MountedGear, Stage
from gearwork.numbers import Floats
from gearwork.stock.hardware import Bearing, Nut, Rod, Washer


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


@dataclass(frozen=True)
class Spacer:
    """A distance piece between the plates: its place in the train's coordinates, diameter; mm."""

    at: tuple[float, float]
    diameter: float

    def __post_init__(self) -> None:
        for coordinate in self.at:
            number("position of a spacer", coordinate, unit="mm")
        number("diameter of a spacer", self.diameter, unit="mm", above=0.0)


@dataclass(frozen=True)
class Frame:
    """The plates between which the train stands.

    Attributes
    ----------
    plate_thickness : float
        mm; each plate carries the bearings.
    gap : float
        Axial room from one plane of gears to the next and to the plates, mm: nuts and washers
        stand in it.
    clearance : float
        Least room between what turns and anything beside it, mm (2: assumption, for run-out
        and moisture of wooden gears).
    spacers : tuple of Spacer
        Distance pieces that hold the plates apart.
    output_height : float, optional
        Height of the output shaft above the ground, or above the edge of the frame, mm; +y is up.
    ground_clearance : float
        Least height of any gear above the ground or that edge, mm (10: assumption).

    Raises
    ------
    GearworkError
        If a size cannot be.

    Examples
    --------
    >>> Frame(plate_thickness=12.0, gap=10.0).clearance
    2.0
    """

    plate_thickness: float
    gap: float
    clearance: float = 2.0
    spacers: tuple[Spacer, ...] = ()
    output_height: float | None = None
    ground_clearance: float = 10.0

    def __post_init__(self) -> None:
        number("plate thickness", self.plate_thickness, unit="mm", above=0.0)
        number("gap between planes of gears", self.gap, unit="mm", at_least=0.0)
        number("clearance", self.clearance, unit="mm", at_least=0.0)
        number("ground clearance", self.ground_clearance, unit="mm", at_least=0.0)
        if self.output_height is not None:
            number("height of the output shaft", self.output_height, unit="mm", above=0.0)
        object.__setattr__(self, "spacers", tuple(self.spacers))


Point = tuple[float, float]

COAXIAL = 1e-3
"""Axes closer than this are one axis, mm: nobody drills finer."""

_EASE = 0.01
"""What a folded train is opened beyond the tightest place, mm."""


@dataclass(frozen=True)
class Cylinder:
    """One body on a shaft: the rod, a gear (of a stage) or its hub; from start to end along z."""

    name: str
    start: float
    end: float
    diameter: float
    stage: int | None = None
    is_hub: bool = False

    def near(self, other: "Cylinder", room: float) -> bool:
        """Whether two bodies are less than `room` apart along z and no meshing pair."""
        mates = self.stage is not None and self.stage == other.stage
        return not mates and self.start < other.end + room and other.start < self.end + room


Column = Sequence[Cylinder]


def closest(first: Column, second: Column, room: float) -> tuple[Cylinder, Cylinder] | None:
    """Return the two bodies of two shafts that would touch first; None if they pass each other.

    Parameters
    ----------
    first, second : sequence of Cylinder
        Everything on either shaft.
    room : float
        Bodies closer than this along z count as side by side, mm.
    """
    near = [(one, other) for one, other in product(first, second) if one.near(other, room)]
    return max(near, key=touching_distance, default=None)


def touching_distance(bodies: tuple[Cylinder, Cylinder] | None) -> float:
    """Distance of two axes at which their bodies just touch, mm; 0 if they never do."""
    return 0.0 if bodies is None else (bodies[0].diameter + bodies[1].diameter) / 2


@dataclass(frozen=True)
class StackUp:
    """Where planes of gears and plates are along z.

    Attributes
    ----------
    planes : tuple of float
        Where each plane of gears begins, mm; its gears stand flush there.
    plates : tuple of (float, float)
        Start and end of each plate, mm, the lowest first; more than two where shafts share an
        axis, for these meet in a plate of their own.
    carried : tuple of (int, int)
        The lower and the upper plate that carry each shaft.
    """

    planes: tuple[float, ...]
    plates: tuple[tuple[float, float], ...]
    carried: tuple[tuple[int, int], ...]

    @classmethod
    def of(
        cls,
        planes: Sequence[int],
        face_widths: Sequence[float],
        frame: Frame,
        shared: Sequence[tuple[int, int]] = (),
    ) -> "StackUp":
        """Stack the planes of gears from plate to plate.

        Parameters
        ----------
        planes : sequence of int
            Plane of each stage, the lowest is 0.
        face_widths : sequence of float
            Face width of each stage, mm.
        frame : Frame
            Plates and gaps.
        shared : sequence of (int, int)
            Shafts that stand on one axis.

        Raises
        ------
        GearworkError
            If the gears of two shafts on one axis overlap along it.
        """
        middle = {pair: _between(planes, *pair) for pair in shared}
        after = sorted({plane for plane, _ in middle.values()})
        starts, plates = [], [(-frame.plate_thickness, 0.0)]
        z = frame.gap
        for plane in range(max(planes) + 1):
            starts.append(z)
            widths = [b for p, b in zip(planes, face_widths, strict=True) if p == plane]
            z += max(widths) + frame.gap
            if plane in after or plane == max(planes):
                plates.append((z, z + frame.plate_thickness))
                z += frame.plate_thickness + frame.gap
        carried = [[0, len(plates) - 1] for _ in range(len(planes) + 1)]
        for plane, (lower, upper) in middle.values():
            plate = 1 + after.index(plane)
            carried[lower][1] = min(carried[lower][1], plate)
            carried[upper][0] = max(carried[upper][0], plate)
        return cls(tuple(starts), tuple(plates), tuple((low, high) for low, high in carried))

    def span(self, shaft: int) -> tuple[float, float]:
        """Outer faces of the two plates that carry a shaft, mm."""
        low, high = self.carried[shaft]
        return self.plates[low][0], self.plates[high][1]

    def bearings(self, shaft: int) -> tuple[float, float]:
        """Middles of the two plates that carry a shaft, mm."""
        first, second = (self.plates[plate] for plate in self.carried[shaft])
        return (first[0] + first[1]) / 2, (second[0] + second[1]) / 2


def shaft_planes(planes: Sequence[int], shaft: int) -> tuple[int, ...]:
    """Planes in which a shaft carries gears: wheel of the stage before, pinion of its own."""
    return tuple(planes[max(shaft - 1, 0) : shaft + 1])


def _between(planes: Sequence[int], one: int, other: int) -> tuple[int, tuple[int, int]]:
    """The plane above which two shafts on one axis meet, and the lower and upper of them."""
    lower, upper = sorted((one, other), key=lambda shaft: max(shaft_planes(planes, shaft)))
    top, bottom = max(shaft_planes(planes, lower)), min(shaft_planes(planes, upper))
    if top >= bottom:
        raise GearworkError(
            f"shafts {one + 1} and {other + 1} stand on one axis and the gears of one reach plane"
            f" {top}, those of the other begin in plane {bottom}: they must not overlap; give each"
            " stage its own plane or turn a stage by another angle"
        )
    return top, (lower, upper)


def positions(angles: Sequence[float], distances: Sequence[float]) -> tuple[Point, ...]:
    """Return the axes from the directions (degrees) and lengths (mm) of the centre lines."""
    turn = np.radians(np.asarray(angles, dtype=float))
    steps = np.asarray(distances)[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])
    return ((0.0, 0.0), *((float(x), float(y)) for x, y in np.cumsum(steps, axis=0)))


def on_one_axis(points: Sequence[Point]) -> tuple[tuple[int, int], ...]:
    """Return the pairs of shafts that stand on one axis."""
    count = len(points)
    pairs = ((one, other) for one in range(count) for other in range(one + 1, count))
    return tuple(p for p in pairs if math.dist(points[p[0]], points[p[1]]) <= COAXIAL)


def coaxial_angles(distances: Sequence[float]) -> tuple[float, ...]:
    """Return the angles of a reverted train: two stages, the second goes straight back.

    Raises
    ------
    GearworkError
        If there are not two stages or their centre distances differ.
    """
    if len(distances) != 2:
        raise GearworkError(
            f'arrangement is "coaxial" with stages: {len(distances)}; it must be 2; take "folded"'
            ' or "in line", or give the angle of each stage'
        )
    first, second = distances
    if abs(first - second) > COAXIAL:
        raise GearworkError(
            f'arrangement is "coaxial" and the centre distances are {first:.4f} and'
            f" {second:.4f} mm: they must be equal; give the first pair"
            f' centre_distance={second:.4f}, change its profile shifts, or take "folded"'
        )
    return 0.0, 180.0


def folded_angles(
    distances: Sequence[float], columns: Sequence[Column], frame: Frame, height: float
) -> tuple[float, ...]:
    """Return the angles at which each shaft stands as close to the last but one as it can.

    The first stage points along +x, each further one straight back, turned by as little as
    keeps all bodies apart by the clearance, downwards where both senses are alike. Where
    nothing keeps them apart it goes straight on.

    Parameters
    ----------
    distances : sequence of float
        Centre distances, mm.
    columns : sequence of sequence of Cylinder
        What is on each shaft.
    frame : Frame
        Clearance and spacers.
    height : float
        Distance of the plates, mm: the length of the spacers.
    """
    room = frame.clearance
    posts = [(s.at, (Cylinder("spacer", 0.0, height, s.diameter),)) for s in frame.spacers]
    angles = [0.0]
    for shaft in range(2, len(columns)):
        points = positions(angles, distances[: shaft - 1])
        fixed = [*zip(points[:-1], columns[: shaft - 1], strict=True), *posts]
        obstacles = [
            (*at, touching_distance(pair) + room + _EASE)
            for at, column in fixed
            if (pair := closest(columns[shaft], column, room)) is not None
        ]
        last = angles[-1]
        angles.append(_tightest(points[-1], distances[shaft - 1], last, np.array(obstacles)))
    return tuple(angles)


def _tightest(centre: Point, distance: float, last: float, obstacles: Floats) -> float:
    """Direction closest to straight back that keeps its distances; straight on if none does.

    Obstacles are rows of x, y and least distance. The least turn is 0 or at the edge of a
    forbidden arc, whose half angle the law of cosines gives.
    """
    offset = obstacles[:, :2] - np.array(centre)
    away = np.maximum(np.hypot(*offset.T), COAXIAL)
    cosine = (distance**2 + away**2 - obstacles[:, 2] ** 2) / (2 * distance * away)
    half = np.arccos(np.clip(cosine, -1.0, 1.0))
    towards = np.arctan2(offset[:, 1], offset[:, 0])
    back = math.radians(last + 180.0)
    turns = np.concatenate([[back], towards + half, towards - half]) - back
    turns = np.round((turns + math.pi) % (2 * math.pi) - math.pi, 9)
    ends = distance * np.column_stack([np.cos(back + turns), np.sin(back + turns)])
    apart = np.hypot(*(ends[:, None] - offset).transpose(2, 0, 1))
    free = (apart >= obstacles[:, 2] - _EASE / 2).all(axis=1)
    if not free.any():
        return last
    best = min(np.flatnonzero(free), key=lambda i: (abs(turns[i]), ends[i, 1]))
    return float(np.degrees(back + turns[best])) % 360.0


def fold_opening(points: Sequence[Point], corner: int) -> float:
    """Angle between the centre lines that meet at a shaft, degrees: 180 in line."""
    (x, y), *ends = points[corner], points[corner - 1], points[corner + 1]
    first, second = (math.atan2(py - y, px - x) for px, py in ends)
    return abs(math.degrees(math.remainder(second - first, 2 * math.pi)))


def neighbours_differ(planes: Sequence[int]) -> bool:
    """Whether no shaft carries both its gears in one plane."""
    return all(one != other for one, other in pairwise(planes))


Arrangement = Literal["folded", "in line", "coaxial"] | Sequence[float]


@dataclass(frozen=True)
class AxisPlace:
    """One axis for the spacing drawing.

    Attributes
    ----------
    name : str
        "shaft 1", or "shafts 1 and 3" on one axis.
    shafts : tuple of int
        The shafts that stand on it.
    at : (float, float)
        mm.
    bore : float
        Diameter of the bearing's seat, mm.
    circles : tuple of (str, float, float, float)
        Name, working pitch, tip and root diameter of each gear, mm.
    """

    name: str
    shafts: tuple[int, ...]
    at: Point
    bore: float
    circles: tuple[tuple[str, float, float, float], ...]


@dataclass(frozen=True)
class Placement:
    """Stages on shafts in a frame.

    Attributes
    ----------
    stages : tuple of Stage
        The drive's first.
    shafts : tuple of ShaftParts
        One more than stages.
    frame : Frame
        Plates, gaps, clearances, spacers, ground.
    arrangement : {"folded", "in line", "coaxial"} or sequence of float
        Folded: each shaft as close to the last but one as bodies and clearance allow. Coaxial:
        a reverted train of two stages with equal centre distances, its first and last shaft on
        one axis with a plate between them. Or the direction of each centre line, degrees.
    planes : tuple of int
        Plane of gears of each stage, the lowest is 0; by default each stage has its own, in
        order. Two stages may share one if they share no shaft.

    Raises
    ------
    GearworkError
        If numbers of shafts, planes or angles do not go with the stages, or the arrangement
        cannot be.
    """

    stages: tuple[Stage, ...]
    shafts: tuple[ShaftParts, ...]
    frame: Frame
    arrangement: Arrangement = "folded"
    planes: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        stages, shafts = tuple(self.stages), tuple(self.shafts)
        if not stages:
            raise GearworkError("the train has no stages: at least 1 is needed")
        if len(shafts) != len(stages) + 1:
            raise GearworkError(
                f"shafts: {len(shafts)}; {len(stages)} stages need {len(stages) + 1}; give the"
                " parts of each shaft, the drive's first"
            )
        planes = tuple(self.planes) or tuple(range(len(stages)))
        _check_planes(planes, len(stages))
        arrangement = _checked_arrangement(self.arrangement, len(stages))
        given = {"stages": stages, "shafts": shafts, "planes": planes, "arrangement": arrangement}
        for name, value in given.items():
            object.__setattr__(self, name, value)
        _ = self.stack_up

    @property
    def centre_distances(self) -> tuple[float, ...]:
        """a_w of each stage, mm."""
        return tuple(stage.pair.centre_distance for stage in self.stages)

    @cached_property
    def angles(self) -> tuple[float, ...]:
        """Direction of each centre line from shaft to shaft, degrees from +x."""
        if self.arrangement == "in line":
            return (0.0,) * len(self.stages)
        if self.arrangement == "coaxial":
            return coaxial_angles(self.centre_distances)
        if self.arrangement == "folded":
            through = self._stacked(())
            columns = [self._column(shaft, through) for shaft in range(len(self.shafts))]
            height = through.plates[-1][0]
            return folded_angles(self.centre_distances, columns, self.frame, height)
        return tuple(float(angle) for angle in self.arrangement)

    @cached_property
    def points(self) -> tuple[Point, ...]:
        """Axis of every shaft, mm; the first at (0, 0)."""
        return positions(self.angles, self.centre_distances)

    @cached_property
    def stack_up(self) -> StackUp:
        """Where planes of gears and plates are along z."""
        return self._stacked(on_one_axis(self.points))

    @cached_property
    def gears(self) -> tuple[MountedGear, ...]:
        """All gears at their places: pinion and wheel of each stage in turn."""
        return self._mounted(self.stack_up)

    @cached_property
    def columns(self) -> tuple[tuple[Cylinder, ...], ...]:
        """All bodies on each shaft: its rod, its gears and their hubs."""
        return tuple(self._column(shaft, self.stack_up) for shaft in range(len(self.shafts)))

    @property
    def rod_lengths(self) -> tuple[float, ...]:
        """Length of each rod, mm: through both plates, a nut outside each, and its free end."""
        spans = (self.stack_up.span(shaft) for shaft in range(len(self.shafts)))
        return tuple(
            end - start + 2 * parts.hub_height + parts.free_end
            for (start, end), parts in zip(spans, self.shafts, strict=True)
        )

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Smallest x and y, largest x and y of all gears and bearing seats, mm."""
        corners = np.array(self.points)
        radii = np.array([[self._widest(shaft) / 2] for shaft in range(len(self.shafts))])
        (left, low), (right, high) = (corners - radii).min(axis=0), (corners + radii).max(axis=0)
        return float(left), float(low), float(right), float(high)

    @property
    def size(self) -> tuple[float, float, float]:
        """Width, height and depth over the outer plates, mm; free ends of rods not counted."""
        left, low, right, high = self.bounds
        plates = self.stack_up.plates
        return right - left, high - low, plates[-1][1] - plates[0][0]

    @property
    def axes(self) -> tuple[AxisPlace, ...]:
        """The axes for the spacing drawing; shafts on one axis make one."""
        shared = on_one_axis(self.points)
        later = {other for _, other in shared}
        return tuple(
            self._axis((shaft, *(other for one, other in shared if one == shaft)))
            for shaft in range(len(self.shafts))
            if shaft not in later
        )

    @property
    def distances(self) -> tuple[tuple[str, str, float], ...]:
        """Names of two axes and their centre distance, mm; each pair of axes once."""
        names = {shaft: axis.name for axis in self.axes for shaft in axis.shafts}
        found: dict[tuple[str, str], float] = {}
        for stage, distance in enumerate(self.centre_distances):
            start, end = names[stage], names[stage + 1]
            if (end, start) not in found:
                found[start, end] = distance
        return tuple((start, end, distance) for (start, end), distance in found.items())

    def _axis(self, shafts: tuple[int, ...]) -> AxisPlace:
        numbers = " and ".join(str(shaft + 1) for shaft in shafts)
        return AxisPlace(
            name=f"{'shafts' if len(shafts) > 1 else 'shaft'} {numbers}",
            shafts=shafts,
            at=self.points[shafts[0]],
            bore=max(self.shafts[shaft].seat_diameter for shaft in shafts),
            circles=tuple(
                (m.name, m.pitch_diameter, m.gear.tip_diameter, m.gear.root_diameter)
                for m in self.gears
                if m.shaft in shafts
            ),
        )

    def _stacked(self, shared: Sequence[tuple[int, int]]) -> StackUp:
        widths = [stage.face_width for stage in self.stages]
        return StackUp.of(self.planes, widths, self.frame, shared)

    def _mounted(self, stack_up: StackUp) -> tuple[MountedGear, ...]:
        found = []
        for i, (stage, plane) in enumerate(zip(self.stages, self.planes, strict=True)):
            start = stack_up.planes[plane]
            pair = stage.pair
            sides = (
                ("pinion", pair.pinion, i, None),
                ("wheel", pair.wheel, i + 1, stage.windows),
            )
            pitches, end = pair.working_pitch_diameters, start + stage.face_width
            for (side, gear, shaft, windows), pitch in zip(sides, pitches, strict=True):
                name, bore = f"{side} {i + 1}", self.shafts[shaft].rod_diameter
                place = (i, shaft, plane, start, end)
                found.append(MountedGear(name, gear, *place, pitch, bore, windows))
        return tuple(found)

    def _column(self, shaft: int, stack_up: StackUp) -> tuple[Cylinder, ...]:
        parts, name = self.shafts[shaft], f"shaft {shaft + 1}"
        bodies = [Cylinder(f"rod of {name}", *stack_up.span(shaft), parts.rod_diameter)]
        for m in self._mounted(stack_up):
            if m.shaft == shaft:
                hub, height, wide = f"hub of {m.name}", parts.hub_height, parts.hub_diameter
                bodies += [
                    Cylinder(m.name, m.start, m.end, m.gear.tip_diameter, m.stage),
                    Cylinder(hub, m.start - height, m.start, wide, is_hub=True),
                    Cylinder(hub, m.end, m.end + height, wide, is_hub=True),
                ]
        return tuple(bodies)

    def _widest(self, shaft: int) -> float:
        tips = [m.gear.tip_diameter for m in self.gears if m.shaft == shaft]
        return max(self.shafts[shaft].seat_diameter, *tips)


def _check_planes(planes: tuple[int, ...], stages: int) -> None:
    if len(planes) != stages:
        raise GearworkError(f"planes: {len(planes)}; there must be one for each of {stages} stages")
    for plane in planes:
        whole_number("plane of a stage", plane, at_least=0, at_most=stages - 1)
    if set(planes) != set(range(max(planes) + 1)):
        raise GearworkError(f"planes are {planes}: one is empty; number them from 0 without a gap")
    if not neighbours_differ(planes):
        raise GearworkError(
            f"planes are {planes}: a wheel and the pinion behind it sit on one shaft and must be in"
            " different planes"
        )


def _checked_arrangement(arrangement: object, stages: int) -> str | tuple[float, ...]:
    if isinstance(arrangement, str):
        if arrangement in ("folded", "in line", "coaxial"):
            return arrangement
    elif isinstance(arrangement, Sequence):
        angles = tuple(number("angle of a stage", angle, unit="degrees") for angle in arrangement)
        if len(angles) == stages:
            return angles
    raise GearworkError(
        f'arrangement is {arrangement!r}: it must be "folded", "in line", "coaxial" or the'
        f" direction of each centre line in degrees, {stages} numbers"
    )
