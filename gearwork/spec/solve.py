"""From a design file to a design: its stages as given, or searched by its wishes."""

from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from dataclasses import replace
from itertools import islice
from os import PathLike
from typing import overload

from gearwork.choosing.candidates import Candidates
from gearwork.choosing.ranking import KEPT
from gearwork.choosing.search import search
from gearwork.errors import GearworkError
from gearwork.geometry.pair import GearPair
from gearwork.machine.brief import GearBrief
from gearwork.machine.design import Design
from gearwork.machine.drive import Motor
from gearwork.machine.gear_set import GearSet
from gearwork.numbers import round_up
from gearwork.spec.spec import DesignFile, read_brief

Progress = Callable[[str], None]


def candidates_for(
    brief: DesignFile,
    progress: Progress | None = None,
    executor: Executor | None = None,
    kept: int = KEPT,
) -> Candidates:
    """Return the trains that a brief's wishes lead to, ranked by its weights.

    Parameters
    ----------
    brief : DesignFile
        From `read_brief` or `example_brief`; stages that it gives do not count.
    progress : callable, optional
        Called with a line of text after each part of the search.
    executor : concurrent.futures.Executor, optional
        As for `search`, as is the next.
    kept : int
        How many to keep.

    Returns
    -------
    Candidates
        The best first; `solve` builds the first that passes every check.

    Raises
    ------
    GearworkError
        If the wishes ask for what cannot be searched.

    Examples
    --------
    >>> from gearwork import example_brief
    >>> found = candidates_for(example_brief("cider-mill"))
    >>> set(found["stages"].tolist()), bool(found["margin"].min() >= 1.0)
    ({1}, True)
    """
    say = progress or (lambda _: None)
    return search(
        brief.space,
        brief.duty(2),
        limits=brief.limits,
        weights=brief.weights,
        service=brief.service,
        kept=kept,
        executor=executor,
        progress=lambda done, total: say(f"searching trains: {done} of {total} parts"),
    )


def with_stages(brief: DesignFile, candidates: Candidates) -> Iterator[DesignFile]:
    """Yield the brief with the stages of each candidate given in it, the best first.

    Centre distances that the room does not fix are rounded up to 0.01 mm.
    """
    fixed = brief.room.fixed_distance
    for rank in range(len(candidates)):
        stages = []
        for stage in candidates.best(rank):
            distance = fixed or round_up(stage.pair.centre_distance)
            pinion, wheel = (
                replace(gear, tip_alteration=0.0) for gear in (stage.pair.pinion, stage.pair.wheel)
            )  # the pair shortens the tips to suit the rounded distance
            stages.append(replace(stage, pair=GearPair(pinion, wheel, distance)))
        yield brief.given(stages)


NEAR = 1.08
"""How far a ratio may be off the one for the wanted speed before the whole band is looked at."""

MAX_TRIED = 12
"""Trains of each gear of the drive that are checked as whole machines."""


def load_design(path: str | PathLike[str], progress: Progress | None = None) -> GearSet:
    """Read a design file and solve it.

    Parameters
    ----------
    path : path
        Of a TOML file.
    progress : callable, optional
        Called with a line of text when a longer step begins.

    Returns
    -------
    Design or GearSet
        Its `report` holds every check, the `train` of a design the gears on their shafts; a file
        without drive and load gives a `GearSet`.

    Raises
    ------
    GearworkError
        If the file has mistakes, or nothing can be made of it.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from gearwork.spec.spec import example_text
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder) / "my-machine.toml"
    ...     _ = path.write_text(example_text(), encoding="utf-8")
    ...     design = load_design(path)
    >>> design.title
    'Orchard crate hauler'
    """
    return solve(read_brief(path), progress)


