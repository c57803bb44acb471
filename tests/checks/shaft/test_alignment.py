"""Two bent shafts at one mesh: tilt and distance of the gears, and what it does to the teeth."""

import dataclasses
import math
import re

import numpy as np
import pytest

import gearwork as gw
from gearwork.checks.shaft.alignment import Askew, LoadedMesh, MeshAlignment, alignment_checks
from gearwork.checks.shaft.beam import (
    MODULUS,
    Shaft,
    ShaftLoad,
    face_load_factor,
    gear_forces,
    mesh_load,
    root_share_exponent,
)
from gearwork.checks.tooth.mesh import CutPair, distance_tolerance
from gearwork.errors import GearworkError
from gearwork.stock.hardware import bearing, rod
from gearwork.stock.plywood import plywood

M8 = rod("M8")
EI = MODULUS * math.pi * M8.core_diameter**4 / 64.0
BIRCH = plywood("birch", 12)
PAIR = gw.GearPair(gw.Gear(4, 14, 0.3, thinning=0.2), gw.Gear(4, 40, thinning=0.2))
CUT = CutPair(PAIR, gw.Bit(3.0))
RESERVE = 2.0 ** (9 / 13)  # lets the edge of these teeth be loaded twice the mean


def on_shaft(
    name, torque, at, towards, more=(), bearings=(0.0, 100.0), on=M8, ball="608", width=24
):
    """The shaft of one gear of PAIR; `torque` is what the mate puts into it, N·m."""
    gear = PAIR.pinion if name == "pinion" else PAIR.wheel
    load = mesh_load(
        name, at, torque, gear.base_diameter, PAIR.working_pressure_angle,
        mate_direction=towards, face_width=width,
    )  # fmt: skip
    drive = ShaftLoad("drive", -20.0, (0.0, 0.0), -sum(one.torque for one in (load, *more)))
    return Shaft(on, bearing(ball), bearings, (load, *more, drive))


def mesh(torque=1.0, at=30.0, towards=0.0, more=((), ()), **where):
    """The pinion is pushed back by -`torque`, the wheel turned by the ratio the same way round."""
    return MeshAlignment(
        on_shaft("pinion", -torque, at, towards, more[0], **where),
        on_shaft("wheel", -torque * PAIR.gear_ratio, at, towards + 180.0, more[1], **where),
        "pinion",
        "wheel",
    )


def tooth_force(torque):
    return math.hypot(*gear_forces(torque, PAIR.pinion.base_diameter, PAIR.working_pressure_angle))


# Closed forms


@pytest.mark.parametrize("at", [20.0, 30.0, 80.0])
@pytest.mark.parametrize("towards", [0.0, 77.0, 205.0])
def test_both_shafts_tilt_and_part_by_the_handbook(at, towards):
    """Roark, Table 8.1, case 1e: slope F a b (b − a)/(3 EI L), deflection F a² b²/(3 EI L).

    The forces on both shafts are opposite, so that the sums count: twice the slope along the
    tooth force, twice the deflection of the radial part along the line of centres.
    """
    found, span = mesh(1.0, at, towards), 100.0
    force, a, b = tooth_force(1.0), at, span - at
    assert found.force == pytest.approx(force)
    slope = force * a * b * abs(b - a) / (3.0 * EI * span)
    assert found.edge_gap == pytest.approx(2.0 * slope * 24.0)
    radial = gear_forces(1.0, PAIR.pinion.base_diameter, PAIR.working_pressure_angle)[1]
    assert found.distance_change == pytest.approx(2.0 * radial * a**2 * b**2 / (3.0 * EI * span))


def test_gears_in_the_middle_part_without_a_tilt():
    found = mesh(at=50.0)
    assert found.edge_gap == pytest.approx(0.0, abs=1e-12)
    assert found.distance_change > 0.0


@pytest.mark.parametrize("torque", [1.0, -1.0])
def test_shafts_that_bend_alike_neither_tilt_nor_part_their_gears(torque):
    """Another load takes twice the tooth force off the pinion's shaft: both then bend the same."""
    push = 2.0 * np.array(mesh(torque).wheel_shaft.mesh("wheel")[0].force)
    other = ShaftLoad("other", 30.0, tuple(push))
    found = mesh(torque, more=((other,), ()))
    assert found.edge_gap == pytest.approx(0.0, abs=1e-12)
    assert found.distance_change == pytest.approx(0.0, abs=1e-12)


def test_load_that_pushes_the_wheel_to_its_mate_brings_them_nearer():
    """Towards its mate means against the direction of the line of centres, here −y."""
    found = mesh(towards=0.0, more=((), (ShaftLoad("rope", 40.0, (-400.0, 0.0)),)))
    assert found.distance_change < 0.0


# Second road: finite elements of a beam


