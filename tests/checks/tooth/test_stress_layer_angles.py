import numpy as np
import pytest

import gearwork as gw

BIRCH = gw.plywood("birch", 12)
PAIR = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 38, thinning=0.2))
CUT = gw.CutPair(PAIR, gw.Bit(3.0))


def stall_torque(panel):
    return gw.rate_pair(CUT, panel, face_width=24.0, speed=150.0)["stall"].torque


@pytest.mark.parametrize("layers", [2, 3, 4])
def test_the_best_set_beats_others_by_the_torque_of_a_whole_pair(layers):
    best = stall_torque(gw.Stack(BIRCH, gw.best_angles(BIRCH, layers)))
    random = np.random.default_rng(5)
    others = [(0.0, *random.choice(np.arange(0, 180, 20), layers - 1)) for _ in range(12)]
    assert all(best >= 0.995 * stall_torque(gw.Stack(BIRCH, other)) for other in others)


def test_two_layers_at_45_degrees_bear_about_a_quarter_more_for_nothing():
    assert gw.best_angles(BIRCH, 2) == (0.0, 45.0)
    gain = stall_torque(gw.Stack(BIRCH, (0, 45))) / stall_torque(gw.Stack(BIRCH, (0, 0)))
    assert 1.15 < gain < 1.35  # finite elements: 1.27, test_strength.py


def test_a_single_layer_stays_and_too_many_are_refused():
    assert gw.best_angles(BIRCH, 1) == (0.0,)
    with pytest.raises(gw.GearworkError, match="number of layers is 7: it must be at most 6"):
        gw.best_angles(BIRCH, 7)
