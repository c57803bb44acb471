"""GearTrain: ratio, speeds, torques, forces and inertia of stages on shafts."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from gearwork.checks.shaft_load import ShaftLoad, mesh_load
from gearwork.design.duty import Duty
from gearwork.design.operation import Floats, ShaftTorques
from gearwork.design.placement import Placement
from gearwork.design.stage import MountedGear
from gearwork.errors import GearworkError, number


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
