"""Disc springs: forces of the standard and the energy of a cone that is turned.

Source: DIN 2093 (DIN EN 16983) series A, forces at three quarters of the cone's height, from
memory. Second road: the model of Almen and Laszlo (Trans. ASME 58, 1936) by quadrature instead of
their closed form: the cone turns about a circle as a rigid section, its fibres are stretched along
the circumference.
"""

import numpy as np
import pytest
from scipy.integrate import dblquad
from scipy.optimize import minimize_scalar

from gearwork.stock.hardware import disc_spring, rod, threads

PRINTED = {"M6": 673.0, "M8": 1000.0, "M10": 1530.0, "M12": 2910.0}  # N


@pytest.mark.parametrize("thread", threads())
def test_forces_of_the_standard(thread):
    disc = disc_spring(thread)
    assert disc.load(0.75 * disc.cone_height) == pytest.approx(PRINTED[thread], rel=0.03)
    assert disc.hole_diameter > rod(thread).outside[1]


def energy(disc, deflection):
    """Of the stretched fibres, E/(1 − ν²)/2 ∫ ε² dV, least by the circle it turns about; N·mm."""
    inner, outer = disc.hole_diameter / 2, disc.outer_diameter / 2
    before = disc.cone_height / (outer - inner)
    turn = deflection / (outer - inner)
    after = before - turn

    def stretched(middle):
        def strain(z, x):
            # radius after less radius before, of a fibre x from the circle and z from mid-plane
            moved = x * (np.cos(after) - np.cos(before)) + z * (np.sin(after) - np.sin(before))
            return moved / (middle + x)

        def of_ring(z, x):
            return strain(z, x) ** 2 * 2 * np.pi * (middle + x)

        half = disc.thickness / 2
        return dblquad(of_ring, inner - middle, outer - middle, -half, half, epsabs=1e-12)[0]

    least = minimize_scalar(stretched, bounds=(inner, outer), method="bounded")
    return 206_000.0 / (1.0 - 0.3**2) / 2.0 * least.fun


@pytest.mark.parametrize("share", [0.2, 0.5, 0.75])
def test_the_closed_form_is_the_energy_of_a_turned_cone(share):
    disc, step = disc_spring("M10"), 1e-3
    at = share * disc.cone_height
    force = (energy(disc, at + step) - energy(disc, at - step)) / (2 * step)
    assert disc.load(at) == pytest.approx(force, rel=0.02)
    assert disc.deflection(float(disc.load(at))) == pytest.approx(at, rel=1e-3)
