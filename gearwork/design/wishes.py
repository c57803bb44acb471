"""What a design file may ask of the gears: stages chosen by hand, or wishes for the search."""

from dataclasses import dataclass

from gearwork.errors import number, whole_number
from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import GearPair


@dataclass(frozen=True)
class GivenStage:
    """One stage chosen by hand.

    Attributes
    ----------
    module : float
        mm.
    pinion_teeth, wheel_teeth : int
        Tooth counts.
    pinion_shift, wheel_shift : float
        Profile shifts, coefficients of the module.
    pressure_angle : float
        Degrees.
    thinning : float
        Of each tooth, for backlash, mm.
    layers : int
        Sheets glued to one gear.
    centre_distance : float, optional
        mm; default without backlash beyond the thinning.
    """

    module: float
    pinion_teeth: int
    wheel_teeth: int
    pinion_shift: float = 0.0
    wheel_shift: float = 0.0
    pressure_angle: float = 20.0
    thinning: float = 0.0
    layers: int = 1
    centre_distance: float | None = None

    def __post_init__(self) -> None:
        whole_number("layers", self.layers, at_least=1, at_most=12)
        _ = self.pair

    @property
    def pair(self) -> GearPair:
        """The two gears in mesh."""
        pinion, wheel = (
            Gear(self.module, teeth, shift, self.pressure_angle, thinning=self.thinning)
            for teeth, shift in (
                (self.pinion_teeth, self.pinion_shift),
                (self.wheel_teeth, self.wheel_shift),
            )
        )
        return GearPair(pinion, wheel, self.centre_distance)


@dataclass(frozen=True)
class Wishes:
    """What the search may choose from.

    Attributes
    ----------
    stages : tuple of int
        Numbers of stages to try.
    modules : tuple of float
        mm.
    greatest_diameter : float
        Of any gear, mm.
    most_layers : int
        Sheets glued to one gear, at most.
    coprime : bool
        Whether tooth counts of a pair shall share no factor, so that every tooth meets every
        other.
    ratio : float, optional
        Wanted ratio; default the one the drive and the load ask for.
    """

    stages: tuple[int, ...] = (1, 2)
    modules: tuple[float, ...] = (4.0, 5.0, 6.0, 8.0)
    greatest_diameter: float = 400.0
    most_layers: int = 4
    coprime: bool = True
    ratio: float | None = None

    def __post_init__(self) -> None:
        for count in self.stages:
            whole_number("number of stages", count, at_least=1, at_most=3)
        for module in self.modules:
            number("module", module, unit="mm", at_least=1.0, at_most=50.0)
        number("greatest diameter", self.greatest_diameter, unit="mm", at_least=30.0)
        whole_number("most layers", self.most_layers, at_least=1, at_most=12)
        if self.ratio is not None:
            number("wanted ratio", self.ratio, at_least=0.1, at_most=1000.0)
