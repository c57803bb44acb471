"""Closed forms near their limits, against the same quantities in 50 digits.

The references take the inputs of a gear as exact and are written from the definitions of the
involute (ISO 21771-1), with mpmath. Tolerances are roundings (EPS) times what the formula makes
of a rounding in its inputs.
"""

from dataclasses import replace

import mpmath
import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from mpmath import mpf
from strategies import between, gears, pairs

import gearwork as gw
from gearwork.geometry.involute import SMALL_ANGLE, inverse_involute, involute

EPS = float(np.finfo(float).eps)

LOSS = 3 / SMALL_ANGLE**2
"""Roundings that tan α − α is off by just above the series, where α³/3 is left of α."""


@pytest.fixture(autouse=True)
def _fifty_digits():
    with mpmath.workdps(50):
        yield


def inv(angle):
    return mpmath.tan(angle) - angle


def inverse(value):
    """Bisection on the definition, ended by Newton's method."""
    low, high = mpf(0), mpmath.pi / 2
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if inv(middle) < value else (low, middle)
    for _ in range(6 if low > 0 else 0):
        low -= (inv(low) - value) / mpmath.tan(low) ** 2
    return low


class Exact:
    """A gear in 50 digits."""

    def __init__(self, gear):
        self.m, self.z = mpf(gear.module), mpf(gear.teeth)
        self.alpha = mpmath.radians(mpf(gear.pressure_angle))
        height = mpf(gear.profile_shift) + mpf(gear.addendum) + mpf(gear.tip_alteration)
        self.base = self.m * self.z * mpmath.cos(self.alpha)
        self.tip = self.m * (self.z + 2 * height)
        turn = 2 * mpf(gear.profile_shift) * mpmath.tan(self.alpha)
        self.thickness = self.m * (mpmath.pi / 2 + turn) - mpf(gear.thinning)
        self.psi = self.thickness / (self.m * self.z) + inv(self.alpha)

    def thickness_at(self, diameter):
        angle = mpmath.acos(min(self.base / diameter, mpf(1)))
        return diameter * (self.psi - inv(angle))

    @property
    def pointed(self):
        return self.base / mpmath.cos(inverse(self.psi))

    @property
    def tip_curvature(self):
        return mpmath.sqrt(self.tip**2 - self.base**2) / 2


class ExactPair:
    """A pair of gears in 50 digits."""

    def __init__(self, pair):
        self.one, self.two = Exact(pair.pinion), Exact(pair.wheel)
        self.a = mpf(pair.centre_distance)
        self.bases = (self.one.base + self.two.base) / 2
        self.teeth = self.one.z + self.two.z

    @property
    def angle(self):
        return mpmath.acos(min(self.bases / self.a, mpf(1)))

    @property
    def backlash(self):
        psi = self.one.psi * self.one.z + self.two.psi * self.two.z
        return 2 * self.a * (mpmath.pi - psi + self.teeth * inv(self.angle)) / self.teeth

    @property
    def contact_ratio(self):
        line = self.a * mpmath.sin(self.angle)
        start = max(line - self.two.tip_curvature, mpf(0))
        end = min(self.one.tip_curvature, line)
        return max(end - start, mpf(0)) / (mpmath.pi * self.one.m * mpmath.cos(self.one.alpha))


# The involute function and its inverse


@given(st.one_of(between(1e-12, 1e-3), between(1e-3, 0.2), between(0.2, 1.57)))
def test_involute_function(angle):
    exact = inv(mpf(angle))
    # towards 90° tan α magnifies the rounding of α by α/(cos α sin α)
    lost = LOSS if angle < 1 else 1 / np.cos(angle) ** 2
    assert abs(involute(angle) - exact) <= (2 + lost) * EPS * exact


@given(st.floats(-300, 6).map(lambda power: 10.0**power))
def test_inverse_involute_from_next_to_nothing_to_next_to_90_degrees(value):
    exact = inverse(mpf(value)) if value > 1e-30 else mpmath.cbrt(3 * mpf(value))
    # The function is steeper than it is curved nowhere; its own loss below 1 rad comes through
    # with a third or less.
    assert abs(inverse_involute(value) - exact) <= (10 + LOSS / 3) * EPS * exact


