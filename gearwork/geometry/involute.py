"""The involute function, its inverse and points on a flank. Angles here are in radians."""

import math
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from gearwork.numbers import Complexes, Floats

SMALL_ANGLE = 0.1
# tan α − α = α³ (1/3 + 2/15 α² + ...); at 0.1 the first term left out is below rounding.
SERIES = (1 / 3, 2 / 15, 17 / 315, 62 / 2835, 1382 / 155925, 21844 / 6081075)


def involute(angle: ArrayLike) -> Any:
    """Return inv α = tan α − α for α in radians, without cancellation near 0 (ISO 21771-1, 5.3)."""
    if isinstance(angle, float):  # one gear: ten times as fast as by arrays
        near = abs(angle) < SMALL_ANGLE
        return float(_near_zero(angle, angle * angle) if near else math.tan(angle) - angle)
    alpha = np.asarray(angle, dtype=float)
    small = _near_zero(alpha, np.minimum(alpha * alpha, SMALL_ANGLE**2))
    return np.where(np.abs(alpha) < SMALL_ANGLE, small, np.tan(alpha) - alpha)[()]


def _near_zero(alpha: Any, square: Any) -> Any:
    tail = 0.0
    for coefficient in reversed(SERIES):
        tail = tail * square + coefficient
    return alpha * square * tail


def inverse_involute(value: ArrayLike) -> Any:
    """Return the angle α, radians, whose involute function is `value`; not a number below 0.

    Good to rounding from 0 to about 89.9°.
    """
    given = np.asarray(value, dtype=float)
    wanted = np.where(given >= 0, given, np.nan)
    # Newton's method from the reversed series, or for steep angles from tan α ≈ 1 / (π/2 − α).
    root = np.cbrt(3 * np.minimum(wanted, 1.0))
    near = root * (1 - root**2 * (2 / 15 - root**2 * (3 / 175 - root**2 * 2 / 1575)))
    alpha = np.where(wanted < 1.0, near, np.pi / 2 - 1 / (wanted + np.pi / 2))
    for _ in range(8):
        slope = np.tan(alpha) ** 2
        step = (involute(alpha) - wanted) / np.where(slope > 0, slope, 1.0)
        alpha = alpha - step
        if not (np.abs(step) > 4e-16 * np.abs(alpha)).any():
            break
    return alpha[()]


def flank_points(base_diameter: float, roll: Floats) -> Complexes:
    """Return points x + iy, mm, of the involute that leaves the base circle on the x axis.

    The roll angle tan α, radians, is 0 on the base circle; the curve turns counter-clockwise.
    """
    c, s = np.cos(roll), np.sin(roll)
    return np.asarray(base_diameter / 2 * (c + roll * s + 1j * (s - roll * c)))
