"""The elastic solver against closed forms of the theory of elasticity."""

import numpy as np
import pytest
from plates import BIRCH, TURNED, body_of, clamped_bar, rectangle

from gearwork.errors import GearworkError
from gearwork.fem.grid import mesh_region
from gearwork.fem.plane import ElasticBody, stress_along
from gearwork.stock.orthotropic import stiffness


def inside_points(body):
    return body.mesh.vertices[body.mesh.triangles].mean(axis=1)


def test_a_uniform_strain_is_reproduced_exactly_on_a_curved_irregular_mesh():
    angle = np.linspace(0, 2 * np.pi, 1000, endpoint=False)
    ellipse = np.column_stack([3 * np.cos(angle), 2 * np.sin(angle)])
    body = body_of([ellipse], [np.full(1000, 0.6)], lambda x, y: True)
    strain = np.array([1e-3, -4e-4, 7e-4])
    gradient = np.array([[1e-3, 5e-4], [2e-4, -4e-4]])
    none = np.zeros((body.unknowns, 1))
    solution = body.solve(TURNED, none, body.edge_points @ gradient.T)
    found = solution.stress(body.strain_operator(inside_points(body)))[0]
    assert found == pytest.approx(np.tile(TURNED @ strain, (len(found), 1)), rel=1e-9)
    assert solution.reaction == pytest.approx(np.zeros((1, 2)), abs=1e-9)


def test_a_bar_of_any_grain_pulled_at_its_end_is_stressed_evenly():
    bar = rectangle(6.0, 2.0)
    mesh = mesh_region([bar], [np.full(4, 0.5)])
    x, y = mesh.middles.T
    held = np.column_stack([x == 0, (x == 0) & (y == y[x == 0].min())])
    body = ElasticBody(mesh, held)
    pull = np.where(x == 6.0, 5.0, 0.0)
    solution = body.solve(stiffness(0.0, *BIRCH), body.tractions(np.column_stack([pull, 0 * pull])))
    sides = np.abs(y) == 1.0
    assert solution.edge_stress[0, sides] == pytest.approx(5.0, rel=0.01)  # one edge held in y
    assert solution.reaction[0] == pytest.approx([-10.0, 0.0], abs=1e-9)
    end = solution.edge_displacements(np.flatnonzero(x == 6.0))[0, :, 1, 0]
    assert end == pytest.approx(5.0 / 9333.0 * 6.0, rel=0.01)


def test_supports_answer_the_load():
    body, load = clamped_bar()
    assert body.solve(TURNED, load).reaction == pytest.approx(np.array([[0.0, 1.0]]), abs=1e-9)


def test_edge_stress_is_that_of_the_element_beside_it():
    body, load = clamped_bar()
    solution = body.solve(TURNED, load)
    x, y = body.mesh.middles.T
    free = (np.abs(y) == 1.0) & (x > 4.0) & (x < 20.0)
    beside = solution.stress(body.strain_operator(body.mesh.middles[free]))[0]
    along = stress_along(body.tangents[free], solution.edge_stress[0, free])
    assert beside == pytest.approx(along, abs=0.03 * np.abs(along).max())


def test_stress_along_an_edge_at_45_degrees():
    tangent = np.array([[1.0, 1.0]]) / np.sqrt(2)
    assert stress_along(tangent, np.array([[2.0]])) == pytest.approx(np.ones((1, 1, 3)))


def test_loads_superpose():
    body, load = clamped_bar()
    other = body.point_loads(np.array([[12.0, 1.0]]), np.array([[0.3, 0.7]]))
    both = body.solve(TURNED, np.hstack([load, other, load + other])).displacements
    assert both[:, 2] == pytest.approx(both[:, 0] + both[:, 1])


def test_unfit_input_is_refused():
    body, load = clamped_bar()
    mesh = body.mesh
    with pytest.raises(GearworkError, match="free to move"):
        ElasticBody(mesh, np.zeros((len(mesh.edges), 2), dtype=bool))
    with pytest.raises(GearworkError, match="x and y of each"):
        ElasticBody(mesh, np.ones(len(mesh.edges), dtype=bool))
    with pytest.raises(GearworkError, match="outside the body"):
        body.strain_operator(np.array([[30.0, 0.0]]))
    with pytest.raises(GearworkError, match="off the boundary"):
        body.point_loads(np.array([[12.0, 0.0]]), np.array([[0.0, 1.0]]))
    for wrong in (np.eye(2), np.diag([1.0, 1.0, -1.0]), np.triu(np.ones((3, 3)))):
        with pytest.raises(GearworkError, match="positive definite"):
            body.solve(wrong, load)
