"""The shafts of many trains, bent by all that can happen: what the whole machine is judged by.

Room, forces, moments, bearings and the edge of the teeth by the formulas of the checks, given
arrays. Trains come along the first axis; the ways in which something may press on a shaft's end
along the second.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property, lru_cache, reduce
from itertools import combinations, pairwise, product
from math import factorial
from typing import Any, Literal, NamedTuple

import numpy as np

from gearwork.checks.hub.centring import seated_tilt
from gearwork.checks.hub.coupling import Coupling, cheapest_coupling, couplings
from gearwork.checks.hub.fixing import HubRating, bonded
from gearwork.checks.hub.hub import HubTask, rooms_within, sized_fixing, stepped, torque_step
from gearwork.checks.shaft import beam
from gearwork.checks.shaft.alignment import RUN_IN, max_face_factor, mean_modulus
from gearwork.checks.shaft.shaft import (
    FATIGUE_SAFETY,
    MIN_STATIC_SAFETY,
    UNBRANDED,
    YIELD_SAFETY,
)
from gearwork.choosing.space import CaseName
from gearwork.choosing.tally import DEMANDS, Demands, judge
from gearwork.choosing.trains import Task, TrainTable
from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import GearPair
from gearwork.geometry.plate import (
    EAR,
    FOOT,
    INSET,
    MARGIN,
    ROD_HOLE,
    corner_room,
    plate_sizes,
    turning,
)
from gearwork.machine.attached import Attached, Push
from gearwork.machine.axial import OnEnds, OnRod, depth_of, fitted, grip_of, layouts_of
from gearwork.machine.brief import Shafts
from gearwork.machine.frame import (
    COAXIAL,
    Arrangement,
    Column,
    Cylinder,
    Frame,
    Grip,
    ShaftParts,
    StackUp,
    folded_angles,
    hub_cylinders,
    positions,
    reach,
)
from gearwork.machine.frame_check import (
    FeetLoad,
    foot_stress,
    opening_of,
    safety_distance,
    web_stresses,
)
from gearwork.machine.stage import Stage
from gearwork.machine.train import GearTrain
from gearwork.numbers import Floats, Ints
from gearwork.stock.hardware import Bearing
from gearwork.stock.laminate import Panel, weakest_direction
from gearwork.stock.timber import design_value

AT_ONCE = 2000
"""Trains whose shafts are bent at once."""

FEW = 0.5
"""Share of trains below which it pays to go on with these alone."""


def length(vectors: Floats) -> Floats:
    """Of plane vectors (..., 2); five times as fast as the norm of numpy."""
    return np.asarray(np.sqrt(vectors[..., 0] ** 2 + vectors[..., 1] ** 2))


@dataclass(frozen=True, eq=False)
class Bent:
    """One shaft of every train, its ways along the second axis: places, mm, forces, N, torques."""

    at: Floats  # (n, ways, k)
    forces: Floats  # (n, ways, k, 2)
    torques: Floats  # (n, ways, k), N·m
    bearings: tuple[Any, Any]  # (n, 1) or numbers

    @cached_property
    def reactions(self) -> Floats:
        """Of both bearings, N, (n, ways, 2, 2)."""
        return np.asarray(beam.bearing_reactions(self.at, self.forces, *self.bearings))

    @cached_property
    def every(self) -> tuple[Floats, Floats]:
        """Places and forces with those of the bearings."""
        ends = [np.broadcast_to(x, self.at.shape[:2])[..., None] for x in self.bearings]
        return (
            np.concatenate([self.at, *ends], axis=-1),
            np.concatenate([self.forces, self.reactions], axis=-2),
        )

    def stresses(self, core: float) -> tuple[Floats, Floats]:
        """Greatest of bending, and of it with torsion by von Mises, MPa, (n,)."""
        places, forces = self.every  # between forces the moment is greatest at an end
        moment = length(beam.summed_arms(places, places, forces, 1))
        x, at, turned = places[..., :, None], self.at[..., None, :], self.torques[..., None]
        passed = [np.abs(beside @ turned)[..., 0] for beside in (1.0 * (at < x), 1.0 * (at <= x))]
        bending = moment / beam.section_modulus(core)
        shear = 1000.0 * np.maximum(*passed) / (2.0 * beam.section_modulus(core))
        both = np.sqrt(bending**2 + 3.0 * shear**2)
        return bending.max(axis=(1, 2)), both.max(axis=(1, 2))

    def slope_at(self, place: Any, core: float) -> Floats:
        """Of the deflected shaft, mm per mm, (n, ways, 2); `place` (n,)."""
        places, forces = self.every
        x = np.broadcast_to(np.reshape(place, (-1, 1, 1)), (*self.at.shape[:2], 1))
        tilt = beam.summed_arms(x, places, forces, 2)[..., 0, :] / factorial(2)
        return np.asarray((tilt - self._chord[2]) / beam.rigidity(core))

    def moved_at(self, place: Any, core: float) -> Floats:
        """How far the shaft is bent aside, mm, (n, ways, 2); `place` (n,)."""
        places, forces = self.every
        x = np.broadcast_to(np.reshape(place, (-1, 1, 1)), (*self.at.shape[:2], 1))
        aside = beam.summed_arms(x, places, forces, 3)[..., 0, :] / factorial(3)
        start, first, chord = self._chord
        return np.asarray((aside - first - (x - start) * chord) / beam.rigidity(core))

    @cached_property
    def _chord(self) -> tuple[Floats, Floats, Floats]:
        """The first bearing, E I times how far it is off there, and the slope to the other."""
        places, forces = self.every
        ends = np.stack([np.broadcast_to(x, self.at.shape[:2]) for x in self.bearings], axis=-1)
        held = beam.summed_arms(ends, places, forces, 3) / factorial(3)
        chord = (held[..., 1, :] - held[..., 0, :]) / (ends[..., 1] - ends[..., 0])[..., None]
        return ends[..., :1], held[..., 0, :], chord


class Held(NamedTuple):
    """How pinion and wheel of each stage are held, and what is at the ends of the train."""

    gears: tuple[HubRating, ...]
    coupling: Coupling | None
    drive: HubRating | None
    load: HubRating | None


@dataclass(frozen=True)
class Standing:
    """What stands on the rods of trains whose hubs reach equally far, and how far it does.

    `grips`: what holds pinion and wheel of each stage; `overhangs`: of drive and load. One entry a
    train: `tilts`, how askew each gear stands untrued, (n, gears); `beside_plate`, how far from the
    plate the load must stand at least; `depth`, from end to end of the rods; mm.
    """

    shafts: Shafts
    parts: ShaftParts
    frame: Frame
    grips: tuple[Grip, ...]
    overhangs: tuple[float, float]
    tilts: Floats
    beside_plate: Floats
    depth: Floats

    def rows(self, kept: Any) -> "Standing":
        """Of some of the trains."""
        tilts, beside = self.tilts[kept], self.beside_plate[kept]
        return replace(self, tilts=tilts, beside_plate=beside, depth=self.depth[kept])

    @classmethod
    def of(
        cls, task: Task, shafts: Shafts, parts: ShaftParts, panels: Sequence[Panel], held: Held
    ) -> "Standing":
        """Return what the machine makes of gears of these panels that are held like this."""
        nominal, drive, load = task.limits.frame, task.duty.drive, task.duty.load
        assert nominal is not None
        count, grips = len(panels), tuple(map(grip_of, held.gears))
        # what stands on rods depends on no gear's size
        pair = GearPair(*(Gear(module=10.0, teeth=20),) * 2)
        stages = tuple(Stage(pair, panel.thickness, len(panel.layers)) for panel in panels)
        draft = GearTrain(stages, (parts,) * (count + 1), nominal)
        frame = fitted(nominal, draft, grips, shafts)
        train = replace(draft, frame=frame, grips=grips)

        def disc(held: HubRating | None, fixed: tuple[str, float] | None) -> OnRod | None:
            if held is None or fixed is None:
                return None
            name, face = fixed
            return OnRod(name, held, grip_of(held), (name,), face, held.panel.thickness)

        before, after = shafts.overhangs
        on = OnEnds(
            drive.attached(0.0, before).name,
            load.attached(0.0, after, running=True).name,
            disc(held.drive, drive.fixed_by),
            held.coupling,
            disc(held.load, load.fixed_by),
            task.outputs == 2,
        )
        layouts = layouts_of(train, shafts, on, task.limits.cradle, (None,) * (2 * count))
        before = max(before, on.drive_overhang(train, shafts))
        tilts = np.array([[seated_tilt(one)[0] for one in held.gears]])
        needed = np.array([on.load_overhang(train, shafts)])
        at, depth = (before, after), np.array([depth_of(layouts)])
        return cls(shafts, parts, frame, grips, at, tilts, needed, depth)


@lru_cache(maxsize=512)
def _standing(
    task: Task, shafts: Shafts, parts: ShaftParts, panels: tuple[Panel, ...], held: Held
) -> Standing:
    return Standing.of(task, shafts, parts, panels, held)


def standings(trains: TrainTable) -> Iterator[tuple[Ints, Standing]]:
    """Return which trains stand alike, and what comes of that; nothing where rods are unknown.

    By the fixings that the machine chooses (`sized_fixing`), with the reserve of the search.
    """
    task, parts = trains.task, trains.task.limits.parts
    shafts, limits, panels = task.shafts, task.limits, task.space.panels
    if shafts is None or parts is None or not len(trains):
        return
    stages, count, rod = trains.stages, trains.places.shape[1], shafts.rod
    torques = (1.0 + limits.reserve) * trains.given.max
    reversing = bool(trains.torques["braking"].any())
    every: dict[object, int] = {}  # each choice, and its number
    columns = [*stages.panel.T]

    def choose(panel: Ints, torque: Floats, room: Any, pick: Callable[..., object]) -> None:
        step, place = torque_step(torque), np.broadcast_to(rooms_within(room), torque.shape)
        kinds = np.column_stack([panel, step, place])
        _, first, back = np.unique(kinds, axis=0, return_index=True, return_inverse=True)
        rooms = np.broadcast_to(room, torque.shape)
        picked = (pick(panels[panel[i]], float(torque[i]), float(rooms[i])) for i in first)
        numbers = [every.setdefault(one, len(every)) for one in picked]
        columns.append(np.array(numbers)[back.ravel()])

    def fixing(panel: Panel, torque: float, room: float) -> HubRating:
        given = task.space.bit.cut_diameter, task.use, reversing, limits.fixing
        found = sized_fixing(HubTask(panel, torque, rod, room, *given))
        return found or bonded(rod).rate(panel, task.use)

    def coupling(panel: Panel, torque: float, _: float) -> Coupling:
        given = couplings(rod, panel, task.use, drive.shaft)
        named = next((one for one in given if one.name == limits.coupling), None)
        return named or cheapest_coupling(
            rod, panel, task.use, stepped(torque), reversing, drive.shaft
        )

    for i in range(count):
        for room, shaft in ((stages.pinion_room, i), (stages.wheel_room, i + 1)):
            choose(stages.panel[:, i], torques[:, shaft], room[:, i], fixing)
    drive, load = task.duty.drive, task.duty.load
    first, last = stages.panel[:, 0], stages.panel[:, -1]
    if drive.fixed_by is not None:
        choose(first, torques[:, 0], drive.fixed_by[1], fixing)
    elif drive.has_chuck or drive.shaft:
        choose(first, torques[:, 0], 0.0, coupling)
    if load.fixed_by is not None:
        choose(last, torques[:, -1], load.fixed_by[1], fixing)
    kinds, back = np.unique(np.column_stack(columns), axis=0, return_inverse=True)
    chosen: list[Any] = list(every)
    alike: dict[object, list[tuple[Ints, Standing]]] = {}
    for number, kind in enumerate(kinds.tolist()):
        gears = tuple(chosen[at] for at in kind[count : 3 * count])
        ends = [chosen[at] for at in kind[3 * count :]]
        at_load = ends.pop() if load.fixed_by is not None else None
        at_drive = ends.pop() if ends else None
        coupled = at_drive if isinstance(at_drive, Coupling) else None
        held = Held(gears, coupled, None if coupled else at_drive, at_load)
        rows = np.flatnonzero(back.ravel() == number)
        one = _standing(task, shafts, parts, tuple(panels[at] for at in kind[:count]), held)
        alike.setdefault((one.frame, one.grips, one.overhangs), []).append((rows, one))
    for lot in alike.values():
        every_row = np.concatenate([rows for rows, _ in lot])
        each = [one.rows(np.zeros(len(rows), dtype=int)) for rows, one in lot]
        tilts, beside_plate, depth = (
            np.concatenate([getattr(one, name) for one in each])
            for name in ("tilts", "beside_plate", "depth")
        )
        yield every_row, replace(each[0], tilts=tilts, beside_plate=beside_plate, depth=depth)


@dataclass(frozen=True, eq=False)
class BentTrains:
    """Trains on their shafts in a frame, all standing alike."""

    trains: TrainTable
    on: Standing
    arrangement: Arrangement

    @property
    def _count(self) -> int:
        return int(self.trains.places.shape[1])

    def rows(self, kept: Any) -> "BentTrains":
        """Some of the trains."""
        return BentTrains(self.trains.rows(kept), self.on.rows(kept), self.arrangement)

    @property
    def frame(self) -> Frame:
        """The frame with the room that takes what stands on the rods."""
        return self.on.frame

    @cached_property
    def _stack(self) -> StackUp:
        shared = ((0, 2),) if self.arrangement == "coaxial" else ()
        widths = [*self.trains.stages.face_width.T]
        return StackUp.of(range(self._count), widths, self.frame, shared)

    @cached_property
    def _columns(self) -> tuple[Column, ...]:
        stages, grips = self.trains.stages, iter(self.on.grips)
        found = [
            [Cylinder("rod", *self._stack.span(i), self.on.parts.rod_diameter)]
            for i in range(self._count + 1)
        ]
        for i, start in enumerate(self._stack.planes):
            end = start + stages.face_width[:, i]
            for column, tip in ((found[i], stages.pinion_tip), (found[i + 1], stages.wheel_tip)):
                column.append(Cylinder("gear", start, end, tip[:, i], (i,)))
                column += hub_cylinders("hub", next(grips), start, end)
        return tuple(map(tuple, found))

    @cached_property
    def _angles(self) -> Sequence[Any]:
        arrangement, distances = self.arrangement, [*self.trains.stages.centre_distance.T]
        if arrangement is None or arrangement == "folded":
            return folded_angles(distances, self._columns, self.frame.clearance)
        if arrangement == "in line":
            return (0.0,) * self._count
        return (0.0, 180.0) if arrangement == "coaxial" else [*map(float, arrangement)]

    def demands(self) -> Demands:
        """Return value and limit of room and strength.

        One lot after the other: where few meet the last, the next is reckoned for these alone, and
        the others count as meeting it.
        """
        some, at, found = self, np.arange(len(self.trains)), Demands()
        for lot in (BentTrains.room, BentTrains.edge, BentTrains.strength):
            made = lot(some)
            found |= {name: spread(name, *made[name], at, len(self.trains)) for name in made}
            good, _ = judge(made, len(at), self.trains.task.limits.reserve)
            if not good.any():
                break
            if good.mean() < FEW:
                some, at = some.rows(good), at[good]
        return found

    def room(self) -> Demands:
        """Return value and limit of the room between shafts and above the ground."""
        frame, points = self.frame, self._points
        gaps, seats = [], []
        for one, other in combinations(range(self._count + 1), 2):
            (x0, y0), (x1, y1) = points[one], points[other]
            apart = np.hypot(x1 - x0, y1 - y0)
            touch = reach(self._columns[one], self._columns[other], frame.clearance)
            on_one_axis = self.arrangement == "coaxial" and (one, other) == (0, 2)
            gaps.append(np.where((touch > 0.0) & (not on_one_axis), apart - touch, np.inf))
            seats.append(np.where(on_one_axis, np.inf, apart - self.on.parts.seat_diameter))
        demands: Demands = {
            "room between shafts": (np.min(gaps, axis=0), frame.clearance - 1e-6),
            "wood between bearing seats": (np.min(seats, axis=0), frame.seat_wood),
            "gap at one edge as assembled": self._askew(),
        }
        if self.arrangement == "coaxial":
            first, last = self.trains.stages.centre_distance.T
            demands["difference of the centre distances"] = (np.abs(first - last), COAXIAL)
        if frame.output_height is not None:
            _, (low, _) = self._inside
            lowest = low - frame.plate_thickness - (points[-1][1] - frame.output_height)
            demands["ground clearance"] = (lowest, frame.ground_clearance)
        demands |= self._beside_plate()
        limits, box = self.trains.task.limits, self._box_edges
        left, low, right, high = box
        if limits.cradle.body_diameter:
            (x0, x1), (y0, y1) = self._inside
            corners = product((y0 + INSET, y1 - INSET), (x0 + INSET, x1 - INSET))
            posts = limits.cradle.posts([(x, y) for y, x in corners])
            demands |= limits.cradle.demands(self.trains.given.max[:, 0], posts)
            more = limits.cradle.bounds(posts)
            left, low = np.minimum(left, more[0]), np.minimum(low, more[1])
            right, high = np.maximum(right, more[2]), np.maximum(high, more[3])
        if limits.stock is not None:
            wide, tall = box[2] - box[0] - 2.0 * EAR, box[3] - box[1]
            demands |= plate_sizes(wide, tall, frame.plate_thickness, limits.stock)
        return demands | limits.of_machine((right - left, high - low, self.on.depth))

    def _askew(self) -> tuple[Any, Any]:
        """How far flanks stand off at one edge over what runs in, and 1, of the worst mesh."""
        given, stages = self.trains.task.limits.tolerance, self.trains.stages
        panels = self.trains.task.space.panels
        lean = np.array([given.lean(panel.sheet.thickness) for panel in panels])
        shares = []
        for i in range(self._count):
            width, gaps = stages.face_width[:, i], [lean[stages.panel[:, i]]]
            tips = stages.pinion_tip[:, i], stages.wheel_tip[:, i]
            for untrued, tip in zip(self.on.tilts.T[2 * i : 2 * i + 2], tips, strict=True):
                gaps.append(width * np.minimum(untrued, given.max_wobble / tip))
            gap = np.sqrt(sum(one**2 for one in gaps))
            shares.append(gap / (RUN_IN * np.maximum(stages.play[:, i], 1e-9)))
        return np.max(shares, axis=0), 1.0

    def _beside_plate(self) -> Demands:
        """Return room of what is driven: to the plate, and to the drive where that is beside it."""
        load, task = self.trains.task.duty.load, self.trains.task
        if load.fixed_by is None:
            return {}
        stands = np.full(len(self.trains), self.on.overhangs[1])
        demands: Demands = {"room beside the plate": (stands, self.on.beside_plate)}
        if task.outputs == 2:
            sweeps = max(self.on.shafts.rod.diameter, task.duty.drive.swept_diameter)
            apart = np.hypot(*self._points[-1]) - (load.swept_diameter + sweeps) / 2.0
            demands["room between wheel and drive"] = (apart, self.frame.clearance)
        return demands

    @cached_property
    def _turning(self) -> tuple[list[Any], Any]:
        """The circle on each axis that the box keeps off, and by how much at least, mm."""
        stages, air = self.trains.stages, self.frame.air
        pinions, wheels = ([*tips.T] for tips in (stages.pinion_tip, stages.wheel_tip))
        tips = [pinions[0], *map(np.maximum, pinions[1:], wheels[:-1]), wheels[-1]]
        turns = [turning(tip, self.on.parts.seat_diameter, air) for tip in tips]
        return turns, air + corner_room(reduce(np.minimum, turns), air)

    @cached_property
    def _inside(self) -> tuple[tuple[Any, Any], tuple[Any, Any]]:
        """From where to where the box about the gears reaches, along x and along y, mm."""
        turns, more = self._turning

        def along(axis: int) -> tuple[Any, Any]:
            sides = list(zip((p[axis] for p in self._points), turns, strict=True))
            low = reduce(np.minimum, [p - turn / 2 for p, turn in sides]) - more
            return low, reduce(np.maximum, [p + turn / 2 for p, turn in sides]) + more

        return along(0), along(1)

    @property
    def _box_edges(self) -> tuple[Any, Any, Any, Any]:
        """Smallest x and y, largest x and y over plates and feet, mm, as of `Box.bounds`."""
        (left, right), (low, high) = self._inside
        thick = self.frame.plate_thickness
        aside, foot = thick + MARGIN + EAR, FOOT * thick
        below, above = (foot, thick) if self.frame.output_height is None else (thick, foot)
        return left - aside, low - below, right + aside, high + above

    @cached_property
    def bent(self) -> Callable[[int, CaseName, float], Bent]:
        """A shaft in a load case in one sense, as `GearTrain.shaft`, each bent once."""
        return cache(self._bent)

    def _bent(self, shaft: int, case: CaseName, sense: float) -> Bent:
        torques = self.trains.torques[case] * sense
        stages, turns = self.trains.stages, (-1.0) ** shaft
        alpha = self.trains.task.space.pressure_angle
        places, forces, turned = [], [], []
        meshes = [(shaft - 1, False)] * (shaft > 0) + [(shaft, True)] * (shaft < self._count)
        for i, drives in meshes:
            teeth = stages.pinion_teeth[:, i], stages.wheel_teeth[:, i]
            base = [stages.module[:, i] * z * np.cos(np.radians(alpha)) for z in teeth]
            working = np.degrees(np.arccos(sum(base) / 2 / stages.centre_distance[:, i]))
            given = torques[:, i] * (-1.0 if drives else stages.ratio[:, i]) * turns
            towards = np.asarray(self._angles[i]) + (0.0 if drives else 180.0)
            force = beam.tooth_force(given, base[0 if drives else 1], working, towards)
            places.append(self._middle(i))
            forces.append(force)
            turned.append(given)
        left = -np.sum(turned, axis=0)
        bearings = [
            (start + end) / 2
            for start, end in self._stack.bearings(shaft, self.on.parts.bearing_width)
        ]
        ends = self._ends(torques, case == "running")
        faces = self._stack.span(shaft)
        ways: list[tuple[list[Any], tuple[Push, ...]]] = [([bearings[0]], (((0.0, 0.0), 1.0),))]
        if shaft in (0, self._count):
            name, fixed = ends[bool(shaft)]
            ways = [(fixed.places(name, faces, i), pushes) for i, pushes in enumerate(fixed.ways)]
        one = np.ones(len(self.trains))
        at = [np.stack([one * x for x in (*places, *ends)], axis=-1) for ends, _ in ways]
        pushed = [
            np.stack(
                [np.stack([one * y, one * z], -1) for y, z in (*forces, *(f for f, _ in on))], 1
            )
            for _, on in ways
        ]
        passed = [np.stack([*turned, *(left * share for _, share in on)], -1) for _, on in ways]
        return Bent(
            np.stack(at, axis=1),
            np.stack(pushed, axis=1),
            np.stack(passed, axis=1),
            (_column(bearings[0]), _column(bearings[1])),
        )

    def _middle(self, stage: int) -> Any:
        """Middle of a mesh along the shafts, mm."""
        return self._stack.planes[stage] + self.trains.stages.face_width[:, stage] / 2

    def _ends(
        self, torques: Floats, running: bool
    ) -> tuple[tuple[Literal["input"], Attached], tuple[Literal["output"], Attached]]:
        """What is fixed to the first and to the last shaft."""
        duty, (before, after) = self.trains.task.duty, self.on.overhangs
        drive, load = np.abs(torques[:, 0]), np.abs(torques[:, -1])
        return (
            ("input", duty.drive.attached(drive, before)),
            ("output", duty.load.attached(load, after, running)),
        )

    @property
    def _senses(self) -> tuple[float, ...]:
        return self.trains.task.service.senses

    @property
    def _shocks(self) -> list[tuple[CaseName, float, float]]:
        """What comes now and then, in which sense, and how often."""
        often = self.trains.task.service.times
        starts: list[tuple[CaseName, float]] = [("starting", sense) for sense in self._senses]
        return [(case, sense, often(case) or 1.0) for case, sense in (*starts, *self._jams)]

    @property
    def _jams(self) -> tuple[tuple[CaseName, float], ...]:
        """What loads the teeth most; when it brakes the other flanks carry."""
        stalls: list[tuple[CaseName, float]] = [("stall", sense) for sense in self._senses]
        return (*stalls, ("braking", -1.0)) if self.trains.torques["braking"].any() else (*stalls,)

    def strength(self) -> Demands:
        """Return what rods, bearings and seats bear over what acts, as `check_shaft` judges."""
        lots = [self._shaft(shaft) for shaft in range(self._count + 1)]
        shafts = {name: (np.min([lot[name] for lot in lots], axis=0), 1.0) for name in lots[0]}
        return shafts | self._box()

    @cached_property
    def _points(self) -> tuple[tuple[Any, Any], ...]:
        """Where the shafts stand, mm."""
        return positions(self._angles, [*self.trains.stages.centre_distance.T])

    @property
    def _ball(self) -> Bearing:
        return self.on.shafts.bearing

    @property
    def _plate(self) -> Panel:
        return self.frame.plate or self.trains.task.space.panels[0].sheet

    def _web(self, shaft: int, force: Floats) -> Floats:
        """Strength over stress of the wood beside the bearings of a shaft, as `check_frame`."""
        (left, right), (low, high) = self._inside
        (x, y), seat = self._points[shaft], self._ball.outer_diameter + self.frame.fit
        beside = [reduce(np.minimum, (x - left, right - x, y - low, high - y)) - seat / 2.0]
        for corner in product((left + INSET, right - INSET), (low + INSET, high - INSET)):
            to_rod = np.hypot(x - corner[0], y - corner[1])
            beside.append(to_rod - (seat + ROD_HOLE) / 2.0)
        for other, at in enumerate(self._points):
            if other != shaft:  # on one axis they meet in a plate of their own
                apart = np.hypot(x - at[0], y - at[1])
                beside.append(np.where(apart > COAXIAL, apart - seat, np.inf))
        plate, wide = self._plate, np.maximum(reduce(np.minimum, beside), 1e-6)
        deep = min(self._ball.width, self.frame.plate_thickness)
        torn, bent = web_stresses(force, wide, seat, deep)
        factors = self.trains.task.use.factors("shear")
        _, tension = weakest_direction(plate, "tension")
        shear, pull = (design_value(s, *factors) for s in (plate.panel_shear, tension))
        with np.errstate(divide="ignore"):
            return np.asarray(np.minimum(shear / torn, pull / bent))

    def _box(self) -> Demands:
        """Return how far the boards keep off teeth, and strength over stress of the feet."""
        (left, right), (low, high) = self._inside
        task, thick, plates = self.trains.task, self.frame.plate_thickness, self._stack.plates
        hangs = self.frame.output_height is not None
        foot = high + FOOT * thick if hangs else low - FOOT * thick
        events = []
        for case, sign in (("running", 1.0), ("starting", 1.0), ("stall", 1.0), ("braking", -1.0)):
            torques = sign * self.trains.torques[case]
            turned = np.abs(torques[:, -1]) + (self._count % 2) * np.abs(torques[:, 0])
            (_, drive), (_, load) = self._ends(torques, running=case == "running")
            events.append((turned, (drive, load)))
        ends = self._points[0], self._points[-1]
        first, last = ((at[0] - (left + right) / 2.0, at[1] - foot) for at in ends)
        load_on = FeetLoad.of(events, (first, last), (plates[-1][1] - plates[0][0]) / 2.0)
        width = sum(above[0] - below[1] for below, above in pairwise(plates))
        apart = right - left + 2.0 * (thick + MARGIN) + EAR
        sheet = self._plate.sheet
        strength = (sheet.bending or sheet.tension)[0]
        bears = design_value(strength, *task.use.factors("shear"))
        stress = np.maximum(foot_stress(load_on, width, apart, thick), 1e-9)
        least = safety_distance(opening_of(task.limits.tolerance.edge_tolerance))
        return {
            "bending of the feet": (bears / stress, 1.0),
            "teeth behind the joints of the guard": (self._turning[1], least),
        }

    def _shaft(self, shaft: int) -> dict[str, Floats]:
        rod, ball, service = self.on.shafts.rod, self.on.shafts.bearing, self.trains.task.service
        speed = np.maximum(self.trains.drive_speed / self.trains.ratio_up_to[:, shaft], 1.0)
        running = [self.bent(shaft, "running", sense) for sense in self._senses]
        found = [bent.stresses(rod.core_diameter) for bent in running]
        tired, most = (np.max(column, axis=0) for column in zip(*found, strict=True))
        tired = tired / self._amplitude(60.0 * speed * service.running_hours)
        forces = np.max([length(bent.reactions).max(axis=(1, 2)) for bent in running], axis=0)
        peak = forces
        for case, sense, times in self._shocks:
            bent = self.bent(shaft, case, sense)
            bending, both = bent.stresses(rod.core_diameter)
            tired = np.maximum(tired, bending / 2.0 / self._amplitude(times))
            most = np.maximum(most, both)
            peak = np.maximum(peak, length(bent.reactions).max(axis=(1, 2)))
        plate = self._plate
        _, crushing = weakest_direction(plate, "compression")
        seat = ball.outer_diameter * min(ball.width, plate.thickness)
        bears = design_value(crushing, *self.trains.task.use.factors("compression"))
        life = beam.bearing_life(UNBRANDED * ball.dynamic_rating, forces, speed)
        with np.errstate(divide="ignore"):
            return {
                "rod strength": rod.grade.yield_strength / YIELD_SAFETY / most,
                "rod fatigue": 1.0 / (FATIGUE_SAFETY * tired),
                "bearing life": life / service.running_hours,
                "bearing strength": UNBRANDED * ball.static_rating / peak / MIN_STATIC_SAFETY,
                "bearing seats": bears * seat / peak,
                "wood beside the bearings": self._web(shaft, peak),
            }

    def _amplitude(self, cycles: Any) -> Any:
        return beam.thread_fatigue_strength(self.on.shafts.rod.diameter, cycles)

    def edge(self) -> Demands:
        """Return K_Hβ, and how far gears move apart or nearer, over what it may be, worst mesh."""
        shafts = range(self._count + 1)
        bent = [[self.bent(shaft, *jam) for jam in self._jams] for shaft in shafts]
        stages, core = self.trains.stages, self.on.shafts.rod.core_diameter
        moduli = np.array([mean_modulus(panel) for panel in self.trains.task.space.panels])
        reserve = np.minimum(self.trains.reserve("stall"), self.trains.reserve("braking"))
        most = max_face_factor(reserve, stages.face_width, stages.tooth_depth)
        found, moved = [], []
        for i in range(self._count):
            width, modulus = stages.face_width[:, i], moduli[stages.panel[:, i]]
            factors, forces = [], []
            turn = np.radians(self._angles[i]) * np.ones(len(width))
            along = np.stack([np.cos(turn), np.sin(turn)], axis=-1)[:, None, :, None]
            apart, nearer = (np.maximum(one[:, i, None, None], 1e-9)
                             for one in (stages.room_apart, stages.room_nearer))  # fmt: skip
            for on_pinion, on_wheel in zip(bent[i], bent[i + 1], strict=True):
                force = on_wheel.forces[:, 0, 0]  # the first load of a wheel's shaft is its mesh
                size = length(force)
                towards = (force / np.maximum(size, 1e-12)[:, None])[:, None, :, None]
                slopes = [
                    (one.slope_at(self._middle(i), core)[..., None, :] @ towards)[..., 0, 0]
                    for one in (on_pinion, on_wheel)
                ]
                gap = np.abs(slopes[1][:, None, :] - slopes[0][:, :, None]).max(axis=(1, 2)) * width
                factors.append(beam.face_load_factor(gap, width, size, modulus))
                forces.append(size)
                ways = [
                    (one.moved_at(self._middle(i), core)[..., None, :] @ along)[..., 0, 0]
                    for one in (on_pinion, on_wheel)
                ]
                change = ways[1][:, None, :] - ways[0][:, :, None]
                moved.append(np.maximum(change / apart, -change / nearer).max(axis=(1, 2)))
            worst = np.argmax(np.array(factors) * np.array(forces), axis=0)
            factor = np.take_along_axis(np.array(factors), worst[None], axis=0)[0]
            found.append(factor / most[:, i])
        return {
            "edge load": (np.max(found, axis=0), 1.0),
            "centre distance under load": (np.max(moved, axis=0), 1.0),
        }


def spread(name: str, value: Any, limit: Any, at: Ints, count: int) -> tuple[Any, Any]:
    """Value and limit of some of so many trains, in any order; the others meet the demand."""
    met = np.inf if DEMANDS[name].sense == "at least" else -np.inf
    values, limits = np.full(count, met), np.ones(count)
    values[at], limits[at] = value, limit
    return values, limits


def _column(place: Any) -> Any:
    return place[:, None] if np.ndim(place) else place


def shaft_demands(trains: TrainTable) -> Demands:
    """Return value and limit of what bends the shafts of trains; nothing where none are given."""
    found: Demands = {}
    for rows, on in standings(trains):
        for name, both in _arranged(trains.rows(rows), on).items():
            some = spread(name, *both, rows, len(trains))
            if name not in found:
                found[name] = some
                continue
            for column, values in zip(found[name], some, strict=True):
                column[rows] = values[rows]
    return found


def _arranged(trains: TrainTable, on: Standing) -> Demands:
    """Demands of trains that are held alike.

    Where the arrangement is left open and no train holds folded, what it is in line, of those that
    hold so.
    """
    demands = BentTrains(trains, on, on.frame.arrangement).demands()
    if on.frame.arrangement is not None or trains.places.shape[1] == 1:
        return demands
    reserve = trains.task.limits.reserve
    if judge(demands, len(trains), reserve)[0].any():
        return demands
    in_line = BentTrains(trains, on, "in line").demands()
    holds, _ = judge(in_line, len(trains), reserve)
    if not holds.any():
        return demands
    return {
        name: (np.where(holds, in_line[name][0], value), limit)
        for name, (value, limit) in demands.items()
    }
