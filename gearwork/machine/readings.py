"""Caliper readings of a test piece, as a design file gives them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

import numpy as np

from gearwork.errors import Bound, GearworkError, check_values
from gearwork.stock.bit import BIT

Pins = tuple[float | None, float | None]

MAX_READINGS = 50

SIZE = Bound("mm", above=0.0)

MEASURED = (
    "slot", "hole", "bore", "pinion_bar", "pinion_span", "pinion_pin", "wheel_bar", "wheel_span",
    "wheel_pin",
)  # fmt: skip
OVER_PINS = ("pinion_pin", "wheel_pin")


@dataclass(frozen=True)
class Readings:
    """Caliper readings of a test piece, mm.

    Attributes
    ----------
    slot, hole, pinion_bar, pinion_span, pinion_pin, wheel_bar, wheel_span, wheel_pin : sequence
        One reading or several of each; `TestPiece.instructions` says how to take them. What was
        not measured is left out.
    bore : sequence
        The same of the smaller hole, which the test piece of a machine has: a gear's bore.
    pinion_pin_diameter, wheel_pin_diameter : float, optional
        Of the pin laid in the space, as measured. Default: its nominal size.
    caliper_error : float
        The caliper's largest error, mm, to either side; the default is usual for a digital
        one (ISO 13385-1, from memory).
    programmed_diameter : float, optional
        Bit diameter that the path of the test piece was made for, mm. Default: the nominal one.

    Raises
    ------
    GearworkError
        If a reading is no number above 0, or there is none at all.

    Examples
    --------
    >>> Readings(slot=[3.06, 3.04, 3.06], pinion_span=23.01).pinion_span
    (23.01,)
    """

    slot: Annotated[float | Sequence[float], SIZE] = ()
    hole: Annotated[float | Sequence[float], SIZE] = ()
    bore: Annotated[float | Sequence[float], SIZE] = ()
    pinion_bar: Annotated[float | Sequence[float], SIZE] = ()
    pinion_span: Annotated[float | Sequence[float], SIZE] = ()
    pinion_pin: Annotated[float | Sequence[float], SIZE] = ()
    wheel_bar: Annotated[float | Sequence[float], SIZE] = ()
    wheel_span: Annotated[float | Sequence[float], SIZE] = ()
    wheel_pin: Annotated[float | Sequence[float], SIZE] = ()
    pinion_pin_diameter: Annotated[float | None, SIZE] = None
    wheel_pin_diameter: Annotated[float | None, SIZE] = None
    caliper_error: Annotated[float, Bound("mm", above=0.0, at_most=0.5)] = 0.03
    programmed_diameter: Annotated[float | None, BIT] = None

    def __post_init__(self) -> None:
        for name in MEASURED:
            object.__setattr__(self, name, _several(reading_name(name), getattr(self, name)))
        check_values(self)
        if not self.taken:
            raise GearworkError("no reading is given: measure the test piece, the slot first")

    @property
    def taken(self) -> dict[str, tuple[float, ...]]:
        """The readings by name, without what was not measured."""
        return {name: getattr(self, name) for name in MEASURED if getattr(self, name)}

    @property
    def pins(self) -> Pins:
        """Diameters of the pins in the pinion's and the wheel's piece, mm, where measured."""
        return self.pinion_pin_diameter, self.wheel_pin_diameter


def _several(name: str, given: object) -> tuple[float, ...]:
    """One reading or several as a tuple of numbers."""
    several = list(given) if isinstance(given, list | tuple | np.ndarray) else [given]
    if len(several) > MAX_READINGS:
        raise GearworkError(
            f"{name} has {len(several)} readings: at most {MAX_READINGS} are taken, five will do"
        )
    return tuple(SIZE.number(name, reading) for reading in several)


def reading_name(name: str) -> str:
    """Return the name of a reading as the user knows it, e.g. "size over the pinion pin"."""
    what = name.replace("_", " ")
    return f"size over the {what}" if name in OVER_PINS else what
