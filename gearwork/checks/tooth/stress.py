"""Stress at the root of a plywood tooth as cut, from beam theory and the sheet's stiffness.

On a free edge there is only stress along the edge. Three steps give it at every point of the
fillet:

1. the net stress of a beam of the section there, bending plus radial compression;
2. the notch factor Y_S of ISO 6336-3 for that section and the fillet's radius;
3. the sheet: edge strain hardly depends on how the sheet lies, so the stress follows the
   modulus in the direction of the edge, E(edge) times the mean compliance of the sheet over all
   directions. In an isotropic sheet this factor is 1.

The fibre that runs along the fillet is therefore the first to break, not the tooth at 45° to the
grain. Finite elements on 165 teeth as cut (10 to 60 teeth, bits of 0.2 to 1.2 modules, birch of 4
and 12 mm, thin-veneer spruce of 9 mm, grain at every 15°, load at the tip and at the highest point
of single contact) give 0.70 to 1.02 of the weakest tooth's utilisation found this way, and in no
direction more than 1.03, so that no further factor is needed. Seven such teeth are in
tests/checks/tooth/test_strength.py. Everything here takes one tooth or arrays of teeth.

How to turn the layers of a gear against each other so that it is about alike all round.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations_with_replacement
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from gearwork.errors import whole_number
from gearwork.geometry.tooth import CutTooth, Fillet, FlankLoad, fillet_points, load_at
from gearwork.numbers import Floats
from gearwork.stock.laminate import Panel, Stack
from gearwork.stock.plywood import Plywood

DIRECTIONS = np.arange(0.0, 180.0, 0.5)


@dataclass(frozen=True)
class RootStress:
    """Stresses along the fillets for 1 N of normal force per mm of face width.

    Attributes
    ----------
    tension : ndarray, shape (..., n)
        Along the edge on the loaded side in an isotropic sheet, notch counted, MPa.
    bending, radial : ndarray, shape (..., n)
        The beam's bending stress at its edges and the push along the tooth, without the notch, MPa.
    shear : ndarray, shape (..., n)
        Greatest of the parabola across the section, MPa.
    slope : ndarray, shape (..., n)
        Direction of the edge from the tooth's axis, degrees; on the other side it is mirrored.
    """

    tension: Floats
    bending: Floats
    radial: Floats
    shear: Floats
    slope: Floats


def notch_factor(thickness: ArrayLike, arm: ArrayLike, radius: ArrayLike) -> Any:
    """Return Y_S = (1.2 + 0.13 L) q^(1 / (1.21 + 2.3 / L)), L = s/h, q = s/2ρ.

    Parameters
    ----------
    thickness, arm, radius : array_like
        Chord s of the section, arm h of the load above it and radius ρ of the fillet, mm.

    References
    ----------
    ISO 6336-3:2006 eq. (47) (from memory); stated there for 1 ≤ q < 8 and isotropic material.
    """
    slender = np.asarray(thickness) / np.asarray(arm)
    sharp = np.maximum(np.asarray(thickness) / (2 * np.asarray(radius)), 1.0)
    return (1.2 + 0.13 * slender) * sharp ** (1 / (1.21 + 2.3 / slender))


def root_stress(cut: CutTooth[Any], diameter: Any, count: int = 24) -> RootStress:
    """Return the stresses along the fillets of a tooth loaded at a circle.

    Parameters
    ----------
    cut : CutTooth
        One tooth or arrays of teeth.
    diameter : float
        Where the force meets the flank, mm.
    count : int
        Points along the fillet.
    """
    load, fillet = load_at(cut.gear, diameter), fillet_points(cut, count)
    angle = np.radians(np.asarray(load.angle))[..., None]
    arm, bending = section_bending(load, fillet)
    thickness = fillet.thickness
    radial = np.sin(angle) / thickness
    notch = notch_factor(thickness, arm, np.asarray(cut.fillet_diameter / 2)[..., None])
    return RootStress(
        tension=np.maximum(bending - radial, 0.0) * notch,
        bending=bending,
        radial=radial,
        shear=1.5 * np.cos(angle) / thickness,
        slope=fillet.slope,
    )


def section_bending(load: FlankLoad, fillet: Fillet) -> tuple[Floats, Floats]:
    """Return arm h of the load above each section, mm, and bending stress 6 h cos α_F / s², MPa.

    Parameters
    ----------
    load : FlankLoad
        1 N per mm of face width.
    fillet : Fillet
        The sections' edges.
    """
    across = np.cos(np.radians(np.asarray(load.angle)))[..., None]
    arm = np.maximum(np.asarray(load.apex)[..., None] - fillet.x, 1e-9)
    return arm, 6 * across * arm / fillet.thickness**2


LOAD_SHARE = 1.08
"""What the worse placed of layers that lie differently takes more than the mean when the mate's
flank moves all of them alike: loads go with the stiffness of each layer's tooth."""

GLUE_LINE = 1.04
"""Rise of the peak from the middle of a layer to a glue line between layers that lie differently;
independent 3-D elements (CalculiX)."""


