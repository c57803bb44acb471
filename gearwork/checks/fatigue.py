"""What repeated load leaves of the strength of wood, by the kind of stress.

EN 1995-2:2004 Annex A (informative, from memory, recalled twice alike) was made for timber
bridges. It multiplies the characteristic strength alone: partial factor 1.0, and no k_mod, because
its tests contain the time under load. No tests of birch plywood are known.
"""

from typing import Any

import numpy as np

from gearwork.errors import GearworkError, number
from gearwork.numbers import how_often
from gearwork.stock.timber import Factor, design_value, k_mod

CONSTANTS = {
    "compression": (2.0, 9.0),
    "tension": (9.5, 1.1),
    "shear": (6.7, 1.3),
    "dowels": (6.0, 2.0),
    "nails": (6.9, 1.2),
}
"""a and b of EN 1995-2:2004 Table A.1; tension stands for bending too, dowels up to 12 mm."""

GRAVE = 3.0
"""β where failure has grave consequences; otherwise 1."""

SOURCE = "EN 1995-2:2004 Annex A (from memory); gamma_M,fat 1.0, k_mod not counted again"
MAX_CYCLES = 1e10

LAMINATE_EXPONENT = 13.4
"""m of the design line of wood laminates at R = −1, Wind Energy Handbook (2001) p. 391; means of
the tests are 16 with scarf joints and 20 without."""


SHEAR_APART = 2.0
"""Shear across the root uses at most half as much of its strength as tension does of its own;
birch and spruce, 10 to 60 teeth: more than a third apart."""


def fatigue_share(kind: str, stress_ratio: float, cycles: Any, beta: float = 1.0) -> Any:
    """Return k_fat = 1 − (1 − R)/(a (b − R)) log10(β N), at least 0.

    Parameters
    ----------
    kind : {"tension", "compression", "shear", "dowels", "nails"}
        Of the stress; bending counts as tension.
    stress_ratio : float
        R, least stress over greatest, −1 to 1: 0 for a tooth that is loaded and left alone.
    cycles : float or ndarray
        N, 1 to 1e10.
    beta : float
        1, or `GRAVE`.
    """
    if kind not in CONSTANTS:
        raise GearworkError(
            f"stress {kind!r} has no fatigue constants; there are: {', '.join(CONSTANTS)}"
        )
    a, b = CONSTANTS[kind]
    ratio = number("stress ratio", stress_ratio, at_least=-1.0, at_most=1.0)
    if np.ndim(cycles) == 0:
        number("number of load cycles", cycles, at_least=1.0, at_most=MAX_CYCLES)
    return np.maximum(0.0, 1.0 - (1.0 - ratio) / (a * (b - ratio)) * np.log10(beta * cycles))


def tooth_share(stress_ratio: float, cycles: Any, beta: float = 1.0) -> Any:
    """Return what is left of a tooth that fails in tension at first, in shear at many cycles.

    Shear tires sooner than tension: it counts from where less than half of tension's share is
    left of it.
    """
    pulled, sheared = (
        fatigue_share(kind, stress_ratio, cycles, beta) for kind in ("tension", "shear")
    )
    return np.minimum(pulled, SHEAR_APART * sheared)


def fatigue_factor(kind: str, stress_ratio: float, cycles: float, beta: float = 1.0) -> Factor:
    """Return `fatigue_share` as a factor of the characteristic strength, with its words."""
    share = float(fatigue_share(kind, stress_ratio, cycles, beta))
    grave = f", β = {beta:g}" if beta != 1.0 else ""
    words = f"k_fat, {kind}, R = {stress_ratio:g}, {how_often(cycles)} cycles{grave}"
    return Factor(words, share, SOURCE)


def moisture_factor(service_class: int) -> Factor:
    """Return what moisture takes: the annex knows dry wood, that k_mod falls is carried over."""
    dry, here = (k_mod(c, "short").value for c in (1, service_class))
    words = f"k_mod of service class {service_class} over that of class 1"
    return Factor(words, here / dry, "assumption: fatigue tests are of dry wood")


def deciding(static: tuple[Factor, ...], tired: Factor, moist: Factor) -> tuple[Factor, ...]:
    """Return the static factors or those of repeated load, whichever leave less; never both."""
    repeated = (tired,) if moist.value == 1.0 else (tired, moist)
    return min(static, repeated, key=lambda factors: design_value(1.0, *factors))


def laminate_share(cycles: Any, exponent: float = LAMINATE_EXPONENT) -> Any:
    """Return N^(−1/m), the share of the static strength at R = −1: the cross-check.

    The annex at R = −1 and β = 1 lies up to 18 % above the design line for 10³ to 10⁶ cycles, and
    below the mean line of unjointed laminates.
    """
    return cycles ** (-1.0 / exponent)
