import numpy as np
import pytest

import gearwork as gw

BIRCH = gw.plywood("birch", 12)
PAIR = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 38, thinning=0.2))
CUT = gw.CutPair(PAIR, gw.Bit(3.0))


def uneven(layers):
    modulus = gw.Stack(BIRCH, layers).modulus_at(np.arange(0.0, 180.0))
    return modulus.max() / modulus.min()


@pytest.mark.parametrize("layers", [2, 3, 4])
def test_the_best_set_is_stiffer_alike_all_round_than_others(layers):
    best = uneven(gw.best_angles(BIRCH, layers))
    random = np.random.default_rng(5)
    others = [(0.0, *random.choice(np.arange(0, 180, 20), layers - 1)) for _ in range(12)]
    assert all(best <= 1.005 * uneven(other) for other in others)
    assert best < 0.8 * uneven((0.0,) * layers)


def test_turning_layers_makes_no_tooth_stronger():
    assert gw.best_angles(BIRCH, 2) == (0.0, 45.0)
    alike, turned = (
        gw.rate_pair(CUT, gw.Stack(BIRCH, layers), speed=150.0)["stall"].torque
        for layers in ((0, 0), (0, 45))
    )
    assert turned == pytest.approx(alike / (1.08 * 1.04))


def test_a_single_layer_stays_and_too_many_are_refused():
    assert gw.best_angles(BIRCH, 1) == (0.0,)
    with pytest.raises(gw.GearworkError, match="number of layers is 7: it must be at most 6"):
        gw.best_angles(BIRCH, 7)
