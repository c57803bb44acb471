"""Trains as arrays, made of pairs: of one, two or three stages."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, reduce
from typing import Any

import numpy as np

from gearwork.checks.hub.coupling import couplings
from gearwork.checks.hub.joints import JointUse
from gearwork.checks.tooth.friction import mesh_efficiency
from gearwork.checks.tooth.load_case import LoadCase, Service, load_cases
from gearwork.checks.tooth.strength import Capacity
from gearwork.choosing.pairs import HubTable, PairTable, rod_torque, taken
from gearwork.choosing.space import CaseName, Limits, SearchSpace
from gearwork.choosing.tally import Demands
from gearwork.machine.brief import Shafts
from gearwork.machine.duty import Duty, ShaftTorques, carried
from gearwork.machine.events import torsional_stiffness, twisted_lengths
from gearwork.machine.frame import Frame, ShaftParts
from gearwork.numbers import RPM, Bools, Floats, Ints
from gearwork.stock.hardware import Rod


def least(values: Floats) -> Floats:
    """Return the least along the last axis, which is short: its columns one after the other."""
    return np.asarray(reduce(np.minimum, np.moveaxis(values, -1, 0)))


@dataclass(frozen=True)
class Task:
    """What every train of a search has in common."""

    space: SearchSpace
    limits: Limits
    duty: Duty  # with the number of stages of the trains
    service: Service

    @cached_property
    def load_cases(self) -> dict[CaseName, LoadCase]:
        """Every load case by its name; the torques are those of the trains."""
        cases = load_cases(0.0, 0.0, self.service, 0.0, 0.0, 0.0, grave=self.duty.ridden)
        return {case.name: case for case in cases}

    @property
    def use(self) -> JointUse:
        """How fixings are loaded."""
        return JointUse.of(self.service, self.duty.ridden)

    @cached_property
    def end_holds(self) -> tuple[Floats | None, Floats | None]:
        """Torque that fixings of what drives and of what is driven hold, N·m, for each panel.

        They are of the same layers as the gear beside them. None: nothing is fixed, or known.
        """
        first, last = self.duty.drive.fixed_by, self.duty.load.fixed_by
        return self._holds(first), self._holds(last)

    @cached_property
    def outputs(self) -> int:
        """How many pieces the last shaft turns: two wheels, or one of anything."""
        return self.duty.load.attached(0.0, self.limits.overhangs[1], running=True).count

    def _holds(self, fixed: tuple[str, float] | None) -> Floats | None:
        rod, kind = self.limits.rod, self.limits.fixing
        if fixed is None or rod is None:
            return None
        bit, room, panels = self.space.bit.cut_diameter, np.array([fixed[1]]), self.space.panels
        holds = [HubTable(panel, rod, bit, self.use, kind).holds(room) for panel in panels]
        return np.concatenate(holds)

    @cached_property
    def coupling_holds(self) -> float:
        """Torque that the strongest coupling of drill or motor holds, or the given one, N·m."""
        given, rod, drive = self.limits.coupling, self.limits.rod, self.duty.drive
        if not (drive.has_chuck or drive.shaft) or rod is None:
            return np.inf
        every = couplings(rod, self.space.panels[0], self.use, drive.shaft)
        held = (one.design_torque for one in every if given in (None, one.name))
        return max(held, default=0.0)

    @cached_property
    def shafts(self) -> Shafts | None:
        """Rods and bearings with what is fixed to them; None where the limits leave some out."""
        limits = self.limits
        if not (limits.rod and limits.bearing and limits.frame and limits.parts):
            return None
        free, given = limits.parts.free_end, (limits.coupling, limits.fixing)
        return Shafts(limits.rod, limits.bearing, free, limits.overhangs, *given)

    def with_stages(self, stages: int) -> "Task":
        """Return the same task for trains of another number of stages."""
        return replace(self, duty=replace(self.duty, stages=stages))


@dataclass(frozen=True, eq=False)
class TrainTable:
    """Trains of one number of stages; arrays have the shape (n,) or (n, stages)."""

    pairs: PairTable
    places: Ints  # row of the pair of each stage, the drive's first, shape (n, stages)
    task: Task

    @classmethod
    def none(cls, pairs: PairTable, task: Task) -> "TrainTable":
        """Return a table without a train."""
        return cls(pairs, np.empty((0, 1), dtype=np.int64), task.with_stages(1))

    def __len__(self) -> int:
        return len(self.places)

    def rows(self, kept: Bools | Ints) -> "TrainTable":
        """Return some of the trains."""
        return replace(self, places=self.places[kept])

    @cached_property
    def duty(self) -> Duty:
        """The duty with the losses of the teeth of each train."""
        friction, loss = self.task.service.friction, self.stages.loss
        return replace(
            self.task.duty,
            mesh_efficiency=mesh_efficiency(loss, friction.moving),
            starting_mesh_efficiency=mesh_efficiency(loss, friction.starting),
        )

    @cached_property
    def stages(self) -> PairTable:
        """The pairs of the stages; each column has the shape (n, stages)."""
        return taken(self.pairs, self.places)

    @cached_property
    def ratio_up_to(self) -> Floats:
        """Ratio from the drive to the shaft of each stage's pinion, and to the output."""
        return carried(self.stages.ratio, 1.0)[0]

    @property
    def ratio(self) -> Floats:
        """Ratio of the whole train."""
        return self.ratio_up_to[:, -1]

    @property
    def size(self) -> Floats:
        """Length over gears and bearing seats with all shafts in line, mm."""
        seat = 0.0 if self.task.limits.parts is None else self.task.limits.parts.seat_diameter
        edge = np.full((len(self), 1), seat)
        driving = np.concatenate([self.stages.pinion_tip, edge], axis=1)
        driven = np.concatenate([edge, self.stages.wheel_tip], axis=1)
        reach = np.maximum(np.maximum(driving, driven), seat) / 2
        at = np.cumsum(np.concatenate([0 * edge, self.stages.centre_distance], axis=1), axis=1)
        return np.asarray((at + reach).max(axis=1) - (at - reach).min(axis=1))

    @property
    def max_diameter(self) -> Floats:
        """Of any gear, mm."""
        return np.asarray(np.maximum(self.stages.pinion_tip, self.stages.wheel_tip).max(axis=1))

    @property
    def mass(self) -> Floats:
        """Of all gears, kg."""
        return np.asarray((self.stages.pinion_mass + self.stages.wheel_mass).sum(axis=1))

    @property
    def layers(self) -> Ints:
        """Sheets glued to a gear of each stage."""
        return np.array([len(panel.layers) for panel in self.task.space.panels])[self.stages.panel]

    @property
    def sheet_area(self) -> Floats:
        """Of the squares around all gears and the bit's way, layer by layer, m²."""
        bit = self.task.space.bit.cut_diameter
        squares = (self.stages.pinion_tip + bit) ** 2 + (self.stages.wheel_tip + bit) ** 2
        return np.asarray(1e-6 * (squares * self.layers).sum(axis=1))

    @property
    def different_gears(self) -> Floats:
        """How many gears differ; the root of each is cut for its mate: pairs count as a whole."""
        ordered = np.sort(self.places, axis=1)
        return np.asarray(2.0 * (1 + (np.diff(ordered, axis=1) != 0).sum(axis=1)))

    @cached_property
    def drive_speed(self) -> Floats:
        """Under the running load, rpm; that without load where the drive cannot carry it."""
        speed = self.duty.output_speed(self.ratio) * self.ratio
        return np.where(speed > 0, speed, self.task.duty.drive.line.no_load_speed)

    @property
    def mesh_speed(self) -> Floats:
        """Speed of the teeth at the working pitch circle, of the fastest pair, m/s."""
        stages = self.stages
        radius = stages.centre_distance / (1 + stages.ratio)  # of the pinion, ISO 21771
        turning = self.drive_speed[:, None] / self.ratio_up_to[:, :-1]
        return np.asarray((RPM * turning * radius / 1000.0).max(axis=1))

    @cached_property
    def given(self) -> ShaftTorques:
        """Torque on every shaft, N·m, each of shape (n, stages + 1)."""
        return self.duty.shaft_torques(self.stages.ratio, self._stiffness)

    @cached_property
    def torques(self) -> dict[str, Floats]:
        """Torque on every shaft by load case, N·m, shape (n, stages + 1)."""
        given = self.given
        both = self.task.service.loads_both_flanks or self.duty.loads_both_flanks
        return {
            "running": given.running,
            "starting": given.starting,
            "stall": given.stall,
            "braking": given.back if both else np.zeros_like(given.back),
        }

    def allowable(self, case: CaseName) -> Floats:
        """Return the greatest torque that each stage's pinion may be given, N·m."""
        stages = self.stages
        pinion_speed = self.drive_speed[:, None] / self.ratio_up_to[:, :-1]
        speeds = pinion_speed, pinion_speed / stages.ratio
        capacity: Capacity = stages.capacity
        return np.asarray(capacity.allowable(self.task.load_cases[case], *speeds))

    @property
    def _stiffness(self) -> Any:
        """Of the rods, seen at the drive, N·m/rad; 0 where they are not known."""
        limits = self.task.limits
        if limits.rod is None or limits.frame is None:
            return 0.0
        frame = limits.frame
        lengths = twisted_lengths(
            self.stages.face_width, frame.gap, frame.plate_thickness, limits.overhangs
        )
        return torsional_stiffness(self.ratio_up_to, np.inf, lengths, limits.rod.core_diameter)

    def reserve(self, case: CaseName) -> Floats:
        """Return allowable over acting torque of each stage in a load case, shape (n, stages)."""
        acting = self.torques[case][:, :-1]
        unloaded = np.full_like(acting, np.inf)  # a load that does not brake
        return np.divide(self.allowable(case), acting, out=unloaded, where=acting > 0.0)

    def margin_in(self, case: CaseName) -> Floats:
        """Return allowable over acting torque of the weakest stage in a load case."""
        return least(self.reserve(case))

    @property
    def margin(self) -> Floats:
        """Allowable over acting torque, the least of all stages and wanted load cases."""
        margins = [self.margin_in(case) for case in self.task.limits.cases]
        return np.asarray(np.min(margins, axis=0))

    @property
    def clutch_torque(self) -> Floats:
        """Torque of the drive at which no tooth fails at a stall, N·m."""
        return np.asarray((self.allowable("stall") / self.ratio_up_to[:, :-1]).min(axis=1))

    @property
    def quantities(self) -> Floats:
        """What is weighed, all the less the better, shape (n, 6), in the order of `Weights`."""
        return np.column_stack(
            (
                self.size, self.mass, 1 / self.margin, self.sheet_area, self.different_gears,
                self.mesh_speed,
            )
        )  # fmt: skip

    def _strengths(self, cases: Sequence[CaseName]) -> Demands:
        """What the teeth must bear in these load cases."""
        demands: Demands = {}
        for case in cases:
            # what is kept in reserve is taken off where this is judged, and counts once
            thin = self.stages.thin_share * (1.0 + self.task.limits.reserve)
            margin = least(self.reserve(case) * np.minimum(thin, 1.0))
            acting, bears = self.torques[case][:, 0], np.minimum(margin, 1e9)
            demands[f"tooth strength, {case}"] = (bears * acting, acting)
        return demands

    def quick_demands(self) -> Demands:
        """Return value and limit of what is known of a train at little cost."""
        shocks = [case for case in self.task.limits.cases if case != "running"]
        return {**self._duty_demands(), **self._strengths(shocks), **self._room_demands()}

    def running_demands(self) -> Demands:
        """Return the same of what tires its teeth."""
        return self._strengths([case for case in self.task.limits.cases if case == "running"])

    def _duty_demands(self) -> Demands:
        """What the ratio must meet with the losses of these very teeth, unless it is given."""
        duty = self.duty
        if self.task.space.ratio is not None:
            return {}
        slow, fast = duty.speed_band
        min_speed, max_speed = duty.speed_shares(self.ratio)
        demands = {
            "ratio to start": (self.ratio, duty.starting_ratio),
            "ratio to keep moving": (self.ratio, duty.sustaining_ratio),
            "speed of the output": (min_speed, slow * (1 - 1e-9)),
            "highest speed of the output": (max_speed, fast * (1 + 1e-9)),
        }
        if duty.riding_ratio > 0.0:
            demands["ratio for riders"] = (self.ratio, duty.riding_ratio * (1 - 1e-9))
        return demands

    def _room_demands(self) -> Demands:
        """Room beside shafts, hubs and rods that hold, ground."""
        demands: Demands = {}
        limits = self.task.limits
        frame, parts = limits.frame, limits.parts
        if limits.rod is not None:
            demands |= self._torque_demands(limits.rod)
        if frame is not None and parts is not None:
            if self.places.shape[1] > 1:
                room = self._next_shaft_room(frame, parts)
                demands["room at the next shaft"] = (room, frame.clearance)
            if frame.output_height is not None:
                lid = frame.air + frame.plate_thickness
                lowest = frame.output_height - self.stages.wheel_tip[:, -1] / 2 - lid
                demands["ground clearance"] = (lowest, frame.ground_clearance)
        return demands

    def _torque_demands(self, rod: Rod) -> Demands:
        """Greatest torque that hubs and rods allow the drive, and that it has."""
        demands: Demands = {}
        for case in ("stall", "braking"):
            on_shafts, stages = self.torques[case], self.stages
            if not on_shafts.any():
                continue
            acting, share = on_shafts[:, 0], on_shafts / on_shafts[:, :1]
            hubs = stages.pinion_hub / share[:, :-1], stages.wheel_hub / share[:, 1:]
            first, last = self.task.end_holds
            if np.isfinite(self.task.coupling_holds):
                held = np.full(len(acting), self.task.coupling_holds)
                demands[f"coupling of the drive, {case}"] = (held, acting)
            if first is not None:
                held = first[stages.panel[:, 0]] / share[:, 0]
                demands[f"fixing of what drives, {case}"] = (held, acting)
            if last is not None:
                held = last[stages.panel[:, -1]] / share[:, -1]
                demands[f"fixing of what is driven, {case}"] = (held, acting)
            demands |= {
                f"hub strength, {case}": (least(np.minimum(*hubs)), acting),
                f"rod in torsion, {case}": (least(rod_torque(rod) / share), acting),
            }
        return demands

    def _next_shaft_room(self, frame: Frame, parts: ShaftParts) -> Floats:
        """Return the least room between a gear and the shaft beside its own, mm.

        The wheel of a stage and the shaft behind the next one, the pinion of a stage and the shaft
        before the last one: rods, or hubs where these reach within the clearance of the gear's
        plane. Whatever the angles of the train.
        """
        hubs_reach = frame.gap < parts.hub_height + frame.clearance
        beside = parts.hub_diameter if hubs_reach else parts.rod_diameter
        stages = self.stages
        ahead = stages.centre_distance[:, 1:] - stages.wheel_tip[:, :-1] / 2
        behind = stages.centre_distance[:, :-1] - stages.pinion_tip[:, 1:] / 2
        return np.asarray(np.minimum(ahead, behind).min(axis=1) - beside / 2)
