"""Duration of load, partial factors, and dowelled joints.

Source: EN 1995-1-1:2004+A1:2008. Tables 3.1 (k_mod of plywood) and 2.3 (gamma_M) and Eq. 2.14,
8.20, 8.30, 8.36 and 8.2.3(1) as read in copies; the design tables of 4.6 bolts from memory.
National annexes differ.
"""

import numpy as np
import pytest

from gearwork.checks.hub import johansen
from gearwork.stock.timber import (
    design_value,
    gamma_m,
    k_mod,
)


@pytest.mark.parametrize(
    ("service_class", "duration", "value"),
    [  # EN 1995-1-1:2004 Table 3.1, plywood
        (1, "permanent", 0.60),
        (1, "long", 0.70),
        (2, "medium", 0.80),
        (2, "short", 0.90),
        (1, "instantaneous", 1.10),
        (3, "permanent", 0.50),
        (3, "long", 0.55),
        (3, "medium", 0.65),
        (3, "short", 0.70),
        (3, "instantaneous", 0.90),
    ],
)
def test_k_mod(service_class, duration, value):
    factor = k_mod(service_class, duration)
    assert factor.value == value
    assert "Table 3.1" in factor.source


def test_design_value_by_hand():
    # EN 1995-1-1 Eq. 2.14: 40 x 0.9 / 1.2
    factors = (k_mod(1, "short"), gamma_m("plywood"))
    assert design_value(40.0, *factors) == pytest.approx(30.0)
    assert design_value(np.array([40.0, 20.0]), *factors) == pytest.approx([30.0, 15.0])
    assert gamma_m("connections").value == 1.3
    assert gamma_m("plywood").value == 1.2


@pytest.mark.parametrize(("d", "printed"), [(6, 65.1), (8, 63.8), (10, 62.4), (12, 61.0)])
def test_embedment_of_bolts_in_birch_plywood(d, printed):
    # EN 1995-1-1 Eq. 8.36 at 630 kg/m³, worked by hand to one decimal (65.14, 63.76, 62.37, 60.98).
    assert johansen.bolt_embedment(d, 630.0) == pytest.approx(printed, abs=0.05)


def test_embedment_of_a_thin_screw_is_that_of_a_nail():
    # EN 1995-1-1 Eq. 8.20 by logarithms: 5.25^0.3 = 1.6446, 69.3/1.6446 = 42.14.
    assert johansen.threaded_embedment(5.25, 630.0) == pytest.approx(42.14, abs=0.01)
    assert johansen.threaded_embedment(8.0, 630.0) == johansen.bolt_embedment(8.0, 630.0)


@pytest.mark.parametrize(("d", "printed"), [(12, 76.7), (16, 162.1), (20, 289.6)])
def test_yield_moment_of_bolts_of_class_4_6(d, printed):
    # EN 1995-1-1 Eq. 8.30 as in design tables for 4.6 bolts, N·m to one decimal (from memory;
    # M16 exactly: 120 · 2^10.4 = 162 141 N·mm).
    assert johansen.yield_moment(400.0, d) / 1000.0 == pytest.approx(printed, abs=0.05)


def test_plate_between_thin_and_thick_is_interpolated():
    # EN 1995-1-1 8.2.3(1): straight from t = d/2 to t = d.
    thin, middle, thick = (johansen.wood_to_steel(60.0, 18.0, 8.0, 2e4, t) for t in (4, 6, 8))
    assert thin < thick
    assert middle == pytest.approx((thin + thick) / 2.0)
    assert johansen.wood_to_steel(60.0, 18.0, 8.0, 2e4, 1.0) == thin
    assert johansen.wood_to_steel(60.0, 18.0, 8.0, 2e4, 20.0) == thick
