"""Losses and forces of friction between wooden flanks."""

import numpy as np
import pytest

import gearwork as gw
from gearwork.checks.tooth.friction import (
    FRICTION,
    driving_tooth,
    loss_factor,
    mesh_efficiency,
    mesh_loss,
)
from gearwork.checks.tooth.load_case import DRAG, load_cases
from gearwork.checks.tooth.strength import tooth_limits
from gearwork.checks.tooth.stress import notch_factor
from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import GearPair
from gearwork.geometry.tooth import fillet_points, load_at


@pytest.mark.parametrize(
    ("teeth", "moving", "starting"),
    [
        ((14, 38), 0.92, 0.87),
        ((12, 36), 0.91, 0.86),
        ((10, 40), 0.90, 0.85),
        ((20, 60), 0.94, 0.90),
    ],
)
def test_efficiency_of_dry_wood(teeth, moving, starting):
    """Independent figures for m 5, 20°, shifts as a maker would choose; two digits printed.

    The shift of the small pinions was not printed: 0.25 for 14 teeth, enough against undercut for
    fewer. The last digit and a little for the shift: 0.011.
    """
    few = teeth[0] < 18
    pair = GearPair(Gear(5, teeth[0], 0.3 if few else 0.0), Gear(5, teeth[1]))
    assert mesh_efficiency([mesh_loss(pair)], 0.4) == pytest.approx(moving, abs=0.011)
    assert mesh_efficiency([mesh_loss(pair)], 0.65) == pytest.approx(starting, abs=0.011)


def test_loss_is_the_mean_of_sliding_over_the_path():
    """Second road: sliding speed over pitch line speed, integrated along a path of one base pitch.

    With a contact ratio of 1 one tooth carries all the load, so nothing is said of sharing.
    """
    pair = GearPair(Gear(5, 20), Gear(5, 60))
    base = pair.pinion.base_pitch
    for approach in (0.3, 0.5, 0.8):
        along = np.linspace(-approach * base, (1 - approach) * base, 20_001)
        rate = np.abs(along) * 2 * (1 / pair.pinion.base_diameter + 1 / pair.wheel.base_diameter)
        mean = np.trapezoid(rate, along) / base
        found = loss_factor(20, 60, approach, 1 - approach)
        assert found == pytest.approx(mean, rel=1e-6)


def test_arrays_give_what_single_pairs_give():
    teeth = np.array([10.0, 14.0, 20.0])
    single = [loss_factor(z, 40.0, 0.6, 0.7) for z in teeth]
    assert loss_factor(teeth, 40.0, 0.6, 0.7) == pytest.approx(single, rel=1e-15)


def test_friction_of_every_kind_is_more_at_rest():
    for kind in FRICTION.values():
        assert 0.0 < kind.moving < kind.starting <= 0.7
        assert kind.source


def test_driving_tooth_by_vectors():
    """Moment and axial force about a section from plain vectors of force and place."""
    apex, half, lean, at = 9.0, 1.4, 28.0, 2.5  # load's line through the axis, half thickness
    friction = 0.4
    alpha = np.radians(lean)
    point = np.array([apex + half * np.tan(alpha), half])
    push = np.array([-np.sin(alpha), -np.cos(alpha)])
    drag = friction * np.array([np.cos(alpha), -np.sin(alpha)])
    arm = point - np.array([at, 0.0])
    force = push + drag
    moment = arm[0] * force[1] - arm[1] * force[0]
    bending, axial = driving_tooth(apex - at, half, lean, friction)
    assert bending == pytest.approx(-moment, rel=1e-12)
    assert axial == pytest.approx(-force[0], rel=1e-12)  # positive: presses


@pytest.mark.parametrize("friction", [0.2, 0.4, 0.65])
@pytest.mark.parametrize(
    ("teeth", "shift", "bit"),
    [
        (10, 0.5, 3.0),
        (12, 0.4, 1.5),
        (13, 0.3, 3.175),
        (16, 0.0, 3.0),
        (24, 0.2, 2.0),
        (60, 0.0, 2.0),
    ],
)
def test_pull_at_the_driving_root_by_statics(teeth, shift, bit, friction):
    """The same torque with friction: T = F (r_b + μ ρ), less force but dragged outwards."""
    cut = gw.CutPair(gw.GearPair(gw.Gear(5, teeth, shift), gw.Gear(5, 44)), gw.Bit(bit)).pinion
    gear = cut.gear
    load, fillet = load_at(gear, gear.tip_diameter), fillet_points(cut, 24)
    arm, width = load.apex - fillet.x, fillet.thickness
    notch = notch_factor(width, arm, cut.fillet_diameter / 2)
    base = gear.base_diameter / 2
    curvature = np.sqrt((gear.tip_diameter / 2) ** 2 - base**2)

    def pull(mu):
        half = gear.thickness_at(gear.tip_diameter) / 2
        bending, pressing = driving_tooth(arm, half, load.angle, mu)
        at_edge = (6 * bending / width**2 - pressing / width) * notch
        return at_edge.max() / (1 + mu * curvature / base)

    rise = pull(friction) / pull(0.0)
    assert 0.88 * (1 + DRAG * friction) <= rise <= 1 + DRAG * friction


def test_friction_counts_at_the_root_that_drives():
    """Of two gears alike the driver breaks first, by friction alone; driven back, the other."""
    cut = gw.CutPair(gw.GearPair(gw.Gear(5, 24), gw.Gear(5, 24)), gw.Bit(3.0))
    cases = load_cases(1.0, 60.0, gw.Service(), 1.0, 1.0, 1.0)
    found = {
        (limit.side, limit.case.name): limit.torque
        for limit in tooth_limits(cut, gw.plywood("birch", 9), 9.2, cases)
        if limit.kind == "tension"
    }
    for case, first, second in (
        ("starting", "pinion", "wheel"),
        ("stall", "pinion", "wheel"),
        ("braking", "wheel", "pinion"),
    ):
        ratio = found[second, case] / found[first, case]
        assert ratio == pytest.approx(1 + DRAG * 0.65), case
    waxed = load_cases(1.0, 60.0, gw.Service(flanks="waxed"), 1.0, 1.0, 1.0)
    slick = tooth_limits(cut, gw.plywood("birch", 9), 9.2, waxed)
    (stall,) = (s for s in slick if (s.side, s.case.name, s.kind) == ("pinion", "stall", "tension"))
    assert stall.torque / found["pinion", "stall"] == pytest.approx(1.312 / 1.168)
