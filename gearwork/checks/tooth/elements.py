"""Teeth by finite elements: the utilisation of every one of a gear, and one that is broken.

Elastic: all teeth share one mesh, directions half a turn apart one solution, and so do mirrored
ones. Of a stack each layer is judged alone. The wheel is taken as a disc without windows near the
rim. Broken: with veneers that yield, the slow check of `breaking`.
"""

from dataclasses import dataclass, fields, replace
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from gearwork.checks.tooth.breaking import VENEERS, breaking_shares
from gearwork.checks.tooth.mesh import CutPair
from gearwork.checks.tooth.strength import BEAM, WeakestRoot, tooth_break, weakest_place
from gearwork.checks.tooth.stress import SheetPolar, Utilisation, root_stress, stack_factor
from gearwork.errors import GearworkError, number
from gearwork.fem.grid import mesh_region
from gearwork.fem.plane import ElasticBody, stress_along
from gearwork.fem.yielding import BrokenTooth, Veneers, YieldingTooth
from gearwork.geometry.gear import GearShape
from gearwork.geometry.gear_outline import tooth_profile
from gearwork.geometry.pair import Side
from gearwork.geometry.rack import Rack
from gearwork.geometry.tooth import CutTooth, load_at
from gearwork.numbers import Floats, Ints
from gearwork.stock.laminate import Panel

ELEMENTS = 12
"""Elements to a fillet's radius: the peak within 2 %, see `ToothMesh`."""

FACETS = 300
"""Chord error of the profile: this part of an element, but at most FINEST."""

FINEST = 1e-3
RIM = 5.0
"""Depth in diameter, in modules, from the root circle to where the piece is held."""

INSIDE = 2e-3
"""Modules by which a load at the tip stands inside the corner."""

DIRECTIONS = np.arange(0.0, 180.0, 7.5)
"""Tooth directions tried for the worst; every 2.5° finds about 1 % more."""


@dataclass(frozen=True)
class ToothStress:
    """Stress at the fillets of a tooth, one row per load.

    Attributes
    ----------
    points : (n, 2) ndarray
        Places on the edge, mm, from mid-root at y < 0 up to the form diameter, then from the form
        diameter at y > 0 down to mid-root.
    tangents : (n, 2) ndarray
        Unit direction of the edge at these places.
    along : (k, n) ndarray
        Stress along the edge, MPa, tension positive.
    inner : (k, n, 3) ndarray
        Stresses σx, σy, τxy, MPa, at the reading depth below each place.
    reaction : (k, 2) ndarray
        What the rest of the wheel exerts on the piece, N per mm of thickness.
    """

    points: Floats
    tangents: Floats
    along: Floats
    inner: Floats
    reaction: Floats

    @property
    def stress(self) -> Floats:
        """(k, n, 3) stresses σx, σy, τxy at the edge, MPa."""
        return stress_along(self.tangents, self.along)

    @property
    def tangent_angle(self) -> Floats:
        """(n,) direction of the edge, degrees from the tooth's centre line, 0 to 180."""
        return np.asarray(np.degrees(np.arctan2(self.tangents[:, 1], self.tangents[:, 0])) % 180.0)


