"""Characteristic strength from a few tests: the 5th percentile that may be counted on."""

from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from gearwork.errors import GearworkError
from gearwork.numbers import Floats

MIN_TESTS = 3
MIN_SPREAD = 0.05
"""Standard deviation of the logarithms that is at least assumed, EN 14358:2016 (from memory)."""

PERCENTILE = 1.645
"""Standard deviations from the mean to the 5th percentile, to the digits of EN 14358."""

CONFIDENCE = 0.75


@lru_cache(maxsize=256)
def tolerance_factor(tests: int) -> float:
    """Return k_s(n): one-sided tolerance factor, 5th percentile with 75 % confidence.

    EN 14358:2016 (from memory; 3.15 at n = 3, 1.76 at n = 100): the quantile 0.75 of the
    non-central t distribution with n − 1 degrees of freedom, off by 1.645 √n, over √n.
    """
    if tests < MIN_TESTS:
        raise too_few(tests)
    from scipy.special import nctdtrit

    root = np.sqrt(tests)
    return float(nctdtrit(tests - 1, PERCENTILE * root, CONFIDENCE) / root)


def characteristic_value(results: ArrayLike) -> Any:
    """Return the 5th percentile that tests show with 75 % confidence, in their unit.

    EN 14358:2016, lognormal: exp(mean of the logarithms less k_s(n) times their `log_spread`). Of
    arrays each last axis is one set of tests.
    """
    logs = _logs(results)
    factor = tolerance_factor(logs.shape[-1])
    return np.exp(logs.mean(axis=-1) - factor * log_spread(results))


def log_spread(results: ArrayLike) -> Any:
    """Return the standard deviation of the logarithms of tests, counted as at least 0.05."""
    return np.maximum(_logs(results).std(axis=-1, ddof=1), MIN_SPREAD)


def _logs(results: ArrayLike) -> Floats:
    values = np.asarray(results, dtype=float)
    if values.shape[-1] < MIN_TESTS:
        raise too_few(values.shape[-1])
    if not (values > 0.0).all():
        raise GearworkError(f"test result is {values.min():g}: it must be above 0")
    logs: Floats = np.log(values)
    return logs


def too_few(tests: int) -> GearworkError:
    """Return the error of a characteristic value from too few tests."""
    return GearworkError(
        f"there are {tests} tests: at least {MIN_TESTS} are needed for a characteristic value"
    )
