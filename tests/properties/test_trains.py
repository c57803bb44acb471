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

import gearwork as gw
from gearwork.machine.frame import on_one_axis
from gearwork.machine.train_check import check_train


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
            assert "No angle" in check.remedy or len(folded.shafts) > 3


def with_tips(train, stage, distance, growths):
    """The train with larger gears in a stage: more teeth, tips as told, at least so far apart."""
    pair = train.stages[stage].pair
    larger = []
    for gear, growth in zip((pair.pinion, pair.wheel), growths, strict=True):
        more = np.ceil(growth / gear.module - 1e-9)
        shorter = gear.tip_alteration + (growth / gear.module - more) / 2
        larger.append(replace(gear, teeth=gear.teeth + more, tip_alteration=shorter))
    apart = max(gw.GearPair(*larger).centre_distance, distance)
    stages = list(train.stages)
    stages[stage] = replace(stages[stage], pair=gw.GearPair(*larger, apart))
    return replace(train, stages=tuple(stages))


def ways(train, check):
    """Trains that the remedy describes."""
    given_angles = placed(train, train.angles)
    text, frame = check.remedy, given_angles.frame
    opening = told(r"at shaft # from #° to at least #°", text)
    if opening:
        corner = int(opening[0]) - 1
        angles = np.array(train.angles)
        turn = (angles[corner] - angles[corner - 1] + 180) % 360 - 180
        wanted = np.copysign(180 - opening[2], turn)
        angles[corner:] += wanted - turn
        yield placed(train, tuple(float(a) for a in angles))
    widest = told(r"no wider than # mm on shaft #", text)
    if widest:
        shaft = int(widest[1]) - 1
        parts = list(train.shafts)
        slim = max(widest[0], parts[shaft].rod_diameter)
        parts[shaft] = replace(parts[shaft], hub_diameter=slim)
        yield replace(given_angles, shafts=tuple(parts))
    raised = told(r"distance of stage # from # to at least # mm", text)
    if raised:
        growths = [(told(f"the {side} # mm", text) or [0.0])[0] for side in ("pinion", "wheel")]
        yield with_tips(given_angles, int(raised[0]) - 1, raised[2], growths)
    gap = told(r"gap at least # mm", text)
    if gap:
        yield replace(given_angles, frame=replace(frame, gap=gap[0]))
    thick = told(r"plates at least # mm", text)
    if thick:
        yield replace(given_angles, frame=replace(frame, plate_thickness=thick[0]))
    height = told(r"output shaft at least # mm", text)
    if height:
        yield replace(given_angles, frame=replace(frame, output_height=height[0]))


@given(trains())
def test_remedies_of_a_train_are_enough_or_say_what_else_must_change(train):
    try:
        given_angles = placed(train, train.angles)
    except gw.GearworkError:
        return
    for check in check_train(given_angles).failed:
        for again in ways(given_angles, check):
            assert check_train(again)[check.name].ok, f"{check}\n{check_train(again)[check.name]}"
