"""What must move: what every load tells, a rope drum, a load of given torque and speed."""

import math
from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np

from gearwork.checks.check import Check
from gearwork.errors import Bound, GearworkError, check_values
from gearwork.machine.attached import Attached, chuck, drum
from gearwork.machine.events import EventName
from gearwork.numbers import RPM

GRAVITY = 9.80665
"""Standard gravity, m/s² (CGPM 1901)."""


class Load(ABC):
    """What every load tells the gear train, all at its output shaft, and what is usual."""

    @property
    @abstractmethod
    def starting_torque(self) -> float:
        """Torque to start it, N·m."""

    @property
    @abstractmethod
    def running_torque(self) -> float:
        """Greatest torque while it moves steadily, N·m."""

    @property
    def min_running_torque(self) -> float:
        """Least torque while it moves steadily, N·m; a rope drum begins with it."""
        return self.running_torque

    @property
    @abstractmethod
    def wanted_power(self) -> float:
        """Power at the wanted speed, W."""

    @property
    def pull_diameter(self) -> float | None:
        """Diameter at which the torque becomes a pull, mm; None if there is no pull."""
        return None

    @property
    @abstractmethod
    def inertia(self) -> float:
        """Moment of inertia of all that moves, seen at the output, kg·m²."""

    @property
    def run_on_inertia(self) -> float:
        """What of its inertia turns the gears on when the drive stops dead, kg·m².

        Nothing of what hangs on a rope, which goes slack, or rolls on wheels, which slip.
        """
        return 0.0

    @property
    def usable_torque(self) -> float:
        """Torque beyond which the load slips or tips, N·m; infinite if it does neither."""
        return math.inf

    @property
    def slip_torque(self) -> float:
        """Torque beyond which it slips on any ground, N·m; infinite if it does not."""
        return math.inf

    @property
    @abstractmethod
    def back_torque(self) -> float:
        """Torque the load can feed back into the train, N·m."""

    @property
    @abstractmethod
    def back_event(self) -> tuple[EventName, str, str]:
        """What makes it do so: name, cause, what caps it."""

    @property
    def holding_torque(self) -> float:
        """Torque with which it pulls back standing still, N·m; 0: nothing is known that does."""
        return 0.0

    @property
    def riding_limit(self) -> float | None:
        """Speed that nobody who rides on it may pass, m/s; None: nobody rides."""
        return None

    @property
    def fixed_by(self) -> tuple[str, float] | None:
        """What of it is fixed to the output shaft and its whole face, mm; None: not known."""
        return None

    @property
    def swept_diameter(self) -> float:
        """What turns with the shaft outside the plates, mm; 0: not known."""
        return self.fixed_by[1] if self.fixed_by else 0.0

    @property
    def output_height(self) -> float | None:
        """Height of the output shaft above the ground, mm; None: the load does not say."""
        return None

    @abstractmethod
    def attached(self, torque: Any, overhang: float, running: bool) -> Attached:
        """Return what it does across the output shaft under a torque there, N·m.

        Torques of many trains make arrays. The overhang in mm; not running: at worst, in a shock.
        """

    @property
    def loads_both_flanks(self) -> bool:
        """Whether the teeth are loaded on both flanks in turn, as when it runs on and drives."""
        return True

    @property
    @abstractmethod
    def cautions(self) -> tuple[str, ...]:
        """What can hurt somebody, in plain sentences."""

    @property
    def borne_torque(self) -> float:
        """Torque at the output up to which the load itself stays as it should, N·m."""
        return math.inf

    def checks(self, output_torque: float) -> tuple[Check, ...]:
        """Judge the load when the drive's greatest torque (N·m) reaches the output."""
        return ()


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


def running_back(slope: float, rolling_resistance: float) -> str:
    """Return in a sentence whether a load on a slope stays where it is by itself.

    Only its own resistance counts, half of it, for ground differs; that of the gears does not, for
    friction that holds today is less when it shakes or is waxed.
    """
    margin = 0.5 * rolling_resistance / math.tan(math.radians(slope))
    if margin >= 1.0:
        return (
            f"On {slope:g}° its resistance is {2.0 * margin:.2g} times what pulls it back: on this"
            " ground it stays by itself; on harder ground it runs."
        )
    return (
        f"On {slope:g}° its resistance is {2.0 * margin:.2g} times what pulls it back, and half of"
        " it is counted on: it does not stay by itself, and the gears do not hold it."
    )


