"""Duty: a drive and a load put together: which ratios start, sustain and are fast enough."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal, TypeVar

import numpy as np
from numpy.typing import ArrayLike

from gearwork.checks.check import Check, CheckReport, Subject, Way
from gearwork.errors import GearworkError, number, whole_number
from gearwork.machine.drive import Drive
from gearwork.machine.events import jam_torque, passed_back
from gearwork.machine.load import Load
from gearwork.numbers import RPM, Floats, figures_down, round_down, round_up, told_apart


@dataclass(frozen=True)
class OperatingPoint:
    """Where drive and load meet at one ratio (drive speed over output speed), running steadily.

    Torques in N·m, output = drive x ratio x efficiency; speeds in rpm, 0 if the drive stands still.
    """

    ratio: float
    drive_torque: float
    drive_speed: float
    output_torque: float
    output_speed: float


@dataclass(frozen=True)
class RatioCurves:
    """Torque and speed at the output against ratio, for a plot; all arrays of one shape."""

    ratio: Floats
    sustained_torque: Floats  # while the drive gives what it can sustain, N·m
    starting_torque: Floats  # from standstill, N·m
    speed: Floats  # under the load, rpm; 0 where the machine stands still


@dataclass(frozen=True)
class ShaftTorques:
    """Torque on every shaft of a train, the drive's first, N·m; each of shape (..., stages + 1).

    `running`: while the load moves steadily, losses included. `starting`: what starts the load.
    `stall`: while the output is blocked and the drive gives its greatest torque, and its momentum
    where that is known; losses would lessen it and are left out. `back`: while the load turns the
    train and the drive stands, on the other flanks. `held`: while the load pulls back at rest.
    """

    running: Floats
    starting: Floats
    stall: Floats
    back: Floats
    held: Floats

    @property
    def max(self) -> Floats:
        """The worse of a stall and of the load driving back, N·m."""
        return np.maximum(self.stall, self.back)


# Loss from standstill over that in motion: friction of wood at rest and sliding, 0.65 over 0.4.
_AT_REST = 0.65 / 0.4


@dataclass(frozen=True)
class Duty:
    """A drive, a load and the losses between them.

    Attributes
    ----------
    drive : Drive
        What turns: `Motor`, `HandCrank`, `GivenDrive`.
    load : Load
        What must move: `RopeDrum`, `Vehicle`, `RackLoad`, `GivenLoad`.
    stages : int
        Stages of gears; 0: drive and output coupled straight.
    mesh_efficiency : float
        Of one mesh that moves (0.90: dry wood, 10 teeth in 40); the mean of all stages. The search
        gives one for each of many trains, and what follows from it is an array as well.
    bearing_efficiency : float
        Of the bearings that come with one stage (0.99: assumption).
    starting_mesh_efficiency : float, optional
        Of one mesh from standstill. Default: its losses are 0.65/0.4 times those in motion, as
        friction at rest is to that of flanks that slide.
    speed_band : tuple of float
        Least and greatest speed of the load over the wanted one.

    Raises
    ------
    GearworkError
        If a value cannot be.

    Examples
    --------
    1 N·m at 300 rpm must move 10 N·m at 20 rpm. The torque asks for a ratio of 10, and 12 is not
    faster than a quarter more than wanted; up to 18.75 the speed is no less than four fifths.

    >>> from gearwork.machine import GivenDrive, GivenLoad
    >>> Duty(GivenDrive(1.0, 300.0), GivenLoad(10.0, 20.0), stages=0).ratio_range
    (12.0, 18.75)
    """

    drive: Drive
    load: Load
    stages: int = 2
    mesh_efficiency: float = 0.90
    bearing_efficiency: float = 0.99
    starting_mesh_efficiency: float | None = None
    speed_band: tuple[float, ...] = (0.8, 1.25)

    def __post_init__(self) -> None:
        whole_number("stages", self.stages, at_least=0)
        if isinstance(self.mesh_efficiency, np.ndarray):
            return  # of trains that are searched: their scalar fields were looked at before
        number("mesh efficiency", self.mesh_efficiency, above=0.0, at_most=1.0)
        number("bearing efficiency", self.bearing_efficiency, above=0.0, at_most=1.0)
        if self.starting_mesh_efficiency is None:
            lost = _AT_REST * (1.0 - self.mesh_efficiency)
            object.__setattr__(self, "starting_mesh_efficiency", max(1.0 - lost, 0.01))
        number(
            "mesh efficiency at the start", self.starting_mesh_efficiency, above=0.0,
            at_most=self.mesh_efficiency,
        )  # fmt: skip
        slow, fast = self.speed_band
        number("least speed over the wanted one", slow, above=0.0, at_most=1.0)
        number("greatest speed over the wanted one", fast, at_least=1.0)

    @property
    def efficiency(self) -> float:
        """Efficiency of all stages, moving."""
        return (self.mesh_efficiency * self.bearing_efficiency) ** self.stages

    @property
    def starting_efficiency(self) -> float:
        """Efficiency of all stages from standstill."""
        return self._starting_stage**self.stages

    @property
    def _starting_stage(self) -> float:
        assert self.starting_mesh_efficiency is not None
        return self.starting_mesh_efficiency * self.bearing_efficiency

    @property
    def starting_ratio(self) -> float:
        """Least ratio at which the drive starts the load."""
        return self.load.starting_torque / (self.starting_efficiency * self.drive.starting_torque)

    @property
    def sustaining_ratio(self) -> float:
        """Least ratio at which the drive keeps the load moving without overheating or tiring."""
        return self.load.running_torque / (self.efficiency * self.drive.sustained_torque)

    @property
    def working_ratio(self) -> float:
        """Least ratio that both starts and sustains the load."""
        return max(self.starting_ratio, self.sustaining_ratio)

    @property
    def fastest_ratio(self) -> float:
        """Ratio that starts and sustains the load and moves it fastest.

        The output is fastest where the drive's power is greatest; a drive that cannot sustain
        that torque is fastest at its least working ratio.
        """
        strongest = self.load.running_torque / (self.efficiency * self.drive.line.strongest_torque)
        return max(strongest, self.working_ratio)

    @property
    def speed_ratios(self) -> tuple[float, float] | None:
        """Least and greatest ratio at which the least speed of the band is reached; None: at none.

        Below the first a motor is loaded beyond its strongest point and slows down again.
        """
        power = self.speed_band[0] * self.load.wanted_power / self.efficiency
        if power > self.drive.line.max_power:
            return None
        light, heavy = self.drive.line.torques_for(power)
        return (
            self.load.running_torque / (self.efficiency * heavy),
            self.load.min_running_torque / (self.efficiency * light),
        )

    @property
    def slowing_ratio(self) -> float:
        """Least ratio that keeps to the greatest speed of the band, and no rider above the limit.

        The limit of riders counts without load, for downhill there is none.
        """
        top = self.speed_band[1] * self.load.wanted_power / self.efficiency
        found = 0.0
        if top <= self.drive.line.max_power:
            light, _ = self.drive.line.torques_for(top)
            found = self.load.running_torque / (self.efficiency * light)
        return max(found, self.riding_ratio)

    @property
    def ridden(self) -> bool:
        """Whether people ride, so that a failure has grave consequences."""
        return self.load.riding_limit is not None

    @property
    def riding_ratio(self) -> float:
        """Least ratio that keeps to the limit of riders without load; 0: nobody rides."""
        limit, diameter = self.load.riding_limit, self.load.pull_diameter
        if limit is None or diameter is None:
            return 0.0
        return _travel(self.drive.line.no_load_speed, diameter) / limit

    @property
    def ratio_range(self) -> tuple[float, float] | None:
        """Least and greatest ratio that starts, sustains and keeps to the band of speed.

        None if there is no such ratio: `what_to_change` says why.
        """
        if self.speed_ratios is None or self.load.starting_torque > self.load.usable_torque:
            return None
        least = max(self.working_ratio, self.speed_ratios[0], self.slowing_ratio)
        greatest = self.speed_ratios[1]
        return (least, greatest) if least <= greatest else None

    @property
    def suggested_ratio(self) -> float:
        """The ratio of the range that comes nearest to the wanted speed.

        On a rope drum in the middle between its first and its last layer. Without a range the
        ratio that starts and sustains the load and is fastest.
        """
        if self.ratio_range is None:
            return self.fastest_ratio
        power = self.load.wanted_power / self.efficiency
        aim = self.fastest_ratio
        if power <= self.drive.line.max_power:
            light, _ = self.drive.line.torques_for(power)
            middle = math.sqrt(self.load.running_torque * self.load.min_running_torque)
            aim = middle / (self.efficiency * light)
        return min(max(aim, self.ratio_range[0]), self.ratio_range[1])

    @property
    def wanted_speed(self) -> float:
        """Wanted speed of the output under its greatest running torque, rpm."""
        return self.load.wanted_power / self.load.running_torque / RPM

    def output_speed(self, ratio: ArrayLike) -> Floats:
        """Steady speed of the output under the running torque, rpm.

        Parameters
        ----------
        ratio : array_like
            Drive speed over output speed.

        Returns
        -------
        ndarray
            Of the shape of `ratio`; 0 where the drive cannot start the load.
        """
        ratio = _ratios(ratio)
        torque = self.load.running_torque / (self.efficiency * ratio)
        return np.where(ratio >= self.starting_ratio, self.drive.speed_at(torque) / ratio, 0.0)

    def speed_shares(self, ratio: ArrayLike) -> tuple[Floats, Floats]:
        """Least and greatest speed over the wanted one, of all layers of a rope; 0 if it stands."""
        ratio, load = _ratios(ratio), self.load
        shares = [
            output * self.drive.speed_at(output / (self.efficiency * ratio)) / ratio
            for output in (load.min_running_torque, load.running_torque)
        ]
        found = np.where(ratio >= self.starting_ratio, shares, 0.0) * RPM / load.wanted_power
        return found.min(axis=0), found.max(axis=0)

    def travel_speed(self, ratio: ArrayLike) -> Floats:
        """Steady speed of the load at rope or ground, m/s; on the last layer of a rope drum.

        Raises
        ------
        GearworkError
            If the load has no pull.
        """
        if self.load.pull_diameter is None:
            raise GearworkError("this load has no pull: use output_speed, in rpm, instead")
        return _travel(self.output_speed(ratio), self.load.pull_diameter)

    def operating_point(self, ratio: float) -> OperatingPoint:
        """Where drive and load meet at one ratio."""
        speed = float(self.output_speed(ratio))
        torque = self.load.running_torque / (self.efficiency * ratio)
        return OperatingPoint(
            ratio=ratio,
            drive_torque=torque,
            drive_speed=speed * ratio,
            output_torque=self.load.running_torque,
            output_speed=speed,
        )

    def time_to_speed(self, ratio: ArrayLike, gear_inertia: float = 0.0) -> Floats:
        """Time from standstill to 95 % of the steady speed, s; infinite where it does not start.

        Closed form of J dw/dt = drive torque at the output - running torque along the drive's
        torque line: a straight run-up to the knee, an exponential one after it.

        Parameters
        ----------
        ratio : array_like
            Drive speed over output speed.
        gear_inertia : float
            Of the gears, seen at the drive, kg·m² (`GearTrain.input_inertia`).
        """
        ratio = _ratios(ratio)
        line, gain = self.drive.line, self.efficiency * ratio
        inertia = self.load.inertia + gain * ratio * (self.drive.inertia + gear_inertia)
        steady = self.output_speed(ratio) * RPM
        goal = 0.95 * steady  # all of it is reached only in the limit
        bend = np.minimum(line.knee_speed / ratio * RPM, goal)
        settling = inertia * line.droop * RPM / (gain * ratio)
        with np.errstate(divide="ignore", invalid="ignore"):
            straight = inertia * bend / (gain * line.torque - self.load.running_torque)
            time = straight + settling * np.log((steady - bend) / (steady - goal))
        return np.where(steady > 0.0, time, np.inf)

    def curves(self, ratio: ArrayLike | None = None) -> RatioCurves:
        """Torque and speed against ratio, as arrays for a plot.

        Parameters
        ----------
        ratio : array_like, optional
            The ratios; by default 241 of them, evenly spaced in the logarithm, from direct drive
            (or half the least working ratio) to twice the greatest useful one.
        """
        if ratio is None:
            last = self.fastest_ratio if self.speed_ratios is None else self.speed_ratios[1]
            first = min(1.0, 0.5 * self.working_ratio)
            ratio = np.geomspace(first, 2.0 * max(last, self.working_ratio, 1.0), 241)
        ratios = _ratios(ratio)
        gain = self.efficiency * ratios
        return RatioCurves(
            ratio=ratios,
            sustained_torque=gain * self.drive.sustained_torque,
            starting_torque=self.starting_efficiency * ratios * self.drive.starting_torque,
            speed=self.output_speed(ratios),
        )

    def shaft_torques(self, stage_ratios: ArrayLike, stiffness: Any = 0.0) -> ShaftTorques:
        """Torque on every shaft while running, starting, stalled, driven back and held.

        Parameters
        ----------
        stage_ratios : array_like, shape (..., stages)
            Ratio of each stage, the drive's first; of one train, or a row of each of many.
        stiffness : float or ndarray
            Of the train, seen at the drive, N·m/rad, for the momentum of a drive that is known and
            that no clutch holds back; `torsional_stiffness`.

        Raises
        ------
        GearworkError
            If there are not as many ratios as stages.
        """
        ratios = _ratios(stage_ratios)
        if ratios.shape[-1:] != (self.stages,):
            raise GearworkError(
                f"stage ratios have the shape {ratios.shape}: this duty has {self.stages} stages;"
                " give one ratio for each"
            )
        drive, load = self.drive, self.load
        up_to, kept = carried(ratios, self.mesh_efficiency * self.bearing_efficiency)
        _, kept_at_rest = carried(ratios, self._starting_stage)
        back = passed_back(load.back_torque, drive.slips_back_at, up_to, kept_at_rest)
        stall = self._jam(up_to[..., -1], stiffness)[..., None] * up_to
        starting = load.starting_torque * up_to * kept_at_rest
        return ShaftTorques(
            running=load.running_torque * up_to * kept / (up_to * kept)[..., -1:],
            starting=np.minimum(starting / (up_to * kept_at_rest)[..., -1:], stall),
            stall=stall,
            back=back,
            held=passed_back(load.holding_torque, drive.slips_back_at, up_to, kept_at_rest),
        )

    def _jam(self, ratio: Any, stiffness: Any) -> Floats:
        """Torque of the drive when the output is blocked: its greatest, and its momentum, N·m.

        A clutch slips before the momentum comes through. Wheels slip, too, but those that stand
        against a step do not: no less than the drive's largest torque.
        """
        stall = np.full(np.shape(ratio), self.drive.max_torque)
        if self.drive.slips_at is not None or np.all(np.asarray(stiffness) == 0.0):
            return stall
        jam = jam_torque(stall, self.drive.line.no_load_speed, self.drive.inertia, stiffness)
        return np.asarray(np.minimum(jam, np.maximum(stall, self.load.slip_torque / ratio)))

    @property
    def loads_both_flanks(self) -> bool:
        """Whether the teeth are loaded on both flanks: stopping the drive brakes through them."""
        return self.load.loads_both_flanks

    @property
    def cautions(self) -> tuple[str, ...]:
        """What can hurt somebody or break, in plain sentences."""
        stall = (
            "A blocked output lets the drive's largest torque through to every gear, multiplied"
            " by the ratio up to there. Set its clutch, if it has one, to what the weakest part"
            " holds.",
        )
        both = (
            "Stopping the drive brakes the machine through the gears: the teeth are loaded on both"
            " flanks, and a fixing must hold in both directions.",
        )
        first = stall + (both if self.loads_both_flanks else ())
        return first + self.drive.cautions + self.load.cautions

    def switch_cautions(self, ratio: float) -> tuple[str, ...]:
        """What a faster gear of the drive would do that it was not designed for, in a sentence.

        Without load at such a ratio: the load is faster than riders may be, or than is wanted.
        """
        diameter, top, limit = self.load.pull_diameter, self.drive.top_speed, self.load.riding_limit
        if diameter is None or top is None:
            return ()
        free = _travel(top / ratio, diameter)
        most = limit or self.speed_band[1] * _travel(self.wanted_speed, diameter)
        if free <= most:
            return ()
        held = (
            f"nobody who rides may pass {most:.2g} m/s"
            if self.ridden
            else f"more than {most:.2g} m/s is not wanted"
        )
        return (
            "Block the switch of the drive's gears in low, by a screw or a glued strip: in high it"
            f" runs at up to {free:.2g} m/s without load, and {held}.",
        )


_Speed = TypeVar("_Speed", float, Floats)


def _travel(speed: _Speed, diameter: float) -> _Speed:
    """Speed at such a diameter, mm, that turns so fast, rpm, in m/s."""
    return speed * RPM * diameter / 2000.0


def carried(stage_ratios: ArrayLike, kept: ArrayLike) -> tuple[Floats, Floats]:
    """Return ratio and efficiency from the drive to every shaft.

    Of stage ratios of shape (..., stages) both have the shape (..., stages + 1), the latter without
    the leading axes if `kept`, the efficiency of one stage, is one number.
    """
    ratios = np.asarray(stage_ratios, dtype=float)
    first = np.ones((*ratios.shape[:-1], 1))
    up_to = np.concatenate([first, np.cumprod(ratios, axis=-1)], axis=-1)
    return up_to, np.power(np.asarray(kept)[..., None], np.arange(up_to.shape[-1]))


def _ratios(ratio: ArrayLike) -> Floats:
    values = np.asarray(ratio, dtype=float)
    unfit = values[~(np.isfinite(values) & (values > 0.0))]
    if unfit.size:
        raise GearworkError(
            f"ratio is {unfit[0]:g}: it must be above 0; give drive speed over output speed"
        )
    return values


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
    drive, load, good = duty.drive, duty.load, duty.ratio_range
    gain, at_rest = duty.efficiency * ratio, duty.starting_efficiency * ratio
    rows = (
        ("start", "From standstill", "starting", duty.starting_ratio,
         drive.starting_torque * at_rest, load.starting_torque),
        ("keep moving", "For long", "moving", duty.sustaining_ratio,
         drive.sustained_torque * gain, load.running_torque),
    )  # fmt: skip
    checks = [
        Check(
            judged=f"ratio to {aim}",
            kind="power",
            value=ratio,
            limit=limit,
            unit="",
            sense="at least",
            why=f"{when} the drive puts {shown[0]} N·m on the output;"
            f" {work} the load takes {shown[1]} N·m.",
            ways=((("ratio", round_up(limit)),),),
            source=_BALANCE,
        )
        for aim, when, work, limit, given, taken in rows
        for shown in [told_apart(given, taken)]
    ]
    ways: tuple[Way, ...] = ()
    if good:  # both ends rounded inwards, with as many decimals as leave something between them
        ends = [(round_up(good[0], digits), round_down(good[1], digits)) for digits in range(2, 9)]
        low, high = next((end for end in ends if end[0] <= end[1]), ends[-1])
        ways = tuple((("ratio", round(end, 8)),) for end in dict.fromkeys((low, high)))
    wanted, (slow, fast), limit = duty.wanted_speed, duty.speed_band, load.riding_limit
    least, greatest = (float(share) for share in duty.speed_shares(ratio))
    words = f"{_speed_text(duty, wanted)} are wanted under full load"
    speeds: list[tuple[str, float, float, str, Literal["at least", "at most"], str]] = [
        ("speed of the output", least * wanted, slow * wanted * (1.0 - _ROUNDING), "rpm",
         "at least", f"{words}; {100 * (1 - slow):.0f} % less will do."),
        ("highest speed of the output", greatest * wanted, fast * wanted * (1.0 + _ROUNDING),
         "rpm", "at most", f"{words}; no more than {100 * (fast - 1):.0f} % above."),
    ]  # fmt: skip
    if limit is not None:
        pace = duty.riding_ratio / ratio * limit
        why = "Somebody rides on it; downhill the drive runs as fast as without load."
        held = limit * (1.0 + _ROUNDING)
        speeds.append(("speed without load", pace, held, "m/s", "at most", why))
    checks += [
        Check(judged, value, bound, unit, sense, why, _BALANCE, kind="speed", ways=ways)
        for judged, value, bound, unit, sense, why in speeds
    ]
    every = (*checks, *load.checks(ratio * drive.max_torque))
    return CheckReport(Subject("duty", f"drive and load at a ratio of {ratio:.4g}"), every)


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
    # share of the wanted speed, or of the load, that the drive can manage
    share = float(duty.speed_shares(duty.fastest_ratio)[0]) / duty.speed_band[0]
    step = 10.0 ** (math.floor(math.log10(share)) - 1)
    share = math.floor(share / step) * step
    slowest = duty.speed_band[0] * duty.wanted_speed
    wanted = f"{_speed_text(duty, slowest)}, the slowest that is wanted,"
    way_out = (
        f"Be content with {_speed_text(duty, share * duty.wanted_speed, figures_down)} instead of"
        f" {_speed_text(duty, duty.wanted_speed)}, lighten the load to"
        f" {100.0 * share:.2g} %, or take a stronger drive."
    )
    if duty.speed_ratios is None:
        power = duty.speed_band[0] * load.wanted_power / duty.efficiency
        given = duty.drive.line.max_power
        return (
            f"The drive is too weak: {wanted} takes {power:.3g} W and it gives at most"
            f" {given:.3g} W. {way_out}"
        )
    (fast, slow), carries = duty.speed_ratios, duty.working_ratio
    if duty.slowing_ratio > slow:
        return _too_fast(duty, slow)
    cannot = "start it" if carries == duty.starting_ratio else "keep it moving for long"
    if fast > carries:
        cannot = "reach that speed on the last layer of rope"
    return (
        f"No ratio both carries the load and is fast enough: below {max(fast, carries):.3g} the"
        f" drive cannot {cannot}, and above {slow:.3g} the output is slower than"
        f" {_speed_text(duty, slowest)}, the slowest that is wanted. {way_out}"
    )


def _too_fast(duty: Duty, greatest: float) -> str:
    """Why no ratio is slow enough: a drive that slows down much under load, or many layers."""
    least = duty.slowing_ratio
    slow, fast = duty.speed_band
    if duty.riding_ratio == least:
        speed = _travel(duty.drive.line.no_load_speed, duty.load.pull_diameter or 0.0)
        return (
            f"No ratio is slow enough for riders: below {least:.3g} it passes their limit of"
            f" {duty.load.riding_limit:.3g} m/s without load, and above {greatest:.3g} it is slower"
            f" than {slow:g} of what is wanted with it. Set max_speed to at least"
            f" {round_up(speed / greatest):.10g} m/s if that is safe there, lighten the load, or"
            " take a drive that slows down less."
        )
    if duty.working_ratio > greatest:
        return (
            f"No ratio helps: below {duty.working_ratio:.3g} the drive cannot carry the load, and"
            f" above {greatest:.3g} the first layer of rope is slower than {slow:g} times what is"
            " wanted. Take a stronger drive, and wind fewer layers on a thicker drum."
        )
    return (
        f"No ratio keeps to the speeds: below {least:.3g} the last layer of rope is faster than"
        f" {fast:g} times what is wanted, and above {greatest:.3g} the first is slower than"
        f" {slow:g} of it. Wind fewer layers on a thicker drum, or allow a wider band: speed_band ="
        f" [{round_down(slow * greatest / least):.10g}, {fast:g}]."
    )


def _speed_text(
    duty: Duty, speed: float, told: Callable[[float, int], float] = lambda value, _: value
) -> str:
    text, diameter = f"{told(speed, 4):.4g} rpm", duty.load.pull_diameter
    if diameter is None:
        return text
    return f"{text} ({told(speed * RPM * diameter / 2000.0, 2):.2g} m/s)"
