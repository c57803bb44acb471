"""Vehicle: a small wheeled vehicle with its driver, as a load on the gear train."""

import math
from dataclasses import dataclass
from typing import Annotated, Any, Literal

import numpy as np

from gearwork.checks.check import Check
from gearwork.errors import Bound, GearworkError, number
from gearwork.machine import load
from gearwork.machine.attached import Attached, wheels
from gearwork.machine.events import EventName, braking_force

_BRAKING = 0.25  # share of the weight that the brake slows beyond holding it
_TIPPING_FRICTION = 1.0  # more than tyres have on any ground here, for people's safety
_SPREAD = 1.5  # greatest friction over that to count on, where the ground is not named
_MAX_FRICTION = 2.0
_FRICTION = Bound(above=0.0, at_most=_MAX_FRICTION)
_STABLE_SLOPE = 10.0  # degrees
_STABILITY = 2.0  # times the gradient to climb
_STATICS = "static equilibrium on a slope (Wong, Theory of Ground Vehicles, ch. 3; from memory)"


@dataclass(frozen=True)
class Vehicle(load.Hauled):
    """A vehicle on four wheels (or three) with one driven axle, going up a slope.

    Attributes
    ----------
    mass : float
        Vehicle and driver, kg.
    wheel_diameter : float
        Of the driven wheels, mm.
    slope : float
        Steepest slope to climb, degrees.
    rolling_resistance : float
        Pull over weight on level ground.
    travel_speed : float
        Wanted speed, m/s.
    tyre_friction : float
        Friction coefficient between driven wheels and ground.
    wheelbase : float
        Distance between the axles, mm.
    centre_to_rear : float
        Centre of mass ahead of the rear axle, mm.
    centre_height : float
        Centre of mass above the ground, mm, with the driver seated.
    track : float
        Distance between the wheels of an axle, mm.
    driven_axle : {"rear", "front"}
        The axle that drives.
    driven_share : float
        Share of that axle's weight on driven wheels: 0.5 if one wheel of two drives.
    start_factor : float
        Rolling resistance at the start over that in motion (2: assumption).
    max_friction : float, optional
        Highest friction between wheels and ground there may be: what a locked wheel feeds back.
        Default 1.5 times the tyre friction, or the upper end of the named surface.
    weight_share : float
        Share of the weight on a driven wheel that the output shaft carries; 0 where the wheel
        has bearings of its own.
    bump_factor : float
        Largest weight on a wheel over that standing still (2: assumption).
    side_share : float
        Highest force along the axle over the weight on a wheel, in bends and on cross slopes
        (0.1: assumption).
    max_speed : float, optional
        That nobody who rides may pass, not even without load, m/s. Default 1.25 times the wanted
        speed.

    Raises
    ------
    GearworkError
        If a value cannot be.

    Examples
    --------
    On level ground the pull is the rolling resistance: 0.02 of 980.665 N.

    >>> cart = Vehicle(
    ...     mass=100, wheel_diameter=300, slope=0, rolling_resistance=0.02, travel_speed=1.0,
    ...     tyre_friction=0.6, wheelbase=900, centre_to_rear=300, centre_height=400, track=600,
    ... )
    >>> round(cart.pull, 3)
    19.613
    """

    mass: load.Mass
    wheel_diameter: load.Size
    slope: load.Slope
    rolling_resistance: load.Resistance
    travel_speed: load.TravelSpeed
    tyre_friction: Annotated[float, _FRICTION]
    wheelbase: load.Size
    centre_to_rear: Annotated[float, Bound("mm", at_least=0.0)]
    centre_height: load.Size
    track: load.Size
    driven_axle: Literal["rear", "front"] = "rear"
    driven_share: Annotated[float, Bound(above=0.0, at_most=1.0)] = 1.0
    start_factor: load.StartFactor = 2.0
    max_friction: Annotated[float | None, _FRICTION] = None
    weight_share: Annotated[float, Bound(at_least=0.0, at_most=1.0)] = 1.0
    bump_factor: Annotated[float, Bound(at_least=1.0, at_most=10.0)] = 2.0
    side_share: Annotated[float, Bound(at_least=0.0, at_most=1.0)] = 0.1
    max_speed: Annotated[float | None, Bound("m/s", above=0.0, at_most=10.0)] = None

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.rolling_resistance == 0.0:
            raise GearworkError(
                "rolling resistance is 0: no wheel rolls for nothing; take at least 0.01 (asphalt)"
            )
        if self.max_friction is not None:
            number("max friction", self.max_friction, at_least=self.tyre_friction)
        if self.max_speed is not None:
            number("max speed", self.max_speed, unit="m/s", at_least=self.travel_speed)
        number("centre to rear", self.centre_to_rear, unit="mm", at_most=self.wheelbase)

    @property
    def pull_diameter(self) -> float:
        """The wheel diameter, mm."""
        return self.wheel_diameter

    @property
    def slipping_pull(self) -> float:
        """Pull at which the driven wheels slip, N; infinite if the vehicle rears up before.

        The pull itself moves weight to the rear axle. Quasi-static equilibrium with
        W = m g cos s: F = mu W (a -+ f h) / (L -+ mu h), upper signs for the rear axle, a the
        distance of the centre of mass to the other axle (Wong, ch. 3; from memory).
        """
        return self._slipping_pull(self.tyre_friction)

    def _slipping_pull(self, friction: float) -> float:
        grip = friction * self.driven_share
        span = self.wheelbase - self._lean * grip * self.centre_height
        if span <= 0.0:
            return math.inf
        return grip * self._normal_weight * self._rolling_arm / span

    @property
    def slip_torque(self) -> float:
        """Torque at the axle at which the wheels slip on the grippiest ground of this kind, N·m."""
        return self._slipping_pull(self.grip) * self.wheel_diameter / 2000.0

    @property
    def tipping_pull(self) -> float:
        """Force at the driven wheels that lifts the other axle, N.

        W (a / h +- f), a the distance of the centre of mass to the driven axle. Driving does it
        with a driven rear axle (+), stopping with a driven front axle (-).
        """
        arm = (self.wheelbase - self._far_arm) / self.centre_height
        return self._normal_weight * (arm + self._lean * self.rolling_resistance)

    @property
    def borne_torque(self) -> float:
        """Torque at the axle that lifts the front wheels, N·m; infinite if the wheels slip first.

        On a front axle it lifts nothing.
        """
        lifts = self.driven_axle == "rear" and self._force_at_most > self.tipping_pull
        return self.tipping_pull * self.wheel_diameter / 2000.0 if lifts else math.inf

    @property
    def usable_torque(self) -> float:
        """Torque at the axle beyond which wheels slip or the front lifts, N·m."""
        pull = self.slipping_pull
        if self.driven_axle == "rear":
            pull = min(pull, self.tipping_pull)
        return pull * self.wheel_diameter / 2000.0

    @property
    def grip(self) -> float:
        """Greatest friction between wheels and ground there may be."""
        if self.max_friction is None:
            return min(_SPREAD * self.tyre_friction, _MAX_FRICTION)
        return self.max_friction

    @property
    def back_torque(self) -> float:
        """Torque at the axle when the drive locks while the vehicle rolls ahead, N·m.

        The driven wheels slip at the greatest friction of this ground, with the weight that the
        stop leaves on them; see `braking_force`.
        """
        force = braking_force(
            self._normal_weight, self.grip, self.driven_share, self.wheelbase,
            self.centre_to_rear, self.centre_height, self.driven_axle,
        )  # fmt: skip
        return force * self.wheel_diameter / 2000.0

    @property
    def fixed_by(self) -> tuple[str, float]:
        """The driven wheel, by a disc of half its diameter (assumption)."""
        return "driven wheel", self.wheel_diameter / 2.0

    @property
    def swept_diameter(self) -> float:
        """That of its wheels, mm."""
        return self.wheel_diameter

    @property
    def output_height(self) -> float:
        """The axle is half a wheel above the ground, mm."""
        return self.wheel_diameter / 2.0

    @property
    def back_event(self) -> tuple[EventName, str, str]:
        """The drive or its spindle locks."""
        return (
            "drive locks",
            "The drive stops or its spindle locks while the vehicle rolls ahead",
            f"wheels slip: friction {self.grip:.2g} at most on the"
            f" {2000.0 * self.back_torque / self.wheel_diameter / self.grip:.0f} N that the stop"
            f" leaves on them, {self.wheel_diameter / 2.0:.0f} mm below the axle:"
            f" {self.back_torque:.3g} N·m",
        )

    @property
    def holding_torque(self) -> float:
        """Torque at the axle that holds it on the slope, without help from friction, N·m."""
        return load.hauling_pull(self.mass, self.slope, 0.0) * self.wheel_diameter / 2000.0

    @property
    def riding_limit(self) -> float:
        """Speed that nobody who rides may pass, m/s."""
        return 1.25 * self.travel_speed if self.max_speed is None else self.max_speed

    def attached(self, torque: Any, overhang: float, running: bool) -> Attached:
        """Return weight and traction of the driven wheels; not running: on a bump, in a bend.

        The traction moves weight to the axle: (W a + F h) / L, at the worse sign. Steadily two
        wheels share it; on a bump, or where one stands against a step, one may pull for both.
        """
        count = 2 if self.driven_share > 0.5 else 1
        traction = 2000.0 * torque / self.wheel_diameter
        level = self.mass * load.GRAVITY
        axle = (level * self._far_arm + traction * self.centre_height) / self.wheelbase
        weight = self.weight_share * self.driven_share * np.minimum(axle, level) / count
        side = 0.0 if running else self.side_share * weight
        bump = 1.0 if running else self.bump_factor
        return wheels(
            bump * weight, traction, self.wheel_diameter, overhang, count, bump * side, not running
        )

    @property
    def tipping_slope(self) -> float:
        """Least slope that tips it over standing still, facing any way, degrees."""
        arm = min(self.centre_to_rear, self.wheelbase - self.centre_to_rear, self.track / 2.0)
        return math.degrees(math.atan2(arm, self.centre_height))

    @property
    def cautions(self) -> tuple[str, ...]:
        """What can hurt somebody, in plain sentences.

        The brake is to hold on the slope and beyond that to slow a quarter of the weight
        (assumption).
        """
        braking = load.hauling_pull(self.mass, self.slope, _BRAKING)
        return (
            "Fit a brake that works on the wheels without the gears and gives at least"
            f" {braking:.0f} N at the ground: when a gear or its fixing fails, the"
            " gears brake no more.",
            "Stopping the drive locks or drags the driven wheels: slow down before letting go.",
            *((load.running_back(self.slope, self.rolling_resistance),) if self.slope else ()),
            f"Nobody rides faster than {self.riding_limit:.2g} m/s with it, downhill included: the"
            " drive holds it back only as long as no gear fails.",
            "Cover the gears so that neither fingers, hair, laces nor clothing reach them.",
            "Try it empty first, then with a grown-up beside it, away from traffic, water and"
            " steep ground; helmet on, and follow the local rules for ride-on vehicles.",
        )

    def checks(self, output_torque: float) -> tuple[Check, ...]:
        """Judge grip and tipping when the drive's largest torque (N·m) reaches the axle."""
        return (self._grip_check(), self._lifting_check(output_torque), self._tipping_check())

    @property
    def _normal_weight(self) -> float:
        return self.mass * load.GRAVITY * math.cos(math.radians(self.slope))

    @property
    def _lean(self) -> float:
        """Which way the pull moves weight: 1 onto the driven axle, −1 off it."""
        return 1.0 if self.driven_axle == "rear" else -1.0

    @property
    def _far_arm(self) -> float:
        """Distance of the centre of mass from the axle that does not drive, mm."""
        behind = self.centre_to_rear
        return self.wheelbase - behind if self.driven_axle == "rear" else behind

    @property
    def _force_at_most(self) -> float:
        """Force that a friction of 1.0 lets reach the ground, in the sense that tips, N."""
        grip = _TIPPING_FRICTION * self.driven_share
        span = self.wheelbase - grip * self.centre_height
        share = self._far_arm / span if span > self._far_arm else 1.0
        return grip * share * self._normal_weight

    @property
    def _rolling_arm(self) -> float:
        shift = self._lean * self.rolling_resistance * self.centre_height
        return max(self._far_arm - shift, 0.0)

    def _grip_check(self) -> Check:
        pull = self.starting_pull
        weight = self._normal_weight * self._rolling_arm + self._lean * self.centre_height * pull
        needed = pull * self.wheelbase / (self.driven_share * weight) if weight > 0.0 else math.inf
        return Check(
            judged="grip of the driven wheels",
            kind="speed",
            value=self.tyre_friction,
            limit=needed,
            unit="",
            sense="at least",
            why=f"Starting takes {pull:.3g} N at the ground; with less friction the wheels spin.",
            source=_STATICS,
        )

    def _lifting_check(self, output_torque: float) -> Check:
        force = self._force_at_most
        name, cause = "stopping that lifts the rear wheels", "Stopping the drive at once"
        if self.driven_axle == "rear":
            force = min(2000.0 * output_torque / self.wheel_diameter, force)
            name, cause = "pull that lifts the front wheels", "The drive's largest torque"
        return Check(
            judged=name,
            kind="speed",
            value=force,
            limit=self.tipping_pull,
            unit="N",
            sense="at most",
            why=f"{cause}, as far as a friction of 1.0 lets it reach the ground.",
            source=_STATICS,
        )

    def _tipping_check(self) -> Check:
        doubled = math.atan(_STABILITY * math.tan(math.radians(self.slope)))
        needed = max(_STABLE_SLOPE, math.degrees(doubled))
        return Check(
            judged="slope that tips the vehicle",
            value=self.tipping_slope,
            limit=needed,
            unit="°",
            sense="at least",
            why="Standing still, driver upright; leaning, bumps and braking need the reserve.",
            source=(
                "10° as for ride-on toys (EN 71-1, from memory); twice the slope's gradient"
                " (assumption)"
            ),
        )
