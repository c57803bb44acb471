"""What must move: the interface of every load, the pull up a slope, a given torque and speed."""

import math
from dataclasses import dataclass
from typing import Protocol

from gearwork.checks.verdict import Check
from gearwork.design.torque_line import RPM
from gearwork.errors import number

GRAVITY = 9.80665
"""Standard gravity, m/s² (CGPM 1901)."""

_STEEPEST = 45.0


class Load(Protocol):
    """What every load tells the gear train, all at the train's output shaft."""

    @property
    def starting_torque(self) -> float:
        """Torque to start it, N·m."""

    @property
    def running_torque(self) -> float:
        """Greatest torque while it moves steadily, N·m."""

    @property
    def least_running_torque(self) -> float:
        """Least torque while it moves steadily, N·m; a rope drum begins with it."""

    @property
    def wanted_power(self) -> float:
        """Power at the wanted speed, W."""

    @property
    def pull_diameter(self) -> float | None:
        """Diameter at which the torque becomes a pull, mm; None if there is no pull."""

    @property
    def inertia(self) -> float:
        """Moment of inertia of all that moves, seen at the output, kg·m²."""

    @property
    def usable_torque(self) -> float:
        """Torque beyond which the load slips or tips, N·m; infinite if it does neither."""

    @property
    def back_torque(self) -> float:
        """Torque the load can feed back into the train, N·m."""

    @property
    def loads_both_flanks(self) -> bool:
        """Whether the teeth are loaded on both flanks in turn."""

    @property
    def cautions(self) -> tuple[str, ...]:
        """What can hurt somebody, in plain sentences."""

    def checks(self, output_torque: float) -> tuple[Check, ...]:
        """Judge the load when the drive's greatest torque (N·m) reaches the output."""


def check_hauling(
    mass: float, slope: float, rolling_resistance: float, travel_speed: float, start_factor: float
) -> None:
    """Refuse impossible values of a load that is hauled or driven up a slope.

    Raises
    ------
    GearworkError
        Naming the value and its limit.
    """
    number("mass", mass, unit="kg", above=0.0)
    number("slope", slope, unit="°", at_least=0.0, at_most=_STEEPEST)
    number("rolling resistance", rolling_resistance, at_least=0.0, at_most=2.0)
    number("travel speed", travel_speed, unit="m/s", above=0.0)
    number("start factor", start_factor, at_least=1.0)


def hauling_pull(
    mass: float, slope: float, rolling_resistance: float, start_factor: float = 1.0
) -> float:
    """Pull up a slope, N: weight along the slope plus rolling resistance.

    m g (sin s + k f cos s), the inclined plane of any mechanics handbook. To start, the rolling
    resistance counts `start_factor` times: wheels and sledges that have stood settle in.
    """
    angle = math.radians(slope)
    rolling = start_factor * rolling_resistance * math.cos(angle)
    return mass * GRAVITY * (math.sin(angle) + rolling)


@dataclass(frozen=True)
class GivenLoad:
    """A load of which only torque and speed at the output are known.

    Attributes
    ----------
    torque : float
        Torque while it runs, N·m.
    speed : float
        Wanted speed, rpm.
    start_factor : float
        Torque to start it over torque to run it.
    moving_inertia : float
        Moment of inertia at the output, kg·m²; 0: up to speed at once.
    loads_both_flanks : bool
        Whether the teeth are loaded on both flanks in turn. False only for a machine that never
        runs backwards and never drives the gears when the drive stops.

    Raises
    ------
    GearworkError
        If a value cannot be.

    Examples
    --------
    >>> GivenLoad(torque=10.0, speed=30.0, start_factor=1.5).starting_torque
    15.0
    """

    torque: float
    speed: float
    start_factor: float = 1.0
    moving_inertia: float = 0.0
    loads_both_flanks: bool = True

    def __post_init__(self) -> None:
        number("torque of the load", self.torque, unit="N·m", above=0.0)
        number("speed of the load", self.speed, unit="rpm", above=0.0)
        number("start factor", self.start_factor, at_least=1.0)
        number("moving inertia", self.moving_inertia, unit="kg·m²", at_least=0.0)

    @property
    def starting_torque(self) -> float:
        """Torque to start it, N·m."""
        return self.start_factor * self.torque

    @property
    def running_torque(self) -> float:
        """The given torque, N·m."""
        return self.torque

    @property
    def least_running_torque(self) -> float:
        """The given torque, N·m."""
        return self.torque

    @property
    def wanted_power(self) -> float:
        """Torque times wanted speed, W."""
        return self.torque * self.speed * RPM

    @property
    def pull_diameter(self) -> None:
        """There is no pull."""
        return None

    @property
    def inertia(self) -> float:
        """The given inertia, kg·m²."""
        return self.moving_inertia

    @property
    def usable_torque(self) -> float:
        """No limit known, N·m."""
        return math.inf

    @property
    def back_torque(self) -> float:
        """The starting torque, N·m (assumption): nothing is known of what stops the load."""
        return self.starting_torque

    @property
    def cautions(self) -> tuple[str, ...]:
        """What can hurt somebody, in plain sentences."""
        return ("Keep hands, hair and clothing away from the gears and put a guard over them.",)

    def checks(self, output_torque: float) -> tuple[Check, ...]:
        """Nothing to judge on the load itself."""
        return ()
