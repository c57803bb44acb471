"""Endurance limit of rolled threads.

Source: VDI 2230 Part 1 (from memory): 0.85 (150/d + 45) MPa, exponent 1/3 below 2 million cycles.
"""

import pytest

from gearwork.checks.shaft.beam import (
    thread_fatigue_strength,
)


@pytest.mark.parametrize(("d", "printed"), [(8, 54.2), (10, 51.0), (12, 48.9)])
def test_endurance_limit_of_rolled_threads(d, printed):
    # VDI 2230, 0.85 (150/d + 45), by hand to one decimal.
    assert thread_fatigue_strength(d, 1e8) == pytest.approx(printed, abs=0.05)


def test_fewer_cycles_bear_more():
    # Exponent 1/3 from 2 million: an eighth of the cycles, twice the stress.
    assert thread_fatigue_strength(8, 250_000) == pytest.approx(2 * thread_fatigue_strength(8, 2e6))
    assert thread_fatigue_strength(8, 10) == thread_fatigue_strength(8, 1e4)
