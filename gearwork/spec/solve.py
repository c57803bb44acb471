"""From a design file to a design: its stages as given, or searched by its wishes."""

from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from dataclasses import replace
from itertools import islice
from os import PathLike

from gearwork.choosing.candidates import Candidates
from gearwork.choosing.search import search
from gearwork.errors import GearworkError
from gearwork.geometry.pair import GearPair
from gearwork.machine.design import Design
from gearwork.machine.duty import Duty
from gearwork.numbers import round_up
from gearwork.spec.spec import DesignFile, read_brief

Progress = Callable[[str], None]


def candidates_for(
    brief: DesignFile, progress: Progress | None = None, executor: Executor | None = None
) -> Candidates:
    """Return the trains that a brief's wishes lead to, ranked by its weights.

    Parameters
    ----------
    brief : DesignFile
        From `read_brief` or `example_brief`; stages that it gives do not count.
    progress : callable, optional
        Called with a line of text after each part of the search.
    executor : concurrent.futures.Executor, optional
        As for `search`.

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
        Duty(brief.drive, brief.load),
        limits=brief.limits,
        weights=brief.weights,
        service=brief.full_service,
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


MAX_TRIED = 100
"""Trains of a search that are checked as whole machines."""


def load_design(path: str | PathLike[str], progress: Progress | None = None) -> Design:
    """Read a design file and solve it.

    Parameters
    ----------
    path : path
        Of a TOML file.
    progress : callable, optional
        Called with a line of text when a longer step begins.

    Returns
    -------
    Design
        Its `report` holds every check, its `train` the gears on their shafts.

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


def solve(brief: DesignFile, progress: Progress | None = None) -> Design:
    """Return the train a brief asks for.

    Parameters
    ----------
    brief : DesignFile
        From `read_brief` or `example_brief`.
    progress : callable, optional
        Called with a line of text when a longer step begins.

    Returns
    -------
    Design
        Its `report` holds every check, its `train` the gears on their shafts.

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
    say = progress or (lambda _: None)
    if brief.stages:
        return Design(brief)
    found = candidates_for(brief, progress)
    if not len(found):
        raise GearworkError(f"no train was found. {found.why}")
    return _first_that_holds(brief, found, say)


def _first_that_holds(brief: DesignFile, found: Candidates, say: Progress) -> Design:
    """The best train that passes every check; of those tried the one that fails fewest."""
    tried = []
    for count, chosen in enumerate(islice(with_stages(brief, found), MAX_TRIED), 1):
        say(f"checking the whole machine with train {count} of {len(found)}")
        design = Design(chosen)
        if design.report.ok:
            return design
        tried.append(design)
    return min(tried, key=lambda design: len(design.report.failed))