Mass = Annotated[float, Bound("kg", above=0.0)]
Slope = Annotated[float, Bound("°", at_least=0.0, at_most=45.0)]
Resistance = Annotated[float, Bound(at_least=0.0, at_most=2.0)]
TravelSpeed = Annotated[float, Bound("m/s", above=0.0)]
StartFactor = Annotated[float, Bound(at_least=1.0)]
Size = Annotated[float, Bound("mm", above=0.0)]


class Hauled(Load):
    """The part of a load that follows from its being hauled or driven up a slope."""

    mass: Mass
    slope: Slope
    rolling_resistance: Resistance
    travel_speed: TravelSpeed
    start_factor: StartFactor

    @property
    @abstractmethod
    def pull_diameter(self) -> float:
        """Diameter at which the torque becomes a pull, mm."""

    def __post_init__(self) -> None:
        check_values(self)

    @property
    def pull(self) -> float:
        """Pull in the rope or at the wheels to keep moving, N."""
        return hauling_pull(self.mass, self.slope, self.rolling_resistance)

    @property
    def starting_pull(self) -> float:
        """Pull in the rope or at the wheels to start, N."""
        return hauling_pull(self.mass, self.slope, self.rolling_resistance, self.start_factor)

    @property
    def starting_torque(self) -> float:
        """Torque to start the load, on the last layer of a drum, N·m."""
        return self.starting_pull * self.pull_diameter / 2000.0

    @property
    def running_torque(self) -> float:
        """Torque to keep it moving, on the last layer of a drum, N·m."""
        return self.pull * self.pull_diameter / 2000.0

    @property
    def wanted_power(self) -> float:
        """Pull times wanted speed, W; air resistance is left out."""
        return self.pull * self.travel_speed

    @property
    def inertia(self) -> float:
        """Inertia of the mass seen at the output, kg·m²; that of drum or wheels is left out."""
        return self.mass * (self.pull_diameter / 2000.0) ** 2


