"""Lightening windows between the hub and the rim of a gear.

Points of the plane are complex numbers here: turning is a product.
"""

from dataclasses import dataclass

import numpy as np

from gearwork.errors import GearworkError, number, whole_number
from gearwork.geometry.features import LEAST_WALL, RELIEF
from gearwork.geometry.outline import Array, Complex, Outline
from gearwork.geometry.part import Cut
from gearwork.geometry.tooth import Cutter


@dataclass(frozen=True)
class Windows:
    """Equal lightening windows between hub and rim, spokes of even width between them.

    The first spoke points at tooth 0.

    Attributes
    ----------
    count : int
        How many, from 3.
    hub_diameter : float
        Wood left about the centre, mm; more where narrow windows end before it.
    rim_thickness : float
        Wood left between window and root circle, mm.
    spoke_width : float
        Wood left between two windows, mm.
    corner_diameter : float
        Of the arcs in the windows' corners, mm.

    Raises
    ------
    GearworkError
        If a value cannot be.

    Examples
    --------
    >>> from gearwork import Bit
    >>> windows = Windows(
    ...     count=6, hub_diameter=60, rim_thickness=20, spoke_width=20, corner_diameter=12
    ... )
    >>> len(windows.cuts(Bit(3.0), root_diameter=177.5))
    6
    """

    count: int
    hub_diameter: float
    rim_thickness: float
    spoke_width: float
    corner_diameter: float
    wall = LEAST_WALL

    def __post_init__(self) -> None:
        whole_number("count of windows", self.count, at_least=3)
        number("hub diameter", self.hub_diameter, unit="mm", above=0.0)
        number("rim thickness", self.rim_thickness, unit="mm", at_least=LEAST_WALL)
        number("spoke width", self.spoke_width, unit="mm", at_least=LEAST_WALL)
        number("corner diameter of the windows", self.corner_diameter, unit="mm", above=0.0)

    @property
    def label(self) -> str:
        """What it is, for error texts."""
        return f"{self.count} windows outside a hub of {self.hub_diameter:g} mm"

    def cuts(self, bit: Cutter, root_diameter: float) -> tuple[Cut, ...]:
        """Return the windows, cut through.

        Raises
        ------
        GearworkError
            If the bit does not go into their corners, or there is no room between hub and rim.
        """
        if self.corner_diameter < bit.cut_diameter:
            raise GearworkError(
                f"corner diameter of the windows is {self.corner_diameter:g} mm: a bit that cuts"
                f" {bit.cut_diameter:g} mm needs {bit.cut_diameter - self.corner_diameter:.2f} mm"
                f" more; make it at least {RELIEF * bit.cut_diameter:.2f} mm or take a bit of"
                f" at most {self.corner_diameter:g} mm"
            )
        points, bulges = self._window(root_diameter / 2 - self.rim_thickness)
        middles = np.exp(1j * np.pi / self.count * (2 * np.arange(self.count) + 1))
        return tuple(Cut(Outline(points * turn, bulges), "inside edge") for turn in middles)

    def _window(self, rim: float) -> tuple[Complex, Array]:
        """Vertices and bulges of the window about the x axis, counter-clockwise."""
        corner, hub = self.corner_diameter / 2, self.hub_diameter / 2
        spoke = np.exp(-1j * np.pi / self.count)
        aside = self.spoke_width / 2 + corner  # of a corner's centre from the spoke's middle
        outer = _corner_centre(spoke, aside, rim - corner)
        inner = _corner_centre(spoke, aside, hub + corner)
        if inner.imag >= -1e-6:  # the corners at the hub meet: one arc between the spokes
            inner = complex(aside / np.sin(np.pi / self.count))
        length = ((outer - inner) / spoke).real
        if outer.imag >= -1e-6 or length <= 1e-6:
            raise GearworkError(
                f"{self.label} have no room: {max(2 * (rim - hub), 0.0):.1f} mm in diameter lie"
                f" between hub and rim, spokes {self.spoke_width:g} mm wide and corners of"
                f" {self.corner_diameter:g} mm; take fewer windows, narrower spokes,"
                " smaller corners, a thinner rim or leave the windows out"
            )
        on_spoke = [centre - 1j * spoke * corner for centre in (inner, outer)]
        on_rim = outer * rim / abs(outer)
        side = [*on_spoke, on_rim]
        turn = np.angle(1j * on_rim / spoke)
        bulges = [0.0, turn / 4, -np.angle(on_rim) / 2]
        if inner.imag == 0:
            bulges += [turn / 4, 0.0, np.angle(-(spoke**2)) / 4]
            return np.array([*side, *np.conj(side[::-1])]), np.tan(bulges)
        on_hub = inner * hub / abs(inner)
        turn_in = np.angle(spoke / (-1j * on_hub))
        bulges = [turn_in / 4, *bulges, turn / 4, 0.0, turn_in / 4, np.angle(on_hub) / 2]
        side = [on_hub, *side]
        return np.array([*side, *np.conj(side[::-1])]), np.tan(bulges)


def _corner_centre(spoke: complex, aside: float, distance: float) -> complex:
    """Centre of a corner arc that far aside of the spoke and that far from the origin."""
    return spoke * (np.sqrt(max(distance**2 - aside**2, 0.0)) + 1j * aside)
