"""Where the jaws of calipers and pins touch the teeth of a gear."""

import numpy as np

from gearwork.geometry.gear import GearShape
from gearwork.geometry.rack import Rack
from gearwork.geometry.tooth import CutTooth

PIN_STEP = 0.5
"""Sizes of the drills whose shanks serve as pins, mm: sets go by half millimetres (common
practice)."""

USUAL_PIN = 1.7
"""Diameter of a pin that touches near mid-height, in modules (common practice)."""

MIN_FLANK = 0.05
"""Flank to be left above and below where jaw or pin touches, and room to be left between pin
and root circle, in modules (assumption)."""


def teeth_to_span(cut: CutTooth[float], *, even: bool = False) -> int | None:
    """Return over how many teeth to measure so that the jaws touch well within the flanks.

    The number nearest to the usual one, or None where no number will do.
    """
    gear = cut.gear
    count = np.arange(2 if even else 1, gear.teeth // 2 + 1, 2 if even else 1)
    spans = gear.span() + (count - gear.default_teeth_spanned) * gear.base_pitch
    low, high = _flank(cut)
    fits = count[(spans / 2 >= low) & (spans / 2 <= high)]
    if not len(fits):
        return None
    return int(fits[np.argmin(np.abs(fits - gear.default_teeth_spanned))])


def pin_for(cut: CutTooth[float]) -> float | None:
    """Return the diameter of a drill shank to measure over, mm, or None where none will do.

    It touches both flanks of a space well within them, stands clear of the root and proud of
    the tips; of those the nearest to 1.7 m.
    """
    gear = cut.gear
    sizes = PIN_STEP * np.arange(1, np.ceil(3 * gear.module / PIN_STEP) + 1)
    low, high = _flank(cut)
    left = MIN_FLANK * gear.module
    for size in sizes[np.argsort(np.abs(sizes - USUAL_PIN * gear.module), kind="stable")]:
        middle = pin_circle(gear, float(size)) / 2
        touch = np.sqrt(middle**2 - gear.base_diameter**2 / 4) - size / 2
        proud = middle + size / 2 - gear.tip_diameter / 2
        clear = middle - size / 2 - cut.root_diameter / 2
        if low <= touch <= high and proud >= left and clear >= left:
            return float(size)
    return None


def pin_circle(gear: GearShape[float], pin_diameter: float) -> float:
    """Return the diameter of the circle on which the centres of pins lie, mm."""
    across = float(np.cos(np.pi / 2 / gear.teeth * (gear.teeth % 2)))
    return (gear.over_pins(pin_diameter) - pin_diameter) / across


def bar_pin(rack: Rack) -> float:
    """Return the diameter of a pin for the spaces of a rack, mm."""
    return max(round(USUAL_PIN * rack.module / PIN_STEP), 1) * PIN_STEP


def pin_height(rack: Rack, pin_diameter: float, edge: float = 0.0) -> float:
    """Return how far above the reference line a pin in a space of a rack has its middle, mm.

    It touches both straight flanks: half the space there, e/2 + y tan α, is D / (2 cos α). Every
    edge may lie `edge` mm outside its line.
    """
    alpha = np.radians(rack.pressure_angle)
    space = rack.pitch - rack.tooth_thickness - 2 * edge / np.cos(alpha)
    return float((pin_diameter / np.cos(alpha) - space) / (2 * np.tan(alpha)))


def _flank(cut: CutTooth[float]) -> tuple[float, float]:
    """Base tangent lengths between which jaw and pin may touch, mm."""
    gear = cut.gear
    left = MIN_FLANK * gear.module
    return cut.contact + left, gear.tip_curvature - left
