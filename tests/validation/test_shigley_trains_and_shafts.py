"""Compound trains, forces on an idler and on a screw.

Source: Shigley, Mechanical Engineering Design (from memory): examples 13-3, 13-4 and 13-5 (trains
of 30:1), 13-7 (gear forces), 8-1 (power screw). Tooth counts are whole; forces are printed to three
digits.
"""

import math
from dataclasses import replace
from math import cos, hypot, pi, radians

import numpy as np
import pytest
from screws import screw_torque

from gearwork.checks.shaft.beam import (
    Shaft,
    gear_forces,
    mesh_load,
)
from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import GearPair
from gearwork.machine.frame import Frame, ShaftParts
from gearwork.machine.stage import Stage
from gearwork.machine.train import GearTrain
from gearwork.numbers import RPM
from gearwork.stock.hardware import bearing, rod

PARTS = ShaftParts(
    rod_diameter=8.0, hub_diameter=24.0, hub_height=8.0, seat_diameter=22.0, bearing_width=7.0
)
FRAME = Frame(plate_thickness=18.0, gap=12.0)


def stage(pinion, wheel, module=5.0, face_width=24.0):
    return Stage(GearPair(Gear(module, pinion), Gear(module, wheel)), face_width)


def train(*stages, frame=FRAME, parts=PARTS, arrangement="folded", **wishes):
    frame = replace(frame, arrangement=arrangement)
    return GearTrain(stages, (parts,) * (len(stages) + 1), frame, **wishes)


@pytest.mark.parametrize(
    ("teeth", "ratio"),
    [
        (((16, 88), (16, 88)), 30.25),
        (((16, 96), (16, 80)), 30.0),
        (((18, 108), (21, 105)), 30.0),
    ],
)
def test_compound_trains_of_a_textbook(teeth, ratio):
    """Shigley, Mechanical Engineering Design, examples 13-3, 13-4 and 13-5 (from memory).

    A gearbox of 30:1: equal stages come within 1 %, stages of 6 and 5 hit it, and the reverted
    one does so with equal sums of teeth. Tooth counts are whole: the ratio is exact.
    """
    assert train(*(stage(*pair) for pair in teeth)).ratio == pytest.approx(ratio, rel=1e-14)


def test_reverted_train_of_a_textbook_has_one_axis_for_input_and_output():
    """Shigley, example 13-5 (from memory): 18/108 and 21/105; 126 teeth on either side."""
    reverted = train(stage(18, 108), stage(21, 105), arrangement="coaxial")
    assert reverted.centre_distances == pytest.approx((315.0, 315.0))
    assert math.dist(reverted.points[0], reverted.points[2]) < 1e-9


def test_forces_on_an_idler_of_a_textbook():
    """Shigley, example 13-7 (from memory): 2.5 kW at 1750 rpm through 20, 50 and 30 teeth.

    Module 2.5, shafts at a right angle: F_t 0.546 kN, F_r 0.199 kN; the idler's shaft carries
    0.347 kN along either axis, 0.491 kN in all. Printed to three digits: 1 N. An idler is a
    shaft whose wheel and pinion are alike.
    """
    idler = train(
        stage(20, 50, 2.5), stage(50, 30, 2.5), arrangement=(0.0, 90.0), mesh_efficiency=1.0
    )
    torque = 2500.0 / (1750.0 * RPM)
    torques = torque * np.array([1.0, 2.5, 1.5])
    wheel, pinion = (np.array(load.force) for load in idler.loads_on(1, torques))
    assert np.abs(wheel) == pytest.approx((199.0, 546.0), abs=1.0)  # its mate lies along x
    assert np.abs(pinion) == pytest.approx((546.0, 199.0), abs=1.0)  # and its own along y
    both = wheel + pinion
    assert np.abs(both) == pytest.approx([347.0, 347.0], abs=1.0)
    assert np.hypot(*both) == pytest.approx(491.0, abs=1.0)


M8 = rod("M8")


def shaft(*loads, bearings=(0.0, 100.0), on=M8, ball="608"):
    return Shaft(on, bearing(ball), bearings, loads)


def test_gear_forces_of_a_published_example():
    # Shigley, Mechanical Engineering Design, Example 13-7 (from memory): pinion of 50 mm, 20°,
    # 2.5 kW at 1750 rpm: 13.64 N·m, 546 N and 199 N; three digits.
    torque = 2500.0 / (1750.0 * pi / 30.0)
    assert torque == pytest.approx(13.64, abs=0.005)
    tangential, radial = gear_forces(torque, 50.0 * cos(radians(20.0)), 20.0)
    assert tangential == pytest.approx(546.0, abs=0.5)
    assert radial == pytest.approx(199.0, abs=0.5)


@pytest.mark.parametrize(("sense", "printed"), [(1.0, 491.0), (-1.0, 1053.0)])
def test_idler_between_two_gears(sense, printed):
    """The same example: the shaft of an idler with its mates a quarter turn apart bears 491 N.

    In the other sense of rotation the forces add: √2 (546 + 199) = 1053.6 N by statics.
    """
    base = 125.0 * cos(radians(20.0))
    torque = sense * 13.64 * 2.5
    loads = (
        mesh_load("pinion", 50.0, torque, base, 20.0, mate_direction=0.0, face_width=20.0),
        mesh_load("next", 50.0, -torque, base, 20.0, mate_direction=90.0, face_width=20.0),
    )
    total = np.sum([load.force for load in loads], axis=0)
    assert hypot(*total) == pytest.approx(printed, abs=1.5)
    assert sum(shaft(*loads).bearing_forces) == pytest.approx(hypot(*total))


def test_power_screw_of_a_textbook():
    # Shigley, Example 8-1 (from memory): square thread 32 x 4, double, 6.4 kN, friction 0.08:
    # 15.94 and −0.466 N·m.
    given = {"force": 6.4, "mean_diameter": 30.0, "lead": 8.0, "friction": 0.08, "half_angle": 0.0}
    assert screw_torque(**given, raising=True) == pytest.approx(15.94, abs=0.005)
    assert screw_torque(**given, raising=False) == pytest.approx(-0.466, abs=0.0005)