@dataclass(frozen=True)
class ToothMesh:
    """One tooth of a wheel, meshed for `solve`.

    Sides cut at mid-root would stiffen the fillets: in plywood at 45° they take 4 % off the
    tension there. With a neighbour at each side it is within 1 % of two neighbours. An inner edge
    held 2.5 modules below the root circle is within 2 % of one held at 4.

    Attributes
    ----------
    profile : (n, 2) ndarray
        Edge of the tooth, mm, from mid-root at y < 0 over the tip to mid-root at y > 0, tooth
        centred on +x, wheel centre at the origin. Facets with a chord error of at most a
        hundredth of the fillet size.
    rim_diameter : float
        Inner edge of the piece, mm.
    form_diameter : float
        Diameter up to which the fillets are finely meshed and read, mm.
    fillet_size : float
        Element length along the fillets, mm. Found on teeth of 12 to 45, birch plywood at all
        angles: a twelfth of the fillet radius gives the peak of stress within 2 %, an eighth
        within 4 %, a fourth within 8 %, mostly low.
    rim_held : bool
        Whether the wheel goes on inside the rim diameter (a disc), or ends there (a bare rim).
    reading_depth : float
        Distance below the edge at which inner stresses are read, mm.

    Raises
    ------
    GearworkError
        If the profile is no tooth, or the diameters do not fit it.
    """

    profile: Floats
    rim_diameter: float
    form_diameter: float
    fillet_size: float
    rim_held: bool = True
    reading_depth: float = 0.0

    def __post_init__(self) -> None:
        if (
            self.profile.ndim != 2
            or self.profile.shape[1] != 2
            or not np.isfinite(self.profile).all()
        ):
            raise GearworkError(
                f"the tooth profile has the shape {self.profile.shape}: (n, 2) is needed"
            )
        ends = np.hypot(*self.profile[[0, -1]].T)
        angles = np.arctan2(*self.profile[[0, -1], ::-1].T)
        even = np.allclose(ends, ends[0], rtol=1e-6) and np.isclose(angles.sum(), 0.0, atol=1e-6)
        if not even or not 0.0 < self._pitch < 2.0 * np.pi / 3.0:
            raise GearworkError(
                f"the tooth profile runs from {np.degrees(angles[0]):.4g}° at radius"
                f" {ends[0]:.5g} mm to {np.degrees(angles[1]):.4g}° at {ends[1]:.5g} mm: it must"
                " go from mid-root to mid-root, centred on +x, counter-clockwise"
            )
        root, tip = 2.0 * np.hypot(*self.profile.T).min(), 2.0 * np.hypot(*self.profile.T).max()
        number("form diameter", self.form_diameter, unit="mm", above=root, at_most=tip)
        number(
            "rim diameter", self.rim_diameter, unit="mm", above=0.0, at_most=root - self.fillet_size
        )
        number(
            "fillet element size", self.fillet_size, unit="mm", above=0.0, at_most=(tip - root) / 6
        )
        number(
            "reading depth", self.reading_depth, unit="mm", at_least=0.0, at_most=(tip - root) / 6
        )

    def solve(self, stiffness: Floats, points: Floats, forces: Floats) -> ToothStress:
        """Stress at the fillets under forces on the flanks.

        Parameters
        ----------
        stiffness : (3, 3) ndarray
            Plane-stress stiffness of the sheet in the tooth's axes, MPa: `Plywood.stiffness` at
            the angle of the tooth to the face grain.
        points : (k, 2) ndarray
            Where on the flanks each force acts, mm.
        forces : (k, 2) ndarray
            N per mm of thickness; each is a load by itself.
        """
        body, edges = self.body, self._fillet_edges
        solution = body.solve(stiffness, body.point_loads(points, forces))
        along = solution.edge_stress[:, edges]
        tangents = body.tangents[edges]
        inner = stress_along(tangents, along)
        if self.reading_depth:
            inner = solution.stress(self._inner_operator)
        return ToothStress(body.mesh.middles[edges], tangents, along, inner, solution.reaction)

    @cached_property
    def body(self) -> ElasticBody:
        """The meshed piece of the wheel."""
        loop, sizes = self._outline()
        mesh = mesh_region([loop], [sizes])
        diameter, angle = _polar(mesh.middles)
        below_root = diameter < _polar(self.profile[:1])[0] * (1.0 - 1e-6)
        at_rim = diameter < self.rim_diameter * (1.0 + 1e-3)
        held = below_root & (self.rim_held | ~at_rim) & (at_rim | (abs(angle) > 1.49 * self._pitch))
        return ElasticBody(mesh, np.repeat(held[:, None], 2, axis=1))

    @property
    def _pitch(self) -> float:
        """Angle from mid-root to mid-root, radians."""
        start, end = _polar(self.profile[[0, -1]])[1]
        return float(end - start)

    def _outline(self) -> tuple[Floats, Floats]:
        """Closed outline of the piece, and the element size wanted at each of its points."""
        diameter, _ = _polar(self.profile)
        coarse = (diameter.max() - diameter.min()) / 12.0
        rounded = diameter <= self.form_diameter
        own = np.where(rounded, self.fillet_size, coarse)
        other = np.where(rounded, min(3.0 * self.fillet_size, coarse), coarse)
        teeth = [_turned(self.profile, k * self._pitch)[:-1] for k in (-1, 0, 1)]
        last = _turned(self.profile[-1:], self._pitch)
        sweep = np.linspace(1.5, -1.5, 400) * self._pitch
        rim = 0.5 * self.rim_diameter * np.column_stack([np.cos(sweep), np.sin(sweep)])
        loop = np.vstack([*teeth, last, rim])
        sizes = [other[:-1], own[:-1], np.append(self.fillet_size, other[1:-1]), other[-1:]]
        return loop, np.concatenate([*sizes, np.full(len(rim), coarse)])

    @cached_property
    def _fillet_edges(self) -> Ints:
        diameter, angle = _polar(self.body.mesh.middles)
        root = _polar(self.profile)[0].min()
        chosen = (abs(angle) < 0.5 * self._pitch) & (diameter <= self.form_diameter)
        return np.flatnonzero(chosen & (diameter > root - 0.1 * self.fillet_size))

    @cached_property
    def _inner_operator(self) -> Any:
        x, y = self.body.tangents[self._fillet_edges].T
        places = self.body.mesh.middles[self._fillet_edges]
        return self.body.strain_operator(places + self.reading_depth * np.column_stack([-y, x]))


