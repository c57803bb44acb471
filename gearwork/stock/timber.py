"""What time and moisture do to the strength and size of wood."""

from dataclasses import dataclass
from math import prod
from typing import Any, cast

import numpy as np
from numpy.typing import ArrayLike

from gearwork.errors import GearworkError
from gearwork.numbers import Floats
from gearwork.stock import table
from gearwork.stock.orthotropic import Angle


@dataclass(frozen=True)
class Factor:
    """One factor between a characteristic and a design value."""

    quantity: str  # e.g. "k_mod, service class 1, short"
    value: float
    source: str  # standard and clause, handbook, or "assumption"
    divides: bool = False  # whether it divides the strength, as gamma_M does


def design_value(characteristic: Angle, *factors: Factor) -> Angle:
    """Return the characteristic value, a float or an array, times (or over) all factors."""
    return characteristic * prod(1.0 / f.value if f.divides else f.value for f in factors)


def k_mod(service_class: int, duration: str) -> Factor:
    """Return the factor for moisture and duration of the load, plywood.

    Service class 1 heated indoors, 2 under a roof, 3 in the weather; duration "permanent", "long"
    (6 months to 10 years), "medium" (a week to 6 months), "short" (less than a week) or
    "instantaneous": all the time under this load added up. EN 1995-1-1:2004+A1:2008 Tables 2.1 and
    3.1; national annexes differ.
    """
    rows = table("timber")["k_mod"]
    durations = _entry("service class", str(service_class), rows["class"])
    value = _entry("load duration", duration, durations)
    return Factor(f"k_mod, service class {service_class}, {duration}", value, rows["source"])


def gamma_m(kind: str) -> Factor:
    """Return the partial factor for "plywood" or "connections", which divides the strength.

    EN 1995-1-1:2004+A1:2008 Table 2.3; national annexes differ.
    """
    row = table("timber")["gamma_m"]
    value = _entry("material", kind, {k: v for k, v in row.items() if k != "source"})
    return Factor(f"gamma_M, {kind}", value, row["source"], divides=True)


def equilibrium_moisture(temperature: ArrayLike, relative_humidity: ArrayLike) -> Floats:
    """Return the moisture content, %, that wood takes on in air.

    Parameters
    ----------
    temperature : array_like
        °C, −10 to 70.
    relative_humidity : array_like
        %, 0 to 100; broadcast against the temperature.

    Returns
    -------
    ndarray
        Mass of water over that of dry wood, %.

    Raises
    ------
    GearworkError
        If a value lies outside.

    References
    ----------
    Wood Handbook (FPL-GTR-190), Eq. 4-5.

    Examples
    --------
    From a heated room to a damp shed, what `Scatter` takes as a change of moisture:

    >>> room, shed = equilibrium_moisture([20.0, 10.0], [40.0, 80.0])
    >>> round(float(shed - room), 1)
    8.7
    """
    t = _within("temperature", temperature, "°C", -10.0, 70.0)
    h = _within("relative humidity", relative_humidity, "%", 0.0, 100.0) / 100.0
    w = 349.0 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * h
    first, second = k1 * kh, k1 * k2 * kh**2
    return 1800.0 / w * (kh / (1.0 - kh) + (first + 2.0 * second) / (1.0 + first + second))


def swelling(moisture_change: ArrayLike, direction: str = "in_plane") -> Floats:
    """Return the growth of plywood as a share of its size, for percentage points of moisture.

    "in_plane" 0.02 % a point (0.014 % along, 0.021 % across the face grain were measured on three
    plies), "thickness" 0.4 % (0.3 to 0.4 %).
    """
    each = _entry("direction of swelling", direction, table("timber")["movement"])
    return cast("Floats", each * np.asarray(moisture_change, dtype=np.float64))


def _entry(what: str, key: object, row: dict[str, Any]) -> Any:
    if not isinstance(key, str) or key not in row:
        raise GearworkError(f"{what} {key!r} is not known; there are: {', '.join(row)}")
    return row[key]


def _within(what: str, values: ArrayLike, unit: str, low: float, high: float) -> Floats:
    try:
        result = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        result = np.array(np.nan)
    if not ((result >= low) & (result <= high)).all():
        raise GearworkError(f"{what} is {values!r}: it must be from {low:g} to {high:g} {unit}")
    return result
