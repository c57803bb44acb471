"""Plywood: one sheet, its strengths and its stiffness in any direction of its plane."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np
from numpy.typing import ArrayLike

from gearwork.errors import Bound, GearworkError, number
from gearwork.numbers import Floats
from gearwork.stock import orthotropic, table
from gearwork.stock.broken_teeth import BrokenTeeth
from gearwork.stock.orthotropic import Angle, Pair, like


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
    panel_shear, planar_shear : float
        In the plane, in its grain axes; rolling shear of the veneers, the weaker direction; MPa.
    face_compression : float
        Crushing under a washer on the face, MPa.
    modulus, shear_modulus, poisson : tuple of float, float, float
        In-plane, MPa; contraction across the face grain under stress along it.
    density, characteristic_density : float
        Mean, for weight, and 5th percentile, for bolts; kg/m³.
    source, certainty : str
        Where the figures come from and how sure they are.
    nominal_thickness, thickness_limits : float, tuple of float; optional
        As sold, and what the maker of the sheet allows, mm.
    bending, bending_modulus : tuple of float, optional
        FLATWISE, load on the face, MPa. Not for teeth.
    broken_teeth : BrokenTeeth, optional
        What teeth of this sheet have borne, which then counts at the roots of teeth.

    Raises
    ------
    GearworkError
        If a figure is an order of magnitude away from what plywood has; a unit that would make
        sense of it is named.

    Examples
    --------
    >>> sheet = plywood("birch", 12)
    >>> sheet.tension, sheet.tension_at(90.0)  # the second across the face grain
    ((40.0, 35.0), 35.0)
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
    broken_teeth: BrokenTeeth | None = None

    def __post_init__(self) -> None:
        for field in _IN_PLANE:
            pair = _pair(field, self.name, getattr(self, field))
            object.__setattr__(self, field, pair)
        for field in (name for name in _SENSE if name not in _IN_PLANE):
            words = f"{field.replace('_', ' ')} of {self.name}"
            _SENSE[field].number(words, getattr(self, field))
        for low, high in _NEVER_ABOVE.items():
            one, other = getattr(self, low), getattr(self, high)
            if one > other:
                raise GearworkError(
                    f"{low.replace('_', ' ')} of {self.name} is {one:g}, its"
                    f" {high.replace('_', ' ')} {other:g}: the first is never the greater one; look"
                    " whether they are swapped"
                )
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
        """Return the characteristic tension strength at `angle` degrees to the face grain, MPa.

        Norris interaction (`orthotropic.norris_index`) of the components that tension in this
        direction has along, across and in shear to the face grain.

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

        The weaker of the two signs of shear; in the grain axes it is `panel_shear`.
        """
        one, other = (self.norris_index(0.0, 0.0, sign, angle) for sign in (1.0, -1.0))
        return like(angle, 1.0 / np.maximum(one, other))

    def modulus_at(self, angle: Angle) -> Angle:
        """Return Young's modulus in direction `angle` (degrees to the face grain), MPa."""
        return like(
            angle, orthotropic.modulus_at(angle, self.modulus, self.shear_modulus, self.poisson)
        )

    def stiffness(self, angle: ArrayLike) -> Floats:
        """Return the plane-stress stiffness (..., 3, 3), MPa, in axes turned by `angle`.

        (σx, σy, τxy) = matrix @ (εx, εy, γxy), the x axis at `angle` degrees to the face grain.
        """
        return orthotropic.stiffness(angle, self.modulus, self.shear_modulus, self.poisson)

    def norris_index(
        self, sigma_x: ArrayLike, sigma_y: ArrayLike, tau: ArrayLike, angle: ArrayLike = 0.0
    ) -> Floats:
        """Return the failure index of in-plane stresses: at most 1 holds, proportional to load.

        Stresses in MPa, in axes turned by `angle` degrees from the face grain; all broadcast.
        """
        strengths = (self.tension, self.compression, self.panel_shear)
        return orthotropic.norris_index(sigma_x, sigma_y, tau, angle, *strengths)

    @property
    def thinnest(self) -> float:
        """How thin it may turn out to be, mm: as it is, once it was measured."""
        low, high = self.thickness_limits or (self.thickness, math.inf)
        return low if low == high else min(low, (1.0 - THINNER) * self.thickness)

    @property
    def thinned(self) -> "Plywood":
        """The same sheet as thin as it may turn out to be."""
        return self if self.thinnest == self.thickness else self.measured(self.thinnest)

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
            thickness_limits=(real, real),
            certainty=f"{self.certainty}; reckoned down to the measured thickness {real:g} mm",
            bending=None,
            bending_modulus=None,
        )


THINNER = 0.03
"""Share by which a sheet may be thinner than it was sold as, where no limits are known: common
practice."""

