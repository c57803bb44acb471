"""From a design file to a design: its stages as given, or searched by its wishes."""

from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import cached_property
from os import PathLike
from typing import overload

from gearwork.checks.check import sentence
from gearwork.choosing.candidates import Candidates
from gearwork.choosing.ranking import KEPT
from gearwork.choosing.search import search
from gearwork.errors import GearworkError, NoMachineError, need, whole_number
from gearwork.geometry.pair import GearPair
from gearwork.machine.brief import GearBrief
from gearwork.machine.design import Design
from gearwork.machine.drive import Motor
from gearwork.machine.gear_set import GearSet
from gearwork.numbers import figure, round_up
from gearwork.spec.spec import CHOICES, DesignFile, read_brief

Progress = Callable[[str], None]


def candidates_for(
    brief: DesignFile,
    progress: Progress | None = None,
    executor: Executor | None = None,
    kept: int = KEPT,
    any_will_do: bool = False,
) -> Candidates:
    """Return the trains that a brief's wishes lead to, ranked by its weights.

    Parameters
    ----------
    brief : DesignFile
        From `read_brief` or `example_brief`; stages that it gives do not count.
    progress : callable, optional
        Called with a line of text after each part of the search.
    executor : concurrent.futures.Executor, optional
        As for `search`, as are the next two.
    kept : int
        How many to keep.
    any_will_do : bool
        Whether the first that are found are enough.

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
        any_will_do=any_will_do,
        executor=executor,
        progress=lambda done, total: say(f"searching trains: {done} of {total} parts"),
    )


def with_stages(brief: DesignFile, candidates: Candidates) -> Iterator[DesignFile]:
    """Return the brief with the stages of each candidate given in it, the best first.

    Centre distances that the room does not fix are rounded up to 0.01 mm.
    """
    return (_given(brief, candidates, rank) for rank in range(len(candidates)))


def _given(brief: DesignFile, candidates: Candidates, rank: int) -> DesignFile:
    """The brief with the stages of one candidate."""
    stages = []
    for stage in candidates.best(rank):
        distance = brief.room.fixed_distance or round_up(stage.pair.centre_distance)
        pinion, wheel = (
            replace(gear, tip_alteration=0.0) for gear in (stage.pair.pinion, stage.pair.wheel)
        )  # the pair shortens the tips to suit the rounded distance
        stages.append(replace(stage, pair=GearPair(pinion, wheel, distance)))
    return brief.given(stages)


NEAR = 1.08
"""How far a ratio may be off the one for the wanted speed before the whole band is looked at."""

BEST = 40
"""Trains that are kept where one is wanted: the search looks for no front of choices then."""

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
    need("solve", brief, GearBrief, "a brief", "gw.load_design(path) reads and solves a file")
    if not isinstance(brief, DesignFile):
        return GearSet(brief)
    if brief.stages:
        tried = map(arranged, drive_gears(brief))
        first = next(tried)
        return first if first.holds else next((other for other in tried if other.holds), first)
    if brief.choice > 1:
        return choices(brief, progress, brief.choice).design(brief.choice)
    return _best_train(brief, progress or (lambda _: None)).design


@dataclass(frozen=True)
class _Train:
    """A train of a search as a whole machine: what was asked and found, which of these it is."""

    asked: DesignFile
    found: Candidates
    rank: int

    @cached_property
    def design(self) -> Design:
        return arranged(_given(self.asked, self.found, self.rank))


def _best_train(brief: DesignFile, say: Progress, kept: int = BEST) -> _Train:
    """The first train that has all to spare that is wished; or what comes nearest to it."""
    tried: list[_Train] = []
    none: list[tuple[tuple[int, float], str]] = []
    ways = drive_gears(brief)
    for way in ways:
        trains, found = _searched(way, say, kept)
        if trains and spared(trains[-1].design):
            return trains[-1]
        tried += trains
        if not trains:
            gear = f"With the {way.drive.in_gear}: " if len(ways) > 1 else ""
            none.append((found.nearest.rank, f"{gear}{found.why}"))
    # none has all to spare that is wished: the first that holds with any sheet that is sold
    holding: list[_Train] = []
    failing: list[_Train] = []
    for train in tried:
        (holding if train.design.sound else failing).append(train)
    sure = next((train for train in holding if _holds_thin(train.design)), None)
    roomy = [train for train in failing if train.design.has_room]
    if sure or roomy:
        return sure or min(roomy, key=lambda train: _faults(train.design))
    if failing:
        tight = (check for train in failing for check in train.design.size_checks)
        check = min((c for c in tight if not c.ok), key=lambda c: c.value / c.limit)
        reason = (
            f"{sentence(check.judged)[:-1]} of the nearest is {figure(check.value, check.unit)},"
            f" {check.demanded} is asked. {check.remedy}"
        )
    elif holding:
        sheet = brief.gears.sheet
        reason = (
            f"Trains that hold with {sheet.thickness:g} mm of sheet fail where it is"
            f" {sheet.thinnest:g} mm thick, as it may turn out: measure it and write"
            " measured_thickness under [sheet], or take reserve = 0 under [wishes]."
        )
    else:
        _, reason = max(none, key=lambda one: one[0])
    raise NoMachineError(f"no train was found. {reason}")


def arranged(brief: DesignFile) -> Design:
    """The machine of given stages, its shafts folded or in line where the file leaves that open.

    Folded takes the smaller plates; in line is taken where so every check holds and folded not, or
    where so alone it keeps to the room that is stated.
    """
    folded, pairs = Design(brief), [stage for stage in brief.stages if not stage.idler]
    if brief.frame.arrangement is not None or len(pairs) < 2 or folded.holds:
        return folded
    in_line = Design(replace(brief, frame=replace(brief.frame, arrangement="in line")))
    if not in_line.holds and (folded.has_room or not in_line.has_room):
        return folded
    failed = folded.report.failed[0]
    why = f"folded, {failed.name} is {figure(failed.value, failed.unit)}, {failed.demand} is asked"
    return Design(replace(brief, frame=replace(in_line.brief.frame, why=why)))


def spared(design: Design) -> bool:
    """Whether every check holds with the reserve that is wished, and with the thinnest sheet.

    And whether all of it can be cut.
    """
    kept = design.holds_with(design.brief.reserve) and _holds_thin(design)
    return kept and not design.cannot_be_cut


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


def _searched(brief: DesignFile, say: Progress, kept: int) -> tuple[list[_Train], Candidates]:
    """The trains tried, the last one with all that is to spare if any has; what was found last.

    First those whose ratio comes near the wanted speed, then all that keep to its band.
    """
    tried: list[_Train] = []
    duty = brief.duty(min(brief.space.stages))
    wished = brief.limits.ratio
    bands = [wished]
    if wished is None and duty.ratio_range is not None:
        aim, (low, high) = duty.suggested_ratio, duty.ratio_range
        near = max(low, aim / NEAR), min(high, aim * NEAR)
        bands.insert(0, near)
    for band in bands:
        limits = replace(brief.limits, ratio=band)
        found = candidates_for(replace(brief, limits=limits), say, kept=kept)
        for rank in range(min(MAX_TRIED // len(bands), len(found))):
            say(f"checking the whole machine with train {rank + 1} of {len(found)}")
            tried.append(_Train(brief, found, rank))
            if spared(tried[-1].design):
                return tried, found
    return tried, found


@dataclass(frozen=True)
class Choices:
    """Machines of one design file with different trains; in a notebook they show side by side.

    Attributes
    ----------
    designs : tuple of Design
        One to four. The first is the one that `solve` returns.
    """

    designs: tuple[Design, ...]

    def design(self, number: int) -> Design:
        """Return the machine of a number.

        Parameters
        ----------
        number : int
            As it stands above its picture, 1 for the first.

        Raises
        ------
        GearworkError
            If there is none of that number.
        """
        last = len(self.designs)
        return self.designs[whole_number("choice", number, at_least=1, at_most=last) - 1]


def choices(brief: GearBrief, progress: Progress | None = None, count: int = CHOICES) -> Choices:
    """Return machines with different trains that one design file leads to, to choose from.

    The first is the one that `solve` returns. Each of the others is one that no other train found
    beats in length, wood, strength and speed of teeth together, and differs in these from those
    before it as much as any.

    Parameters
    ----------
    brief : GearBrief
        From `read_brief` or `example_brief`, without stages.
    progress : callable, optional
        Called with a line of text when a longer step begins.
    count : int
        How many at most.

    Returns
    -------
    Choices
        Every check of each holds, with as much to spare as is wished.

    Raises
    ------
    GearworkError
        If the file gives its stages, or no machine was found that holds.

    See Also
    --------
    solve : the first of them, or the one of `choice` under `[wishes]` of the file.

    Examples
    --------
    >>> from gearwork import example_brief
    >>> found = choices(example_brief("cider-mill"), count=2)
    >>> design = found.design(2)
    >>> design.holds, design.brief.stages == found.design(1).brief.stages
    (True, False)
    """
    if not isinstance(brief, DesignFile) or brief.stages:
        raise GearworkError(
            "choices are of a machine whose gears are searched: leave its [[stage]] tables out"
        )
    say = progress or (lambda _: None)
    first = _best_train(brief, say, KEPT)
    chosen = [first]
    if not first.design.holds:
        raise GearworkError(f"there is nothing to choose from: {first.design.report.summary}")
    found, tried = first.found, [first.rank]
    while len(chosen) < count and len(tried) < MAX_TRIED:
        rank = found.most_unlike(tried)
        if rank is None:
            break
        say(f"looking for another choice: train {rank + 1} of {len(found)}")
        tried.append(rank)
        train = replace(first, rank=rank)
        chosen += [train] if spared(train.design) else []
    return Choices(tuple(train.design for train in chosen))
