"""Brief: what is asked of a machine, as a design file says it or a program gives it."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Annotated, Any, Literal, Self

from gearwork.checks.check import Check, Way
from gearwork.checks.hub.coupling import OF_DRILL, OF_MOTOR, CouplingName
from gearwork.checks.hub.fixing import FixingName
from gearwork.checks.hub.hub import MIN_FLOOR
from gearwork.checks.tolerance import ACCEPTED, Scatter
from gearwork.checks.tooth.friction import TYPICAL_LOSS, mesh_efficiency
from gearwork.checks.tooth.load_case import Service
from gearwork.errors import (
    Bound,
    GearworkError,
    check_given,
    check_values,
    one_of,
    shown,
)
from gearwork.geometry.toolpath import Tabs
from gearwork.machine.cradle import Cradle
from gearwork.machine.drive import Drive
from gearwork.machine.duty import Duty
from gearwork.machine.frame import FIT, PLAY, ROOM, Frame, ShaftParts, min_plate
from gearwork.machine.load import Load, Size
from gearwork.machine.slide import RackLoad
from gearwork.machine.stage import Stage
from gearwork.machine.testpiece import Readings
from gearwork.numbers import Floats, round_up
from gearwork.stock.bit import Bit
from gearwork.stock.hardware import Bearing, Rod, bearing, nut, rod, washer
from gearwork.stock.laminate import USUAL_ANGLES, Panel, glued
from gearwork.stock.plywood import Plywood, plywood, plywood_kinds

Sizes = Mapping[str, tuple[Any, float]]
"""Of some pieces what each needs and the most there is, mm."""


@dataclass(frozen=True)
class StockSheet:
    """A sheet as bought.

    Attributes
    ----------
    width, height : float
        Along the face grain and across it, mm.
    margin : float
        Kept free along its edges, mm.
    count : int, optional
        How many there are of each thickness. Default: as many as are needed.
    """

    width: Annotated[float, Bound("mm", above=0.0, at_most=10_000.0)] = 1200.0
    height: Annotated[float, Bound("mm", above=0.0, at_most=10_000.0)] = 600.0
    margin: Annotated[float, Bound("mm", at_least=0.0, at_most=200.0)] = 10.0
    count: Annotated[int | None, Bound(at_least=1, at_most=1000)] = None

    def __post_init__(self) -> None:
        check_values(self)
        shorter = min(self.width, self.height)
        if 2.0 * self.margin >= shorter:
            raise GearworkError(
                f"margin is {self.margin:g} mm: along both edges of a sheet {shorter:g} mm wide it"
                f" leaves nothing, it must be below {shorter / 2.0:g} mm"
            )

    def within(self, margin: float) -> tuple[float, float]:
        """What a margin along each edge leaves along the face grain and across it, mm."""
        return self.width - 2.0 * margin, self.height - 2.0 * margin

    def check(self, sizes: Callable[[tuple[float, float]], Sizes], margin: float) -> Check:
        """Judge whether pieces find room on it, by the one nearest to its limit.

        `sizes`: name, size and limit, mm, of each of them on a sheet of so much usable room;
        `margin`: kept free along its edges, mm.
        """

        def nearest(sheet: "StockSheet") -> tuple[str, float, float]:
            needs = sizes(sheet.within(margin)).items()
            return max(
                ((name, float(need), most) for name, (need, most) in needs),
                key=lambda size: size[1] - size[2],
            )

        name, need, limit = nearest(self)
        sold = (replace(self, width=width, height=height) for width, height in SHEETS)
        found = ((sheet, nearest(sheet)) for sheet in sold)
        fits = [sheet for sheet, (_, need, most) in found if need <= most]
        return Check(
            judged=name,
            kind="room",
            value=need,
            limit=limit,
            unit="mm",
            sense="at most",
            why="Each is cut in one piece from a sheet, within its margins.",
            ways=tuple(
                (("stock.width", sheet.width), ("stock.height", sheet.height)) for sheet in fits
            ),
            source="[stock] of the design file",
        )


SHEETS = ((1525.0, 1525.0), (2440.0, 1220.0), (2500.0, 1250.0))
"""Sheets as birch plywood is sold, along and across, mm: common practice."""


WITH_LEAD_IN = 1.5
"""How far the bit's rim comes from an edge on the arc that leads in, times its diameter."""

_OVERHANG = Bound("mm", at_least=0.0, at_most=1000.0)


