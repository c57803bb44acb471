"""Characteristic values from few tests, EN 14358."""

import numpy as np
import pytest

from gearwork.errors import GearworkError
from gearwork.stock.characteristic import characteristic_value, tolerance_factor


@pytest.mark.parametrize(
    ("tests", "factor"), [(3, 3.15), (5, 2.46), (10, 2.10), (20, 1.93), (30, 1.87), (100, 1.76)]
)
def test_tolerance_factors_of_the_standard(tests: int, factor: float) -> None:
    assert round(tolerance_factor(tests), 2) == factor


def test_equal_results_still_count_as_scattered() -> None:
    assert characteristic_value([10.0] * 5) == pytest.approx(10.0 * np.exp(-2.46 * 0.05), rel=1e-3)


def test_three_of_four_samples_find_no_more_than_the_true_percentile() -> None:
    seed, draws = 11, 10_000
    rng = np.random.default_rng(seed)
    for tests in (3, 5, 10):
        logs = rng.normal(0.0, 0.175, (draws, tests))
        found = logs.mean(axis=1) - tolerance_factor(tests) * np.maximum(
            logs.std(axis=1, ddof=1), 0.05
        )
        safe = np.mean(found <= -1.645 * 0.175)
        assert 0.74 < safe < 0.78, f"seed {seed}, {tests} tests"
    one = np.exp(logs[0])
    assert characteristic_value(one.tolist()) == pytest.approx(float(np.exp(found[0])))


def test_two_tests_are_too_few() -> None:
    with pytest.raises(GearworkError, match="at least 3"):
        characteristic_value([4.0, 5.0])
    with pytest.raises(GearworkError, match="test result"):
        characteristic_value([4.0, 5.0, 0.0])
