"""A load on a rack: a gate, a lift, a slide, drawn along by the last pinion of the train.

The pinion sits on the output shaft outside the plate, as a drum does; the bar runs past it on a
bed or in a guide of its own.
"""

import math
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np

from gearwork.checks.check import Check
from gearwork.checks.tooth.friction import FlankFriction, mesh_efficiency, mesh_loss
from gearwork.errors import Bound, GearworkError, check_values
from gearwork.geometry.rack import Rack
from gearwork.machine.attached import Attached
from gearwork.machine.events import EventName
from gearwork.machine.load import GRAVITY, Load, StartFactor, TravelSpeed
from gearwork.machine.stage import Stage, hub_room

KEPT_TEETH = 4
"""Of the bar, two at either end, that are never run onto: contact reaches at most h_a / tan α, a
pitch and a quarter at 14.5°, beside the pinion's axis."""

MAX_STROKES = 1000.0
"""In an hour of running, as `Service.starts_per_hour`."""


@dataclass(frozen=True)
class RackLoad(Load):
    """What is drawn along by a rack: a gate, a lift, a slide.

    Attributes
    ----------
    stage : Stage
        Pinion on the output shaft and rack.
    friction : FlankFriction
        Of their flanks.
    force : float
        Along the bar while it moves, N: friction, and what it lifts, `mass` along `slope`.
    travel : float
        From end to end, mm.
    travel_speed : float
        Wanted speed of the bar, m/s.
    mass : float
        What moves with the bar, kg.
    slope : float
        Of the bar, degrees: 0 level, 90 a lift.
    start_factor : float
        Force of friction at the start over that in motion (1.5: assumption).
    rack_direction : float
        Where the rack lies from the pinion's axis, degrees from +x towards +y of the train.

    Raises
    ------
    GearworkError
        If a value cannot be, the stage has no rack, or the force does not even carry the weight.

    Examples
    --------
    60 N on a pinion of 15 teeth m 5: 75 mm of reference diameter, 2.25 N·m and what friction
    takes. A turn moves the bar by 235.6 mm (π m z).

    >>> from gearwork import Gear, GearPair, Rack
    >>> from gearwork.checks.tooth.friction import FRICTION
    >>> from gearwork.machine import Stage
    >>> pair = GearPair(Gear(module=5, teeth=15, profile_shift=0.3), Rack(module=5, teeth=100))
    >>> own = {"force": 60.0, "travel": 1200.0, "travel_speed": 0.1}
    >>> gate = RackLoad(Stage(pair, 24.0), FRICTION["waxed"], **own)
    >>> round(gate.running_torque * gate.efficiency, 4), round(pair.travel_per_turn, 1)
    (2.25, 235.6)
    """

    stage: Stage
    friction: FlankFriction
    force: Annotated[float, Bound("N", above=0.0, at_most=1e5)]
    travel: Annotated[float, Bound("mm", above=0.0, at_most=1e5)]
    travel_speed: TravelSpeed
    mass: Annotated[float, Bound("kg", at_least=0.0, at_most=1e5)] = 0.0
    slope: Annotated[float, Bound("°", at_least=0.0, at_most=90.0)] = 0.0
    start_factor: StartFactor = 1.5
    rack_direction: Annotated[float, Bound("°", at_least=-360.0, at_most=360.0)] = 90.0

    def __post_init__(self) -> None:
        check_values(self)
        if not isinstance(self.stage.pair.wheel, Rack):
            raise GearworkError("stage of a load on a rack has none: give a gw.Rack as its wheel")
        if self.force <= self.weight:
            raise GearworkError(
                f"force is {self.force:g} N: {self.mass:g} kg on {self.slope:g}° pull back with"
                f" {self.weight:.4g} N, and friction comes on top; give more than that"
            )
        if self.strokes_per_hour > MAX_STROKES:
            least = 3.6e6 * self.travel_speed / MAX_STROKES
            raise GearworkError(
                f"travel is {self.travel:g} mm: at {self.travel_speed:g} m/s that is"
                f" {self.strokes_per_hour:.4g} strokes an hour, at most {MAX_STROKES:g} are"
                f" reckoned; give at least {least:.4g} mm or a lower speed"
            )

    @property
    def rack(self) -> Rack:
        """The bar."""
        assert isinstance(self.stage.pair.wheel, Rack)
        return self.stage.pair.wheel

    @property
    def weight(self) -> float:
        """What pulls the bar back along itself, N: m g sin s; friction helps none (statics)."""
        return self.mass * GRAVITY * math.sin(math.radians(self.slope))

    @property
    def starting_force(self) -> float:
        """Along the bar to start it, N: friction at rest is greater, weight is not."""
        return self.weight + self.start_factor * (self.force - self.weight)

    @property
    def strokes_per_hour(self) -> float:
        """How often it runs from end to end in an hour of running: each tooth comes once."""
        return 3.6e6 * self.travel_speed / self.travel

    @property
    def reverses(self) -> bool:
        """Whether the way back loads the other flanks: friction is more than the weight."""
        return 2.0 * self.weight < self.force

    @property
    def usable_travel(self) -> float:
        """How far the bar can run with whole teeth beyond the pinion at either end, mm."""
        return max(self.rack.teeth - KEPT_TEETH, 0.0) * self.rack.pitch

    @property
    def pull_diameter(self) -> float:
        """Pitch diameter of the pinion, mm: with a rack its reference diameter, whatever x."""
        return float(self.stage.pair.working_pitch_diameters[0])

    @property
    def efficiency(self) -> float:
        """Of the mesh of pinion and rack, moving: 1 − μ H."""
        return float(mesh_efficiency([mesh_loss(self.stage.pair)], self.friction.moving))

    @property
    def starting_efficiency(self) -> float:
        """Of the same mesh from standstill."""
        return float(mesh_efficiency([mesh_loss(self.stage.pair)], self.friction.starting))

    def _torque(self, force: float) -> float:
        return force * self.pull_diameter / 2000.0

    @property
    def starting_torque(self) -> float:
        """Torque on the pinion to start it, N·m."""
        return self._torque(self.starting_force) / self.starting_efficiency

    @property
    def running_torque(self) -> float:
        """Torque on the pinion while it moves, N·m: F d / 2 over what friction leaves."""
        return self._torque(self.force) / self.efficiency

    @property
    def wanted_power(self) -> float:
        """Force times wanted speed, and what the mesh takes, W."""
        return self.force * self.travel_speed / self.efficiency

    @property
    def inertia(self) -> float:
        """Of what moves, seen at the pinion, kg·m²."""
        return self.mass * (self.pull_diameter / 2000.0) ** 2

    @property
    def run_on_inertia(self) -> float:
        """All of it, kg·m²."""
        return self.inertia

    @property
    def holding_torque(self) -> float:
        """Torque with which the weight pulls back standing still, N·m; no friction counted."""
        return self._torque(self.weight)

    @property
    def back_torque(self) -> float:
        """Twice what the weight makes, or what starts it where that is more, N·m.

        A weight that falls through the backlash is a suddenly applied load, factor 2 (Roark,
        chapter on dynamic loading; from memory). A bar that is moving when the drive stops at once
        is assumed to feed back what starts it.
        """
        return max(2.0 * self.holding_torque, self._torque(self.starting_force))

    @property
    def back_event(self) -> tuple[EventName, str, str]:
        """The drive stops at once."""
        if 2.0 * self.weight > self.starting_force:
            cause = "The weight falls through the backlash, and the drive holds"
            return "load runs back", cause, "twice what holds it"
        return (
            "drive locks",
            "The drive stops at once while the bar moves",
            "assumed to feed back what starts it",
        )

    @property
    def fixed_by(self) -> tuple[str, float]:
        """The pinion, whole within the root of its teeth."""
        return "rack pinion", float(hub_room(self.stage.pair.pinion.root_diameter))

    @property
    def swept_diameter(self) -> float:
        """That of its pinion, mm."""
        return float(self.stage.pair.pinion.tip_diameter)

    def forces(self, torque: Any) -> tuple[Any, Any]:
        """Return the force along the bar and the one that parts it and the pinion, N.

        At a torque on the pinion, N·m; arrays too. F = 2 T / d and F tan α, friction left out.
        """
        along = 2000.0 * torque / self.pull_diameter
        return along, along * math.tan(math.radians(self.stage.pair.pinion.pressure_angle))

    def attached(self, torque: Any, overhang: float, running: bool) -> Attached:
        """Return the tooth force on the pinion, the bar pushed either way."""
        along, apart = self.forces(np.abs(torque))
        turn = math.radians(self.rack_direction)
        x, y = math.cos(turn), math.sin(turn)
        ways = tuple(
            (-apart * x - sense * along * y, -apart * y + sense * along * x) for sense in (1, -1)
        )
        return Attached("rack pinion", overhang, ways)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What can hurt somebody, in plain sentences."""
        found = [
            "A rack draws in fingers at its pinion and crushes at its end: guard both.",
        ]
        if self.weight > 0.0:
            found.append(
                f"The bar runs back by itself with {self.weight:.3g} N when the drive stops, a"
                " hub slips or a tooth breaks: gears are no brake. Fit a brake or a ratchet that"
                f" holds {2.0 * self.weight:.3g} N at the bar, and a catch that does not depend on"
                " the teeth."
            )
        if self.slope > 5.0:
            found.append(
                "Nobody rides on it, stands or reaches under it. Lifting gear is for licensed"
                " practice: have it judged by somebody who is, and follow the local rules; this"
                " calculation is no proof of it."
            )
        else:
            found.append(
                "Guide a gate above and below, lest it tip; follow local rules for powered gates."
            )
        return tuple(found)

    def checks(self, output_torque: float) -> tuple[Check, ...]:
        """Judge whether the bar is long enough for the travel."""
        rack = self.rack
        needed = math.ceil(round(self.travel / rack.pitch, 9)) + KEPT_TEETH
        return (
            Check(
                judged="travel of the rack",
                part="rack",
                kind="room",
                value=self.usable_travel,
                limit=self.travel,
                unit="mm",
                sense="at least",
                why=f"The bar has {rack.teeth:g} teeth, {rack.length:.0f} mm; two at either end are"
                " never run onto, so that whole teeth carry up to the stops.",
                ways=((("stage.rack_teeth", needed),),),
                source="pitch π m times the teeth between; two teeth beyond the pinion's axis: path"
                " of contact, h_a / tan α",
            ),
        )
