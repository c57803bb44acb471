"""Life of ball bearings, L10 = (C/P)³ million revolutions.

Sources: ISO 281; Shigley, Mechanical Engineering Design, Example 11-1 (from memory).
"""

from math import inf

import pytest

from gearwork.checks.shaft.beam import (
    bearing_life,
)


def test_bearing_life_of_a_published_example():
    # Shigley, Example 11-1 (from memory): 5000 h at 1725 rpm under 400 lbf take C = 3211 lbf.
    # Four digits cubed: 0.05 %.
    assert bearing_life(3211.0, 400.0, 1725.0) == pytest.approx(5000.0, rel=5e-4)


def test_bearing_without_load_runs_for_ever():
    assert bearing_life(3300.0, 0.0, 100.0) == inf
