"""Sheets entered by the user: from declared strengths, or from the layup of the veneers."""

from collections.abc import Sequence

import numpy as np

from gearwork.errors import GearworkError, number
from gearwork.stock.plywood import Plywood
from gearwork.stock.tables import table

# EN 1995-1-1 6.1.7: rolling shear strength about twice the tension strength across the grain,
# 0.4 MPa for softwood in EN 338.
_CAUTIOUS_PLANAR_SHEAR = 0.8
# EN 384: characteristic compression across the grain of softwood, MPa for a kg/m³ of density;
# mean density 1.2 times the characteristic one.
_CRUSHING_BY_DENSITY = 0.007
_MEAN_TO_CHARACTERISTIC = 1.2
# As birch; it hardly matters between cross-laid veneers.
_POISSON = 0.04


def plywood_from_strengths(
    name: str,
    thickness: float,
    *,
    tension: tuple[float, float],
    compression: tuple[float, float],
    panel_shear: float,
    modulus: tuple[float, float],
    shear_modulus: float,
    density: float,
    characteristic_density: float | None = None,
    planar_shear: float | None = None,
    face_compression: float | None = None,
    source: str = "declaration of performance, entered by the user",
) -> Plywood:
    """Return a sheet with the figures of its declaration of performance (EN 13986, EN 12369).

    Parameters
    ----------
    name : str
        What to call the sheet.
    thickness : float
        Real thickness, mm.
    tension, compression : tuple of float
        Characteristic in-plane strengths f_t,k and f_c,k along and across the face grain, MPa.
        Not the bending strength f_m,k, which is flatwise.
    panel_shear : float
        Characteristic panel shear strength f_v,k, MPa.
    modulus : tuple of float
        Mean in-plane moduli E_t along and across the face grain, MPa.
    shear_modulus : float
        Mean in-plane shear modulus G_v, MPa.
    density : float
        Mean density, kg/m³.
    characteristic_density : float, optional
        5th percentile, kg/m³. Default: mean / 1.2 (EN 384).
    planar_shear : float, optional
        Characteristic rolling shear strength f_r,k, the smaller direction, MPa. Default: 0.8, an
        assumption on the safe side (EN 1995-1-1 6.1.7 with softwood of EN 338).
    face_compression : float, optional
        Characteristic compression strength across the face, MPa. Default: 0.007 times the
        characteristic density (EN 384, softwood).
    source : str
        Where the figures come from.

    Returns
    -------
    Plywood
        With these figures; what was assumed stands in its `certainty`.

    Raises
    ------
    GearworkError
        If a figure is no positive number.

    Examples
    --------
    >>> sheet = plywood_from_strengths(
    ...     "poplar 10 mm", 10.0, tension=(20.0, 16.0), compression=(15.0, 12.0), panel_shear=4.0,
    ...     modulus=(5000.0, 3500.0), shear_modulus=300.0, density=440.0,
    ... )
    >>> sheet.tension_at(0.0), sheet.planar_shear
    (20.0, 0.8)
    """
    mean = number(f"density of {name}", density, unit="kg/m³", above=0.0)
    low = characteristic_density
    if low is None:
        low = mean / _MEAN_TO_CHARACTERISTIC
    given = {
        "characteristic density": characteristic_density,
        "planar shear": planar_shear,
        "compression across the face": face_compression,
    }
    assumed = ", ".join(words for words, value in given.items() if value is None)
    certainty = f"as declared; assumed on the safe side: {assumed}" if assumed else "as declared"
    return Plywood(
        name=name,
        thickness=thickness,
        tension=tension,
        compression=compression,
        panel_shear=panel_shear,
        planar_shear=_CAUTIOUS_PLANAR_SHEAR if planar_shear is None else planar_shear,
        face_compression=_CRUSHING_BY_DENSITY * low
        if face_compression is None
        else face_compression,
        modulus=modulus,
        shear_modulus=shear_modulus,
        poisson=_POISSON,
        density=mean,
        characteristic_density=low,
        source=source,
        certainty=certainty,
    )


def plywood_from_layup(
    veneers: Sequence[float], *, wood: str = "birch", across: Sequence[bool] | None = None
) -> Plywood:
    """Return a sheet reckoned from its veneers: those across a load carry nothing.

    Parameters
    ----------
    veneers : sequence of float
        Thickness of every veneer as sanded, from face to face, mm.
    wood : str
        Wood of all veneers, "birch" or "spruce".
    across : sequence of bool, optional
        Whether each veneer lies across the face grain. Default: every second one.

    Returns
    -------
    Plywood
        As thick as its veneers together.

    Raises
    ------
    GearworkError
        If there are no veneer figures for the wood, or the layup is no plywood.

    Examples
    --------
    >>> sheet = plywood_from_layup([1.1] + 7 * [1.4] + [1.1])
    >>> [round(strength, 1) for strength in sheet.tension]
    [40.0, 35.0]
    """
    kinds = table("plywood")
    if wood not in kinds:
        raise GearworkError(
            f"no figures for veneers of {wood!r}; there are: {', '.join(kinds)}. Enter the sheet's "
            "own strengths with plywood_from_strengths(...)"
        )
    thick = np.array(
        [
            number(f"thickness of veneer {i}", veneer, unit="mm", above=0.0, at_most=6.0)
            for i, veneer in enumerate(veneers, start=1)
        ]
    )
    turned = np.arange(thick.size) % 2 == 1 if across is None else np.array(across, dtype=bool)
    if turned.shape != thick.shape:
        raise GearworkError(
            f"directions are given for {turned.size} veneers of {thick.size}: "
            "one for each is needed"
        )
    if turned.all() or not turned.any():
        raise GearworkError(
            f"all {thick.size} veneers of the layup run one way: that is no plywood; say which lie "
            "across the face grain"
        )
    total = float(thick.sum())
    share = (float(thick[~turned].sum()) / total, float(thick[turned].sum()) / total)
    veneer, common = kinds[wood]["veneer"], kinds[wood]

    def pair(quantity: str) -> tuple[float, float]:
        return (veneer[quantity] * share[0], veneer[quantity] * share[1])

    return Plywood(
        name=f"{total:g} mm {wood} plywood of {thick.size} veneers",
        thickness=total,
        tension=pair("tension"),
        compression=pair("compression"),
        panel_shear=common["panel_shear"],
        planar_shear=veneer["planar_shear"],
        face_compression=common["face_compression"],
        modulus=pair("modulus"),
        shear_modulus=common["shear_modulus"],
        poisson=common["poisson"],
        density=common["density"],
        characteristic_density=common["characteristic_density"],
        source=veneer["source"],
        certainty=veneer["certainty"],
    )
