"""Torsion of a hollow shaft; a railway car that starts and runs.

Sources: Beer and Johnston, Mechanics of Materials (hollow shaft of 60 and 40 mm at 120 MPa:
4.08 kN·m) and Vector Mechanics: Statics (axle friction) (both from memory). Three digits.
"""

import dataclasses

import pytest

from gearwork.checks.hub.joints import (
    ring_modulus,
)
from gearwork.checks.shaft.beam import (
    Shaft,
    ShaftLoad,
)
from gearwork.machine.load import hauling_pull
from gearwork.stock.hardware import bearing, rod

M8 = rod("M8")


def shaft(*loads, bearings=(0.0, 100.0), on=M8, ball="608"):
    return Shaft(on, bearing(ball), bearings, loads)


def test_torsion_of_a_rod():
    # Beer and Johnston, Mechanics of Materials: a hollow shaft of 60 and 40 mm at 120 MPa bears
    # 4.08 kN·m (from memory): a full one of 60 mm at 120 MPa less one of 40 mm at 80 MPa.
    def torque(diameter, stress):
        thick = dataclasses.replace(M8, core_diameter=diameter)
        one = shaft(
            ShaftLoad("a", 20.0, (0.0, 0.0), 1.0), ShaftLoad("b", 80.0, (0.0, 0.0), -1.0), on=thick
        )
        return stress / one.shear_stress.max()

    assert (torque(60.0, 120.0) - torque(40.0, 80.0)) / 1000.0 == pytest.approx(4.08, abs=0.005)


def test_torsion_of_a_hollow_shaft():
    # Beer and Johnston, Mechanics of Materials, hollow steel shaft of 60 and 40 mm at 120 MPa:
    # 4.08 kN·m (from memory); three digits.
    assert 120.0 * ring_modulus(60.0, 40.0) / 1e6 == pytest.approx(4.08, abs=0.005)


def test_railway_car_starts_and_runs():
    """Beer and Johnston, Vector Mechanics: Statics, axle friction problem (from memory).

    30 Mg on 800 mm wheels with 125 mm axles, friction 0.020 at rest and 0.015 in motion: 920 N
    to start, 690 N to keep moving. Three digits printed, 9.81 m/s²: 1 N.
    """
    rolling = 0.015 * 125.0 / 800.0
    assert hauling_pull(30e3, 0.0, rolling, 0.020 / 0.015) == pytest.approx(920.0, abs=1.0)
    assert hauling_pull(30e3, 0.0, rolling) == pytest.approx(690.0, abs=1.0)
