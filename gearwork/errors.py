"""The one exception gearwork raises on purpose, and the checks of plain input values."""

import math
from collections.abc import Callable, Sequence
from dataclasses import KW_ONLY, dataclass
from functools import cache
from numbers import Real
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

LARGEST = 1e12
"""No quantity of a machine on a workbench comes near it, in any unit used here."""

SMALLEST = 1e-12
"""What is less is 0 or a slip; further away from 1, products of a few numbers overflow."""

_LONGEST = 80


class GearworkError(ValueError):
    """Something that cannot be made, read or written.

    The text names the quantity, the value given, the limit and a way out.

    Examples
    --------
    >>> from gearwork import Gear
    >>> Gear(module=-5, teeth=20)
    Traceback (most recent call last):
    gearwork.errors.GearworkError: module is -5 mm: it must be above 0 mm
    """


class NoMachineError(GearworkError):
    """Of what is asked no machine can be made as it is, though each key of it is in order.

    Other gears may do, or other demands: of this error alone a way out is worth a search.
    """


def number(
    name: str,
    value: object,
    *,
    unit: str = "",
    at_least: float | None = None,
    at_most: float | None = None,
    above: float | None = None,
) -> float:
    """Return `value` as a float, or raise an error that says what is wrong with it.

    The name, as the user knows it, opens the error text, the unit goes with every number in it;
    bounds are inclusive but `above`. Refused too is what is no finite real number, or larger or
    smaller than anything here can be.
    """
    suffix = f" {unit}" if unit else ""
    # Mostly it is a float: to ask what kind of number something is takes long.
    if type(value) is not float and (isinstance(value, bool) or not isinstance(value, Real)):
        digits = isinstance(value, str) and value.replace(".", "", 1).isdecimal()
        quoted = ", without quotes" if digits else ""
        raise GearworkError(
            f"{name} is {shown(value)}: a number{' in' + suffix if unit else ''} is needed{quoted}"
        )
    size: Any = abs(value)
    if size != size or size == math.inf:
        raise GearworkError(
            f"{name} is {value}: a finite number{' in' + suffix if unit else ''} is needed"
        )
    if size > LARGEST:
        raise GearworkError(
            f"{name} is {shown(value)}{suffix}: numbers above {LARGEST:g} are not reckoned with;"
            " look at the unit"
        )
    result = float(value)
    if above is not None and result <= above:
        raise GearworkError(f"{name} is {result:g}{suffix}: it must be above {above:g}{suffix}")
    if at_least is not None and result < at_least:
        raise GearworkError(
            f"{name} is {result:g}{suffix}: it must be at least {at_least:g}{suffix}"
        )
    if at_most is not None and result > at_most:
        raise GearworkError(f"{name} is {result:g}{suffix}: it must be at most {at_most:g}{suffix}")
    if 0.0 in (above, at_least) and 0.0 < result < SMALLEST:
        zero = "" if above == 0.0 else "0 or "
        raise GearworkError(
            f"{name} is {result:g}{suffix}: it must be {zero}at least {SMALLEST:g}{suffix}"
        )
    return result


def need(caller: str, given: object, kinds: Any, what: str, way: str) -> Any:
    """Return a thing given, or refuse one of another kind, in the name of who was called.

    `what`: is needed, in words; `way`: how it is made.
    """
    if not isinstance(given, kinds):
        raise GearworkError(f"{caller} needs {what}, not {shown(given)}: {way}")
    return given


def whole_number(name: str, value: object, *, at_least: int, at_most: int | None = None) -> int:
    """Return `value` as an int, or raise an error that says what is wrong with it."""
    result = number(name, value, at_least=at_least, at_most=at_most)
    if result != int(result):
        raise GearworkError(
            f"{name} is {result:g}: a whole number is needed, {math.floor(result)} or"
            f" {math.ceil(result)}"
        )
    return int(result)


