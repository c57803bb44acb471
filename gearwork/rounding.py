"""Rounding to the safe side, so that a number told in a remedy is enough when it is used."""

import math

FUZZ = 1e-9
"""Share of the last digit that counts as nothing: what a computed round number is off by."""


def round_up(value: float, digits: int = 2) -> float:
    """Return the next number up with so many decimals."""
    scale = 10.0**digits
    return math.ceil(value * scale - FUZZ) / scale


def round_down(value: float, digits: int = 2) -> float:
    """Return the next number down with so many decimals."""
    scale = 10.0**digits
    return math.floor(value * scale + FUZZ) / scale
