"""A standard and a profile-shifted pair as gear handbooks print them.

Source: KHK Gear Technical Reference, chapter 4, also SDP/SI Elements of Metric Gear Technology,
section 4 (from memory; reproduced to the last printed digit by an independent computation): m 3,
20°, z 12/24, x 0/0 and 0.6/0.36. Formulas and symbols: ISO 21771-1, ISO 701. Tolerance: half of the
last printed digit. Contact ratios and the backlash of an opened pair are computed, not printed.
"""

import math

import pytest

from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import GearPair


def shifted():
    return GearPair(Gear(3, 12, 0.6), Gear(3, 24, 0.36))


# KHK Gear Technical Reference ch. 4, also SDP/SI Elements of Metric Gear Technology §4
# (from memory, reproduced independently): m 3, 20°, z 12/24, x 0.6/0.36; last printed digit.
def test_profile_shifted_pair_as_printed():
    pair = shifted()
    p, w = pair.pinion, pair.wheel
    assert pair.working_pressure_angle == pytest.approx(26.0886, abs=5e-5)
    assert pair.centre_distance == pytest.approx(56.4999, abs=5e-5)
    assert (p.reference_diameter, w.reference_diameter) == (36, 72)
    assert (p.base_diameter, w.base_diameter) == pytest.approx((33.8289, 67.6579), abs=5e-5)
    assert pair.working_pitch_diameters == pytest.approx((37.667, 75.333), abs=5e-4)
    assert (p.tip_diameter, w.tip_diameter) == pytest.approx((44.840, 79.400), abs=5e-4)
    assert (p.root_diameter, w.root_diameter) == pytest.approx((32.100, 66.660), abs=5e-4)
    assert (p.tooth_depth, w.tooth_depth) == pytest.approx((6.370, 6.370), abs=5e-4)
    assert pair.contact_ratio == pytest.approx(1.2021, abs=5e-5)
    assert pair.tip_clearances == pytest.approx((0.75, 0.75))
    assert not pair.interferes


def test_standard_pair_as_printed_interferes_and_its_contact_ratio_means_nothing():
    pair = GearPair(Gear(3, 12), Gear(3, 24))
    assert pair.centre_distance == pytest.approx(54.0)
    assert (pair.pinion.tip_diameter, pair.wheel.tip_diameter) == pytest.approx((42, 78))
    assert (pair.pinion.root_diameter, pair.wheel.root_diameter) == pytest.approx((28.5, 64.5))
    assert pair.formula_contact_ratio == pytest.approx(1.5111, abs=5e-5)
    assert pair.interference_reserve[0] == pytest.approx(-0.937, abs=5e-4)
    assert pair.interferes
    assert pair.contact_ratio < pair.formula_contact_ratio - 0.1


def test_centre_distance_gives_back_the_sum_of_shifts():
    # Same table: at 56.4999 the shifts add to 0.9600; any split of them closes the mesh.
    pair = GearPair(Gear(3, 12, 0.5), Gear(3, 24, 0.46), centre_distance=56.49995)
    assert pair.backlash == pytest.approx(0, abs=1e-3)


# Exact backlash of an opened pair: j = 2a'(inv α' − inv α); computed with 8-digit involutes.
@pytest.mark.parametrize(("opened", "backlash"), [(0.1, 0.07337), (0.5, 0.37822), (1.0, 0.78414)])
def test_backlash_of_an_opened_pair(opened, backlash):
    pair = GearPair(Gear(3, 16), Gear(3, 24), 60 + opened)
    assert pair.backlash == pytest.approx(backlash, abs=5e-6)
    assert pair.normal_backlash == pytest.approx(
        backlash * math.cos(math.radians(pair.working_pressure_angle)), abs=5e-6
    )
