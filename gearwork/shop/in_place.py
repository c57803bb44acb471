"""The edges of a train's gears where they stand, a tooth of each pinion in a space of its wheel."""

from gearwork.checks.mesh import CutPair
from gearwork.design.placement import Placement
from gearwork.design.stage import MountedGear
from gearwork.geometry.outline import Outline
from gearwork.geometry.toothed_edge import tooth_outline


def edges_in_place(
    train: Placement, gear: MountedGear, cut: CutPair, tolerance: float
) -> list[Outline]:
    """Return the toothed edge of a gear and, after it, its windows, turned so that it meshes.

    Parameters
    ----------
    train : GearTrain or Placement
        On which it stands.
    gear : MountedGear
        One of its gears.
    cut : CutPair
        The pair it belongs to, as cut.
    tolerance : float
        Largest distance of the toothed edge from the true curve, mm.
    """
    along, tooth = train.angles[gear.stage], cut.tooth_of(gear.side)
    turn = along if gear.drives else along + 180.0 + 180.0 / gear.gear.teeth
    edges = [tooth_outline(tooth, tolerance)]
    if gear.windows is not None:
        edges += [window.outline for window in gear.windows.cuts(tooth, tooth.root_diameter)]
    return [edge.turned(turn).moved(*train.points[gear.shaft]) for edge in edges]
