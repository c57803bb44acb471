import math

import numpy as np
import pytest

from gearwork.errors import GearworkError
from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import GearPair, PairShape


def shifted():
    return GearPair(Gear(3, 12, 0.6), Gear(3, 24, 0.36))


def test_backlash_from_thinning_is_the_thinning_at_the_reference_circle():
    pair = GearPair(Gear(5, 20, thinning=0.1), Gear(5, 30, thinning=0.15))
    assert pair.centre_distance == pytest.approx(125.0)
    assert pair.backlash == pytest.approx(0.25)


def test_distance_for_backlash_gives_that_backlash():
    pair = shifted()
    for wanted in (0.0, 0.1, 0.8):
        distance = pair.distance_for_backlash(wanted)
        again = GearPair(pair.pinion, pair.wheel, distance)
        assert again.backlash == pytest.approx(wanted, abs=1e-10)


@pytest.mark.parametrize("wanted", [0.0, 0.3, 0.7, 2.0])
def test_distance_for_backlash_of_teeth_too_thin_to_meet_without(wanted):
    """No distance below that of touching base circles; the backlash there by the formula."""
    thin = Gear(2.5, 12, 0.1, thinning=0.6), Gear(2.5, 12, -0.2, thinning=0.6)
    pair = GearPair(*thin, centre_distance=30.0)
    at_bases = GearPair(*thin, centre_distance=30.0 * math.cos(math.radians(20)) * (1 + 1e-12))
    distance = pair.distance_for_backlash(wanted)
    reached = max(wanted, at_bases.backlash)
    assert PairShape(pair.pinion, pair.wheel, distance).backlash == pytest.approx(reached, abs=1e-6)


def test_active_profile_starts_where_the_mates_tip_arrives():
    # Independent road: place the wheel's tip on the line of action by coordinates.
    pair = shifted()
    a, alpha = pair.centre_distance, math.radians(pair.working_pressure_angle)
    rb1, rb2 = pair.pinion.base_diameter / 2, pair.wheel.base_diameter / 2
    foot = np.array([rb1 * math.cos(alpha), rb1 * math.sin(alpha)])
    other = np.array([a - rb2 * math.cos(alpha), -rb2 * math.sin(alpha)])
    share = np.linspace(0, 1, 200001)[:, None]
    line = foot + share * (other - foot)
    reach = np.hypot(line[:, 0] - a, line[:, 1])
    touched = line[np.argmin(np.abs(reach - pair.wheel.tip_diameter / 2))]
    assert pair.active_diameters[0] == pytest.approx(2 * np.hypot(*touched), abs=1e-3)


def test_sliding_by_velocities():
    # Independent road: tangential velocities at the start of contact, from ω × r.
    pair = shifted()
    start, _ = pair.contact_limits
    line = pair.line_of_action
    v_pinion, v_wheel = start * 1.0, (line - start) / pair.gear_ratio
    assert pair.specific_sliding[0] == pytest.approx((v_pinion - v_wheel) / v_pinion)


def test_swapping_the_gears_changes_nothing():
    pair, other = shifted(), GearPair(Gear(3, 24, 0.36), Gear(3, 12, 0.6))
    assert other.contact_ratio == pytest.approx(pair.contact_ratio)
    assert other.active_diameters == pytest.approx(pair.active_diameters[::-1])
    assert other.single_contact_diameters == pytest.approx(pair.single_contact_diameters[::-1])
    assert other.specific_sliding == pytest.approx(pair.specific_sliding[::-1])


def test_gears_out_of_reach_are_alike_whichever_is_first():
    gears = Gear(1, 5, -0.1, 15, clearance=1), Gear(1, 5, 0.3, 15, tip_alteration=-1)
    pair, other = (GearPair(*each, 6.2) for each in (gears, gears[::-1]))
    assert pair.contact_ratio == 0
    assert other.single_contact_diameters == pytest.approx(pair.single_contact_diameters[::-1])


def test_pairs_that_cannot_be_are_refused_with_a_way_out():
    with pytest.raises(GearworkError, match=r"at least 56\.\d+ mm; move the shafts apart"):
        GearPair(Gear(3, 12, 0.6), Gear(3, 24, 0.36), 55.0)
    with pytest.raises(GearworkError, match="module is 3 mm on the pinion and 4 mm"):
        GearPair(Gear(3, 12), Gear(4, 24))
    with pytest.raises(GearworkError, match="take larger shifts"):
        GearPair(Gear(3, 30, -1.2), Gear(3, 24, -1.2))
