"""Undercut and interference of full-depth teeth.

Source: Shigley, Mechanical Engineering Design, section 13-7 (from memory): fewest teeth that a
rack does not undercut, 2 h_a / sin² α; the largest wheel that a 20° pinion runs with: 13 with 16,
14 with 26, 15 with 45, 16 with 101, 17 with 1309; 12 teeth run with nothing unshifted. Whole
numbers.
"""

import pytest

from gearwork.geometry.gear import Gear, GearShape
from gearwork.geometry.pair import GearPair, PairShape


# Shigley, Mechanical Engineering Design, §13-7 (from memory): 2 h_a / sin² α.
@pytest.mark.parametrize(("alpha", "fewest"), [(20, 18), (25, 12), (14.5, 32)])
def test_fewest_teeth_a_rack_does_not_undercut(alpha, fewest):
    assert not Gear(module=1, teeth=fewest, pressure_angle=alpha).undercut
    assert Gear(module=1, teeth=fewest - 1, pressure_angle=alpha).undercut


# x_min = 1 − z sin² 20° / 2, computed by hand to four places.
@pytest.mark.parametrize(
    ("teeth", "shift"), [(8, 0.5321), (10, 0.4151), (12, 0.2981), (14, 0.1812)]
)
def test_min_shift(teeth, shift):
    assert Gear(module=2, teeth=teeth).min_shift == pytest.approx(shift, abs=5e-5)


# Shigley §13-7 (from memory): the largest wheel a 20° full-depth pinion runs with.
@pytest.mark.parametrize(("pinion", "largest"), [(13, 16), (14, 26), (15, 45), (16, 101)])
def test_largest_wheel_without_interference(pinion, largest):
    assert not GearPair(Gear(1, pinion), Gear(1, largest)).interferes
    assert GearPair(Gear(1, pinion), Gear(1, largest + 1)).interferes


def test_twelve_teeth_run_with_nothing_unshifted():
    assert all(GearPair(Gear(1, 12), Gear(1, z)).interferes for z in range(12, 200))


def test_seventeen_teeth_run_with_a_wheel_of_1309_and_no_larger():
    """A wheel of more teeth than a gear may have here: by the formulas alone."""
    reserve = [
        PairShape(Gear(1, 17), GearShape(1, teeth, 0, 20, 1, 0.25, 0, 0), (17 + teeth) / 2)
        .interference_reserve[0]
        for teeth in (1309, 1310)
    ]  # fmt: skip
    assert reserve[0] >= 0 > reserve[1]
