"""The picture of a train without a machine, as the first page of a machine shows it."""

from dataclasses import dataclass

from gearwork.geometry.tooth import Cutter
from gearwork.machine.stage import cut_pairs
from gearwork.machine.train import GearTrain
from gearwork.output.jobsheet.picture import train_view


@dataclass(frozen=True)
class Picture:
    """A picture as a notebook shows it; `svg`: the text of a file."""

    svg: str

    def _repr_svg_(self) -> str:
        return self.svg


def plot_train(train: GearTrain, bit: Cutter) -> Picture:
    """Return a train seen along its rods: all teeth as cut, and how the gears turn.

    What lies in front hides most of what lies behind it.

    Parameters
    ----------
    train : GearTrain
        The gears on their shafts.
    bit : Bit
        Its `cut_diameter` counts.

    Returns
    -------
    Picture
        Shows itself in a notebook; its `svg` is the text of a file.

    Examples
    --------
    >>> from gearwork import Bit, Gear, GearPair
    >>> from gearwork.machine import Frame, GearTrain, ShaftParts, Stage
    >>> pair = GearPair(Gear(module=5, teeth=16), Gear(module=5, teeth=44))
    >>> parts = ShaftParts(8, hub_diameter=24, hub_height=8, seat_diameter=22, bearing_width=7)
    >>> train = GearTrain((Stage(pair, 24),), (parts, parts), Frame(plate_thickness=18, gap=12))
    >>> plot_train(train, Bit(3.0)).svg[:4]
    '<svg'
    """
    teeth = ", ".join(f"{gear.gear.teeth:g}" for gear in train.gears)
    svg = train_view(train, cut_pairs(train.stages, bit), f"{teeth} teeth")
    return Picture(str(svg).replace("<svg", '<svg style="background:white;max-width:100%"', 1))