def _polar(points: Floats) -> tuple[Floats, Floats]:
    """Diameter and angle, radians, of points about the origin."""
    return 2.0 * np.hypot(*points.T), np.arctan2(points[:, 1], points[:, 0])


def _turned(points: Floats, angle: float) -> Floats:
    c, s = np.cos(angle), np.sin(angle)
    return np.asarray(points @ np.array([[c, s], [-s, c]]))


@dataclass(frozen=True)
class FlankPolar:
    """Teeth of a gear loaded on one flank by 1 N of normal force per mm of face width.

    Attributes
    ----------
    share : Utilisation
        Of the characteristic strengths, arrays of shape (k,); shear from the beam's parabola.
        Compression tells where wood yields first, which breaks nothing.
    tension_edge : (k,) ndarray
        Direction of the fillet to the face grain where tension is greatest, degrees, 0 to 180.
    """

    share: Utilisation
    tension_edge: Floats

    @property
    def breaking(self) -> Floats:
        """(k,) shares that count: of tension or shear, the greater one."""
        greater: Floats = np.maximum(self.share.tension, self.share.shear)
        return greater


@dataclass(frozen=True)
class ElasticPolars:
    """The roses of a gear for both directions of rotation.

    Attributes
    ----------
    angles : (k,) ndarray
        Of the teeth's axes to the face grain, degrees; tooth 0 first.
    left, right : FlankPolar
        The flank that is loaded, as seen on the drawing with the tooth upright. The left flank
        carries where the gear drives counter-clockwise or is driven clockwise.
    """

    angles: Floats
    left: FlankPolar
    right: FlankPolar

    def weakest(self, panel: Panel) -> WeakestRoot:
        """Return what breaks first of all teeth, whichever flank is loaded."""
        flank = max((self.left, self.right), key=lambda rose: float(rose.breaking.max()))
        tooth = int(np.argmax(flank.breaking))
        pulled, sheared = (float(v[tooth]) for v in (flank.share.tension, flank.share.shear))
        angle = float((flank.tension_edge if pulled >= sheared else self.angles)[tooth])
        strength = panel.sheet.tension_at if pulled >= sheared else panel.sheet.shear_at
        return WeakestRoot(
            kind="tension" if pulled >= sheared else "shear",
            share=max(pulled, sheared),
            angle=angle,
            strength=float(strength(angle)),
            source=(
                "plane-stress finite elements on the tooth as cut, each layer alone; single veneers"
                f" {VENEERS:g} above the mean of a sheet, independent 3-D elements"
            ),
        )


