"""GearTrain: stages on shafts in a frame: places, ratio, speeds, torques, forces and inertia.

Shafts and stages are counted from 0 here and from 1 in names and sentences. Shaft 0 is the
drive's; stage i turns shaft i + 1 from shaft i; a shaft between carries the wheel of one stage
and the pinion of the next, or an idler, which is both. `check_train` judges the places: does
everything turn free, does it fit between the plates.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from itertools import accumulate, combinations, pairwise

import numpy as np
from numpy.typing import ArrayLike

from gearwork.checks.check import Check, CheckReport, Subject
from gearwork.checks.shaft.beam import Shaft, ShaftLoad, mesh_load
from gearwork.errors import GearworkError, number, whole_number
from gearwork.geometry.features import Windows
from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import SIDES, Side
from gearwork.geometry.plate import Box, Seat
from gearwork.machine import frame as places
from gearwork.machine.attached import Attached
from gearwork.machine.duty import Duty, ShaftTorques, carried
from gearwork.machine.events import torsional_stiffness, twisted_lengths
from gearwork.machine.frame import (
    Cylinder,
    Frame,
    Grip,
    Layer,
    Point,
    ShaftParts,
    StackUp,
    closest,
    touching_distance,
)
from gearwork.machine.stage import (
    MountedGear,
    Stage,
    check_idlers,
    drives_on,
    gear_name,
    own_place,
)
from gearwork.numbers import Floats, round_up
from gearwork.stock.hardware import Bearing, Rod

NOTHING = Attached("nothing", 0.0, ((0.0, 0.0),))
"""Stands for what passes on torque alone."""

Ends = tuple[Attached, Attached]


@dataclass(frozen=True)
class AxisPlace:
    """One axis for the spacing drawing, of the shafts that stand on it."""

    name: str  # "shaft 1", or "shafts 1 and 3" on one axis
    shafts: tuple[int, ...]
    at: Point
    bore: float  # diameter of the bearing's seat, mm
    circles: tuple[tuple[str, float, float, float], ...]
    """Name, working pitch, tip and root diameter of each gear, mm."""


@dataclass(frozen=True)
class GearTrain:
    """Stages on shafts in a frame, and what turns and presses in them.

    Attributes
    ----------
    stages : tuple of Stage
        The drive's first.
    shafts : tuple of ShaftParts
        One more than stages.
    frame : Frame
        Plates, gaps, clearances, how the shafts stand, ground.
    planes : tuple of int
        Plane of gears of each stage, the lowest is 0; by default each stage has its own, in
        order, and one with an idler that of the stage before. Two others may share one if they
        share no shaft.
    mesh_efficiency, bearing_efficiency : float
        As in `Duty`.
    grips : tuple of Grip
        What holds each gear on its rod, in the order of `gears`; empty: the hubs of `shafts`.

    Raises
    ------
    GearworkError
        If numbers of shafts, planes or angles do not go with the stages, or the arrangement
        cannot be.

    Examples
    --------
    >>> from gearwork import Gear, GearPair
    >>> from gearwork.machine import Frame, ShaftParts, Stage
    >>> stage = Stage(GearPair(Gear(module=5, teeth=16), Gear(module=5, teeth=44)), face_width=24)
    >>> parts = ShaftParts(8, hub_diameter=24, hub_height=8, seat_diameter=22, bearing_width=7)
    >>> train = GearTrain((stage, stage), (parts,) * 3, Frame(plate_thickness=18, gap=12))
    >>> train.ratio, [round(angle, 1) for angle in train.angles]
    (7.5625, [0.0, 227.6])
    """

    stages: tuple[Stage, ...]
    shafts: tuple[ShaftParts, ...]
    frame: Frame
    planes: tuple[int, ...] = ()
    mesh_efficiency: float = 0.90
    bearing_efficiency: float = 0.99
    grips: tuple[Grip, ...] = ()

    def __post_init__(self) -> None:
        count, own = len(self.stages), accumulate(not stage.idler for stage in self.stages)
        planes = tuple(self.planes) or tuple(plane - 1 for plane in own)
        if not count:
            raise GearworkError("the train has no stages: at least 1 is needed")
        if len(self.shafts) != count + 1:
            raise GearworkError(
                f"shafts: {len(self.shafts)}; {count} stages need {count + 1}; give the parts of"
                " each shaft, the drive's first"
            )
        check_idlers(self.stages)
        _check_planes(planes, self.stages)
        _check_arrangement(self.frame.arrangement, self.stages)
        number("mesh efficiency", self.mesh_efficiency, above=0.0, at_most=1.0)
        number("bearing efficiency", self.bearing_efficiency, above=0.0, at_most=1.0)
        object.__setattr__(self, "planes", planes)
        _ = self.stack_up

    @property
    def centre_distances(self) -> tuple[float, ...]:
        """a_w of each stage, mm."""
        return tuple(stage.pair.centre_distance for stage in self.stages)

    @cached_property
    def angles(self) -> tuple[float, ...]:
        """Direction of each centre line from shaft to shaft, degrees from +x."""
        arrangement = self.frame.arrangement
        turns = [stage.angle for stage in self.stages]
        if arrangement == "in line":
            return tuple(accumulate(turn or 0.0 for turn in turns))
        if arrangement == "coaxial":
            return places.coaxial_angles(self.centre_distances)
        if arrangement in ("folded", None):
            columns = self._columns(self._stacked(()))
            room = self.frame.clearance
            angles = places.folded_angles(self.centre_distances, columns, room, turns)
            return tuple(float(angle) for angle in angles)
        assert arrangement is not None
        return tuple(float(angle) for angle in arrangement)

    @cached_property
    def points(self) -> tuple[Point, ...]:
        """Axis of every shaft, mm; the first at (0, 0)."""
        points = places.positions(self.angles, self.centre_distances)
        return tuple((float(x), float(y)) for x, y in points)

    @cached_property
    def on_one_axis(self) -> tuple[tuple[int, int], ...]:
        """Pairs of shafts that stand on one axis."""
        return places.on_one_axis(self.points)

    @cached_property
    def stack_up(self) -> StackUp:
        """Where planes of gears and plates are along z."""
        return self._stacked(self.on_one_axis)

    def _stacked(self, shared: Sequence[tuple[int, int]]) -> StackUp:
        return StackUp.of(self.planes, [s.face_width for s in self.stages], self.frame, shared)

    @cached_property
    def gears(self) -> tuple[MountedGear, ...]:
        """All gears at their places: pinion and wheel of each stage in turn, an idler once."""
        return self._mounted(self.stack_up)

    def gears_of(self, stage: int) -> tuple[MountedGear, MountedGear]:
        """Return the two gears that mesh in a stage; its pinion may be an idler."""
        first, second = (own_place(self.stages, stage, side) for side in SIDES)
        found = {(gear.stage, gear.side): gear for gear in self.gears}
        return found[first], found[second]

    def mesh_name(self, stage: int, side: Side) -> str:
        """Return the name of what a mesh does to a shaft: an idler's has two of them."""
        name = gear_name(self.stages, stage, side)
        idler = self.stages[stage].idler if side == "pinion" else drives_on(self.stages, stage)
        mate = gear_name(self.stages, stage, "wheel" if side == "pinion" else "pinion")
        return f"{name} at {mate}" if idler else name

    def _mounted(self, stack_up: StackUp) -> tuple[MountedGear, ...]:
        found = []
        for i, (stage, plane) in enumerate(zip(self.stages, self.planes, strict=True)):
            start, (first, second) = stack_up.planes[plane], stage.pair.working_pitch_diameters
            rows: tuple[tuple[Side, Gear, int, float, Windows | None], ...] = (
                ("pinion", stage.pair.pinion, i, first, None),
                ("wheel", stage.pair.wheel, i + 1, second, stage.windows),
            )
            for side, gear, shaft, pitch, windows in rows:
                if side not in stage.sides:
                    continue
                place = (i, shaft, plane, start, start + stage.face_width)
                bore, name = self.shafts[shaft].rod_diameter, gear_name(self.stages, i, side)
                found.append(MountedGear(name, gear, *place, pitch, bore, windows))
        return tuple(found)

    @cached_property
    def columns(self) -> tuple[tuple[Cylinder, ...], ...]:
        """All bodies on each shaft: its rod, its gears and their hubs."""
        return self._columns(self.stack_up)

    def _columns(self, stack_up: StackUp) -> tuple[tuple[Cylinder, ...], ...]:
        columns = [
            [Cylinder(f"rod of shaft {i + 1}", *stack_up.span(i), parts.rod_diameter)]
            for i, parts in enumerate(self.shafts)
        ]
        mounted = self._mounted(stack_up)
        for m, grip in zip(mounted, self.grips or map(self._plain, mounted), strict=True):
            columns[m.shaft].append(
                Cylinder(m.name, m.start, m.end, m.gear.tip_diameter, self._meshes(m))
            )
            columns[m.shaft] += places.hub_cylinders(f"hub of {m.name}", grip, m.start, m.end)
        return tuple(map(tuple, columns))

    def _meshes(self, gear: MountedGear) -> tuple[int, ...]:
        """The stages in which a gear meshes."""
        both = not gear.drives and drives_on(self.stages, gear.stage)
        return (gear.stage, gear.stage + 1) if both else (gear.stage,)

    def _plain(self, gear: MountedGear) -> Grip:
        """The widest and highest of what may hold a gear, as long as nothing else is known."""
        parts = self.shafts[gear.shaft]
        hub = Layer("nut", "", 0.0, parts.hub_height, parts.rod_diameter, parts.hub_diameter)
        return Grip((hub,), (hub,))

    def bearings(self, shaft: int) -> tuple[tuple[float, float], ...]:
        """Start and end of the lower and of the upper bearing of a shaft along z, mm."""
        return self.stack_up.bearings(shaft, self.shafts[shaft].bearing_width)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Smallest x and y, largest x and y of all gears and bearing seats, mm."""
        widest = [parts.seat_diameter for parts in self.shafts]
        for m in self.gears:
            widest[m.shaft] = max(widest[m.shaft], m.gear.tip_diameter)
        corners, radii = np.array(self.points), np.array(widest)[:, None] / 2
        (left, low), (right, high) = (corners - radii).min(axis=0), (corners + radii).max(axis=0)
        return float(left), float(low), float(right), float(high)

    @cached_property
    def box(self) -> Box:
        """The room about all that turns that the boards of the frame enclose."""
        seats = []
        for shaft, ((x, y), parts) in enumerate(zip(self.points, self.shafts, strict=True)):
            tips = [m.gear.tip_diameter for m in self.gears if m.shaft == shaft]
            seats.append(Seat(x, y, parts.seat_diameter, swept_diameter=max(tips)))
        frame = self.frame
        hangs = frame.output_height is not None
        return Box.around(seats, frame.air, frame.plate_thickness, hangs)

    @property
    def size(self) -> tuple[float, float, float]:
        """Width, height and depth over the outer plates, mm; free ends of rods not counted."""
        left, low, right, high = self.bounds
        plates = self.stack_up.plates
        return right - left, high - low, plates[-1][1] - plates[0][0]

    @property
    def axes(self) -> tuple[AxisPlace, ...]:
        """The axes for the spacing drawing; shafts on one axis make one."""
        found, later = [], {other for _, other in self.on_one_axis}
        for shaft, at in enumerate(self.points):
            if shaft in later:
                continue
            shafts = (shaft, *(other for one, other in self.on_one_axis if one == shaft))
            numbers = " and ".join(str(shaft + 1) for shaft in shafts)
            name = f"{'shafts' if len(shafts) > 1 else 'shaft'} {numbers}"
            circles = tuple(m.circles for m in self.gears if m.shaft in shafts)
            bore = max(self.shafts[shaft].seat_diameter for shaft in shafts)
            found.append(AxisPlace(name, shafts, at, bore, circles))
        return tuple(found)

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

    @property
    def stage_ratios(self) -> tuple[float, ...]:
        """Ratio of each stage; what `Duty.shaft_torques` takes."""
        return tuple(stage.ratio for stage in self.stages)

    @property
    def ratio(self) -> float:
        """Speed of the first shaft over that of the last."""
        return math.prod(self.stage_ratios)

    @property
    def efficiency(self) -> float:
        """Efficiency of all stages."""
        return (self.mesh_efficiency * self.bearing_efficiency) ** len(self.stages)

    @property
    def directions(self) -> tuple[int, ...]:
        """Sense of rotation of each shaft: 1 as the first, −1 against it."""
        return tuple((-1) ** shaft for shaft in range(len(self.shafts)))

    @property
    def _carried(self) -> tuple[Floats, Floats]:
        return carried(self.stage_ratios, self.mesh_efficiency * self.bearing_efficiency)

    def speeds(self, input_speed: float) -> Floats:
        """Return the speed of every shaft, rpm, shape (stages + 1,); negative turns backwards.

        `input_speed` is that of the first shaft, positive counter-clockwise.
        """
        return np.array(self.directions) * input_speed / self._carried[0]

    def torques(self, input_torque: float) -> Floats:
        """Return the torque on every shaft while running, N·m, shape (stages + 1,).

        Output torque = input torque x ratio x efficiency.
        """
        up_to, kept = self._carried
        return input_torque * up_to * kept

    def shaft_torques(self, duty: Duty, stiffness: float = 0.0) -> ShaftTorques:
        """Return the torque on every shaft in all that can happen; stiffness in N·m/rad.

        It is an error if the duty counts on other stages or losses than this train has.
        """
        for name in ("mesh_efficiency", "bearing_efficiency"):
            ours, theirs = getattr(self, name), getattr(duty, name)
            if ours != theirs:
                raise GearworkError(
                    f"{name.replace('_', ' ')} is {ours:g} in the train and {theirs:g} in the duty:"
                    " they must be equal; give both the same"
                )
        return duty.shaft_torques(self.stage_ratios, stiffness)

    def mass(self, density: float) -> float:
        """Return the mass of all gears, kg, at a density in kg/m³; no rods, nuts or plates."""
        number("density", density, unit="kg/m³", above=0.0)
        return sum(gear.mass(density) for gear in self.gears)

    def input_inertia(self, density: float) -> float:
        """Return the moment of inertia of all gears seen at the first shaft, kg·m².

        Each gear's own over the square of the ratio up to its shaft; the square of the train's
        ratio brings it to the output. Density in kg/m³.
        """
        number("density", density, unit="kg/m³", above=0.0)
        ratio, _ = self._carried
        return float(sum(gear.inertia(density) / ratio[gear.shaft] ** 2 for gear in self.gears))

    def loads_on(self, shaft: int, torques: ArrayLike) -> tuple[ShaftLoad, ...]:
        """Return what the gears on one shaft do to it; its bearings give the opposite.

        The torque on the shaft of the pinion counts for both gears of a mesh, which press on
        each other alike. What friction takes is lost on the wheel's side: its shaft receives
        more than it passes on.

        Parameters
        ----------
        shaft : int
            Which shaft.
        torques : array_like, shape (stages + 1,)
            Torque on every shaft, N·m. Positive: the drive turns the first shaft
            counter-clockwise. Negative: the other flanks carry, as when the drive brakes.

        Returns
        -------
        tuple of ShaftLoad
            Positions along z and forces along x and y, in the coordinates of the train.
        """
        torque = np.asarray(torques, dtype=float)
        if torque.shape != (len(self.shafts),):
            raise GearworkError(
                f"torques have the shape {torque.shape}: one for each of the"
                f" {len(self.shafts)} shafts is needed"
            )
        loads = []
        meshes = [(i, side) for i in range(len(self.stages)) for side in SIDES]
        for i, side in meshes:
            gear, drives = self.gears_of(i)[side == "wheel"], side == "pinion"
            if gear.shaft != shaft:
                continue
            stage, given = self.stages[i], float(torque[i])
            load = mesh_load(
                self.mesh_name(i, side),
                (gear.start + gear.end) / 2,
                self.directions[shaft] * (-given if drives else given * stage.ratio),
                gear.gear.base_diameter,
                stage.pair.working_pressure_angle,
                mate_direction=self.angles[i] + (0.0 if drives else 180.0),
                face_width=gear.end - gear.start,
            )
            loads.append(load)
        return tuple(loads)

    def shaft(
        self,
        number: int,
        torques: Floats,
        on: Rod,
        ball: Bearing,
        ends: Ends = (NOTHING, NOTHING),
        way: int = 0,
    ) -> Shaft:
        """Return a shaft with its loads, on such a rod and such bearings.

        `torques` as for `loads_on`; `ends`: what is fixed to the first and to the last shaft;
        `way` in which of its ways that presses.
        """
        loads = self.loads_on(number, torques)
        first, second = (sum(ends) / 2 for ends in self.bearings(number))
        bearings = first, second
        left, faces = -sum(load.torque for load in loads), self.stack_up.span(number)
        if number == 0:
            rest = ends[0].loads("input", faces, left, way)
        elif number == len(self.shafts) - 1:
            rest = ends[1].loads("output", faces, left, way)
        else:
            rest = (ShaftLoad("losses", bearings[0], (0.0, 0.0), left),)
        return Shaft(on, ball, bearings, (*loads, *rest))

    def stiffness(self, on: Rod, overhangs: tuple[float, float]) -> float:
        """Return the stiffness with the output held, seen at the drive, N·m/rad: rods alone."""
        widths = [stage.face_width for stage in self.stages]
        lengths = twisted_lengths(widths, self.frame.gap, self.frame.plate_thickness, overhangs)
        # an idler takes no torque from its rod
        lengths = lengths * [1.0, *(not stage.idler for stage in self.stages[1:]), 1.0]
        return float(torsional_stiffness(self._carried[0], np.inf, lengths, on.core_diameter))


def _check_planes(planes: tuple[int, ...], stages: tuple[Stage, ...]) -> None:
    count = len(stages)
    if len(planes) != count:
        raise GearworkError(f"planes: {len(planes)}; there must be one for each of {count} stages")
    for plane in planes:
        whole_number("plane of a stage", plane, at_least=0, at_most=count - 1)
    if set(planes) != set(range(max(planes) + 1)):
        raise GearworkError(f"planes are {planes}: one is empty; number them from 0 without a gap")
    behind = zip(pairwise(planes), stages[1:], strict=True)
    if any((one == other) is not stage.idler for (one, other), stage in behind):
        raise GearworkError(
            f"planes are {planes}: a wheel and the pinion behind it sit on one shaft and must be in"
            " different planes; an idler has one plane with both its mates"
        )


def _check_arrangement(arrangement: object, stages: tuple[Stage, ...]) -> None:
    if arrangement == "coaxial" and any(stage.idler for stage in stages):
        raise GearworkError(
            'arrangement is "coaxial" with an idler: the gears on either side of it stand in one'
            ' plane and cannot share an axis; take "folded" or "in line"'
        )
    if arrangement is None or isinstance(arrangement, str):
        if arrangement in (None, "folded", "in line", "coaxial"):
            return
    elif isinstance(arrangement, Sequence):
        for angle in arrangement:
            number("angle of a stage", angle, unit="degrees")
        if len(arrangement) == len(stages):
            return
    raise GearworkError(
        f'arrangement is {arrangement!r}: it must be "folded", "in line", "coaxial" or the'
        f" direction of each centre line in degrees, {len(stages)} numbers"
    )


_PLACES = "places and sizes of all bodies of the train"
_CLEARANCE = f"{_PLACES}; clearance: assumption unless given"
_ROUNDING = 1e-6
_room = partial(Check, unit="mm", sense="at least", kind="room")


def check_train(train: GearTrain, on_wheels: bool = False) -> CheckReport:
    """Judge whether gears, hubs, rods, plates and ground keep clear of each other.

    Bodies count as discs of their greatest diameter; meshing teeth are left to the checks of
    the pair.

    Parameters
    ----------
    train : GearTrain
        With its frame.
    on_wheels : bool
        Whether what is driven holds the output shaft at its height: no frame raises it then.

    Returns
    -------
    CheckReport
        Room in mm between all that turns and stands.

    Examples
    --------
    >>> from gearwork import Gear, GearPair
    >>> from gearwork.machine import Frame, GearTrain, ShaftParts, Stage
    >>> stage = Stage(GearPair(Gear(module=5, teeth=16), Gear(module=5, teeth=44)), face_width=24)
    >>> parts = ShaftParts(8, hub_diameter=24, hub_height=8, seat_diameter=22, bearing_width=7)
    >>> train = GearTrain((stage, stage), (parts,) * 3, Frame(plate_thickness=18, gap=12))
    >>> check_train(train).ok
    True
    """
    shared = train.on_one_axis
    pairs = [p for p in combinations(range(len(train.shafts)), 2) if p not in shared]
    checks = [check for pair in pairs if (check := _shafts_check(train, *pair)) is not None]
    checks += [_seats_check(train, pairs), _gap_check(train)]
    checks += [_middle_plate_check(train, *pair) for pair in shared]
    if train.frame.output_height is not None:
        checks.append(_ground_check(train, train.frame.output_height, on_wheels))
    return CheckReport(Subject("train", "room in the train"), tuple(checks))


def _shafts_check(train: GearTrain, one: int, other: int) -> Check | None:
    columns, room = train.columns, train.frame.clearance
    bodies = closest(columns[one], columns[other], room)
    if bodies is None:
        return None
    distance = math.dist(train.points[one], train.points[other])
    first, second = bodies
    return _room(
        judged=f"room between shafts {one + 1} and {other + 1}",
        value=distance - touching_distance(bodies),
        limit=room - _ROUNDING,
        why=f"Of all that passes there, {first.name} and {second.name} come closest.",
        source=_CLEARANCE,
    )


def _seats_check(train: GearTrain, pairs: list[tuple[int, int]]) -> Check:
    def wood(pair: tuple[int, int]) -> float:
        seats = sum(train.shafts[shaft].seat_diameter for shaft in pair) / 2
        return math.dist(*(train.points[shaft] for shaft in pair)) - seats

    one, other = min(pairs, key=wood)
    limit, value = train.frame.seat_wood, wood((one, other))
    return _room(
        judged="wood between bearing seats",
        value=value,
        limit=limit,
        why=f"The seats of shafts {one + 1} and {other + 1} are the closest; the plate must not"
        " break out between them, and each has a ring that holds its bearing.",
        source=f"{_PLACES}; half the plate's thickness, width of the rings: assumption",
    )


def _gap_check(train: GearTrain) -> Check:
    highest = max(parts.hub_height for parts in train.shafts)
    limit = max(highest, train.frame.clearance)
    return _room(
        judged="gap between planes of gears",
        value=train.frame.gap,
        limit=limit,
        why=f"Nuts and washers {highest:.2f} mm high stand between gear and gear, and between gear"
        " and plate.",
        ways=((("gap", round_up(limit)),),),
        source=_PLACES,
    )


def _middle_plate_check(train: GearTrain, one: int, other: int) -> Check:
    widths = train.shafts[one].bearing_width + train.shafts[other].bearing_width
    (plate,) = {*train.stack_up.carried[one]} & {*train.stack_up.carried[other]}
    low, high = train.stack_up.plates[plate]
    return _room(
        judged=f"plate between shafts {one + 1} and {other + 1}",
        value=float(high - low),
        limit=widths,
        why="The two shafts stand on one axis; both have a bearing in the plate between them.",
        ways=((("plate_thickness", round_up(widths)),),),
        source=_PLACES,
    )


def _ground_check(train: GearTrain, output_height: float, on_wheels: bool) -> Check:
    lowest = train.box.edge[1] - (train.points[-1][1] - output_height)
    limit = train.frame.ground_clearance
    higher = ("frame.output_height", round_up(output_height + limit - lowest, 1))
    return _room(
        judged="ground clearance",
        value=lowest,
        limit=limit,
        why=f"The lid under the gears reaches lowest, with the output shaft {output_height:.1f} mm"
        " above the ground.",
        ways=() if on_wheels else ((higher,),),
        source=f"{_PLACES}; ground clearance: assumption unless given",
    )
