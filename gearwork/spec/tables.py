"""GivenStage: one stage of a train as a design file chooses it.

What a design file says there is to build from: sheets, rods and bearings, plates.
What a design file says of the workshop: how exactly it works, and how it cuts.
Caliper readings of a test piece, as a design file gives them.
"""

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields
from itertools import cycle, islice
from typing import Literal

import numpy as np

from gearwork.checks.tolerance import ACCEPTED, Scatter
from gearwork.choosing.space import MOST_LAYERS
from gearwork.errors import GearworkError, number, whole_number
from gearwork.geometry.features import Windows
from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import GearPair
from gearwork.geometry.toolpath import Tabs
from gearwork.numbers import round_up
from gearwork.stock.hardware import Bearing, Rod, bearing, rod
from gearwork.stock.laminate import Panel, Stack
from gearwork.stock.plywood import Plywood, plywood, plywood_from_strengths


@dataclass(frozen=True)
class GivenStage:
    """One stage chosen by hand.

    Attributes
    ----------
    module : float
        mm.
    pinion_teeth, wheel_teeth : int
        Tooth counts.
    pinion_shift, wheel_shift : float
        Profile shifts, coefficients of the module.
    pressure_angle : float
        Degrees.
    thinning : float
        Of each tooth, for backlash, mm.
    layers : int
        Sheets glued to one gear.
    centre_distance : float, optional
        mm; default without backlash beyond the thinning.
    windows : Windows, optional
        Lightening windows of the wheel; a table within the stage's.
    """

    module: float
    pinion_teeth: int
    wheel_teeth: int
    pinion_shift: float = 0.0
    wheel_shift: float = 0.0
    pressure_angle: float = 20.0
    thinning: float = 0.0
    layers: int = 1
    centre_distance: float | None = None
    windows: Windows | None = None

    def __post_init__(self) -> None:
        whole_number("layers", self.layers, at_least=1, at_most=MOST_LAYERS)
        _ = self.pair

    @property
    def toml(self) -> str:
        """The stage as a table of the design file; what is as by default is left out."""
        said = [f for f in fields(self) if getattr(self, f.name) != f.default]
        keys = (f"{f.name} = {_toml(getattr(self, f.name))}" for f in said)
        return "\n".join(["[[stage]]", *keys, ""])

    @property
    def pair(self) -> GearPair:
        """The two gears in mesh."""
        pinion, wheel = (
            Gear(self.module, teeth, shift, self.pressure_angle, thinning=self.thinning)
            for teeth, shift in (
                (self.pinion_teeth, self.pinion_shift),
                (self.wheel_teeth, self.wheel_shift),
            )
        )
        return GearPair(pinion, wheel, self.centre_distance)


def _toml(value: float | Windows) -> str:
    if isinstance(value, Windows):
        return f"{{ {', '.join(f'{k} = {v!r}' for k, v in asdict(value).items())} }}"
    return repr(value)


@dataclass(frozen=True)
class StockSheet:
    """A sheet as bought: width along the face grain, height across it, mm."""

    width: float = 1200.0
    height: float = 600.0
    margin: float = 10.0

    def __post_init__(self) -> None:
        for name in ("width", "height"):
            number(f"stock {name}", getattr(self, name), unit="mm", above=0.0, at_most=10_000.0)
        number("stock margin", self.margin, unit="mm", at_least=0.0, at_most=200.0)


@dataclass(frozen=True)
class Shafts:
    """Rods and bearings, the same for every shaft.

    Attributes
    ----------
    rod : Rod
        Thread and property class.
    bearing : Bearing
        In both plates.
    free_end : float
        Length of rod that sticks out for drive and load, mm.
    """

    rod: Rod
    bearing: Bearing
    free_end: float

    @classmethod
    def read(
        cls,
        thread: str = "M10",
        grade: str = "8.8",
        bearing_name: str = "6000",
        free_end: float = 40.0,
    ) -> "Shafts":
        """Make it from the names of standard parts."""
        return cls(
            rod(thread, grade=grade),
            bearing(bearing_name),
            number("free end of the rod", free_end, unit="mm", at_least=0.0, at_most=1000.0),
        )


