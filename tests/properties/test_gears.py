"""What must hold for every gear the package accepts."""

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import between, gears

import gearwork as gw
from gearwork.geometry.gear import GearShape

LENGTHS = (
    "reference_diameter", "base_diameter", "base_pitch", "tip_diameter", "root_diameter",
    "tooth_depth", "tooth_thickness", "tip_thickness", "pointed_diameter",
)  # fmt: skip
RATIOS = ("half_angle_at_base", "min_shift", "default_teeth_spanned")


def scaled(gear, factor):
    return replace(gear, module=gear.module * factor, thinning=gear.thinning * factor)


@given(gears(), between(0.05, 1.0))
def test_lengths_scale_with_the_module_and_ratios_stay(gear, factor):
    small = scaled(gear, factor)
    # Both are made from products and sums of the same terms: a few roundings of the reference
    # diameter each; the tip thickness is a small difference of angles times a diameter.
    few = 50 * np.finfo(float).eps * gear.reference_diameter
    for name in LENGTHS:
        found, wanted = getattr(small, name), factor * getattr(gear, name)
        assert found == pytest.approx(wanted, rel=1e-13, abs=few), name
    for name in RATIOS:
        assert getattr(small, name) == pytest.approx(getattr(gear, name), rel=1e-13), name
    k = gear.default_teeth_spanned
    assert small.span(k) == pytest.approx(factor * gear.span(k), rel=1e-13, abs=few)
    space = 2 * np.pi / gear.teeth - 2 * gear.half_angle_at_base
    pin = max(space, 0.0) * gear.base_diameter / 2 + gear.module
    assert small.over_pins(factor * pin) == pytest.approx(factor * gear.over_pins(pin), rel=1e-12)


@given(gears(), between(0.0, 1.0))
def test_a_tooth_gets_thinner_all_the_way_from_base_to_point(gear, share):
    diameters = gear.base_diameter + np.linspace(0.0, 1.0, 40) * (
        gear.pointed_diameter - gear.base_diameter
    )
    # as an angle; the arc itself may grow near the base circle
    angles = np.array([gear.thickness_at(d) / d for d in diameters])
    rounding = 1e-13 * gear.half_angle_at_base + 1e-15
    assert (np.diff(angles) <= rounding).all()
    assert angles[0] == pytest.approx(gear.half_angle_at_base, rel=1e-12)
    assert angles[-1] == pytest.approx(0.0, abs=1e-12)
    assert gear.tip_thickness > 0.0


@given(gears())
def test_a_gear_can_be_written_down_and_read_again(gear):
    rounded = replace(gear, **{f.name: float(f"{getattr(gear, f.name):g}") for f in fields(gear)})
    assert eval(repr(rounded), {"Gear": gw.Gear}) == rounded


@given(st.tuples(gears(), gears(), gears()))
def test_arrays_give_what_single_gears_give(each):
    rows = GearShape(*(np.array([getattr(g, f.name) for g in each]) for f in fields(GearShape)))
    for name in (*LENGTHS, *RATIOS):
        assert getattr(rows, name) == pytest.approx([getattr(g, name) for g in each], rel=1e-14)


@given(gears())
def test_a_span_crosses_teeth_and_spaces_of_the_base_circle(gear):
    # Independent: the base tangent unwinds the arc of the base circle between the two flanks,
    # k teeth and k - 1 spaces of it (definition of the involute).
    k, base = 3, gear.base_diameter / 2
    tooth = gear.thickness_at(gear.base_diameter)
    space = 2 * np.pi * base / gear.teeth - tooth
    assert gear.span(k) == pytest.approx(k * tooth + (k - 1) * space, rel=1e-12)
