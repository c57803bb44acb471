"""Load cases of a gear pair: what the teeth must bear, how long and how often."""

from dataclasses import dataclass
from math import pi
from typing import Any, Literal

import numpy as np

from gearwork.checks.check import Case
from gearwork.checks.tooth.friction import FRICTION, FlankFriction
from gearwork.errors import GearworkError, number
from gearwork.geometry.gear import Gear
from gearwork.stock.timber import Factor, design_value, fatigue_factor, gamma_m, k_mod

Duration = Literal["permanent", "long", "medium", "short", "instantaneous"]

MOST_CYCLES = 1e10
"""Where the line of `fatigue_factor` ends."""


@dataclass(frozen=True)
class Service:
    """How the machine is used.

    Attributes
    ----------
    service_class : {1, 2, 3}
        Moisture by EN 1995-1-1 2.3.1.3: 1 heated indoors, 2 under a roof, 3 in the weather.
    application_factor : float
        K_A for shocks from drive and load (ISO 6336-6 guide values): 1.25 for a steady motor
        and light shocks.
    running_hours : float
        In the machine's life, under the running torque.
    loads_both_flanks : bool
        Whether the teeth are loaded both ways turn by turn: reversing under load, an idler. What
        comes back when the drive stops is a case of its own, as often as it starts.
    starts_per_hour, stalls_per_hour : float
        How often it starts and stops, and how often its output is stopped or jams, in an hour of
        running (20 and 1: assumptions).
    speed_band : tuple of float
        Least and greatest speed over the wanted one.
    flanks : {"dry", "waxed", "steel"}
        What slides in the mesh: dry wood, waxed wood, or wood on steel; see `FRICTION`.

    Raises
    ------
    GearworkError
        If a value is out of its range or the service class unknown.

    Examples
    --------
    >>> Service(service_class=2, running_hours=30.0).application_factor
    1.25
    """

    service_class: int = 1
    application_factor: float = 1.25
    running_hours: float = 100.0
    loads_both_flanks: bool = False
    starts_per_hour: float = 20.0
    stalls_per_hour: float = 1.0
    speed_band: tuple[float, ...] = (0.8, 1.25)
    flanks: Literal["dry", "waxed", "steel"] = "dry"

    def __post_init__(self) -> None:
        for name in ("starts_per_hour", "stalls_per_hour"):
            words = name.replace("_", " ")
            number(words, getattr(self, name), at_least=0.0, at_most=1000.0)
        if len(self.speed_band) != 2:
            raise GearworkError(
                f"speed band is {self.speed_band}: two numbers are needed, least and greatest"
                " speed over the wanted one"
            )
        number("least speed over the wanted one", self.speed_band[0], above=0.0, at_most=1.0)
        number("greatest speed over the wanted one", self.speed_band[1], at_least=1.0, at_most=10)
        if self.flanks not in FRICTION:
            raise GearworkError(f"flanks are {self.flanks!r}: they must be one of {[*FRICTION]}")
        k_mod(self.service_class, "short")
        number("application factor", self.application_factor, at_least=1.0, at_most=3.0)
        number("running hours", self.running_hours, unit="h", above=0.0, at_most=1e5)

    @property
    def friction(self) -> FlankFriction:
        """Coefficients of friction between the flanks."""
        return FRICTION[self.flanks]

    def times(self, case: Case) -> float | None:
        """Return how often a load comes in the machine's life; None: with each turn."""
        if case == "running":
            return None
        often = self.stalls_per_hour if case == "stall" else self.starts_per_hour
        return max(often * self.running_hours, 1.0)


