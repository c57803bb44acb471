"""Characteristic values from few tests, EN 14358."""

import numpy as np
import pytest

from gearwork.errors import GearworkError
from gearwork.stock.broken_teeth import characteristic_value, tolerance_factor


@pytest.mark.parametrize(
    ("tests", "factor"), [(3, 3.15), (5, 2.46), (10, 2.10), (20, 1.93), (30, 1.87), (100, 1.76)]
)
def test_tolerance_factors_of_the_standard(tests: int, factor: float) -> None:
    assert round(tolerance_factor(tests), 2) == factor


def test_equal_results_still_count_as_scattered() -> None:
    assert characteristic_value([10.0] * 5) == pytest.approx(10.0 * np.exp(-2.46 * 0.05), rel=1e-3)


@pytest.mark.parametrize("tests", [3, 5, 10])
def test_three_of_four_samples_find_no_more_than_the_true_percentile(tests: int) -> None:
    """10,000 sets of lognormal tests: with 75 % confidence, to two standard errors."""
    seed, draws = 11, 10_000
    sets = np.exp(np.random.default_rng(seed).normal(0.0, 0.175, (draws, tests)))
    safe = np.mean(characteristic_value(sets) <= np.exp(-1.645 * 0.175))
    assert safe == pytest.approx(0.75, abs=2 * np.sqrt(0.75 * 0.25 / draws)), f"seed {seed}"


def test_two_tests_are_too_few() -> None:
    with pytest.raises(GearworkError, match="at least 3"):
        characteristic_value([4.0, 5.0])
    with pytest.raises(GearworkError, match="test result"):
        characteristic_value([4.0, 5.0, 0.0])
