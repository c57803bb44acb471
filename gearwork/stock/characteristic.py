"""Characteristic strength from a few tests: the 5th percentile that may be counted on."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from scipy.stats import nct

from gearwork.errors import GearworkError, number

FEWEST_TESTS = 3
LEAST_SPREAD = 0.05
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
    if tests < FEWEST_TESTS:
        raise GearworkError(
            f"there are {tests} tests: at least {FEWEST_TESTS} are needed for a characteristic"
            " value"
        )
    root = np.sqrt(tests)
    return float(nct.ppf(CONFIDENCE, tests - 1, PERCENTILE * root) / root)


def characteristic_value(results: Sequence[float]) -> float:
    """Return the 5th percentile that tests show with 75 % confidence, in their unit.

    EN 14358:2016, lognormal: exp(mean of the logarithms less k_s(n) times their standard
    deviation, which counts as at least 0.05).
    """
    logs = np.log([number("test result", result, above=0.0) for result in results])
    factor = tolerance_factor(len(logs))
    return float(np.exp(logs.mean() - factor * max(float(logs.std(ddof=1)), LEAST_SPREAD)))
