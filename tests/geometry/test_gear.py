import math

import numpy as np
import pytest

from gearwork.errors import GearworkError
from gearwork.geometry.gear import Gear, GearShape

# DIN 3960 span tables of gear handbooks, m 1, 20°, x 0 (from memory, reproduced independently).
SPANS = [
    (9, 2, 4.5542), (12, 2, 4.5963), (17, 2, 4.6663), (18, 3, 7.6324), (24, 3, 7.7165),
    (27, 4, 10.7106), (36, 5, 13.7888), (40, 5, 13.8448), (44, 5, 13.9008), (45, 6, 16.8670),
    (54, 7, 19.9452), (60, 7, 20.0292),
]  # fmt: skip


@pytest.mark.parametrize(("teeth", "spanned", "printed"), SPANS)
def test_span_as_printed(teeth, spanned, printed):
    gear = Gear(module=1, teeth=teeth)
    assert gear.default_teeth_spanned == spanned
    assert gear.span() == pytest.approx(printed, abs=1e-4)


# Machinery's Handbook, Van Keuren table, wire 1.728/P, P 1, 20° (from memory): ±2e-4.
@pytest.mark.parametrize(
    ("teeth", "printed"),
    [(8, 10.3271), (10, 12.3445), (12, 14.3578), (16, 18.3768), (20, 22.3900)],
)
def test_over_pins_as_printed(teeth, printed):
    assert Gear(module=1, teeth=teeth).over_pins(1.728) == pytest.approx(printed, abs=2e-4)


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


# Shigley, Mechanical Engineering Design, §13-7 (from memory): 2 h_a / sin² α.
@pytest.mark.parametrize(("alpha", "fewest"), [(20, 18), (25, 12), (14.5, 32)])
def test_fewest_teeth_a_rack_does_not_undercut(alpha, fewest):
    assert not Gear(module=1, teeth=fewest, pressure_angle=alpha).undercut
    assert Gear(module=1, teeth=fewest - 1, pressure_angle=alpha).undercut


# x_min = 1 − z sin² 20° / 2, computed by hand to four places.
@pytest.mark.parametrize(
    ("teeth", "shift"), [(8, 0.5321), (10, 0.4151), (12, 0.2981), (14, 0.1812)]
)
def test_smallest_shift(teeth, shift):
    assert Gear(module=2, teeth=teeth).smallest_shift == pytest.approx(shift, abs=5e-5)


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
