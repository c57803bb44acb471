"""Tables of a design file, read by the signatures of what they make.

The keys of a table are the parameters of the class or function it describes, so that the file
and the library speak the same names and a default stands in one place.
"""

import inspect
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, is_dataclass
from difflib import get_close_matches
from functools import cache
from itertools import islice
from types import NoneType
from typing import Any, Literal, get_args, get_origin

from gearwork.errors import Bound, GearworkError, check_value, kinds_of, one_of, shown

Maker = Callable[..., Any]

_MAX_TOLD = 20
_LONGEST_TEXT, _LONGEST_LIST = 200, 100


@dataclass
class Reader:
    """Makes things from tables and collects every fault, one sentence each, on the way."""

    faults: list[str] = field(default_factory=list)

    def make(self, place: str, table: object, maker: Maker, *first: Any) -> Any:
        """Return what `maker` makes of a table, or None and a fault for each mistake.

        `first` goes before what the table says; where any of it is None, a fault was found
        before, and of this table only keys and types are judged.
        """
        if not isinstance(table, Mapping):
            self.faults.append(f"[{place}] is {shown(table)}: a table of keys is needed")
            return None
        before = len(self.faults)
        parameters = dict(islice(_parameters(maker).items(), len(first), None))
        self.check_keys(place, table, list(parameters))
        given = {}
        for name, parameter in parameters.items():
            inner = described(parameter.annotation)
            if name in table and inner and isinstance(table[name], Mapping):
                given[name] = self.make(f"{place} {name}", table[name], inner)
            elif name in table:
                self._check_type(f"[{place}] {name}", table[name], parameter.annotation)
                given[name] = _frozen(table[name])
            elif parameter.default is inspect.Parameter.empty:
                self.faults.append(f"[{place}] {name} is missing: {expected(parameter.annotation)}")
        if len(self.faults) > before or any(value is None for value in first):
            return None
        try:
            return maker(*first, **given)
        except GearworkError as error:
            self.faults.append(f"[{place}] {error}")
            return None

    def choose(
        self, place: str, table: object, makers: Mapping[str, Maker], *first: Any, usual: str = ""
    ) -> Any:
        """Return what the maker named by the table's `kind` makes of the rest of it.

        `first`: as for `make`; `usual`: the kind where none is named.
        """
        if not isinstance(table, Mapping):
            return self.make(place, table, next(iter(makers.values())))
        kind = table.get("kind", usual) if usual else table.get("kind")
        if not isinstance(kind, str) or kind not in makers:
            self.faults.append(
                f"[{place}] kind is {shown(kind)}: {one_of(makers)} is needed"
                f"{_nearest(kind, makers)}"
                if "kind" in table
                else f"[{place}] kind is missing: {one_of(makers)} is needed"
            )
            return None
        rest = {name: value for name, value in table.items() if name != "kind"}
        return self.make(place, rest, makers[kind], *first)

    def check_keys(self, place: str, table: Mapping[str, Any], known: list[str]) -> None:
        """Note a fault for each key that is not known, with the nearest one that is."""
        renamed = {name: now for name in table if (now := _now_called(name)) in known}
        for name, now in renamed.items():
            self.faults.append(f"[{place}] {name} is called {now} now")
        unknown = [shown(name)[1:-1] for name in table if name not in known and name not in renamed]
        for name in unknown[:_MAX_TOLD]:
            where = f"[{place}] {name}" if place else f"[{name}]"
            what = "key" if place else "table"
            self.faults.append(
                f"{where}: no such {what}{_nearest(name, known)}; there are {', '.join(known)}"
            )

    def finish(self, source: str) -> None:
        """Raise one error that lists every fault, if there are any."""
        if self.faults:
            count = len(self.faults)
            head = f"{source}: {count} mistake{'s' if count > 1 else ''}"
            told = [f"- {fault}" for fault in self.faults[:_MAX_TOLD]]
            rest = [f"- and {count - _MAX_TOLD} more"] if count > _MAX_TOLD else []
            raise GearworkError("\n".join([head, *told, *rest]))

    def _check_type(self, where: str, value: object, annotation: Any) -> None:
        if not _fits(value, annotation):
            choices = [c for kind in kinds_of(annotation)[0] for c in _choices(kind)]
            near = _nearest(value, choices)
            self.faults.append(f"{where} is {shown(value)}: {expected(annotation)}{near}")
        elif isinstance(value, str) and len(value) > _LONGEST_TEXT:
            self.faults.append(f"{where} has {len(value)} letters: at most {_LONGEST_TEXT} do")
        elif isinstance(value, list) and len(value) > _LONGEST_LIST:
            self.faults.append(f"{where} has {len(value)} entries: at most {_LONGEST_LIST} do")
        else:
            try:
                check_value(where, value, annotation)
            except GearworkError as error:
                self.faults.append(str(error))


_RENAMED = {
    "shove": "peak_force",
    "pace": "cadence",
    "told_diameter": "programmed_diameter",
}
_RENAMED_START = {"greatest": "max", "most": "max", "least": "min", "fewest": "min"}


def _now_called(name: object) -> str:
    """What a key of an earlier version is called now; empty for any other."""
    start, _, rest = str(name).partition("_")
    now = f"{_RENAMED_START[start]}_{rest}" if start in _RENAMED_START else ""
    return _RENAMED.get(str(name), now)


@cache
def _parameters(maker: Maker) -> Mapping[str, inspect.Parameter]:
    return inspect.signature(maker).parameters


def described(annotation: Any) -> Maker | None:
    """Return the class that a table within a table describes, if it does."""
    kinds = (kind for kind in kinds_of(annotation)[0] if isinstance(kind, type))
    return next((kind for kind in kinds if is_dataclass(kind)), None)


def _choices(kind: Any) -> tuple[Any, ...]:
    return get_args(kind) if get_origin(kind) is Literal else ()


def _fits(value: object, annotation: Any) -> bool:
    return any(_fits_one(value, kind) for kind in kinds_of(annotation)[0])


def _fits_one(value: object, kind: Any) -> bool:
    origin = get_origin(kind)
    if origin is Literal:
        return value in get_args(kind)
    if origin in (tuple, list, Sequence):
        inner = get_args(kind)
        return isinstance(value, list) and all(_fits(item, inner[0]) for item in value)
    if kind is float:
        return isinstance(value, int | float) and not isinstance(value, bool)
    if kind is int:
        return isinstance(value, int) and not isinstance(value, bool)
    return kind is Any or isinstance(value, kind)


_WORDS = {float: "a number", int: "a whole number", bool: "true or false", str: "a text"}


def expected(annotation: Any) -> str:
    """Return what a key takes, in words."""
    kinds, bound = kinds_of(annotation)
    told = [_expected_one(kind, bound) for kind in kinds if kind is not NoneType]
    return f"{' or '.join(told)} is needed"


def _expected_one(kind: Any, bound: Bound | None) -> str:
    origin = get_origin(kind)
    if origin is Literal:
        return one_of(get_args(kind))
    if origin in (tuple, list, Sequence):
        if bound and bound.entries:
            return bound.listed
        return f"a list, each {_expected_one(get_args(kind)[0], None)},"
    return _WORDS.get(kind, "a table")


def _nearest(name: object, known: Any) -> str:
    near = get_close_matches(shown(name).strip("'"), [str(k) for k in known], n=1, cutoff=0.5)
    return f" (nearest: {near[0]})" if near else ""


def _frozen(value: Any) -> Any:
    return tuple(_frozen(item) for item in value) if isinstance(value, list) else value