def stack_factor(layers: Sequence[float]) -> float:
    """Return by how much the worst layer of a stack is stressed above the same sheet alone.

    1 where all layers lie alike; else the load share times the rise at the glue line. No credit
    is given for averaging: the peak of each layer is that of a single sheet in its direction.
    """
    turned = np.asarray(layers) - layers[0]
    alike = np.allclose(np.sin(np.radians(turned)), 0.0, atol=1e-9)
    return 1.0 if alike else LOAD_SHARE * GLUE_LINE


@dataclass(frozen=True, eq=False)
class SheetPolar:
    """What a sheet or stack makes of edge stress, in every direction.

    Each layer of a stack is a sheet by itself, stressed by `stack_factor` above a single one.

    Attributes
    ----------
    sheet : Plywood
        The sheet, of which every layer is cut.
    layers : float
        `stack_factor`; it is contained in the shares below.
    compliance : float
        Mean of 1/E over all directions, 1/MPa.
    tension, compression, shear : ndarray
        Characteristic strengths in `DIRECTIONS`, MPa.
    worst_tension, worst_compression, worst_shear : float
        Greatest utilisation that 1 MPa makes in any direction, 1/MPa: of isotropic edge stress when
        pulled, of a section that yields all over when pushed, of shear.
    """

    sheet: Plywood
    layers: float
    compliance: float
    tension: Floats
    compression: Floats
    shear: Floats
    worst_tension: float
    worst_compression: float
    worst_shear: float

    @classmethod
    @lru_cache(maxsize=64)
    def of(cls, panel: Panel) -> "SheetPolar":
        """Return the rose of a sheet or stack by its table: at windows, and for elements."""
        return cls._of(panel, 1.0, 1.0, 1.0)

    @classmethod
    @lru_cache(maxsize=64)
    def of_teeth(cls, panel: Panel) -> "SheetPolar":
        """Return the rose for the roots of teeth: where some were broken, by what they bore."""
        shown = panel.sheet.broken_teeth
        if shown is None:
            return cls.of(panel)
        return cls._of(panel, shown.tension_at(DIRECTIONS), shown.compression, shown.shear)

    @classmethod
    def _of(cls, panel: Panel, tension: Any, compression: float, shear: float) -> "SheetPolar":
        sheet, layers = panel.sheet, stack_factor(panel.layers)
        modulus = np.asarray(sheet.modulus_at(DIRECTIONS))
        compliance = float(np.mean(1 / modulus))
        edge = modulus * compliance * layers
        pulled, pushed, sheared = (
            factor * np.asarray(strength_at(DIRECTIONS))
            for factor, strength_at in (
                (tension, sheet.tension_at),
                (compression, sheet.compression_at),
                (shear, sheet.shear_at),
            )
        )
        return cls(
            sheet,
            layers,
            compliance,
            pulled,
            pushed,
            sheared,
            float((edge / pulled).max()),
            float((layers / pushed).max()),
            float((layers / sheared).max()),
        )

    def edge_factor(self, angle: Any) -> Any:
        """Return stress along an edge at `angle` to the grain over that in an isotropic sheet."""
        return np.asarray(self.sheet.modulus_at(angle)) * self.compliance


@dataclass(frozen=True)
class Utilisation:
    """Shares of the characteristic strengths used, by kind; each a number or an array."""

    tension: Any
    compression: Any
    shear: Any

    @property
    def max(self) -> Any:
        """The share that counts."""
        return np.maximum(np.maximum(self.tension, self.compression), self.shear)

    @property
    def kind(self) -> str:
        """Name of the share that counts, of single numbers."""
        return max(("tension", "compression", "shear"), key=lambda kind: getattr(self, kind))


MAX_LAYERS = 6
GRID = {1: 180.0, 2: 5.0, 3: 15.0, 4: 20.0}
COARSE = 30.0


def best_angles(sheet: Plywood, layers: int) -> tuple[float, ...]:
    """Return the angles of the layers' face grains, the first 0, for the evenest gear.

    Parameters
    ----------
    sheet : Plywood
        What every layer is cut from.
    layers : int
        How many, 1 to 6.

    Returns
    -------
    tuple of float
        Degrees, as `Stack` takes them.

    Raises
    ------
    GearworkError
        If the number of layers is out of its range.

    Notes
    -----
    Turned layers are worth it for shape and evenness: the gear is about as stiff in every
    direction, and swells and warps alike all round. They make no tooth stronger: each layer is
    stressed like a single sheet, and at the glue line a little more, see `stack_factor`.
    What counts is the greatest over the least modulus of all directions. Tries every set on a
    grid: 5° for two layers, 15° for three, 20° for four, 30° for more. Where nothing gains 1 %,
    all layers stay at 0.

    Examples
    --------
    >>> from gearwork import plywood
    >>> best_angles(plywood("birch", 12), 2)
    (0.0, 45.0)
    """
    count = whole_number("number of layers", layers, at_least=1, at_most=MAX_LAYERS)
    grid = np.arange(0.0, 180.0, GRID.get(count, COARSE)).tolist()

    def uneven(angles: tuple[float, ...]) -> float:
        modulus = np.asarray(Stack(sheet, angles).modulus_at(DIRECTIONS))
        return round(float(modulus.max() / modulus.min()), 9)

    sets = [(0.0, *rest) for rest in combinations_with_replacement(grid, count - 1)]
    best, straight = min(sets, key=uneven), (0.0,) * count
    return best if uneven(straight) > 1.01 * uneven(best) else straight
