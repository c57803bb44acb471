"""What is common practice of the trade, as a whole machine: teeth, rods and fixings of it.

Two equal stages of 16 and 44 teeth, module 6, from one layer of 9 mm birch plywood, on M8 rods,
with 3 N·m at the axle: its teeth hold, its rods are tight, nuts alone do not hold its wheel
(common practice, told by who builds such gears; no figures of tests).
"""

import pytest

from gearwork.checks.hub.fixing import bonded, clamped
from gearwork.spec.solve import solve
from gearwork.spec.spec import parse_brief
from gearwork.stock.hardware import rod

STAGE = """
[[stage]]
module = 6.0
pinion_teeth = 16
wheel_teeth = 44
thinning = 0.2
layers = 1
"""

MACHINE = (
    """
[drive]
kind = "given"
torque = 0.8
speed = 600.0

[load]
kind = "given"
torque = 3.0
speed = 71.0
loads_both_flanks = false

[sheet]
kind = "plywood"
thickness = 9.0

[bit]
diameter = 3.0

[shafts]
thread = "M8"
grade = "4.8"
bearing_name = "608"

[service]
running_hours = 20.0

[frame]
plate_thickness = 12.0
"""
    + STAGE
    + STAGE
)


@pytest.fixture(scope="module")
def machine():
    return solve(parse_brief(MACHINE, "common practice"))


def test_teeth_hold_when_running(machine):
    teeth = [c for c in machine.report.checks if (c.judged, c.case) == ("tooth bending", "running")]
    assert len(teeth) == 4
    assert all(check.ok for check in teeth)


def test_the_rod_of_the_axle_holds_and_is_tight(machine):
    """At a stall of the drive, 6 N·m at the axle, less than a fourth of its strength is left."""
    used = [
        c.value / c.limit for c in machine.report.checks if (c.judged, c.case) == ("rod", "static")
    ]
    assert 0.75 < max(used) < 1.0


def test_nuts_alone_do_not_hold_the_last_wheel(machine):
    axle, sheet = 3.0, machine.brief.gears.sheet
    for seat in ("flange nut", "wide washer"):
        assert clamped(rod("M8"), seat).rate(sheet).design_torque < axle
    assert bonded(rod("M8"), "wide washer").rate(sheet).design_torque > axle
    assert machine.fixings[-1].design_torque > axle
