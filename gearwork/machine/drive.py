"""What turns the machine: motors, a hand crank, a given torque and speed."""

import math
from abc import ABC, abstractmethod
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import cache
from typing import Annotated, Any, Literal

import numpy as np
from numpy.typing import ArrayLike

from gearwork.checks.hub.coupling import MotorShaft, ShaftForm
from gearwork.errors import Bound, GearworkError, check_given, check_values, number
from gearwork.machine.attached import Attached, chuck, crank
from gearwork.numbers import RPM, Floats
from gearwork.stock import table
from gearwork.stock.hardware import MAX_SHAFT, MIN_SHAFT

_ROUNDING = 1e-9

Spread = tuple[float, float, float]
WorkName = Literal["running", "short runs", "holding"]

TORQUE = Bound("N·m", above=0.0)
INERTIA = Bound("kg·m²", at_least=0.0)
Torque = Annotated[float, TORQUE]
Speed = Annotated[float, Bound("rpm", above=0.0)]
SideForce = Annotated[float, Bound("N", at_least=0.0)]
ShaftSize = Annotated[float | None, Bound("mm", at_least=MIN_SHAFT, at_most=MAX_SHAFT)]


@dataclass(frozen=True)
class Work:
    """How a motor is used: the share of its stall torque that it bears, and why."""

    share: float
    why: str


# A motor's copper warms with the square of its torque; only the fan on its shaft cools it.
WORK: dict[WorkName, Work] = {
    "running": Work(0.3, "for long, its fan turning at more than half speed (assumption)"),
    "short runs": Work(0.5, "runs of up to a minute, then three to cool (assumption)"),
    "holding": Work(
        0.1, "standing under load: at a third of it a motor smokes within half a minute (seen)"
    ),
}

# Power a person gives at a crank, W, by how long it takes, minutes.
_CRANKING = ((5.0, 136.0), (60.0, 60.0), (240.0, 40.0), (480.0, 30.0))


def crank_power(minutes: float) -> float:
    """Return what a healthy grown-up gives at a crank for so long, W.

    136 W for minutes (handbooks, seen), 30 to 50 W for hours (from memory); between by the
    logarithm of time. However short, no more than for five minutes is counted on.
    """
    times, powers = zip(*_CRANKING, strict=True)
    return float(np.interp(np.log(minutes), np.log(times), powers))


def motor_heat(torque: float, speed: float, no_load_speed: float) -> float:
    """Return the heat in a permanent-magnet motor, W: T (ω0 − ω), with current as its torque."""
    return torque * (no_load_speed - speed) * RPM


@dataclass(frozen=True)
class DriveKind:
    """A kind of drive: least, usual and most of each figure; units as in the data file."""

    name: str
    torque: Spread
    low_speed: Spread
    high_speed: Spread
    inertia: Spread
    clutch: bool
    source: str


@cache
def drive_kinds() -> tuple[DriveKind, ...]:
    """Return every kind in the table, in its order."""
    return tuple(
        DriveKind(
            name=row["name"],
            torque=tuple(row["torque"]),
            low_speed=tuple(row["low_speed"]),
            high_speed=tuple(row["high_speed"]),
            inertia=tuple(row["inertia"]),
            clutch=row["clutch"],
            source=row["source"],
        )
        for row in table("drives")["drive"]
    )


def drive_kind(name: str) -> DriveKind:
    """Return the kind of drive of that name.

    Raises
    ------
    GearworkError
        If there is none; the text lists the names and the nearest one.
    """
    known = {kind.name: kind for kind in drive_kinds()}
    if name in known:
        return known[name]
    near = get_close_matches(str(name), known, n=1, cutoff=0.3)
    hint = f"; did you mean {near[0]!r}?" if near else ""
    raise GearworkError(
        f"name of the drive is {name!r}: it must be one of {', '.join(known)}{hint}"
    )


