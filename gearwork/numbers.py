"""What every room uses of numbers: kinds of arrays, and rounding to the safe side.

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