@dataclass(frozen=True)
class FrameWishes:
    """The side plates and how the shafts stand.

    Attributes
    ----------
    plate_thickness : float
        Nominal thickness of the plates, of the same kind of sheet as the gears, mm.
    arrangement : {"folded", "in line"}
        How the shafts stand.
    clearance : float
        Room between things that turn past each other, mm.
    fit : float
        By how much a bearing seat is cut larger than the bearing, mm.
    seat_depth : float, optional
        Of the seats, pockets in the inner faces of the plates, mm; default: through.
    output_height : float, optional
        Of the output shaft above the ground or the edge of the frame, mm.
    ground_clearance : float
        Least height of any gear above the ground or that edge, mm.
    """

    plate_thickness: float = 12.0
    arrangement: Literal["folded", "in line"] = "folded"
    clearance: float = 3.0
    fit: float = 0.1
    seat_depth: float | None = None
    output_height: float | None = None
    ground_clearance: float = 10.0

    def __post_init__(self) -> None:
        for name in ("clearance", "ground_clearance"):
            number(name.replace("_", " "), getattr(self, name), unit="mm", at_least=0.0)
        number("fit of the bearing seats", self.fit, unit="mm", at_least=-1.0, at_most=5.0)


@dataclass(frozen=True)
class SheetWishes:
    """The sheet the gears are cut from, and how layers of it are turned."""

    sheet: Plywood
    layer_angles: tuple[float, ...]
    wood: str | None = None

    @classmethod
    def of_kind(
        cls,
        wood: str = "birch",
        thickness: float = 12.0,
        measured_thickness: float | None = None,
        layer_angles: tuple[float, ...] = (0.0, 45.0),
    ) -> "SheetWishes":
        """Take a sheet of the tables, by wood and nominal thickness."""
        sheet = plywood(wood, thickness)
        if measured_thickness is not None:
            sheet = sheet.measured(measured_thickness)
        return cls(sheet, layer_angles, wood)

    @classmethod
    def declared(
        cls,
        name: str,
        thickness: float,
        tension: tuple[float, ...],
        compression: tuple[float, ...],
        panel_shear: float,
        modulus: tuple[float, ...],
        shear_modulus: float,
        density: float,
        layer_angles: tuple[float, ...] = (0.0, 45.0),
    ) -> "SheetWishes":
        """Take a sheet by the figures of its declaration of performance."""
        for what, pair in (
            ("tension", tension),
            ("compression", compression),
            ("modulus", modulus),
        ):
            if len(pair) != 2:
                raise GearworkError(f"{what} is {pair}: two numbers, along and across, are needed")
        sheet = plywood_from_strengths(
            name,
            thickness,
            tension=(tension[0], tension[1]),
            compression=(compression[0], compression[1]),
            panel_shear=panel_shear,
            modulus=(modulus[0], modulus[1]),
            shear_modulus=shear_modulus,
            density=density,
        )
        return cls(sheet, layer_angles)

    def plate(self, thickness: float) -> Plywood:
        """Return the sheet of the side plates: of the same wood, by nominal thickness.

        A declared sheet serves for the plates as well.
        """
        return plywood(self.wood, thickness) if self.wood else self.sheet

    def panel(self, layers: int) -> Panel:
        """Return a gear's worth of layers, each turned by the next of the angles."""
        count = whole_number("layers", layers, at_least=1, at_most=MOST_LAYERS)
        if count == 1:
            return self.sheet
        return Stack(self.sheet, tuple(islice(cycle(self.layer_angles or (0.0,)), count)))


FEWEST_SAMPLES, FEWEST_BAD = 20_000, 20


@dataclass(frozen=True)
class Tolerances(Scatter):
    """How far the workshop misses what is drawn, and which chance of a bad mesh is put up with.

    The attributes of `Scatter`, and:

    Attributes
    ----------
    accepted_chance : float
        Chance that a pair binds, and chance that it loses overlap, to put up with.

    Raises
    ------
    GearworkError
        If a figure cannot be.
    """

    accepted_chance: float = ACCEPTED

    def __post_init__(self) -> None:
        super().__post_init__()
        number("accepted chance", self.accepted_chance, at_least=0.0001, at_most=0.5)

    @property
    def edge_tolerance(self) -> float:
        """How far an edge may lie from its line, mm: three standard deviations, at least 0.01.

        Of 1000 edges 3 lie farther off and are cut again.
        """
        return max(round_up(3 * math.hypot(self.cutting_error, self.bit_diameter / 2), 2), 0.01)

    @property
    def samples(self) -> int:
        """How many pairs to sample: at the accepted chance, at least 20 of them are bad.

        The chance is then known to about a quarter of itself; at the default, where 200 are bad,
        to a fourteenth.
        """
        return max(FEWEST_SAMPLES, math.ceil(FEWEST_BAD / self.accepted_chance))


