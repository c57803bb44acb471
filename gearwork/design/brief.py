"""The design file (TOML): what must move, what turns it, what there is to build it from."""

import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import wraps
from importlib import resources
from inspect import Parameter, signature
from itertools import cycle, islice
from os import PathLike
from pathlib import Path
from typing import Any, Literal

from gearwork.checks.load_case import Service
from gearwork.design.drive import Drive, GivenDrive, HandCrank, Motor, cordless_drill
from gearwork.design.given_stage import GivenStage
from gearwork.design.load import GivenLoad, Load
from gearwork.design.rope_drum import RopeDrum
from gearwork.design.schema import Reader
from gearwork.design.search_space import SearchSpace, Weights
from gearwork.design.surface import surface
from gearwork.design.vehicle import Vehicle
from gearwork.design.wishes import MOST_LAYERS, Room, Wishes
from gearwork.errors import GearworkError, number, whole_number
from gearwork.stock.bit import Bit
from gearwork.stock.declared import plywood_from_strengths
from gearwork.stock.hardware import Bearing, Rod, bearing, rod
from gearwork.stock.laminate import Panel, Stack
from gearwork.stock.plywood import Plywood, plywood

EXAMPLES = ("orchard-hauler", "orchard-cart", "cider-mill")

FOUND = "# Found by the search; delete these stages to search again."


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
    output_height : float, optional
        Of the output shaft above the ground or the edge of the frame, mm.
    ground_clearance : float
        Least height of any gear above the ground or that edge, mm.
    """

    plate_thickness: float = 12.0
    arrangement: Literal["folded", "in line"] = "folded"
    clearance: float = 3.0
    fit: float = 0.1
    output_height: float | None = None
    ground_clearance: float = 10.0


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


@dataclass(frozen=True)
class Brief:
    """Everything a design file says.

    Attributes
    ----------
    title : str
        Of the machine.
    drive, load : Drive, Load
        What turns it and what it moves.
    gears : SheetWishes
        Sheet of the gears.
    bit : Bit
        What cuts it.
    stock : StockSheet
        Size of the sheets as bought.
    shafts : Shafts
        Rods and bearings.
    frame : FrameWishes
        Plates and arrangement.
    service : Service
        How the machine is used.
    stages : tuple of GivenStage
        The pairs of gears, the drive's first; none: to be searched.
    room : Room
        That there is for the gears.
    wishes : Wishes
        What the search may choose from.
    weights : Weights
        What counts how much where the search ranks trains.
    text : str
        The design file itself.
    """

    title: str
    drive: Drive
    load: Load
    gears: SheetWishes
    bit: Bit
    stock: StockSheet
    shafts: Shafts
    frame: FrameWishes
    service: Service
    stages: tuple[GivenStage, ...]
    room: Room
    wishes: Wishes
    weights: Weights
    text: str

    @property
    def full_service(self) -> Service:
        """How the machine is used, with what the load says of the flanks."""
        both = self.service.loads_both_flanks or self.load.loads_both_flanks
        return replace(self.service, loads_both_flanks=both)

    def given(self, stages: Iterable[GivenStage]) -> "Brief":
        """Return the brief with these stages in the place of a search, in its text too."""
        chosen = tuple(stages)
        tables = "\n".join(stage.toml for stage in chosen)
        return replace(self, stages=chosen, text=f"{self.text.rstrip()}\n\n{FOUND}\n{tables}")

    @property
    def space(self) -> SearchSpace:
        """What the search may choose from: sheet and bit of the file, and its wishes."""
        layers = range(1, self.wishes.most_layers + 1)
        return self.wishes.space(self.bit, [self.gears.panel(count) for count in layers])


def on_surface(maker: Callable[..., Any]) -> Callable[..., Any]:
    """Let a load be given by the name of its ground instead of friction figures."""
    own = signature(maker).parameters
    looked_up = [n for n in ("rolling_resistance", "tyre_friction") if n in own]

    @wraps(maker)
    def make(**given: Any) -> Any:
        name = given.pop("surface", None)
        if name is not None:
            ground = surface(name)
            for figure in looked_up:
                given.setdefault(figure, getattr(ground, figure))
        missing = [figure for figure in looked_up if figure not in given]
        if missing:
            raise GearworkError(f"{missing[0]} is missing: give it, or name the surface")
        return maker(**given)

    optional = [
        p.replace(default=None, annotation=float, kind=Parameter.KEYWORD_ONLY)
        if p.name in looked_up
        else p.replace(kind=Parameter.KEYWORD_ONLY)
        for p in own.values()
    ]
    named = Parameter("surface", Parameter.KEYWORD_ONLY, default=None, annotation=str)
    make.__signature__ = signature(maker).replace(parameters=[named, *optional])  # type: ignore[attr-defined]
    return make


DRIVES: Mapping[str, Callable[..., Any]] = {
    "cordless drill": cordless_drill,
    "motor": Motor,
    "hand crank": HandCrank,
    "given": GivenDrive,
}
LOADS: Mapping[str, Callable[..., Any]] = {
    "rope drum": on_surface(RopeDrum),
    "vehicle": on_surface(Vehicle),
    "given": GivenLoad,
}
SHEETS: Mapping[str, Callable[..., Any]] = {
    "plywood": SheetWishes.of_kind,
    "declared": SheetWishes.declared,
}
TABLES = (
    "title", "drive", "load", "sheet", "bit", "stock", "shafts", "frame", "service",
    "room", "wishes", "weights", "stage",
)  # fmt: skip


def read_brief(path: str | PathLike[str]) -> Brief:
    """Read a design file.

    Parameters
    ----------
    path : path
        Of a TOML file.

    Returns
    -------
    Brief
        What `solve` takes.

    Raises
    ------
    GearworkError
        If it cannot be read; all mistakes in it are named at once.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder) / "my-machine.toml"
    ...     _ = path.write_text(example_text(), encoding="utf-8")
    ...     brief = read_brief(path)
    >>> brief == example_brief()
    True
    """
    source = Path(path)
    try:
        text = source.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is no text in UTF-8"
        raise GearworkError(f"cannot read the design file {source}: {reason}") from None
    return parse_brief(text, str(source))


def example_brief(name: str = EXAMPLES[0]) -> Brief:
    """Return one of the designs that come with gearwork.

    Parameters
    ----------
    name : str
        "orchard-hauler", "orchard-cart" or "cider-mill".

    Returns
    -------
    Brief
        What `solve` takes.

    Raises
    ------
    GearworkError
        If there is no example of that name.

    Examples
    --------
    >>> brief = example_brief()
    >>> brief.title, len(brief.stages), brief.bit.diameter
    ('Orchard crate hauler', 2, 3.175)
    """
    if name not in EXAMPLES:
        raise GearworkError(f"no example {name!r}; there are {', '.join(EXAMPLES)}")
    return parse_brief(example_text(name), f"{name}.toml")


def example_text(name: str = EXAMPLES[0]) -> str:
    """Return the text of one of the designs that come with gearwork."""
    return (resources.files("gearwork.design") / "examples" / f"{name}.toml").read_text("utf-8")


def parse_brief(text: str, source: str) -> Brief:
    """Return what the text of a design file says.

    Parameters
    ----------
    text : str
        TOML.
    source : str
        Name of the file, for errors.

    Raises
    ------
    GearworkError
        With every mistake in it.
    """
    try:
        tables = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise GearworkError(f"{source} is no valid TOML: {error or 'nested too deeply'}") from None
    reader = Reader()
    reader.check_keys("", tables, list(TABLES))
    for name in ("drive", "load", "sheet", "bit"):
        if name not in tables:
            reader.faults.append(f"[{name}] is missing")
    title = tables.get("title", "unnamed machine")
    if not isinstance(title, str):
        reader.faults.append(f"title is {title!r}: a text is needed")
    made = {
        "drive": reader.choose("drive", tables["drive"], DRIVES) if "drive" in tables else None,
        "load": reader.choose("load", tables["load"], LOADS) if "load" in tables else None,
        "gears": reader.choose("sheet", tables["sheet"], SHEETS) if "sheet" in tables else None,
        "bit": reader.make("bit", tables["bit"], Bit) if "bit" in tables else None,
        "stock": reader.make("stock", tables.get("stock", {}), StockSheet),
        "shafts": reader.make("shafts", tables.get("shafts", {}), Shafts.read),
        "frame": reader.make("frame", tables.get("frame", {}), FrameWishes),
        "service": reader.make("service", tables.get("service", {}), Service),
        "room": reader.make("room", tables.get("room", {}), Room),
        "wishes": reader.make("wishes", tables.get("wishes", {}), Wishes),
        "weights": reader.make("weights", tables.get("weights", {}), Weights),
    }
    stages = tables.get("stage", [])
    if not isinstance(stages, list) or tables.get("stage") == []:
        reader.faults.append(
            "[stage] is no list of stages: write [[stage]] for each, or leave all out to have them"
            " searched"
        )
        stages = []
    chosen = [reader.make(f"stage {i}", stage, GivenStage) for i, stage in enumerate(stages, 1)]
    brief = Brief(title=title, stages=tuple(chosen), text=text, **made)
    if not reader.faults:
        reader.attempt("wishes", lambda: brief.space)
    reader.finish(source)
    return brief
