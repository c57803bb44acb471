"""Speed factor of non-metallic gears.

Source: Barth's formula, 0.25 + 0.75/(1 + v), v in m/s (from memory).
"""

import numpy as np
import pytest

from gearwork.checks.tooth.load_case import speed_factor


@pytest.mark.parametrize(("v", "factor"), [(0.0, 1.0), (1.0, 0.625), (2.0, 0.5), (5.0, 0.375)])
def test_barth(v, factor):
    # 0.25 + 0.75 / (1 + v), by hand.
    assert speed_factor(60_000 / np.pi, v).value == pytest.approx(factor)