@dataclass(frozen=True)
class Cutting:
    """How the parts are cut where no program makes the paths.

    Attributes
    ----------
    bit_paths : bool
        Whether to write files of the path of the bit's centre.
    tabs : int
        How many bridges hold a piece at its outer edge; 0: none.
    tab_width : float
        Of each, mm.
    tab_height : float
        Of each, above the underside of the sheet, mm.

    Raises
    ------
    GearworkError
        If a figure cannot be.
    """

    bit_paths: bool = False
    tabs: int = Tabs.count
    tab_width: float = Tabs.width
    tab_height: float = Tabs.height

    def __post_init__(self) -> None:
        whole_number("tabs", self.tabs, at_least=0, at_most=50)
        Tabs(max(self.tabs, 1), self.tab_width, self.tab_height)

    @property
    def bridges(self) -> Tabs | None:
        """The tabs to leave, None for none."""
        return Tabs(self.tabs, self.tab_width, self.tab_height) if self.tabs else None


Pins = tuple[float | None, float | None]

MOST_READINGS = 50

MEASURED = (
    "slot", "hole", "pinion_bar", "pinion_span", "pinion_pin", "wheel_bar", "wheel_span",
    "wheel_pin",
)  # fmt: skip


@dataclass(frozen=True)
class Readings:
    """Caliper readings of a test piece, mm.

    Attributes
    ----------
    slot, hole, pinion_bar, pinion_span, pinion_pin, wheel_bar, wheel_span, wheel_pin : sequence
        One reading or several of each; `Coupon.instructions` says how to take them. What was
        not measured is left out.
    pinion_pin_diameter, wheel_pin_diameter : float, optional
        Of the pin laid in the space, as measured; None: its nominal size.
    caliper_error : float
        The caliper's greatest error, mm, to either side; the default is usual for a digital
        one (ISO 13385-1, from memory).

    Raises
    ------
    GearworkError
        If a reading is no number above 0, or there is none at all.

    Examples
    --------
    >>> Readings(slot=[3.06, 3.04, 3.06], pinion_span=23.01).pinion_span
    (23.01,)
    """

    slot: float | Sequence[float] = ()
    hole: float | Sequence[float] = ()
    pinion_bar: float | Sequence[float] = ()
    pinion_span: float | Sequence[float] = ()
    pinion_pin: float | Sequence[float] = ()
    wheel_bar: float | Sequence[float] = ()
    wheel_span: float | Sequence[float] = ()
    wheel_pin: float | Sequence[float] = ()
    pinion_pin_diameter: float | None = None
    wheel_pin_diameter: float | None = None
    caliper_error: float = 0.03

    def __post_init__(self) -> None:
        number("caliper error", self.caliper_error, unit="mm", above=0.0, at_most=0.5)
        for name, pin in zip(("pinion pin", "wheel pin"), self.pins, strict=True):
            if pin is not None:
                number(f"diameter of the {name}", pin, unit="mm", above=0.0)
        for name in MEASURED:
            object.__setattr__(self, name, _several(reading_name(name), getattr(self, name)))
        if not self.taken:
            raise GearworkError("no reading is given: measure the test piece, the slot first")

    @property
    def taken(self) -> dict[str, tuple[float, ...]]:
        """The readings by name, without what was not measured."""
        return {name: getattr(self, name) for name in MEASURED if getattr(self, name)}

    @property
    def pins(self) -> Pins:
        """Diameters of the pins in the pinion's and the wheel's piece, mm, where measured."""
        return self.pinion_pin_diameter, self.wheel_pin_diameter


@dataclass(frozen=True)
class TrialReadings(Readings):
    """Readings and what the test piece was cut for.

    The attributes of `Readings`, and:

    Attributes
    ----------
    told_diameter : float, optional
        Bit diameter the path was made for when the test piece was cut, mm; default: the nominal
        one.
    """

    told_diameter: float | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.told_diameter is not None:
            number("told diameter", self.told_diameter, unit="mm", at_least=0.5, at_most=25.0)


def _several(name: str, given: object) -> tuple[float, ...]:
    """One reading or several as a tuple of numbers."""
    several = list(given) if isinstance(given, list | tuple | np.ndarray) else [given]
    if len(several) > MOST_READINGS:
        raise GearworkError(
            f"{name} has {len(several)} readings: at most {MOST_READINGS} are taken, five will do"
        )
    return tuple(number(name, reading, unit="mm", above=0.0) for reading in several)


def reading_name(name: str) -> str:
    """Return the name of a reading as the user knows it, e.g. "size over the pinion pin"."""
    what = name.replace("_", " ")
    return f"size over the {what}" if name.endswith("pin") else what
