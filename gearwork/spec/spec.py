"""The design file (TOML): what must move, what turns it, what there is to build it from."""

import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import wraps
from importlib import resources
from inspect import Parameter, signature
from os import PathLike
from pathlib import Path
from typing import Annotated, Any, Self

from gearwork.checks.check import Way
from gearwork.checks.tooth.friction import FlankFriction
from gearwork.checks.tooth.load_case import Service
from gearwork.choosing.space import (
    Limits,
    Modules,
    Overlap,
    Ratios,
    Reserve,
    SearchSpace,
    Shares,
    Stages,
    Teeth,
    Weights,
)
from gearwork.errors import Bound, GearworkError, need, shown
from gearwork.geometry.gear import BOUNDS
from gearwork.geometry.rack import Rack
from gearwork.machine.break_test import broken_in
from gearwork.machine.brief import (
    Brief,
    Cutting,
    Drawing,
    GearBrief,
    GearSheet,
    Room,
    Shafts,
    StockSheet,
    Tolerances,
    edge_margin,
    frame_of,
)
from gearwork.machine.cradle import Cradle
from gearwork.machine.drive import GivenDrive, HandCrank, Motor, common_drive, cordless_drill
from gearwork.machine.load import GivenLoad, RopeDrum
from gearwork.machine.slide import RackLoad
from gearwork.machine.stage import LAYERS, NO_IDLER, Stage, with_idlers
from gearwork.machine.testpiece import Readings
from gearwork.machine.vehicle import Vehicle
from gearwork.spec.reader import Reader
from gearwork.stock.bit import Bit
from gearwork.stock.ground import surface
from gearwork.stock.plywood import Plywood, plywood_from_layup, plywood_from_strengths

EXAMPLES = (
    "orchard-hauler", "orchard-cart", "cider-mill", "drying-carousel", "apple-washer",
    "press-slide", "orchard-gate",
)  # fmt: skip

CHOICES = 4
"""Machines to choose from: as many as stand side by side."""

FOUND = "# Found by the search; delete these stages to search again."


@dataclass(frozen=True)
class Keep:
    """What is to stay as it is when a way out of a failing design is sought.

    Attributes
    ----------
    drive : bool
        Its clutch.
    gears : bool
        Stages that are given, and what a search may choose from; stages with an idler stay anyway.
    shafts : bool
        Rods and bearings.
    bit : bool
        Its diameter.
    sheet : bool
        Its thickness.
    room : bool
        How much there is.
    load : bool
        What is asked of the machine.
    """

    drive: bool = False
    gears: bool = False
    shafts: bool = False
    bit: bool = False
    sheet: bool = False
    room: bool = False
    load: bool = False


@dataclass(frozen=True)
class DesignFile(Brief):
    """Everything a design file says: what is asked, and what a search may choose.

    The attributes of `Brief`, and:

    Attributes
    ----------
    space : SearchSpace
        What the search may choose from.
    limits : Limits
        What it must keep to.
    weights : Weights
        What counts how much where it ranks trains.
    keep : Keep
        What a way out of a failing design must not change.
    choice : int
        Which of the machines to take that `choices` finds.
    """

    space: SearchSpace
    limits: Limits
    weights: Weights
    keep: Keep
    choice: int = 1

    @property
    def reserve(self) -> float:
        """Share by which what is chosen must bear more than it has to, as wished."""
        return self.limits.reserve

    @property
    def asked(self) -> str:
        """The text of the file without the stages that a search found."""
        return self.text.partition(FOUND)[0]

    def written(self, way: Way) -> Self:
        """Return what the file says with a way out written into it, its drill in the same gear."""
        tables = tomllib.loads(self.text)
        for name, value in way:
            *path, key = name.split(".")
            place = tables
            for step in path:
                named, _, number = step.partition(" ")
                place = place.setdefault(named, {})
                place = place[int(number or 1) - 1] if isinstance(place, list) else place
            place.pop(key, None)
            if value is not None:
                place[key] = value
        made = _brief_of(tables, self.text, "a remedy")
        assert isinstance(made, type(self))
        other = made.drive.other_gear if isinstance(made.drive, Motor) else None
        if other and isinstance(self.drive, Motor) and self.drive.gear == other.gear:
            return replace(made, drive=other)
        return made

    def given(self, stages: Iterable[Stage]) -> "DesignFile":
        """Return the file with these stages in the place of a search, in its text too."""
        chosen = tuple(stages)
        tables = "\n".join(stage.toml for stage in chosen)
        return replace(self, stages=chosen, text=f"{self.text.rstrip()}\n\n{FOUND}\n{tables}")


