"""Design: a machine that was asked for, with its train, fixings and every check."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from itertools import chain, product
from math import cos, dist, inf, prod, radians, sin
from typing import NamedTuple

import numpy as np

from gearwork.checks.check import Case, Check, CheckReport, Subject, Way
from gearwork.checks.hub.centring import Centring, tilt
from gearwork.checks.hub.coupling import Coupling, cheapest_coupling, check_coupling, couplings
from gearwork.checks.hub.fixing import HubRating, bonded
from gearwork.checks.hub.hub import HubTask, check_hub, sized_fixing, stepped
from gearwork.checks.hub.joints import JointUse
from gearwork.checks.shaft.alignment import (
    Askew,
    BarAlignment,
    LoadedMesh,
    MeshAlignment,
    alignment_checks,
)
from gearwork.checks.shaft.beam import Shaft, ShaftLoad
from gearwork.checks.shaft.shaft import Shock, check_shaft
from gearwork.checks.tolerance import Centrings
from gearwork.checks.tooth.friction import mesh_loss
from gearwork.checks.tooth.load_case import LoadCase, load_cases
from gearwork.checks.tooth.mesh import distance_tolerance
from gearwork.checks.tooth.strength import Rating
from gearwork.errors import GearworkError, NoMachineError, shown
from gearwork.geometry.features import Bore
from gearwork.geometry.pair import SIDES
from gearwork.geometry.part import Part, Point
from gearwork.geometry.plate import plate_sizes
from gearwork.geometry.rack import Rack
from gearwork.machine import axial
from gearwork.machine.brief import Brief, Room
from gearwork.machine.duty import Duty, ShaftTorques, check_duty
from gearwork.machine.events import Event, jam_torque
from gearwork.machine.frame_check import FeetLoad, check_frame
from gearwork.machine.gear_set import GearSet
from gearwork.machine.parts import Hub, frame_parts, stacked
from gearwork.machine.remedies import tried_ways
from gearwork.machine.slide import RackLoad
from gearwork.machine.stage import MountedGear, Stage, check_idlers, drives_on, hub_room
from gearwork.machine.train import AxisPlace, Ends, GearTrain, check_train
from gearwork.numbers import Floats, round_down, round_up
from gearwork.stock.plywood import Plywood

_TOLD_STOP = 1.1
"""From how many times the stall that is checked on a dead stop is told."""

BESIDE_PLATE = "room beside the plate"

MAX_MENDED = 20
"""Failing checks of a machine up to which ways out of each are tried: where more fail, too much is
asked as a whole (`ways_out`)."""

EXACT = 0.005
"""How far a centre distance may be off from one that is fixed, mm: half of what files keep."""


def check_room(stages: tuple[Stage, ...], room: Room) -> CheckReport:
    """Judge diameters and centre distances; no check where no room is given."""
    pairs = [stage.pair for stage in stages]
    largest = np.array([max(p.pinion.tip_diameter, p.wheel.tip_diameter) for p in pairs])
    distance = np.array([pair.centre_distance for pair in pairs])
    demands = list(room.demands(largest, distance))
    keys = [k for k in ("max_diameter", "min_distance", "max_distance") if getattr(room, k)]
    if room.fixed_distance is not None:
        off = np.abs(distance - room.fixed_distance)
        demands.append(("off the fixed centre distance", off, EXACT, "at most"))
        keys.append("")  # tried: `tried_ways`
    checks = []
    for key, (name, values, limit, sense) in zip(keys, demands, strict=True):
        value = float(values.max() if sense == "at most" else values.min())
        enough = round_up(value, 0) if sense == "at most" else round_down(value, 0)
        checks.append(
            Check(
                judged=name,
                kind="room",
                value=value,
                limit=limit,
                unit="mm",
                sense=sense,
                why="The design file gives this much room.",
                source="[room] of the design file",
                ways=(((f"room.{key}", enough),),) if key and enough > 0.0 else (),
            )
        )
    return CheckReport(Subject("room", "room for the gears"), tuple(checks))


def _duty_of(brief: Brief) -> Duty:
    stages = brief.stages
    return brief.duty(len(stages), [mesh_loss(stage.pair) for stage in stages])


def _duty_report(brief: Brief) -> CheckReport:
    return check_duty(_duty_of(brief), prod(stage.ratio for stage in brief.stages))


class EndFixing(NamedTuple):
    """What is fixed to a shaft's end, how, with which torque, N·m, in which room, mm."""

    name: str
    held: HubRating
    torque: float
    room: float
    shaft: int