def elastic_polars(
    cut: CutTooth[float],
    panel: Panel,
    grain: float = 0.0,
    diameter: float | None = None,
    edge_distance: float = 0.0,
) -> ElasticPolars:
    """Return the utilisation of every tooth of a gear, for both flanks.

    Parameters
    ----------
    cut : CutTooth
        The tooth as cut.
    panel : Plywood or Stack
        The sheet or stack.
    grain : float
        Direction of the face grain, degrees from tooth 0.
    diameter : float, optional
        Where the force meets the flank, mm; default the tip.
    edge_distance : float
        Read the stress this far below the edge, mm. 0, the default, takes the peak at the edge,
        which is the safe side. Composite practice reads at a characteristic distance, of the
        order of 1 mm, because a narrow peak breaks nothing (point-stress criterion, Whitney and
        Nuismer 1974, from memory). That distance has not been measured for birch plywood: any
        value is an assumption, and on the unsafe side if it is too large.

    Returns
    -------
    ElasticPolars
        At the edge there is only stress along it, held against `tension_at` and `compression_at`
        of that direction, which is Norris' interaction there; below it Norris' interaction of
        all three stresses.

    Raises
    ------
    GearworkError
        If the tooth cannot be meshed, or the edge distance is deeper than a sixth of it.

    Examples
    --------
    A tooth along the grain has its mirror image half a turn on: the same share of its strength.

    >>> from gearwork import Bit, CutPair, Gear, GearPair, plywood
    >>> cut = CutPair(GearPair(Gear(5, 12, 0.4), Gear(5, 24)), Bit(3.0))
    >>> roses = elastic_polars(cut.pinion, plywood("birch", 12))
    >>> used = roses.left.breaking
    >>> used.shape, bool(abs(used[0] - used[6]) < 1e-9)
    ((12,), True)
    """
    teeth = np.arange(int(cut.gear.teeth))
    return direction_polars(
        cut, panel, 360.0 / cut.gear.circle_teeth * teeth - grain, diameter, edge_distance
    )


def direction_polars(
    cut: CutTooth[float],
    panel: Panel,
    angles: ArrayLike,
    diameter: float | None = None,
    edge_distance: float = 0.0,
) -> ElasticPolars:
    """Return the same for teeth that stand at given angles to the grain, degrees.

    Of a stack the worst layer counts, each a single sheet in its own direction, `stack_factor`
    up: layers glued together do not share the peaks between them. Veneers are not counted here.
    """
    axis, cut = np.asarray(angles, dtype=float), on_a_gear(cut)
    sheet, layers = panel.sheet, np.unique(np.asarray(panel.layers) % 180.0)
    place = cut.gear.tip_diameter if diameter is None else diameter
    own = (axis[:, None] - layers).ravel()
    turned, which, flipped = _distinct(own)
    mesh = tooth_mesh(cut, edge_distance)
    points, forces = flank_loads(cut, place)
    peaks = np.array(
        [
            _peaks(mesh.solve(sheet.stiffness(a), points, forces), sheet, a, edge_distance > 0.0)
            for a in turned
        ]
    )
    raised = stack_factor(panel.layers)
    across = root_stress(cut, place).shear.max() / np.asarray(sheet.shear_at(own))
    shear = raised * across.reshape(axis.size, layers.size).max(axis=1)
    row = np.arange(axis.size)

    def rose(flank: int) -> FlankPolar:
        found = peaks[which, np.where(flipped, 1 - flank, flank)]
        pulled, pushed, edges = found.reshape(axis.size, layers.size, 3).transpose(2, 0, 1)
        most, turned_back = pulled.argmax(axis=1), flipped.reshape(edges.shape)
        edge = (np.where(turned_back, -edges, edges) % 180.0)[row, most]
        share = Utilisation(raised * pulled[row, most], raised * pushed.max(axis=1), shear)
        return FlankPolar(share, edge)

    return ElasticPolars(axis, rose(0), rose(1))


