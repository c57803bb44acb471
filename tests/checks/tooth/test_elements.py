"""Utilisation of every tooth by finite elements: what symmetry demands, and the beam beside it."""

import numpy as np
import pytest

import gearwork as gw
from gearwork.checks.tooth.elements import (
    DIRECTIONS,
    direction_polars,
    elastic_polars,
    elastic_roots,
    flank_loads,
    tooth_mesh,
)
from gearwork.checks.tooth.mesh import CutPair


@pytest.fixture(scope="module")
def pair():
    return gw.GearPair(gw.Gear(5, 12, 0.4, thinning=0.2), gw.Gear(5, 16, 0.2, thinning=0.2))


@pytest.fixture(scope="module")
def cut(pair):
    return CutPair(pair, gw.Bit(3.0))


@pytest.fixture(scope="module")
def birch():
    return gw.plywood("birch", 12)


@pytest.fixture(scope="module")
def roses(cut, birch):
    return elastic_polars(cut.pinion, birch)


def test_every_tooth_is_rated_on_both_flanks(roses):
    assert roses.angles == pytest.approx(np.arange(12) * 30.0)
    for flank in (roses.left, roses.right):
        assert flank.share.tension.shape == flank.share.shear.shape == (12,)
        assert (flank.share.compression > flank.share.tension).all()  # birch is weaker pushed


def test_shared_solutions_are_those_of_each_tooth(cut, birch, roses):
    # Tooth by tooth from Norris' interaction of all three stresses, nothing shared or mirrored.
    mesh = tooth_mesh(cut.pinion)
    points, forces = flank_loads(cut.pinion, cut.pair.pinion.tip_diameter)
    for tooth in (1, 4, 8):
        found = mesh.solve(birch.stiffness(30.0 * tooth), points, forces)
        index = birch.norris_index(*np.moveaxis(found.stress, -1, 0), 30.0 * tooth)
        for flank, side in enumerate((roses.left, roses.right)):
            pulled, pushed = (index[flank][sign * found.along[flank] > 0] for sign in (1, -1))
            # a mirrored solution stands on a mesh that is not quite symmetric
            assert side.share.tension[tooth] == pytest.approx(pulled.max(), rel=0.02)
            assert side.share.compression[tooth] == pytest.approx(pushed.max(), rel=0.02)


def test_half_a_turn_changes_nothing_and_the_mirror_swaps_the_flanks(roses):
    left, right = roses.left.share.tension, roses.right.share.tension
    assert left[:6] == pytest.approx(left[6:])
    assert left == pytest.approx(np.roll(right[::-1], 1), rel=0.02)  # mesh not quite symmetric
    assert not np.allclose(left, right, rtol=0.05)


def test_turning_the_sheet_by_a_pitch_moves_the_rose_by_a_tooth(cut, birch, roses):
    turned = elastic_polars(cut.pinion, birch, grain=30.0)
    assert turned.left.share.tension == pytest.approx(np.roll(roses.left.share.tension, 1))


def test_a_load_lower_on_the_flank_does_less(cut, birch, roses):
    lower = direction_polars(
        cut.pinion, birch, [30.0], diameter=cut.pair.single_contact_diameters[0]
    )
    assert lower.left.share.compression[0] < 0.9 * roses.left.share.compression[1]


def test_breaking_place_is_named(roses, birch):
    weakest = roses.weakest(birch)
    shares = [max(f.share.tension) for f in (roses.left, roses.right)]
    assert weakest.share == max(shares)
    assert weakest.kind == "tension"
    assert min(weakest.angle % 90, -weakest.angle % 90) < 25  # a fillet near the grain
    assert weakest.strength == birch.tension_at(weakest.angle)


@pytest.mark.slow
def test_directions_tried_are_close_enough(cut, birch):
    coarse, fine = (
        direction_polars(cut.pinion, birch, angles).weakest(birch).share
        for angles in (DIRECTIONS, np.arange(0.0, 180.0, 2.5))
    )
    assert coarse == pytest.approx(fine, rel=0.015)


def test_reading_below_the_edge_is_lower_and_off_by_default(cut, birch, roses):
    deep = direction_polars(cut.pinion, birch, [30.0], edge_distance=0.5)
    near = direction_polars(cut.pinion, birch, [30.0], edge_distance=0.005)
    assert deep.left.share.compression[0] < 0.6 * roses.left.share.compression[1]
    assert near.left.share.compression[0] == pytest.approx(roses.left.share.compression[1], rel=0.1)
    with pytest.raises(gw.GearworkError, match="reading depth"):
        elastic_polars(cut.pinion, birch, edge_distance=5.0)


@pytest.mark.slow
def test_each_layer_of_a_stack_is_judged_alone(cut, birch):
    """Layer by layer by hand: 12 teeth, two layers."""
    angles = np.arange(0.0, 180.0, 15.0)
    stack = direction_polars(cut.pinion, gw.Stack(birch, (0, 45)), angles).left.share
    one, other = (direction_polars(cut.pinion, birch, angles - a).left.share for a in (0, 45))
    for kind in ("tension", "compression", "shear"):
        worst = np.maximum(getattr(one, kind), getattr(other, kind))
        assert getattr(stack, kind) == pytest.approx(1.08 * 1.04 * worst)


@pytest.mark.slow
def test_veneers_are_counted_by_the_elements(cut, birch):
    root = elastic_roots(cut, birch)["pinion"]
    sheet = direction_polars(cut.pinion, birch, DIRECTIONS).weakest(birch)
    assert root.share == pytest.approx(1.12 * sheet.share)


@pytest.mark.slow
def test_pair_report_by_finite_elements(pair, birch):
    given = gw.CutPair(pair, gw.Bit(3.0)), birch, 1.0, 100.0
    beam, elastic = (
        gw.check_pair(*given, face_width=24.0),
        gw.check_pair(*given, face_width=24.0, detail="elastic"),
    )
    assert [check.name for check in beam] == [check.name for check in elastic]
    for side in ("pinion", "wheel"):
        name = f"tooth bending, {side}, running"
        assert "finite elements" in elastic[name].source
        used = elastic[name].value / elastic[name].limit
        assert 0.7 < used / (beam[name].value / beam[name].limit) < 1.1
        assert 30.0 < elastic[name].basis[0].value < 40.1  # tension near the grain
    with pytest.raises(gw.GearworkError, match="detail is 'exact'"):
        gw.check_pair(*given, face_width=24.0, detail="exact")
