"""What must hold for every sheet and stack, in every direction."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from strategies import between, panels, sheets

import gearwork as gw
from gearwork.stock.laminate import weakest_direction

STRENGTHS = ("tension_at", "compression_at", "shear_at")
ROSES = (*STRENGTHS, "modulus_at")


def roses(panel, angles):
    return {name: getattr(panel, name)(angles) for name in ROSES}


@given(panels(), between(-360.0, 360.0))
def test_half_a_turn_changes_nothing(panel, angle):
    for name, value in roses(panel, angle).items():
        assert value > 0.0
        assert getattr(panel, name)(angle + 180.0) == pytest.approx(value, rel=1e-9), name


@given(sheets(), between(0.0, 90.0))
def test_a_sheet_is_alike_on_both_sides_of_its_grain(sheet, angle):
    for name, value in roses(sheet, angle).items():
        assert getattr(sheet, name)(-angle) == pytest.approx(value, rel=1e-9), name


@given(panels(), st.lists(between(-360.0, 360.0), min_size=1, max_size=8))
def test_arrays_of_angles_give_what_single_ones_give(panel, angles):
    for name, values in roses(panel, np.array(angles)).items():
        each = [getattr(panel, name)(angle) for angle in angles]
        assert values == pytest.approx(each, rel=1e-12), name


@given(sheets(), st.lists(between(-180.0, 180.0), min_size=1, max_size=5), between(-180.0, 180.0))
def test_turning_every_layer_turns_the_rose(sheet, layers, turn):
    stack, turned = (gw.Stack(sheet, tuple(a + by for a in layers)) for by in (0.0, turn))
    for name, values in roses(stack, 10.0).items():
        # rounding near a kink of the weakest layer is rounding of the angle
        assert getattr(turned, name)(10.0 + turn) == pytest.approx(values, rel=1e-6), name


@given(sheets(), st.lists(between(-180.0, 180.0), min_size=2, max_size=5), st.randoms())
def test_the_order_of_the_layers_counts_for_nothing(sheet, layers, random):
    mixed = list(layers)
    random.shuffle(mixed)
    one, other = (roses(gw.Stack(sheet, tuple(each)), 25.0) for each in (layers, mixed))
    for name, value in one.items():
        assert other[name] == pytest.approx(value, rel=1e-9), name


@given(sheets(), st.integers(1, 5), between(0.0, 180.0))
def test_layers_that_lie_alike_are_one_thick_sheet(sheet, count, angle):
    stack = gw.Stack(sheet, (30.0,) * count)
    for name, value in roses(sheet, angle - 30.0).items():
        assert getattr(stack, name)(angle) == pytest.approx(value, rel=1e-6), name
    assert stack.thickness == pytest.approx(count * sheet.thickness)


@given(panels(), between(0.6, 1.8), between(0.0, 180.0))  # what plywood can have
def test_stresses_and_strengths_scale_alike(panel, share, angle):
    index = panel.norris_index(1.0, 0.5, -0.3, angle)
    assert panel.norris_index(share, 0.5 * share, -0.3 * share, angle) == pytest.approx(
        share * index, rel=1e-9
    )
    sheet = panel.sheet
    pairs = {name: tuple(share * f for f in getattr(sheet, name)) for name in ("tension",)}
    stronger = replace(
        sheet,
        **pairs,
        compression=tuple(share * f for f in sheet.compression),
        panel_shear=share * sheet.panel_shear,
    )
    for name in STRENGTHS:
        assert getattr(stronger, name)(angle) == pytest.approx(
            share * getattr(sheet, name)(angle), rel=1e-9
        )


@given(panels())
def test_no_direction_is_weaker_than_the_weakest(panel):
    for side in ("tension", "compression"):
        _, least = weakest_direction(panel, side)
        values = getattr(panel, f"{side}_at")(np.arange(0.0, 360.0, 7.3))
        # whole degrees are looked at; a rose falls by less than 2 % within half a degree
        assert values.min() >= 0.98 * least


@given(sheets(), between(0.86, 1.14))
def test_a_measured_sheet_is_never_taken_to_bear_more(sheet, share):
    pairs = (sheet.tension, sheet.compression, sheet.modulus)
    carries = min(pair[0] / sum(pair) for pair in pairs)
    assume(abs(1.0 - share - carries) > 1e-9)
    if 1.0 - share > carries:
        with pytest.raises(gw.GearworkError, match="all that carries along the grain"):
            sheet.measured(share * sheet.thickness)
        return
    try:
        measured = sheet.measured(share * sheet.thickness)
    except gw.GearworkError:  # what is left of a thin weak sheet is no plywood
        assume(False)
    angles = np.arange(0.0, 180.0, 15.0)
    for name in STRENGTHS:
        force = getattr(measured, name)(angles) * measured.thickness
        assert (force <= getattr(sheet, name)(angles) * sheet.thickness * (1 + 1e-9)).all(), name