def search_wishes(
    brief: Mapping[str, Any],
    ratio: Ratios = None,
    stages: Stages = SearchSpace.stages,
    modules: Modules = SearchSpace.modules,
    pinion_teeth: Teeth = SearchSpace.pinion_teeth,
    wheel_teeth: Teeth = SearchSpace.wheel_teeth,
    pinion_shifts: Shares = SearchSpace.pinion_shifts,
    returned_shares: Shares = SearchSpace.returned_shares,
    pressure_angle: Annotated[float, BOUNDS["pressure_angle"]] = SearchSpace.pressure_angle,
    max_layers: Annotated[int, LAYERS] = 2,
    contact_ratio: Overlap = Limits.contact_ratio,
    coprime: bool = False,
    same_gears: bool = False,
    reserve: Reserve = 0.05,
    choice: Annotated[int, Bound(at_least=1, at_most=CHOICES)] = 1,
) -> tuple[SearchSpace, Limits, int]:
    """Return what a search may choose from and must keep to, and which machine is taken.

    Parameters
    ----------
    brief : mapping
        What the other tables say, by the names of the attributes of `Brief`.
    pressure_angle : float
        Of all gears, degrees.
    max_layers : int
        Sheets that may be glued together to one gear, at most.
    reserve : float
        Share by which gears, fixings, rods and bearings that are chosen must bear more than they
        have to; such a machine holds with the sheet at its thinnest as well. 0: neither.
    choice : int
        Which machine to take of those that `gearwork --choices` shows, 1 the best by what counts.
    """
    gears, stock, shafts = brief["gears"], brief["stock"], brief["shafts"]
    space = SearchSpace(
        brief["bit"],
        tuple(gears.panel(count) for count in range(1, max_layers + 1)),
        None,
        stages,
        modules,
        pinion_teeth,
        wheel_teeth,
        pinion_shifts,
        returned_shares,
        pressure_angle,
    )
    tried = len(space.teeth_pairs) * len(modules) * len(space.shift_pairs) * max_layers
    if tried > MAX_PAIRS:
        raise GearworkError(
            f"{tried} pairs of gears would have to be tried: at most {MAX_PAIRS} are; wish for"
            " fewer tooth counts, modules or profile shifts"
        )
    limits = Limits(
        **vars(brief["room"]),
        ratio=ratio,
        contact_ratio=contact_ratio,
        stock=stock.within(edge_margin(stock, brief["bit"], brief["cutting"])),
        coprime=coprime,
        same_gears=same_gears,
        rod=shafts.rod,
        fixing=shafts.fixing,
        coupling=shafts.coupling,
        bearing=shafts.bearing,
        cradle=brief["cradle"],
        frame=brief["frame"],
        parts=shafts.parts,
        overhangs=shafts.overhangs,
        tolerance=brief["tolerance"],
        reserve=reserve,
    )
    return space, limits, choice


