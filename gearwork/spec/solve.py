"""Stages for a brief that gives none: searched by its wishes, as a design file would give them.

Judge the gears of a train against the room that a design file gives them.
Design: a design file solved, with its train, fixings and every check.
"""

from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import islice
from os import PathLike
from typing import Literal

from gearwork.checks.check import Check, CheckReport
from gearwork.checks.hub.fixing import HubRating, bonded
from gearwork.checks.hub.hub import LEAST_FLOOR, best_fixing, check_hub
from gearwork.checks.hub.joints import wood_factors
from gearwork.checks.shaft.alignment import LoadedMesh, alignment_checks
from gearwork.checks.shaft.beam import Shaft
from gearwork.checks.shaft.shaft import check_shaft
from gearwork.checks.tolerance import check_tolerance
from gearwork.checks.tooth.load_case import LoadCase, Service, load_cases
from gearwork.checks.tooth.mesh import CutPair, distance_tolerance, mesh_checks
from gearwork.checks.tooth.strength import ToothLimit, strength_checks, tooth_limits
from gearwork.checks.windows import rim_checks
from gearwork.choosing.candidates import Candidates
from gearwork.choosing.pairs import hub_room
from gearwork.choosing.search import search
from gearwork.choosing.space import Limits, Room
from gearwork.errors import GearworkError, number
from gearwork.machine.duty import Duty, ShaftTorques, check_duty
from gearwork.machine.frame import Frame, ShaftParts
from gearwork.machine.stage import MountedGear, Stage
from gearwork.machine.train import GearTrain, loaded_meshes, loaded_shaft
from gearwork.machine.train_check import check_train
from gearwork.numbers import Floats, round_up
from gearwork.spec.spec import Brief, read_brief
from gearwork.spec.tables import GivenStage
from gearwork.stock.hardware import nut, washer
from gearwork.stock.laminate import Panel
from gearwork.stock.timber import Factor

Progress = Callable[[str], None]


def candidates_for(
    brief: Brief, progress: Progress | None = None, executor: Executor | None = None
) -> Candidates:
    """Return the trains that a brief's wishes lead to, ranked by its weights.

    Parameters
    ----------
    brief : Brief
        From `read_brief` or `example_brief`; stages that it gives do not count.
    progress : callable, optional
        Called with a line of text after each part of the search.
    executor : concurrent.futures.Executor, optional
        As for `search`.

    Returns
    -------
    Candidates
        The best first; `solve` builds the first that passes every check.

    Raises
    ------
    GearworkError
        If the wishes ask for what cannot be searched.

    Examples
    --------
    >>> from gearwork import example_brief
    >>> found = candidates_for(example_brief("cider-mill"))
    >>> set(found["stages"].tolist()), bool(found["margin"].min() >= 1.0)
    ({1}, True)
    """
    say = progress or (lambda _: None)
    return search(
        brief.space,
        Duty(brief.drive, brief.load),
        limits=limits_of(brief),
        weights=brief.weights,
        service=brief.full_service,
        executor=executor,
        progress=lambda done, total: say(f"searching trains: {done} of {total} parts"),
    )


def limits_of(brief: Brief) -> Limits:
    """Return what a search for this brief must keep to."""
    room, stock = brief.room, brief.stock
    return Limits(
        contact_ratio=brief.wishes.contact_ratio,
        greatest_diameter=room.greatest_diameter,
        least_distance=room.least_distance,
        greatest_distance=room.greatest_distance,
        fixed_distance=room.fixed_distance,
        stock=(stock.width - 2 * stock.margin, stock.height - 2 * stock.margin),
        coprime=brief.wishes.coprime,
        same_gears=brief.wishes.same_gears,
        rod=brief.shafts.rod,
        frame=frame_of(brief),
        parts=shaft_parts_of(brief),
    )


