"""What teeth that were broken have shown of their sheet."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from gearwork.numbers import Floats

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