def on_surface(maker: Callable[..., Any]) -> Callable[..., Any]:
    """Let a load be given by the name of its ground instead of friction figures."""
    own = signature(maker).parameters
    looked_up = [n for n in ("rolling_resistance", "tyre_friction", "max_friction") if n in own]

    @wraps(maker)
    def make(**given: Any) -> Any:
        name = given.pop("surface", None)
        if name is not None:
            ground = surface(name)
            for figure in looked_up:
                given.setdefault(figure, getattr(ground, figure))
        missing = [f for f in looked_up if f not in given and own[f].default is Parameter.empty]
        if missing:
            raise GearworkError(f"{missing[0]} is missing: give it, or name the surface")
        return maker(**given)

    optional = [
        p.replace(default=None, kind=Parameter.KEYWORD_ONLY)
        if p.name in looked_up
        else p.replace(kind=Parameter.KEYWORD_ONLY)
        for p in own.values()
    ]
    named = Parameter("surface", Parameter.KEYWORD_ONLY, default=None, annotation=str)
    make.__signature__ = signature(maker).replace(parameters=[named, *optional])  # type: ignore[attr-defined]
    return make


def gears_of(maker: Callable[..., Plywood]) -> Callable[..., GearSheet]:
    """Let a sheet be given by all that `maker` takes, with what every sheet for gears has."""
    every = ("measured_thickness", "layer_angles")

    @wraps(maker)
    def make(**given: Any) -> GearSheet:
        own = {name: value for name, value in given.items() if name not in every}
        sheet, measured = maker(**own), given.get("measured_thickness")
        angles = given.get("layer_angles", GearSheet.layer_angles)
        return GearSheet(sheet if measured is None else sheet.measured(measured), angles)

    shared = [signature(GearSheet.of_kind).parameters[name] for name in every]
    named = [*signature(maker).parameters.values(), *shared]
    named = [p.replace(kind=Parameter.KEYWORD_ONLY) for p in named]
    make.__signature__ = signature(maker).replace(parameters=named)  # type: ignore[attr-defined]
    return make


def without(maker: Callable[..., Any], *names: str) -> Callable[..., Any]:
    """Let a file say all that `maker` takes but these."""

    @wraps(maker)
    def make(**given: Any) -> Any:
        return maker(**given)

    own = signature(maker)
    kept = [p for p in own.parameters.values() if p.name not in names]
    make.__signature__ = own.replace(parameters=kept)  # type: ignore[attr-defined]
    return make


DRIVES: Mapping[str, Callable[..., Any]] = {
    "cordless drill": cordless_drill,
    "common": common_drive,
    "motor": without(Motor, "gear", "other_gear", "top_speed", "drill"),
    "hand crank": HandCrank,
    "given": GivenDrive,
}
LOADS: Mapping[str, Callable[..., Any]] = {
    "rope drum": on_surface(RopeDrum),
    "vehicle": on_surface(Vehicle),
    "rack": RackLoad,
    "given": GivenLoad,
}
SHEETS: Mapping[str, Callable[..., Any]] = {
    "plywood": GearSheet.of_kind,
    "declared": gears_of(plywood_from_strengths),
    "layup": gears_of(plywood_from_layup),
}
STAGES: Mapping[str, Callable[..., Any]] = {"pair": Stage.of_sheet, "idler": Stage.onward}
"""A stage is a pair of its own, or what an idler drives, the wheel of the stage before."""

ALWAYS: Mapping[str, Callable[..., Any]] = {
    "stock": StockSheet,
    "shafts": Shafts.of_names,
    "service": Service,
    "room": Room,
    "cradle": Cradle,
    "weights": Weights,
    "keep": Keep,
    "tolerance": Tolerances,
    "cutting": Cutting,
    "drawing": Drawing,
}
"""Tables that say nothing but defaults where they are left out."""

LARGEST_FILE, LONGEST_TITLE, MAX_GIVEN = 100_000, 100, 6

MAX_PAIRS = 1_000_000
"""Pairs that a design file may have tried: a minute or two."""

MACHINE = ("drive", "load", "shafts", "frame", "room", "cradle", "wishes", "weights",
           "keep")  # fmt: skip
"""Tables of a machine; a file that has stages and neither drive nor load is of gears alone."""

