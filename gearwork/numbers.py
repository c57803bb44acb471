"""What every room uses of numbers: kinds of arrays, rounding to the safe side, figures as text.

A number told in a remedy is rounded so that it is enough when it is used.
"""

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Complexes = NDArray[np.complex128]
Bools = NDArray[np.bool_]

RPM = math.pi / 30.0  # rad/s
M3, M5 = 1e-9, 1e-15  # m³ of a mm³, m⁵ of a mm⁵

FUZZ = 1e-9
"""Share of the last digit that counts as nothing: what a computed round number is off by."""


def round_up(value: float, digits: int = 2) -> float:
    """Return the next number up with so many decimals."""
    return _rounded(value, digits, math.ceil, -FUZZ)


def round_down(value: float, digits: int = 2) -> float:
    """Return the next number down with so many decimals."""
    return _rounded(value, digits, math.floor, FUZZ)


def _rounded(value: float, digits: int, to: Callable[[float], int], fuzz: float) -> float:
    whole = to(value * 10.0**digits + fuzz)
    return float(f"{whole}e{-digits}")  # dividing could leave a last digit behind


def figures_up(value: float, figures: int = 3) -> float:
    """Return the next number up with so many figures; `value` is positive."""
    return round_up(value, _decimals(value, figures))


def figures_down(value: float, figures: int = 3) -> float:
    """Return the next number down with so many figures; `value` is positive."""
    return round_down(value, _decimals(value, figures))


def _decimals(value: float, figures: int) -> int:
    known = value > 0 and math.isfinite(value)
    return figures - 1 - math.floor(math.log10(value)) if known else 0


def last_that(holds: Callable[[float], bool], low: float, high: float, halvings: int) -> float:
    """Return about the largest value from `low` up to which something holds, by halving.

    To load the root finders of scipy would take longer than all that is sought this way.
    """
    for _ in range(halvings):
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def four_digits(value: float, digits: int = 4) -> str:
    """Return a number to four digits, or as many as are asked for, from 1000 on at least whole.

    Small ones as people write them: 0.00008611.
    """
    if math.isnan(value):
        return "none"
    if math.isinf(value):
        return "unlimited" if value > 0 else "-unlimited"
    if 0.0 < abs(value) < 1e-4:
        return f"{value:.{_decimals(abs(value), digits)}f}".rstrip("0")
    return f"{value:.{digits}g}" if abs(value) < 10 ** (digits - 1) else f"{value:.0f}"


MAX_DIGITS = 12


def telling(value: float, *others: float, digits: int = 4) -> int:
    """Return with how many digits, from so many on, a number looks different from all others.

    Those that are the same are no matter.
    """
    differing = [other for other in others if not math.isclose(value, other, rel_tol=1e-9)]
    counts = range(digits, MAX_DIGITS)
    seen = (
        count
        for count in counts
        if all(four_digits(value, count) != four_digits(other, count) for other in differing)
    )
    return next(seen, MAX_DIGITS)


def told_apart(value: float, other: float, digits: int = 3) -> tuple[str, str]:
    """Return two numbers that are compared with so many digits, or more until they differ."""
    count = telling(value, other, digits=digits)
    return figure(value, digits=count), figure(other, digits=count)


LONG_LIFE = 1e4
"""Hours beyond which a computed life says no more than that."""


def figure(value: float, unit: str = "", digits: int = 4) -> str:
    """Return a number for a page: so many digits, millions in words, and its unit.

    The spaces in it are never broken. A life of more than 10 000 h is no figure to three digits.
    """
    if not math.isfinite(value):
        return four_digits(value).replace("-", "−")
    suffix = f"\N{NO-BREAK SPACE}{unit}" if unit else ""
    if unit == "h" and value > LONG_LIFE:
        return f"more than\N{NO-BREAK SPACE}10\N{NO-BREAK SPACE}000{suffix}"
    if digits < 4 and abs(value) < 1000:
        shown = round(value, _decimals(abs(value), digits))
        return f"{four_digits(shown)}{suffix}"  # "585", never "5.8e+02"
    if abs(value) >= 1e6:
        return f"{value / 1e6:.{digits}g}\N{NO-BREAK SPACE}million{suffix}"
    return four_digits(value, digits) + suffix


def how_often(value: float, digits: int = 3) -> str:
    """Return how often something happens, to so many digits: 850, 67 900, 1.23 million."""
    about = float(f"{value:.{digits}g}")
    return figure(about) if about >= 1e6 else f"{about:,.0f}".replace(",", "\N{NO-BREAK SPACE}")


def fixed(value: float, digits: int = 2, unit: str = "") -> str:
    """Return a number with so many decimals, never a minus zero, and its unit."""
    text = f"{value:.{digits}f}"
    if float(text) == 0.0:
        text = text.removeprefix("-")
    return text + (f"\N{NO-BREAK SPACE}{unit}" if unit else "")
