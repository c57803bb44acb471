"""Bit: the router cutter that makes the tooth."""

from dataclasses import dataclass
from typing import Annotated

from gearwork.errors import Bound, check_values, number

BIT = Bound("mm", at_least=0.5, at_most=25.0)
"""Diameters of router bits."""

_MEASURED = (0.75, 1.25)
"""What a bit may cut over its nominal diameter."""

SOLD = (1.0, 1.5, 2.0, 2.5, 3.0, 3.175, 4.0, 5.0, 6.0, 6.35, 8.0, 10.0, 12.0, 12.7)
"""Diameters that are easily bought, mm: whole and half ones, 1/8, 1/4 and 1/2 inch (common
practice)."""


@dataclass(frozen=True)
class Bit:
    """A router bit, by its label and by what it really cuts.

    Attributes
    ----------
    diameter : float
        Nominal diameter, mm, 0.5 to 25.
    measured_diameter : float, optional
        Width of the slot it really cuts, mm, from the test piece; 0.75 to 1.25 of the nominal
        one: wear, regrinding and run-out take it no farther (assumption).

    Raises
    ------
    GearworkError
        If a diameter is no number from 0.5 to 25 mm, or the measured one is of another bit.

    Examples
    --------
    >>> Bit(3.0, measured_diameter=3.06).cut_diameter
    3.06
    """

    diameter: Annotated[float, BIT]
    measured_diameter: Annotated[float | None, BIT] = None

    def __post_init__(self) -> None:
        check_values(self)
        if self.measured_diameter is not None:
            low, high = (share * self.diameter for share in _MEASURED)
            number(
                "measured diameter of the bit",
                self.measured_diameter,
                unit="mm",
                at_least=low,
                at_most=high,
            )

    @property
    def cut_diameter(self) -> float:
        """Diameter to reckon with, mm: as measured when known, else nominal."""
        return float(self.diameter if self.measured_diameter is None else self.measured_diameter)