def beam_by_elements(shaft, ends=(-40.0, 160.0), pieces=200):
    """Deflection and slope at 1 mm steps in one plane each, cubic (Hermite) beam elements."""
    x = np.linspace(*ends, pieces + 1)
    h = x[1] - x[0]
    element = EI / h**3 * np.array(
        [[12, 6 * h, -12, 6 * h], [6 * h, 4 * h**2, -6 * h, 2 * h**2],
         [-12, -6 * h, 12, -6 * h], [6 * h, 2 * h**2, -6 * h, 4 * h**2]]
    )  # fmt: skip
    stiffness = np.zeros((2 * pieces + 2, 2 * pieces + 2))
    for i in range(pieces):
        stiffness[2 * i : 2 * i + 4, 2 * i : 2 * i + 4] += element
    forces = np.zeros((2 * pieces + 2, 2))
    for load in shaft.loads:
        forces[2 * np.argmin(np.abs(x - load.position))] += load.force
    held = [2 * int(np.argmin(np.abs(x - place))) for place in shaft.bearing_positions]
    free = np.setdiff1d(np.arange(2 * pieces + 2), held)
    moved = np.zeros_like(forces)
    moved[free] = np.linalg.solve(stiffness[np.ix_(free, free)], forces[free])
    return x, moved[::2], moved[1::2]


@pytest.mark.parametrize("seed", range(6))
def test_gap_and_distance_against_finite_elements(seed):
    """Random further gears on both shafts, bearings of their own; nodes stand at every load.

    Points at both edges of the face are followed: the gap is how differently far they part along
    the tooth force. Cubic elements are exact but for rounding of the 400 equations.
    """
    rng = np.random.default_rng(seed)
    towards, at = rng.uniform(0.0, 360.0), float(rng.integers(-20, 130))
    more = [
        (ShaftLoad("more", float(rng.integers(-30, 150)), tuple(60.0 * rng.normal(size=2))),)
        for _ in range(2)
    ]
    whole = MeshAlignment(
        on_shaft("pinion", -1.0, at, towards, more[0], bearings=(-10.0, 90.0)),
        on_shaft("wheel", -PAIR.gear_ratio, at, towards + 180.0, more[1], bearings=(5.0, 120.0)),
        "pinion",
        "wheel",
    )
    (x, pinion, pinion_slope), (_, wheel, wheel_slope) = map(
        beam_by_elements, (whole.pinion_shaft, whole.wheel_shaft)
    )
    here = int(np.argmin(np.abs(x - at)))
    edges = np.array([-12.0, 12.0])[:, None]
    place = wheel[here] - pinion[here] + edges * (wheel_slope[here] - pinion_slope[here])
    across = np.radians(towards) - np.pi / 2.0 - np.radians(PAIR.working_pressure_angle)
    along_force = place @ -np.array([np.cos(across), np.sin(across)])
    expected = abs(along_force[1] - along_force[0])
    centres = np.array([np.cos(np.radians(towards)), np.sin(np.radians(towards))])
    apart = float((wheel[here] - pinion[here]) @ centres)
    assert whole.edge_gap == pytest.approx(expected, rel=1e-5, abs=1e-9)
    assert whole.distance_change == pytest.approx(apart, rel=1e-5, abs=1e-9)


# The checks


def loaded(*senses):
    return LoadedMesh.of(senses or (mesh(),), CUT, BIRCH, RESERVE)


def checks(of):
    return {check.name: check for check in alignment_checks(of)}


def test_values_of_the_checks_by_hand():
    found, modulus = checks(loaded(mesh())), np.mean(BIRCH.modulus_at(np.arange(0.0, 180.0, 0.5)))
    factor = face_load_factor(mesh().edge_gap, 24.0, tooth_force(1.0), modulus)
    assert found["edge load"].value == pytest.approx(factor, rel=1e-4)
    assert found["centre distance under load"].value == mesh().distance_change


@pytest.mark.parametrize(
    ("slenderness", "exponent"), [(1.0, 9 / 13), (3.0, 9 / 13), (5.0, 25 / 31), (10.0, 100 / 111)]
)
def test_root_feels_the_edge_less_than_the_flank(slenderness, exponent):
    """ISO 6336-1, N_F by hand (from memory): 3 where the face is narrower than 3 tooth depths."""
    assert root_share_exponent(slenderness * 9.0, 9.0) == pytest.approx(exponent)


def test_the_edge_may_take_what_the_teeth_have_in_reserve_and_no_more():
    """24 mm are under three depths of 9 mm: K_H = reserve ** (13 / 9), at most 4.

    Teeth that bear less than they are given fail a check of their own.
    """
    limits = {
        reserve: LoadedMesh.of((mesh(),), CUT, BIRCH, reserve).max_face_factor
        for reserve in (0.5, 1.0, 1.5, 2.0, 5.0)
    }
    assert limits == pytest.approx(
        {0.5: 4.0, 1.0: 1.0, 1.5: 1.7962, 2.0: 2.7216, 5.0: 4.0}, abs=1e-4
    )


def test_edge_load_is_the_same_whatever_the_load():
    assert loaded(mesh(0.1)).face_factor == pytest.approx(loaded(mesh(5.0)).face_factor)