@pytest.mark.parametrize("degrees", [89.0, 89.9, 89.99, 89.9999])
def test_inverse_involute_keeps_the_distance_to_90_degrees(degrees):
    value = float(inv(mpmath.radians(mpf(degrees))))
    left = np.pi / 2 - inverse_involute(value)
    exact = mpmath.pi / 2 - inverse(mpf(value))
    assert abs(left - exact) <= 2 * EPS  # a rounding of the angle itself, about π/2


# One gear


@given(gears())
def test_thickness_base_and_pointed_diameter(gear):
    exact = Exact(gear)
    size = float(exact.m * exact.z)
    # π/2 + 2 x tan α may cancel, thinning too: roundings of the pitch, not of what is left
    terms = float(exact.m) * (np.pi / 2 + 2 * abs(gear.profile_shift) * 0.6) + gear.thinning
    assert abs(gear.base_diameter - exact.base) <= 4 * EPS * size
    assert abs(gear.tooth_thickness - exact.thickness) <= 6 * EPS * terms
    arc = gear.tip_diameter * (float(exact.psi) + terms / size)
    assert abs(gear.tip_thickness - exact.thickness_at(exact.tip)) <= LOSS * EPS * arc
    # d(pointed) = d tan α / tan² α dψ: the flatter the point, the less it is known
    angle = float(inverse(exact.psi))
    doubt = float(exact.psi) + terms / size
    known = LOSS * EPS * (1 + doubt / np.sin(angle))
    assert abs(gear.pointed_diameter - exact.pointed) <= known * gear.pointed_diameter


@given(gears(), between(0.0, 1.0))
def test_the_tooth_all_the_way_to_its_point(gear, share):
    exact = Exact(gear)
    at = gear.pointed_diameter * (1 - 10 ** (-15 * share))
    assume(at > gear.base_diameter)
    arc = at * (float(exact.psi) + gear.thinning / gear.reference_diameter)
    assert abs(gear.thickness_at(at) - exact.thickness_at(mpf(at))) <= LOSS * EPS * arc


@given(gears(), st.integers(1, 120), between(0.001, 3.0))
def test_span_and_over_pins(gear, spanned, above):
    exact = Exact(gear)
    pitch = mpmath.pi * exact.m * mpmath.cos(exact.alpha)
    span = (spanned - 1) * pitch + exact.base * exact.psi
    size = float(abs(span)) + 2 * gear.thinning + float(exact.base) * 0.06
    assert abs(gear.span(spanned) - span) <= 20 * EPS * size
    space = mpmath.pi / exact.z - exact.psi
    pin = float(max(space, 0) * exact.base) + above * gear.module
    angle = inverse(mpf(pin) / exact.base - space)
    odd = mpmath.cos(mpmath.pi / 2 / exact.z) if gear.teeth % 2 else 1
    over = exact.base / mpmath.cos(angle) * odd + mpf(pin)
    # a rounding of the angles ψ, π/z and D/d_b moves the pin by it over sin α_M
    doubt = float(abs(exact.psi) + mpmath.pi / exact.z + pin / exact.base + 0.06)
    known = LOSS * EPS * (1 + doubt / float(mpmath.sin(angle)))
    assert abs(gear.over_pins(pin) - over) <= known * float(over)


@pytest.mark.parametrize("teeth", [5, 17, 1000])
@pytest.mark.parametrize("degrees", [14.5, 20.0, 30.0])
def test_the_first_and_the_last_number_of_teeth(teeth, degrees):
    gear = gw.Gear(2, teeth, 0.45 if teeth == 5 else 0.0, degrees, addendum=0.8)
    exact = Exact(gear)
    for found, wanted in (
        (gear.tip_thickness, exact.thickness_at(exact.tip)),
        (gear.pointed_diameter, exact.pointed),
        (gear.half_angle_at_base, exact.psi),
    ):
        # 1000 teeth: angles of 0.017 rad whose difference is a tip of 0.001 rad
        assert abs(found - wanted) <= LOSS * EPS * float(wanted) * (1 + teeth / 50)


