"""Nuts let into pockets of the gear, and bolts on a circle through it: wood bears on steel."""

from dataclasses import dataclass
from math import sqrt

from gearwork.checks import johansen
from gearwork.checks.links import Factors, LinkRating, rated
from gearwork.checks.verdict import Step
from gearwork.errors import GearworkError, number, whole_number
from gearwork.stock.hardware import Nut, Rod, nut
from gearwork.stock.laminate import Panel, weakest_direction


@dataclass(frozen=True)
class NutsInPockets:
    """Hexagon nuts let into pockets in the faces of the gear.

    The nut turns by a small angle and each flat presses over its leading half, the harder the
    farther from its middle. With the highest pressure p at the wall's end, x from the middle of
    the flat, and depth t, six flats hold T = 2 p x² t. The relief that the bit needs in each
    corner takes the most useful end of the wall away. Play of 0.1 mm a side is covered: once the
    corners have crushed 0.3 mm of wood, even pressure over three quarters of the half flat holds
    two fifths more.

    Attributes
    ----------
    rod : Rod
        Gives the thread of the nut.
    depth : float
        Of each pocket, mm.
    corner_relief : float
        Length of wall missing next to each corner, mm: the radius of a relief circle through the
        corner.
    nuts : int
        One nut, or one in each face.

    Raises
    ------
    GearworkError
        If the relief takes more than a third of a side, or another value cannot be.
    """

    rod: Rod
    depth: float
    corner_relief: float
    nuts: int = 2

    def __post_init__(self) -> None:
        number("depth of the nut pocket", self.depth, unit="mm", above=0.0)
        whole_number("nuts in pockets", self.nuts, at_least=1, at_most=2)
        relief = number("corner relief of the nut pocket", self.corner_relief, at_least=0.0)
        most = 2.0 / 3.0 * half_side(nut(self.rod.thread))
        if relief > most:
            raise GearworkError(
                f"corner relief of the nut pocket is {relief:g} mm: it must be at most a third of"
                f" a side of the {self.rod.thread} nut, {most:.2f} mm, or the nut turns; take a"
                " smaller bit or another fixing"
            )

    def rate(self, panel: Panel, factors: Factors) -> LinkRating:
        """Return the torque at which the corners begin to crush the wood."""
        wall = half_side(nut(self.rod.thread)) - self.corner_relief
        direction, strength = weakest_direction(panel, "compression")
        depth = min(self.depth, nut(self.rod.thread).height)
        return rated(
            f"{self.nuts} nut{'s' * (self.nuts > 1)} {self.rod.thread} in pockets",
            self.nuts * 2.0 * strength * wall**2 * depth,
            (
                Step(
                    f"compression strength at {direction:g}° to the face grain, the weakest",
                    strength,
                    "MPa",
                    panel.source,
                ),
                Step("wall from the middle of a flat to the relief", wall, "mm", "geometry"),
                Step("bearing depth", depth, "mm", "pocket and nut"),
            ),
            factors,
            "The flats press on the wood beside the corners. A nut spins once its corners have"
            " crushed well below 1 mm of wood, before the embedment strength of bolts is reached:"
            " compression strength counts.",
            "triangular pressure on the flats, T = 2 p x² t (statics)",
        )


@dataclass(frozen=True)
class SteelPlate:
    """A steel plate, e.g. a flange plate on the rod; thickness in mm."""

    thickness: float

    def __post_init__(self) -> None:
        number("thickness of the steel plate", self.thickness, unit="mm", above=0.0)


@dataclass(frozen=True)
class BoltedJoint:
    """Bolts on a circle through the gear into a steel plate or a neighbour gear.

    Fully threaded bolts are assumed: the effective diameter is 1.1 times the core diameter
    (EN 1995-1-1 8.7.1(3)).

    Attributes
    ----------
    bolt : Rod
        Thread and property class of the bolts.
    count : int
        2 to 24, evenly spaced.
    circle_diameter : float
        mm.
    partner : SteelPlate or Panel
        What the gear is bolted to.

    Raises
    ------
    GearworkError
        If count or circle cannot be.
    """

    bolt: Rod
    count: int
    circle_diameter: float
    partner: SteelPlate | Panel

    def __post_init__(self) -> None:
        whole_number("number of bolts", self.count, at_least=2, at_most=24)
        number("bolt circle diameter", self.circle_diameter, unit="mm", above=0.0)

    def rate(self, panel: Panel, factors: Factors) -> LinkRating:
        """Return the torque at which the bolts tilt, bend or crush the wood."""
        force, steps = self.bolt_force(panel)
        return rated(
            f"{self.count} bolts {self.bolt.thread} on a {self.circle_diameter:g} mm circle",
            self.count * force * self.circle_diameter / 2.0,
            steps,
            factors,
            "The bolts press into the wood and tilt or bend.",
            "Johansen's yield modes, EN 1995-1-1:2004 "
            + ("8.2.3" if isinstance(self.partner, SteelPlate) else "8.2.2"),
        )

    def bolt_force(self, panel: Panel) -> tuple[float, tuple[Step, ...]]:
        """Return the characteristic load of one bolt, N, and the steps to it."""
        d = 1.1 * self.bolt.core_diameter
        moment = johansen.yield_moment(self.bolt.grade.tensile_strength, d)
        embedment = johansen.threaded_embedment(d, panel.characteristic_density)
        if isinstance(self.partner, SteelPlate):
            plate = self.partner.thickness
            force = johansen.wood_to_steel(embedment, panel.thickness, d, moment, plate)
            mode = f"steel plate of {plate:g} mm"
        else:
            other = johansen.threaded_embedment(d, self.partner.characteristic_density)
            modes = johansen.wood_to_wood(
                (embedment, other), (panel.thickness, self.partner.thickness), d, moment
            )
            letter = min(modes, key=modes.__getitem__)
            force, mode = modes[letter], f"wood to wood, mode {letter}"
        return force, (
            Step("effective diameter, thread in the wood", d, "mm", "EN 1995-1-1 8.7.1(3)"),
            Step("embedment strength f_h,k", embedment, "MPa", "EN 1995-1-1 Eq. 8.36 or 8.20"),
            Step("yield moment M_y,Rk", moment, "N·mm", "EN 1995-1-1 Eq. 8.30"),
            Step(f"load of one bolt, {mode}", force, "N", "EN 1995-1-1 8.2, no rope effect"),
        )


def half_side(hexagon: Nut) -> float:
    """Return half the length of one side of a hexagon nut, mm."""
    return hexagon.width_across_flats / sqrt(3.0) / 2.0
