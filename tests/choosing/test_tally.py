"""What an empty search says must yield."""

import re

import numpy as np
import pytest

from gearwork.choosing.tally import DEMANDS, judge
from gearwork.spec.keys import tables


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
         " pinion_teeth and wheel_teeth, or an axle 6 mm higher: larger wheels, and that"
         " output_height, or write ground_clearance = 9."),
        (-23.8, "are 23.8 mm below the ground. Allow smaller modules or fewer pinion_teeth and"
         " wheel_teeth, or an axle 38.8 mm higher: larger wheels, and that output_height."),
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
