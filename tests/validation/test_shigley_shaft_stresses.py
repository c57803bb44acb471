"""Stresses of a shaft.

Source: Shigley, Mechanical Engineering Design, example 3-9 (from memory).
"""

import pytest

from gearwork.checks.shaft.beam import Shaft, ShaftLoad
from gearwork.stock.hardware import bearing, rod

BOLT, BALL = rod("M12", grade="8.8"), bearing("6001")


def test_two_pulleys_between_bearings():
    """Shigley, Mechanical Engineering Design, example 3-9 (from memory): 24 890 and 2414 psi.

    Shaft of 1.5 in, 30 in between bearings, 1200 lb and 600 lb square to each other at thirds,
    1600 lb in between them; four digits printed. Stresses scale with the cube of the diameter.
    """
    inch, pound, psi = 25.4, 4.4482216, 0.00689475729
    torque = 1600 * pound * inch / 1000
    loads = (
        ShaftLoad("B", 10 * inch, (0.0, 1200 * pound), torque),
        ShaftLoad("C", 20 * inch, (600 * pound, 0.0), -torque),
    )
    bent = Shaft(BOLT, BALL, (0.0, 30 * inch), loads)
    scale = (BOLT.core_diameter / (1.5 * inch)) ** 3 / psi
    assert bent.bending_stress.max() * scale == pytest.approx(24_890, abs=5)
    assert bent.shear_stress.max() * scale == pytest.approx(2_414, abs=0.5)