_IN_PLANE = ("tension", "compression", "modulus")


@dataclass(frozen=True)
class Figure(Bound):
    """What plywood can have of a figure; the unit that would make sense of another is named."""

    def number(self, name: str, value: object) -> float:
        """Return `value` as a float, or raise an error that says what is wrong with it."""
        found = number(name, value, unit=self.unit, above=0.0)
        low, high = self.at_least or 0.0, self.at_most or math.inf
        if low <= found <= high:
            return found
        slips = [
            f"in {other} it would be {size * found:.4g} {self.unit}"
            for other, size in _SLIPS[self.unit].items()
            if low <= size * found <= high
        ]
        raise GearworkError(
            f"{name} is {found:g} {self.unit}: plywood has {low:g} to {high:g} {self.unit};"
            f" {', '.join(slips) or 'look at the declaration again'}"
        )


def _figure(unit: str, low: float, high: float, *entries: str) -> Figure:
    return Figure(unit, at_least=low, at_most=high, entries=entries)


_SENSE = {
    "thickness": _figure("mm", 1.0, 100.0),
    "tension": _figure("MPa", 2.0, 150.0, "along", "across"),
    "compression": _figure("MPa", 2.0, 150.0, "along", "across"),
    "panel_shear": _figure("MPa", 0.8, 50.0),
    "planar_shear": _figure("MPa", 0.2, 10.0),
    "face_compression": _figure("MPa", 0.4, 40.0),
    "modulus": _figure("MPa", 500.0, 30_000.0, "along", "across"),
    "shear_modulus": _figure("MPa", 50.0, 3000.0),
    "density": _figure("kg/m³", 150.0, 1300.0),
    "characteristic_density": _figure("kg/m³", 120.0, 1300.0),
}
"""Unit of each figure, and what plywood from poplar to densified beech can have: about a tenth of
what birch has (less across the grain of thin sheets) to several times of it."""

_NEVER_ABOVE = {"characteristic_density": "density", "planar_shear": "panel_shear"}

_SLIPS = {
    "mm": {"m": 1e3, "cm": 10.0, "inches": 25.4},
    "MPa": {"GPa": 1e3, "N/m² (Pa)": 1e-6, "kN/m² (kPa)": 1e-3, "kgf/cm²": 0.0981, "psi": 6.895e-3},
    "kg/m³": {"g/cm³": 1e3, "kN/m³": 102.0, "lb/ft³": 16.02},
}
"""Other units met in declarations, each with its size in the one that is needed."""