@dataclass(frozen=True)
class LoadCase:
    """One load on a pair.

    Attributes
    ----------
    name : str
        "running", "starting", "stall" or "braking".
    torque : float
        On the pinion, N·m.
    speed : float
        Of the pinion, rpm.
    duration : str
        Class of EN 1995-1-1 table 2.1: all the time under this load added up.
    repeated : bool
        Whether each turn of the gear counts as a cycle of fatigue.
    service : Service
        How the machine is used.
    """

    name: Case
    torque: float
    speed: float
    duration: Duration
    repeated: bool
    service: Service

    @property
    def times(self) -> float | None:
        """How often it comes in the machine's life; None: with each turn."""
        return self.service.times(self.name)

    @property
    def kind(self) -> Literal["fatigue", "strength"]:
        """What sort of limit a strength is under this load."""
        return "fatigue" if self.repeated else "strength"

    @property
    def static_factors(self) -> tuple[Factor, ...]:
        """Moisture and duration of the load, and the partial factor of the sheet."""
        return k_mod(self.service.service_class, self.duration), gamma_m("plywood")

    @property
    def static_share(self) -> float:
        """Design over characteristic strength under a static load."""
        return design_value(1.0, *self.static_factors)

    def factors(self, gear: Gear, pinion: Gear) -> tuple[Factor, ...]:
        """Return all factors between characteristic and design strength of a gear's teeth."""
        found = list(self.static_factors)
        if self.repeated:
            turns = self._turns(self.speed * pinion.teeth / gear.teeth)
            found.append(fatigue_factor(self._stress_ratio, float(turns)))
            found.append(speed_factor(pinion.reference_diameter, self.speed))
        elif self.times is not None:
            found.append(fatigue_factor(self._stress_ratio, self.times))
        return tuple(found)

    def share_left(self, gear_speed: Any, pitch_line_speed: Any) -> Any:
        """Return design over characteristic strength of a gear's teeth, the product of `factors`.

        Parameters
        ----------
        gear_speed : float or ndarray
            Of the gear, rpm.
        pitch_line_speed : float or ndarray
            Of the reference circle, m/s.
        """
        share = self.static_share
        if not self.repeated:
            if self.times is None:
                return share
            return share * fatigue_factor(self._stress_ratio, self.times).value
        ends = [fatigue_factor(self._stress_ratio, cycles).value for cycles in (1.0, MOST_CYCLES)]
        decades = np.log10(self._turns(gear_speed))
        tired = np.interp(decades, (0.0, np.log10(MOST_CYCLES)), ends)
        return share * tired * barth(pitch_line_speed)

    @property
    def _stress_ratio(self) -> float:
        both = self.service.loads_both_flanks or self.name == "braking"
        return -1.0 if both else 0.0

    def _turns(self, gear_speed: Any) -> Any:
        return np.clip(gear_speed * 60 * self.service.running_hours, 1.0, MOST_CYCLES)

    @property
    def application_factor(self) -> float:
        """K_A of this case: to the greatest torques there are, nothing comes on top."""
        return 1.0 if self.name in ("stall", "braking") else self.service.application_factor


def speed_factor(diameter: float, speed: float) -> Factor:
    """Return Barth's factor for non-metallic gears, 0.25 + 0.75 / (1 + v).

    Parameters
    ----------
    diameter : float
        Reference diameter, mm.
    speed : float
        rpm; v is the speed of the reference circle in m/s.
    """
    v = pitch_line_speed(diameter, speed)
    return Factor(
        f"Barth's speed factor, v = {v:.2f} m/s",
        barth(v),
        "Barth's formula for non-metallic gears (from memory)",
    )


def pitch_line_speed(diameter: Any, speed: Any) -> Any:
    """Return the speed of the reference circle, m/s, from its diameter in mm and rpm."""
    return pi * diameter * speed / 60_000


def barth(speed: Any) -> Any:
    """Return 0.25 + 0.75 / (1 + v) for a speed of the reference circle in m/s."""
    return 0.25 + 0.75 / (1 + speed)


def load_cases(
    running_torque: float,
    speed: float,
    service: Service,
    starting_torque: float | None = None,
    stall_torque: float | None = None,
    braking_torque: float | None = None,
) -> tuple[LoadCase, ...]:
    """Return the cases of a pair: running, and starting, stall and braking where they are given.

    Parameters
    ----------
    running_torque, starting_torque, stall_torque, braking_torque : float
        On the pinion, N·m.
    speed : float
        Of the pinion, rpm.
    service : Service
        How the machine is used.

    Returns
    -------
    tuple of LoadCase
        "running", then "starting", "stall" and "braking" as far as given.

    Raises
    ------
    GearworkError
        If a torque or the speed is negative or no number.

    Examples
    --------
    >>> [case.name for case in load_cases(1.0, 150.0, Service(), stall_torque=3.0)]
    ['running', 'stall']
    """
    pace = number("speed", speed, unit="rpm", at_least=0.0, at_most=1e5)
    given: tuple[tuple[Case, float | None, Duration, bool], ...] = (
        ("running", running_torque, "medium", True),
        ("starting", starting_torque, "short", False),
        ("stall", stall_torque, "short", False),
        ("braking", braking_torque, "short", False),
    )
    return tuple(
        LoadCase(
            name,
            number(f"{name} torque", torque, unit="N·m", at_least=0.0, at_most=1e6),
            pace,
            duration,
            repeated,
            service,
        )
        for name, torque, duration, repeated in given
        if torque is not None
    )
