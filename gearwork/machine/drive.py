"""What turns the machine: motors, a hand crank, a given torque and speed."""

import math
from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np
from numpy.typing import ArrayLike

from gearwork.errors import GearworkError, number
from gearwork.numbers import RPM, Floats

_ROUNDING = 1e-9


@dataclass(frozen=True)
class TorqueLine:
    """Torque against speed: flat up to a knee, then straight down to nothing.

    A permanent-magnet motor has its knee at standstill, a motor behind a slipping clutch where
    the clutch lets go, a person at a crank where the pace ends.
    """

    torque: float  # from standstill up to the knee, N·m
    knee_speed: float  # where the torque starts to fall, rpm
    no_load_speed: float  # where none is left, rpm

    @property
    def droop(self) -> float:
        """Speed lost for each N·m of load, rpm/(N·m)."""
        return (self.no_load_speed - self.knee_speed) / self.torque

    def torque_at(self, speed: ArrayLike) -> Floats:
        """Torque at a speed, N·m; arrays of speeds in rpm give arrays of torques."""
        lost = self.no_load_speed - np.asarray(speed, dtype=float)
        if self.droop == 0.0:
            return np.where(lost >= 0.0, self.torque, 0.0)
        return np.asarray(np.clip(lost / self.droop, 0.0, self.torque))

    def speed_at(self, torque: ArrayLike) -> Floats:
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

        It is an error if the drive never gives that much.
        """
        if power > self.greatest_power * (1.0 + _ROUNDING):
            raise GearworkError(
                f"power is {power:.4g} W: the drive gives at most {self.greatest_power:.4g} W;"
                " ask for less speed or take a stronger drive"
            )
        # both roots of T (n0 - droop T) = P, the smaller one in the form that does not cancel
        spread = self.no_load_speed**2 - 4.0 * self.droop * power / RPM
        root = self.no_load_speed + math.sqrt(max(spread, 0.0))
        least = min(2.0 * power / RPM / root, self.torque)
        if root >= 2.0 * self.droop * self.torque:
            return least, self.torque
        return least, 0.5 * root / self.droop


class Drive(Protocol):
    """What every drive tells the gear train."""

    @property
    def line(self) -> TorqueLine:
        """Torque against speed while starting and running."""

    @property
    def starting_torque(self) -> float:
        """Torque at hand from standstill, N·m."""

    @property
    def sustained_torque(self) -> float:
        """Torque it can give for as long as the work lasts, N·m."""

    @property
    def greatest_torque(self) -> float:
        """Greatest torque that can reach the train when its output is blocked, N·m."""

    @property
    def no_load_speed(self) -> float:
        """Speed without load, rpm."""

    @property
    def inertia(self) -> float:
        """Moment of inertia at the drive's shaft, kg·m²."""

    def torque_at(self, speed: ArrayLike) -> Floats:
        """Torque at a speed in rpm, N·m; arrays in, arrays out."""

    def speed_at(self, torque: ArrayLike) -> Floats:
        """Speed under a torque in N·m, rpm; 0 where it stands still. Arrays too."""


class _Driver(ABC):
    """What follows from the torque line, and what is usual: one torque, one speed, no inertia."""

    @property
    @abstractmethod
    def line(self) -> TorqueLine:
        """Torque against speed while starting and running."""

    @property
    def starting_torque(self) -> float:
        """Torque at hand from standstill, N·m."""
        return self.line.torque

    @property
    def sustained_torque(self) -> float:
        """Torque it can give for as long as the work lasts, N·m."""
        return self.line.torque

    @property
    def greatest_torque(self) -> float:
        """Greatest torque when the output is blocked, N·m."""
        return self.line.torque

    def torque_at(self, speed: ArrayLike) -> Floats:
        """Torque at a speed in rpm, N·m; arrays in, arrays out."""
        return self.line.torque_at(speed)

    def speed_at(self, torque: ArrayLike) -> Floats:
        """Speed under a torque in N·m, rpm; 0 where the drive stands still. Arrays too."""
        return self.line.speed_at(torque)


@dataclass(frozen=True)
class Motor(_Driver):
    """A motor whose torque falls in a straight line from stall to no load.

    Attributes
    ----------
    stall_torque : float
        Torque at the shaft that stops it, N·m.
    no_load_speed : float
        Speed without load, rpm.
    sustained_share : float
        Share of the stall torque it can give without overheating (0.3: assumption for
        permanent-magnet motors; the maker's figure goes before it).
    clutch_torque : float, optional
        Torque at which a slipping clutch lets go, N·m. None: no clutch, or locked as for drilling.
    inertia : float
        Moment of inertia of everything that turns inside, seen at the shaft, kg·m². It grows with
        the square of the ratio; left at 0 the time to speed comes out short.

    Raises
    ------
    GearworkError
        If a value cannot be.

    Examples
    --------
    Half the speed leaves half the stall torque.

    >>> motor = Motor(stall_torque=16.0, no_load_speed=1500.0)
    >>> float(motor.torque_at(750.0)), motor.sustained_torque
    (8.0, 4.8)
    """

    stall_torque: float
    no_load_speed: float
    sustained_share: float = 0.3
    clutch_torque: float | None = None
    inertia: float = 0.0

    def __post_init__(self) -> None:
        number("stall torque", self.stall_torque, unit="N·m", above=0.0)
        number("no-load speed", self.no_load_speed, unit="rpm", above=0.0)
        number("sustained share of the stall torque", self.sustained_share, above=0.0, at_most=1.0)
        if self.clutch_torque is not None:
            number("clutch torque", self.clutch_torque, unit="N·m", above=0.0)
        number("inertia of the motor", self.inertia, unit="kg·m²", at_least=0.0)

    @property
    def greatest_torque(self) -> float:
        """Stall torque, or the clutch's where that is less, N·m."""
        return min(self.stall_torque, self.clutch_torque or self.stall_torque)

    @property
    def sustained_torque(self) -> float:
        """Torque it can give without overheating and without the clutch slipping, N·m."""
        return min(self.sustained_share * self.stall_torque, self.greatest_torque)

    @property
    def line(self) -> TorqueLine:
        """The motor line, cut off at the clutch torque."""
        knee = self.no_load_speed * (1.0 - self.greatest_torque / self.stall_torque)
        return TorqueLine(self.greatest_torque, knee, self.no_load_speed)