def elastic_roots(cut: CutPair, panel: Panel) -> dict[Side, WeakestRoot]:
    """Return the weakest tooth of both gears of a pair, whole load at the tip, veneers counted.

    Teeth stand in every direction here, so that the answer holds however the sheet lies.
    Compression is that of a section that yields, as in the beam.
    """
    rose, raised = SheetPolar.of(panel), VENEERS * stack_factor(panel.layers)
    found: dict[Side, WeakestRoot] = {}
    for side, gear, _, tooth in cut.sides():
        root = direction_polars(tooth, panel.sheet, DIRECTIONS).weakest(panel.sheet)
        root = replace(root, share=raised * root.share)
        shares = breaking_shares(tooth, gear.tip_diameter, rose)
        if shares.compression > root.share:
            root = weakest_place(replace(shares, tension=0.0, shear=0.0), rose, BEAM)
        found[side] = replace(root, breaks=tooth_break(tooth, panel))
    return found


GREAT = 1000.0
"""Teeth of the gear whose tooth stands for a rack's in the elements: over half a tooth's depth its
flank strays from the straight line by four thousandths of the module."""


def on_a_gear(cut: CutTooth[float]) -> CutTooth[float]:
    """Return a tooth of a rack as one of a great gear, and one of a gear as it is."""
    if not isinstance(cut.gear, Rack):
        return cut
    gear = GearShape(*(getattr(cut.gear, field.name) for field in fields(GearShape)))
    gear = replace(gear, teeth=GREAT)
    root = gear.reference_diameter + 2 * cut.gear.above(cut.root_diameter)
    centre = (root + cut.fillet_diameter) / 2
    tangent = float(np.sqrt(centre**2 - gear.base_diameter**2 / 4))
    return replace(
        cut,
        gear=gear,
        root_diameter=root,
        centre_angle=cut.centre_angle * cut.gear.circle_teeth / GREAT,
        contact=tangent - cut.fillet_diameter / 2,
    )


def tooth_mesh(cut: CutTooth[float], reading_depth: float = 0.0) -> ToothMesh:
    """Return the mesh of a tooth as cut."""
    size = cut.fillet_diameter / 2 / ELEMENTS
    rim = max(cut.root_diameter - RIM * cut.gear.module, 0.3 * cut.root_diameter)
    profile = tooth_profile(cut, min(FINEST, size / FACETS))
    return ToothMesh(profile, rim, 2 * cut.fillet_end + 2 * size, size, reading_depth=reading_depth)


def flank_loads(cut: CutTooth[float], diameter: float) -> tuple[Floats, Floats]:
    """Return places, mm, and unit normal forces on left and right flank, each shape (2, 2)."""
    gear = cut.gear
    place = min(diameter, gear.tip_diameter - INSIDE * gear.module)
    half = gear.thickness_at(place) / place
    angle = np.radians(load_at(gear, place).angle)
    point = place / 2 * np.array([np.cos(half), np.sin(half)])
    force = -np.array([np.sin(angle), np.cos(angle)])
    mirror = np.array([[1.0, 1.0], [1.0, -1.0]])
    return mirror * point, mirror * force


def _distinct(angles: Floats) -> tuple[Floats, Any, Any]:
    """Directions to solve; for each angle which of them, and whether it is the mirror image.

    A single sheet is its own mirror image.
    """
    axis = angles % 180.0
    flipped = axis > 90.0
    turned, which = np.unique(np.where(flipped, 180.0 - axis, axis).round(6), return_inverse=True)
    return turned, which, flipped


