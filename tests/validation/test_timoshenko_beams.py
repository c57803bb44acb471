"""Deep beams: bending and shear.

Source: Timoshenko and Goodier, Theory of Elasticity: F L³/(3EI) + F L/(κGA), κ = 5/6; the stiffness
of a clamped deep beam 12 EI/(l³(1 + φ)), φ = 12 EI/(κGA l²). Closed forms.
"""

import numpy as np
import pytest
from plates import BIRCH, ISOTROPIC, clamped_bar

from gearwork.checks.windows import (
    PlaneFrame,
)
from gearwork.stock.orthotropic import stiffness


@pytest.mark.parametrize(
    ("material", "modulus", "shear"),
    [(ISOTROPIC, 1000.0, 1000.0 / 2.6), (stiffness(0.0, *BIRCH), 9333.0, 620.0)],
)
def test_cantilever_bends_as_timoshenko_says(material, modulus, shear):
    # Timoshenko and Goodier, Theory of Elasticity: F L³/(3EI) + F L/(κGA), κ = 5/6.
    # 1 % for the clamp, which also holds the height; the load's dent stays out of the mid-line.
    body, load = clamped_bar()
    solution = body.solve(material, load)
    x, y = body.mesh.middles.T
    at = np.flatnonzero((y == -1.0) & (abs(x - 20.0) < 0.3))
    station = x[at][0]
    inertia = 2.0**3 / 12.0
    bending = station**2 * (3 * 24.0 - station) / (6 * modulus * inertia)
    deflection = bending + station / (5 / 6 * shear * 2.0)
    assert -solution.edge_displacements(at)[0, 0, 1, 1] == pytest.approx(deflection, rel=0.01)
    middle = (np.abs(y) == 1.0) & (x > 8.0) & (x < 16.0)
    expected = (24.0 - x[middle]) * y[middle] / inertia
    assert solution.edge_stress[0, middle] == pytest.approx(expected, rel=0.005)


def loaded(frame, node, force):
    loads = np.zeros((len(frame.nodes), 3, 1))
    loads[node, :, 0] = force
    return frame.section_forces(loads)[..., 0]


def test_beams_shear_and_stretch():
    # Two like beams from walls to a node on a column: the load is shared as 2 · 12 EI / l³(1 + φ)
    # to EA / h, φ = 12 EI / (κ G A l²), κ = 5/6 (Timoshenko). E = 1, thickness 1.
    length, height, deep, thin, shear = 30.0, 2000.0, 12.0, 0.1, 1 / 15
    nodes = np.array([[-length, 0.0], [0.0, 0.0], [length, 0.0], [0.0, -height]])
    beams, depth = np.array([[0, 1], [1, 2], [1, 3]]), np.array([deep, deep, thin])
    frame = PlaneFrame(nodes, beams, depth, np.array([0, 2, 3]), shear)
    inertia = deep**3 / 12
    phi = 12 * inertia / (5 / 6 * shear * deep * length**2)
    bending, column = 24 * inertia / length**3 / (1 + phi), thin / height
    ends = loaded(frame, 1, (0.0, -1.0, 0.0))
    assert abs(ends[2, 0, 0]) == pytest.approx(column / (column + bending), rel=1e-6)
