"""The elastic solver against closed forms of the theory of elasticity."""

import numpy as np
import pytest

from gearwork.errors import GearworkError
from gearwork.fem.grid import mesh_region
from gearwork.fem.plane import ElasticBody, stress_along
from gearwork.stock.orthotropic import stiffness

BIRCH = ((9333.0, 8167.0), 620.0, 0.04)  # 12 mm birch plywood, Handbook of Finnish Plywood
ISOTROPIC = stiffness(0.0, (1000.0, 1000.0), 1000.0 / 2.6, 0.3)
TURNED = stiffness(-30.0, *BIRCH)  # face grain 30° counter-clockwise from x


def rectangle(length, height):
    return np.array(
        [[0, -height / 2], [length, -height / 2], [length, height / 2], [0, height / 2]]
    )


def body_of(loops, sizes, held):
    """Body with boundary edges held where `held` says so of their middles (x, y)."""
    mesh = mesh_region(loops, sizes)
    chosen = np.broadcast_to(held(*mesh.middles.T), len(mesh.edges))
    return ElasticBody(mesh, np.repeat(chosen[:, None], 2, axis=1))


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


@pytest.fixture(scope="module")
def cantilever():
    """Clamped at x = 0, unit force per mm of thickness down at its end, length 24, height 2."""
    bar = rectangle(24.0, 2.0)
    body = body_of([bar], [np.full(4, 0.4)], lambda x, y: x == 0.0)
    return body, body.point_loads(np.array([[24.0, 0.0]]), np.array([[0.0, -1.0]]))


@pytest.mark.parametrize(
    ("material", "modulus", "shear"),
    [(ISOTROPIC, 1000.0, 1000.0 / 2.6), (stiffness(0.0, *BIRCH), 9333.0, 620.0)],
)
def test_cantilever_bends_as_timoshenko_says(cantilever, material, modulus, shear):
    # Timoshenko and Goodier, Theory of Elasticity: F L³/(3EI) + F L/(κGA), κ = 5/6.
    # 1 % for the clamp, which also holds the height; the load's dent stays out of the mid-line.
    body, load = cantilever
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


def test_supports_answer_the_load(cantilever):
    body, load = cantilever
    assert body.solve(TURNED, load).reaction == pytest.approx(np.array([[0.0, 1.0]]), abs=1e-9)


def hole_edge_stress(compliance, angle):
    """Stress along the edge of a circular hole in a plate under unit tension in x.

    Lekhnitskii, Anisotropic Plates (1968), complex potentials: the stress functions' derivatives
    are sums of A_k / ζ_k outside the hole, ζ_k = exp(iθ) on its edge, with the roots of the
    characteristic equation; both derivatives of the total stress function vanish on the edge.
    """
    s = compliance
    roots = np.roots([s[0, 0], -2 * s[0, 2], 2 * s[0, 1] + s[2, 2], -2 * s[1, 2], s[1, 1]])
    one, two = roots[roots.imag > 0]
    cos, sin = np.cos(angle), np.sin(angle)
    strength = -0.5j / (one - two)
    slopes = [
        -1j * a * np.exp(-1j * angle) / (mu * cos - sin)
        for a, mu in ((strength, one), (-strength, two))
    ]
    sx = 1.0 + 2 * np.real(one**2 * slopes[0] + two**2 * slopes[1])
    sy = 2 * np.real(slopes[0] + slopes[1])
    shear = -2 * np.real(one * slopes[0] + two * slopes[1])
    return sx * sin**2 + sy * cos**2 - 2 * shear * sin * cos


def plate_with_hole(material, size, half_width=60.0):
    """Unit hole in a plate so wide that its edge moves as it would without the hole."""
    angle = np.linspace(0, 2 * np.pi, 800, endpoint=False)
    hole = np.column_stack([np.cos(angle), np.sin(angle)])
    outer = rectangle(2 * half_width, 2 * half_width) - [half_width, 0.0]
    far = np.full(4, half_width / 4)
    body = body_of([outer, hole], [far, np.full(800, size)], lambda x, y: np.hypot(x, y) > 2.0)
    e_x, e_y, g = np.linalg.inv(material)[:, 0]
    moved = body.edge_points @ np.array([[e_x, g / 2], [g / 2, e_y]])
    solution = body.solve(material, np.zeros((body.unknowns, 1)), moved)
    ring = body.mesh.loops == 1
    polar = np.arctan2(*body.mesh.middles[ring].T[::-1])
    return solution, solution.edge_stress[0, ring], polar


