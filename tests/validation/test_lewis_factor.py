"""Lewis form factor Y, 20° full depth, load at the tip, tangential component alone.

Source: Wilfred Lewis 1892, as printed in Shigley, Mechanical Engineering Design, Table 14-2 (from
memory). The table's tooth has an addendum of 0.942 m and a small fillet that is not printed; the
tolerances, 5 and 6 %, stand for that.
"""

import numpy as np
import pytest
from rack_tooth import fillet_edge, sections

from gearwork.geometry.gear import Gear
from gearwork.geometry.tooth import load_at

# Lewis 1892 as printed in Shigley, Table 14-2 (from memory): load at the tip, tangential alone.
LEWIS = {
    12: 0.245, 13: 0.261, 14: 0.277, 15: 0.290, 16: 0.296, 17: 0.303, 18: 0.309, 20: 0.322,
    22: 0.331, 24: 0.337, 26: 0.346, 28: 0.353, 30: 0.359, 34: 0.371, 38: 0.384, 43: 0.397,
    50: 0.409, 60: 0.422, 75: 0.435, 100: 0.447, 150: 0.460, 300: 0.472,
}  # fmt: skip


@pytest.mark.parametrize(("z", "printed"), LEWIS.items())
def test_weakest_section_gives_the_lewis_factor(z, printed):
    # The table's tooth has an addendum of 0.942 and a fillet that is not printed: 5 %. A modern
    # addendum of 1 is known to agree within 6 %.
    for addendum, tolerance in ((0.942, 0.05), (1.0, 0.06)):
        _, load, _, bending = sections(z, h_a=addendum)
        factor = np.cos(np.radians(load.angle)) / bending.max()
        assert factor == pytest.approx(printed, rel=tolerance)


# Second road: the section and its fillet measured on the sampled edge.


@pytest.mark.parametrize(("teeth", "printed"), LEWIS.items())
def test_lewis_factor_as_printed(teeth, printed):
    # Lewis: tangential part of the load at the tip, weakest section anywhere. The table's tooth
    # has an addendum of 0.942 m and a small fillet; this one agrees within 6 %.
    gear = Gear(1, teeth)
    load = load_at(gear, gear.tip_diameter)
    x, y, _ = fillet_edge(teeth)
    stress = 6 * np.cos(np.radians(load.angle)) * (load.apex - x) / (2 * y) ** 2
    # W_t acts at the reference circle: F_n cos α, so that Y = cos α / (stress m)
    tangential = np.cos(np.radians(load.angle))
    assert tangential / stress.max() == pytest.approx(printed, rel=0.06)
