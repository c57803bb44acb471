"""A beam with an overhang.

Source: American Institute of Steel Construction, Manual of Steel Construction, beam diagrams and
formulas (from memory).
"""

from math import pi

import numpy as np
import pytest

from gearwork.checks.shaft.beam import MODULUS, Shaft, ShaftLoad
from gearwork.stock.hardware import bearing, rod

BOLT, BALL = rod("M12", grade="8.8"), bearing("6001")


def shaft(loads, at=(0.0, 100.0)):
    rest = -sum(load.torque for load in loads)
    return Shaft(BOLT, BALL, at, (*loads, ShaftLoad("rest", at[0], (0.0, 0.0), rest)))


def test_load_on_the_end_of_an_overhanging_beam():
    """AISC Manual of Steel Construction, beam diagrams, overhanging one support (from memory).

    R1 = P a/l down, R2 = P (l + a)/l, M = P a at the support, deflection P a² (l + a)/(3 E I) at
    the end and P a l²/(9 √3 E I) upwards at l/√3 between the supports. Rounding only.
    """
    force, span, over = 200.0, 100.0, 45.0
    bent = shaft([ShaftLoad("drum", span + over, (0.0, -force))])
    assert bent.reactions[:, 1] == pytest.approx(
        [-force * over / span, force * (span + over) / span]
    )
    assert np.abs(bent.bending_moment).max() == pytest.approx(force * over / 1000)
    rigidity = MODULUS * pi * BOLT.core_diameter**4 / 64
    at_end = force * over**2 * (span + over) / (3 * rigidity)
    between = force * over * span**2 / (9 * 3**0.5 * rigidity)
    assert bent.deflection_at(span + over)[1] == pytest.approx(-at_end, rel=1e-9)
    assert bent.deflection_at(span / 3**0.5)[1] == pytest.approx(between, rel=1e-9)