def test_the_worse_of_driving_and_braking_counts():
    """A second gear on the wheel's shaft: the other flanks bend it elsewhere."""
    more = mesh_load("next", 70.0, 3.0, 60.0, 20.0, mate_direction=90.0, face_width=24.0)
    back = mesh_load("next", 70.0, -3.0, 60.0, 20.0, mate_direction=90.0, face_width=24.0)
    driving, braking = mesh(1.0, more=((), (more,))), mesh(-1.0, more=((), (back,)))
    one, other = loaded(driving), loaded(braking)
    assert one.face_factor != pytest.approx(other.face_factor, rel=0.05)
    both = loaded(driving, braking)
    assert both.face_factor == max(one.face_factor, other.face_factor)


def test_farthest_centre_distance_is_where_one_tooth_just_takes_over():
    """Room and tolerance up to contact ratio 1, by the pair itself at that distance."""
    room = checks(loaded())["centre distance under load"].limit
    far = PAIR.centre_distance + distance_tolerance(PAIR) + room
    opened = dataclasses.replace(CUT, pair=gw.GearPair(PAIR.pinion, PAIR.wheel, far))
    assert opened.contact_ratio == pytest.approx(1.0, abs=1e-6)


def test_gears_that_come_nearer_may_take_a_quarter_of_the_backlash():
    rope = ShaftLoad("rope", 40.0, (-400.0, 0.0))
    check = checks(loaded(mesh(more=((), (rope,)))))["centre distance under load"]
    assert "nearer" in check.why
    assert check.limit == distance_tolerance(PAIR) / 2.0


def test_pair_without_contact_to_spare_has_no_room():
    wide = gw.GearPair(PAIR.pinion, PAIR.wheel, PAIR.centre_distance + 2.5)
    made = LoadedMesh.of((mesh(),), CutPair(wide, gw.Bit(3.0)), BIRCH)
    check = checks(made)["centre distance under load"]
    assert not check.ok
    assert check.limit == 0.0
    assert check.source.endswith("limit: contact ratio 1")


def test_unloaded_mesh_is_loaded_evenly():
    assert mesh(0.0).edge_gap == 0.0
    assert all(check.verdict == "pass" for check in checks(loaded(mesh(0.0))).values())


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"wheel": "weel"}, "no mesh 'weel'"),
        ({"wheel": "drive"}, "no mesh 'drive'"),
        ({"wheel_shaft": on_shaft("wheel", -3.0, 30.0, 170.0)}, "170° apart instead of 180°"),
        ({"wheel_shaft": on_shaft("wheel", -20 / 7, 31.0, 180.0)}, "30 and 31 mm"),
        ({"wheel_shaft": on_shaft("wheel", -2.0, 30.0, 180.0)}, "opposite and equal"),
        ({"wheel_shaft": on_shaft("wheel", 20 / 7, 30.0, 180.0)}, "opposite and equal"),
    ],
)
def test_shafts_that_do_not_go_together_are_refused(change, words):
    with pytest.raises(GearworkError, match=re.escape(words)):
        dataclasses.replace(mesh(), **change)


# What stands askew before any load


def askew(*gaps, reserve=RESERVE):
    named = tuple(Askew(f"cause {i}", gap) for i, gap in enumerate(gaps))
    return LoadedMesh((mesh(),), CUT, 7000.0, reserve, named)


def test_gaps_add_to_the_bending_as_independent_errors():
    # ISO 6336-1: F_βx = f_sh + f_ma, f_ma the root of the sum of squares; 30, 40: 50 um
    found = askew(0.03, 0.04)
    bent = found.worst
    gap = bent.edge_gap + 0.05
    share = 1000.0 * gap * 20.0 * 7000.0 / 206_000.0 * bent.face_width / bent.force
    assert share > 2.0
    assert found.assembled_factor() == pytest.approx(math.sqrt(2.0 * share))
    assert found.face_factor == askew().face_factor  # run in, only the bending is left


def test_load_before_running_in_is_what_the_roots_bear():
    found = askew(0.1)
    check = alignment_checks(found)[-1]
    exponent = root_share_exponent(24.0, (PAIR.wheel.tip_diameter - PAIR.wheel.root_diameter) / 2)
    borne = found.running_in_share * found.assembled_factor(found.running_in_share) ** exponent
    assert borne == pytest.approx(RESERVE, rel=1e-3)
    assert check.verdict == "marginal"
    assert "Most of it is cause 0, 0.100 mm" in check.why
    assert f"it bears {math.floor(100 * check.value)} % of its load" in check.reason


def test_bending_is_named_where_it_governs_and_true_gears_need_no_running_in():
    check = alignment_checks(askew(1e-5, reserve=100.0))[-1]
    assert "Most of it is bending of the rods" in check.why
    assert (check.value, check.verdict) == (1.0, "pass")
    assert len(alignment_checks(askew())) == 2


def test_a_gap_of_half_the_backlash_does_not_run_in():
    # a lean of g over the face takes g of the backlash j; 3, 4: 5 parts, by independent causes
    play = PAIR.backlash / 2
    good, wrong = (alignment_checks(askew(0.6 * f * play, 0.8 * f * play))[2] for f in (0.99, 1.01))
    assert (good.verdict, wrong.verdict) == ("pass", "fail")
    assert wrong.value == pytest.approx(1.01 * PAIR.backlash / 2)
    assert "Most of it is cause 1" in wrong.why
