"""Section search on a rack-generated tooth, against the published form factors."""

import numpy as np
import pytest
from rack_tooth import rack_tooth

from gearwork.checks.tooth.stress import notch_factor
from gearwork.geometry.gear import Gear
from gearwork.geometry.tooth import load_at

# ISO 6336-3 / DIN 3990 form factor, load at the tip, rack 1/1.25/0.38, x 0 (handbook table).
FORM = {17: 2.97, 20: 2.80, 25: 2.62, 30: 2.52, 40: 2.40, 50: 2.32, 60: 2.28, 80: 2.22, 100: 2.18}

# ISO 6336-3 stress correction factor of the same teeth (handbook table).
NOTCH = {17: 1.52, 20: 1.55, 25: 1.59, 30: 1.625, 40: 1.67, 60: 1.73, 100: 1.79}

# Lewis 1892; Shigley table 14-2 (from memory), 20° full depth.
LEWIS = {17: 0.303, 20: 0.322, 26: 0.346, 30: 0.359, 43: 0.397, 60: 0.422, 100: 0.447}


def fillet(teeth):
    """Upper fillet from flank to root: x, y and slope of the edge, degrees, m = 1."""
    profile = rack_tooth(teeth)
    upper = profile[profile[:, 1] > 0]
    step = np.diff(upper, axis=0)
    middle = (upper[1:] + upper[:-1]) / 2
    slope = np.degrees(np.arctan2(-step[:, 1], -step[:, 0]))
    below = np.hypot(*middle.T) < teeth / 2 - 0.4
    return middle[below, 0], middle[below, 1], slope[below]


def section_at_30_degrees(teeth):
    x, y, slope = fillet(teeth)
    order = np.argsort(slope)
    at = [float(np.interp(-30.0, slope[order], v[order])) for v in (x, y)]
    return at[0], 2 * at[1]


@pytest.mark.parametrize(("teeth", "printed"), FORM.items())
def test_form_factor_as_printed(teeth, printed):
    gear = Gear(1, teeth)
    load = load_at(gear, gear.tip_diameter)
    x, thickness = section_at_30_degrees(teeth)
    arm = load.apex - x
    found = 6 * arm * np.cos(np.radians(load.angle)) / thickness**2 / np.cos(np.radians(20))
    assert found == pytest.approx(printed, abs=0.02)  # read from a table of two decimals


@pytest.mark.parametrize(("teeth", "printed"), NOTCH.items())
def test_notch_factor_as_printed(teeth, printed):
    gear = Gear(1, teeth)
    x, y, slope = fillet(teeth)
    near = np.abs(slope + 30) < 12
    turn = np.radians(np.ptp(slope[near]))
    radius = np.hypot(np.diff(x[near]), np.diff(y[near])).sum() / turn
    section, thickness = section_at_30_degrees(teeth)
    arm = load_at(gear, gear.tip_diameter).apex - section
    # the fillet's radius is measured on the sampled edge; the table is ±0.01
    assert notch_factor(thickness, arm, radius) == pytest.approx(printed, rel=0.03)


@pytest.mark.parametrize(("teeth", "printed"), LEWIS.items())
def test_lewis_factor_as_printed(teeth, printed):
    # Lewis: tangential part of the load at the tip, weakest section anywhere. The table's tooth
    # has an addendum of 0.942 m and a small fillet; this one agrees within 6 %.
    gear = Gear(1, teeth)
    load = load_at(gear, gear.tip_diameter)
    x, y, _ = fillet(teeth)
    stress = 6 * np.cos(np.radians(load.angle)) * (load.apex - x) / (2 * y) ** 2
    # W_t acts at the reference circle: F_n cos α, so that Y = cos α / (stress m)
    tangential = np.cos(np.radians(load.angle))
    assert tangential / stress.max() == pytest.approx(printed, rel=0.06)
