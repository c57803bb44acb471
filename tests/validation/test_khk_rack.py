"""Source: KHK Gear Technical Reference, ch. 4: a profile shifted spur gear and a rack.

m 3, 20°, z 12, x 0.6, pitch line of the rack 32 mm above its back (from memory; every figure
follows from the formulas printed there). The lowest number of teeth that a rack does not
undercut: Shigley's Mechanical Engineering Design §13-7 (from memory).
"""

import numpy as np
import pytest

import gearwork as gw

PAIR = gw.GearPair(gw.Gear(3, 12, 0.6), gw.Rack(3, 20, height=32.0))


def test_the_printed_example():
    pinion, rack = PAIR.pinion, PAIR.wheel
    assert PAIR.centre_distance + rack.back_depth == pytest.approx(51.8, abs=5e-4)
    assert PAIR.working_pressure_angle == pytest.approx(20.0, abs=5e-4)
    assert pinion.reference_diameter == pytest.approx(36.0, abs=5e-4)
    assert pinion.base_diameter == pytest.approx(33.829, abs=5e-4)
    assert PAIR.working_pitch_diameters[0] == pytest.approx(36.0, abs=5e-4)
    assert pinion.tip_diameter == pytest.approx(45.6, abs=5e-4)
    assert pinion.root_diameter == pytest.approx(32.1, abs=5e-4)
    assert rack.tip_height == pytest.approx(3.0)
    assert pinion.tooth_depth == pytest.approx(6.75)
    assert rack.tooth_depth == pytest.approx(6.75, abs=1e-6)


def test_one_turn_moves_the_rack_by_the_reference_circle():
    assert PAIR.travel_per_turn == pytest.approx(np.pi * 3 * 12, abs=1e-4)


@pytest.mark.parametrize(("angle", "teeth"), [(14.5, 32), (20.0, 18), (25.0, 12)])
def test_the_least_teeth_that_run_with_a_rack(angle, teeth):
    fewer, enough = (
        gw.GearPair(
            gw.Gear(3, z, pressure_angle=angle), gw.Rack(3, 20, pressure_angle=angle)
        ).interferes
        for z in (teeth - 1, teeth)
    )
    assert fewer
    assert not enough


@pytest.mark.parametrize("teeth", [10, 12, 17, 24])
def test_the_angle_at_which_a_rack_stops_interfering(teeth):
    """sin² α = 2 h_a* / z: the rack's tip then meets the base tangent point."""
    angle = float(np.degrees(np.arcsin(np.sqrt(2 / teeth))))
    pair = gw.GearPair(
        gw.Gear(3, teeth, pressure_angle=angle), gw.Rack(3, 20, pressure_angle=angle)
    )
    assert pair.interference_reserve[0] == pytest.approx(0.0, abs=1e-5)
