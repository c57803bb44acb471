"""From a design file to a design: its stages as given, or searched by its wishes."""

from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from itertools import islice
from os import PathLike

from gearwork.choosing.candidates import Candidates
from gearwork.choosing.search import search
from gearwork.choosing.space import Limits
from gearwork.errors import GearworkError
from gearwork.machine.brief import GivenStage
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
        limits=limits_of(brief),
        weights=brief.weights,
        service=brief.full_service,
        executor=executor,
        progress=lambda done, total: say(f"searching trains: {done} of {total} parts"),
    )


def limits_of(brief: DesignFile) -> Limits:
    """Return what a search for this brief must keep to."""
    room, stock = brief.room, brief.stock
    return Limits(
        contact_ratio=brief.wishes.contact_ratio,
        greatest_diameter=room.greatest_diameter,
        least_distance=room.least_distance,
        greatest_distance=room.greatest_distance,
        fixed_distance=room.fixed_distance,
        stock=(stock.width - 2 * stock.margin, stock.height - 2 * stock.margin),
        coprime=brief.wishes.coprime,
        same_gears=brief.wishes.same_gears,
        rod=brief.shafts.rod,
        frame=brief.train_frame,
        parts=brief.shaft_parts,
    )


def with_stages(brief: DesignFile, candidates: Candidates) -> Iterator[DesignFile]:
    """Yield the brief with the stages of each candidate given in it, the best first.

    Centre distances that the room does not fix are rounded up to 0.01 mm.
    """
    for rank in range(len(candidates)):
        count, fixed = candidates["stages"][rank], brief.room.fixed_distance
        yield brief.given(_given_stage(candidates, rank, stage, fixed) for stage in range(count))


def _given_stage(
    candidates: Candidates, rank: int, stage: int, fixed_distance: float | None
) -> GivenStage:
    def of(name: str) -> float:
        return float(candidates[name][rank, stage])

    return GivenStage(
        module=of("module"),
        pinion_teeth=int(of("pinion_teeth")),
        wheel_teeth=int(of("wheel_teeth")),
        pinion_shift=of("pinion_shift"),
        wheel_shift=of("wheel_shift"),
        pressure_angle=candidates.space.pressure_angle,
        thinning=of("thinning"),
        layers=int(of("layers")),
        centre_distance=fixed_distance or round_up(of("centre_distance")),
    )


MOST_TRIED = 100
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
    for count, chosen in enumerate(islice(with_stages(brief, found), MOST_TRIED), 1):
        say(f"checking the whole machine with train {count} of {len(found)}")
        design = Design(chosen)
        if design.report.ok:
            return design
        tried.append(design)
    return min(tried, key=lambda design: len(design.report.failed))
