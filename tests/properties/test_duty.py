"""What must hold for every drive and load: power is kept, and remedies are enough."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from remedies import told
from strategies import between, duties

from gearwork.machine.duty import check_duty, what_to_change
from gearwork.machine.load import GivenLoad


def lighter(load, share):
    if isinstance(load, GivenLoad):
        return replace(load, torque=share * load.torque)
    return replace(load, mass=share * load.mass)


def slower(load, share):
    if isinstance(load, GivenLoad):
        return replace(load, speed=share * load.speed)
    return replace(load, travel_speed=share * load.travel_speed)


@given(duties(), between(0.1, 300.0))
def test_power_is_kept_but_for_the_losses(duty, ratio):
    point = duty.operating_point(ratio)
    work = point.output_torque * point.output_speed
    given_in = point.drive_torque * point.drive_speed * duty.efficiency
    assert work == pytest.approx(given_in, rel=1e-9)


@given(duties())
def test_every_ratio_of_the_range_passes_and_none_outside_is_fast_enough(duty):
    if duty.ratio_range is None:
        assert what_to_change(duty)
        return
    least, greatest = duty.ratio_range
    for ratio in np.geomspace(least, greatest, 5)[1:-1]:
        report = check_duty(duty, float(ratio))
        for name in ("ratio to start", "ratio to keep moving", "speed of the output"):
            assert report[name].ok, report[name]
    assert not check_duty(duty, 1.001 * greatest)["speed of the output"].ok
    if duty.working_ratio == least:
        report = check_duty(duty, 0.999 * least)
        assert not (report["ratio to start"].ok and report["ratio to keep moving"].ok)


def ways(duty, check):
    """Duties and ratios that the remedy describes, or what no ratio mends."""
    text, load = what_to_change(duty), duty.load
    for ((key, end),) in check.ways:
        assert key == "ratio"
        yield duty, end
    speed = told(r"content with # rpm", text)
    if speed:
        again = replace(duty, load=slower(load, speed[0] / duty.wanted_speed))
        yield again, again.suggested_ratio
    share = told(r"lighten the load to # %", text)
    if share:
        again = replace(duty, load=lighter(load, share[0] / 100))
        yield again, again.suggested_ratio
    band = told(r"speed_band = \[#, #\]", text)
    if band:
        again = replace(duty, speed_band=tuple(band))
        yield again, again.suggested_ratio


@given(duties(), between(0.3, 3.0))
def test_remedies_of_a_duty_are_enough_or_say_that_nothing_is(duty, off):
    ratio = off * duty.suggested_ratio
    for check in check_duty(duty, ratio).failed:
        if check in duty.load.checks(ratio * duty.drive.max_torque):
            assert not check.ways  # only a machine tries where a load may be heavy
            continue
        again = [*ways(duty, check)]
        assert again or what_to_change(duty).startswith(("No ratio helps", "No ratio keeps")), check
        for other, told_ratio in again:
            assert check_duty(other, told_ratio)[check.name].ok, f"{check}\n{other} {told_ratio}"
