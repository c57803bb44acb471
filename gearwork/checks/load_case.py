"""Load cases of a gear pair: what the teeth must bear, how long and how often."""

from dataclasses import dataclass
from typing import Literal

from gearwork.errors import number
from gearwork.geometry.gear import Gear
from gearwork.stock.timber import Factor, fatigue_factor, gamma_m, k_mod

Duration = Literal["permanent", "long", "medium", "short", "instantaneous"]


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
        Whether the teeth are loaded both ways: reversing, braking by the motor, an idler.
    """

    service_class: int = 1
    application_factor: float = 1.25
    running_hours: float = 100.0
    loads_both_flanks: bool = False

    def __post_init__(self) -> None:
        k_mod(self.service_class, "short")
        number("application factor", self.application_factor, at_least=1.0, at_most=3.0)
        number("running hours", self.running_hours, unit="h", above=0.0, at_most=1e5)


@dataclass(frozen=True)
class LoadCase:
    """One load on a pair.

    Attributes
    ----------
    name : str
        "running", "starting" or "stall".
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

    name: str
    torque: float
    speed: float
    duration: Duration
    repeated: bool
    service: Service

    @property
    def static_factors(self) -> tuple[Factor, ...]:
        """Moisture and duration of the load, and the partial factor of the sheet."""
        return k_mod(self.service.service_class, self.duration), gamma_m("plywood")

    def factors(self, gear: Gear, pinion: Gear) -> tuple[Factor, ...]:
        """Return all factors between characteristic and design strength of a gear's teeth."""
        found = list(self.static_factors)
        if self.repeated:
            turns = self.speed * pinion.teeth / gear.teeth * 60 * self.service.running_hours
            ratio = -1.0 if self.service.loads_both_flanks else 0.0
            found.append(fatigue_factor(ratio, min(max(turns, 1.0), 1e10)))
            found.append(speed_factor(pinion.reference_diameter, self.speed))
        return tuple(found)

    @property
    def application_factor(self) -> float:
        """K_A of this case: a stall is the greatest torque there is, nothing comes on top."""
        return 1.0 if self.name == "stall" else self.service.application_factor


def speed_factor(diameter: float, speed: float) -> Factor:
    """Return Barth's factor for non-metallic gears, 0.25 + 0.75 / (1 + v).

    Parameters
    ----------
    diameter : float
        Reference diameter, mm.
    speed : float
        rpm; v is the speed of the reference circle in m/s.
    """
    v = 3.141592653589793 * diameter * speed / 60_000
    return Factor(
        f"Barth's speed factor, v = {v:.2f} m/s",
        0.25 + 0.75 / (1 + v),
        "Barth's formula for non-metallic gears (from memory)",
    )


def load_cases(
    running_torque: float,
    speed: float,
    service: Service,
    starting_torque: float | None = None,
    stall_torque: float | None = None,
) -> tuple[LoadCase, ...]:
    """Return the cases of a pair: running, and starting and stall where they are given.

    Parameters
    ----------
    running_torque, starting_torque, stall_torque : float
        On the pinion, N·m.
    speed : float
        Of the pinion, rpm.
    service : Service
        How the machine is used.
    """
    pace = number("speed", speed, unit="rpm", at_least=0.0, at_most=1e5)
    given = (
        ("running", running_torque, "medium", True),
        ("starting", starting_torque, "short", False),
        ("stall", stall_torque, "short", False),
    )
    return tuple(
        LoadCase(
            name,
            number(f"{name} torque", torque, unit="N·m", at_least=0.0, at_most=1e6),
            pace,
            duration,  # type: ignore[arg-type]
            repeated,
            service,
        )
        for name, torque, duration, repeated in given
        if torque is not None
    )
