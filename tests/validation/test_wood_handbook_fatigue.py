"""Cyclic bending of clear wood.

Source: Wood Handbook (FPL-GTR-190), chapter 5 (from memory): greatest stress as a share of the
static strength at 30 million cycles: 45 % at R = 0.45, 40 % at 0, 30 % at −1; 60 % in third-point
bending at R = 0.1 and 2 million. No figures of birch plywood were found.
"""

import pytest

from gearwork.checks.fatigue import fatigue_share


@pytest.mark.parametrize(
    ("ratio", "cycles", "share"),
    [(-1.0, 30e6, 0.30), (0.0, 30e6, 0.40), (0.45, 30e6, 0.45), (0.1, 2e6, 0.60)],
)
def test_what_is_left_for_bending_lies_below_the_tests_of_clear_wood(ratio, cycles, share):
    """By a third at most: the annex is a design line, these are tests."""
    assert 0.66 * share < fatigue_share("tension", ratio, cycles) < share
