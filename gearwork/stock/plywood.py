"""Plywood: one sheet, its strengths and its stiffness in any direction of its plane."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from gearwork.errors import GearworkError, number
from gearwork.stock import orthotropic
from gearwork.stock.orthotropic import Angle, FloatArray, Pair, like
from gearwork.stock.tables import table


@dataclass(frozen=True)
class Plywood:
    """One sheet of plywood.

    Pairs are (along, across) the face grain. Strengths are characteristic, 5th percentiles of
    short tests at 20 °C and 65 % relative humidity; moduli are means. Stresses count on the whole
    thickness. A tooth bends in the plane of the sheet: `tension` and `compression` are its
    strengths, never `bending`.

    Attributes
    ----------
    name : str
        What the sheet is.
    thickness : float
        Real thickness, mm: the table's mean, or as measured.
    tension, compression : tuple of float
        In-plane strengths, MPa.
    panel_shear : float
        Shear in the plane of the sheet, in its grain axes, MPa.
    planar_shear : float
        Rolling shear of the veneers, MPa, the weaker direction: what glue on a face leans on.
    face_compression : float
        Crushing under a washer on the face, MPa.
    modulus : tuple of float
        In-plane Young's moduli, MPa.
    shear_modulus : float
        In-plane, MPa.
    poisson : float
        Contraction across the face grain under stress along it.
    density, characteristic_density : float
        Mean, for weight, and 5th percentile, for bolts; kg/m³.
    source, certainty : str
        Where the figures come from and how sure they are.
    nominal_thickness : float, optional
        As sold, mm.
    thickness_limits : tuple of float, optional
        Smallest and greatest thickness the maker of the sheet allows, mm.
    bending, bending_modulus : tuple of float, optional
        FLATWISE, load on the face, MPa. Not for teeth.

    Raises
    ------
    GearworkError
        If a figure is no positive number.

    Examples
    --------
    >>> sheet = plywood("birch", 12)
    >>> sheet.tension
    (40.0, 35.0)
    >>> sheet.tension_at(90.0)  # across the face grain
    35.0
    """

    name: str
    thickness: float
    tension: Pair
    compression: Pair
    panel_shear: float
    planar_shear: float
    face_compression: float
    modulus: Pair
    shear_modulus: float
    poisson: float
    density: float
    characteristic_density: float
    source: str
    certainty: str
    nominal_thickness: float | None = None
    thickness_limits: Pair | None = None
    bending: Pair | None = None
    bending_modulus: Pair | None = None

    def __post_init__(self) -> None:
        for field in ("tension", "compression", "modulus"):
            pair = _pair(f"{field} of {self.name}", getattr(self, field))
            object.__setattr__(self, field, pair)
        for field, unit in _SINGLE_FIGURES.items():
            words = f"{field.replace('_', ' ')} of {self.name}"
            number(words, getattr(self, field), unit=unit, above=0.0)
        number(f"Poisson's ratio of {self.name}", self.poisson, at_least=0.0, at_most=0.6)

    @property
    def sheet(self) -> "Plywood":
        """The sheet itself, as a stack has one."""
        return self

    @property
    def layers(self) -> tuple[float, ...]:
        """Angles of the layers' face grains, as a stack has them: one layer at 0."""
        return (0.0,)

    def tension_at(self, angle: Angle) -> Angle:
        """Return the characteristic tension strength in direction `angle`, MPa.

        Norris interaction (`orthotropic.norris_index`) of the components that tension in this
        direction has along, across and in shear to the face grain.

        Parameters
        ----------
        angle : float or ndarray
            Degrees to the face grain.

        Examples
        --------
        >>> round(plywood("birch", 12).tension_at(45.0), 1)
        18.4
        """
        return like(angle, 1.0 / self.norris_index(1.0, 0.0, 0.0, angle))

    def compression_at(self, angle: Angle) -> Angle:
        """Return the characteristic compression strength in direction `angle`, as `tension_at`."""
        return like(angle, 1.0 / self.norris_index(-1.0, 0.0, 0.0, angle))

    def shear_at(self, angle: Angle) -> Angle:
        """Return the characteristic shear strength in axes turned by `angle`, MPa.

        The weaker of the two signs of shear. In the grain axes it is `panel_shear`.
        """
        one, other = (self.norris_index(0.0, 0.0, sign, angle) for sign in (1.0, -1.0))
        return like(angle, 1.0 / np.maximum(one, other))

    def modulus_at(self, angle: Angle) -> Angle:
        """Return Young's modulus in direction `angle` (degrees to the face grain), MPa."""
        return like(
            angle, orthotropic.modulus_at(angle, self.modulus, self.shear_modulus, self.poisson)
        )

    def stiffness(self, angle: ArrayLike) -> FloatArray:
        """Return the plane-stress stiffness (..., 3, 3), MPa, in axes turned by `angle`.

        (σx, σy, τxy) = matrix @ (εx, εy, γxy), the x axis at `angle` degrees to the face grain.
        """
        return orthotropic.stiffness(angle, self.modulus, self.shear_modulus, self.poisson)

    def norris_index(
        self, sigma_x: ArrayLike, sigma_y: ArrayLike, tau: ArrayLike, angle: ArrayLike = 0.0
    ) -> FloatArray:
        """Return the failure index of in-plane stresses: at most 1 holds, proportional to load.

        Parameters
        ----------
        sigma_x, sigma_y, tau : array_like
            Stresses, MPa, in axes turned by `angle` degrees from the face grain; all broadcast.
        """
        strengths = (self.tension, self.compression, self.panel_shear)
        return orthotropic.norris_index(sigma_x, sigma_y, tau, angle, *strengths)

    def measured(self, thickness: float) -> "Plywood":
        """Return this sheet at the thickness the calipers found, mm.

        Which veneer makes the difference is not known, so the unfavourable one counts. A thinner
        sheet has lost face veneer: the force it carries along the grain falls by that veneer's,
        and no stress is raised. A thicker sheet carries no more force than this one, so that
        stresses and moduli shrink with the thickness. Flatwise figures are left out.

        Raises
        ------
        GearworkError
            If the thickness is more than 15 % away: another sheet, or another layup; or if what
            is missing is all that carried along the grain.
        """
        words = f"measured thickness of {self.name}"
        low, high = (round(share * self.thickness, 2) for share in (0.85, 1.15))
        real = number(words, thickness, unit="mm", at_least=low, at_most=high)
        shrink = min(1.0, self.thickness / real)
        gone = max(0.0, 1.0 - real / self.thickness)

        def adjusted(pair: Pair) -> Pair:
            along = (pair[0] - gone * sum(pair)) / (1.0 - gone)
            if along <= 0.0:
                raise GearworkError(
                    f"{words} is {real:g} mm: the veneer lost on its face is all that carries"
                    " along the grain; enter the figures of the thinner sheet itself"
                )
            return (along * shrink, pair[1] * shrink)

        return replace(
            self,
            thickness=real,
            tension=adjusted(self.tension),
            compression=adjusted(self.compression),
            modulus=adjusted(self.modulus),
            panel_shear=self.panel_shear * shrink,
            shear_modulus=self.shear_modulus * shrink,
            certainty=f"{self.certainty}; reckoned down to the measured thickness {real:g} mm",
            bending=None,
            bending_modulus=None,
        )


