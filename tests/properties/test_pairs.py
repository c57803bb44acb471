"""What must hold for every pair: either gear first, any size, thinning against distance."""

from dataclasses import replace
from math import acos, cos, degrees, pi, radians, tan

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from strategies import between, one_in, pairs, panels, running_pairs, workshop_pairs

import gearwork as gw
from gearwork.geometry.pair import PairShape

ALIKE = (
    "centre_distance", "working_pressure_angle", "backlash", "normal_backlash", "line_of_action",
    "contact_ratio", "formula_contact_ratio", "path_of_contact", "interferes",
)  # fmt: skip
TURNED_ROUND = (
    "working_pitch_diameters", "tip_curvatures", "interference_reserve", "active_diameters",
    "single_contact_diameters", "tip_clearances",
)  # fmt: skip


def swapped(pair):
    return gw.GearPair(pair.wheel, pair.pinion, pair.centre_distance)


def scaled(pair, factor):
    gears = (
        replace(g, module=g.module * factor, thinning=g.thinning * factor)
        for g in (pair.pinion, pair.wheel)
    )
    return gw.GearPair(*gears, pair.centre_distance * factor)


def other_side(name):
    words = {"pinion": "wheel", "wheel": "pinion"}
    return " ".join(words.get(w.strip(","), w.strip(",")) for w in name.split())


@given(pairs())
def test_swapping_the_gears_changes_nothing(pair):
    other = swapped(pair)
    size = 1e-12 * pair.centre_distance
    for name in ALIKE:
        assert getattr(other, name) == pytest.approx(getattr(pair, name), rel=1e-12, abs=size)
    for name in TURNED_ROUND:
        found, wanted = getattr(other, name)[::-1], getattr(pair, name)
        assert found == pytest.approx(wanted, rel=1e-9, abs=size), name
    assert other.gear_ratio * pair.gear_ratio == pytest.approx(1.0, rel=1e-15)


@given(pairs())
def test_without_a_distance_either_gear_first_gives_the_same_one(pair):
    one = gw.GearPair(pair.pinion, pair.wheel).centre_distance
    assert gw.GearPair(pair.wheel, pair.pinion).centre_distance == pytest.approx(one, rel=1e-14)


@one_in(5)
@given(running_pairs())
def test_swapping_the_gears_leaves_every_verdict_on_the_mesh(case):
    pair, bit = case
    report, other = (
        {
            check.name: check
            for check in gw.check_pair(gw.CutPair(p, bit), gw.plywood("birch", 12))
            if check.unit != "MPa"
        }
        for p in (pair, swapped(pair))
    )
    names = {other_side(name): check for name, check in other.items()}
    for name, check in report.items():
        mirror = names[" ".join(w.strip(",") for w in name.split())]
        assert mirror.value == pytest.approx(check.value, rel=1e-8, abs=1e-9), name
        assert mirror.limit == pytest.approx(check.limit, rel=1e-6, abs=1e-9), name


@given(pairs(), between(0.05, 1.0))
def test_lengths_scale_with_the_module_and_ratios_stay(pair, factor):
    small = scaled(pair, factor)
    size = 1e-12 * pair.centre_distance
    for name in ("contact_ratio", "working_pressure_angle"):
        assert getattr(small, name) == pytest.approx(getattr(pair, name), rel=1e-9, abs=1e-9)
    for name in ("backlash", "normal_backlash", "line_of_action"):
        wanted = factor * getattr(pair, name)
        assert getattr(small, name) == pytest.approx(wanted, rel=1e-9, abs=size), name
    for name in TURNED_ROUND:
        wanted = [factor * value for value in getattr(pair, name)]
        assert getattr(small, name) == pytest.approx(wanted, rel=1e-7, abs=size), name


@one_in(5)
@given(running_pairs(), panels(), between(1.05, 3.0), between(0.2, 5.0))
def test_stresses_fall_by_their_power_of_the_size(case, panel, factor, torque):
    # Same torque, everything k times as large: F/b falls by k², bending stress F/(b m) by k³,
    # and Hertz's pressure, the root of F/(b ρ), by k to 3/2.
    (pair, bit), width = case, 20.0
    assume(bit.diameter * factor <= 25.0)
    load = {"torque": torque, "starting_torque": 2 * torque}
    small = gw.check_pair(gw.CutPair(pair, bit), panel, face_width=width, **load)
    larger = gw.CutPair(scaled(pair, factor), gw.Bit(bit.diameter * factor))
    large = gw.check_pair(larger, panel, face_width=width * factor, **load)
    for check in small:
        power = 1.5 if check.name.startswith("flank pressure") else 3.0
        if check.unit == "MPa":
            wanted = check.value / factor**power
            assert large[check.name].value == pytest.approx(wanted, rel=1e-6), check.name
        elif check.unit == "":
            assert large[check.name].value == pytest.approx(check.value, rel=1e-6), check.name


