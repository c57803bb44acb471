"""The involute function.

Source: the involute tables of gear handbooks, 8 digits; recomputed with mpmath.
"""

import numpy as np
import pytest

from gearwork.geometry.involute import involute

# Involute tables of gear handbooks print these to 8 digits; recomputed with mpmath.
TABLE = {14.5: 0.00554484, 20: 0.01490438, 22.5: 0.02151448, 25: 0.02997535, 30: 0.05375149}


@pytest.mark.parametrize(("degrees", "printed"), TABLE.items())
def test_involute_function_as_printed(degrees, printed):
    assert involute(np.radians(degrees)) == pytest.approx(printed, abs=0.5e-8)