def _peaks(found: ToothStress, panel: Panel, axis: float, inner: bool) -> Floats:
    """Greatest share in tension and compression and the pulled edge's direction, a row a load."""
    edge = (axis + found.tangent_angle) % 180.0
    if inner:
        x, y, shear = np.moveaxis(found.inner, -1, 0)
        index = panel.norris_index(x, y, shear, axis)
    else:
        strength = np.where(found.along > 0.0, panel.tension_at(edge), panel.compression_at(edge))
        index = np.abs(found.along) / strength
    pulled, pushed = (np.where(side, index, 0.0) for side in (found.along > 0.0, found.along < 0.0))
    return np.column_stack([pulled.max(1), pushed.max(1), edge[pulled.argmax(1)]])


YIELDING_ELEMENTS = 8
"""To a fillet's radius: within 2 % of twelve."""

QUIET = 0.6
"""Modules about the force in which nothing yields: the corner there crushes, which is not meant."""


@dataclass(frozen=True)
class BrokenStack:
    """What a tooth of one or several layers bears when the mate moves all of them alike, N/mm.

    Attributes
    ----------
    layers : tuple of BrokenTooth
        Each as if it were alone.
    edge_tension, mean_tension : float
        Mean load on the layers when a fibre at the edge of the first of them reaches its tensile
        strength, and when the tension averaged over 1 mm does.
    """

    layers: tuple[BrokenTooth, ...]
    edge_tension: float
    mean_tension: float


def break_tooth(
    cut: CutTooth[float],
    panel: Panel,
    angle: float,
    *,
    left: bool = True,
    edge_only: bool = False,
) -> BrokenStack:
    """Break a tooth by finite elements with veneers that yield: a second or two a layer.

    Compression and shear yield, tension is brittle. Strengths are those of the table, so that the
    loads are 5th percentiles; glue lines and the veneers' free edges, which raise the peaks by 4
    and 12 % in three dimensions, and friction are not in it.

    Parameters
    ----------
    cut : CutTooth
        The tooth as cut, loaded at its tip.
    panel : Plywood or Stack
        The sheet or stack.
    angle : float
        Of the tooth's axis to the panel's 0, degrees.
    left : bool
        Whether the left flank is loaded, as seen with the tooth upright.
    edge_only : bool
        Whether to stop at the first fibre; `mean_tension` is then infinite.

    Returns
    -------
    BrokenStack
        Loads in N of normal force per mm of thickness.

    Raises
    ------
    GearworkError
        If the tooth cannot be meshed.

    Examples
    --------
    Independent elements let the first fibre of this tooth go at 24 N/mm on average, with means
    taken as the characteristic strength over 0.75.

    >>> from gearwork import Bit, CutPair, Gear, GearPair, plywood
    >>> tooth = CutPair(GearPair(Gear(5, 16), Gear(5, 44)), Bit(3.0)).pinion
    >>> found = break_tooth(tooth, plywood("birch", 9), 15.0, edge_only=True)
    >>> 22 < found.edge_tension / 0.75 < 26
    True
    """
    tooth, veneers = _yielding_tooth(cut, left), Veneers.of(panel.sheet)
    found = {a: tooth.load(veneers, angle - a, edge_only) for a in sorted(set(panel.layers))}
    layers = tuple(found[a] for a in panel.layers)

    def together(limit: str) -> float:
        loads = [getattr(layer, limit) for layer in layers]
        moved = min(
            float(np.interp(load, layer.load, layer.movement))
            for load, layer in zip(loads, layers, strict=True)
        )
        return float(np.mean([np.interp(moved, layer.movement, layer.load) for layer in layers]))

    return BrokenStack(
        layers, together("edge_tension"), np.inf if edge_only else together("mean_tension")
    )


@lru_cache(maxsize=4)
def _yielding_tooth(cut: CutTooth[float], left: bool) -> YieldingTooth:
    """The meshed tooth with a unit force at its tip; the same for every direction and sheet."""
    mesh = replace(tooth_mesh(cut), fillet_size=cut.fillet_diameter / 2 / YIELDING_ELEMENTS)
    points, forces = flank_loads(cut, cut.gear.tip_diameter)
    flank, quiet = 0 if left else 1, QUIET * cut.gear.module
    return YieldingTooth(mesh.body, mesh._fillet_edges, points[flank], forces[flank], quiet=quiet)
