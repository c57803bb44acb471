"""Dimension over pins of 1.728/P, P = 1, 20°.

Source: Machinery's Handbook, Van Keuren wire tables (from memory). Tolerance: 2e-4.
"""

import pytest

from gearwork.geometry.gear import Gear


# Machinery's Handbook, Van Keuren table, wire 1.728/P, P 1, 20° (from memory): ±2e-4.
@pytest.mark.parametrize(
    ("teeth", "printed"),
    [(8, 10.3271), (10, 12.3445), (12, 14.3578), (16, 18.3768), (20, 22.3900)],
)
def test_over_pins_as_printed(teeth, printed):
    assert Gear(module=1, teeth=teeth).over_pins(1.728) == pytest.approx(printed, abs=2e-4)