@dataclass(frozen=True)
class GivenLoad(Load):
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
    side_force : float
        Across the output shaft, in any direction, N.

    Raises
    ------
    GearworkError
        If a value cannot be.

    Examples
    --------
    >>> GivenLoad(torque=10.0, speed=30.0, start_factor=1.5).starting_torque
    15.0
    """

    torque: Annotated[float, Bound("N·m", above=0.0)]
    speed: Annotated[float, Bound("rpm", above=0.0)]
    start_factor: StartFactor = 1.0
    moving_inertia: Annotated[float, Bound("kg·m²", at_least=0.0)] = 0.0
    loads_both_flanks: bool = True
    side_force: Annotated[float, Bound("N", at_least=0.0)] = 0.0

    def __post_init__(self) -> None:
        check_values(self)

    @property
    def starting_torque(self) -> float:
        """Torque to start it, N·m."""
        return self.start_factor * self.torque

    @property
    def running_torque(self) -> float:
        """The given torque, N·m."""
        return self.torque

    @property
    def wanted_power(self) -> float:
        """Torque times wanted speed, W."""
        return self.torque * self.speed * RPM

    @property
    def inertia(self) -> float:
        """The given inertia, kg·m²."""
        return self.moving_inertia

    @property
    def run_on_inertia(self) -> float:
        """All of it, kg·m²."""
        return self.moving_inertia

    @property
    def back_torque(self) -> float:
        """The starting torque, N·m (assumption): nothing is known of what stops the load."""
        return self.starting_torque

    @property
    def back_event(self) -> tuple[EventName, str, str]:
        """The drive stops at once while the load moves."""
        return (
            "drive locks",
            "The drive stops at once while the load moves",
            "assumed to feed back what starts it: nothing is known of what stops it",
        )

    def attached(self, torque: Any, overhang: float, running: bool) -> Attached:
        """Return the given force across the shaft; in a shock in proportion to the torque."""
        share = 1.0 if running else np.maximum(torque / self.torque, 1.0)
        return chuck(share * self.side_force, overhang, "load")

    @property
    def cautions(self) -> tuple[str, ...]:
        """What can hurt somebody or break, in plain sentences."""
        guard = "Keep hands, hair and clothing away from the gears and put a guard over them."
        if self.side_force > 0.0:
            return (guard,)
        return (
            guard,
            "No force across the output shaft is counted. If what it turns hangs or presses on"
            " the rod, give side_force: it may ask for a thicker rod.",
        )


@dataclass(frozen=True)
class RopeDrum(Hauled):
    """A load hauled up a slope by a rope that winds on a drum.

    Attributes
    ----------
    mass : float
        Load and what carries it, kg.
    slope : float
        Slope of the ground, degrees.
    rolling_resistance : float
        Pull over weight on level ground; for a sledge its friction coefficient.
    drum_diameter, rope_diameter : float
        Of the bare drum and of the rope, mm.
    travel_speed : float
        Wanted speed of the load, m/s.
    layers : int
        Layers of rope on the full drum. The last one needs the greatest torque.
    start_factor : float
        Rolling resistance at the start over that in motion (2: assumption).
    rope_direction : float, optional
        Direction in which the rope leaves the drum, degrees from +x towards +y of the train, +y
        up. Default: not known, every direction is tried.

    Raises
    ------
    GearworkError
        If a value cannot be.

    Examples
    --------
    100 kg on a slope of 30° without friction: half the weight of 980.665 N hangs on the rope.

    >>> drum = RopeDrum(
    ...     mass=100, slope=30, rolling_resistance=0, drum_diameter=60, rope_diameter=6,
    ...     travel_speed=0.2,
    ... )
    >>> round(drum.pull, 3)
    490.332
    """

    mass: Mass
    slope: Slope
    rolling_resistance: Resistance
    drum_diameter: Size
    rope_diameter: Size
    travel_speed: TravelSpeed
    layers: Annotated[int, Bound(at_least=1)] = 1
    start_factor: StartFactor = 2.0
    rope_direction: Annotated[float | None, Bound("°")] = None

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.slope == 0.0 and self.rolling_resistance == 0.0:
            raise GearworkError(
                "slope and rolling resistance are both 0: nothing resists the rope;"
                " give the rolling resistance of the ground"
            )

    @property
    def first_diameter(self) -> float:
        """Diameter at the middle of the rope in the first layer, mm."""
        return self.drum_diameter + self.rope_diameter

    @property
    def pull_diameter(self) -> float:
        """Diameter at the middle of the rope in the last layer, mm."""
        return self.drum_diameter + (2 * self.layers - 1) * self.rope_diameter

    @property
    def min_running_torque(self) -> float:
        """Torque to keep it moving on the first layer, N·m."""
        return self.pull * self.first_diameter / 2000.0

    @property
    def holding_torque(self) -> float:
        """Torque that holds the load still on the slope, N·m; no help from friction counted."""
        return hauling_pull(self.mass, self.slope, 0.0) * self.pull_diameter / 2000.0

    @property
    def back_torque(self) -> float:
        """Twice the holding torque, N·m: a load that falls into a just slack rope.

        Suddenly applied load, factor 2 (Roark's Formulas for Stress and Strain, chapter on
        dynamic loading; from memory). A rope with slack in it gives more.
        """
        return 2.0 * self.holding_torque

    @property
    def fixed_by(self) -> tuple[str, float]:
        """The drum, by its flange: two ropes higher than the last layer (common practice)."""
        return "drum", self.drum_diameter + (2 * self.layers + 4) * self.rope_diameter

    @property
    def back_event(self) -> tuple[EventName, str, str]:
        """The load falls into the rope."""
        return (
            "load runs back",
            "The load runs back into a rope that has just gone slack, and the drive holds",
            "twice what holds it",
        )

    def attached(self, torque: Any, overhang: float, running: bool) -> Attached:
        """Return the rope's force: the pull, or what a torque makes of it on the bare drum."""
        force = self.pull if running else 2000.0 * torque / self.first_diameter
        if self.rope_direction is None:
            return chuck(force, overhang, "drum")
        return drum(force, self.rope_direction, overhang)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What can hurt somebody, in plain sentences."""
        brake = (
            f"The load runs back when the drive stops or a part breaks: fit a brake or a ratchet"
            f" on the drum that holds at least {self.back_torque:.3g} N·m. Gears are no brake."
        )
        rope = (
            "A rope that parts under load whips back: nobody stands in line with it or in the"
            " inside of a bend, and everybody keeps farther away than the rope is long.",
            "Nobody rides on the load, walks below it or reaches over the running rope; this is"
            " no gear for lifting people or loads overhead.",
            "Keep hands, hair and clothing away from drum and gears, put a guard over them, and"
            " leave at least three turns of rope on the drum.",
            "Follow the local rules for hauling gear and have the rope, its knots and the anchor"
            " judged by somebody who knows.",
        )
        if self.slope == 0.0:
            return rope
        return (brake, running_back(self.slope, self.rolling_resistance), *rope)