@dataclass(frozen=True)
class TorqueLine:
    """Torque against speed: flat up to a knee, then straight down to nothing.

    A permanent-magnet motor has its knee at standstill, a motor behind a slipping clutch where
    the clutch lets go, a person at a crank where the cadence ends.
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
    def max_power(self) -> float:
        """Greatest power, W: a quarter of stall torque times no-load speed of a bare motor."""
        torque = self.strongest_torque
        return torque * (self.no_load_speed - self.droop * torque) * RPM

    def torques_for(self, power: float) -> tuple[float, float]:
        """Least and greatest torque at which the drive gives at least this power (W), N·m.

        It is an error if the drive never gives that much.
        """
        if power > self.max_power * (1.0 + _ROUNDING):
            raise GearworkError(
                f"power is {power:.4g} W: the drive gives at most {self.max_power:.4g} W;"
                " ask for less speed or take a stronger drive"
            )
        # both roots of T (n0 - droop T) = P, the smaller one in the form that does not cancel
        spread = self.no_load_speed**2 - 4.0 * self.droop * power / RPM
        root = self.no_load_speed + math.sqrt(max(spread, 0.0))
        least = min(2.0 * power / RPM / root, self.torque)
        if root >= 2.0 * self.droop * self.torque:
            return least, self.torque
        return least, 0.5 * root / self.droop


class Drive(ABC):
    """What every drive tells the gear train, and what is usual: one torque, no inertia."""

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
    def max_torque(self) -> float:
        """Greatest torque that can reach the train when its output is blocked, N·m."""
        return self.line.torque

    @property
    def slips_at(self) -> float | None:
        """Torque at which a clutch slips, N·m; None: there is none."""
        return None

    @property
    def slips_back_at(self) -> float | None:
        """Torque at which it gives way when the load turns it, N·m; None: it may lock."""
        return None

    @property
    def inertia(self) -> float:
        """Moment of inertia at the drive's shaft, kg·m²."""
        return 0.0

    @property
    def cautions(self) -> tuple[str, ...]:
        """What is counted on and must be looked at, in plain sentences."""
        return ()

    @property
    def fixed_by(self) -> tuple[str, float] | None:
        """What of it is fixed to the input shaft as a gear is, and its face, mm; None: nothing."""
        return None

    @property
    def swept_diameter(self) -> float:
        """What it sweeps beside its shaft, mm; 0: it stands on the shaft's axis."""
        return 0.0

    @property
    def has_chuck(self) -> bool:
        """Whether it takes hold of the rod by a chuck, or by what is held in one."""
        return False

    @property
    def has_clutch(self) -> bool:
        """Whether it has a clutch that can be set."""
        return False

    @property
    def in_gear(self) -> str:
        """In which gear it runs, in words; empty where it has but one."""
        return ""

    @property
    def top_speed(self) -> float | None:
        """Speed without load in a faster gear it can be switched to, rpm; None: it has none."""
        return None

    @property
    def shaft(self) -> MotorShaft | None:
        """The shaft it turns, by which it is coupled to the rod; None: not known, or none."""
        return None

    @abstractmethod
    def attached(self, torque: Any, overhang: float) -> Attached:
        """Return what it does across its shaft while it gives a torque, N·m; overhang in mm.

        Torques of many trains make arrays.
        """

    def torque_at(self, speed: ArrayLike) -> Floats:
        """Torque at a speed in rpm, N·m; arrays in, arrays out."""
        return self.line.torque_at(speed)

    def speed_at(self, torque: ArrayLike) -> Floats:
        """Speed under a torque in N·m, rpm; 0 where it stands still. Arrays too."""
        return self.line.speed_at(torque)


