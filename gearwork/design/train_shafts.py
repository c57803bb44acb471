"""The shafts of a train as beams: what its gears do to them, and how they bend its meshes."""

from collections.abc import Sequence

from gearwork.checks.beam import Shaft
from gearwork.checks.mesh import CutPair
from gearwork.checks.mesh_alignment import LoadedMesh, MeshAlignment
from gearwork.checks.shaft_load import ShaftLoad
from gearwork.design.operation import Floats
from gearwork.design.train import GearTrain
from gearwork.stock.hardware import Bearing, Rod
from gearwork.stock.laminate import Panel

OUTSIDE = 10.0
"""How far beyond the ends of its rod drive and load take hold, mm; torque alone, so any will do."""


def loaded_shaft(train: GearTrain, number: int, torques: Floats, on: Rod, ball: Bearing) -> Shaft:
    """Return a shaft with its loads; drive, output and losses pass on torque alone.

    Parameters
    ----------
    train : GearTrain
        The train.
    number : int
        Which of its shafts.
    torques : ndarray, shape (stages + 1,)
        Torque on every shaft, N·m; negative where the other flanks carry.
    on, ball : Rod, Bearing
        What the shaft is made of.
    """
    loads, bearings = train.loads_on(number, torques), train.stack_up.bearings(number)
    start, end = train.stack_up.span(number)
    name, place = "losses", bearings[0]
    if number == 0:
        name, place = "drive", start - OUTSIDE
    elif number == len(train.shafts) - 1:
        name, place = "load", end + OUTSIDE
    rest = ShaftLoad(name, place, (0.0, 0.0), -sum(load.torque for load in loads))
    return Shaft(on, ball, bearings, (*loads, rest))


def loaded_meshes(
    senses: Sequence[Sequence[Shaft]], cuts: Sequence[CutPair], panels: Sequence[Panel]
) -> tuple[LoadedMesh, ...]:
    """Return each stage on its two shafts.

    Parameters
    ----------
    senses : sequence of sequences of Shaft
        All shafts, driving, and again braking.
    cuts : sequence of CutPair
        Gears of every stage as cut.
    panels : sequence of Plywood or Stack
        What they are cut from.
    """
    return tuple(
        LoadedMesh.of(
            (
                MeshAlignment(shafts[i], shafts[i + 1], f"pinion {i + 1}", f"wheel {i + 1}")
                for shafts in senses
            ),
            cut,
            panel,
        )
        for i, (cut, panel) in enumerate(zip(cuts, panels, strict=True))
    )