def with_stages(brief: Brief, candidates: Candidates) -> Iterator[Brief]:
    """Yield the brief with the stages of each candidate given in it, the best first.

    Centre distances that the room does not fix are rounded up to 0.01 mm.
    """
    for rank in range(len(candidates)):
        count, fixed = candidates["stages"][rank], brief.room.fixed_distance
        yield brief.given(_given_stage(candidates, rank, stage, fixed) for stage in range(count))


def _given_stage(
    candidates: Candidates, rank: int, stage: int, fixed_distance: float | None
) -> GivenStage:
    def of(name: str) -> float:
        return float(candidates[name][rank, stage])

    return GivenStage(
        module=of("module"),
        pinion_teeth=int(of("pinion_teeth")),
        wheel_teeth=int(of("wheel_teeth")),
        pinion_shift=of("pinion_shift"),
        wheel_shift=of("wheel_shift"),
        pressure_angle=candidates.space.pressure_angle,
        thinning=of("thinning"),
        layers=int(of("layers")),
        centre_distance=fixed_distance or round_up(of("centre_distance")),
    )


def frame_of(brief: Brief) -> Frame:
    """Return the plates between which a brief's train stands.

    Raises
    ------
    GearworkError
        If pockets for the bearings are too shallow for them, or too deep for the plates.
    """
    wishes = brief.frame
    plate = brief.gears.plate(wishes.plate_thickness).thickness
    if wishes.seat_depth is not None:
        number(
            "depth of the bearing seats",
            wishes.seat_depth,
            unit="mm",
            at_least=brief.shafts.bearing.width,
            at_most=plate - LEAST_FLOOR,
        )
    return Frame(
        plate_thickness=plate,
        gap=shaft_parts_of(brief).hub_height + wishes.clearance,
        clearance=wishes.clearance,
        output_height=wishes.output_height,
        ground_clearance=wishes.ground_clearance,
    )


def shaft_parts_of(brief: Brief) -> ShaftParts:
    """Return rod, hub and bearing of every shaft of a brief's train."""
    shafts, thread = brief.shafts, brief.shafts.rod.thread
    return ShaftParts.of(
        shafts.rod, nut(thread), washer(thread, wide=True), shafts.bearing, shafts.free_end
    )


EXACT = 0.005
"""How far a centre distance may be off from one that is fixed, mm: half of what files keep."""


def check_room(stages: tuple[Stage, ...], room: Room) -> CheckReport:
    """Judge diameters and centre distances; no check where no room is given.

    Parameters
    ----------
    stages : tuple of Stage
        The pairs of gears.
    room : Room
        What there is.
    """
    return CheckReport("room for the gears", tuple(_checks(stages, room)))


def _checks(stages: tuple[Stage, ...], room: Room) -> Iterator[Check]:
    diameters = [
        gear.tip_diameter for stage in stages for gear in (stage.pair.pinion, stage.pair.wheel)
    ]
    distances = [stage.pair.centre_distance for stage in stages]
    if room.greatest_diameter is not None:
        yield _check("greatest diameter", max(diameters), room.greatest_diameter, "at most")
    if room.least_distance is not None:
        yield _check("least centre distance", min(distances), room.least_distance, "at least")
    if room.greatest_distance is not None:
        yield _check("greatest centre distance", max(distances), room.greatest_distance, "at most")
    if room.fixed_distance is not None:
        off = max(abs(distance - room.fixed_distance) for distance in distances)
        yield _check("off the fixed centre distance", off, EXACT, "at most")


def _check(name: str, value: float, limit: float, sense: Literal["at least", "at most"]) -> Check:
    return Check(
        name=name,
        value=value,
        limit=limit,
        unit="mm",
        sense=sense,
        why="The design file gives this much room.",
        remedy="Delete the stages to have others searched, or give them other tooth counts,"
        f" modules or centre distances: {sense} {limit:.2f} mm is asked.",
        source="[room] of the design file",
    )


MOST_TRIED = 100
"""Trains of a search that are checked as whole machines."""