@dataclass(frozen=True)
class Motor(Drive):
    """A motor whose torque falls in a straight line from stall to no load.

    Attributes
    ----------
    stall_torque : float
        Torque at the shaft that stops it, N·m.
    no_load_speed : float
        Speed without load, rpm.
    sustained_share : float, optional
        Share of the stall torque it can give without overheating; the maker's figure goes first.
        Default by its work.
    clutch_torque : float, optional
        Torque at which a slipping clutch lets go, N·m. None: no clutch, or locked as for drilling.
    inertia : float
        Moment of inertia of everything that turns inside, seen at the shaft, kg·m². It grows with
        the square of the ratio; left at 0 the time to speed comes out short, and a jam gives no
        more than the stall torque.
    work : {"running", "short runs", "holding"}
        How it is used, which says what share of its stall torque it bears: `WORK`.
    clutch_slips_back : bool
        Whether the clutch slips as well when the load turns the drive. A spindle lock that works
        by itself sits behind the clutch and holds without it.
    side_force : float
        With which it leans on its shaft, in any direction, N (30: a drill of 2 kg and a hand, an
        assumption).
    gear : {"", "low", "high"}
        Which of two gears or speeds that is, for its words.
    other_gear : Motor, optional
        The same in its other gear, where `solve` may choose.
    top_speed : float, optional
        Speed without load in a faster gear that it can be switched to, rpm. None: there is none.
    shaft_diameter : float, optional
        Of the shaft it turns, mm, which a sleeve couples to the first rod. Default: no coupling is
        designed.
    shaft_end : {"plain", "flat", "keyed"}
        Its form: round, with a flat or with a parallel key.
    drill : bool
        Whether it is a drill: its chuck takes hold of the rod, its clutch can be set.

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

    stall_torque: Torque
    no_load_speed: Speed
    sustained_share: Annotated[float | None, Bound(above=0.0, at_most=1.0)] = None
    clutch_torque: Annotated[float | None, TORQUE] = None
    inertia: Annotated[float, INERTIA] = 0.0
    work: WorkName = "running"
    clutch_slips_back: bool = True
    side_force: SideForce = 30.0
    gear: Literal["", "low", "high"] = ""
    other_gear: "Motor | None" = None
    top_speed: Annotated[float | None, Bound("rpm", above=0.0)] = None
    shaft_diameter: ShaftSize = None
    shaft_end: ShaftForm = "plain"
    drill: bool = False

    def __post_init__(self) -> None:
        check_values(self)

    @property
    def max_torque(self) -> float:
        """Stall torque, or the clutch's where that is less, N·m."""
        return min(self.stall_torque, self.clutch_torque or self.stall_torque)

    @property
    def slips_at(self) -> float | None:
        """The clutch torque, N·m."""
        return self.clutch_torque

    @property
    def slips_back_at(self) -> float | None:
        """The clutch torque, if the clutch slips both ways, N·m."""
        return self.clutch_torque if self.clutch_slips_back else None

    @property
    def share(self) -> float:
        """Share of its stall torque that it bears."""
        return WORK[self.work].share if self.sustained_share is None else self.sustained_share

    @property
    def sustained_torque(self) -> float:
        """Torque it can give without overheating and without the clutch slipping, N·m."""
        return min(self.share * self.stall_torque, self.max_torque)

    @property
    def cautions(self) -> tuple[str, ...]:
        """Heat, the rotor's momentum and the clutch, in plain sentences."""
        still, lost = "Standing still under load the drive turns up to", self.stall_torque
        if self.clutch_torque is not None and self.clutch_torque < self.stall_torque:
            still, lost = "While its clutch slips the drive turns", self.clutch_torque
        found = [
            f"{still} {motor_heat(lost, 0.0, self.no_load_speed):.0f} W into heat: let go within"
            " two seconds, and let it cool."
        ]
        if self.inertia == 0.0 and self.clutch_torque is None:
            found.append(
                "The momentum of the drive's rotor is not known: a sudden jam gives more than the"
                " stall torque counted here. Give its inertia, or set a clutch."
            )
        if self.clutch_torque is not None and self.clutch_slips_back:
            found.append(
                "It is counted on that the clutch slips when the load turns the drive, too. Turn"
                " the chuck by hand with the drive off: if it is locked, the spindle lock holds"
                " without the clutch: design for one that never slips back."
            )
        return tuple(found)

    @property
    def has_chuck(self) -> bool:
        """Whether it is a drill."""
        return self.drill

    @property
    def has_clutch(self) -> bool:
        """Whether it is a drill, or a clutch was given."""
        return self.drill or self.clutch_torque is not None

    @property
    def in_gear(self) -> str:
        """In which gear it runs, in words; empty where it has but one."""
        if not self.gear:
            return ""
        return f"drill in its {self.gear} gear" if self.drill else f"motor at its {self.gear} speed"

    @property
    def shaft(self) -> MotorShaft | None:
        """As given."""
        return MotorShaft(self.shaft_diameter, self.shaft_end) if self.shaft_diameter else None

    def attached(self, torque: Any, overhang: float) -> Attached:
        """Return how it leans on its shaft."""
        return chuck(self.side_force, overhang, "chuck" if self.drill else "drive")

    @property
    def line(self) -> TorqueLine:
        """The motor line, cut off at the clutch torque."""
        knee = self.no_load_speed * (1.0 - self.max_torque / self.stall_torque)
        return TorqueLine(self.max_torque, knee, self.no_load_speed)


