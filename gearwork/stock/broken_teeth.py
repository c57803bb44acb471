"""What teeth that were broken have shown of their sheet, and what a few tests may count for."""

from dataclasses import dataclass
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


FOLDED = np.arange(91.0)
"""Directions of an edge to the face grain, degrees: a sheet is alike on both sides of its grain."""


@dataclass(frozen=True)
class Broken:
    """The teeth broken in one direction; torques on their gear, N·m.

    `direction`: of the tooth, degrees; `count`: how many; `mean`: geometric mean of the torques;
    `spread`: of their logarithms, as it counts; `characteristic`: by EN 14358, for a test of the
    standard's duration on a tip without friction; `expected`: the mean that was expected;
    `factor`: on the table's tension strength, where the fillet is stressed most.
    """

    direction: float
    count: int
    mean: float
    spread: float
    characteristic: float
    expected: float
    factor: float


@dataclass(frozen=True)
class BrokenTeeth:
    """Factors on a sheet's table that hold at the roots of teeth, and nowhere else.

    `found`: by direction of the teeth; `tension`: factors on the tension strength of an edge in
    each direction of `FOLDED`; `compression`, `shear`: on those strengths; `covers`: whether teeth
    were broken in directions enough that the weakest of them speaks for a whole gear.
    """

    found: tuple[Broken, ...]
    tension: tuple[float, ...]
    compression: float
    shear: float
    covers: bool

    def tension_at(self, angle: ArrayLike) -> Floats:
        """Return the factor on the tension strength of an edge at `angle`, degrees to the grain."""
        folded = np.abs((np.asarray(angle, dtype=float) + 90.0) % 180.0 - 90.0)
        factors: Floats = np.interp(folded, FOLDED, self.tension)
        return factors

    @property
    def weakest(self) -> Broken:
        """The direction whose teeth bore least, of what their table promises."""
        return min(self.found, key=lambda broken: broken.factor)

    @property
    def source(self) -> str:
        """What the strength rests on."""
        count = sum(broken.count for broken in self.found)
        angles = ", ".join(f"{broken.direction:g}°" for broken in self.found)
        return (
            f"{count} teeth of this sheet broken at {angles} to the grain; EN 14358 (from memory)"
        )
