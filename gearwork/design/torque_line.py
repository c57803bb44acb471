"""TorqueLine: the torque a drive gives at each speed."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gearwork.errors import GearworkError

RPM = math.pi / 30.0
"""One revolution per minute in rad/s."""

_ROUNDING = 1e-9


@dataclass(frozen=True)
class TorqueLine:
    """Torque against speed: flat up to a knee, then straight down to nothing.

    A permanent-magnet motor has its knee at standstill, a motor behind a slipping clutch where
    the clutch lets go, a person at a crank where the pace ends.

    Attributes
    ----------
    torque : float
        Torque from standstill up to the knee, N·m.
    knee_speed, no_load_speed : float
        Where the torque starts to fall and where none is left, rpm.
    """

    torque: float
    knee_speed: float
    no_load_speed: float

    @property
    def droop(self) -> float:
        """Speed lost for each N·m of load, rpm/(N·m)."""
        return (self.no_load_speed - self.knee_speed) / self.torque

    def torque_at(self, speed: ArrayLike) -> NDArray[np.float64]:
        """Torque at a speed, N·m; arrays of speeds in rpm give arrays of torques."""
        lost = self.no_load_speed - np.asarray(speed, dtype=float)
        if self.droop == 0.0:
            return np.where(lost >= 0.0, self.torque, 0.0)
        return np.asarray(np.clip(lost / self.droop, 0.0, self.torque))

    def speed_at(self, torque: ArrayLike) -> NDArray[np.float64]:
        """Speed under a torque, rpm; 0 where the torque cannot be carried. Arrays too."""
        load = np.asarray(torque, dtype=float)
        speed = np.maximum(self.no_load_speed - self.droop * load, 0.0)
        return np.where(load <= self.torque * (1.0 + _ROUNDING), speed, 0.0)

    @property
    def strongest_torque(self) -> float:
        """Torque at which the power is greatest, N·m: half the stall torque of a bare motor."""
        if self.no_load_speed >= 2.0 * self.knee_speed:
            return 0.5 * self.no_load_speed / self.droop
        return self.torque

    @property
    def greatest_power(self) -> float:
        """Greatest power, W: a quarter of stall torque times no-load speed of a bare motor."""
        torque = self.strongest_torque
        return torque * (self.no_load_speed - self.droop * torque) * RPM

    def torques_for(self, power: float) -> tuple[float, float]:
        """Least and greatest torque at which the drive gives at least this power (W), N·m.

        Raises
        ------
        GearworkError
            If the drive never gives that much power.
        """
        if power > self.greatest_power * (1.0 + _ROUNDING):
            raise GearworkError(
                f"power is {power:.4g} W: the drive gives at most {self.greatest_power:.4g} W;"
                " ask for less speed or take a stronger drive"
            )
        spread = self.no_load_speed**2 - 4.0 * self.droop * power / RPM
        root = self.no_load_speed + math.sqrt(max(spread, 0.0))
        least = min(2.0 * power / RPM / root, self.torque)
        greatest = (
            self.torque if root >= 2.0 * self.droop * self.torque else 0.5 * root / self.droop
        )
        return least, greatest