@dataclass(frozen=True)
class Design:
    """A machine's drive train, solved.

    Attributes
    ----------
    brief : Brief
        What was asked.
    duty : Duty
        Drive and load with this number of stages.
    train : GearTrain
        Gears on their shafts.

    Examples
    --------
    >>> from gearwork import example_brief
    >>> design = solve(example_brief())
    >>> design.train.ratio == 44 / 13 * 40 / 13
    True
    >>> design.report.ok
    True
    """

    brief: Brief
    duty: Duty
    train: GearTrain

    @property
    def title(self) -> str:
        """Of the machine."""
        return self.brief.title

    @property
    def stages(self) -> tuple[Stage, ...]:
        """The pairs of gears, the drive's first."""
        return self.train.stages

    def panel(self, stage: int) -> Panel:
        """Return the sheet or stack the gears of a stage are made of."""
        return self.brief.gears.panel(self.stages[stage].layers)

    @cached_property
    def cut_pairs(self) -> tuple[CutPair, ...]:
        """Every pair with its teeth as the bit leaves them."""
        return tuple(CutPair.by(stage.pair, self.brief.bit) for stage in self.stages)

    @cached_property
    def torques(self) -> ShaftTorques:
        """Torque on every shaft."""
        return self.train.shaft_torques(self.duty)

    @cached_property
    def speeds(self) -> tuple[float, ...]:
        """Speed of every shaft under the running load, rpm, without sign."""
        point = self.duty.operating_point(self.train.ratio)
        pace = point.drive_speed or self.duty.drive.no_load_speed
        return tuple(float(abs(speed)) for speed in self.train.speeds(pace))

    @property
    def time_to_speed(self) -> float:
        """Time from standstill to 95 % of the steady speed, s; infinite if it does not start."""
        gears = self.train.input_inertia(self.brief.gears.sheet.density)
        return float(self.duty.time_to_speed(self.train.ratio, gears))

    @property
    def service(self) -> Service:
        """How the machine is used, with what drive and load say of the flanks."""
        return self.brief.full_service

    def cases(self, stage: int) -> tuple[LoadCase, ...]:
        """Return the load cases of a stage, on its pinion."""
        running, stall = (
            float(torques[stage]) for torques in (self.torques.running, self.torques.stall)
        )
        stall = max(stall, float(self.torques.back[stage]))
        share = self.duty.load.starting_torque / self.duty.load.running_torque
        return load_cases(
            running, self.speeds[stage], self.service, min(running * share, stall), stall
        )

    @cached_property
    def limits(self) -> tuple[tuple[ToothLimit, ...], ...]:
        """What the teeth of each stage bear, in every load case."""
        return tuple(
            tooth_limits(cut, self.panel(i), self.stages[i].face_width, self.cases(i))
            for i, cut in enumerate(self.cut_pairs)
        )

    @property
    def toleranced_distances(self) -> tuple[tuple[tuple[str, str, float], float], ...]:
        """Each distance of `train.distances`, and by how much it may be off either way, mm."""
        allowed = [distance_tolerance(stage.pair) for stage in self.stages]
        return tuple(zip(self.train.distances, allowed, strict=True))

    def hub_torque(self, gear: MountedGear) -> float:
        """Return the greatest torque between a gear and its shaft, N·m."""
        return float(max(self.torques.stall[gear.shaft], self.torques.back[gear.shaft]))

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
            raise GearworkError(
                f"{gear.name} has whole wood up to {whole:.2f} mm diameter: a rod of {rod:g} mm"
                f" and the wood around it need more than {whole + rod - room:.2f} mm; take more"
                " teeth, a larger module or a thinner rod"
            )
        return room

    @cached_property
    def rims(self) -> tuple[CheckReport | None, ...]:
        """The checks of each stage's wheel with its windows, and what they save."""
        return tuple(self._rim(i) for i in range(len(self.stages)))

    def _rim(self, stage: int) -> CheckReport | None:
        windows, panel = self.stages[stage].windows, self.panel(stage)
        if windows is None:
            return None
        cut, limits = self.cut_pairs[stage], self.limits[stage]
        try:
            return rim_checks(cut, "wheel", windows, panel, panel.thickness, limits)
        except GearworkError as error:
            raise GearworkError(f"[stage {stage + 1} windows] {error}") from None

    @cached_property
    def fixings(self) -> tuple[HubRating, ...]:
        """How each gear is held: the cheapest fixing that holds, or the strongest with room."""
        return tuple(self._fixing(gear) for gear in self.train.gears)

    def _fixing(self, gear: MountedGear) -> HubRating:
        panel, rod, factors = self.panel(gear.stage), self.brief.shafts.rod, self._joint_factors
        found = best_fixing(
            panel,
            self.hub_torque(gear),
            rod,
            room_diameter=self.hub_room(gear),
            bit_diameter=self.brief.bit.cut_diameter,
            factors=factors,
        )
        return found or bonded(rod).rate(panel, factors)

    @property
    def _joint_factors(self) -> tuple[Factor, ...]:
        return wood_factors(self.service.service_class)

    def shaft(self, number: int, torques: Floats | None = None) -> Shaft:
        """Return a shaft with its loads; drive and output pass on torque alone.

        Parameters
        ----------
        number : int
            Which shaft.
        torques : ndarray, shape (stages + 1,), optional
            Torque on every shaft, N·m; negative where the other flanks carry. Default: running.
        """
        parts, given = self.brief.shafts, self.torques.running if torques is None else torques
        return loaded_shaft(self.train, number, given, parts.rod, parts.bearing)

    @property
    def _brakes(self) -> bool:
        """Whether the load can drive the train back, on the other flanks."""
        return self.service.loads_both_flanks and bool(self.torques.back.any())

    @cached_property
    def loaded_meshes(self) -> tuple[LoadedMesh, ...]:
        """Each stage on its two shafts, bent by the greatest load: driving, and braking."""
        senses = [self.torques.stall, *([-self.torques.back] if self._brakes else [])]
        shafts = [[self.shaft(i, t) for i in range(len(self.train.shafts))] for t in senses]
        panels = [self.panel(i) for i in range(len(self.stages))]
        return loaded_meshes(shafts, self.cut_pairs, panels)

    @cached_property
    def reports(self) -> tuple[CheckReport, ...]:
        """The checks by subject: duty, every stage, tolerances, room, the train, hubs, shafts."""
        found = (
            check_duty(self.duty, self.train.ratio),
            *(self._stage_report(i) for i in range(len(self.stages))),
            *(self._tolerance_report(i) for i in range(len(self.stages))),
            check_room(self.stages, self.brief.room),
            check_train(self.train),
            *(self._hub_report(g, f) for g, f in zip(self.train.gears, self.fixings, strict=True)),
            *(self._shaft_report(i) for i in range(len(self.train.shafts))),
        )
        return tuple(report for report in found if report.checks)

    @cached_property
    def report(self) -> CheckReport:
        """All checks; each name opens with its subject."""
        return CheckReport(
            self.title,
            tuple(
                replace(check, name=f"{report.title}: {check.name}")
                for report in self.reports
                for check in report
            ),
        )

    def _stage_report(self, stage: int) -> CheckReport:
        checks = (
            *mesh_checks(self.cut_pairs[stage]),
            *strength_checks(self.limits[stage], self.stages[stage].face_width),
            *(self.rims[stage] or ()),
            *alignment_checks(self.loaded_meshes[stage]),
        )
        return CheckReport(f"stage {stage + 1}", checks)

    def _tolerance_report(self, stage: int) -> CheckReport:
        given = self.brief.tolerance
        report = check_tolerance(
            self.stages[stage].pair,
            given,
            accepted=given.accepted_chance,
            bit=self.brief.bit,
            samples=given.samples,
        )
        return CheckReport(f"tolerance of stage {stage + 1}", report.checks)

    def _hub_report(self, gear: MountedGear, held: HubRating) -> CheckReport:
        report = check_hub(
            held.fixing,
            self.panel(gear.stage),
            self.hub_torque(gear),
            room_diameter=self.hub_room(gear),
            bit_diameter=self.brief.bit.cut_diameter,
            factors=self._joint_factors,
        )
        return CheckReport(f"hub of {gear.name}", report.checks)

    def _shaft_report(self, number: int) -> CheckReport:
        running, stall = self.torques.running[number], self.torques.stall[number]
        report = check_shaft(
            self.shaft(number),
            speed=max(self.speeds[number], 1.0),
            plate=self.brief.gears.plate(self.brief.frame.plate_thickness),
            hours=self.service.running_hours,
            peak_factor=max(float(stall / running), 1.0),
            braking=self.shaft(number, -self.torques.back) if self._brakes else None,
            factors=self._joint_factors,
        )
        return CheckReport(f"shaft {number + 1}", report.checks)

    def __repr__(self) -> str:
        stages = " and ".join(
            f"{s.pair.pinion.teeth:g}/{s.pair.wheel.teeth:g} of module {s.pair.pinion.module:g} mm"
            for s in self.stages
        )
        return f"Design({self.title!r}: {stages}, ratio {self.train.ratio:.3f})"