# Kirsch 1898: 3. Lekhnitskii: K = 1 + sqrt(2(sqrt(E1/E2) - nu12) + E1/G12), load along axis 1.
ALONG = 1 + np.sqrt(2 * (np.sqrt(9333 / 8167) - 0.04) + 9333 / 620)
ACROSS = 1 + np.sqrt(2 * (np.sqrt(8167 / 9333) - 0.04 * 8167 / 9333) + 8167 / 620)
# 1e-4 off the isotropic shear modulus, where the two roots of the potentials coincide.
NEARLY_ISOTROPIC = stiffness(0.0, (1000.0, 1000.0), 1000.0 / 2.6001, 0.3)
HOLES = [
    pytest.param(NEARLY_ISOTROPIC, 3.0, id="Kirsch"),
    pytest.param(stiffness(0.0, *BIRCH), ALONG, id="birch 0"),
    pytest.param(stiffness(90.0, *BIRCH), ACROSS, id="birch 90"),
    pytest.param(stiffness(-45.0, *BIRCH), None, id="birch 45"),
    pytest.param(TURNED, None, id="birch 30"),
]


@pytest.mark.parametrize(("material", "peak"), HOLES)
def test_the_potentials_of_the_test_give_the_closed_forms(material, peak):
    stress = hole_edge_stress(np.linalg.inv(material), np.linspace(0, 2 * np.pi, 3601))
    if peak is None:
        assert 2.9 < stress.max() < 5.0  # less than along the grain, and no longer at 90°
    else:
        assert stress.max() == pytest.approx(peak, rel=1e-3)
        assert stress[900] == pytest.approx(peak, rel=1e-3)


@pytest.mark.parametrize(
    "material", [hole.values[0] for hole in HOLES], ids=[hole.id for hole in HOLES]
)
def test_stress_round_a_hole(material):
    # Ten elements a radius. 2 % is the aim for fillets; a peak as narrow as birch's at 0° leaves
    # 4 % on its steep sides, 1 % in the mean all round.
    _, found, angle = plate_with_hole(material, 0.1)
    exact = hole_edge_stress(np.linalg.inv(material), angle)
    top = hole_edge_stress(np.linalg.inv(material), np.linspace(0, 2 * np.pi, 3601)).max()
    assert found.max() == pytest.approx(top, rel=0.02)
    assert np.sqrt(np.mean((found - exact) ** 2)) < 0.01 * top
    assert np.abs(found - exact).max() < 0.04 * top


def test_error_shrinks_with_the_elements():
    peak, spread = [], []
    for size in (0.4, 0.2, 0.1):
        solution, found, angle = plate_with_hole(stiffness(0.0, *BIRCH), size)
        exact = hole_edge_stress(np.linalg.inv(solution.stiffness), angle)
        peak.append(abs(found.max() / ALONG - 1.0))
        spread.append(np.sqrt(np.mean((found - exact) ** 2)))
    assert peak[0] > 0.2  # four elements to the quarter miss the narrow peak
    assert max(peak[1:]) < 0.02
    assert spread[0] > spread[1] > spread[2]


def test_stress_inside_the_plate():
    # Kirsch's field at 1.3 radii; strains of the elements themselves are good to about 1 % of 3.
    solution, _, _ = plate_with_hole(ISOTROPIC, 0.1)
    r, a = 1.3, np.linspace(0.1, 6.2, 60)
    points = r * np.column_stack([np.cos(a), np.sin(a)])
    radial = 0.5 * (1 - r**-2) + 0.5 * (1 - 4 * r**-2 + 3 * r**-4) * np.cos(2 * a)
    hoop = 0.5 * (1 + r**-2) - 0.5 * (1 + 3 * r**-4) * np.cos(2 * a)
    shear = -0.5 * (1 + 2 * r**-2 - 3 * r**-4) * np.sin(2 * a)
    c, s = np.cos(a), np.sin(a)
    exact = np.column_stack(
        [
            radial * c**2 + hoop * s**2 - 2 * shear * s * c,
            radial * s**2 + hoop * c**2 + 2 * shear * s * c,
            (radial - hoop) * s * c + shear * (c**2 - s**2),
        ]
    )
    found = solution.stress(solution.body.strain_operator(points))[0]
    assert np.abs(found - exact).max() < 0.03


def test_edge_stress_is_that_of_the_element_beside_it(cantilever):
    body, load = cantilever
    solution = body.solve(TURNED, load)
    x, y = body.mesh.middles.T
    free = (np.abs(y) == 1.0) & (x > 4.0) & (x < 20.0)
    beside = solution.stress(body.strain_operator(body.mesh.middles[free]))[0]
    along = stress_along(body.tangents[free], solution.edge_stress[0, free])
    assert beside == pytest.approx(along, abs=0.03 * np.abs(along).max())


def test_stress_along_an_edge_at_45_degrees():
    tangent = np.array([[1.0, 1.0]]) / np.sqrt(2)
    assert stress_along(tangent, np.array([[2.0]])) == pytest.approx(np.ones((1, 1, 3)))


def test_loads_superpose(cantilever):
    body, load = cantilever
    other = body.point_loads(np.array([[12.0, 1.0]]), np.array([[0.3, 0.7]]))
    both = body.solve(TURNED, np.hstack([load, other, load + other])).displacements
    assert both[:, 2] == pytest.approx(both[:, 0] + both[:, 1])


def test_unfit_input_is_refused(cantilever):
    body, load = cantilever
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