@dataclass(frozen=True)
class Shafts:
    """Rods and bearings, the same for every shaft; `free_end`: rod that sticks out, mm.

    `overhangs`: how far beyond the outer face of the plate the middle of the drive's coupling
    and that of drum, wheel or whatever is driven sit, mm; by default in the middle of the free
    end, behind the nut. `coupling`: how the drive takes hold of the first rod; `fixing`: how all
    that is fixed to the rods is held.
    """

    rod: Rod
    bearing: Bearing
    free_end: float
    overhangs: tuple[float, float]
    coupling: CouplingName | None = None
    fixing: FixingName | None = None

    @classmethod
    def of_names(
        cls,
        thread: str = "M10",
        grade: str = "8.8",
        bearing_name: str = "6000",
        free_end: Annotated[float, _OVERHANG] = 40.0,
        drive_overhang: Annotated[float | None, _OVERHANG] = None,
        load_overhang: Annotated[float | None, _OVERHANG] = None,
        measured_diameter: Annotated[float | None, Bound("mm", above=0.0)] = None,
        coupling: CouplingName | None = None,
        fixing: FixingName | None = None,
    ) -> "Shafts":
        """Take standard parts by their names.

        Parameters
        ----------
        thread : str
            Of the rods, e.g. "M12".
        grade : str
            Of the rods' steel, e.g. "8.8".
        bearing_name : str
            Of the bearings, e.g. "6001".
        free_end : float
            Rod that sticks out beyond each plate, mm.
        drive_overhang, load_overhang : float, optional
            How far beyond the plate the middle of the coupling or of what is driven sits, mm.
            Default: the middle of the free end, behind the nut.
        measured_diameter : float, optional
            Of the rods over their crests, mm.
        coupling : str, optional
            How the drive takes hold of the first rod. A drill: its "chuck" on the thread, or a
            socket in the chuck on a "bonded nut", a "pinned nut" or two "jammed nuts". A motor of
            known shaft: a "clamp sleeve" or a "pinned sleeve". Default: the cheapest that holds.
        fixing : {"spring clamp", "epoxy", "glued rod", "nut pockets", "bolts"}, optional
            How gears, and what is fixed to the ends of rods, are held: clamped by nuts with disc
            springs, bonded to nuts, glued round the rod, by nuts let in, or bolted to a steel
            plate; none: each by the cheapest of these that holds it, where one for all, such as
            "glued rod", may leave shorter rods, which bend less. A search for a way out tries that.
        """
        check_given(cls.of_names, locals())
        middle = nut(thread).height + washer(thread, wide=True).thickness + free_end / 2.0
        before, after = (middle if at is None else at for at in (drive_overhang, load_overhang))
        on = rod(thread, grade=grade)
        if measured_diameter is not None:
            on = on.measured(measured_diameter)
        shafts = cls(on, bearing(bearing_name), free_end, (before, after), coupling, fixing)
        _ = shafts.parts  # refuses a rod that does not pass through the bearing
        return shafts

    @property
    def parts(self) -> ShaftParts:
        """Their sizes, with the nuts and washers that belong to them."""
        thread = self.rod.thread
        return ShaftParts.of(
            self.rod, nut(thread), washer(thread, wide=True), self.bearing, self.free_end
        )


@dataclass(frozen=True)
class GearSheet:
    """The sheet the gears are cut from, and how layers of it are turned."""

    sheet: Plywood
    layer_angles: tuple[float, ...] = USUAL_ANGLES
    wood: str | None = None

    @classmethod
    def of_kind(
        cls,
        wood: str = "birch",
        thickness: Annotated[float, Bound("mm", above=0.0)] = 12.0,
        measured_thickness: Annotated[float | None, Bound("mm", above=0.0)] = None,
        layer_angles: Annotated[tuple[float, ...], Bound("°")] = layer_angles,
    ) -> "GearSheet":
        """Take a sheet of the tables.

        Parameters
        ----------
        wood : str
            What it is of, as the tables name it: "birch" or "thin-veneer spruce".
        thickness : float
            Nominal, as sold, mm.
        measured_thickness : float, optional
            By calipers, mm.
        layer_angles : tuple of float
            Of the face grain of a gear's layers, one after the other, degrees.
        """
        kinds = plywood_kinds()
        if wood not in kinds:
            raise GearworkError(
                f"wood is {shown(wood)}: {one_of(kinds)} is in the tables; give a sheet of another"
                ' wood by its declaration of performance: kind = "declared"'
            )
        if thickness not in kinds[wood]:
            near = min(kinds[wood], key=lambda size: abs(size - thickness))
            raise GearworkError(
                f"thickness is {thickness:g} mm: {wood} is sold as {one_of(kinds[wood])} mm; where"
                f" calipers say so, thickness = {near:g} and measured_thickness = {thickness:g}"
            )
        sheet = plywood(wood, thickness)
        if measured_thickness is not None:
            sheet = sheet.measured(measured_thickness)
        return cls(sheet, layer_angles, wood)

    def plate(self, thickness: float) -> Plywood:
        """Return the sheet of the side plates: of the same wood, by nominal thickness.

        A sheet of one's own serves for the plates as well.
        """
        return _plate(self.wood, thickness) if self.wood else self.sheet

    def panel(self, layers: int) -> Panel:
        """Return a gear's worth of layers, each turned by the next of the angles."""
        return glued(self.sheet, layers, self.layer_angles)


