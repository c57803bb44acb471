"""Load cases of a gear pair: what the teeth must bear, how long and how often."""

from dataclasses import dataclass, replace
from typing import Annotated, Any, Literal

import numpy as np

from gearwork.checks import fatigue
from gearwork.checks.check import Case
from gearwork.checks.tooth.friction import FRICTION, FlankFriction
from gearwork.errors import Bound, check_values, number
from gearwork.geometry.pair import Side
from gearwork.numbers import how_often
from gearwork.stock.timber import Factor, design_value, gamma_m, k_mod

Duration = Literal["permanent", "long", "medium", "short", "instantaneous"]

SPANS: tuple[tuple[Duration, float], ...] = (
    ("short", 168.0), ("medium", 4380.0), ("long", 87_600.0)
)  # fmt: skip
"""Classes of EN 1995-1-1:2004 table 2.1 up to so many hours under load, all added up."""

DRAG = 0.48
"""Rise of the pull at the root for a friction of 1, at most: at its tip the driver's flank is
dragged outwards, which bends the tooth more than the smaller normal force for the same torque
bends it less (`friction.driving_tooth`)."""


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
        Whether the teeth are loaded both ways turn by turn: reversing under load. An idler's are in
        any case. What comes back when the drive stops is a case of its own, as often as it starts.
    starts_per_hour, stalls_per_hour : float
        How often it starts and stops, and how often its output is stopped or jams, in an hour of
        running (20 and 1: assumptions).
    speed_band : tuple of float
        Lowest and highest speed over the wanted one.
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

    service_class: Annotated[int, Bound(at_least=1, at_most=3)] = 1
    application_factor: Annotated[float, Bound(at_least=1.0, at_most=3.0)] = 1.25
    running_hours: Annotated[float, Bound("h", above=0.0, at_most=1e5)] = 100.0
    loads_both_flanks: bool = False
    starts_per_hour: Annotated[float, Bound(at_least=0.0, at_most=1000.0)] = 20.0
    stalls_per_hour: Annotated[float, Bound(at_least=0.0, at_most=1000.0)] = 1.0
    speed_band: Annotated[
        tuple[float, ...], Bound(above=0.0, at_most=10.0, entries=("lowest", "highest"))
    ] = (0.8, 1.25)
    flanks: Literal["dry", "waxed", "steel"] = "dry"

    def __post_init__(self) -> None:
        check_values(self)
        number("lowest speed over the wanted one", self.speed_band[0], at_most=1.0)
        number("highest speed over the wanted one", self.speed_band[1], at_least=1.0)

    @property
    def friction(self) -> FlankFriction:
        """Coefficients of friction between the flanks."""
        return FRICTION[self.flanks]

    @property
    def senses(self) -> tuple[float, ...]:
        """Ways round in which the drive loads the train: 1, and -1 where it reverses under load."""
        return (1.0, -1.0) if self.loads_both_flanks else (1.0,)

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
    grave : bool
        Whether a failure has grave consequences, as where people ride: β = 3 in k_fat.
    travel : float, optional
        Of the rack that the pinion moves to and fro, mm.
    """

    name: Case
    torque: float
    speed: float
    duration: Duration
    repeated: bool
    service: Service
    grave: bool = False
    travel: float | None = None

    @property
    def both_ways(self) -> "LoadCase":
        """The same on the teeth of an idler: pushed on one flank, pushing with the other.

        In each turn the root is bent both ways once, which is one cycle of R = −1.
        """
        return replace(self, service=replace(self.service, loads_both_flanks=True))

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

    def factors(self, gear_speed: float, kind: str = "tension") -> tuple[Factor, ...]:
        """Return the factors between characteristic and design strength that decide.

        Either the static ones or k_fat, whichever leaves less; never both, for k_fat contains the
        time under load, and its partial factor is 1.0.

        Parameters
        ----------
        gear_speed : float
            Of the gear, rpm.
        kind : str
            Of the stress, as `fatigue_share` has them.
        """
        cycles = float(self._cycles(gear_speed))
        tired = self._tired(cycles, kind)
        found = fatigue.fatigue_factor(kind, self._stress_ratio, cycles, self._beta)
        if tired < found.value:
            found = Factor(
                f"share left of teeth, R = {self._stress_ratio:g}, {how_often(cycles)} cycles",
                tired,
                f"{found.source}; shear and, at R = −1, laminates of wood, Wind Energy Handbook"
                " (2001) p. 391",
            )
        return fatigue.deciding(self.static_factors, found, self._moisture)

    def share_left(self, gear_speed: Any) -> Any:
        """Return design over characteristic strength of teeth, the product of `factors`.

        `gear_speed`: of the gear, rpm; a number or an array.
        """
        tired = self._tired(self._cycles(gear_speed), "tension") * self._moisture.value
        return np.minimum(tired, self.static_share)

    def _tired(self, cycles: Any, kind: str) -> Any:
        share = fatigue.fatigue_share(kind, self._stress_ratio, cycles, self._beta)
        if kind == "tension":
            share = fatigue.tooth_share(self._stress_ratio, cycles, self._beta)
        return (
            np.minimum(share, fatigue.laminate_share(cycles)) if self._stress_ratio < 0.0 else share
        )

    @property
    def _moisture(self) -> Factor:
        return fatigue.moisture_factor(self.service.service_class)

    @property
    def _beta(self) -> float:
        return fatigue.GRAVE if self.grave else 1.0

    @property
    def _stress_ratio(self) -> float:
        both = self.service.loads_both_flanks or self.name == "braking"
        return -1.0 if both else 0.0

    def _cycles(self, gear_speed: Any) -> Any:
        """Loads of one tooth in the machine's life: with each turn, or as often as it happens."""
        turns = gear_speed * 60 * self.service.running_hours
        often = turns if self.repeated else 1.0 if self.times is None else self.times
        return np.clip(often, 1.0, fatigue.MAX_CYCLES)

    @property
    def driver(self) -> Side:
        """The gear that pushes: the pinion, unless the load drives back."""
        return "wheel" if self.name == "braking" else "pinion"

    @property
    def drag(self) -> Factor:
        """By how much friction between the flanks raises the pull at the root of the driver."""
        found = self.service.friction
        coefficient = found.moving if self.repeated else found.starting
        return Factor(
            f"friction at the root of the driving tooth, μ = {coefficient:g}",
            1.0 + DRAG * coefficient,
            f"statics of the tooth, not passed for 10 to 60 teeth; {found.source}",
            divides=True,
        )

    @property
    def application_factor(self) -> float:
        """K_A of this case: to the greatest torques there are, nothing comes on top."""
        return 1.0 if self.name in ("stall", "braking") else self.service.application_factor


def load_cases(
    running_torque: float,
    speed: float,
    service: Service,
    starting_torque: float | None = None,
    stall_torque: float | None = None,
    braking_torque: float | None = None,
    *,
    grave: bool = False,
    travel: float | None = None,
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
    grave : bool
        Whether a failure has grave consequences, as where people ride.
    travel : float, optional
        Of the rack that the pinion moves, mm.

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
    hours = service.running_hours
    lasting: Duration = next((name for name, most in SPANS if hours <= most), "permanent")
    given: tuple[tuple[Case, float | None, Duration, bool], ...] = (
        ("running", running_torque, lasting, True),
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
            grave,
            travel,
        )
        for name, torque, duration, repeated in given
        if torque is not None
    )
