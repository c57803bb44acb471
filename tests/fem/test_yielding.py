"""The veneers that yield: their laws, and the reference tooth against independent figures."""

import numpy as np
import pytest

from gearwork.fem.yielding import CROSS_STIFFNESS, HARDENING, Veneers
from gearwork.stock.plywood import plywood

SHEET = plywood("birch", 12)
VENEERS = Veneers.of(SHEET)


@pytest.mark.parametrize("axis", [0, 1])
def test_veneers_give_back_moduli_and_strengths_of_the_sheet(axis: int) -> None:
    strain = np.zeros(3)
    strain[axis] = 1e-4
    stress, _ = VENEERS.respond(strain, 0.0)
    assert stress[axis] == pytest.approx(1e-4 * SHEET.modulus[axis], rel=1e-9)
    strain[axis] = VENEERS.tension[axis]
    assert VENEERS.respond(strain, 0.0)[0][axis] == pytest.approx(SHEET.tension[axis], rel=1e-9)
    strain[axis] = -VENEERS.compression[axis]
    yielding = VENEERS.respond(strain, 0.0)[0][axis]
    assert yielding == pytest.approx(-SHEET.compression[axis], rel=1e-9)
    beyond = VENEERS.respond(1.3 * strain, 0.0)[0][axis]  # the fibres yield, what lies across not
    across = VENEERS.share[1 - axis] * CROSS_STIFFNESS + VENEERS.share[axis] * HARDENING
    assert beyond - yielding == pytest.approx(0.3 * strain[axis] * VENEERS.modulus * across)


def test_shear_yields_at_the_sheets_strength() -> None:
    strain = np.array([0.0, 0.0, 2.0 * SHEET.panel_shear / SHEET.shear_modulus])
    stress, _ = VENEERS.respond(strain, 0.0)
    assert stress[2] == pytest.approx((1.0 + HARDENING) * SHEET.panel_shear)


def test_slope_is_that_of_the_stress_at_any_angle() -> None:
    rng = np.random.default_rng(4)
    strain = rng.normal(scale=0.01, size=(20, 3))
    stress, slope = VENEERS.respond(strain, 33.0)
    moved = rng.normal(size=3) * 1e-9
    ahead, _ = VENEERS.respond(strain + moved, 33.0)
    np.testing.assert_allclose(ahead - stress, slope @ moved, rtol=1e-4, atol=1e-9)
    np.testing.assert_allclose(slope, np.swapaxes(slope, -1, -2), rtol=1e-9, atol=1e-9)


def test_turned_by_a_right_angle_the_veneers_change_places() -> None:
    strain = np.array([0.001, 0.0, 0.0])
    assert VENEERS.respond(strain, 90.0)[0][0] == pytest.approx(1e-3 * SHEET.modulus[1])


def test_turning_keeps_the_work() -> None:
    strain = np.array([0.002, -0.001, 0.004])
    c, s = np.cos(np.radians(25.0)), np.sin(np.radians(25.0))
    turned = np.array(
        [
            c * c * strain[0] + s * s * strain[1] + c * s * strain[2],
            s * s * strain[0] + c * c * strain[1] - c * s * strain[2],
            2.0 * c * s * (strain[1] - strain[0]) + (c * c - s * s) * strain[2],
        ]
    )  # the same strain in axes 25° further on
    here, there = VENEERS.respond(strain, 10.0)[0], VENEERS.respond(turned, 35.0)[0]
    assert here @ strain == pytest.approx(there @ turned, rel=1e-9)
