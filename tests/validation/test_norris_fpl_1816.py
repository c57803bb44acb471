"""Strength of plywood at an angle to the face grain.

Source: Norris, Strength of Orthotropic Materials Subjected to Combined Stresses, US Forest Products
Laboratory Report 1816 (1950; from memory): (σx/Fx)² − σxσy/(FxFy) + (σy/Fy)² + (τ/Fv)² ≤ 1 and
|σx| ≤ Fx, |σy| ≤ Fy. The figures are worked from the 12 mm birch row of the handbook.
"""

import numpy as np
import pytest
from norris import holds, max_multiple

from gearwork.stock.plywood import (
    plywood,
    plywood_from_strengths,
)

BIRCH = plywood("birch", 12)
DECLARED = {
    "name": "poplar 10 mm",
    "thickness": 10.0,
    "tension": (20.0, 15.0),
    "compression": (18.0, 12.0),
    "panel_shear": 4.0,
    "modulus": (5000.0, 3500.0),
    "shear_modulus": 300.0,
    "density": 420.0,
}

# Norris, US Forest Products Laboratory Report 1816 (1950), worked by hand from the 12 mm birch row
# with F_v 9.5, G 620, nu 0.04; half the last digit.
NORRIS_12 = [
    (0.0, 40.0, 27.7, 9333),
    (15.0, 28.9, 24.0, 5152),
    (22.5, 23.8, 21.4, 3556),
    (30.0, 20.6, 19.5, 2712),
    (45.0, 18.4, 17.8, 2181),
    (60.0, 20.2, 18.8, 2657),
    (67.5, 22.9, 20.2, 3424),
    (75.0, 27.1, 21.9, 4823),
    (90.0, 35.0, 24.3, 8167),
]


@pytest.mark.parametrize(("angle", "tension", "compression", "modulus"), NORRIS_12)
def test_birch_12_at_an_angle_to_printed_digits(angle, tension, compression, modulus):
    assert BIRCH.tension_at(angle) == pytest.approx(tension, abs=0.05)
    assert BIRCH.compression_at(angle) == pytest.approx(compression, abs=0.05)
    assert BIRCH.modulus_at(angle) == pytest.approx(modulus, abs=0.5)


SKEWED = plywood_from_strengths(
    **DECLARED | {"tension": (60.0, 9.0), "compression": (15.0, 33.0), "panel_shear": 40.0}
)


@pytest.mark.parametrize(
    "sheet", [BIRCH, plywood("thin-veneer spruce", 18), SKEWED], ids=lambda s: s.name
)
@pytest.mark.parametrize("angle", [0.0, 8.0, 33.0, 45.0, 71.0, 90.0, 123.0, -20.0, 400.0])
def test_strengths_agree_with_bisecting_the_criterion(sheet, angle):
    for strength, unit in (
        (sheet.tension_at(angle), [[1.0, 0.0], [0.0, 0.0]]),
        (sheet.compression_at(angle), [[-1.0, 0.0], [0.0, 0.0]]),
    ):
        tensor = np.array(unit)
        found = max_multiple(lambda m, t=tensor: holds(sheet, m * t, angle))
        assert strength == pytest.approx(found, rel=1e-9)
    shear = min(
        max_multiple(
            lambda m, s=sign: holds(sheet, m * s * np.array([[0.0, 1.0], [1.0, 0.0]]), angle)
        )
        for sign in (1.0, -1.0)
    )
    assert sheet.shear_at(angle) == pytest.approx(shear, rel=1e-9)


@pytest.mark.parametrize("sheet", [BIRCH, SKEWED], ids=lambda s: s.name)
def test_index_of_any_stress_is_the_inverse_of_itsgreatest_multiple(sheet):
    rng = np.random.default_rng(4)
    for sx, sy, tau, angle in rng.uniform(-20, 20, (40, 4)) * [1, 1, 1, 9]:
        tensor = np.array([[sx, tau], [tau, sy]])
        multiple = max_multiple(lambda m, t=tensor, a=angle: holds(sheet, m * t, a))
        assert sheet.norris_index(sx, sy, tau, angle) == pytest.approx(1 / multiple, rel=1e-9)
