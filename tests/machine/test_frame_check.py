"""The frame judged: safety distances of the standard, wood and feet by hand, loads that decide."""

import math
from dataclasses import replace

import pytest

from gearwork.checks.hub.joints import JointUse
from gearwork.machine.design import Design
from gearwork.machine.frame_check import FeetLoad, check_frame, safety_distance
from gearwork.stock.hardware import bearing
from gearwork.stock.plywood import plywood


@pytest.mark.parametrize(
    ("opening", "distance"),
    [(0.6, 2), (4.0, 2), (4.1, 10), (6, 10), (8, 20), (10, 80), (12, 100), (20, 120), (30, 850),
     (120, 850)],
)  # fmt: skip
def test_safety_distances_of_slots(opening, distance):
    """ISO 13857:2019 Table 4, regular openings of slot form, 14 years and older (from memory)."""
    assert safety_distance(opening) == distance


def test_a_door_is_no_guard():
    assert safety_distance(200.0) == math.inf


def judged(train, *, forces=(100.0, 100.0), feet=None, edge=0.1, ball="608", use=None):
    return check_frame(
        train,
        plywood("birch", 18),
        bearing(ball),
        forces,
        feet or FeetLoad(0.0, 0.0, 0.0),
        edge,
        use or JointUse(starts=1.0),
    )


def close(mill, **frame):
    """The mill's train; its shafts may be brought closer by the test."""
    return replace(mill.train, frame=replace(mill.train.frame, **frame))


def test_teeth_are_as_far_behind_the_boards_as_the_clearance(mill):
    name = "teeth behind the joints of the guard"
    assert judged(mill.train)[name].value == pytest.approx(5.0)
    assert judged(close(mill, clearance=9.0))[name].value == pytest.approx(9.0)


def test_edges_that_are_cut_badly_open_the_guard(mill):
    """Joints that gape by 0.4 + 2 x 2.0 = 4.4 mm ask for 10 mm; 0.4 + 2 x 80 mm for a wall."""
    name = "teeth behind the joints of the guard"
    bad = judged(mill.train, edge=2.0)[name]
    assert not bad.ok
    assert bad.limit == 10.0
    assert "clearance = 10" in bad.remedy
    assert judged(close(mill, clearance=10.0), edge=2.0)[name].ok
    absurd = judged(mill.train, edge=80.0)[name]
    assert not absurd.ok
    assert math.isinf(absurd.limit)


def test_wood_beside_a_bearing_by_hand(mill):
    """1000 N on wood between seat 28.1 and the boards: F / (2 a t), 8 mm deep (6001)."""
    train = mill.train
    check = judged(train, forces=(1000.0, 0.0), ball="6001")["wood beside the bearings, shaft 1"]
    wide = 159.34 / 2 + 5.0 - 28.1 / 2
    assert check.value == pytest.approx(1000.0 / (2 * wide * 8.0), rel=1e-3)
    assert check.ok
    assert not judged(train, forces=(1e5, 0.0), ball="6001")[check.name].ok


def test_a_narrow_strip_between_two_seats_bends_before_it_is_torn(mill):
    """Seats 3 mm apart: 500 N over 22.1 mm give M = F D / 8 in 7 x 3 mm."""
    train = mill.train
    near = replace(train, frame=replace(train.frame, arrangement=(0.0,)))
    near.__dict__["points"] = ((0.0, 0.0), (25.1, 0.0))
    check = judged(near, forces=(500.0, 500.0))["wood beside the bearings, shaft 1"]
    assert check.value == pytest.approx(6 * 500 * 22.1 / 8 / (7.0 * 3.0**2), rel=1e-6)
    assert not check.ok
    assert "that of shaft 2" in check.why


def test_feet_by_statics(mill):
    """A force of 400 N, 80 N·m and 20 N·m on feet 592 mm and 23.6 mm apart: a quarter, halves."""
    feet = FeetLoad(400.0, 80_000.0, 20_000.0)
    left, _, right, _ = mill.train.box.edge
    apart = right - left + 45.0
    across = 47.3 - 2 * 47.3 / 4
    pull = 100.0 + 80_000 / (2 * apart) + 20_000 / (2 * across)
    assert feet.pull(mill.train) == pytest.approx(pull, rel=1e-3)
    check = judged(mill.train, feet=feet)["bending of the feet"]
    lifted = 200.0 + 80_000 / apart
    arm = 10.0 + 20.0 + 12.0 + 12.0 + 22.5
    assert check.value == pytest.approx(6 * lifted * arm / (47.3 * 12.0**2), rel=1e-3)


def test_a_strong_pull_breaks_the_feet_and_a_thicker_plate_mends_it(mill):
    """σ = 6 F l/(b t²): as thick as the root of the ratio, and a tenth for the longer arm."""
    feet = FeetLoad(2000.0, 600_000.0, 0.0)
    bad = judged(mill.train, feet=feet)["bending of the feet"]
    assert not bad.ok
    thick = 1.1 * 12.0 * math.sqrt(bad.value / bad.limit)
    assert judged(close(mill, plate_thickness=1.1 * thick), feet=feet)["bending of the feet"].ok


def test_a_rope_that_pulls_harder_asks_more_of_the_feet(hauler):
    """The rope pulls 90° from where the feet are; its pull times its height is most of it."""
    load = hauler.feet_load
    pull = max(float(hauler.torques.max[-1]) * 2000.0 / 66.0, hauler.duty.load.pull)
    height = hauler.train.points[2][1] - hauler.train.box.edge[1]
    assert load.force >= pull * 0.9
    assert load.turning >= pull * 0.9 * height
    heavier = replace(hauler.brief, load=replace(hauler.brief.load, mass=50.0))
    assert Design(heavier).feet_load.turning > 1.01 * load.turning or (
        Design(heavier).feet_load.force >= load.force
    )