@dataclass(frozen=True)
class Design(GearSet):
    """A machine's drive train: gears, shafts and every check, each result computed once.

    Attributes
    ----------
    brief : Brief
        What was asked, with the stages.

    Raises
    ------
    GearworkError
        If a shaft, a plate or a window of a wheel cannot be.

    Examples
    --------
    >>> from gearwork import example_brief, solve
    >>> design = solve(example_brief())
    >>> design.train.ratio == 44 / 13 * 40 / 13
    True
    >>> design.report.ok
    True
    """

    brief: Brief

    def _complete(self) -> None:
        if not self.brief.stages:
            raise GearworkError("no stage is given: `solve` searches for them")
        for number, stage in enumerate(self.stages, 1):
            try:
                stage.need_machine()
            except GearworkError as error:
                raise GearworkError(f"[stage {number}] {error}") from None
        if any(isinstance(stage.pair.wheel, Rack) for stage in self.brief.stages):
            raise GearworkError("a rack turns no shaft: give it as the stage of a RackLoad")
        check_idlers(self.brief.stages)
        _ = self.train, self.rims  # refuses shafts and windows that do not fit

    @cached_property
    def duty(self) -> Duty:
        """Drive and load with this number of stages."""
        return _duty_of(self.brief)

    @cached_property
    def _draft(self) -> GearTrain:
        """The train before it is known what holds its gears: for torques and room in the plane."""
        stages = self.brief.stages
        parts = (self.brief.shafts.parts,) * (len(stages) + 1)
        efficiency = self.duty.mesh_efficiency
        return GearTrain(stages, parts, self.brief.frame, mesh_efficiency=efficiency)

    @cached_property
    def train(self) -> GearTrain:
        """Gears on their shafts, with the axial room that takes what holds them."""
        grips = tuple(axial.grip_of(held) for held in self.fixings)
        frame = axial.fitted(self.brief.frame, self._draft, grips, self.brief.shafts)
        return replace(self._draft, frame=frame, grips=grips)

    @cached_property
    def layouts(self) -> tuple[axial.Layout, ...]:
        """What stands on every shaft, piece after piece, and on the rods of the frame."""
        held = [
            axial.OnRod(
                gear.name,
                one,
                grip,
                tuple(layer.name for layer in stacked(gear, hub, self.brief)),
                gear.gear.tip_diameter,
                gear.end - gear.start,
                hub.face_cuts(self.brief.gears.sheet.thickness),
            )
            for gear, one, grip, hub in zip(
                self.train.gears,
                self.fixings,
                self.train.grips,
                self.hubs[: len(self.fixings)],
                strict=True,
            )
        ]
        return axial.layouts_of(
            self.train, self.brief.shafts, self._on_ends, self.brief.cradle, held
        )

    @cached_property
    def _on_ends(self) -> axial.OnEnds:
        """What is fixed to the ends of the first and the last shaft, and how."""
        drive, load = self.ends(self.torques.running, running=True)
        both = load.count == 2
        given = self._crank, self.coupling, self._outside
        socket = self.coupling is not None and self.coupling.in_socket
        return axial.OnEnds("socket" if socket else drive.name, load.name, *given, both)

    @property
    def shaft_layouts(self) -> tuple[axial.Layout, ...]:
        """Those of the shafts alone."""
        return self.layouts[: len(self.train.shafts)]

    def _cradle_report(self) -> CheckReport:
        posts = self.brief.cradle.posts(self.train.box.rods)
        return self.brief.cradle.check(float(self.torques.max[0]), posts)

    @property
    def _bought(self) -> tuple[Plywood, ...]:
        plate = self.brief.frame.plate
        return super()._bought if plate is None else (*super()._bought, plate)

    @cached_property
    def _frame_parts(self) -> tuple[Part, ...]:
        return frame_parts(self.train, self.brief)

    @property
    def _outside(self) -> axial.OnRod | None:
        """Drum or driven wheel, none where the rod itself is gripped."""
        if self.output_fixing is None:
            return None
        more = self._disc(self.output_fixing)
        for gear in self._on_rack[:1]:
            hub = Hub.of(self.output_fixing.held.fixing, self.brief.gears.sheet.thickness)
            layers = tuple(layer.name for layer in stacked(gear, hub, self.brief))
            tip = gear.gear.tip_diameter
            more = replace(more, name=gear.name, layers=layers, outer=tip, kind="gear")
        return more

    @property
    def _crank(self) -> axial.OnRod | None:
        """The crank, where there is one."""
        return None if self.input_fixing is None else self._disc(self.input_fixing)

    def _disc(self, end: "EndFixing") -> axial.OnRod:
        held, sheet = end.held, self.brief.gears.sheet.thickness
        cuts = Hub.of(held.fixing, sheet).face_cuts(sheet)
        thick = held.panel.thickness
        return axial.OnRod(
            end.name, held, axial.grip_of(held), (end.name,), end.room, thick, cuts, kind="disc"
        )

    @cached_property
    def gears(self) -> tuple[MountedGear, ...]:
        """All gears on their shafts, and a rack with its pinion outside the plate."""
        return (*self.train.gears, *self._on_rack)

    @cached_property
    def _on_rack(self) -> tuple[MountedGear, ...]:
        """The pinion on the end of the last shaft and its rack, where there is one."""
        rack = self.brief.rack
        if rack is None:
            return ()
        stage, shaft = len(self.brief.stages), len(self.train.shafts) - 1
        middle = self.train.stack_up.span(shaft)[1] + self.brief.shafts.overhangs[1]
        start, end = middle - rack.face_width / 2, middle + rack.face_width / 2
        rod, pitch = self.brief.shafts.rod.diameter, rack.pair.working_pitch_diameters[0]
        pinion = MountedGear(
            f"pinion {stage + 1}", rack.pair.pinion, stage, shaft, stage, start, end, pitch, rod
        )
        bar = replace(
            pinion,
            name=f"rack {stage + 1}",
            gear=rack.pair.wheel,
            shaft=shaft + 1,
            bore=rack.screw_hole,
        )
        return pinion, bar

    @cached_property
    def hubs(self) -> tuple[Hub, ...]:
        """What each fixing has cut into its gear; of a rack its screw holes."""
        thickness = self.brief.gears.sheet.thickness
        return tuple(
            Hub((Bore(gear.bore),)) if held is None else Hub.of(held.fixing, thickness)
            for gear, held in zip(self.gears, self._held_gears, strict=True)
        )

    @property
    def _held_gears(self) -> tuple[HubRating | None, ...]:
        """How each of the gears is held on its rod; a rack is not."""
        on_rack = (self.output_fixing.held, None) if self._on_rack and self.output_fixing else ()
        return (*self.fixings, *on_rack)

    def fixing(self, gear: MountedGear) -> HubRating:
        """Return how a gear is held on its rod."""
        held = self._held_gears[self.gears.index(gear)]
        assert held is not None  # a rack has no rod
        return held

    def bore(self, gear: MountedGear) -> float:
        """Return the hole in the middle of a gear as it is to be cut, mm."""
        return gear.bore if isinstance(gear.gear, Rack) else self.fixing(gear).fixing.bore_diameter

    @property
    def tried_hole(self) -> float:
        """The hole of the test piece, mm: a bearing's seat."""
        return self.brief.shafts.bearing.outer_diameter + self.brief.frame.fit

    @property
    def tried_bore(self) -> float:
        """The second hole of the test piece, mm: a gear's bore."""
        return self.fixings[0].fixing.bore_diameter

    @cached_property
    def torques(self) -> ShaftTorques:
        """Torque on every shaft."""
        shafts = self.brief.shafts
        stiffness = self._draft.stiffness(shafts.rod, shafts.overhangs)
        return self._draft.shaft_torques(self.duty, stiffness)

    @cached_property
    def speeds(self) -> tuple[float, ...]:
        """Speed of every shaft under the running load, rpm, without sign."""
        point = self.duty.operating_point(self._draft.ratio)
        pace = point.drive_speed or self.duty.drive.line.no_load_speed
        return tuple(float(abs(speed)) for speed in self._draft.speeds(pace))

    @property
    def time_to_speed(self) -> float:
        """Time from standstill to 95 % of the steady speed, s; infinite if it does not start."""
        gears = self.train.input_inertia(self.brief.gears.sheet.density)
        return float(self.duty.time_to_speed(self.train.ratio, gears))

    def rating(self, stage: int) -> Rating:
        """Return what a stage bears in each of its load cases."""
        return Rating.of(self.limits[stage], f"stage {stage + 1}")

    @property
    def events(self) -> tuple[Event, ...]:
        """What can happen to the machine, its cause, what caps it and how often it comes."""
        given, drive, load = self.torques, self.duty.drive, self.duty.load
        often, slips = self.brief.service.times, drive.slips_at
        cap = f"{drive.max_torque:.3g} N·m of the drive"
        if slips is not None and slips <= drive.max_torque:
            cap = f"the clutch at {slips:.3g} N·m"
        found = [
            Event("running", "The load moves steadily", "losses counted", given.running),
            Event("starting", "From standstill, friction at rest", cap, given.starting, False,
                  often("starting")),
            Event("drive stalls", "The output is held fast", cap, given.stall, False,
                  often("stall")),
        ]  # fmt: skip
        if given.stall[0] > drive.max_torque:
            momentum = "the rotor's momentum through the give of the rods"
            found[-1] = replace(
                found[-1], name="output jams", cause="The output stops at once", cap=momentum
            )
        if self._brakes:
            name, cause, held = load.back_event
            through = self.torques.back[-1] < load.back_torque * (1.0 - 1e-9)
            if through and drive.slips_back_at is not None:
                held = f"the drive gives way at {drive.slips_back_at:.3g} N·m"
            found.append(Event(name, cause, held, given.back, True, often("braking")))
        if given.held[-1] > 0.0:
            held = "nothing but the drive or a brake holds it"
            found.append(Event("load is held", "Standing on the slope", held, given.held, True))
        return tuple(found)

    @property
    def dead_stop(self) -> float:
        """Torque at the drive if the output is blocked dead at full speed, N·m.

        The momentum of the gears is behind any clutch, and only the give of the rods takes it up;
        gears on the last shaft stop with what blocks them. Wheels slip before.
        """
        shafts, drive, up_to = self.brief.shafts, self.duty.drive, self.torques.stall
        density, last = self.brief.gears.sheet.density, len(self.train.shafts) - 1
        inertia = sum(
            gear.inertia(density) * float(up_to[0] / up_to[gear.shaft]) ** 2
            for gear in self.train.gears
            if gear.shaft < last
        )
        if drive.slips_at is None:
            inertia += drive.inertia
        stiffness = self.train.stiffness(shafts.rod, shafts.overhangs)
        jam = float(jam_torque(drive.max_torque, drive.line.no_load_speed, inertia, stiffness))
        return min(jam, max(self.duty.load.slip_torque / self.train.ratio, drive.max_torque))

    @property
    def run_on(self) -> float:
        """Torque at the output if the drive stops dead at full speed, N·m.

        The momentum of what turns there winds up rods alone, ω sqrt(J k), as in `dead_stop`; 0
        where a clutch gives way to it.
        """
        if self.duty.drive.slips_back_at is not None:
            return 0.0
        shafts, ratio = self.brief.shafts, self.train.ratio
        stiffness = self.train.stiffness(shafts.rod, shafts.overhangs) * ratio**2
        pace = self.duty.drive.line.no_load_speed / ratio
        return float(jam_torque(0.0, pace, self.duty.load.run_on_inertia, stiffness))

    @property
    def cautions(self) -> tuple[str, ...]:
        """What can hurt somebody or break, in plain sentences."""
        more, counted, jam = [], float(self.torques.stall[0]), self.dead_stop
        if jam >= _TOLD_STOP * counted:
            more.append(
                f"A stall is counted with {counted:.3g} N·m at the drive: what it drives is taken"
                " to come to rest softly. Blocked dead at full speed the gears' own momentum, which"
                f" no clutch holds back, makes that about {jam:.2g} N·m, more than is"
                " checked: keep hard stops, hooks and stones away from what it drives."
            )
        counted, run_on = float(self.torques.max[-1]), self.run_on
        if run_on >= _TOLD_STOP * counted:
            more.append(
                f"What it drives is taken to come to rest softly with the drive: no more than"
                f" {counted:.3g} N·m are counted at the output. Should the drive lock dead at full"
                f" speed, the momentum there makes that about {run_on:.2g} N·m, more than is"
                " checked: let it run out, or have it give way by a clutch that slips backwards."
            )
        first, *others = self.duty.cautions
        switch = self.duty.switch_cautions(self.train.ratio)
        return first, *more, *others, *switch

    def cases(self, stage: int) -> tuple[LoadCase, ...]:
        """Return the load cases of a stage, on its pinion."""
        given = self.torques
        running, starting, stall, back = (
            float(torques[stage])
            for torques in (given.running, given.starting, given.stall, given.back)
        )
        braking = back if self._brakes else None
        return load_cases(
            running,
            self.speeds[stage],
            self.brief.service,
            starting,
            stall,
            braking,
            grave=self.duty.ridden,
            travel=self._rack_load.travel if self._rack_load and stage == self.on_bed else None,
        )

    @property
    def on_bed(self) -> int | None:
        """The stage whose rack runs outside the plates, on a bed of the maker's."""
        return len(self.brief.stages) if self.brief.rack else None

    @property
    def _rack_load(self) -> RackLoad | None:
        load = self.brief.load
        return load if isinstance(load, RackLoad) else None

    def points(self, stage: int) -> tuple[Point, Point]:
        """Where the shafts of a stage stand, mm; of a rack a screw hole beside the pinion."""
        first = self.train.points[stage]
        if self._rack_load and stage == self.on_bed:
            turn = radians(self._rack_load.rack_direction)
            off = self.stages[stage].axes_apart
            return first, (first[0] + off * cos(turn), first[1] + off * sin(turn))
        return first, self.train.points[stage + 1]

    @property
    def axes(self) -> tuple[AxisPlace, ...]:
        """The axes for the spacing drawing, each with its bearing's seat as it is to be cut.

        After them a screw hole of the rack, and the circles of its pinion about the last axis.
        """
        fit, found = self.brief.frame.fit, []
        for axis in self.train.axes:
            own = [gear.circles for gear in self._on_rack[:1] if gear.shaft in axis.shafts]
            found.append(replace(axis, bore=axis.bore + fit, circles=(*axis.circles, *own)))
        for bar in self._on_rack[1:]:
            at = self.points(bar.stage)[1]
            found.append(AxisPlace(f"hole of {bar.name}", (bar.shaft,), at, bar.bore, ()))
        return tuple(found)

    @property
    def toleranced_distances(self) -> tuple[tuple[tuple[str, str, float], float], ...]:
        """Each distance of `train.distances`, and by how much it may be off either way, mm."""
        axis = {shaft: axis.name for axis in self.train.axes for shaft in axis.shafts}
        found = []
        for row in self.train.distances:
            # axes that two stages share must suit the more demanding of them
            play = min(
                distance_tolerance(stage.pair)
                for i, stage in enumerate(self.brief.stages)
                if {axis[i], axis[i + 1]} == set(row[:2])
            )
            found.append((row, play))
        for bar in self._on_rack[1:]:
            rack = self.stages[bar.stage]
            ends = axis[len(self.train.shafts) - 1], f"hole of {bar.name}", rack.axes_apart
            found.append((ends, distance_tolerance(rack.pair)))
        return tuple(found)

    def hub_torque(self, gear: MountedGear) -> float:
        """Return the greatest torque between a gear and its shaft, N·m."""
        return self.hub_share(gear) * float(self.torques.max[gear.shaft])

    def hub_share(self, gear: MountedGear) -> float:
        """Return the share of a shaft's torque that its gear takes from the rod or gives to it.

        All of it; an idler hands it from tooth to tooth, and turns the rod in its bearings alone.
        """
        idler = not gear.drives and drives_on(self.stages, gear.stage)
        return 1.0 - self.duty.bearing_efficiency if idler else 1.0

    def hub_room(self, gear: MountedGear) -> float:
        """Return the diameter within which the face of a gear is whole wood, mm.

        Raises
        ------
        GearworkError
            If the rod takes all of it.
        """
        whole = self.cut_pairs[gear.stage].tooth_of(gear.side).root_diameter
        if gear.windows is not None:
            whole = min(whole, gear.windows.hub_diameter)
        room, rod = hub_room(whole), self.brief.shafts.rod.diameter
        if room <= rod:
            raise NoMachineError(
                f"{gear.name} has whole wood up to {whole:.2f} mm diameter: a rod of {rod:g} mm"
                f" and the wood around it need more than {whole + rod - room:.2f} mm; take more"
                " teeth, a larger module or a thinner rod"
            )
        return room

    @cached_property
    def fixings(self) -> tuple[HubRating, ...]:
        """How each gear is held: the cheapest fixing that holds, or the strongest with room."""
        return tuple(self._fixing(gear) for gear in self._draft.gears)

    def _fixing(self, gear: MountedGear) -> HubRating:
        return self._held(gear.name, gear.stage, self.hub_torque(gear), self.hub_room(gear))

    @cached_property
    def output_fixing(self) -> "EndFixing | None":
        """What is fixed to the last shaft, and how.

        As a gear is: drum or wheel is taken to be of, or to sit on a disc of, as many layers of the
        same sheet as the last wheel. Of two wheels one may have to pull for both. None where
        nothing is known.
        """
        fixed = self.duty.load.fixed_by
        if fixed is None:
            return None
        name, face = fixed
        torque, last = float(self.torques.max[-1]), len(self.brief.stages)
        held = self._held(name, len(self.stages) - 1, torque, face)
        return EndFixing(name, held, torque, face, last)

    @cached_property
    def input_fixing(self) -> "EndFixing | None":
        """The crank on the first shaft, of as many layers as its pinion; None: a drill, or none."""
        if self.duty.drive.fixed_by is None:
            return None
        (name, face), torque = self.duty.drive.fixed_by, float(self.torques.max[0])
        return EndFixing(name, self._held(name, 0, torque, face), torque, face, 0)

    @property
    def end_fixings(self) -> "tuple[EndFixing, ...]":
        """What is fixed to the ends of shafts with a hub."""
        return tuple(one for one in (self.input_fixing, self.output_fixing) if one is not None)

    @property
    def held(self) -> tuple[tuple[str, HubRating], ...]:
        """Name and fixing of all that is held on a rod."""
        names = [gear.name for gear in self.train.gears]
        ends = ((end.name, end.held) for end in self.end_fixings)
        return (*zip(names, self.fixings, strict=True), *ends)

    @cached_property
    def coupling(self) -> Coupling | None:
        """How drill or motor take hold of the first shaft; None: a crank, or nothing is known."""
        shafts, panel, use = self.brief.shafts, self.panel(0), self._joint_use
        drive = self.duty.drive
        if not (drive.has_chuck or drive.shaft):
            return None
        if shafts.coupling is not None:
            every = couplings(shafts.rod, panel, use, drive.shaft)
            return next(one for one in every if one.name == shafts.coupling)
        torque = stepped((1.0 + self.brief.reserve) * float(self.torques.max[0]))
        return cheapest_coupling(shafts.rod, panel, use, torque, self._brakes, drive.shaft)

    def _held(self, name: str, stage: int, torque: float, room: float) -> HubRating:
        panel, use = self.panel(stage), self._joint_use
        rod, kind = self.brief.shafts.rod, self.brief.shafts.fixing
        wanted, bit = (1.0 + self.brief.reserve) * torque, self.brief.bit.cut_diameter
        found = sized_fixing(HubTask(panel, wanted, rod, room, bit, use, self._brakes, kind))
        if found is None and kind is not None:
            raise NoMachineError(
                f"fixing is {shown(kind)}: the {name} has no room for it, {room:.0f} mm of whole"
                f" wood {panel.thickness:g} mm thick about an {rod.thread} rod; write another under"
                " [shafts], or none"
            )
        return found or bonded(rod).rate(panel, use)

    @property
    def _joint_use(self) -> JointUse:
        return JointUse.of(self.service, self.duty.ridden)

    def ends(self, torques: Floats, running: bool) -> Ends:
        """Return what is fixed to the first and to the last shaft, under these torques, N·m."""
        drive, load = float(abs(torques[0])), float(abs(torques[-1]))
        before, after = self.overhangs
        return (
            self.duty.drive.attached(drive, before),
            self.duty.load.attached(load, after, running),
        )

    @cached_property
    def overhangs(self) -> tuple[float, float]:
        """How far from the plates the middle of what is fixed to the ends stands, mm."""
        before, after = self.brief.shafts.overhangs
        on = axial.OnEnds("", "", self._crank, self.coupling)
        return max(before, on.drive_overhang(self.train, self.brief.shafts)), after

    def shafts(
        self, number: int, torques: Floats | None = None, running: bool = True
    ) -> tuple[Shaft, ...]:
        """Return a shaft with its loads, once for each direction in which they may press.

        Parameters
        ----------
        number : int
            Which shaft.
        torques : ndarray, shape (stages + 1,), optional
            Torque on every shaft, N·m; negative where the other flanks carry. Default: running.
        running : bool
            Whether steadily, or in a shock.
        """
        parts, given = self.brief.shafts, self.torques.running if torques is None else torques
        ends = self.ends(given, running)
        last = len(self.train.shafts) - 1
        ways = len(ends[bool(number)].ways) if number in (0, last) else 1
        return tuple(
            self.train.shaft(number, given, parts.rod, parts.bearing, ends, way)
            for way in range(ways)
        )

    def shaft(self, number: int) -> Shaft:
        """Return a shaft with its loads in running, in the first of the possible directions."""
        return self.shafts(number)[0]

    def shocks(self, number: int) -> tuple[Shock, ...]:
        """Return a shaft under each load that comes now and then, and how often."""
        return self._shocks(number, ("starting", "stall", *(("braking",) if self._brakes else ())))

    def _shocks(self, number: int, cases: Iterable[Case]) -> tuple[Shock, ...]:
        """Return a shaft under some of them; when it brakes the other flanks carry."""
        given, service = self.torques, self.brief.service
        torques_in: dict[Case, list[Floats]] = {
            "starting": [sense * given.starting for sense in service.senses],
            "stall": [sense * given.stall for sense in service.senses],
            "braking": [-given.back],
        }
        return tuple(
            (shaft, service.times(case) or 1.0)
            for case in cases
            for torques in torques_in[case]
            for shaft in self.shafts(number, torques, running=False)
        )

    def _running(self, number: int) -> tuple[Shaft, ...]:
        """Return a shaft in running, in every sense and direction."""
        senses = (
            self.shafts(number, sense * self.torques.running) for sense in self.brief.service.senses
        )
        return tuple(chain.from_iterable(senses))

    @cached_property
    def stalled(self) -> tuple[CheckReport, ...]:
        """Each shaft judged by what the drive alone limits: a stall, and where it gives way."""
        plate, found = self.brief.frame.plate or self.brief.gears.sheet, []
        for number in range(len(self.train.shafts)):
            shocks = self._shocks(number, ("stall", *(("braking",) if self.gives_way_back else ())))
            one = shocks[0][0]
            idle = replace(one, loads=(ShaftLoad("none", one.bearing_positions[0], (0.0, 0.0)),))
            report = check_shaft(idle, speed=1.0, plate=plate, shocks=shocks, use=self._joint_use)
            found.append(report)
        return tuple(found)

    @property
    def _brakes(self) -> bool:
        """Whether the load can drive the train back, on the other flanks."""
        return self.service.loads_both_flanks and bool(self.torques.back.any())

    @property
    def gives_way_back(self) -> bool:
        """Whether what the load feeds back makes the drive give way: its clutch then limits it.

        It does if it does at the first shaft: up to there friction holds less.
        """
        comes = self.duty.load.back_torque / self.train.ratio
        return bool(self.torques.back[0] < comes * (1.0 - 1e-9))

    @cached_property
    def loaded_meshes(self) -> tuple[LoadedMesh, ...]:
        """Each stage on its two shafts, bent by the greatest load: driving, and braking."""
        senses = [sense * self.torques.stall for sense in self.brief.service.senses]
        senses += [-self.torques.back] if self._brakes else []
        count = len(self.train.shafts)
        bent = [[self.shafts(i, t, running=False) for i in range(count)] for t in senses]
        return tuple(
            LoadedMesh.of(
                (one for shafts in bent for one in self._aligned(i, shafts)),
                cut,
                self.panel(i),
                self.reserve(i),
                self._askew(i),
            )
            for i, cut in enumerate(self.cut_pairs)
        )

    def _aligned(self, stage: int, shafts: Sequence[Sequence[Shaft]]) -> Iterator[MeshAlignment]:
        """A stage on its shafts, bent in every way in which their ends may be pressed."""
        if stage < len(self.brief.stages):
            names = [self.train.mesh_name(stage, side) for side in SIDES]
            for both in product(shafts[stage], shafts[stage + 1]):
                yield MeshAlignment(*both, *names)
            return
        assert self._rack_load is not None
        rack, direction = self.stages[stage], self._rack_load.rack_direction
        for shaft in shafts[stage]:
            yield BarAlignment(shaft, shaft, "rack pinion", "rack", direction, rack.face_width)

    def _turning(self, stage: int) -> tuple[MountedGear, ...]:
        """The gears of a stage that turn on a rod."""
        return self._on_rack[:1] if stage == self.on_bed else self.train.gears_of(stage)

    def _askew(self, stage: int) -> tuple[Askew, ...]:
        """What of a stage stands askew: both gears on their seats, the cut of both."""
        given, width = self.brief.tolerance, self.stages[stage].face_width
        found = []
        for gear in self._turning(stage):
            slope, why = tilt(self.fixing(gear), gear.gear.tip_diameter, given.max_wobble)
            found.append(Askew(f"{gear.name} askew on its rod, held by {why}", slope * width))
        # each layer of either gear is cut anew, and leans by itself
        lean = given.lean(self.brief.gears.sheet.thickness)
        return (*found, Askew("the cut out of square in both gears", lean))

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """Every piece to cut, gears first, then the plates.

        Raises
        ------
        GearworkError
            If a gear cannot be cut with the bit, or a hub does not fit its gear.
        """
        return (*chain.from_iterable(self._layers), *self._frame_parts)

    @property
    def bed_screws(self) -> tuple[axial.Piece, ...]:
        """What holds the rack on its bed."""
        if self.on_bed is None or (bar := self.bar(self.on_bed)) is None:
            return ()
        hole, panel = self.stages[self.on_bed].screw_hole, self.panel(self.on_bed)
        return (axial.bed_screws(bar, hole, panel),)

    @cached_property
    def bill(self) -> tuple[axial.BillRow, ...]:
        """Everything to buy or to cut to length, numbered.

        Raises
        ------
        GearworkError
            If a part cannot be made or placed.
        """
        sheets = [f"sheet {sheet.stock.label}" for sheet in self.sheets]
        wood = [part.name for part in self.parts]
        more = (*axial.more_pieces(self.train.stack_up.plates), *self.bed_screws)
        return axial.bill_of(self.layouts, sheets, wood, more)

    def reserve(self, stage: int) -> float:
        """How many times the greatest loads there are the teeth of a stage bear."""
        shocks = [one for one in self.limits[stage] if one.case.name in ("stall", "braking")]
        return min(one.torque / one.case.torque for one in shocks)

    @property
    def _every_maker(self) -> tuple[Callable[[], CheckReport], ...]:
        stages, shafts = range(len(self.stages)), range(len(self.train.shafts))
        hubs = zip(self.train.gears, self.fixings, strict=True)
        return (
            partial(_duty_report, self.brief),
            *(partial(self._stage_report, i) for i in stages),
            *(partial(self._tolerance_report, i) for i in stages),
            partial(check_room, self.brief.stages, self.brief.room),
            self.room_report,
            *(partial(self._hub_report, gear, held) for gear, held in hubs),
            *([partial(self._coupling_report, self.coupling)] if self.coupling else []),
            *(partial(self._end_report, end) for end in self.end_fixings),
            *([self._cradle_report] if self.brief.cradle.body_diameter else []),
            *(partial(self._shaft_report, i) for i in shafts),
            lambda: self.frame_report,
        )

    def _advised(self, place: int, report: CheckReport) -> CheckReport:
        """The report with ways out of what fails: looked for once somebody reads a remedy."""
        report = super()._advised(place, report)
        if report.ok:
            return report
        band, ratio = self.duty.ratio_range, self.train.ratio
        bands = (band[0] / ratio, band[1] / ratio) if band else None

        def advised(check: Check) -> Check:
            if check.ok:
                return check
            holds = partial(self._holds, place, check)

            def tries(check: Check) -> tuple[Way, ...]:
                if len(self.report.failed) > MAX_MENDED:
                    return ()
                return tried_ways(self.brief, report.subject, bands, holds, check)

            return replace(check, tries=tries)

        return replace(report, checks=tuple(map(advised, report)))

    @cached_property
    def _tried(self) -> dict[Way, "_Tried | None"]:
        """The machines that were made with ways out written into the file; None: there is none."""
        return {}

    def _holds(self, place: int, check: Check, way: Way) -> bool:
        """Whether a check of a report holds with a way out, and drive and load are as well off."""
        if way not in self._tried:
            self._tried[way] = self._made_with(way)
        made, stage = self._tried[way], place - 1
        if made is None:
            return False
        bent = check.kind == "stiffness" and 0 <= stage < len(self.stages)
        if bent and made.reserve(stage) < min(self.reserve(stage), 1.0):
            return False  # teeth without reserve are not asked for the load on their edge
        report = made.judged(place, check)
        hub = report.subject.kind == "hub"  # its fixing is chosen anew: it must hold as a whole
        facts = (check.judged, check.part, check.case)
        return not any(hub or (c.judged, c.part, c.case) == facts for c in report.failed)

    def _made_with(self, way: Way) -> "_Tried | None":
        try:
            brief = self.brief.written(way)
            if brief is None:
                return None
            before, now = (
                {check.judged for check in _duty_report(one).failed} for one in (self.brief, brief)
            )
            return _Tried(brief) if now <= before else None
        except GearworkError:
            return None

    def holds_with(self, reserve: float) -> bool:
        """As of `GearSet`; the first check that fails ends the question."""
        count = len(self.stages)
        dear = slice(1 + count, 1 + 2 * count)  # tolerances are sampled
        makers = self._makers
        quick = (*makers[: dear.start], *makers[dear.stop :], *makers[dear])
        return all(check.ok_with(reserve) for make in quick for check in make())

    def _stage_report(self, stage: int) -> CheckReport:
        report = super()._stage_report(stage)
        bent = alignment_checks(self.loaded_meshes[stage])
        return replace(report, checks=(*report.checks, *bent))

    def centrings(self, stage: int) -> Centrings | None:
        """Return how pinion and wheel of a stage sit on their rods, and those in their bearings.

        None for a rack: its bed is taken to be as straight as a trued gear runs.
        """
        if stage == self.on_bed:
            return None
        pinion, wheel = (
            Centring.of(self.fixing(gear).fixing, self.brief.shafts.bearing)
            for gear in self.train.gears_of(stage)
        )
        return pinion, wheel

    def _hub_report(self, gear: MountedGear, held: HubRating) -> CheckReport:
        report = check_hub(
            held,
            self.hub_torque(gear),
            room_diameter=self.hub_room(gear),
        )
        return CheckReport(Subject("hub", f"hub of {gear.name}", gear.stage), report.checks)

    def _coupling_report(self, coupling: Coupling) -> CheckReport:
        return check_coupling(coupling, float(self.torques.max[0]))

    def _end_report(self, end: "EndFixing") -> CheckReport:
        report = check_hub(end.held, end.torque, room_diameter=end.room)
        subject = Subject("hub", f"fixing of the {end.name}", end.shaft)
        return CheckReport(subject, report.checks)

    def room_report(self) -> CheckReport:
        """Judge whether all that turns keeps clear of what is beside it, outside the plates too."""
        report = check_train(self.train, self.brief.load.output_height is not None)
        checks = [*report.checks, *self.size_checks]
        if self._outside is not None:
            checks.append(self._overhang_check(self._outside))
            if self._on_ends.both:
                checks.append(self._drive_end_check(self._outside))
        checks += [self._bar_check(bar) for bar in self._on_rack[1:]]
        return replace(report, checks=tuple(checks))

    @cached_property
    def size(self) -> tuple[float, float, float]:
        """Width and height over plates, feet and cradle, depth from end to end of rods, mm."""
        drawn, cradle = [self.train.box.bounds], self.brief.cradle
        if cradle.body_diameter:
            drawn.append(cradle.bounds(cradle.posts(self.train.box.rods)))
        left, low = np.min(drawn, axis=0)[:2]
        right, high = np.max(drawn, axis=0)[2:]
        return float(right - left), float(high - low), axial.depth_of(self.layouts)

    @property
    def sheet_check(self) -> Check:
        """Whether plates and boards find room on a sheet, by what is nearest to its limit."""
        left, low, right, high = self.train.box.edge
        thick = self.brief.frame.plate_thickness
        sizes = partial(plate_sizes, right - left, high - low, thick)
        return self.brief.stock.check(sizes, self.brief.margin)

    def _sheet_checks(self, stage: int) -> Iterator[Check]:
        """No gear is larger than the plates, and these are judged."""
        yield from ()

    @property
    def has_room(self) -> bool:
        """Whether the whole machine keeps to the room there is."""
        return all(check.ok for check in self.size_checks)

    @cached_property
    def size_checks(self) -> tuple[Check, ...]:
        """Whether plates find room on a sheet, and the machine where its room is given."""
        room = self.brief.room
        keys = [key for key in ("width", "height", "depth") if getattr(room, key)]
        of_machine = room.of_machine(self.size).items() if keys else ()
        return self.sheet_check, *(
            Check(
                judged=name,
                kind="room",
                value=value,
                limit=limit,
                unit="mm",
                sense="at most",
                why="The design file gives the whole machine this much room.",
                ways=(((f"room.{key}", round_up(value, 0)),),),
                source="[room] of the design file",
            )
            for key, (name, (value, limit)) in zip(keys, of_machine, strict=True)
        )

    def _drive_end_check(self, wheel: axial.OnRod) -> Check:
        """Whether a wheel on the drive's side passes the drive's rod, or what a crank sweeps."""
        points, sweeps = self.train.points, self.brief.load.swept_diameter
        turns = max(self.brief.shafts.rod.diameter, self.brief.drive.swept_diameter)
        return Check(
            judged="room between wheel and drive",
            kind="room",
            value=dist(points[0], points[-1]) - (sweeps + turns) / 2.0,
            limit=self.brief.frame.clearance,
            unit="mm",
            sense="at least",
            why=f"On the drive's side the {wheel.name} turns beside the drive's rod, or its crank.",
            source="places of the shafts; clearance: assumption unless given",
        )

    def _bar_check(self, bar: MountedGear) -> Check:
        """Whether the bar passes all that stands out of the plate beside it."""
        (x, y), away = self.points(bar.stage)
        ahead = np.subtract(away, (x, y)) / dist((x, y), away)
        rack, centre = bar.gear, self.stages[bar.stage].pair.centre_distance
        assert isinstance(rack, Rack)
        low, high = centre - rack.tip_height, centre + rack.back_depth
        room, name = inf, "nothing"
        for layout in self.layouts:
            for at in layout.at:
                along = float(np.subtract(at, (x, y)) @ ahead)
                for piece in (layout.rod, *layout.pieces):
                    if piece.outer == inf or at == (x, y):
                        continue
                    beside = max(low - along, along - high) - piece.outer / 2
                    room, name = min(
                        (room, name), (max(bar.start - piece.end, beside), f"{layout.name}")
                    )
        return Check(
            judged="room beside the bar",
            kind="room",
            value=room,
            limit=self.brief.frame.clearance,
            unit="mm",
            sense="at least",
            why=f"The bar runs past the plate; closest to it comes what stands out on {name}.",
            source="the pieces on the rods and the strip the bar takes; clearance: assumption",
        )

    def _overhang_check(self, outside: axial.OnRod) -> Check:
        """Whether drum or wheel stands clear of nut and ring of the bearing beside it."""
        shafts = self.brief.shafts
        needed = self._on_ends.load_overhang(self.train, shafts)
        return Check(
            judged=BESIDE_PLATE,
            kind="room",
            value=shafts.overhangs[1],
            limit=needed,
            unit="mm",
            sense="at least",
            why=f"The middle of the {outside.name} stands so far outside the plate; nut and ring of"
            " the bearing, what holds it and half its thickness need this much.",
            ways=((("shafts.load_overhang", round_up(needed, 1)),),),
            source="the pieces on the rod; clearance along it: assumption",
        )

    def _shaft_report(self, number: int) -> CheckReport:
        running, *others = self._running(number)
        report = check_shaft(
            running,
            speed=max(self.speeds[number], 1.0),
            plate=self.brief.frame.plate or self.brief.gears.sheet,
            hours=self.service.running_hours,
            others=others,
            shocks=self.shocks(number),
            use=self._joint_use,
        )
        return CheckReport(Subject("shaft", f"shaft {number + 1}", number), report.checks)

    @cached_property
    def feet_load(self) -> FeetLoad:
        """What the feet must take of drive and load, the worst of all that can happen.

        Of the torques that of the load counts, and that of the drive where both turn the frame the
        same way: after an odd number of stages. The drive's cradle may stand on the frame or not.
        """
        box, plates, last = self.train.box, self.train.stack_up.plates, len(self.train.shafts) - 1
        middle = (box.left + box.right) / 2.0, box.edge[3] if box.feet_up else box.edge[1]
        given, points = self.torques, self.train.points
        events = [
            (
                abs(float(torques[-1])) + (last % 2) * abs(float(torques[0])),
                self.ends(torques, runs),
            )
            for torques, runs in (
                (given.running, True),
                (given.starting, False),
                (given.stall, False),
                (given.back, False),
            )
        ]
        first, end = ((at[0] - middle[0], at[1] - middle[1]) for at in (points[0], points[-1]))
        return FeetLoad.of(events, (first, end), (plates[-1][1] - plates[0][0]) / 2.0)

    @cached_property
    def beside_train(self) -> tuple[tuple[str, Check], ...]:
        """What the drive's torque loads beside the train, and how it is judged."""
        cradle = self._cradle_report() if self.brief.cradle.body_diameter else ()
        screws = chain.from_iterable(map(self._screw_checks, range(len(self.stages))))
        return (
            *(("frame", check) for check in self.frame_report),
            *(("cradle", check) for check in cradle),
            *(("bed", check) for check in screws),
        )

    @cached_property
    def frame_report(self) -> CheckReport:
        """Guard, plates and feet."""
        forces = []
        for i in range(len(self.train.shafts)):
            every = [*self._running(i), *(shaft for shaft, _ in self.shocks(i))]
            forces.append(max(max(one.bearing_forces) for one in every))
        return check_frame(
            self.train,
            self.brief.frame.plate or self.brief.gears.sheet,
            self.brief.shafts.bearing,
            forces,
            self.feet_load,
            self.brief.tolerance.edge_tolerance,
            self._joint_use,
        )

    def __repr__(self) -> str:
        stages = " and ".join(
            f"{s.pair.pinion.teeth:g}/{s.pair.wheel.teeth:g} of module {s.pair.pinion.module:g} mm"
            for s in self.stages
        )
        return f"Design({self.title!r}: {stages}, ratio {self.train.ratio:.3f})"


@dataclass(frozen=True)
class _Tried(Design):
    """A machine of which a check or two are asked: what they do not need is not made."""

    def _complete(self) -> None:
        _ = self.train

    @cached_property
    def _judged(self) -> dict[tuple[int, bool], CheckReport]:
        return {}

    def judged(self, place: int, check: Check) -> CheckReport:
        """The report that a maker makes; where a stage's shafts bend, what comes of that alone."""
        stage = place - 1
        bent = check.kind == "stiffness" and 0 <= stage < len(self.stages)
        if (place, bent) not in self._judged:
            report = (
                CheckReport(
                    Subject("stage", f"stage {place}", stage),
                    alignment_checks(self.loaded_meshes[stage]),
                )
                if bent
                else self._makers[place]()
            )
            self._judged[place, bent] = report
        return self._judged[place, bent]