def cordless_drill(
    max_torque: Torque,
    low_speed: Speed,
    high_speed: Speed,
    *,
    gear: Literal["low", "high"] | None = None,
    sustained_share: Annotated[float | None, Bound(above=0.0, at_most=1.0)] = None,
    clutch_torque: Annotated[float | None, TORQUE] = None,
    inertia: Annotated[float, INERTIA] = 0.0,
    work: WorkName = "running",
    clutch_slips_back: bool = True,
    side_force: SideForce = 30.0,
) -> Motor:
    """Return the motor that a cordless drill is at its chuck, from its data plate.

    Parameters
    ----------
    max_torque : float
        Highest torque on the data plate, N·m: that of the low gear, taken as the stall torque.
    low_speed, high_speed : float
        No-load speeds of the two gears, rpm.
    gear : {"low", "high"}, optional
        The gear it runs in. The same motor turns both, so the stall torque of the high gear is
        less by the ratio of the speeds. Default: high, and `solve` may take the low one.
    sustained_share, clutch_torque, inertia, work, clutch_slips_back, side_force
        As for `Motor`, at the chuck; the inertia in the gear it runs in, by default the high one.

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

    >>> cordless_drill(max_torque=60.0, low_speed=400.0, high_speed=1500.0).stall_torque
    16.0
    """
    check_given(cordless_drill, locals())
    number("high speed", high_speed, unit="rpm", at_least=low_speed)

    # the rotor turns faster for each turn of the chuck in low gear, and counts by the square of it
    more = (high_speed / low_speed) ** 2 if gear is None else 1.0

    def running_in(which: Literal["low", "high"], other: Motor | None = None) -> Motor:
        speed, swing = (low_speed, more * inertia) if which == "low" else (high_speed, inertia)
        top = high_speed if high_speed > speed else None
        return Motor(
            max_torque * low_speed / speed, speed, sustained_share, clutch_torque, swing,
            work, clutch_slips_back, side_force, which, other, top, drill=True,
        )  # fmt: skip

    if gear is not None:
        return running_in(gear)
    if low_speed == high_speed:
        return replace(running_in("high"), gear="")
    return running_in("high", running_in("low"))


def common_drive(
    name: str,
    gear: Literal["low", "high"] | None = None,
    clutch_torque: Annotated[float | None, TORQUE] = None,
    work: WorkName = "running",
    clutch_slips_back: bool = True,
    side_force: SideForce = 30.0,
) -> Motor:
    """Return a drive of the table of common kinds, with its usual figures.

    Parameters
    ----------
    name : str
        Its kind, e.g. "cordless screwdriver"; a wrong one is answered by all there are.
    """
    kind = drive_kind(name)
    if clutch_torque is not None and not kind.clutch:
        raise GearworkError(f"clutch torque is {clutch_torque}: a {name} has no clutch to set")
    torque, low, high = kind.torque[1], kind.low_speed[1], kind.high_speed[1]
    inertia = kind.inertia[1] * ((high / low) ** 2 if gear == "low" else 1.0)
    made = cordless_drill(
        torque, low, high, gear=gear, clutch_torque=clutch_torque, inertia=inertia, work=work,
        clutch_slips_back=clutch_slips_back, side_force=side_force,
    )  # fmt: skip
    if kind.clutch:
        return made
    other = made.other_gear and replace(made.other_gear, drill=False)
    return replace(made, other_gear=other, drill=False)


