"""Judge a duty: at one ratio, or, where no ratio will do, what to change."""

import math
from collections.abc import Callable

import numpy as np

from gearwork.checks.verdict import Check, CheckReport
from gearwork.design.duty import Duty
from gearwork.design.torque_line import RPM
from gearwork.errors import number
from gearwork.rounding import figures_down, round_down, round_up

_BALANCE = "torque and power balance of the train"
_ROUNDING = 1e-9


def check_duty(duty: Duty, ratio: float) -> CheckReport:
    """Judge one ratio: does it start, sustain and move the load, and does the load stay safe.

    Parameters
    ----------
    duty : Duty
        Drive, load and losses.
    ratio : float
        Drive speed over output speed.

    Raises
    ------
    GearworkError
        If the ratio is not above 0.
    """
    number("ratio", ratio, above=0.0)
    drive, load = duty.drive, duty.load
    gain = duty.efficiency * ratio
    checks = (
        _least(
            "ratio to start",
            ratio,
            duty.starting_ratio,
            f"From standstill the drive puts {drive.starting_torque * gain:.3g} N·m on the output;"
            f" starting the load takes {load.starting_torque:.3g} N·m.",
        ),
        _least(
            "ratio to keep moving",
            ratio,
            duty.sustaining_ratio,
            f"For long the drive puts {drive.sustained_torque * gain:.3g} N·m on the output;"
            f" moving the load takes {load.running_torque:.3g} N·m.",
        ),
        _speed_check(duty, ratio),
        *load.checks(ratio * drive.greatest_torque),
    )
    return CheckReport(f"drive and load at a ratio of {ratio:.4g}", checks)


def what_to_change(duty: Duty) -> str:
    """Say in plain words what to change where no ratio will do; empty if there is a range."""
    if duty.ratio_range is not None:
        return ""
    load = duty.load
    if load.starting_torque > load.usable_torque:
        return (
            f"No ratio helps: starting takes {load.starting_torque:.3g} N·m at the output, and"
            f" beyond {load.usable_torque:.3g} N·m the wheels slip or the front lifts. Move weight"
            " onto the driven axle, find better grip or take a gentler slope."
        )
    share = _attainable_share(duty)
    wanted = _speed_text(duty, duty.wanted_speed)
    way_out = (
        f"Be content with {_speed_text(duty, share * duty.wanted_speed, figures_down)}, lighten"
        " the load to"
        f" {100.0 * share:.2g} %, or take a stronger drive."
    )
    if duty.speed_ratios is None:
        power, given = load.wanted_power / duty.efficiency, duty.drive.line.greatest_power
        return (
            f"The drive is too weak: {wanted} takes {power:.3g} W and it gives at most"
            f" {given:.3g} W. {way_out}"
        )
    least, greatest = max(duty.working_ratio, duty.speed_ratios[0]), duty.speed_ratios[1]
    return (
        f"No ratio both carries the load and is fast enough: below {least:.3g} the drive cannot"
        f" {_bottleneck(duty)}, and above {greatest:.3g} the output is slower than {wanted}."
        f" {way_out}"
    )


def _speed_share(duty: Duty, ratio: float) -> float:
    """Share of the wanted speed that is reached, on the slowest layer of a rope drum."""
    if ratio < duty.starting_ratio:
        return 0.0
    load = duty.load
    output = np.array([load.least_running_torque, load.running_torque])
    torque = output / (duty.efficiency * ratio)
    power = duty.efficiency * torque * duty.drive.speed_at(torque) * RPM
    return float(np.min(power)) / load.wanted_power


def _attainable_share(duty: Duty) -> float:
    """Share of the wanted speed, or of the load, that the drive can manage; rounded down."""
    share = _speed_share(duty, duty.fastest_ratio)
    step = 10.0 ** (math.floor(math.log10(share)) - 1)
    return math.floor(share / step) * step


def _least(name: str, ratio: float, limit: float, why: str) -> Check:
    remedy = f"Take a ratio of at least {round_up(limit):.10g}."
    return Check(name, ratio, limit, "", "at least", why, remedy, _BALANCE)


def _speed_check(duty: Duty, ratio: float) -> Check:
    remedy = what_to_change(duty)
    if duty.ratio_range is not None:
        remedy = f"Take a ratio from {_range_text(*duty.ratio_range)}."
    return Check(
        name="speed of the output",
        value=_speed_share(duty, ratio) * duty.wanted_speed,
        limit=duty.wanted_speed * (1.0 - _ROUNDING),
        unit="rpm",
        sense="at least",
        why=f"{_speed_text(duty, duty.wanted_speed)} are wanted under full load.",
        remedy=remedy,
        source=_BALANCE,
    )


def _range_text(least: float, greatest: float) -> str:
    """Both ends rounded inwards, with as many decimals as leave something between them."""
    for digits in range(2, 9):
        low, high = round_up(least, digits), round_down(greatest, digits)
        if low <= high:
            break
    return f"{low:.12g} to {high:.12g}"


def _bottleneck(duty: Duty) -> str:
    if duty.speed_ratios is not None and duty.speed_ratios[0] > duty.working_ratio:
        return "reach that speed on the last layer of rope"
    starts = duty.starting_ratio >= duty.sustaining_ratio
    return "start it" if starts else "keep it moving for long"


def _speed_text(
    duty: Duty, speed: float, told: Callable[[float, int], float] = lambda value, _: value
) -> str:
    text, diameter = f"{told(speed, 4):.4g} rpm", duty.load.pull_diameter
    if diameter is None:
        return text
    return f"{text} ({told(speed * RPM * diameter / 2000.0, 2):.2g} m/s)"
