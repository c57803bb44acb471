"""Least squares over caliper readings, with uncertainties by JCGM 100 (GUM).

The scatter of the readings is of type A, the caliper's own error a common shift of type B;
Student's t allows for few readings.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gearwork.geometry.outline import Array

CONFIDENCE = 0.95
"""Chance that an interval holds the true value (JCGM 100, 6.3.3: the usual level)."""

MOST_SUSPECTS = 5

Rows = NDArray[np.bool_]
Model = Callable[[Array], tuple[Array, Array]]


@dataclass(frozen=True)
class Estimate:
    """A value that was measured, and how surely, mm.

    Attributes
    ----------
    value : float
        Best value.
    uncertainty : float
        Standard uncertainty (JCGM 100, 5.1.2).
    freedom : float
        Effective degrees of freedom (JCGM 100, G.4.1).
    """

    value: float
    uncertainty: float
    freedom: float = np.inf

    @property
    def half_width(self) -> float:
        """Expanded uncertainty: with 95 % chance the true value is no farther away, mm."""
        return student_quantile((1 + CONFIDENCE) / 2, self.freedom) * self.uncertainty

    @property
    def low(self) -> float:
        """Lower end of the 95 % interval, mm."""
        return self.value - self.half_width

    @property
    def high(self) -> float:
        """Upper end of the 95 % interval, mm."""
        return self.value + self.half_width

    @property
    def differs(self) -> bool:
        """Whether 0 lies outside the interval."""
        return abs(self.value) > self.half_width

    def __str__(self) -> str:
        return f"{self.value:.3f} mm ± {self.half_width:.3f}"


def student_quantile(probability: float, freedom: float) -> float:
    """Return the quantile of Student's t; `freedom` may be broken or infinite."""
    from scipy.special import stdtrit

    return float(stdtrit(freedom, probability))


@dataclass(frozen=True)
class Suspect:
    """Readings that lie off the rest together.

    Attributes
    ----------
    rows : ndarray of bool, shape (n,)
        Which readings.
    shift : float
        How far they lie off, mm.
    excess : float
        That over the largest shift that chance and caliper explain.
    """

    rows: Rows
    shift: float
    excess: float


@dataclass(frozen=True)
class Fit:
    """A model fitted to n readings by least squares.

    Attributes
    ----------
    values, residuals : ndarray, shape (n,)
        Readings, and readings minus fitted sizes, mm.
    slopes : ndarray, shape (n, p)
        How fast each reading changes with each unknown.
    solution : ndarray, shape (p,)
        The unknowns; those that no reading tells stay where they started.
    shifts : ndarray, shape (n, m)
        How far each of m independent errors of 1 mm of the caliper moves each reading, mm.
    caliper : float
        Standard uncertainty of such an error, mm.
    """

    values: Array
    residuals: Array
    slopes: Array
    solution: Array
    shifts: Array
    caliper: float

    @cached_property
    def inverse(self) -> Array:
        """Influence of each reading on each unknown, shape (p, n)."""
        return np.asarray(np.linalg.pinv(self.slopes), dtype=float)

    @cached_property
    def spare(self) -> int:
        """How many readings there are beyond those that determine the unknowns."""
        return len(self.values) - int(np.linalg.matrix_rank(self.slopes))

    @property
    def scatter(self) -> float:
        """Standard deviation of one reading, mm; the caliper's where nothing tells it."""
        if not self.spare:
            return self.caliper
        return float(np.sqrt((self.residuals**2).sum() / self.spare))

    def estimate(self, weights: Array, constant: float = 0.0) -> Estimate:
        """Return constant + weights · unknowns with its uncertainty.

        Where no reading is to spare, the scatter is an assumption with unlimited freedom.
        """
        influence = weights @ self.inverse
        random = self.scatter**2 * float((influence**2).sum())
        common = self.caliper**2 * float(((influence @ self.shifts) ** 2).sum())
        known = self.spare > 0 and random > 0
        freedom = self.spare * (1 + common / random) ** 2 if known else np.inf
        value = constant + float(weights @ self.solution)
        return Estimate(value, float(np.sqrt(random + common)), freedom)

    def suspects(self, groups: Rows) -> Iterator[Suspect]:
        """Yield readings, and groups of readings, that disagree with the rest, worst first.

        Each is tested for a shift as one more unknown of the fit, against Student's t with one
        degree of freedom less and the caliper's own error; the limit is drawn in so that it
        holds for all tests together (Bonferroni). The rest is then tested without it.

        Parameters
        ----------
        groups : ndarray of bool, shape (g, n)
            Which readings are of the same thing.
        """
        left = np.ones(len(self.values), dtype=bool)
        sets = np.vstack([np.eye(len(left), dtype=bool), groups])
        for _ in range(MOST_SUSPECTS):
            worst = self._worst(sets, left)
            if worst is None:
                return
            yield worst
            left = left & ~worst.rows
            sets = sets & left

    def _worst(self, sets: Rows, left: Rows) -> Suspect | None:
        """The set of readings farthest off, if any is, among those left."""
        slopes = self.slopes * left[:, None]
        unexplained = np.diag(left.astype(float)) - slopes @ np.linalg.pinv(slopes)
        residuals = unexplained @ self.residuals
        seen = ((sets @ unexplained) * sets).sum(axis=1)
        testable = np.flatnonzero(seen > 1e-9)
        freedom = int(left.sum()) - int(np.linalg.matrix_rank(slopes)) - 1
        if freedom < 1 or not len(testable):
            return None
        seen = seen[testable]
        shift = sets[testable] @ residuals / seen
        rest = np.maximum((residuals**2).sum() - shift**2 * seen, 0.0) / freedom
        limit = student_quantile(1 - (1 - CONFIDENCE) / 2 / len(testable), freedom)
        excess = np.abs(shift) / (limit * np.sqrt(rest / seen + self.caliper**2))
        worst = int(np.argmax(excess))
        if excess[worst] <= 1:
            return None
        return Suspect(sets[testable[worst]], float(shift[worst]), float(excess[worst]))


def fit_model(
    values: Array,
    model: Model,
    start: Array,
    caliper: float,
    shifts: Callable[[Array], Array],
) -> Fit:
    """Return the least-squares fit of a nearly linear model (Gauss and Newton).

    Parameters
    ----------
    values : ndarray, shape (n,)
        Readings, mm.
    model : callable
        Takes the unknowns, shape (p,), to the sizes, shape (n,), and their slopes, (n, p).
    start : ndarray, shape (p,)
        Where to begin.
    caliper : float
        Standard uncertainty of the caliper's own errors, mm.
    shifts : callable
        Takes the slopes to the `shifts` of `Fit`.
    """
    unknowns = start
    for _ in range(8):
        sizes, slopes = model(unknowns)
        step = np.linalg.pinv(slopes) @ (values - sizes)
        if np.abs(step).max() < 1e-7:
            break
        unknowns = unknowns + step
    return Fit(values, values - sizes, slopes, unknowns, shifts(slopes), caliper)
