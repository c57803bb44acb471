"""Beams, rings and contact.

Source: Roark's Formulas for Stress and Strain (from memory): Table 8.1 beams, circular rings case
1, clamped beams. Closed forms; where a test allows more than rounding it says why.
"""

from math import pi

import numpy as np
import pytest

from gearwork.checks.shaft.beam import (
    MODULUS,
    Shaft,
    ShaftLoad,
)
from gearwork.checks.windows import (
    PlaneFrame,
)
from gearwork.stock.hardware import bearing, rod

M8 = rod("M8")
EI = MODULUS * pi * M8.core_diameter**4 / 64.0


def shaft(*loads, bearings=(0.0, 100.0), on=M8, ball="608"):
    return Shaft(on, bearing(ball), bearings, loads)


def across(position, y, z=0.0):
    return ShaftLoad("load", position, (y, z))


def test_load_in_the_middle():
    # PL³/48EI, PL/4, PL²/16EI at the bearings.
    p, span = 50.0, 100.0
    beam = shaft(across(50.0, -p))
    assert beam.deflection_at(50.0)[0] == pytest.approx(-p * span**3 / (48.0 * EI))
    assert beam.bending_moment.max() == pytest.approx(p * span / 4.0 / 1000.0)
    assert beam.slope_at(0.0)[0] == pytest.approx(-p * span**2 / (16.0 * EI))
    assert beam.slope_at(50.0)[0] == pytest.approx(0.0, abs=1e-15)
    assert beam.bearing_forces == pytest.approx((25.0, 25.0))


@pytest.mark.parametrize("a", [10.0, 30.0, 80.0])
def test_load_off_the_middle(a):
    # Under the load P a² b²/(3 EI L), moment P a b/L.
    p, span = 40.0, 100.0
    b = span - a
    beam = shaft(across(a, p))
    assert beam.deflection_at(a)[0] == pytest.approx(p * a**2 * b**2 / (3.0 * EI * span))
    assert np.abs(beam.bending_moment[:, 0]).max() == pytest.approx(p * a * b / span / 1000.0)


def test_load_beyond_a_bearing():
    # Overhang c: P c² (L + c)/(3 EI), slope at the end P c (2L + 3c)/(6 EI).
    p, span, c = 30.0, 100.0, 25.0
    beam = shaft(across(span + c, -p))
    assert beam.deflection_at(span + c)[0] == pytest.approx(-p * c**2 * (span + c) / (3 * EI))
    assert beam.slope_at(span + c)[0] == pytest.approx(-p * c * (2 * span + 3 * c) / (6 * EI))
    assert beam.reactions[:, 0] == pytest.approx((-p * c / span, p * (span + c) / span))


def loaded(frame, node, force):
    loads = np.zeros((len(frame.nodes), 3, 1))
    loads[node, :, 0] = force
    return frame.section_forces(loads)[..., 0]


def test_clamped_beam_under_a_load_at_mid_span():
    # M = P l / 8 at both ends and the middle, V = P / 2 (any handbook; shear changes neither).
    nodes = np.array([[0.0, 0.0], [50.0, 0.0], [100.0, 0.0]])
    frame = PlaneFrame(nodes, np.array([[0, 1], [1, 2]]), np.full(2, 5.0), np.array([0, 2]), 0.3)
    ends = loaded(frame, 1, (0.0, -1.0, 0.0))
    assert np.abs(ends[..., 2]) == pytest.approx(np.full((2, 2), 12.5))
    assert np.abs(ends[..., 1]) == pytest.approx(np.full((2, 2), 0.5))


def test_ring_under_two_opposite_loads():
    # Roark, circular rings, case 1 (from memory): M under the load = W R / π. The foot neither
    # moves nor turns by symmetry.
    count, radius = 128, 100.0
    angle = 2 * np.pi * np.arange(count) / count
    nodes = radius * np.column_stack([np.sin(angle), -np.cos(angle)])
    beams = np.column_stack([np.arange(count), np.roll(np.arange(count), -1)])
    frame = PlaneFrame(nodes, beams, np.full(count, 1.0), np.array([0]), 1 / 2.6)
    ends = loaded(frame, count // 2, (0.0, -1.0, 0.0))
    assert abs(ends[count // 2, 0, 2]) == pytest.approx(radius / np.pi, rel=2e-3)
