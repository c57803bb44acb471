"""Machines as texts of design files, in which the load that governs is known."""

# A weight on a slope, hauled so slowly and so seldom that neither fatigue nor speed counts. The
# drive is just strong enough to start it, so that the weight can drive the train back harder than
# the drive can push it on: 2 m g sin 30° against m g sin 30° and friction.
HAULED = """
[drive]
kind = "given"
torque = 2.4
speed = 10.0

[load]
kind = "rope drum"
mass = 20.0
slope = 30.0
rolling_resistance = 0.02
drum_diameter = 94.0
rope_diameter = 6.0
rope_direction = 180.0
travel_speed = 0.005

[sheet]
kind = "plywood"
thickness = 12.0

[bit]
diameter = 2.0

[shafts]
thread = "M12"
grade = "8.8"
bearing_name = "6001"
load_overhang = 0.0

[service]
service_class = 2
running_hours = 0.05
application_factor = 1.0
flanks = "waxed"
speed_band = [0.8, 10.0]

[[stage]]
module = 5.0
pinion_teeth = 16
wheel_teeth = 40
pinion_shift = 0.2
thinning = 0.2
layers = 1
"""


# A machine that takes little, turned by a motor that can push hard; it never drives the gears.
PUSHED = """
[drive]
kind = "motor"
stall_torque = 2.4
no_load_speed = 20.0
sustained_share = 1.0
side_force = 0.0

[load]
kind = "given"
torque = 1.0
speed = 2.0
start_factor = 1.0
loads_both_flanks = false

[sheet]
kind = "plywood"
thickness = 12.0

[bit]
diameter = 2.0

[shafts]
thread = "M12"
grade = "8.8"
bearing_name = "6001"

[service]
service_class = 2
running_hours = 0.1
application_factor = 1.0
starts_per_hour = 1.0
stalls_per_hour = 0.001
flanks = "waxed"
speed_band = [0.8, 10.0]

[[stage]]
module = 5.0
pinion_teeth = 16
wheel_teeth = 40
pinion_shift = 0.2
thinning = 0.2
layers = 1
"""


def changed(text, *changes):
    for before, after in changes:
        assert text.count(before) == 1, before
        text = text.replace(before, after)
    return text


def more_stages(text, count):
    return text + text[text.index("[[stage]]") :] * (count - 1)


LEVEL = ("slope = 30.0", "slope = 0.0")
