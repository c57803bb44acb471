"""The one exception gearwork raises on purpose, and the checks of plain input values."""

import math
from numbers import Real
from typing import Any

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
    if isinstance(value, bool) or not isinstance(value, Real):
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


def whole_number(name: str, value: object, *, at_least: int, at_most: int | None = None) -> int:
    """Return `value` as an int, or raise an error that says what is wrong with it."""
    result = number(name, value, at_least=at_least, at_most=at_most)
    if result != int(result):
        raise GearworkError(
            f"{name} is {result:g}: a whole number is needed, {math.floor(result)} or"
            f" {math.ceil(result)}"
        )
    return int(result)


def shown(value: object) -> str:
    """Return a value given as text for an error, cut short where it is long."""
    try:
        text = repr(value)
    except (ValueError, RecursionError):
        return "too long to be shown"
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 4]} ..."
