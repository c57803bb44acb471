"""The torque to set at the drive: enough to start the load, too little to break a part."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

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
    """Return the torque to set at the drive so that a jam passes no limit of any part."""
    greatest, weakest = min(_bearable(design), key=lambda found: found[0])
    duty = design.duty
    least = duty.starting_ratio / design.train.ratio * duty.drive.starting_torque
    return TorqueSetting(least, greatest, weakest, duty.drive.max_torque)


def _bearable(design: Design) -> Iterator[tuple[float, str]]:
    """Torque at the drive up to which each limit is kept that it can pass, and what has that limit.

    Where the drive gives way to what the load feeds back, that grows with the setting as well.
    """
    drive, torques = design.duty.drive.max_torque, design.torques
    back = ("braking",) if design.gives_way_back else ()
    jam = np.maximum(torques.stall, torques.back) if back else torques.stall
    for stage, limits in enumerate(design.limits):
        for limit in limits:
            if limit.case.name in ("stall", *back):
                named = f"teeth of {gear_name(design.stages, stage, limit.side)}"
                part = f"flank {stage + 1}" if limit.kind == "contact" else named
                words = f"{part} ({limit.kind})"
                yield limit.torque / limit.case.torque * drive, words
        for check in design.rims[stage] or ():
            if check.case == "stall" and check.load_share is not None:
                yield check.load_share * drive, f"{check.judged}, {check.part} {stage + 1}"
    for number, mesh in enumerate(design.loaded_meshes, 1):
        yield mesh.root_reserve * drive, f"teeth of stage {number} (edge load)"
        yield mesh.distance_reserve * drive, f"mesh of stage {number} (centre distance under load)"
    for gear, held in zip(design.train.gears, design.fixings, strict=True):
        passed = design.hub_share(gear) * float(jam[gear.shaft])
        torque = held.design_torque * drive / passed
        yield torque, f"hub of {gear.name} ({held.weakest.name})"
    for name, held, torque, _, shaft in design.end_fixings:
        jammed = torque * float(jam[shaft] / torques.max[shaft])
        yield held.design_torque / jammed * drive, f"fixing of the {name} ({held.weakest.name})"
    if design.coupling is not None:
        held_by = min(design.coupling.ratings, key=lambda one: one.design_torque)
        torque = held_by.design_torque * drive / float(jam[0])
        yield torque, f"coupling of the drive ({held_by.name})"
    for number, report in enumerate(design.stalled, 1):
        for check in report:
            share = check.limit / check.value if check.kind == "fatigue" else check.load_share
            if share is not None:
                yield share * drive, f"shaft {number} ({check.name})"
    for name, check in design.beside_train:
        if check.load_share is not None:
            yield check.load_share * drive, f"{name} ({check.name})"
    yield design.duty.load.borne_torque / design.train.ratio, "vehicle (its front wheels lift)"