def inv(angle):
    return tan(angle) - angle


def backlash(pair, distance):
    """j_wt from the spaces on both working pitch circles, written from the definitions."""
    teeth = pair.pinion.teeth + pair.wheel.teeth
    bases = pair.pinion.module * cos(radians(pair.pinion.pressure_angle)) * teeth / 2
    working = acos(min(1.0, bases / distance))
    play = 2 * pi * distance / teeth  # one pitch, less a tooth of either gear
    for gear in (pair.pinion, pair.wheel):
        pitch_circle = 2 * distance * gear.teeth / teeth
        alpha = radians(gear.pressure_angle)
        thickness = gear.module * (pi / 2 + 2 * gear.profile_shift * tan(alpha)) - gear.thinning
        turned = thickness / (gear.module * gear.teeth) + inv(alpha) - inv(working)
        play -= pitch_circle * turned
    return play


@given(pairs())
def test_backlash_is_what_the_pitch_circles_leave(pair):
    wanted = backlash(pair, pair.centre_distance)
    assert pair.backlash == pytest.approx(wanted, rel=1e-9, abs=1e-10 * pair.centre_distance)


@given(pairs(opened=st.none()), between(0.0, 0.4), between(0.0, 1.0))
def test_thinning_and_distance_trade_off_exactly(pair, thinner, share):
    # Along the line of action thinning t frees t cos α, and moving the shafts from α_w to α_w'
    # frees the base circles' sum times the growth of the involute function.
    alpha = radians(pair.pinion.pressure_angle)
    total = thinner * pair.pinion.module
    own = [share * total, (1 - share) * total]
    both = zip((pair.pinion, pair.wheel), own, strict=True)
    try:
        thin = [replace(g, thinning=g.thinning + t) for g, t in both]
    except gw.GearworkError:  # so thin that it comes to a point below its tip
        assume(False)
    thinned = gw.GearPair(*thin, pair.centre_distance)
    bases = (pair.pinion.base_diameter + pair.wheel.base_diameter) / 2
    freed = thinned.normal_backlash - pair.normal_backlash
    assert freed == pytest.approx(total * cos(alpha), rel=1e-9, abs=1e-11 * bases)
    working = radians(pair.working_pressure_angle)
    wider = inv(working) + total * cos(alpha) / (2 * bases)
    low, high = working, pi / 2
    for _ in range(100):
        middle = (low + high) / 2
        low, high = (middle, high) if inv(middle) < wider else (low, middle)
    further = max(bases / cos(low), pair.centre_distance)
    apart = PairShape(pair.pinion, pair.wheel, further)  # so far apart that tips may not meet
    # the same play at the base circles, by either way
    base_play = [p.backlash * bases / p.centre_distance for p in (apart, thinned)]
    assert base_play[0] == pytest.approx(base_play[1], rel=1e-8, abs=1e-10 * bases)


@given(workshop_pairs(), between(0.0, 1.0))
def test_the_distance_for_a_backlash_gives_that_backlash(pair, wanted):
    distance = pair.distance_for_backlash(wanted)
    assert backlash(pair, distance) == pytest.approx(wanted, abs=1e-11 * distance)


@given(pairs())
def test_the_working_angle_is_that_of_the_base_circles(pair):
    bases = (pair.pinion.base_diameter + pair.wheel.base_diameter) / 2
    wanted = degrees(acos(min(1.0, bases / pair.centre_distance)))
    # acos near 1 loses half of the digits, in the package and here alike
    assert pair.working_pressure_angle == pytest.approx(wanted, abs=3e-6)


@given(pairs())
def test_contact_lies_between_the_base_tangent_points(pair):
    start, end = pair.contact_limits
    line = pair.line_of_action
    assert start >= 0.0
    assert end <= line * (1 + 1e-12)
    assert pair.contact_ratio >= 0.0
    assert np.isfinite(pair.contact_ratio)
    if not pair.interferes:
        assert pair.contact_ratio == pytest.approx(
            max(pair.formula_contact_ratio, 0.0), rel=1e-9, abs=1e-9
        )
