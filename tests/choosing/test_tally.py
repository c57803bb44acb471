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


@pytest.mark.parametrize("name", DEMANDS)
def test_advice_speaks_of_what_can_be_written(name):
    keys = {key.name for table in tables() for key in table.keys}
    demand = DEMANDS[name]
    for way in re.split(r", or | or ", demand.advice + demand.clutch):
        words = set(re.findall(r"[a-z_]+", way))
        assert words & keys or words & {"sheet", "load", "bit"}, way
    assert set(re.findall(r"[a-z]+_[a-z_]+", demand.advice + demand.clutch)) <= keys
