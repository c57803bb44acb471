"""The design file (TOML): what must move, what turns it, what there is to build it from."""

import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import wraps
from importlib import resources
from inspect import Parameter, signature
from os import PathLike
from pathlib import Path
from typing import Any

from gearwork.checks.tooth.load_case import Service
from gearwork.choosing.space import SearchSpace, Weights, Wishes
from gearwork.errors import GearworkError, shown
from gearwork.machine.brief import (
    Brief,
    Cutting,
    Drawing,
    FrameWishes,
    GivenStage,
    Room,
    Shafts,
    SheetWishes,
    StockSheet,
    Tolerances,
)
from gearwork.machine.drive import GivenDrive, HandCrank, Motor, cordless_drill
from gearwork.machine.load import GivenLoad, RopeDrum
from gearwork.machine.readings import TrialReadings
from gearwork.machine.vehicle import Vehicle
from gearwork.spec.reader import Reader
from gearwork.stock.bit import Bit
from gearwork.stock.surface import surface

EXAMPLES = ("orchard-hauler", "orchard-cart", "cider-mill")

FOUND = "# Found by the search; delete these stages to search again."


@dataclass(frozen=True)
class DesignFile(Brief):
    """Everything a design file says: what is asked, and what a search may choose.

    The attributes of `Brief`, and:

    Attributes
    ----------
    wishes : Wishes
        What the search may choose from.
    weights : Weights
        What counts how much where the search ranks trains.
    """

    wishes: Wishes
    weights: Weights

    def given(self, stages: Iterable[GivenStage]) -> "DesignFile":
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
LARGEST_FILE, LONGEST_TITLE, MOST_GIVEN = 100_000, 100, 6

TABLES = (
    "title", "drive", "load", "sheet", "bit", "stock", "shafts", "frame", "service",
    "tolerance", "cutting", "drawing", "test_piece", "room", "wishes", "weights", "stage",
)  # fmt: skip


def read_brief(path: str | PathLike[str]) -> DesignFile:
    """Read a design file.

    Parameters
    ----------
    path : path
        Of a TOML file.

    Returns
    -------
    DesignFile
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
        with open(source, encoding="utf-8") as file:
            text = file.read(LARGEST_FILE + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "it is no text in UTF-8"
        raise GearworkError(f"cannot read the design file {source}: {reason}") from None
    return parse_brief(text, str(source))


def example_brief(name: str = EXAMPLES[0]) -> DesignFile:
    """Return one of the designs that come with gearwork.

    Parameters
    ----------
    name : str
        "orchard-hauler", "orchard-cart" or "cider-mill".

    Returns
    -------
    DesignFile
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
    return (resources.files("gearwork.spec") / "examples" / f"{name}.toml").read_text("utf-8")


def parse_brief(text: str, source: str) -> DesignFile:
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
    reader = Reader()
    reader.check_keys("", tables, list(TABLES))
    for name in ("drive", "load", "sheet", "bit"):
        if name not in tables:
            reader.faults.append(f"[{name}] is missing")
    title = tables.get("title", "unnamed machine")
    if not isinstance(title, str):
        reader.faults.append(f"title is {shown(title)}: a text is needed")
    elif len(title) > LONGEST_TITLE:
        reader.faults.append(f"title has {len(title)} letters: at most {LONGEST_TITLE} do")
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
        "tolerance": reader.make("tolerance", tables.get("tolerance", {}), Tolerances),
        "cutting": reader.make("cutting", tables.get("cutting", {}), Cutting),
        "drawing": reader.make("drawing", tables.get("drawing", {}), Drawing),
    }
    readings = tables.get("test_piece")
    if readings is not None:
        readings = reader.make("test_piece", readings, TrialReadings)
    made["test_piece"] = readings
    stages = tables.get("stage", [])
    if not isinstance(stages, list) or tables.get("stage") == []:
        reader.faults.append(
            "[stage] is no list of stages: write [[stage]] for each, or leave all out to have them"
            " searched"
        )
        stages = []
    if len(stages) > MOST_GIVEN:
        reader.faults.append(f"there are {len(stages)} stages: at most {MOST_GIVEN} are possible")
    chosen = [
        reader.make(f"stage {i}", stage, GivenStage)
        for i, stage in enumerate(stages[:MOST_GIVEN], 1)
    ]
    brief = DesignFile(title=title, stages=tuple(chosen), text=text, **made)
    if not reader.faults:
        reader.attempt("wishes", lambda: brief.space)
    reader.finish(source)
    return brief