def _plate(wood: str, thickness: float) -> Plywood:
    """The sheet of side plates by its nominal thickness, mm."""
    sold = plywood_kinds()[wood]
    if thickness not in sold:
        raise GearworkError(
            f"plate_thickness is {thickness:g} mm: {wood} is sold as {one_of(sold)} mm; give one of"
            " these, as it is sold"
        )
    return plywood(wood, thickness)


TYRE_GIVE = 0.05
"""Share of half a wheel's diameter by which its axle may be given lower or higher: tyres that
flatten, wheels as sold (assumption)."""


def frame_of(
    gears: GearSheet,
    shafts: Shafts,
    load: Load,
    plate_thickness: Size = 12.0,
    arrangement: Literal["folded", "in line", "coaxial"] | None = None,
    clearance: Annotated[float, ROOM] = 3.0,
    fit: Annotated[float, FIT] = Frame.fit,
    output_height: Annotated[float | None, Bound("mm", above=0.0)] = None,
    ground_clearance: Annotated[float, ROOM] = Frame.ground_clearance,
) -> Frame:
    """Return the frame for such shafts, its plates of the same kind of sheet as the gears.

    `plate_thickness` is the nominal one; the gap takes the nuts and the clearance beside them.
    Where a sheet of one's own is too thin for the seats of bearings, the plates are of birch.
    The wheels of a vehicle say how high its axle is.
    """
    check_given(frame_of, locals())
    axle = load.output_height
    if output_height is None:
        output_height = axle
    elif axle is not None and abs(output_height - axle) > TYRE_GIVE * axle:
        raise GearworkError(
            f"output_height is {output_height:g} mm and wheel_diameter under [load] is"
            f" {2.0 * axle:g} mm: wheels hold their axle half their diameter above the ground,"
            f" {axle:g} mm, give or take {100.0 * TYRE_GIVE:g} % for tyres; leave output_height"
            f" out, or write wheel_diameter = {2.0 * output_height:g}"
        )
    plate, least = gears.plate(plate_thickness), min_plate(shafts.bearing.width)
    if not gears.wood and plate.thickness < least:
        plate = _plate("birch", plate_thickness)
    if plate.thickness < least:
        raise GearworkError(
            f"plate_thickness is {plate.thickness:g} mm: a {shafts.bearing.name} bearing is"
            f" {shafts.bearing.width:g} mm wide, its seat needs {PLAY:g} mm of play and"
            f" {MIN_FLOOR:g} mm of wood behind it, so at least {least:g} mm; take a thicker plate"
            " or a narrower bearing"
        )
    return Frame(
        plate.thickness,
        shafts.parts.hub_height + clearance,
        clearance,
        arrangement,
        output_height,
        ground_clearance,
        fit,
        plate,
    )


MIN_SAMPLES, MIN_BAD = 20_000, 20


@dataclass(frozen=True)
class Tolerances(Scatter):
    """How far the workshop misses what is drawn (`Scatter`), and which misses are put up with.

    Attributes
    ----------
    accepted_chance : float
        That a pair binds, and that it loses overlap.
    max_wobble : float
        Of a trued gear's face at its tips, full swing of a pointer, mm.
    squareness : float
        Of the bit to the sheet, mm in 100 mm (0.1: assumption, common practice).
    """

    accepted_chance: Annotated[float, Bound(at_least=0.0001, at_most=0.5)] = ACCEPTED
    max_wobble: Annotated[float, Bound("mm", at_least=0.0, at_most=5.0)] = 0.1
    squareness: Annotated[float, Bound("mm", at_least=0.0, at_most=5.0)] = 0.1

    @property
    def edge_tolerance(self) -> float:
        """How far an edge may lie from its line, mm: three standard deviations, at least 0.01.

        Of 1000 edges 3 lie farther off and are cut again.
        """
        return max(round_up(3 * math.hypot(self.cutting_error, self.bit_diameter / 2), 2), 0.01)

    @property
    def deviation(self) -> float:
        """Of pitch and profile of a gear as cut, mm, for the dynamic load."""
        return 3.0 * self.cutting_error

    def lean(self, thickness: float) -> float:
        """Gap at one edge of two gears cut out of square from such a sheet, mm."""
        return 2.0 * self.squareness / 100.0 * thickness

    @property
    def samples(self) -> int:
        """How many pairs to sample: at the accepted chance, at least 20 of them are bad.

        The chance is then known to about a quarter of itself; at the default, where 200 are bad,
        to a fourteenth.
        """
        return max(MIN_SAMPLES, math.ceil(MIN_BAD / self.accepted_chance))


