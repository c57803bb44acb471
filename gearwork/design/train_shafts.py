"""The shafts of a train as beams: what its gears do to them, and how they bend its meshes."""

from collections.abc import Sequence

from gearwork.checks.beam import Shaft
from gearwork.checks.mesh import CutPair
from gearwork.checks.mesh_alignment import LoadedMesh, MeshAlignment
from gearwork.checks.shaft_load import ShaftLoad, mesh_load
from gearwork.design.operation import Floats
from gearwork.design.stage import MountedGear
from gearwork.design.train import GearTrain
from gearwork.stock.hardware import Bearing, Rod
from gearwork.stock.laminate import Panel

OUTSIDE = 10.0
"""How far beyond the ends of its rod drive and load take hold, mm; torque alone, so any will do."""


def loaded_shaft(train: GearTrain, number: int, torques: Floats, on: Rod, ball: Bearing) -> Shaft:
    """Return a shaft with its loads; drive and output pass on torque alone.

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
    gears = (gear for gear in train.gears if gear.shaft == number)
    loads = [_load_of(train, gear, float(torques[number])) for gear in gears]
    start, end = train.stack_up.span(number)
    outside = -sum(load.torque for load in loads)
    if number == 0:
        loads.append(ShaftLoad("drive", start - OUTSIDE, (0.0, 0.0), outside))
    if number == len(train.shafts) - 1:
        loads.append(ShaftLoad("load", end + OUTSIDE, (0.0, 0.0), outside))
    return Shaft(on, ball, train.stack_up.bearings(number), tuple(loads))


def _load_of(train: GearTrain, gear: MountedGear, torque: float) -> ShaftLoad:
    return mesh_load(
        gear.name,
        (gear.start + gear.end) / 2,
        train.directions[gear.shaft] * torque * (-1 if gear.drives else 1),
        gear.gear.base_diameter,
        train.stages[gear.stage].pair.working_pressure_angle,
        mate_direction=train.angles[gear.stage] + (0.0 if gear.drives else 180.0),
        face_width=gear.end - gear.start,
    )


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