def cordless_drill(
    greatest_torque: float,
    low_speed: float,
    high_speed: float,
    *,
    gear: Literal["low", "high"] = "high",
    sustained_share: float = 0.3,
    clutch_torque: float | None = None,
    inertia: float = 0.0,
) -> Motor:
    """Return the motor that a cordless drill is at its chuck, from its data plate.

    Parameters
    ----------
    greatest_torque : float
        Greatest torque on the data plate, N·m: that of the low gear, taken as the stall torque.
    low_speed, high_speed : float
        No-load speeds of the two gears, rpm.
    gear : {"low", "high"}
        The gear it runs in. The same motor turns both, so the stall torque of the high gear is
        less by the ratio of the speeds.
    sustained_share, clutch_torque, inertia
        As for `Motor`, at the chuck in the gear it runs in.

    Returns
    -------
    Motor
        At the chuck.

    Raises
    ------
    GearworkError
        If a value is impossible or the gear is neither "low" nor "high".

    Examples
    --------
    60 N·m at 400 rpm: in the high gear of 1500 rpm the same motor gives 60 · 400 / 1500 N·m.

    >>> cordless_drill(greatest_torque=60.0, low_speed=400.0, high_speed=1500.0).stall_torque
    16.0
    """
    number("greatest torque of the drill", greatest_torque, unit="N·m", above=0.0)
    number("speed in low gear", low_speed, unit="rpm", above=0.0)
    number("speed in high gear", high_speed, unit="rpm", at_least=low_speed)
    if gear not in ("low", "high"):
        raise GearworkError(f'gear of the drill is {gear!r}: it must be "low" or "high"')
    speed = low_speed if gear == "low" else high_speed
    return Motor(
        greatest_torque * low_speed / speed, speed, sustained_share, clutch_torque, inertia
    )


@dataclass(frozen=True)
class HandCrank(_Driver):
    """A person turning a crank; what turns with it is left out of the inertia.

    Handbooks give up to 130 N at a crank of 400 mm and 25 to 30 rpm for some minutes; 30 W to
    50 W can be kept up for hours (from memory).

    Attributes
    ----------
    force : float
        Steady push at the handle, mean over the turn, N.
    crank_length : float
        Axis to handle, mm.
    pace : float
        Speed of turning, rpm.
    shove : float
        Hardest push at the handle, N: 300 to 400 is possible (from memory). It loads the train
        but is not counted on for starting, for at the dead points no one can shove.

    Raises
    ------
    GearworkError
        If a value cannot be.

    Examples
    --------
    100 N at 300 mm are 30 N·m.

    >>> HandCrank(force=100.0, crank_length=300.0, pace=30.0).sustained_torque
    30.0
    """

    force: float
    crank_length: float
    pace: float
    shove: float = 400.0
    inertia = 0.0

    def __post_init__(self) -> None:
        number("force at the crank", self.force, unit="N", above=0.0)
        number("crank length", self.crank_length, unit="mm", above=0.0)
        number("pace at the crank", self.pace, unit="rpm", above=0.0)
        number("shove at the crank", self.shove, unit="N", at_least=self.force)

    @property
    def greatest_torque(self) -> float:
        """Torque of the shove, N·m."""
        return self.shove * self.crank_length / 1000.0

    @property
    def no_load_speed(self) -> float:
        """The pace, rpm."""
        return self.pace

    @property
    def line(self) -> TorqueLine:
        """The steady push up to the pace."""
        return TorqueLine(self.force * self.crank_length / 1000.0, self.pace, self.pace)


@dataclass(frozen=True)
class GivenDrive(_Driver):
    """A drive of which only torque (N·m, from standstill on) and speed (rpm) are known.

    Raises
    ------
    GearworkError
        If a value cannot be.

    Examples
    --------
    >>> GivenDrive(torque=0.5, speed=100.0).starting_torque
    0.5
    """

    torque: float
    speed: float
    inertia = 0.0

    def __post_init__(self) -> None:
        number("torque of the drive", self.torque, unit="N·m", above=0.0)
        number("speed of the drive", self.speed, unit="rpm", above=0.0)

    @property
    def no_load_speed(self) -> float:
        """The given speed, rpm."""
        return self.speed

    @property
    def line(self) -> TorqueLine:
        """The given torque up to the given speed."""
        return TorqueLine(self.torque, self.speed, self.speed)
