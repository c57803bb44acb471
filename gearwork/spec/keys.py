"""The reference of the design file: every table and key, made from what makes them."""

import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from inspect import Parameter, getdoc, getmro, isclass, signature
from itertools import islice
from typing import Any, Literal, get_args, get_origin

from gearwork.choosing.space import Limits, SearchSpace
from gearwork.errors import Bound, kinds_of, one_of
from gearwork.machine.break_test import broken_in
from gearwork.machine.brief import GearSheet, frame_of
from gearwork.machine.drive import GivenDrive, Motor, common_drive, cordless_drill
from gearwork.machine.frame import Frame
from gearwork.machine.slide import RackLoad
from gearwork.machine.stage import Stage
from gearwork.machine.testpiece import Readings
from gearwork.spec.reader import described
from gearwork.spec.spec import ALWAYS, DRIVES, LOADS, SHEETS, STAGES, search_wishes
from gearwork.stock.bit import Bit

Maker = Callable[..., Any]

_ALSO: dict[Maker, tuple[Maker, ...]] = {
    cordless_drill: (Motor,),
    common_drive: (cordless_drill, Motor),
    GivenDrive: (Motor,),
    frame_of: (Frame,),
    search_wishes: (SearchSpace, Limits),
    Stage.onward: (Stage.of_sheet,),
    SHEETS["declared"]: (GearSheet.of_kind,),
    SHEETS["layup"]: (GearSheet.of_kind,),
}
"""Whose docstrings tell of a key where that of the maker says "as of" another."""


@dataclass(frozen=True)
class Key:
    """One key of a table: what it takes and what it means.

    `default` is as a file writes it, empty where the key is needed, "none" where leaving it out
    says something that no value says; `limits` in words.
    """

    name: str
    unit: str
    default: str
    limits: str
    meaning: str
    annotation: Any


@dataclass(frozen=True)
class Table:
    """One table, and what kind of it where there are several."""

    name: str
    kind: str
    maker: Maker
    keys: tuple[Key, ...]

    @property
    def head(self) -> str:
        """Its first lines in a design file."""
        return f'[{self.name}]\nkind = "{self.kind}"' if self.kind else f"[{self.name}]"


def tables() -> Iterator[Table]:
    """Yield every table of a design file, in the order in which one is written."""
    for name, makers in (("drive", DRIVES), ("load", LOADS), ("sheet", SHEETS)):
        for kind, maker in makers.items():
            yield _table(name, maker, kind=kind, given=2 * (maker is RackLoad))
    yield _table("bit", Bit)
    for name, maker in ALWAYS.items():
        yield _table(name, maker)
    yield _table("frame", frame_of, given=3)
    yield _table("wishes", search_wishes, given=1)
    stage, behind = (_table("stage", make, kind=kind, given=1) for kind, make in STAGES.items())
    yield from (stage, behind)
    yield from (
        _table(f"stage.{key.name}", inner)
        for key in stage.keys
        if (inner := described(key.annotation))
    )
    yield _table("test_piece", Readings)
    yield _table("broken_teeth", broken_in, given=2)


def reference() -> str:
    r"""Return the reference of the design file as text.

    Returns
    -------
    str
        Every table and key with its default, unit, limits and meaning.

    Examples
    --------
    >>> print(reference().split("\n\n")[0])
    A design file is TOML. Each key stands with its default, or is needed.
    A table of which no key is needed may be left out.
    """
    told = [
        "A design file is TOML. Each key stands with its default, or is needed.\n"
        "A table of which no key is needed may be left out.",
        *("\n".join([table.head, *(_told(key) for key in table.keys)]) for table in tables()),
    ]
    return "\n\n".join(told)


def _told(key: Key) -> str:
    facts = ", ".join(fact for fact in (key.unit, key.limits) if fact)
    head = f"  {key.name} = {key.default}" if key.default else f"  {key.name}   needed"
    return f"{head:34}  {facts}".rstrip() + f"\n      {key.meaning}"


def _table(name: str, maker: Maker, *, kind: str = "", given: int = 0) -> Table:
    meanings = _meanings(maker)
    parameters = islice(signature(maker).parameters.values(), given, None)
    keys = tuple(_key(parameter, meanings.get(parameter.name, "")) for parameter in parameters)
    return Table(name, kind, maker, keys)


def _key(parameter: Parameter, meaning: str) -> Key:
    kinds, bound = kinds_of(parameter.annotation)
    default = "" if parameter.default is Parameter.empty else _toml(parameter.default)
    limits = [_limits(bound)] if bound else []
    for kind in kinds:
        listed = next(iter(get_args(kind)), None)
        if get_origin(kind) is Literal:
            limits.append(one_of(get_args(kind)))
        elif get_origin(listed) is Literal:
            limits.append(f"a list, each {one_of(get_args(listed))}")
    if bound and bound.entries:
        limits.insert(0, bound.listed)
    unit = bound.unit if bound else ""
    told = ", ".join(filter(None, limits))
    return Key(parameter.name, unit, default, told, meaning, parameter.annotation)


def _limits(bound: Bound) -> str:
    low, high = bound.at_least, bound.at_most
    if bound.above is not None:
        return f"above {bound.above:g}" + (f", at most {high:g}" if high is not None else "")
    if low is not None and high is not None:
        return f"{low:g} to {high:g}"
    return f"at least {low:g}" if low is not None else f"at most {high:g}" if high else ""


def _toml(value: Any) -> str:
    if value is None:
        return "none"
    return json.dumps(list(value) if isinstance(value, tuple) else value, ensure_ascii=False)


def _meanings(maker: Maker) -> dict[str, str]:
    """The first sentence on each parameter in the docstrings of a maker, by its name."""
    sources = [*(getmro(maker) if isclass(maker) else (maker,)), *_ALSO.get(maker, ())]
    found: dict[str, str] = {"surface": "Name of the ground, whose figures of friction are taken."}
    for source in sources:
        text = getdoc(source) or ""
        for names, told in re.findall(r"^([\w, ]+) : [^\n]+\n((?:    [^\n]+\n?)+)", text, re.M):
            sentence = re.split(r"\.\s+(?=[A-Z0])", " ".join(told.split()))[0].rstrip(".")
            for name in names.split(", "):
                found.setdefault(name, f"{sentence[0].upper()}{sentence[1:]}.")
    return found