@dataclass(frozen=True)
class HandCrank(Drive):
    """A person turning a crank; what turns with it is left out of the inertia.

    Handbooks give up to 130 N at a crank of 400 mm and 25 to 30 rpm for some minutes; 30 W to
    50 W can be kept up for hours (from memory).

    Attributes
    ----------
    force : float
        Steady push at the handle, mean over the turn, N.
    crank_length : float
        Axis to handle, mm.
    cadence : float
        Speed of turning, rpm.
    peak_force : float
        Hardest push at the handle, N: 300 to 400 is possible (from memory). It loads the train
        but is not counted on for starting, for at the dead points no one can push so hard.
    minutes : float
        How long it is turned without a rest, which limits the power: `crank_power`.
    handle : float
        Middle of the handle beyond the crank's arm, mm: how far out it bends the shaft.

    Raises
    ------
    GearworkError
        If a value cannot be.

    Examples
    --------
    100 N at 300 mm are 30 N·m.

    >>> HandCrank(force=100.0, crank_length=300.0, cadence=30.0).sustained_torque
    30.0
    """

    force: Annotated[float, Bound("N", above=0.0)]
    crank_length: Annotated[float, Bound("mm", above=0.0)]
    cadence: Speed
    peak_force: Annotated[float, Bound("N", above=0.0)] = 400.0
    minutes: Annotated[float, Bound("min", above=0.0, at_most=1440.0)] = 5.0
    handle: Annotated[float, Bound("mm", at_least=0.0, at_most=500.0)] = 60.0

    def __post_init__(self) -> None:
        check_values(self)
        number("peak force", self.peak_force, unit="N", at_least=self.force)

    @property
    def sustained_torque(self) -> float:
        """Torque of the steady push, or what a person can keep up for so long, N·m."""
        return min(self.line.torque, crank_power(self.minutes) / (self.cadence * RPM))

    @property
    def max_torque(self) -> float:
        """Torque of the peak force, N·m."""
        return self.peak_force * self.crank_length / 1000.0

    @property
    def slips_back_at(self) -> float:
        """Torque of the peak force, N·m: nobody holds a handle against more."""
        return self.max_torque

    @property
    def cautions(self) -> tuple[str, ...]:
        """How hard the work is, in plain sentences."""
        power = self.sustained_torque * self.cadence * RPM
        return (
            f"At the crank {power:.0f} W are counted on for {self.minutes:g} minutes; a healthy"
            f" grown-up gives {crank_power(self.minutes):.0f} W for so long.",
        )

    @property
    def fixed_by(self) -> tuple[str, float]:
        """The crank, by a disc of 120 mm, or of its length where that is less (assumption)."""
        return "crank", min(self.crank_length, 120.0)

    @property
    def swept_diameter(self) -> float:
        """The circle of its handle, mm."""
        return 2.0 * self.crank_length

    def attached(self, torque: Any, overhang: float) -> Attached:
        """Return the push at the handle, which goes round."""
        return crank(torque, self.crank_length, overhang + self.handle)

    @property
    def line(self) -> TorqueLine:
        """The steady push up to the cadence."""
        return TorqueLine(self.force * self.crank_length / 1000.0, self.cadence, self.cadence)


@dataclass(frozen=True)
class GivenDrive(Drive):
    """A drive of which only torque and speed are known.

    Attributes
    ----------
    torque : float
        From standstill up to its speed, N·m.
    speed : float
        Up to which it gives that torque, rpm.
    side_force : float
        Across its shaft, in any direction, N.
    shaft_diameter, shaft_end
        As for `Motor`.

    Raises
    ------
    GearworkError
        If a value cannot be.

    Examples
    --------
    >>> GivenDrive(torque=0.5, speed=100.0).starting_torque
    0.5
    """

    torque: Torque
    speed: Speed
    side_force: SideForce = 0.0
    shaft_diameter: ShaftSize = None
    shaft_end: ShaftForm = "plain"

    def __post_init__(self) -> None:
        check_values(self)

    @property
    def shaft(self) -> MotorShaft | None:
        """As given."""
        return MotorShaft(self.shaft_diameter, self.shaft_end) if self.shaft_diameter else None

    def attached(self, torque: Any, overhang: float) -> Attached:
        """Return the given force across the shaft."""
        return chuck(self.side_force, overhang, "drive")

    @property
    def line(self) -> TorqueLine:
        """The given torque up to the given speed."""
        return TorqueLine(self.torque, self.speed, self.speed)
