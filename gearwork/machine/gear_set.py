"""GearSet: pairs of gears to be cut, and everything that is made of them, each thing once.

Alone it is gears without a machine; `design.Design` adds drive, load, shafts and hubs.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache, cached_property, partial
from itertools import chain, pairwise, takewhile

from gearwork.checks.check import NO_WAY, Check, CheckReport, Subject
from gearwork.checks.hub.bar_screws import check_bar_screws
from gearwork.checks.hub.joints import JointUse
from gearwork.checks.tolerance import Centrings, check_tolerance
from gearwork.checks.tooth.load_case import LoadCase, Service, load_cases
from gearwork.checks.tooth.mesh import CutPair, distance_tolerance, mesh_checks
from gearwork.checks.tooth.strength import Rating, ToothLimit, strength_checks, tooth_limits
from gearwork.checks.windows import RimReport, rim_checks
from gearwork.errors import GearworkError
from gearwork.geometry.features import Bore
from gearwork.geometry.gear import BOUNDS, Gear
from gearwork.geometry.pair import SIDES, GearPair, Side
from gearwork.geometry.part import Part, Point, heft
from gearwork.geometry.rack import Bar, Rack
from gearwork.geometry.toolpath import bit_paths
from gearwork.machine.break_test import ENDS, StageBreakTest, make_break_test
from gearwork.machine.brief import GearBrief
from gearwork.machine.frame import Frame
from gearwork.machine.layout import SheetLayout, Stock, lay_out
from gearwork.machine.parts import Hub, NamedPiece, bar_of, gear_layers, layer_names, named_pieces
from gearwork.machine.remedies import numbered
from gearwork.machine.stage import (
    MountedGear,
    Stage,
    check_idlers,
    cut_pairs,
    gear_name,
    own_place,
)
from gearwork.machine.testpiece import TestPiece, make_test_piece
from gearwork.machine.train import AxisPlace
from gearwork.numbers import round_down
from gearwork.stock.bit import Bit
from gearwork.stock.laminate import Panel
from gearwork.stock.plywood import Plywood

APART = 30.0
"""Room between two pairs on one drawing, mm."""


TRIED_TEETH = 40
"""Of the wheel that stands for a rack on the test piece, where a span can be measured."""


def _room(pair: GearPair) -> float:
    """Room that the wheel or rack of a pair takes in the drawing, mm."""
    wheel = pair.wheel
    return 2 * wheel.length if isinstance(wheel, Rack) else wheel.tip_diameter


def _axis(gear: str) -> str:
    """What the axis of a gear is called in the drawing: of a rack it is a hole of the bar."""
    side, number = gear.split()
    return f"hole of rack {number}" if side == "rack" else gear


def _with_wheel(pair: GearPair) -> GearPair:
    """The pair with a wheel of the same teeth in the place of a rack."""
    pinion, wheel = pair.pinion, pair.wheel
    if not isinstance(wheel, Rack):
        return pair
    given = {name: getattr(wheel, name) for name in BOUNDS if name != "profile_shift"}
    return GearPair(pinion, Gear(wheel.module, TRIED_TEETH, **given))


@dataclass(frozen=True)
class GearSet:
    """Pairs of gears to be cut, without a machine: parts, sheets, checks, each computed once.

    Attributes
    ----------
    brief : GearBrief
        What was asked, with the stages: each a pair with its bores.

    Raises
    ------
    GearworkError
        If a stage has no bores or a torque without a speed, or windows cannot be judged.

    Examples
    --------
    >>> from gearwork import example_brief, solve
    >>> gears = solve(example_brief("apple-washer"))
    >>> [gear.name for gear in gears.gears], gears.report.ok
    (['pinion 1', 'wheel 1'], True)
    """

    brief: GearBrief

    def __post_init__(self) -> None:
        self._complete()

    def _complete(self) -> None:
        """Refuse what cannot be, before anything is made of it."""
        for number, stage in enumerate(self.stages, 1):
            try:
                stage.need_bench()
            except GearworkError as error:
                raise GearworkError(f"[stage {number}] {error}") from None
        check_idlers(self.stages)
        for number in range(1, len(self.stages)):
            self._check_angle(number)
        _ = self.rims

    @property
    def stages(self) -> tuple[Stage, ...]:
        """The pairs of gears."""
        return self.brief.cut_stages

    @property
    def service(self) -> Service:
        """How the gears are used, with what drive and load say of the flanks."""
        return self.brief.full_service

    @cached_property
    def gears(self) -> tuple[MountedGear, ...]:
        """The gears to cut, the pinion of each stage before its wheel."""
        return tuple(
            MountedGear(
                name=gear_name(self.stages, i, side),
                gear=gear,
                stage=i,
                shaft=i + (side == "wheel"),
                plane=0,
                start=0.0,
                end=stage.face_width,
                pitch_diameter=stage.pair.working_pitch_diameters[side == "wheel"],
                bore=stage.bores[stage.sides.index(side)],
                windows=stage.windows if side == "wheel" else None,
            )
            for i, stage in enumerate(self.stages)
            for side, gear, *_ in self.cut_pairs[i].sides()
            if side in stage.sides
        )

    @cached_property
    def hubs(self) -> tuple[Hub, ...]:
        """What is cut into the middle of each gear."""
        return tuple(Hub((Bore(gear.bore),)) for gear in self.gears)

    def bore(self, gear: MountedGear) -> float:
        """Return the hole in the middle of a gear as it is to be cut, mm."""
        return gear.bore

    @property
    def tried_bore(self) -> float | None:
        """A second hole of the test piece, mm; none where the first is a gear's bore."""
        return None

    @property
    def tried_hole(self) -> float:
        """The hole of the test piece, mm: what will be put into such a one."""
        turning = [gear for gear in self.gears if not isinstance(gear.gear, Rack)]
        return (turning or self.gears)[-1].bore

    @property
    def on_bed(self) -> int | None:
        """The stage whose rack runs outside the plates, on a bed of the maker's."""
        return None

    @property
    def title(self) -> str:
        """Of the whole."""
        return self.brief.title

    def panel(self, stage: int) -> Panel:
        """Return the sheet or stack the gears of a stage are made of."""
        return self.brief.gears.panel(self.stages[stage].layers)

    @cached_property
    def cut_pairs(self) -> tuple[CutPair, ...]:
        """Every pair with its teeth as the bit leaves them."""
        return cut_pairs(self.stages, self.brief.bit)

    def cut_of(self, stage: int) -> dict[Side, MountedGear]:
        """Return the gears of a stage that are cut; of an idler both stages have it."""
        found = {(gear.stage, gear.side): gear for gear in self.gears}
        own = {side: own_place(self.stages, stage, side) for side in SIDES}
        return {side: found[place] for side, place in own.items() if place in found}

    def cases(self, stage: int) -> tuple[LoadCase, ...]:
        """Return the load cases of a stage, on its pinion; none where no torque is given."""
        given = self.stages[stage]
        if given.torque is None:
            return ()
        return load_cases(given.torque, given.speed or 0.0, self.service)

    @cached_property
    def limits(self) -> tuple[tuple[ToothLimit, ...], ...]:
        """What the teeth of each stage bear, in every load case."""
        return tuple(self._limits(i, self.cases(i)) for i in range(len(self.stages)))

    def _limits(
        self, stage: int, cases: tuple[LoadCase, ...], layers: int | None = None
    ) -> tuple[ToothLimit, ...]:
        panel = self.brief.gears.panel(layers or self.stages[stage].layers)
        return tooth_limits(
            self.cut_pairs[stage],
            panel,
            panel.thickness,
            cases,
            deviation=self.brief.tolerance.deviation,
        )

    def rating(self, stage: int) -> Rating:
        """Return what a stage bears: running where a speed is given, and stalled."""
        given, torque = self.stages[stage], self.stages[stage].torque or 1.0
        cases = load_cases(torque, given.speed or 0.0, self.service, stall_torque=torque)
        found = self._limits(stage, cases if given.speed else cases[1:])
        return Rating.of(found, f"stage {stage + 1}")

    @cached_property
    def rims(self) -> tuple[RimReport | None, ...]:
        """The checks of each stage's wheel with its windows, and what they save."""
        return tuple(self._rim(i) for i in range(len(self.stages)))

    def _rim(self, stage: int) -> RimReport | None:
        windows, panel = self.stages[stage].windows, self.panel(stage)
        if windows is None:
            return None
        cut, limits = self.cut_pairs[stage], self.limits[stage]
        try:
            return rim_checks(
                cut,
                "wheel",
                windows,
                panel,
                panel.thickness,
                limits,
                self.brief.tolerance.deviation,
                self._asks(stage),
            )
        except GearworkError as error:
            raise GearworkError(f"[stage {stage + 1} windows] {error}") from None

    def points(self, stage: int) -> tuple[Point, Point]:
        """Where the axes of a stage stand in the drawing, mm: each pair below the one before.

        Of a rack that of a screw hole beside the pinion's axis. Behind an idler the pair goes on
        from its axis.
        """
        return self._points[stage]

    @cached_property
    def _points(self) -> tuple[tuple[Point, Point], ...]:
        found: list[tuple[Point, Point]] = []
        turned, floor = 0.0, math.inf  # the lowest that is drawn so far
        for first, stage in enumerate(self.stages):
            if stage.idler:
                continue
            chain = [stage, *takewhile(lambda one: one.idler, self.stages[first + 1 :])]
            places: list[Point] = [(0.0, 0.0)]
            turned = 0.0
            for one in chain:
                turned += one.angle or 0.0
                (x, y), far = places[-1], one.axes_apart
                way = math.radians(turned)
                places.append((x + far * math.cos(way), y + far * math.sin(way)))
            sizes = [stage.pair.pinion.tip_diameter, *(_room(one.pair) for one in chain)]
            above = max(y + size / 2 for (_, y), size in zip(places, sizes, strict=True))
            below = min(y - size / 2 for (_, y), size in zip(places, sizes, strict=True))
            low = 0.0 if math.isinf(floor) else above + APART - floor
            floor = below - low
            moved = [(x, y - low) for x, y in places]
            found += pairwise(moved)
        return tuple(found)

    def _check_angle(self, number: int) -> None:
        """Refuse a gear behind an idler that would stand in the one before it."""
        stage, before = self.stages[number], self.stages[number - 1]
        if not stage.idler:
            return
        angle, place = stage.angle or 0.0, f"[stage {number + 1}] angle"
        if isinstance(stage.pair.wheel, Rack):
            if angle:
                raise GearworkError(f"{place} is {angle:g}°: a rack lies straight on; leave it out")
            return
        apart = math.dist(self.points(number - 1)[0], self.points(number)[1])
        tips = before.pair.pinion.tip_diameter + stage.pair.wheel.tip_diameter
        one, other, needed = before.axes_apart, stage.axes_apart, tips / 2 + Frame.clearance
        if apart < needed:
            cosine = (needed**2 - one**2 - other**2) / (2 * one * other)
            most = round_down(math.degrees(math.acos(min(cosine, 1.0))), 1)
            raise GearworkError(
                f"{place} is {angle:g}°: the gears on either side of the idler would stand"
                f" {apart:.2f} mm apart and need {needed:.2f} mm; take at most {most:g}° either way"
            )

    @property
    def axes(self) -> tuple[AxisPlace, ...]:
        """The axes for the spacing drawing, each with the hole to make there."""
        return tuple(
            AxisPlace(
                _axis(gear.name),
                (gear.shaft,),
                self.points(gear.stage)[gear.side == "wheel"],
                gear.bore,
                () if isinstance(gear.gear, Rack) else (gear.circles,),
            )
            for gear in self.gears
            if self.stages[gear.stage].only is None
        )

    @property
    def toleranced_distances(self) -> tuple[tuple[tuple[str, str, float], float], ...]:
        """Each pair of axes with its distance, and by how much it may be off either way, mm."""
        return tuple(
            (
                (
                    gear_name(self.stages, i, "pinion"),
                    _axis(gear_name(self.stages, i, "wheel")),
                    stage.axes_apart,
                ),
                distance_tolerance(stage.pair),
            )
            for i, stage in enumerate(self.stages)
            if stage.only is None
        )

    @cached_property
    def _layers(self) -> tuple[tuple[Part, ...], ...]:
        """The layers of every gear."""
        every = zip(self.gears, self.hubs, strict=True)
        return tuple(
            gear_layers(gear, self.cut_pairs[gear.stage], hub, self.brief) for gear, hub in every
        )

    def layers(self, gear: MountedGear) -> tuple[Part, ...]:
        """Return the layers of a gear; those that are cut alike are one part with a count."""
        return self._layers[self.gears.index(gear)]

    def layer_names(self, gear: MountedGear) -> tuple[str, ...]:
        """Return the names of the layers of a gear, without making them."""
        return layer_names(gear, self.hubs[self.gears.index(gear)], self.brief)

    def bar(self, stage: int) -> Bar | None:
        """Return the rack of a stage as it is cut from its sheets, None of a pair of gears."""
        wheel = self.stages[stage].pair.wheel
        return bar_of(wheel, stage, self.brief) if isinstance(wheel, Rack) else None

    def bar_pieces(self, gear: MountedGear) -> tuple[tuple[NamedPiece, ...], ...]:
        """Return the pieces of every layer of a rack, from its first tooth on."""
        return named_pieces(gear, self.brief)

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """Every piece to cut.

        Raises
        ------
        GearworkError
            If a gear cannot be cut with the bit, or its bore does not fit it.
        """
        return tuple(chain.from_iterable(self._layers))

    @cached_property
    def cannot_be_cut(self) -> str:
        """Why some piece cannot be cut or finds no room on a sheet; empty where all can."""
        cutting = self.brief.cutting
        try:
            _ = self.sheets
            for part in (*self.parts, *self.test_parts) if cutting.bit_paths else ():
                bit_paths(part, self.brief.bit, cutting.bridges)
        except GearworkError as error:
            return str(error)
        return ""

    @property
    def sound(self) -> bool:
        """Whether every check holds and all of it can be cut."""
        return self.holds and not self.cannot_be_cut

    @property
    def _bought(self) -> tuple[Plywood, ...]:
        """The kinds of sheet the parts are cut from."""
        return (self.brief.gears.sheet,)

    @cached_property
    def sheets(self) -> tuple[SheetLayout, ...]:
        """The sheets as bought from which all parts can be cut, each piece where it lies.

        Raises
        ------
        GearworkError
            If a part cannot be made, or is larger than a sheet.
        """
        stock, sold = self.brief.stock, {s.thickness: s.nominal_thickness for s in self._bought}
        sizes = [
            Stock(
                stock.width, stock.height, thickness, count=stock.count, sold_as=sold.get(thickness)
            )
            for thickness in sorted({part.thickness for part in self.parts})
        ]
        return lay_out(self.parts, sizes, self.brief.bit, margin=self.brief.margin)

    @cached_property
    def test_piece(self) -> TestPiece | None:
        """The test piece to cut first, None where calipers find too little on its teeth."""
        return self.test_piece_cut_by(self.brief.bit)

    def test_piece_cut_by(self, bit: Bit) -> TestPiece | None:
        """Return the test piece with its path made for this bit.

        It carries the teeth of the finest pair, on which the same error weighs most, and a hole
        like those that something must fit into.
        """
        thick, hole, bore = self.brief.gears.sheet.thickness, self.tried_hole, self.tried_bore
        for stage in self._finest_first:
            pair = _with_wheel(self.stages[stage].pair)
            try:
                return make_test_piece(pair, bit, thick, hole, bore)
            except GearworkError:
                continue
        return None

    @property
    def _finest_first(self) -> list[int]:
        modules = [stage.pair.pinion.module for stage in self.stages]
        return sorted(range(len(modules)), key=modules.__getitem__)

    @cached_property
    def break_test(self) -> StageBreakTest | None:
        """Teeth to break, of the finest pair that can be broken on a lever of its own sheet."""
        sheet, (along, _) = self.brief.gears.sheet, self.brief.stock.within(self.brief.margin)
        longest = along - ENDS
        for stage in self._finest_first:
            try:
                found = make_break_test(self.cut_pairs[stage], sheet, longest=longest)
                return StageBreakTest(stage + 1, found)
            except GearworkError:
                continue
        return None

    @property
    def test_parts(self) -> tuple[Part, ...]:
        """What is cut by itself: the test piece before the gears, and teeth to be broken."""
        piece, broken = self.test_piece, self.break_test
        return (
            *(piece.parts if piece else ()),
            *(broken.test.parts if broken else ()),
        )

    @cached_property
    def gear_mass(self) -> float:
        """Mass of all gears as cut, kg: without bores, bolt holes, pockets and windows.

        Raises
        ------
        GearworkError
            If a gear cannot be made.
        """
        density = self.brief.gears.sheet.density
        layers = chain.from_iterable(self._layers)
        return sum(part.count * heft(part, density).mass for part in layers)

    @cached_property
    def _makers(self) -> tuple[Callable[[], CheckReport], ...]:
        """What makes each report, once, in the order in which they are told."""
        return tuple(cache(make) for make in self._every_maker)

    @property
    def _every_maker(self) -> tuple[Callable[[], CheckReport], ...]:
        stages = range(len(self.stages))
        return (
            *(partial(self._stage_report, i) for i in stages),
            *(partial(self._tolerance_report, i) for i in stages),
        )

    @property
    def holds(self) -> bool:
        """Whether every check holds."""
        return self.holds_with(0.0)

    def holds_with(self, reserve: float) -> bool:
        """Whether every check holds with such a share to spare (`Check.ok_with`)."""
        return all(check.ok_with(reserve) for check in self.report)

    @property
    def to_spare(self) -> Check:
        """The check whose limit the loads come nearest to, and by what share (`Check.to_spare`)."""
        return min(self.report, key=lambda check: check.to_spare)

    @cached_property
    def reports(self) -> tuple[CheckReport, ...]:
        """The checks by subject."""
        found = (self._advised(place, make()) for place, make in enumerate(self._makers))
        return tuple(report for report in found if report.checks)

    def _advised(self, place: int, report: CheckReport) -> CheckReport:
        """The report that a maker made, its ways out in keys of this file or left out."""
        subject, last = report.subject, len(self.stages) - 1
        own = subject.number if subject.kind in ("stage", "tolerance") else last

        def advised(check: Check) -> Check:
            keys = (way for way in check.ways if all("." in key for key, _ in way))
            ways = tuple(numbered(way, last + 1, own or 0) for way in keys)
            return replace(check, ways=ways, otherwise="" if check.ok else NO_WAY)

        return replace(report, checks=tuple(map(advised, report)))

    @cached_property
    def report(self) -> CheckReport:
        """All checks, each with its subject."""
        return CheckReport(
            Subject("machine", self.title),
            tuple(
                replace(check, subject=report.subject)
                for report in self.reports
                for check in report
            ),
        )

    def _stage_report(self, stage: int) -> CheckReport:
        layered = cache(partial(self._limits, stage, self.cases(stage)))
        checks = (
            *mesh_checks(self.cut_pairs[stage]),
            *strength_checks(
                self.limits[stage], self.stages[stage].layers, layered, self._asks(stage)
            ),
            *(self.rims[stage] or ()),
            *self._screw_checks(stage),
            *self._sheet_checks(stage),
        )
        return CheckReport(Subject("stage", f"stage {stage + 1}", stage), checks)

    def _screw_checks(self, stage: int) -> Iterator[Check]:
        """Whether a rack's screws hold the greatest force along it; nothing where none is known."""
        bar, cases = self.bar(stage), self.cases(stage)
        if bar is None or not cases:
            return
        own = self.stages[stage]
        force = 2000.0 * max(case.torque for case in cases) / own.pair.working_pitch_diameters[0]
        bores = (*own.bores[:-1], own.screw_hole)
        yield check_bar_screws(bar, bores, force, self.panel(stage), self._joint_use)

    def _sheet_checks(self, stage: int) -> Iterator[Check]:
        """Whether the largest gear of a stage finds room on its sheet; a bar is cut in pieces."""
        turning = {
            f"diameter of {gear.name}": gear.gear.tip_diameter
            for gear in self.gears
            if gear.stage == stage and not isinstance(gear.gear, Rack)
        }
        if turning:
            yield self.brief.stock.check(
                lambda sheet: {name: (size, min(sheet)) for name, size in turning.items()},
                self.brief.margin,
            )

    @property
    def _joint_use(self) -> JointUse:
        """What decides how much of their strength joints in wood may use."""
        return JointUse.of(self.service, grave=False)

    def _asks(self, stage: int) -> dict[str, str]:
        """The keys that give torque and speed; none where drive and load do."""
        own = self.stages[stage].torque is not None and not self.stages[stage].idler
        return {"running": "stage.torque", "speed": "stage.speed"} if own else {}

    def centrings(self, stage: int) -> Centrings | None:
        """Return how pinion and wheel of a stage are centred; None where no rod is known."""
        return None

    def _tolerance_report(self, stage: int) -> CheckReport:
        given = self.brief.tolerance
        report = check_tolerance(
            self.cut_pairs[stage],
            given,
            accepted=given.accepted_chance,
            samples=given.samples,
            centrings=self.centrings(stage),
        )
        subject = Subject("tolerance", f"tolerance of stage {stage + 1}", stage)
        return CheckReport(subject, report.checks)
