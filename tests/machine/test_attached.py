"""Forces on the ends of shafts against statics written out."""

from math import cos, hypot, radians, sin

import numpy as np
import pytest

from gearwork.checks.shaft.beam import Shaft, ShaftLoad
from gearwork.errors import GearworkError
from gearwork.machine.attached import Attached, chuck, crank, drum, wheels
from gearwork.stock.hardware import bearing, rod

BOLT, BALL = rod("M12", grade="8.8"), bearing("6001")
FACES = (-12.0, 100.0)
"""Outer faces of the plates that carry the shaft, mm."""


def shaft(loads, at=(0.0, 100.0)):
    rest = -sum(load.torque for load in loads)
    return Shaft(BOLT, BALL, at, (*loads, ShaftLoad("rest", at[0], (0.0, 0.0), rest)))


# Drum, wheel, crank, chuck


def test_rope_pulls_where_it_leaves():
    one = drum(pull=300.0, direction=90.0, overhang=30.0)
    assert one.directions[0] == pytest.approx((0.0, 300.0))
    (load,) = one.loads("output", FACES, torque=-9.0, way=0)
    assert load.position == 130.0
    assert load.torque == -9.0
    (before,) = one.loads("input", FACES, torque=9.0, way=0)
    assert before.position == -42.0


def test_rope_bends_the_rod_by_its_overhang():
    """The hauler's fault by hand: 300 N a distance of 45 mm outside the bearing make 13.5 N·m."""
    (load,) = drum(pull=300.0, direction=200.0, overhang=45.0).loads(
        "output", (0.0, 100.0), torque=-9.0, way=0
    )
    bent = shaft([load])
    assert np.hypot(*bent.bending_moment.T).max() == pytest.approx(13.5)
    a, b = bent.bearing_forces
    assert (a, b) == pytest.approx((135.0, 435.0))


def test_one_wheel_carries_weight_and_pulls():
    """Weight up, traction along the ground either way: ahead and back look different to gears."""
    one = wheels(weight=150.0, traction=40.0, diameter=200.0, overhang=40.0)
    assert set(one.directions) == {(40.0, 150.0), (-40.0, 150.0)}
    loads = one.loads("output", FACES, torque=-4.0, way=0)
    assert [load.position for load in loads] == [140.0]


def test_two_wheels_hang_on_both_ends():
    both = wheels(weight=150.0, traction=40.0, diameter=200.0, overhang=40.0, count=2)
    loads = both.loads("output", FACES, torque=-4.0, way=1)
    assert [load.position for load in loads] == [140.0, -52.0]
    assert [load.torque for load in loads] == [-2.0, -2.0]
    assert loads[0].force == loads[1].force
    moment = hypot(20.0, 150.0) * 0.04
    bent = shaft(loads, FACES)
    assert np.hypot(*bent.bending_moment.T).max() == pytest.approx(moment)


def test_one_wheel_of_two_may_have_to_pull_for_both():
    """By hand: 40 N at 100 mm are 4 N·m; either wheel turned by all of it, the other by none."""
    both = wheels(150.0, traction=40.0, diameter=200.0, overhang=40.0, count=2, alone=True)
    ways = [both.loads("output", FACES, torque=-4.0, way=way) for way in range(len(both.ways))]
    assert {tuple((load.torque, load.force) for load in loads) for loads in ways} == {
        ((-2.0, (20.0, 150.0)),) * 2,
        ((-2.0, (-20.0, 150.0)),) * 2,
        ((-4.0, (40.0, 150.0)), (0.0, (0.0, 150.0))),
        ((0.0, (0.0, 150.0)), (-4.0, (40.0, 150.0))),
        ((-4.0, (-40.0, 150.0)), (0.0, (0.0, 150.0))),
        ((0.0, (0.0, 150.0)), (-4.0, (-40.0, 150.0))),
    }
    assert both.force == pytest.approx(hypot(40.0, 150.0) + 150.0)
    steadily = wheels(150.0, traction=40.0, diameter=200.0, overhang=40.0, count=2)
    assert len(steadily.ways) == 2


def test_side_force_on_a_wheel_acts_as_a_longer_overhang():
    """By hand: 150 N up at 40 mm and 30 N sideways at a radius of 100 mm, 6 + 3 N·m."""
    one = wheels(weight=150.0, traction=0.0, diameter=200.0, overhang=40.0, side=30.0)
    (load,) = one.loads("output", (0.0, 100.0), torque=0.0, way=0)
    bent = shaft([load])
    assert np.hypot(*bent.bending_moment.T).max() == pytest.approx(9.0)
    # equilibrium with the couple written out: moments about bearing A
    second = -(150.0 * 140.0 + 3000.0) / 100.0
    assert bent.reactions[:, 1] == pytest.approx([-150.0 - second, second])


def test_push_at_a_crank_goes_round():
    """30 N·m on 300 mm are 100 N; in every direction, farther out than the crank itself."""
    one = crank(torque=30.0, length=300.0, overhang=90.0)
    assert len(one.directions) >= 8
    for x, y in one.directions:
        assert hypot(x, y) == pytest.approx(100.0)
    angles = sorted(np.degrees(np.arctan2(y, x)) % 360 for x, y in one.directions)
    assert max(np.diff([*angles, angles[0] + 360])) <= 46


def test_drill_leans_on_its_chuck():
    one = chuck(side_force=30.0, overhang=25.0)
    assert {round(hypot(*force), 9) for force in one.directions} == {30.0}
    assert chuck(side_force=0.0, overhang=25.0).directions == ((0.0, 0.0),)


@pytest.mark.parametrize("overhang", [-1.0, float("nan"), 2000.0])
def test_overhang_that_cannot_be(overhang):
    with pytest.raises(GearworkError, match="overhang"):
        Attached("drum", overhang, ((0.0, 1.0),))


def test_direction_of_the_rope_in_the_trains_coordinates():
    for angle in (0.0, 30.0, 250.0):
        ((x, y),) = drum(pull=10.0, direction=angle, overhang=0.0).directions
        assert (x, y) == pytest.approx((10 * cos(radians(angle)), 10 * sin(radians(angle))))
