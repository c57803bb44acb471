"""Turned stiffness of a sheet and of a laminate.

Sources: Jones, Mechanics of Composite Materials (quasi-isotropic laminates); Tsai and Pagano,
Invariant Properties of Composite Materials (invariants of the plane stiffness). Closed forms.
"""

import numpy as np
import pytest

from gearwork.stock.laminate import Stack
from gearwork.stock.plywood import (
    plywood,
)

BIRCH = plywood("birch", 12)
ANGLES = np.arange(0.0, 180.0, 7.5)


def test_stiffness_keeps_its_invariants():
    # Tsai and Pagano's invariants of plane stiffness.
    c = BIRCH.stiffness(ANGLES)
    for value in (c[:, 0, 0] + c[:, 1, 1] + 2 * c[:, 0, 1], c[:, 2, 2] - c[:, 0, 1]):
        assert value == pytest.approx(np.full(ANGLES.size, value[0]))


def test_three_layers_at_60_degrees_are_stiff_alike_in_all_directions():
    # Quasi-isotropic laminate: Jones, Mechanics of Composite Materials.
    c = Stack(BIRCH, (0, 60, 120)).stiffness(ANGLES)
    assert c == pytest.approx(np.broadcast_to(c[0], c.shape), abs=1e-8)
    assert c[0, 2, 2] == pytest.approx((c[0, 0, 0] - c[0, 0, 1]) / 2)