def load_design(path: str | PathLike[str], progress: Progress | None = None) -> Design:
    """Read a design file and solve it.

    Parameters
    ----------
    path : path
        Of a TOML file.
    progress : callable, optional
        Called with a line of text when a longer step begins.

    Returns
    -------
    Design
        Its `report` holds every check, its `train` the gears on their shafts.

    Raises
    ------
    GearworkError
        If the file has mistakes, or nothing can be made of it.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from gearwork.spec.spec import example_text
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder) / "my-machine.toml"
    ...     _ = path.write_text(example_text(), encoding="utf-8")
    ...     design = load_design(path)
    >>> design.title
    'Orchard crate hauler'
    """
    return solve(read_brief(path), progress)


def solve(brief: Brief, progress: Progress | None = None) -> Design:
    """Return the train a brief asks for.

    Parameters
    ----------
    brief : Brief
        From `read_brief` or `example_brief`.
    progress : callable, optional
        Called with a line of text when a longer step begins.

    Returns
    -------
    Design
        Its `report` holds every check, its `train` the gears on their shafts.

    Raises
    ------
    GearworkError
        If no train can be made of it; the text says what would have to change.

    Examples
    --------
    >>> from gearwork import example_brief
    >>> len(solve(example_brief()).train.gears)
    4
    """
    say = progress or (lambda _: None)
    if brief.stages:
        design = _solved(brief)
        _ = design.rims  # refuses windows that do not fit
        return design
    found = candidates_for(brief, progress)
    if not len(found):
        raise GearworkError(f"no train was found. {found.why}")
    return _first_that_holds(brief, found, say)


def _first_that_holds(brief: Brief, found: Candidates, say: Progress) -> Design:
    """The best train that passes every check; of those tried the one that fails fewest."""
    tried = []
    for count, chosen in enumerate(islice(with_stages(brief, found), MOST_TRIED), 1):
        say(f"checking the whole machine with train {count} of {len(found)}")
        design = _solved(chosen)
        if design.report.ok:
            return design
        tried.append(design)
    return min(tried, key=lambda design: len(design.report.failed))


def _solved(brief: Brief) -> Design:
    stages = tuple(
        Stage(given.pair, brief.gears.panel(given.layers).thickness, given.layers, given.windows)
        for given in brief.stages
    )
    parts = (shaft_parts_of(brief),) * (len(stages) + 1)
    train = GearTrain(stages, parts, frame_of(brief), brief.frame.arrangement)
    return Design(brief, Duty(brief.drive, brief.load, len(stages)), train)
