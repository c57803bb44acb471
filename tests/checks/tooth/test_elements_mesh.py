"""Fillet stress of whole teeth: what symmetry and scale demand."""

import numpy as np
import pytest
from plane_teeth import STEEL_LIKE, tip_load, tooth
from rack_tooth import rack_tooth

from gearwork.checks.tooth.elements import ToothMesh
from gearwork.errors import GearworkError
from gearwork.stock.orthotropic import stiffness

BIRCH = ((9333.0, 8167.0), 620.0, 0.04)  # 12 mm birch plywood, Handbook of Finnish Plywood


@pytest.fixture(scope="module")
def twenty():
    return tooth(20)


@pytest.fixture(scope="module")
def coarse():
    return tooth(20, 0.1)


def peaks(found):
    return np.array([found.along.max(), found.along.min()])


@pytest.mark.slow
def test_peak_converges_where_it_is_narrowest(twenty):
    # The fillets of a tooth at 45° pass the direction of the grain.
    meshes = [tooth(20, 0.2), tooth(20, 0.1), twenty, tooth(20, 0.03)]
    load = tip_load(twenty.profile, 20)
    results = np.array([peaks(mesh.solve(stiffness(45.0, *BIRCH), *load)) for mesh in meshes])
    error = np.abs(results[:3] / results[3] - 1.0).max(axis=1)
    assert error[0] > 2.0 * error[1:].max()
    assert (
        error[1:].max() < 0.03
    )  # a fourth and an eighth of the fillet radius, scatter of the mesh


@pytest.mark.parametrize("angle", [0.0, 30.0, 90.0])
def test_mirrored_load_and_grain_give_mirrored_stress(twenty, angle):
    point, force = tip_load(twenty.profile, 20)
    one = twenty.solve(stiffness(angle, *BIRCH), point, force)
    other = twenty.solve(stiffness(-angle, *BIRCH), point * [1, -1], force * [1, -1])
    assert peaks(one) == pytest.approx(peaks(other), rel=0.02)  # the mesh is not quite symmetric


def test_stress_depends_on_force_per_module_only(coarse):
    point, force = tip_load(coarse.profile, 20)
    large = ToothMesh(
        5 * coarse.profile,
        5 * coarse.rim_diameter,
        5 * coarse.form_diameter,
        5 * coarse.fillet_size,
    )
    found = large.solve(STEEL_LIKE, 5 * point, 5 * force)
    assert peaks(found) == pytest.approx(peaks(coarse.solve(STEEL_LIKE, point, force)), rel=0.01)


def test_each_load_stands_by_itself(twenty):
    point, force = tip_load(twenty.profile, 20)
    lower = twenty.profile[np.hypot(*twenty.profile.T) > 10.3][-1:]
    both = twenty.solve(STEEL_LIKE, np.vstack([point, lower]), np.vstack([force, force]))
    assert both.along[0] == pytest.approx(twenty.solve(STEEL_LIKE, point, force).along[0])
    assert both.along[1].max() < 0.7 * both.along[0].max()  # a shorter lever
    assert both.reaction == pytest.approx(-np.vstack([force, force]), abs=1e-9)


def test_a_deeper_rim_changes_little_and_a_bare_thin_one_much(coarse):
    load = tip_load(coarse.profile, 20)
    held = peaks(coarse.solve(STEEL_LIKE, *load))
    deeper = tooth(20, 0.1, rim_diameter=17.5 - 9.0).solve(STEEL_LIKE, *load)
    assert peaks(deeper) == pytest.approx(held, rel=0.02)
    bare = tooth(20, 0.1, rim_diameter=17.5 - 2.5, rim_held=False).solve(STEEL_LIKE, *load)
    assert bare.along.min() < 1.1 * held[1]


def test_readings_below_the_edge_are_lower_and_tend_to_the_edge():
    load = tip_load(rack_tooth(20), 20)
    edge, near, deep = (
        tooth(20, 0.1, reading_depth=depth).solve(stiffness(0.0, *BIRCH), *load)
        for depth in (0.0, 0.005, 0.3)
    )
    assert np.array_equal(edge.inner, edge.stress)
    assert near.inner == pytest.approx(near.stress, abs=0.12 * edge.along.max())
    assert deep.inner[..., :2].max() < 0.7 * edge.along.max()


def test_places_are_the_two_fillets_in_order(twenty):
    found = twenty.solve(STEEL_LIKE, *tip_load(twenty.profile, 20))
    assert np.hypot(*found.points.T).max() <= twenty.form_diameter / 2
    angle = np.arctan2(*found.points.T[::-1])
    assert angle[0] == pytest.approx(-np.pi / 20, abs=0.01)
    assert angle[-1] == pytest.approx(np.pi / 20, abs=0.01)
    assert np.sum(np.diff(np.sign(found.points[:, 1])) != 0) == 1
    assert found.tangent_angle[0] == pytest.approx(90.0 - 9.0, abs=2.0)
    step = np.linalg.norm(np.diff(found.points, axis=0), axis=1)
    assert np.sort(step)[-2] < 1.2 * twenty.fillet_size


def shifted(profile):
    c, s = np.cos(0.01), np.sin(0.01)
    return profile @ np.array([[c, s], [-s, c]])


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"profile": rack_tooth(20)[:-5]}, "mid-root to mid-root"),
        ({"profile": rack_tooth(20)[::-1]}, "counter-clockwise"),
        ({"profile": shifted(rack_tooth(20))}, "centred"),
        ({"profile": np.ones(4)}, r"\(n, 2\)"),
        ({"rim_diameter": 18.0}, "rim diameter"),
        ({"form_diameter": 17.0}, "form diameter"),
        ({"fillet_size": 1.0}, "fillet element size"),
        ({"reading_depth": -0.1}, "reading depth"),
    ],
)
def test_unfit_input_is_refused(change, message):
    fit = {
        "profile": rack_tooth(20),
        "rim_diameter": 12.0,
        "form_diameter": 18.9,
        "fillet_size": 0.05,
    }
    with pytest.raises(GearworkError, match=message):
        ToothMesh(**(fit | change))


def test_a_force_off_the_flank_is_refused(twenty):
    with pytest.raises(GearworkError, match="off the boundary"):
        twenty.solve(STEEL_LIKE, np.array([[10.0, 0.0]]), np.array([[0.0, -1.0]]))
