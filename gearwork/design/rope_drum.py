"""RopeDrum: a load hauled up a slope by a rope that winds on a drum."""

import math
from dataclasses import dataclass

from gearwork.checks.verdict import Check
from gearwork.design.load import check_hauling, hauling_pull
from gearwork.errors import GearworkError, number, whole_number

_SUDDEN = 2.0
_LOCAL_RULES = (
    "Follow the local rules for hauling gear and have the rope, its knots and the anchor judged"
    " by somebody who knows."
)


@dataclass(frozen=True)
class RopeDrum:
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

    mass: float
    slope: float
    rolling_resistance: float
    drum_diameter: float
    rope_diameter: float
    travel_speed: float
    layers: int = 1
    start_factor: float = 2.0

    def __post_init__(self) -> None:
        check_hauling(
            self.mass, self.slope, self.rolling_resistance, self.travel_speed, self.start_factor
        )
        if self.slope == 0.0 and self.rolling_resistance == 0.0:
            raise GearworkError(
                "slope and rolling resistance are both 0: nothing resists the rope;"
                " give the rolling resistance of the ground"
            )
        number("drum diameter", self.drum_diameter, unit="mm", above=0.0)
        number("rope diameter", self.rope_diameter, unit="mm", above=0.0)
        whole_number("layers of rope", self.layers, at_least=1)

    @property
    def first_diameter(self) -> float:
        """Diameter at the middle of the rope in the first layer, mm."""
        return self.drum_diameter + self.rope_diameter

    @property
    def pull_diameter(self) -> float:
        """Diameter at the middle of the rope in the last layer, mm."""
        return self.drum_diameter + (2 * self.layers - 1) * self.rope_diameter

    @property
    def pull(self) -> float:
        """Pull in the rope while the load moves, N."""
        return hauling_pull(self.mass, self.slope, self.rolling_resistance)

    @property
    def starting_torque(self) -> float:
        """Torque to start the load on the last layer, N·m."""
        pull = hauling_pull(self.mass, self.slope, self.rolling_resistance, self.start_factor)
        return pull * self.pull_diameter / 2000.0

    @property
    def running_torque(self) -> float:
        """Torque to keep it moving on the last layer, N·m."""
        return self.pull * self.pull_diameter / 2000.0

    @property
    def least_running_torque(self) -> float:
        """Torque to keep it moving on the first layer, N·m."""
        return self.pull * self.first_diameter / 2000.0

    @property
    def wanted_power(self) -> float:
        """Pull times wanted speed, W."""
        return self.pull * self.travel_speed

    @property
    def inertia(self) -> float:
        """Inertia of the load seen at the full drum, kg·m²; the drum's own is left out."""
        return self.mass * (self.pull_diameter / 2000.0) ** 2

    @property
    def usable_torque(self) -> float:
        """No limit from the load itself, N·m."""
        return math.inf

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
        return _SUDDEN * self.holding_torque

    @property
    def loads_both_flanks(self) -> bool:
        """Always: the drum runs on when the drive stops, and may be wound from either side."""
        return True

    @property
    def cautions(self) -> tuple[str, ...]:
        """What can hurt somebody, in plain sentences."""
        rope = (
            "A rope that parts under load whips back: nobody stands in line with it or in the"
            " inside of a bend, and everybody keeps farther away than the rope is long.",
            "Nobody rides on the load, walks below it or reaches over the running rope; this is"
            " no gear for lifting people or loads overhead.",
            "Keep hands, hair and clothing away from drum and gears, put a guard over them, and"
            " leave at least three turns of rope on the drum.",
        )
        if self.slope == 0.0:
            return (*rope, _LOCAL_RULES)
        brake = (
            f"The load runs back when the drive stops or a part breaks: fit a brake or a ratchet"
            f" on the drum that holds at least {self.back_torque:.3g} N·m. Gears are no brake."
        )
        return (brake, *rope, _LOCAL_RULES)

    def checks(self, output_torque: float) -> tuple[Check, ...]:
        """Nothing to judge on the load itself."""
        return ()