_SINGLE_FIGURES = {
    "thickness": "mm",
    "panel_shear": "MPa",
    "planar_shear": "MPa",
    "face_compression": "MPa",
    "shear_modulus": "MPa",
    "density": "kg/m³",
    "characteristic_density": "kg/m³",
}


def _pair(name: str, pair: object) -> Pair:
    if not isinstance(pair, tuple | list) or len(pair) != 2:
        raise GearworkError(
            f"{name} is {pair!r}: two numbers are needed, along and across the grain"
        )
    along, across = (
        number(f"{name} {direction} the face grain", value, unit="MPa", above=0.0)
        for value, direction in zip(pair, ("along", "across"), strict=True)
    )
    return along, across


def plywood_kinds() -> dict[str, tuple[float, ...]]:
    """Return the kinds of plywood with figures, each with its nominal thicknesses in mm."""
    return {
        kind: tuple(row["nominal"] for row in rows["sheet"])
        for kind, rows in table("plywood").items()
    }


def plywood(kind: str, thickness: float) -> Plywood:
    """Return a sheet by its kind and nominal thickness.

    Parameters
    ----------
    kind : str
        "birch" or "spruce" (of thin veneers).
    thickness : float
        Nominal, as sold, mm.

    Returns
    -------
    Plywood
        With the strengths of the table (`Plywood.source`).

    Raises
    ------
    GearworkError
        If there are no figures for such a sheet.

    Examples
    --------
    >>> plywood("birch", 12).tension
    (40.0, 35.0)
    """
    sizes = plywood_kinds()
    if not isinstance(kind, str) or kind not in sizes:
        listed = ", ".join(f"{name} ({_listed(sizes[name])} mm)" for name in sizes)
        raise GearworkError(
            f"no strength figures for plywood {kind!r}; there are: {listed}. {_ASK}"
        )
    nominal = number("nominal thickness of plywood", thickness, unit="mm", above=0.0)
    if nominal not in sizes[kind]:
        nearest = min(sizes[kind], key=lambda size: abs(size - nominal))
        raise GearworkError(
            f"no {kind} plywood of {nominal:g} mm; nominal thicknesses with figures: "
            f"{_listed(sizes[kind])} mm. For a sheet measured with calipers take the size it was "
            f"sold as and then .measured(...), e.g. plywood({kind!r}, {nearest:g})"
            f".measured({nominal:g}); for another sheet enter its own figures. {_ASK}"
        )
    common = table("plywood")[kind]
    return _from_row(common, common["sheet"][sizes[kind].index(nominal)])


_ASK = (
    "Without figures a sheet is not rated. Look in its declaration of performance (EN 13986) for "
    "the characteristic in-plane tension and compression strengths f_t,k and f_c,k along and "
    "across the face grain, the panel shear strength f_v,k, the moduli E_t and G_v and the "
    "density, and enter them with plywood_from_strengths(...), or its veneers, if they are birch "
    "or spruce, with plywood_from_layup(...). Its bending strength f_m,k will not do: that is "
    "flatwise"
)


def _listed(sizes: tuple[float, ...]) -> str:
    return ", ".join(f"{size:g}" for size in sizes)


def _from_row(common: dict[str, Any], row: dict[str, Any]) -> Plywood:
    figures: dict[str, Any] = {name: common[name] for name in _ALIKE}
    figures |= {name: tuple(row[name]) for name in _PAIRS if name in row}
    return Plywood(
        name=f"{row['nominal']:g} mm {common['name']}",
        thickness=row["thickness"],
        nominal_thickness=row["nominal"],
        thickness_limits=tuple(row["limits"]),
        planar_shear=min(row["planar_shear"]),
        certainty=row.get("certainty", common["certainty"]),
        **figures,
    )


_ALIKE = (
    "panel_shear",
    "shear_modulus",
    "poisson",
    "face_compression",
    "density",
    "characteristic_density",
    "source",
)
_PAIRS = ("tension", "compression", "modulus", "bending", "bending_modulus")