@overload
def solve(brief: DesignFile, progress: Progress | None = None) -> Design: ...
@overload
def solve(brief: GearBrief, progress: Progress | None = None) -> GearSet: ...
def solve(brief: GearBrief, progress: Progress | None = None) -> GearSet:
    """Return the train a brief asks for, or its gears alone where no machine is asked for.

    Parameters
    ----------
    brief : GearBrief
        From `read_brief` or `example_brief`.
    progress : callable, optional
        Called with a line of text when a longer step begins.

    Returns
    -------
    Design or GearSet
        Its `report` holds every check, the `train` of a design the gears on their shafts.

    Raises
    ------
    GearworkError
        If no train can be made of it; the text says what would have to change.

    Examples
    --------
    >>> from gearwork import example_brief
    >>> len(solve(example_brief()).train.gears)
    4
    """
    if not isinstance(brief, DesignFile):
        return GearSet(brief)
    ways = drive_gears(brief)
    if brief.stages:
        made = [Design(way) for way in ways]
        return next((design for design in made if design.holds), made[0])
    tried: list[Design] = []
    reasons: list[str] = []
    for way in ways:
        designs, why = _searched(way, progress or (lambda _: None))
        if designs and spared(designs[-1]):
            return designs[-1]
        tried += designs
        reasons += [why] if why else []
    # none has all to spare that is wished: the first that holds with any sheet that is sold
    holding: list[Design] = []
    failing: list[Design] = []
    for design in tried:
        (holding if design.holds else failing).append(design)
    sure = next((design for design in holding if _holds_thin(design)), None)
    if sure or failing:
        return sure or min(failing, key=_faults)
    if holding:
        sheet = brief.gears.sheet
        reasons = [
            f"Trains that hold with {sheet.thickness:g} mm of sheet fail where it is"
            f" {sheet.thinnest:g} mm thick, as it may turn out: measure it and write"
            " measured_thickness under [sheet], or take reserve = 0 under [wishes]."
        ]
    raise GearworkError(f"no train was found. {' '.join(dict.fromkeys(reasons))}")


def spared(design: Design) -> bool:
    """Whether every check holds with the reserve that is wished, and with the thinnest sheet."""
    return design.holds_with(design.brief.reserve) and _holds_thin(design)


def _holds_thin(design: Design) -> bool:
    return not design.brief.reserve or Design(design.brief.thinned).holds


def _faults(design: Design) -> tuple[bool, int]:
    """What tells designs that fail apart: speed and strength of the drive first, for people."""
    return not design.reports[0].ok, len(design.report.failed)


def drive_gears(brief: DesignFile) -> tuple[DesignFile, ...]:
    """The brief with each gear of its drill that may be chosen, the one to try first in front.

    At the same speed of the output either gear gives the same torque there. The low one asks for
    less ratio, and a clutch lets less through: it goes first unless the train would speed it up.
    """
    drive = brief.drive
    other = drive.other_gear if isinstance(drive, Motor) else None
    if other is None:
        return (brief,)
    low = replace(brief, drive=other)
    return (low, brief) if low.duty(1).suggested_ratio >= 1.0 else (brief, low)


def _searched(brief: DesignFile, say: Progress) -> tuple[list[Design], str]:
    """The designs tried, the last one with all that is to spare if any has; why there are none.

    First those whose ratio comes near the wanted speed, then all that keep to its band.
    """
    tried: list[Design] = []
    duty = brief.duty(min(brief.space.stages))
    wished = brief.limits.ratio
    bands = [wished]
    if wished is None and duty.ratio_range is not None:
        aim, (low, high) = duty.suggested_ratio, duty.ratio_range
        near = max(low, aim / NEAR), min(high, aim * NEAR)
        bands.insert(0, near)
    for band in bands:
        limits = replace(brief.limits, ratio=band)
        found = candidates_for(replace(brief, limits=limits), say)
        chosen = islice(with_stages(brief, found), MAX_TRIED // len(bands))
        for count, one in enumerate(chosen, 1):
            say(f"checking the whole machine with train {count} of {len(found)}")
            tried.append(Design(one))
            if spared(tried[-1]):
                return tried, ""
    return tried, "" if tried else found.why
