"""Mass and moment of inertia of a part, and what its windows save."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gearwork.errors import number
from gearwork.geometry.measure import depth_inside
from gearwork.geometry.outline import Outline
from gearwork.geometry.part import Cut, Part

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)
_AREA = 1e-9  # m³ from mm² x mm
_MOMENT = 1e-15  # m⁵ from mm⁴ x mm


@dataclass(frozen=True)
class Heft:
    """Mass, kg, and moment of inertia about the origin's axis, kg·m²."""

    mass: float
    inertia: float

    def __add__(self, other: "Heft") -> "Heft":
        return Heft(self.mass + other.mass, self.inertia + other.inertia)

    def __sub__(self, other: "Heft") -> "Heft":
        return Heft(self.mass - other.mass, self.inertia - other.inertia)


def polar_moment(outline: Outline) -> float:
    """Return the polar second moment of the enclosed area about the origin, mm⁴.

    Negative for a clockwise outline, as its area is.

    Notes
    -----
    Green's theorem: ∫ r² dA = ¼ ∮ r² (x dy − y dx). Along a line the integrand is a polynomial
    of degree 2, along an arc a trigonometric one of degree 3 in its angle; 16 Gauss points a
    piece give both to rounding, nearly straight arcs included.
    """
    place, rate = outline.along(np.arange(len(outline))[:, None], (1 + _NODES) / 2)
    integrand = np.abs(place) ** 2 * (np.conj(place) * rate).imag
    return float((integrand @ _WEIGHTS).sum() / 8)


def heft(part: Part, density: float) -> Heft:
    """Return mass and inertia of one piece as cut, its cuts taken off.

    Parameters
    ----------
    part : Part
        The piece.
    density : float
        Of its sheet, kg/m³.

    Raises
    ------
    GearworkError
        If the density is not above 0.
    """
    whole = _prism(part.outer, part.thickness, density)
    return whole - taken_off(part.cuts, part.thickness, density)


def taken_off(cuts: Sequence[Cut], thickness: float, density: float) -> Heft:
    """Return mass and inertia that cuts save, e.g. those of the lightening windows.

    A through cut inside a pocket counts once. Thickness is that of the sheet, mm; density kg/m³.

    Raises
    ------
    GearworkError
        If the thickness or the density is not above 0.
    """
    thickness = number("thickness", thickness, unit="mm", above=0.0)
    total = Heft(0.0, 0.0)
    for cut in cuts:
        if cut.operation == "mark":
            continue
        height = cut.depth
        if height is None:
            pockets = [other.depth for other in cuts if other.depth and _within(cut, other)]
            height = thickness - sum(pockets)
        total += _prism(cut.outline, height, density)
    return total


def _prism(outline: Outline, height: float, density: float) -> Heft:
    density = number("density", density, unit="kg/m³", above=0.0)
    return Heft(
        abs(outline.area) * height * density * _AREA,
        abs(polar_moment(outline)) * height * density * _MOMENT,
    )


def _within(inner: Cut, outer: Cut) -> bool:
    return bool(depth_inside(inner.outline.vertices, outer.outline).min() > 0)
