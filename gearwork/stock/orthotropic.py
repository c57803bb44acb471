"""Plane stress in an orthotropic sheet: turned stiffness and Norris interaction.

Axis 1 is the face grain. An `angle` is that of the x axis from the face grain, counter-clockwise,
in degrees; it broadcasts against stresses. Strengths, stresses and moduli are in MPa; shear
strains are engineering strains. Pairs are (along, across) the face grain; Poisson's ratio is the
contraction across it under stress along it.
"""

from typing import TypeVar, cast

import numpy as np
from numpy.typing import ArrayLike

from gearwork.errors import GearworkError
from gearwork.numbers import Floats

Angle = TypeVar("Angle", float, Floats)
Pair = tuple[float, float]


def like(angle: Angle, values: Floats) -> Angle:
    """Return `values` as a float if `angle` is a single number."""
    return cast("Angle", float(values) if np.ndim(angle) == 0 else values)


def degrees(angle: ArrayLike) -> Floats:
    """Return angles as an array of finite numbers, or raise an error."""
    try:
        result = np.asarray(angle, dtype=np.float64)
    except (TypeError, ValueError):
        result = np.array(np.nan)
    if not np.isfinite(result).all():
        raise GearworkError(f"angle in the sheet is {angle!r}: finite degrees are needed")
    return result


def modulus_at(angle: ArrayLike, modulus: Pair, shear_modulus: float, poisson: float) -> Floats:
    """Return Young's modulus in direction `angle`, MPa: 1 / S11 of the turned compliance."""
    turn = np.radians(degrees(angle))
    c2, s2 = np.cos(turn) ** 2, np.sin(turn) ** 2
    coupling = 1.0 / shear_modulus - 2.0 * poisson / modulus[0]
    return cast("Floats", 1.0 / (c2**2 / modulus[0] + s2**2 / modulus[1] + c2 * s2 * coupling))


def stiffness(angle: ArrayLike, modulus: Pair, shear_modulus: float, poisson: float) -> Floats:
    """Return the plane-stress stiffness (..., 3, 3) in axes turned by `angle`, MPa.

    (σx, σy, τxy) = matrix @ (εx, εy, γxy).
    """
    compliance = np.array(
        [
            [1.0 / modulus[0], -poisson / modulus[0], 0.0],
            [-poisson / modulus[0], 1.0 / modulus[1], 0.0],
            [0.0, 0.0, 1.0 / shear_modulus],
        ]
    )
    back = _stress_turn(-np.radians(degrees(angle)))
    return back @ np.linalg.inv(compliance) @ np.swapaxes(back, -1, -2)


def norris_index(
    sigma_x: ArrayLike,
    sigma_y: ArrayLike,
    tau: ArrayLike,
    angle: ArrayLike,
    tension: Pair,
    compression: Pair,
    shear: float,
) -> Floats:
    """Return the failure index; it grows in proportion to the load and is 1 at failure.

    The greater of sqrt((σ1/F1)² − σ1σ2/(F1F2) + (σ2/F2)² + (τ12/Fv)²), |σ1|/F1 and |σ2|/F2, with
    F1, F2 the tension or compression strength by the sign of the stress. C. B. Norris, Strength of
    Orthotropic Materials Subjected to Combined Stresses, US Forest Products Laboratory Report 1816,
    1950 (from memory).
    """
    stress = np.stack(np.broadcast_arrays(sigma_x, sigma_y, tau), axis=-1).astype(np.float64)
    grain = (_stress_turn(np.radians(degrees(angle))) @ stress[..., np.newaxis])[..., 0]
    strength = np.where(grain[..., :2] >= 0.0, tension, compression)
    along, across = np.moveaxis(grain[..., :2] / strength, -1, 0)
    combined = np.sqrt(along**2 - along * across + across**2 + (grain[..., 2] / shear) ** 2)
    return cast("Floats", np.maximum(combined, np.maximum(np.abs(along), np.abs(across))))


def _stress_turn(turn: Floats) -> Floats:
    """Return the matrix (..., 3, 3) from stresses in turned axes to those in the grain axes."""
    c, s = np.cos(turn), np.sin(turn)
    rows = [
        [c * c, s * s, -2.0 * c * s],
        [s * s, c * c, 2.0 * c * s],
        [c * s, -c * s, c * c - s * s],
    ]
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)
