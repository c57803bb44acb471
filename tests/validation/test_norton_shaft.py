"""A shaft with a sheave outside its bearings.

Source: Norton, Machine Design, example 10-1 (from memory).
"""

from math import radians

import numpy as np
import pytest

from gearwork.checks.shaft.beam import Shaft, ShaftLoad
from gearwork.stock.hardware import bearing, rod

BOLT, BALL = rod("M12", grade="8.8"), bearing("6001")


def shaft(loads, at=(0.0, 100.0)):
    rest = -sum(load.torque for load in loads)
    return Shaft(BOLT, BALL, at, (*loads, ShaftLoad("rest", at[0], (0.0, 0.0), rest)))


def test_shaft_with_gear_between_and_sheave_outside():
    """Norton, Machine Design, example 10-1 (from memory): 2 hp at 1725 rpm, T = 73.1 lb in.

    Sheave of 6 in, force on the shaft 1.5 times the net pull: 36.55 lb; gear of 8 in, 20°:
    18.28 lb and 6.65 lb. Bearings 5 in apart, gear at 1.5, sheave at 6.5 in. The printed forces
    have four digits; reactions by hand from equilibrium.
    """
    inch, pound = 25.4, 4.4482216
    torque = 73.1
    net = torque / 3
    pull, along = 1.5 * net, torque / 4
    radial = along * np.tan(radians(20))
    assert (pull, along, radial) == pytest.approx((36.55, 18.28, 6.65), abs=0.01)
    loads = [
        ShaftLoad("gear", 1.5 * inch, (radial * pound, along * pound)),
        ShaftLoad("sheave", 6.5 * inch, (pull * pound, 0.0)),
    ]
    found = shaft(loads, (0.0, 5 * inch)).reactions / pound
    second = [-(1.5 * radial + 6.5 * pull) / 5, -1.5 * along / 5]
    first = [-(radial + pull) - second[0], -along - second[1]]
    assert found == pytest.approx(np.array([first, second]), rel=1e-12)
    assert found[1][0] == pytest.approx(-49.51, abs=0.01)
    moments = shaft(loads, (0.0, 5 * inch)).bending_moment
    at_bearing = float(np.hypot(*moments.T).max()) * 1000 / (inch * pound)
    assert at_bearing == pytest.approx(1.5 * 36.55, abs=0.02)
