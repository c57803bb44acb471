"""GivenStage: one stage of a train as a design file chooses it."""

from dataclasses import asdict, dataclass, fields

from gearwork.design.wishes import MOST_LAYERS
from gearwork.errors import whole_number
from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import GearPair
from gearwork.geometry.windows import Windows


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
    windows : Windows, optional
        Lightening windows of the wheel; a table within the stage's.
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
    windows: Windows | None = None

    def __post_init__(self) -> None:
        whole_number("layers", self.layers, at_least=1, at_most=MOST_LAYERS)
        _ = self.pair

    @property
    def toml(self) -> str:
        """The stage as a table of the design file; what is as by default is left out."""
        said = [f for f in fields(self) if getattr(self, f.name) != f.default]
        keys = (f"{f.name} = {_toml(getattr(self, f.name))}" for f in said)
        return "\n".join(["[[stage]]", *keys, ""])

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


def _toml(value: float | Windows) -> str:
    if isinstance(value, Windows):
        return f"{{ {', '.join(f'{k} = {v!r}' for k, v in asdict(value).items())} }}"
    return repr(value)