TABLES = (
    "title", "drive", "load", "sheet", "bit", "stock", "shafts", "frame", "service",
    "tolerance", "cutting", "drawing", "test_piece", "broken_teeth",
    "room", "cradle", "wishes", "weights", "keep", "stage",
)  # fmt: skip


def read_brief(path: str | PathLike[str]) -> GearBrief:
    """Read a design file.

    Parameters
    ----------
    path : path
        Of a TOML file.

    Returns
    -------
    GearBrief
        What `solve` takes: a `DesignFile`, or gears alone where there is no drive and no load.

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
    source = Path(need("design file", path, str | PathLike, "a path", '"my-machine.toml"'))
    try:
        with open(source, encoding="utf-8-sig") as file:
            text = file.read(LARGEST_FILE + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "it is no text in UTF-8"
        raise GearworkError(f"cannot read the design file {source}: {reason}") from None
    return parse_brief(text, str(source))


def example_brief(name: str = EXAMPLES[0]) -> GearBrief:
    """Return one of the designs that come with gearwork.

    Parameters
    ----------
    name : str
        "orchard-hauler", "orchard-cart", "cider-mill", "drying-carousel", "apple-washer",
        "press-slide" or "orchard-gate".

    Returns
    -------
    GearBrief
        What `solve` takes: a `DesignFile`, or gears alone where there is no drive and no load.

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
    return (resources.files("gearwork.spec") / "examples" / f"{name}.toml").read_text("utf-8")


def _named_by(source: str, what: str) -> str:
    """What a file calls its machine by its own name: "apple-washer.toml" is an "Apple washer"."""
    words = Path(source).stem.replace("-", " ").replace("_", " ")
    named = source.endswith(".toml") and 0 < len(words) <= LONGEST_TITLE
    return f"{words[0].upper()}{words[1:]}" if named else f"unnamed {what}"


def parse_brief(text: str, source: str) -> GearBrief:
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
    if len(text) > LARGEST_FILE:
        raise GearworkError(
            f"{source} has more than {LARGEST_FILE} letters: a design file takes 2000"
        )
    try:
        tables = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        reason = str(error)[:200] if isinstance(error, ValueError) else "nested too deeply"
        raise GearworkError(f"{source} is no valid TOML: {reason}") from None
    return _brief_of(tables, text, source)


