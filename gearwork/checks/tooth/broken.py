"""A tooth of sheet or stack broken by nonlinear elements: the slow check of `breaking`."""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from gearwork.checks.tooth.elastic import flank_loads, tooth_mesh
from gearwork.fem.yielding import BrokenTooth, Veneers, YieldingTooth
from gearwork.geometry.tooth import CutTooth
from gearwork.stock.laminate import Panel

ELEMENTS = 8
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
    mesh = replace(tooth_mesh(cut), fillet_size=cut.fillet_diameter / 2 / ELEMENTS)
    points, forces = flank_loads(cut, cut.gear.tip_diameter)
    flank, quiet = 0 if left else 1, QUIET * cut.gear.module
    return YieldingTooth(mesh.body, mesh._fillet_edges, points[flank], forces[flank], quiet=quiet)