# Two gears


@given(pairs())
def test_working_angle_backlash_and_contact_ratio(pair):
    exact = ExactPair(pair)
    a, bases = float(exact.a), float(exact.bases)
    angle = float(exact.angle)
    # cos α_w = bases / a: near 0 an angle is known to a rounding over itself, or its root
    known = 4 * EPS / max(angle, np.sqrt(EPS))
    assert abs(np.radians(pair.working_pressure_angle) - exact.angle) <= known + 2 * EPS
    terms = float(exact.one.psi * exact.one.z + exact.two.psi * exact.two.z) + np.pi
    terms += (pair.pinion.thinning + pair.wheel.thinning) / pair.pinion.module
    terms += float(exact.teeth) * np.tan(angle)
    play = 2 * LOSS * EPS * 2 * a * terms / float(exact.teeth)
    assert abs(pair.backlash - exact.backlash) <= play
    # each curvature is a root of a difference of squares
    doubt = bases * (EPS / max(angle, np.sqrt(EPS)))
    for gear in (exact.one, exact.two):
        doubt += (
            float(gear.tip) * 4 * EPS * float(gear.tip / max(gear.tip_curvature, gear.tip / 1e7))
        )
    ratio = 8 * doubt / pair.pinion.base_pitch
    assert abs(pair.contact_ratio - exact.contact_ratio) <= ratio


@given(pairs(opened=st.none()))
def test_the_distance_without_backlash(pair):
    exact = ExactPair(pair)
    full = [replace(g, thinning=0.0) for g in (pair.pinion, pair.wheel)]
    one, two = map(Exact, full)
    wanted = (one.psi * one.z + two.psi * two.z - mpmath.pi) / exact.teeth
    assume(wanted > 0)
    angle = inverse(wanted)
    terms = 0.06 + 2 * np.pi / float(exact.teeth)
    # a rounding of inv α_w moves the distance by it over sin α_w
    known = LOSS * EPS * (1 + terms / float(mpmath.sin(angle)))
    assert abs(pair.centre_distance * mpmath.cos(angle) / exact.bases - 1) <= known


@pytest.mark.parametrize("left", [1e-1, 1e-2, 1e-3, 1e-4, 1e-5])
def test_a_working_angle_near_0(left):
    # Shifts that leave inv α_w = left³/3, so that α_w is about `left`.
    alpha = mpmath.radians(20)
    free = inv(alpha) - mpf(left) ** 3 / 3
    shift = float(-free * 60 / 4 / mpmath.tan(alpha))
    pair = gw.GearPair(gw.Gear(1, 30, shift), gw.Gear(1, 30, shift))
    one = Exact(pair.pinion)
    angle = inverse(one.psi - mpmath.pi / 2 / one.z)
    # inv α_w is a difference of angles of 0.07 rad; a = bases / cos α_w
    known = 0.1 * EPS / float(angle) + 4 * EPS
    assert abs(pair.centre_distance - one.base / mpmath.cos(angle)) <= known * 30


@pytest.mark.parametrize(("pinion", "wheel"), [(20, 30), (9, 40), (300, 1000)])
def test_contact_ratio_of_just_1(pinion, wheel):
    gears = gw.Gear(2, pinion, 0.4), gw.Gear(2, wheel, 0.1)
    near = gw.GearPair(*gears)
    exact = ExactPair(near)

    def ratio(distance):
        exact.a = distance
        return exact.contact_ratio - 1

    low, high = mpf(near.centre_distance), mpf(near.centre_distance) + 3
    for _ in range(120):
        middle = (low + high) / 2
        low, high = (middle, high) if ratio(middle) > 0 else (low, middle)
    # tips are as far out as at the near distance; the pair itself would let them grow again
    gears = (near.pinion, near.wheel)
    just = float(low)
    # curvatures of up to 180 modules against a pitch of 3: 1e-12 of a length of 1300 mm
    for apart, more in ((-1e-9, True), (1e-9, False)):
        found = gw.GearPair(*gears, just + apart).contact_ratio
        assert (found > 1) == more
        assert found == pytest.approx(1.0, abs=1e-8)
