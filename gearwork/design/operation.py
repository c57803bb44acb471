"""What a duty gives back: an operating point, curves against ratio, torques on the shafts."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class OperatingPoint:
    """Where drive and load meet at one ratio, running steadily.

    Attributes
    ----------
    ratio : float
        Drive speed over output speed.
    drive_torque, output_torque : float
        N·m. output torque = drive torque x ratio x efficiency.
    drive_speed, output_speed : float
        rpm; 0 if the drive stands still.
    drive_power : float
        W.
    """

    ratio: float
    drive_torque: float
    drive_speed: float
    output_torque: float
    output_speed: float
    drive_power: float


@dataclass(frozen=True)
class RatioCurves:
    """What a plot of pull and speed against ratio needs; all arrays of one shape.

    Attributes
    ----------
    ratio : ndarray
        Drive speed over output speed.
    sustained_torque, starting_torque : ndarray
        Torque at the output while the drive gives what it can sustain, and from standstill, N·m.
    speed : ndarray
        Output speed under the load, rpm; 0 where the machine stands still.
    sustained_pull, starting_pull : ndarray or None
        The torques as a pull at rope or ground, N; None for a load without a pull.
    travel_speed : ndarray or None
        The speed at rope or ground, m/s; None for a load without a pull.
    """

    ratio: Floats
    sustained_torque: Floats
    starting_torque: Floats
    speed: Floats
    sustained_pull: Floats | None
    starting_pull: Floats | None
    travel_speed: Floats | None


@dataclass(frozen=True)
class ShaftTorques:
    """Torque on every shaft of a train, the drive's first, N·m; each of shape (stages + 1,).

    Attributes
    ----------
    running : ndarray
        While the load moves steadily, losses included.
    stall : ndarray
        While the output is blocked and the drive gives its greatest torque: at every shaft that
        torque times the ratio up to there. Losses would lessen it and are left out.
    back : ndarray
        While the load drives the train, losses left out.
    """

    running: Floats
    stall: Floats
    back: Floats
