"""Utilisation of every tooth of a gear by finite elements, each in its own direction.

All teeth share one mesh, directions half a turn apart one solution, and in a sheet that is its
own mirror image so do mirrored ones. The wheel is taken as a disc without windows near the rim.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from gearwork.checks.tooth.mesh import CutPair
from gearwork.checks.tooth.strength import WeakestRoot
from gearwork.checks.tooth.stress import Utilisation, root_stress
from gearwork.fem.plane import ToothMesh, ToothStress
from gearwork.geometry.gear_outline import tooth_profile
from gearwork.geometry.pair import Side
from gearwork.geometry.tooth import CutTooth, load_at
from gearwork.numbers import Floats
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
class FlankRose:
    """Teeth of a gear loaded on one flank by 1 N of normal force per mm of face width.

    Attributes
    ----------
    share : Utilisation
        Of the characteristic strengths, arrays of shape (k,); shear from the beam's parabola.
    tension_edge, compression_edge : (k,) ndarray
        Direction of the fillet to the face grain where each is greatest, degrees, 0 to 180.
    """

    share: Utilisation
    tension_edge: Floats
    compression_edge: Floats


@dataclass(frozen=True)
class ElasticRoses:
    """The roses of a gear for both directions of rotation.

    Attributes
    ----------
    angles : (k,) ndarray
        Of the teeth's axes to the face grain, degrees; tooth 0 first.
    left, right : FlankRose
        The flank that is loaded, as seen on the drawing with the tooth upright. The left flank
        carries where the gear drives counter-clockwise or is driven clockwise.
    """

    angles: Floats
    left: FlankRose
    right: FlankRose

    def weakest(self, panel: Panel) -> WeakestRoot:
        """Return what breaks first of all teeth, whichever flank is loaded."""
        flank = max((self.left, self.right), key=lambda rose: float(rose.share.greatest.max()))
        tooth = int(np.argmax(flank.share.greatest))
        kind = max(
            ("tension", "compression", "shear"), key=lambda k: float(getattr(flank.share, k)[tooth])
        )
        edges = {"tension": flank.tension_edge, "compression": flank.compression_edge}
        angle = float(edges.get(kind, self.angles)[tooth])
        return WeakestRoot(
            kind=kind,  # type: ignore[arg-type]
            share=float(getattr(flank.share, kind)[tooth]),
            angle=angle,
            strength=float(getattr(panel, f"{kind}_at")(angle)),
            source="plane-stress finite elements on the tooth as cut, stiffness of the sheet",
        )


def elastic_roses(
    cut: CutTooth[float],
    panel: Panel,
    grain: float = 0.0,
    diameter: float | None = None,
    edge_distance: float = 0.0,
) -> ElasticRoses:
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
    ElasticRoses
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
    >>> cut = CutPair.by(GearPair(Gear(5, 12, 0.4), Gear(5, 24)), Bit(3.0))
    >>> roses = elastic_roses(cut.pinion, plywood("birch", 12))
    >>> used = roses.left.share.greatest
    >>> used.shape, bool(abs(used[0] - used[6]) < 1e-9)
    ((12,), True)
    """
    teeth = np.arange(int(cut.gear.teeth))
    return direction_roses(
        cut, panel, 360.0 / cut.gear.teeth * teeth - grain, diameter, edge_distance
    )


def direction_roses(
    cut: CutTooth[float],
    panel: Panel,
    angles: ArrayLike,
    diameter: float | None = None,
    edge_distance: float = 0.0,
) -> ElasticRoses:
    """Return the same for teeth that stand at given angles to the grain, degrees."""
    axis = np.asarray(angles, dtype=float)
    place = cut.gear.tip_diameter if diameter is None else diameter
    turned, which, flipped = _distinct(axis, _is_own_mirror(panel))
    mesh = tooth_mesh(cut, edge_distance)
    points, forces = flank_loads(cut, place)
    peaks = np.array(
        [
            _peaks(mesh.solve(panel.stiffness(a), points, forces), panel, a, edge_distance > 0.0)
            for a in turned
        ]
    )
    shear = root_stress(cut, place).shear.max() / np.asarray(panel.shear_at(axis))

    def rose(flank: int) -> FlankRose:
        found = peaks[which, np.where(flipped, 1 - flank, flank)]
        edges = np.where(flipped[:, None], -found[:, 2:], found[:, 2:]) % 180.0
        return FlankRose(Utilisation(found[:, 0], found[:, 1], shear), edges[:, 0], edges[:, 1])

    return ElasticRoses(axis, rose(0), rose(1))


def elastic_roots(cut: CutPair, panel: Panel) -> dict[Side, WeakestRoot]:
    """Return the weakest tooth of both gears of a pair, whole load at the tip.

    Teeth stand in every direction here, so that the answer holds however the sheet lies.
    """
    return {
        side: direction_roses(tooth, panel, DIRECTIONS).weakest(panel)
        for side, _, _, tooth in cut.sides()
    }


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


def _distinct(angles: Floats, mirrored: bool) -> tuple[Floats, Any, Any]:
    """Directions to solve; for each angle which of them, and whether it is the mirror image."""
    axis = angles % 180.0
    flipped = mirrored & (axis > 90.0)
    turned, which = np.unique(np.where(flipped, 180.0 - axis, axis).round(6), return_inverse=True)
    return turned, which, flipped


def _is_own_mirror(panel: Panel) -> bool:
    layers = np.array(panel.layers)
    return bool(np.allclose(np.sort(layers % 180.0), np.sort(-layers % 180.0)))


def _peaks(found: ToothStress, panel: Panel, axis: float, inner: bool) -> Floats:
    """Greatest share in tension and compression and the edges' directions, a row for each load."""
    edge = (axis + found.tangent_angle) % 180.0
    if inner:
        x, y, shear = np.moveaxis(found.inner, -1, 0)
        index = panel.norris_index(x, y, shear, axis)
    else:
        strength = np.where(found.along > 0.0, panel.tension_at(edge), panel.compression_at(edge))
        index = np.abs(found.along) / strength
    pulled, pushed = (np.where(side, index, 0.0) for side in (found.along > 0.0, found.along < 0.0))
    return np.column_stack(
        [pulled.max(1), pushed.max(1), edge[pulled.argmax(1)], edge[pushed.argmax(1)]]
    )
