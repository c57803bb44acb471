"""Machines that fail, each of something else, and what fails in them."""

import re
from functools import cache

from machines import PUSHED, changed

import gearwork as gw
from gearwork.spec.spec import example_text, parse_brief

HAULER = re.sub(r"\[stage\.windows\].*?\n\n", "", example_text() + "\n\n", flags=re.S)
GATE = example_text("orchard-gate")
CART = f"""{example_text("orchard-cart")}
[[stage]]
module = 8.0
pinion_teeth = 10
wheel_teeth = 24
pinion_shift = 0.5
thinning = 0.2

[[stage]]
module = 8.0
pinion_teeth = 13
wheel_teeth = 22
pinion_shift = 0.5
thinning = 0.2
"""
CLUTCH = ("clutch_torque = 1.6", "clutch_torque = 3.0")
CRANK = """
[drive]
kind = "hand crank"
force = 60.0
crank_length = 200.0
cadence = 30.0
peak_force = 60.0

"""

CASES = {
    # what is wrong: the text, and the kind of subject and the quantity that fail
    "clutch set too high": (
        changed(HAULER, CLUTCH),
        {("hub", "torque"), ("shaft", "rod"), ("frame", "bending of the feet"),
         ("stage", "edge load")},
    ),
    "wanted twice as fast": (
        changed(HAULER, ("travel_speed = 0.15", "travel_speed = 0.3")),
        {("duty", "speed of the output")},
    ),
    "overhang too short": (
        changed(HAULER, ("load_overhang = 34.0", "load_overhang = 20.0")),
        {("train", "room beside the plate")},
    ),
    "gears out of true": (
        changed(HAULER, ("cutting_error = 0.03", "cutting_error = 0.03\nmax_wobble = 2.0")),
        {("stage", "gap at one edge as assembled")},
    ),
    "little room": (
        changed(HAULER, ("[frame]", "[room]\nmax_diameter = 300.0\nwidth = 400.0\n\n[frame]")),
        {("room", "largest diameter"), ("train", "width of the machine")},
    ),
    "edges cut badly": (
        changed(HAULER, ("cutting_error = 0.03", "cutting_error = 0.6")),
        {("frame", "teeth behind the joints of the guard")},
    ),
    "low above the ground": (
        changed(HAULER, ("[frame]", "[frame]\noutput_height = 100.0")),
        {("train", "ground clearance")},
    ),
    "low on its wheels": (
        changed(CART, ("ground_clearance = 15.0", "ground_clearance = 20.0")),
        {("train", "ground clearance")},
    ),
    "rods too thin": (
        changed(PUSHED, ('"M12"', '"M6"'), ('"6001"', '"626"'), ("torque = 2.4", "torque = 8.0")),
        {("shaft", "rod"), ("hub", "torque")},
    ),
    "for ever": (
        changed(
            PUSHED,
            ("side_force = 0.0", "side_force = 1200.0"),
            ("running_hours = 0.1", "running_hours = 20000.0"),
        ),
        {("shaft", "life")},
    ),
    "crank too long": (
        CRANK + changed(PUSHED, ("speed = 2.0", "speed = 12.0"))[PUSHED.index("[load]") :],
        {("stage", "tooth bending"), ("hub", "torque")},
    ),
    "nuts as a coupling": (
        changed(HAULER, CLUTCH, ("load_overhang", 'coupling = "jammed nuts"\nload_overhang'),
                ('"M12"', '"M8"'), ('"6001"', '"608"')),
        {("hub", "torque"), ("stage", "centre distance under load"), ("shaft", "static safety")},
    ),
    "a cart that tips": (
        changed(CART, ("centre_height = 350.0", "centre_height = 1600.0")),
        {("duty", "slope that tips the vehicle")},
    ),
    "a cart that slips": (
        changed(CART, ("slope = 1.0", "slope = 0.0"), ("to_rear = 300.0", "to_rear = 640.0")),
        {("duty", "grip of the driven wheels")},
    ),
    "a frame that is there": (
        PUSHED + "\n[room]\nfixed_distance = 141.5\n",
        {("room", "off the fixed centre distance")},
    ),
    "small screws": (
        changed(GATE, ("bores = [4.5]", "bores = [3.3]"), ("0.42 ", "1.0 ")),
        {("stage", "screws of the rack")},
    ),
    "rack too short": (
        changed(GATE, ("rack_teeth = 44", "rack_teeth = 30")), {("duty", "travel of the rack")}
    ),
}  # fmt: skip


@cache
def solved(name):
    return gw.solve(parse_brief(CASES[name][0], "failing.toml"))
