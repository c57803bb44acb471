"""Failed checks by what is the matter: one torque too high is one cause, whatever it breaks."""

from dataclasses import dataclass

from gearwork.checks.check import LOADED, Check
from gearwork.machine.design import Design
from gearwork.machine.gear_set import GearSet
from gearwork.numbers import figure, telling

_SENSES = {
    "stall": "Held fast at the output, the drive puts",
    "braking": "Turned back by its load, the machine puts",
    "starting": "Starting puts",
    "running": "Running puts",
}


@dataclass(frozen=True)
class Cause:
    """What is the matter, in a sentence with its figures; the checks it fails, the worst first."""

    sentence: str
    checks: tuple[Check, ...]

    @property
    def others(self) -> int:
        """How many checks fail of the same cause beside the worst."""
        return len(self.checks) - 1


def causes(design: GearSet) -> tuple[Cause, ...]:
    """Return why checks fail: what drive and load ask first, then sizes, in order of the report."""
    groups: dict[tuple[str, ...], list[Check]] = {}
    for check in design.report.failed:
        groups.setdefault(_cause_of(design, check), []).append(check)
    found = []
    for (kind, case), checks in groups.items():
        worst = min(checks, key=_share)
        ordered = (worst, *(check for check in checks if check is not worst))
        if kind == "load" and isinstance(design, Design) and worst.load_share is not None:
            sentence = _loaded(design, case, worst, worst.load_share)
        else:
            sentence = f"{worst.name} is {worst.shown}, {worst.demanded}."
        found.append(Cause(sentence, ordered))
    return tuple(found)


def _cause_of(design: GearSet, check: Check) -> tuple[str, str]:
    """What tells causes apart: the kind of limit, and of loads the case."""
    if check.kind in LOADED:
        return "load", check.case if check.case in _SENSES else _hardest(design)
    if check.kind in ("power", "speed"):
        return "power", ""
    return check.kind, check.judged if check.kind == "geometry" else ""


def _hardest(design: GearSet) -> str:
    """The case with the greatest torque at the output: of checks that count all cases at once."""
    if not isinstance(design, Design):
        return "running"
    given = design.torques
    return "braking" if abs(float(given.back[-1])) > float(given.stall[-1]) else "stall"


def _share(check: Check) -> float:
    """Share of its load that a check bears, or of its limit that it reaches."""
    if check.load_share is not None:
        return check.load_share
    best, worst = sorted((abs(check.value), abs(check.limit)))
    return best / worst if worst > 0.0 else 0.0


def _loaded(design: Design, case: str, worst: Check, share: float) -> str:
    given = design.torques
    torques = {"braking": given.back, "starting": given.starting, "running": given.running}
    asked = abs(float(torques.get(case, given.stall)[-1]))
    held = share * asked
    digits = telling(asked, held, digits=3)
    what = f"{_SENSES[case]} {figure(asked, 'N·m', digits)} on the last shaft"
    if case == "stall":
        drive = figure(float(given.stall[0]), "N·m", 3)
        what += f" ({drive} through {figure(design.train.ratio, digits=3)} to 1)"
    return f"{what}; the weakest part, {worst.name}, holds {figure(held, 'N·m', digits)} there."