@dataclass(frozen=True)
class Cutting:
    """How the parts are cut where no program makes the paths.

    Attributes
    ----------
    bit_paths : bool
        Whether to write files of the path of the bit's centre.
    tabs : int
        Bridges that hold a piece at its outer edge; 0: none.
    tab_width, tab_height : float
        Of each on the wood, and above the underside of the sheet, mm.
    """

    bit_paths: bool = False
    tabs: Annotated[int, Bound(at_least=0, at_most=50)] = Tabs.count
    tab_width: Size = Tabs.width
    tab_height: Size = Tabs.height

    def __post_init__(self) -> None:
        check_values(self)

    @property
    def bridges(self) -> Tabs | None:
        """The tabs to leave, None for none."""
        return Tabs(self.tabs, self.tab_width, self.tab_height) if self.tabs else None


@dataclass(frozen=True)
class Drawing:
    """What the spacing drawing is printed on at 1:1, over as many pages as it takes.

    Attributes
    ----------
    paper : {"A4", "A3"}
        In the printer.
    """

    paper: Literal["A4", "A3"] = "A4"


RoomDemand = tuple[str, Floats, float, Literal["at least", "at most"]]
"""Name, values, limit and the good side of it."""


@dataclass(frozen=True)
class Room:
    """How much room there is for the gears and the whole machine. None: it is not limited.

    Attributes
    ----------
    max_diameter : float, optional
        Of any gear over its tips, mm.
    min_distance, max_distance : float, optional
        Of the centres of any pair, mm.
    fixed_distance : float, optional
        Of the centres of every pair, e.g. in a frame that is there already, mm.
    width, height : float, optional
        Of the whole machine over plates and gears, as it is drawn, mm.
    depth : float, optional
        Of the whole machine along its rods, from end to end of all that stands on them, mm.
    """

    max_diameter: Annotated[float | None, Bound("mm", above=0.0)] = None
    min_distance: Annotated[float | None, Bound("mm", above=0.0)] = None
    max_distance: Annotated[float | None, Bound("mm", above=0.0)] = None
    fixed_distance: Annotated[float | None, Bound("mm", above=0.0)] = None
    width: Annotated[float | None, Bound("mm", above=0.0)] = None
    height: Annotated[float | None, Bound("mm", above=0.0)] = None
    depth: Annotated[float | None, Bound("mm", above=0.0)] = None

    def __post_init__(self) -> None:
        check_values(self)

    def demands(self, largest: Floats, distance: Floats) -> Iterator[RoomDemand]:
        """Yield name, values, limit and sense of what is asked of pairs, but for a fixed distance.

        `largest` is the greater tip diameter, `distance` that of the centres of each pair, mm.
        """
        if self.max_diameter is not None:
            yield "largest diameter", largest, self.max_diameter, "at most"
        if self.min_distance is not None:
            yield "smallest centre distance", distance, self.min_distance, "at least"
        if self.max_distance is not None:
            yield "largest centre distance", distance, self.max_distance, "at most"

    def of_machine(self, sizes: Sequence[Any]) -> dict[str, tuple[Any, float]]:
        """Return value and limit of width, height and depth, mm, as far as they are limited."""
        named = zip(("width", "height", "depth"), sizes, strict=True)
        limits = ((name, size, getattr(self, name)) for name, size in named)
        return {f"{name} of the machine": (size, most) for name, size, most in limits if most}


