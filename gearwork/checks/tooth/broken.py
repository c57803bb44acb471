"""A tooth of sheet or stack broken by nonlinear elements: the slow check of `breaking`."""

from dataclasses import dataclass, replace

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
    """What a tooth of several layers bears when the mate moves all of them alike, N/mm.

    Attributes
    ----------
    layers : tuple of BrokenTooth
        Each as if it were alone.
    edge_tension, mean_tension : float
        Mean load on the layers when the first of them reaches the limit of that name.
    """

    layers: tuple[BrokenTooth, ...]
    edge_tension: float
    mean_tension: float


def yielding_tooth(
    cut: CutTooth[float], diameter: float | None = None, left: bool = True
) -> YieldingTooth:
    """Return the meshed tooth with a unit force at a diameter, mm, default the tip."""
    gear = cut.gear
    mesh = replace(tooth_mesh(cut), fillet_size=cut.fillet_diameter / 2 / ELEMENTS)
    points, forces = flank_loads(cut, gear.tip_diameter if diameter is None else diameter)
    flank = 0 if left else 1
    return YieldingTooth(
        mesh.body, mesh._fillet_edges, points[flank], forces[flank], quiet=QUIET * gear.module
    )


def break_tooth(
    tooth: YieldingTooth, panel: Panel, angle: float, edge_only: bool = False
) -> BrokenStack:
    """Return what a tooth bears whose axis stands at an angle, degrees, to the panel's 0.

    Strengths are those of the table, characteristic. Glue lines and the veneers' free edges,
    which raise the peaks by 4 and 12 % in three dimensions, are not in it.
    """
    veneers = Veneers.of(panel.sheet)
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
