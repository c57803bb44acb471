"""What must hold for every train: power, balance of forces, free bodies, remedies."""

from dataclasses import replace
from itertools import combinations
from math import dist, prod

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from remedies import told
from shapely import Point
from strategies import between, one_in, trains

from gearwork.machine.frame import on_one_axis
from gearwork.machine.train import check_train


@given(trains(), between(0.1, 50.0), between(1.0, 3000.0))
def test_power_falls_by_the_losses_of_each_stage_alone(train, torque, speed):
    power = train.torques(torque) * np.abs(train.speeds(speed))
    kept = train.mesh_efficiency * train.bearing_efficiency
    assert power == pytest.approx(power[0] * kept ** np.arange(len(power)))
    assert train.ratio == pytest.approx(prod(s.ratio for s in train.stages))
    assert train.speeds(speed)[-1] * train.ratio == pytest.approx(speed * train.directions[-1])


@given(trains(), st.permutations(range(4)))
def test_stages_in_another_order_make_the_same_ratio(train, order):
    stages = [train.stages[i] for i in order if i < len(train.stages)]
    again = gw_train(train, tuple(stages), "in line")
    assert again.ratio == pytest.approx(train.ratio)
    assert again.efficiency == pytest.approx(train.efficiency)
    assert sum(again.centre_distances) == pytest.approx(sum(train.centre_distances))


def placed(train, arrangement):
    return replace(train, frame=replace(train.frame, arrangement=arrangement))


def gw_train(train, stages, arrangement):
    return replace(placed(train, arrangement), stages=stages, planes=())


@given(trains(), between(0.1, 50.0))
def test_teeth_turn_each_shaft_as_its_torques_say(train, torque):
    """Moment of the force at the pitch point, and the part of it that parts the gears."""
    torques = train.torques(torque)
    for stage in range(len(train.stages)):
        (load,) = (x for x in train.loads_on(stage, torques) if x.name == f"pinion {stage + 1}")
        pinion, wheel = (np.array(p) for p in train.points[stage : stage + 2])
        to_wheel = (wheel - pinion) / np.hypot(*(wheel - pinion))
        pair = train.stages[stage].pair
        arm = pair.working_pitch_diameters[0] / 2 * to_wheel
        moment = (arm[0] * load.force[1] - arm[1] * load.force[0]) / 1000
        # the wheel holds the pinion back by all of its torque
        assert moment == pytest.approx(-torques[stage] * train.directions[stage])
        radial = 1000 * torques[stage] / np.hypot(*arm)
        radial *= np.tan(np.radians(pair.working_pressure_angle))
        assert np.array(load.force) @ to_wheel == pytest.approx(-radial)


@one_in(2)
@given(trains())
def test_bodies_that_pass_the_check_do_not_touch(train):
    report = check_train(train)
    shared = on_one_axis(train.points)
    for one, other in combinations(range(len(train.shafts)), 2):
        name = f"room between shafts {one + 1} and {other + 1}"
        if (one, other) in shared or name not in {check.name for check in report}:
            continue
        if not report[name].ok:
            continue
        for first in train.columns[one]:
            for second in train.columns[other]:
                beside = first.start >= second.end or second.start >= first.end
                mates = bool({*first.meshes} & {*second.meshes})
                if beside or mates:
                    continue
                discs = [
                    Point(train.points[shaft]).buffer(body.diameter / 2, quad_segs=16)
                    for shaft, body in ((one, first), (other, second))
                ]
                assert discs[0].intersection(discs[1]).area == 0.0, (first, second)


@given(trains())
def test_a_folded_train_keeps_its_distances_and_its_room(train):
    folded = placed(train, "folded")
    for stage, distance in enumerate(folded.centre_distances):
        points = folded.points[stage : stage + 2]
        assert dist(*points) == pytest.approx(distance)
    for check in check_train(folded).failed:
        numbers = told(r"room between shafts # and #", check.name)
        if numbers and numbers[1] - numbers[0] == 2:
            # it goes straight on where no angle keeps two shafts apart, or a third is in the way
            straight = dist(folded.points[0], folded.points[2]), sum(folded.centre_distances[:2])
            assert straight[0] == pytest.approx(straight[1]) or len(folded.shafts) > 3
