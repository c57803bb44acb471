"""Contact ratio and opened working pressure angle of a pair.

Source: Norton, Machine Design, example 11-1 (from memory): P_d 6, 20°, 19/37: centre distance
4.667 in, contact ratio 1.62; 22.89° at 2 % more. Half of the last printed digit.
"""

import pytest

from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import GearPair


# Norton, Machine Design, example 11-1 (from memory): P_d 6, 20°, 19/37.
def test_contact_ratio_and_opened_angle_of_a_textbook_pair():
    module = 25.4 / 6
    pair = GearPair(Gear(module, 19), Gear(module, 37))
    assert pair.centre_distance / 25.4 == pytest.approx(4.667, abs=5e-4)
    assert pair.contact_ratio == pytest.approx(1.62, abs=5e-3)
    opened = GearPair(Gear(module, 19), Gear(module, 37), 1.02 * pair.centre_distance)
    assert opened.working_pressure_angle == pytest.approx(22.89, abs=5e-3)