def _brief_of(tables: dict[str, Any], text: str, source: str) -> GearBrief:
    """What the tables of a design file say."""
    reader = Reader()
    alone = "stage" in tables and not {"drive", "load"} & tables.keys()
    reader.check_keys("", tables, list(TABLES))
    for name in ("sheet", "bit") if alone else ("drive", "load", "sheet", "bit"):
        if name not in tables:
            reader.faults.append(f"[{name}] is missing")
    unnamed = _named_by(source, "gears" if alone else "machine")
    title = tables.get("title", unnamed)
    if not isinstance(title, str):
        reader.faults.append(f"title is {shown(title)}: a text is needed")
    elif len(title) > LONGEST_TITLE:
        reader.faults.append(f"title has {len(title)} letters: at most {LONGEST_TITLE} do")
    else:  # one line, and nothing that a terminal would take for a command
        letters = "".join(one if one.isprintable() else " " for one in title)
        title = " ".join(letters.split()) or unnamed
    made: dict[str, Any] = {
        "gears": reader.choose("sheet", tables["sheet"], SHEETS) if "sheet" in tables else None,
        "bit": reader.make("bit", tables["bit"], Bit) if "bit" in tables else None,
    }
    if "broken_teeth" in tables:
        made["gears"] = _tested(reader, tables["broken_teeth"], made["gears"])
    for name, maker in ALWAYS.items():
        if not (alone and name in MACHINE):
            made[name] = reader.make(name, tables.get(name, {}), maker)
    made["test_piece"] = None
    if "test_piece" in tables:
        made["test_piece"] = reader.make("test_piece", tables["test_piece"], Readings)
    stages = tables.get("stage", [])
    if not isinstance(stages, list) or tables.get("stage") == []:
        reader.faults.append(
            "[stage] is no list of stages: write [[stage]] for each, or leave all out to have them"
            " searched"
        )
        stages = []
    if len(stages) > MAX_GIVEN:
        reader.faults.append(f"there are {len(stages)} stages: at most {MAX_GIVEN} are possible")
    gears = made["gears"]
    sheet = gears and gears.sheet.thickness
    chosen = _stages(reader, stages[:MAX_GIVEN], sheet)
    if alone:
        for name in MACHINE:
            if name in tables:
                reader.faults.append(
                    f"[{name}] is of a machine, which has a [drive] and a [load] too: give them, or"
                    f" leave [{name}] out"
                )
        reader.finish(source)
        return GearBrief(title=title, stages=chosen, text=text, **made)
    racks = [stage for stage in chosen if stage and isinstance(stage.pair.wheel, Rack)]
    chosen = tuple(stage for stage in chosen if stage not in racks)
    driven = _on_rack(reader, tables.get("load"), racks, made["service"])
    for name, makers, first in (("drive", DRIVES, ()), ("load", LOADS, driven)):
        made[name] = reader.choose(name, tables[name], makers, *first) if name in tables else None
    frame = tables.get("frame", {})
    made["frame"] = reader.make("frame", frame, frame_of, gears, made["shafts"], made["load"])
    whole = None if reader.faults else made
    wished = reader.make("wishes", tables.get("wishes", {}), search_wishes, whole)
    reader.finish(source)
    made |= dict(zip(("space", "limits", "choice"), wished, strict=True))
    return DesignFile(title=title, stages=chosen, text=text, **made)


def _stages(reader: Reader, tables: list[Any], thickness: float | None) -> tuple[Any, ...]:
    """The stages, those behind an idler made from the one before; None where there is a fault."""
    made: list[Any] = []
    for number, table in enumerate(tables, 1):
        behind = isinstance(table, Mapping) and table.get("kind") == "idler"
        if behind and not made:
            reader.faults.append(f"[stage 1] {NO_IDLER}")
        first = (made[-1] if made else None) if behind else thickness
        made.append(reader.choose(f"stage {number}", table, STAGES, first, usual="pair"))
    return tuple(made) if None in made else with_idlers(made)


def _on_rack(
    reader: Reader, load: object, racks: list[Stage], service: Service | None
) -> tuple[Stage | None, FlankFriction | None] | tuple[()]:
    """What a load on a rack needs beside its keys: the one stage with a rack, whose friction."""
    wanted = isinstance(load, Mapping) and load.get("kind") == "rack"
    if racks and not wanted:
        reader.faults.append('[[stage]] has rack_teeth: give a [load] of kind = "rack" for it')
    if wanted and not racks and not reader.faults:
        reader.faults.append("[load] is on a rack: give the last [[stage]], with rack_teeth")
    if len(racks) > 1:
        reader.faults.append(f"{len(racks)} stages have rack_teeth: a machine has one rack")
    return (racks[0] if racks else None, service.friction if service else None) if wanted else ()


def _tested(reader: Reader, table: object, gears: GearSheet | None) -> GearSheet | None:
    """The sheet of the gears with what the table of broken teeth says of it."""
    place, said = "broken_teeth", table
    stage = None
    if isinstance(table, Mapping):
        said = {key: value for key, value in table.items() if key != "stage"}
        if "stage" not in table:
            reader.faults.append(f"[{place}.stage] is missing: the pair whose teeth were broken")
        else:
            thickness = gears and gears.sheet.thickness
            stage = reader.make(f"{place}.stage", table["stage"], Stage.of_sheet, thickness)
    sheet = reader.make(place, said, broken_in, gears and gears.sheet, stage)
    return gears and sheet and replace(gears, sheet=sheet)
