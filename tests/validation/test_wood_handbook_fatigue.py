"""Cyclic bending of clear wood.

Source: Wood Handbook (FPL-GTR-190), chapter 5 (from memory): greatest stress as a share of the
static strength at 30 million cycles: 45 % at R = 0.45, 40 % at 0, 30 % at −1; 60 % in third-point
bending at R = 0.1 and 2 million. No figures of birch plywood were found.
"""

import pytest

from gearwork.stock.timber import (
    fatigue_factor,
)


@pytest.mark.parametrize(("ratio", "share"), [(-1, 0.30), (0, 0.40), (0.45, 0.45), (1, 0.45)])
def test_fatigue_at_30_million_cycles(ratio, share):
    # Wood Handbook ch. 5 (from memory)
    assert fatigue_factor(ratio).value == pytest.approx(share)
    assert fatigue_factor(ratio, 30e6).value == pytest.approx(share)


def test_fatigue_is_on_the_safe_side_of_another_series():
    # Third-point bending, R = 0.1, 2 million cycles: 60 % (Wood Handbook ch. 5, from memory)
    assert 0.45 < fatigue_factor(0.1, 2e6).value < 0.60