def _pair(field: str, name: str, pair: object) -> Pair:
    if not isinstance(pair, tuple | list) or len(pair) != 2:
        raise GearworkError(
            f"{field} of {name} is {pair!r}: two numbers, along and across the face grain, are"
            " needed"
        )
    along, across = (
        _SENSE[field].number(f"{field} of {name} {direction} the face grain", value)
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

    Figures are of "birch" and of "thin-veneer spruce", all plies 1.4 mm. Ordinary spruce plywood
    has plies of 2 to 3 mm and carries about half as much: it goes by its own declaration.

    Parameters
    ----------
    kind : str
        One of `plywood_kinds`.
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
        known = _ORDINARY_SPRUCE if kind == "spruce" else ""
        raise GearworkError(
            f"no strength figures for plywood {kind!r}; there are: {listed}. {known}{_ASK}"
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
    row = common["sheet"][sizes[kind].index(nominal)]
    figures = {name: common[name] for name in _ALIKE}
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


# One maker's declaration, read; the columns by thickness are lost, so it is no table to rate by.
_ORDINARY_SPRUCE = (
    "Ordinary spruce plywood differs from maker to maker; one declares f_t,k 6.9 to 13.4 MPa along"
    " and 4.6 to 8.2 across, f_c,k 11.5 to 22.3 and 7.7 to 13.6, where thin-veneer spruce (every"
    " ply 1.4 mm) has up to 2.9 times that. "
)

_ASK = (
    "Without figures a sheet is not rated. Look in its declaration of performance (EN 13986) for "
    "the characteristic in-plane tension and compression strengths f_t,k and f_c,k along and "
    "across the face grain, the panel shear strength f_v,k, the moduli E_t and G_v and the "
    "density, and enter them: in a design file with kind = 'declared' under [sheet], in Python "
    "with plywood_from_strengths(...). Or its veneers, where they are thin and of birch or spruce: "
    "kind = 'layup', plywood_from_layup(...). Its bending strength f_m,k will not do: that is "
    "flatwise"
)


def _listed(sizes: tuple[float, ...]) -> str:
    return ", ".join(f"{size:g}" for size in sizes)


THICKEST_VENEER = 2.0
"""For which figures of 1.4 mm veneers are taken, mm: assumption."""

VENEER = Bound("mm", above=0.0, at_most=THICKEST_VENEER)

_ALIKE = (
    "panel_shear",
    "shear_modulus",
    "poisson",
    "face_compression",
    "density",
    "characteristic_density",
    "source",
)
_PAIRS = (*_IN_PLANE, "bending", "bending_modulus")


def plywood_from_strengths(
    name: str,
    thickness: Annotated[float, _SENSE["thickness"]],
    *,
    tension: Annotated[tuple[float, float], _SENSE["tension"]],
    compression: Annotated[tuple[float, float], _SENSE["compression"]],
    panel_shear: Annotated[float, _SENSE["panel_shear"]],
    modulus: Annotated[tuple[float, float], _SENSE["modulus"]],
    shear_modulus: Annotated[float, _SENSE["shear_modulus"]],
    density: Annotated[float, _SENSE["density"]],
    characteristic_density: Annotated[float | None, _SENSE["characteristic_density"]] = None,
    planar_shear: Annotated[float | None, _SENSE["planar_shear"]] = None,
    face_compression: Annotated[float | None, _SENSE["face_compression"]] = None,
    source: str = "declaration of performance, entered by the user",
) -> Plywood:
    """Return a sheet with the figures of its declaration of performance (EN 13986, EN 12369).

    Parameters
    ----------
    name : str
        What to call the sheet.
    thickness : float
        As measured, mm.
    tension, compression : tuple of float
        Characteristic in-plane strengths f_t,k and f_c,k along and across the face grain, MPa.
        Not the bending strength f_m,k, which is flatwise.
    panel_shear, shear_modulus : float
        Characteristic panel shear strength f_v,k and mean in-plane shear modulus G_v, MPa.
    modulus : tuple of float
        Mean in-plane moduli E_t along and across the face grain, MPa.
    density, characteristic_density : float
        Mean and 5th percentile, kg/m³; the second by default mean / 1.2 (EN 384).
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
        If a figure is not what plywood has; a slip in its unit is named.

    Examples
    --------
    >>> sheet = plywood_from_strengths(
    ...     "poplar 10 mm", 10.0, tension=(20.0, 16.0), compression=(15.0, 12.0), panel_shear=4.0,
    ...     modulus=(5000.0, 3500.0), shear_modulus=300.0, density=440.0,
    ... )
    >>> sheet.tension_at(0.0), sheet.planar_shear
    (20.0, 0.8)
    """
    mean = _SENSE["density"].number(f"density of {name}", density)
    given = {
        "characteristic density": characteristic_density,
        "planar shear": planar_shear,
        "compression across the face": face_compression,
    }
    # Rolling shear about twice the tension across the grain (EN 1995-1-1 6.1.7), 0.4 MPa for
    # softwood in EN 338; 0.007 MPa for a kg/m³ and mean density over 1.2: EN 384, softwood.
    low = mean / 1.2 if characteristic_density is None else characteristic_density
    planar_shear = 0.8 if planar_shear is None else planar_shear
    face_compression = 0.007 * low if face_compression is None else face_compression
    assumed = ", ".join(words for words, value in given.items() if value is None)
    certainty = f"as declared; assumed on the safe side: {assumed}" if assumed else "as declared"
    return Plywood(
        name=name,
        thickness=thickness,
        tension=tension,
        compression=compression,
        panel_shear=panel_shear,
        planar_shear=planar_shear,
        face_compression=face_compression,
        modulus=modulus,
        shear_modulus=shear_modulus,
        poisson=0.04,  # as birch; it hardly matters between cross-laid veneers
        density=mean,
        characteristic_density=low,
        source=source,
        certainty=certainty,
    )


def plywood_from_layup(
    veneers: Annotated[Sequence[float], VENEER],
    *,
    wood: str = "birch",
    across: Sequence[bool] | None = None,
) -> Plywood:
    """Return a sheet reckoned from its veneers: those across a load carry nothing.

    Parameters
    ----------
    veneers : sequence of float
        Thickness of every veneer as sanded, from face to face, at most 2 mm: the figures are of
        veneers of 1.4 mm, and peeling weakens thick ones.
    wood : str
        Wood of all veneers, "birch" or "thin-veneer spruce".
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
        [VENEER.number(f"thickness of veneer {i}", ply) for i, ply in enumerate(veneers, start=1)]
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
    veneer = kinds[wood]["veneer"]
    figures = {name: kinds[wood][name] for name in _ALIKE}
    figures |= {name: tuple(veneer[name] * part for part in share) for name in _IN_PLANE}
    figures |= {name: veneer[name] for name in ("planar_shear", "source", "certainty")}
    return Plywood(
        name=f"{total:g} mm {wood} plywood of {thick.size} veneers",
        thickness=total,
        **figures,
    )
