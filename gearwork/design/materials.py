"""What a design file says there is to build from: sheets, rods and bearings, plates."""

from dataclasses import dataclass
from itertools import cycle, islice
from typing import Literal

from gearwork.design.wishes import MOST_LAYERS
from gearwork.errors import GearworkError, number, whole_number
from gearwork.stock.declared import plywood_from_strengths
from gearwork.stock.hardware import Bearing, Rod, bearing, rod
from gearwork.stock.laminate import Panel, Stack
from gearwork.stock.plywood import Plywood, plywood


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
