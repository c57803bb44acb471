import math

import numpy as np
import pytest

from gearwork.errors import GearworkError
from gearwork.geometry.gear import Gear, GearShape


def test_over_pins_of_odd_counts_by_touching_circles():
    # Independent road: a pin touches both flanks, so its centre is one radius from each; the
    # centre's distance from the gear centre is found by bisection on that distance.
    gear, pin = Gear(module=3, teeth=15, profile_shift=0.2), 5.5
    base, psi = gear.base_diameter / 2, gear.half_angle_at_base
    roll = np.linspace(0, 1.2, 20001)
    angle = psi - (roll - np.arctan(roll))
    flank = base * np.hypot(1, roll)[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    way = np.array([math.cos(math.pi / 15), math.sin(math.pi / 15)])
    low, high = 15.0, 40.0
    for _ in range(60):
        middle = (low + high) / 2
        gap = np.hypot(*(flank - middle * way).T).min()
        low, high = (middle, high) if gap < pin / 2 else (low, middle)
    expected = 2 * low * math.cos(math.pi / 30) + pin
    assert gear.over_pins(pin) == pytest.approx(expected, abs=1e-5)  # flank sampled at 20001


def test_thinning_is_taken_from_thickness_span_and_pins():
    thick, thin = (Gear(module=5, teeth=20, thinning=t) for t in (0.0, 0.2))
    assert thick.tooth_thickness - thin.tooth_thickness == pytest.approx(0.2)
    # A span crosses two flanks along the base tangent: arc times cos α (DIN 3960).
    assert thick.span() - thin.span() == pytest.approx(0.2 * math.cos(math.radians(20)))
    assert thin.over_pins(9.0) < thick.over_pins(9.0)


def test_thickness_at_the_reference_circle_is_the_tooth_thickness():
    gear = Gear(module=4, teeth=17, profile_shift=0.3, thinning=0.1)
    assert gear.thickness_at(gear.reference_diameter) == pytest.approx(gear.tooth_thickness)
    assert gear.thickness_at(gear.pointed_diameter) == pytest.approx(0, abs=1e-12)


def test_arrays_and_numbers_use_the_same_formulas():
    teeth = np.array([12.0, 33.0, 80.0])
    rows = GearShape(
        np.full(3, 4.0), teeth, np.full(3, 0.2), np.full(3, 20.0),
        np.full(3, 1.0), np.full(3, 0.25), np.full(3, 0.1), np.zeros(3),
    )  # fmt: skip
    for name in ("tip_diameter", "base_diameter", "tip_thickness", "default_teeth_spanned"):
        each = [getattr(Gear(4, int(z), 0.2, thinning=0.1), name) for z in teeth]
        assert getattr(rows, name) == pytest.approx(each, rel=1e-15)
    assert rows.span() == pytest.approx([Gear(4, int(z), 0.2, thinning=0.1).span() for z in teeth])


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"module": -5}, "module is -5 mm: it must be above 0"),
        ({"module": "five"}, "module is 'five': a number in mm is needed$"),
        ({"module": "5.5"}, "module is '5.5': a number in mm is needed, without quotes"),
        ({"module": math.nan}, "module is nan: a finite number in mm"),
        ({"teeth": 3}, "teeth is 3: it must be at least 5"),
        ({"teeth": 14.5}, "teeth is 14.5: a whole number is needed, 14 or 15"),
        ({"pressure_angle": 45}, "pressure angle is 45 degrees: it must be at most 30"),
        ({"teeth": 8, "profile_shift": 0.8}, "meet in a point .* addendum below 0.874"),
        ({"thinning": 20}, "no tooth is left"),
        (
            # the tip falls to the root at k = -(2 h_a* + c*) = -0.875
            {
                "teeth": 5,
                "profile_shift": 0.64,
                "pressure_angle": 15,
                "addendum": 0.3125,
                "tip_alteration": -1,
            },
            "no tooth is left above the root .* above -0.875",
        ),
        ({"teeth": 5, "addendum": 2.0, "clearance": 1.0}, "take a larger shift"),
    ],
)
def test_impossible_gears_are_refused_with_a_way_out(wrong, words):
    with pytest.raises(GearworkError, match=words):
        Gear(**{"module": 5, "teeth": 20, **wrong})


def test_a_gear_shows_only_what_was_given():
    assert repr(Gear(module=5, teeth=14, profile_shift=0.25)) == (
        "Gear(module=5, teeth=14, profile_shift=0.25)"
    )