@dataclass(frozen=True)
class GearBrief:
    """What is asked of gears.

    The sheet they are cut from, its size as bought (`stock`) and the bit; how they are used
    (`service`), how exactly the workshop works (`tolerance`) and how it cuts; what was measured on
    the test piece; the pairs (`stages`); and the text of the design file that says so.
    """

    title: str
    gears: GearSheet
    bit: Bit
    stock: StockSheet
    service: Service
    tolerance: Tolerances
    cutting: Cutting
    drawing: Drawing
    test_piece: Readings | None
    stages: tuple[Stage, ...]
    text: str

    @property
    def full_service(self) -> Service:
        """How the gears are used."""
        return self.service

    @property
    def cut_stages(self) -> tuple[Stage, ...]:
        """The pairs of gears to cut."""
        return self.stages

    @property
    def margin(self) -> float:
        """Kept free along the edges of a sheet, mm: for clamps, and where the bit is led in."""
        return edge_margin(self.stock, self.bit, self.cutting)


def edge_margin(stock: StockSheet, bit: Bit, cutting: Cutting) -> float:
    """What is kept free along the edges of a sheet, mm: for clamps, and where the bit is led in."""
    lead = WITH_LEAD_IN * bit.cut_diameter if cutting.bit_paths else 0.0
    return max(stock.margin, lead)


@dataclass(frozen=True)
class Brief(GearBrief):
    """What is asked of a machine.

    Beside its gears (`GearBrief`, the drive's pair first; no stage: to be searched): drive and
    load, rods and bearings (`shafts`), frame, the room for the gears, and the drive's cradle.
    """

    drive: Drive
    load: Load
    shafts: Shafts
    frame: Frame
    room: Room
    cradle: Cradle

    def __post_init__(self) -> None:
        self._refuse_coupling()
        if isinstance(
            self.load, RackLoad
        ):  # each stroke ends with a stop and the next one reverses
            service, load = self.service, self.load
            starts = max(service.starts_per_hour, load.strokes_per_hour)
            both = service.loads_both_flanks or load.reverses
            given = replace(service, starts_per_hour=starts, loads_both_flanks=both)
            object.__setattr__(self, "service", given)

    def _refuse_coupling(self) -> None:
        """Refuse a coupling, or a cradle, that the drive has no use for."""
        asked, drive = self.shafts.coupling, self.drive
        names = OF_DRILL if drive.has_chuck else OF_MOTOR if drive.shaft else ()
        if asked is not None and asked not in names:
            way = "leave it out, or give shaft_diameter under [drive]"
            if names:
                way = f"write {one_of(names)}"
            elif drive.fixed_by is not None:
                way = f"leave it out: the {drive.fixed_by[0]} is fixed to the rod as a gear is"
            raise GearworkError(
                f"coupling is {shown(asked)}, which this drive does not have: under [shafts] {way}"
            )
        if self.cradle.body_diameter and drive.fixed_by is not None:
            raise GearworkError(
                f"body_diameter of the cradle is {self.cradle.body_diameter:g} mm: a cradle holds a"
                f" drill or a motor, and the drive is a {drive.fixed_by[0]}; leave out [cradle]"
            )

    @property
    def reserve(self) -> float:
        """Share by which what is chosen must bear more than it has to."""
        return 0.0

    @property
    def thinned(self) -> Self:
        """The same with the sheet of its gears as thin as it may turn out to be."""
        gears = replace(self.gears, sheet=self.gears.sheet.thinned)
        stages = tuple(
            replace(stage, face_width=gears.panel(stage.layers).thickness) for stage in self.stages
        )
        return replace(self, gears=gears, stages=stages)

    def written(self, way: Way) -> Self | None:
        """Return the same with a way out written into its design file; None where it is no file.

        Raises
        ------
        GearworkError
            If there is no such machine.
        """
        return None

    def duty(self, stages: int, losses: Sequence[float] = (TYPICAL_LOSS,)) -> Duty:
        """Return drive and load with so many stages; `losses`: H of each mesh, or typical ones."""
        friction = self.service.friction
        moving, starting = (
            float(mesh_efficiency(losses, mu)) for mu in (friction.moving, friction.starting)
        )
        return Duty(
            self.drive, self.load, stages, moving, starting_mesh_efficiency=starting,
            speed_band=self.service.speed_band,
        )  # fmt: skip

    @property
    def full_service(self) -> Service:
        """How the machine is used, with what the load says of the flanks."""
        both = self.service.loads_both_flanks or self.load.loads_both_flanks
        return replace(self.service, loads_both_flanks=both)

    @property
    def rack(self) -> Stage | None:
        """The pinion on the output shaft with its rack, where the train ends in one."""
        return self.load.stage if isinstance(self.load, RackLoad) else None

    @property
    def cut_stages(self) -> tuple[Stage, ...]:
        """The pairs of gears to cut, a rack with its pinion the last."""
        return (*self.stages, *([self.rack] if self.rack else []))
