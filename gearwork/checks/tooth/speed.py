"""What speed adds to the load of a tooth: K_v of ISO 6336-1 with the stiffness of wood.

Method B below resonance, which no wooden gear reaches. Deviations of a routed gear are tens of
micrometres, but a wooden tooth is so soft and the wheels so light that they hardly throw it about.
"""

from typing import Any

import numpy as np

from gearwork.geometry.gear import GearShape
from gearwork.geometry.pair import PairShape

STEEL = 206_000.0
"""Modulus for which the coefficients below hold, MPa."""

FLEXIBILITY = (0.04723, 0.15551, 0.25791, -0.00635, -0.11654, -0.00193, -0.24188, 0.00529, 0.00182)
"""C1 to C9 of ISO 6336-1:2006 Table 9 (from memory), mm µm/N."""

DEVIATION = 0.09
"""Of base pitch and profile as cut, mm: three standard deviations of a routed edge, as `Scatter`
has it; 0.05 on a good belt machine, up to 0.25 on a printed one."""

PITCH, PROFILE, STIFFNESS_SHARE = 0.32, 0.34, 0.23
"""C_v1 to C_v3 for contact ratios from 1 to 2, ISO 6336-1:2006 Table 8 (from memory)."""

SUBCRITICAL = 0.85


def single_stiffness(pinion: GearShape[Any], wheel: GearShape[Any], modulus: float = STEEL) -> Any:
    """Return c'_th of a tooth pair, N/(mm µm), ISO 6336-1:2006 eq. (82), scaled by the modulus.

    For 20° and external spur gears with x1 ≥ x2. Plywood shears far more than steel; the harmonic
    mean of E over all directions stands for it. Plane-stress elements loaded at the reference
    circle give 0.29 for 20/20 of 12 mm birch where this gives 0.25, and 15.0 for steel where this
    gives 14.7. C_M = 0.8, which would take off another fifth, is therefore left out.
    """
    c = FLEXIBILITY
    z1, z2 = pinion.circle_teeth, wheel.circle_teeth
    x1, x2 = pinion.profile_shift, wheel.profile_shift
    soft = c[0] + c[1] / z1 + c[2] / z2 + c[3] * x1 + c[4] * x1 / z1 + c[5] * x2 + c[6] * x2 / z2
    return modulus / STEEL / (soft + c[7] * x1**2 + c[8] * x2**2)


def relative_speed(pair: PairShape[Any], speed: Any, modulus: float, density: float) -> Any:
    """Return N, speed over the resonance of the mesh, at most 0.85, ISO 6336-1:2006 eq. (6).

    Both gears count as discs of their reference diameter, a rack so as endlessly heavy, which is
    on the safe side: it lowers the resonance. What else turns with them is left out:
    M12 rod of 100 mm between two gears is ten times as soft in torsion as their mesh, so that a
    motor's rotor does not follow single teeth. That is an assumption which no test backs, and on
    the unsafe side where a short stiff coupling ties the rotor to the pinion.

    Parameters
    ----------
    pair : PairShape
        The gears, or arrays of them.
    speed : float or ndarray
        Of the pinion, rpm.
    modulus : float
        Of the teeth, MPa: harmonic mean over the directions.
    density : float
        kg/m³.
    """

    def mass(gear: GearShape[Any]) -> Any:  # on the line of action, kg per mm of face width
        inertia = np.pi / 32 * (gear.reference_diameter / 1000) ** 4 * density / 1000
        return inertia / (gear.base_diameter / 2000) ** 2

    one, two = mass(pair.pinion), mass(pair.wheel)
    mesh = single_stiffness(pair.pinion, pair.wheel, modulus) * (0.75 * pair.contact_ratio + 0.25)
    resonance = 30_000 / (np.pi * pair.pinion.teeth) * np.sqrt(mesh * (one + two) / (one * two))
    return np.minimum(speed / resonance, SUBCRITICAL)


def thrown_load(pair: PairShape[Any], modulus: float, deviation: float = DEVIATION) -> Any:
    """Return what deviations of pitch and profile add at resonance, N = 1, N/mm.

    (C_v1 + C_v2) c' f: part of K_v by ISO 6336-1:2006 method B that does not grow with the load;
    f of base pitch and of profile, mm. Running-in is not counted on.
    """
    single = single_stiffness(pair.pinion, pair.wheel, modulus)
    return (PITCH + PROFILE) * single * 1000 * deviation


def bearable(strength: Any, share: Any, thrown: Any) -> Any:
    """Return the greatest load that with K_v stays within a strength; 0 where speed uses it up.

    `share` N of `relative_speed`; `thrown` of `thrown_load`, in the unit of the strength.
    """
    return np.maximum(strength - share * thrown, 0.0) / (1.0 + STIFFNESS_SHARE * share)
