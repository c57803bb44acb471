"""What an empty search says must yield."""

import math
import re

import numpy as np
import pytest

from gearwork.choosing.tally import DEMANDS, Nearest, judge, lacks
from gearwork.spec.keys import tables
from gearwork.stock.hardware import rod, threads


def test_what_alone_keeps_the_nearest_out_is_told_not_what_rules_out_most():
    """Three of four are too large, each of them slow as well; the fourth fits and is too slow."""
    sizes, speeds = np.array([300.0, 260.0, 400.0, 180.0]), np.array([0.5, 0.4, 0.2, 0.7])
    demands = {
        "largest diameter": (sizes, 200.0),
        "speed of the output": (speeds, 0.8),
    }
    _, tally = judge(demands, 4)
    told = tally.sentence("trains", 1)
    assert told.startswith("speed of the output ruled out 100 % of 4 trains: the nearest has 0.7")
    demands["speed of the output"] = (np.array([0.9, 0.4, 0.2, 0.7]), 0.8)
    demands["largest diameter"] = (np.array([210.0, 260.0, 400.0, 230.0]), 200.0)
    _, tally = judge(demands, 4)
    # all four are too large, yet the first lacks nothing but 10 mm
    assert "nearest has 210 mm and at most 200" in tally.sentence("trains", 1)


@pytest.mark.parametrize(
    ("clearance", "told"),
    [
        (9.0, "keep 9 mm off the ground, and 15 mm is asked. Allow smaller modules or fewer"
         " pinion_teeth and wheel_teeth, or raise the axle by 6 mm: by a larger wheel_diameter of a"
         " vehicle, by output_height of any other machine, or write ground_clearance = 9."),
        (-23.8, "are 23.8 mm below the ground. Allow smaller modules or fewer pinion_teeth and"
         " wheel_teeth, or raise the axle by 38.8 mm: by a larger wheel_diameter of a vehicle, by"
         " output_height of any other machine."),
    ],
)  # fmt: skip
def test_what_stands_in_the_ground_is_told_as_such(clearance, told):
    """No clearance that can be written helps gears that reach below the ground."""
    _, tally = judge({"ground clearance": (np.array([clearance]), 15.0)}, 1)
    assert tally.sentence("trains", 1).endswith(told)


@pytest.mark.parametrize("name", DEMANDS)
def test_advice_speaks_of_what_can_be_written(name):
    keys = {key.name for table in tables() for key in table.keys}
    demand = DEMANDS[name]
    for way in re.split(r", or | or ", demand.advice + demand.clutch + demand.less):
        words = set(re.findall(r"[a-z_]+", way))
        assert words & keys or words & {"sheet", "load", "bit"}, way
    assert set(re.findall(r"[a-z]+_[a-z_]+", demand.advice + demand.clutch + demand.less)) <= keys


@pytest.mark.parametrize(
    ("value", "limit", "sense", "lack"),
    [
        (5.0, 10.0, "at least", math.log(2.0)),  # bears half of what is asked
        (20.0, 10.0, "at most", math.log(2.0)),  # twice what may be
        (10.0, 10.0, "at least", 0.0),
        (12.0, 10.0, "at least", 0.0),
        (-3.0, 0.0, "at least", math.log(100.0) + 2.01),  # no share: the millimetres themselves
    ],
)
def test_what_is_lacking_is_a_proportion(value, limit, sense, lack):
    assert lacks(np.array([value]), limit, sense) == pytest.approx([lack])


def test_what_is_no_number_lacks_more_than_what_is_far_off():
    assert lacks(np.array([math.nan]), 1.0, "at most") > lacks(np.array([500.0]), 1.0, "at most")


def test_the_nearest_lacks_least_of_all_demands_together():
    """The first bears half; the second three quarters and is a fifth too large: 1.6 of 2."""
    demands = {
        "hub strength, stall": (np.array([5.0, 7.5]), 10.0),
        "largest diameter": (np.array([100.0, 120.0]), 100.0),
    }
    _, tally = judge(demands, 2)
    assert tally.nearest.kinds == {"strength", "room"}
    assert tally.nearest.lack == pytest.approx(math.log(10.0 / 7.5 * 1.2))
    demands["largest diameter"] = (np.array([100.0, 160.0]), 100.0)
    _, tally = judge(demands, 2)
    assert tally.nearest.kinds == {"strength"}


def test_who_fails_by_what_is_reckoned_later_is_nearer():
    """The first has all the room and bends ten times too much; the other's bending is not known."""
    bending = np.array([10.0, -np.inf])
    demands = {
        "room between shafts": (np.array([4.0, 3.0]), 4.0),
        "edge load": (bending, 1.0),
    }
    _, tally = judge(demands, 2)
    assert tally.nearest == Nearest(1, math.log(10.0), frozenset(("stiffness",)))


def test_of_two_lots_of_candidates_the_nearest_counts():
    """Room for 0.9 of what is asked, and then for 0.8."""
    near, far = (judge({"hub strength, stall": (np.array([v]), 1.0)}, 1)[1] for v in (0.9, 0.8))
    assert (far + near).nearest == (near + far).nearest == near.nearest
    assert far.nearest.rank < near.nearest.rank


@pytest.mark.parametrize("name", ["rod in torsion, stall", "rod strength", "hub strength, stall"])
def test_no_thicker_rod_is_advised_than_there_is(name):
    _, tally = judge({name: (np.array([0.5]), 1.0)}, 1)
    assert "Write a thicker thread" in tally.sentence("trains", 1, rod=rod("M10"))
    assert "thicker" not in tally.sentence("trains", 1, rod=rod(threads()[-1]))


def test_a_drum_is_not_held_better_by_more_teeth():
    _, tally = judge({"fixing of what is driven, stall": (np.array([0.5]), 1.0)}, 1)
    assert "pinion_teeth" not in tally.sentence("trains", 1)
    assert "larger max_layers" in tally.sentence("trains", 1)
