"""Equilibrium moisture content of wood in air.

Source: Wood Handbook (FPL-GTR-190), Eq. 4-5 and Table 4-2 (read in a copy). Tolerance:
half of the last digit and the rounding of the table.
"""

import pytest

from gearwork.stock.timber import (
    equilibrium_moisture,
)


@pytest.mark.parametrize(
    ("humidity", "moisture"), [(30, 6.2), (50, 9.3), (65, 12.0), (80, 16.0), (90, 20.5)]
)
def test_equilibrium_moisture_at_20_degrees(humidity, moisture):
    # Wood Handbook Table 4-2 / Eq. 4-5, half the last digit and the rounding of the table
    assert equilibrium_moisture(20.0, humidity) == pytest.approx(moisture, abs=0.051)