@dataclass(frozen=True)
class Bound:
    """What a quantity may be, said beside it: ``Annotated[float, Bound("mm", above=0.0)]``.

    Whoever makes a thing and whoever reads it from a file checks by this one declaration.
    `entries`: what the numbers of a list are, where there are so many and no more.
    """

    unit: str = ""
    _: KW_ONLY
    at_least: float | None = None
    at_most: float | None = None
    above: float | None = None
    entries: tuple[str, ...] = ()

    def number(self, name: str, value: object) -> float:
        """Return `value` as a float, or raise an error that says what is wrong with it."""
        return number(
            name, value, unit=self.unit, at_least=self.at_least, at_most=self.at_most,
            above=self.above,
        )  # fmt: skip

    def refuse_more(self, name: str, value: Sequence[Any]) -> None:
        """Refuse a list of more or fewer numbers than there are entries."""
        if self.entries and len(value) != len(self.entries):
            raise GearworkError(f"{name} is {shown(value)}: {self.listed} is needed, in this order")

    @property
    def listed(self) -> str:
        """What stands in a list, in words."""
        return f"[{', '.join(self.entries)}]"


@cache
def kinds_of(annotation: Any) -> tuple[tuple[Any, ...], Bound | None]:
    """Return what types an annotation allows, and the `Bound` beside them."""
    marks: list[Any] = []
    if get_origin(annotation) is Annotated:
        annotation, *marks = get_args(annotation)
    is_union = get_origin(annotation) in (Union, UnionType)
    kinds = get_args(annotation) if is_union else (annotation,)
    is_number = any(one in (float, int) for kind in kinds for one in (kind, *get_args(kind)))
    usual = Bound() if is_number else None
    return kinds, next((mark for mark in marks if isinstance(mark, Bound)), usual)


@cache
def _allowed(kinds: tuple[Any, ...]) -> tuple[tuple[Any, ...], bool, bool]:
    """Which words types allow, whether whole numbers alone, and whether a list of them."""
    choices = (choice for kind in kinds if get_origin(kind) is Literal for choice in get_args(kind))
    whole = any(int in (kind, *get_args(kind)) for kind in kinds)
    return tuple(choices), whole, any(get_args(kind) for kind in kinds)


def check_value(name: str, value: object, annotation: Any) -> None:
    """Refuse a value that the annotation of its quantity rules out; None is what is left out."""
    kinds, bound = kinds_of(annotation)
    choices, whole, listed = _allowed(kinds)
    if (value is None and NoneType in kinds) or value in choices:
        return
    if choices and not bound:
        raise GearworkError(f"{name} is {shown(value)}: it must be {one_of(choices)}")
    if bound:
        is_list = listed and isinstance(value, list | tuple)
        several: Sequence[Any] = value if is_list else (value,)  # type: ignore[assignment]
        if is_list:
            bound.refuse_more(name, several)
        for one in several:
            found = bound.number(name, one)
            if whole and found != int(found):
                whole_number(name, found, at_least=0)


def check_values(thing: Any) -> None:
    """Refuse a thing of which a value is ruled out by its annotation."""
    kind: Any = type(thing)
    for name, annotation in _hints(kind).items():
        check_value(name.replace("_", " "), getattr(thing, name), annotation)


def check_given(maker: Callable[..., Any], given: dict[str, Any]) -> None:
    """Refuse arguments of a function of which one is ruled out by its annotation."""
    for name, annotation in _hints(maker).items():
        if name in given:
            check_value(name.replace("_", " "), given[name], annotation)


@cache
def _hints(maker: Any) -> dict[str, Any]:
    return get_type_hints(maker, include_extras=True)


def one_of(choices: Any) -> str:
    """Return what there is to choose from in words."""
    told = [f'"{one}"' if isinstance(one, str) else f"{one:g}" for one in choices]
    return " or ".join(told) if len(told) < 3 else f"one of {', '.join(told)}"


def shown(value: object) -> str:
    """Return a value given as text for an error, cut short where it is long."""
    try:
        text = repr(value)
    except (ValueError, RecursionError):
        return "too long to be shown"
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 4]} ..."
