"""GearTrain: ratio, speeds, torques, forces and inertia of stages on shafts.

The shafts of a train as beams: what its gears do to them, and how they bend its meshes.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from gearwork.checks.shaft.alignment import LoadedMesh, MeshAlignment
from gearwork.checks.shaft.beam import Shaft, ShaftLoad, mesh_load
from gearwork.checks.tooth.mesh import CutPair
from gearwork.errors import GearworkError, number
from gearwork.machine.duty import Duty, ShaftTorques
from gearwork.machine.frame import Placement
from gearwork.machine.stage import MountedGear
from gearwork.numbers import Floats
from gearwork.stock.hardware import Bearing, Rod
from gearwork.stock.laminate import Panel


@dataclass(frozen=True)
class GearTrain(Placement):
    """Stages on shafts in a frame, and what turns and presses in them.

    Attributes
    ----------
    stages, shafts, frame, arrangement, planes
        As in `Placement`.
    mesh_efficiency, bearing_efficiency : float
        As in `Duty` (0.95 and 0.99: assumptions).

    Raises
    ------
    GearworkError
        If a value cannot be; see `Placement`.

    Examples
    --------
    >>> from gearwork import Frame, Gear, GearPair, ShaftParts, Stage
    >>> stage = Stage(GearPair(Gear(module=5, teeth=16), Gear(module=5, teeth=44)), face_width=24)
    >>> parts = ShaftParts(8, hub_diameter=24, hub_height=8, seat_diameter=22, bearing_width=7)
    >>> train = GearTrain((stage, stage), (parts,) * 3, Frame(plate_thickness=18, gap=12))
    >>> train.ratio, [round(angle, 1) for angle in train.angles]
    (7.5625, [0.0, 227.6])
    """

    mesh_efficiency: float = 0.95
    bearing_efficiency: float = 0.99

    def __post_init__(self) -> None:
        super().__post_init__()
        number("mesh efficiency", self.mesh_efficiency, above=0.0, at_most=1.0)
        number("bearing efficiency", self.bearing_efficiency, above=0.0, at_most=1.0)

    @property
    def stage_ratios(self) -> tuple[float, ...]:
        """Ratio of each stage; what `Duty.shaft_torques` takes."""
        return tuple(stage.ratio for stage in self.stages)

    @property
    def ratio(self) -> float:
        """Speed of the first shaft over that of the last."""
        return math.prod(self.stage_ratios)

    @property
    def efficiency(self) -> float:
        """Efficiency of all stages."""
        return (self.mesh_efficiency * self.bearing_efficiency) ** len(self.stages)

    @property
    def directions(self) -> tuple[int, ...]:
        """Sense of rotation of each shaft: 1 as the first, −1 against it."""
        return tuple((-1) ** shaft for shaft in range(len(self.shafts)))

    @property
    def _ratio_up_to(self) -> Floats:
        return np.concatenate([[1.0], np.cumprod(self.stage_ratios)])

    def speeds(self, input_speed: float) -> Floats:
        """Return the speed of every shaft, rpm, shape (stages + 1,); negative turns backwards.

        Parameters
        ----------
        input_speed : float
            Speed of the first shaft, rpm, positive counter-clockwise.
        """
        return np.array(self.directions) * input_speed / self._ratio_up_to

    def torques(self, input_torque: float) -> Floats:
        """Return the torque on every shaft while running, N·m, shape (stages + 1,).

        Output torque = input torque x ratio x efficiency.
        """
        kept = self.mesh_efficiency * self.bearing_efficiency
        return input_torque * self._ratio_up_to * kept ** np.arange(len(self.shafts))

    def shaft_torques(self, duty: Duty) -> ShaftTorques:
        """Return the torque on every shaft while running, stalled and driven back.

        Raises
        ------
        GearworkError
            If the duty counts on other stages or losses than this train has.
        """
        for name in ("mesh_efficiency", "bearing_efficiency"):
            ours, theirs = getattr(self, name), getattr(duty, name)
            if ours != theirs:
                raise GearworkError(
                    f"{name.replace('_', ' ')} is {ours:g} in the train and {theirs:g} in the duty:"
                    " they must be equal; give both the same"
                )
        return duty.shaft_torques(self.stage_ratios)

    def mass(self, density: float) -> float:
        """Return the mass of all gears, kg, at a density in kg/m³; no rods, nuts or plates."""
        number("density", density, unit="kg/m³", above=0.0)
        return sum(gear.mass(density) for gear in self.gears)

    def input_inertia(self, density: float) -> float:
        """Return the moment of inertia of all gears seen at the first shaft, kg·m².

        Each gear's own over the square of the ratio up to its shaft; the square of the train's
        ratio brings it to the output. Density in kg/m³.
        """
        number("density", density, unit="kg/m³", above=0.0)
        ratio = self._ratio_up_to
        return float(sum(gear.inertia(density) / ratio[gear.shaft] ** 2 for gear in self.gears))

    def loads_on(self, shaft: int, torques: ArrayLike) -> tuple[ShaftLoad, ...]:
        """Return what the gears on one shaft do to it; its bearings give the opposite.

        The torque on the shaft of the pinion counts for both gears of a mesh, which press on
        each other alike. What friction takes is lost on the wheel's side: its shaft receives
        more than it passes on.

        Parameters
        ----------
        shaft : int
            Which shaft.
        torques : array_like, shape (stages + 1,)
            Torque on every shaft, N·m. Positive: the drive turns the first shaft
            counter-clockwise. Negative: the other flanks carry, as when the drive brakes.

        Returns
        -------
        tuple of ShaftLoad
            Positions along z and forces along x and y, in the coordinates of the train.
        """
        torque = np.asarray(torques, dtype=float)
        if torque.shape != (len(self.shafts),):
            raise GearworkError(
                f"torques have the shape {torque.shape}: one for each of the"
                f" {len(self.shafts)} shafts is needed"
            )
        return tuple(
            self._load_of(gear, float(torque[gear.stage]))
            for gear in self.gears
            if gear.shaft == shaft
        )

    def _load_of(self, gear: MountedGear, pinion_torque: float) -> ShaftLoad:
        stage = self.stages[gear.stage]
        received = -pinion_torque if gear.drives else pinion_torque * stage.ratio
        return mesh_load(
            gear.name,
            (gear.start + gear.end) / 2,
            self.directions[gear.shaft] * received,
            gear.gear.base_diameter,
            stage.pair.working_pressure_angle,
            mate_direction=self.angles[gear.stage] + (0.0 if gear.drives else 180.0),
            face_width=gear.end - gear.start,
        )


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
