"""How a tooth of plywood breaks, in plain formulas that stay below nonlinear elements.

Elements with veneers that yield (`gearwork.fem.yielding`) tell three things. Compression along
the fillet yields first, long before anything breaks, and hands on so little that the tension on
the other side stays what it was. A fibre at the pulled edge then reaches its tensile strength at
the load the linear peak says. And the tension averaged over a millimetre reaches it at two to
three times that load. So a tooth is rated by the linear peak of tension, and compression and
shear by a section that yields all over.

Everything here takes one tooth or arrays of teeth.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from gearwork.checks.fatigue import SHEAR_APART
from gearwork.checks.tooth.stress import (
    SheetPolar,
    Utilisation,
    root_stress,
)
from gearwork.geometry.tooth import CutTooth
from gearwork.stock.broken_teeth import PERCENTILE, Broken

MEAN_OVER_CHARACTERISTIC = 1.0 / 0.75
"""Mean over 5th percentile of tension strength: assumption, a spread of 17 % of single teeth. Of
compression, which scatters less, it would be 1 / 0.8."""

VENEERS = 1.12
"""Rise of the peak from a homogeneous sheet to single veneers, mid-veneer; independent 3-D elements
(CalculiX). It counts where elements tell the stress. It is not counted on the beam's, because a
first fibre at its strength is not yet the break."""

FIRST_FIBRE = 1.18
"""Load at which the edge reaches its tensile strength in nonlinear elements, over the plain
formula's: median of the birch among 200 random teeth (10 to 60 teeth, module 3 to 10, bits of 2 to
6.35 mm, sheets of 9 to 18 mm), each in its worst direction; 1.07 to 1.29."""

AVERAGED = (3.1, -0.39)
"""Load at which tension averaged over 1 mm reaches its strength, over that at which the edge does:
3.1 ρ^-0.39, ρ in mm, fitted to the same teeth within 3 %."""

MIN_AVERAGED = 1.5

PEAK = 1.05
"""On the beam's peak of tension: the worst of 200 random teeth (13 teeth, x 0.49, a bit of half a
module) has 1.2 % more by elements with Norris' interaction in its worst direction."""

YIELDED = 2.0 / 3.0  # plastic over elastic section modulus of a rectangle


@dataclass(frozen=True)
class RootPeaks:
    """Greatest stresses at the root for 1 N/mm in an isotropic sheet, MPa; numbers or arrays.

    `tension`: along the edge, notch counted, 5 % up. `compression`: of a section that yields all
    over, which turns bending stress into two thirds, with the radial push on top, and no notch.
    `shear`: the parabola's peak, though it yields as well.
    """

    tension: Any
    compression: Any
    shear: Any

    @classmethod
    def of(cls, cut: CutTooth[Any], diameter: Any) -> "RootPeaks":
        """Return the peaks of one tooth or arrays of teeth, the force at a circle, mm."""
        peak = root_stress(cut, diameter)
        return cls(
            PEAK * peak.tension.max(axis=-1),
            (YIELDED * peak.bending + peak.radial).max(axis=-1),
            peak.shear.max(axis=-1),
        )

    def shares(self, rose: SheetPolar) -> Utilisation:
        """Return the shares of the characteristic strengths used in the worst direction.

        Some tooth of a gear stands near it, whichever way the sheet lies and the gear turns.
        Compression is held against the weakest direction along the tooth.
        """
        tension, shear = self.tension * rose.worst_tension, self.shear * rose.worst_shear
        if rose.sheet.broken_teeth is not None:
            # what broken teeth raise is tension alone: shear must stay as far apart as fatigue asks
            tension = np.maximum(tension, SHEAR_APART * shear)
        return Utilisation(tension, self.compression * rose.worst_compression, shear)


def breaking_shares(cut: CutTooth[Any], diameter: Any, rose: SheetPolar) -> Utilisation:
    """Return the shares of the characteristic strengths that 1 N/mm uses, worst direction.

    The force meets the flank at `diameter`, mm; see `RootPeaks`.
    """
    return RootPeaks.of(cut, diameter).shares(rose)


@dataclass(frozen=True)
class ExpectedBreak:
    """Where the weakest tooth breaks on average, N per mm of thickness; numbers or arrays.

    Attributes
    ----------
    low : float
        A fibre at the pulled edge reaches its mean strength: it may begin to split.
    mean : float
        Half-way between the two, an assumption.
    high : float
        Tension averaged over 1 mm reaches it.
    """

    low: Any
    mean: Any
    high: Any


def expected_break(tension_share: Any, fillet_radius: Any, layers: float = 1.0) -> ExpectedBreak:
    """Return where the weakest tooth breaks on average.

    Parameters
    ----------
    tension_share : float or ndarray
        Of the characteristic strength, for 1 N/mm, of one sheet: `breaking_shares`.
    fillet_radius : float or ndarray
        mm; the sharper the fillet, the narrower the peak, and the less it says about the break.
    layers : float
        `stack_factor`. It lowers where splitting begins; as many turned layers gain by their
        neighbours as lose, so that the rest is that of a single sheet.
    """
    first = FIRST_FIBRE * MEAN_OVER_CHARACTERISTIC / np.asarray(tension_share)
    high = first * np.maximum(AVERAGED[0] * np.asarray(fillet_radius) ** AVERAGED[1], MIN_AVERAGED)
    return ExpectedBreak(first / layers, 0.5 * (first + high), high)


def measured_break(share: float, weakest: Broken) -> ExpectedBreak:
    """Return where the weakest tooth breaks on average, by teeth that were broken on a lever.

    `share`: of the characteristic strength they showed, for 1 N/mm; the range holds nine of ten.
    """
    mean = weakest.mean / weakest.characteristic / share
    wide = float(np.exp(PERCENTILE * weakest.spread))
    return ExpectedBreak(mean / wide, mean, mean * wide)
