"""The torque to set at the drive: enough to start the load, too little to break a part."""

from collections.abc import Iterator
from dataclasses import dataclass

from gearwork.machine.design import Design
from gearwork.machine.stage import gear_name


@dataclass(frozen=True)
class TorqueSetting:
    """Between which torques the drive must slip or be held back.

    `min_torque`: what starting the load takes at the drive, N·m; `max_torque`: what the weakest
    part bears, seen at the drive, N·m; `weakest`: that part; `counted`: what the design counts on:
    the drive's greatest torque, N·m.
    """

    min_torque: float
    max_torque: float
    weakest: str
    counted: float

    @property
    def possible(self) -> bool:
        """Whether one setting starts the load and breaks nothing."""
        return self.min_torque <= self.max_torque


def torque_setting(design: Design) -> TorqueSetting:
    """Return the torque to set at the drive so that a jam breaks neither tooth, hub nor shaft."""
    greatest, weakest = min(_bearable(design), key=lambda found: found[0])
    duty = design.duty
    least = duty.starting_ratio / design.train.ratio * duty.drive.starting_torque
    return TorqueSetting(least, greatest, weakest, duty.drive.max_torque)


def _bearable(design: Design) -> Iterator[tuple[float, str]]:
    """Torque at the drive that each part bears when the output jams, and the part."""
    drive, stall = design.duty.drive.max_torque, design.torques.stall
    for stage, limits in enumerate(design.limits):
        for limit in limits:
            if limit.case.name == "stall":
                named = f"teeth of {gear_name(design.stages, stage, limit.side)}"
                part = f"flank {stage + 1}" if limit.kind == "contact" else named
                words = f"{part} ({limit.kind})"
                yield limit.torque * drive / float(stall[stage]), words
        for check in design.rims[stage] or ():
            if check.case == "stall" and check.load_share is not None:
                yield check.load_share * drive, f"{check.judged}, {check.part} {stage + 1}"
    for gear, held in zip(design.train.gears, design.fixings, strict=True):
        passed = design.hub_share(gear) * float(stall[gear.shaft])
        torque = held.design_torque * drive / passed
        yield torque, f"hub of {gear.name} ({held.weakest.name})"
    for name, held, torque, _, shaft in design.end_fixings:
        # what comes back is no stall
        jammed = torque * float(stall[shaft] / design.torques.max[shaft])
        yield held.design_torque / jammed * drive, f"fixing of the {name} ({held.weakest.name})"
    if design.coupling is not None:
        held_by = min(design.coupling.ratings, key=lambda one: one.design_torque)
        torque = held_by.design_torque * drive / float(stall[0])
        yield torque, f"coupling of the drive ({held_by.name})"
    for number, report in enumerate(design.stalled, 1):
        for check in report:
            if check.load_share is not None:
                yield check.load_share * drive, f"shaft {number} ({check.name})"
