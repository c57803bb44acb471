"""search: all trains of gears that do a job, found by computing with whole arrays of them."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from typing import Any, TypeVar

import numpy as np

from gearwork.checks.check import Kind
from gearwork.checks.hub.joints import JointUse
from gearwork.checks.tooth.load_case import Service
from gearwork.choosing.candidates import Candidates
from gearwork.choosing.jobs import found_by, jobs
from gearwork.choosing.pairs import CHUNK, HubTable, PairGrid, PairTable, joined, pairs_in
from gearwork.choosing.ranking import KEPT
from gearwork.choosing.space import Band, Limits, SearchSpace, Weights, Word, in_reach
from gearwork.choosing.tally import Nearest, Tally
from gearwork.choosing.trains import Task, TrainTable
from gearwork.errors import need
from gearwork.machine.duty import Duty, what_to_change
from gearwork.numbers import Floats

ENOUGH = 1000
"""Pairs of tooth counts, evenly taken, that show whether there are trains."""

FEW = 1000
"""Ratios from which products of three are looked through."""


MANY, MOST = 0.5, 0.9
"""Share of pairs ruled out that is worth saying where the trains are what fails, and that stands
in the way by itself."""


def why_none(
    task: Task, bands: dict[int, Band], pairs: PairTable, of_pairs: Tally, of_trains: list[Tally]
) -> tuple[str, frozenset[Kind], Nearest]:
    """Return in a few sentences what must yield and how far, and what stands in the way otherwise.

    That is the kinds of limits that do, and how near the search came. `bands`: that of ratios for
    each number of stages; `pairs`: those that kept to the limits. Of the lots of demands on trains
    the last one that any came to is told.
    """
    if not bands:
        nearest = Nearest(0, 0.0, frozenset(("power",)))
        duty = task.with_stages(min(task.space.stages)).duty
        if duty.ratio_range is None or task.limits.ratio is None:
            return what_to_change(duty), nearest.kinds, nearest
        (low, high), (least, most) = duty.ratio_range, task.limits.ratio
        why = (
            f"Drive and load ask for a ratio from {low:.4g} to {high:.4g}, and one from {least:g}"
            f" to {most:g} is wished: leave it out, or wish for other speeds."
        )
        return why, nearest.kinds, nearest
    if not of_pairs.tried:
        teeth = task.space.teeth_pairs
        ratios = teeth[:, 1] / teeth[:, 0]
        why, strays = _out_of_reach("the tooth counts", ratios, bands, task)
        nearest = Nearest(1, strays, frozenset(("speed",)))
        return why, nearest.kinds, nearest
    layers = max(len(panel.layers) for panel in task.space.panels)
    if not len(pairs):
        why = _capital(of_pairs.sentence("pairs", layers))
        return why, of_pairs.kinds, replace(of_pairs.nearest, lots=2)
    many = of_pairs.max_share >= MANY
    rest = f" Before that, {of_pairs.sentence('pairs', layers)}" if many else ""
    of_most = of_pairs.kinds if of_pairs.max_share >= MOST else frozenset[Kind]()
    if not of_trains[0].tried:
        why, strays = _out_of_reach("the pairs left", pairs.ratio, bands, task)
        nearest = Nearest(3, strays, frozenset(("speed",)))
        return f"{why}{rest}", of_most | nearest.kinds, nearest
    tried = [tally for tally in of_trains if tally.tried]
    last = tried[-1]
    clutch = task.duty.drive.has_clutch
    why = _capital(last.sentence("trains", layers, clutch, task.limits.reserve, task.limits.rod))
    lots = 3 + len(tried) + last.nearest.lots
    return f"{why}{rest}", of_most | last.kinds, replace(last.nearest, lots=lots)


def _out_of_reach(
    what: str, ratios: Floats, bands: dict[int, Band], task: Task
) -> tuple[str, float]:
    """Which ratio comes nearest to a band, in words, and how far it strays, as a logarithm."""
    found = {n: nearest_ratio(ratios, n, band, task.limits.same_gears) for n, band in bands.items()}
    strays = {n: float(_strays(ratio, bands[n])) for n, ratio in found.items()}
    stages = min(found, key=lambda n: strays[n])
    low, high = bands[stages]
    why = (
        f"With {what} no train has a ratio from {low:.4g} to {high:.4g}: the nearest has"
        f" {found[stages]:.4g} with {stages} stage{'s' if stages > 1 else ''}. Widen ratio to"
        " that, or allow more pinion_teeth, wheel_teeth or stages."
    )
    return why, strays[stages]


def nearest_ratio(ratios: Floats, stages: int, band: Band, same: bool = False) -> float:
    """Return the product of so many ratios that strays least from a band.

    Of more than `FEW` different ratios that many are looked through for three stages; `same`: all
    must be the same.
    """
    single = np.unique(ratios)
    if same:
        products = single**stages
    else:
        if stages > 2:
            single = single[np.linspace(0, len(single) - 1, min(len(single), FEW)).astype(int)]
        before = single if stages < 3 else np.multiply.outer(single, single).ravel()
        last = np.array([1.0]) if stages == 1 else single
        at = np.searchsorted(last, np.multiply.outer(1 / before, band))
        near = np.stack([last[np.clip(at - step, 0, len(last) - 1)] for step in (0, 1)])
        products = (before[:, None] * near).ravel()
    return float(products[np.argmin(_strays(products, band))])


def _strays(ratio: Floats | float, band: Band) -> Floats:
    """How far a ratio lies outside a band, as the logarithm of their proportion."""
    return np.abs(np.log(np.clip(ratio, *band) / ratio))


def _capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]


T = TypeVar("T")
Progress = Callable[[int, int], None]


def search(
    space: SearchSpace,
    duty: Duty,
    *,
    limits: Limits | None = None,
    weights: Weights | Sequence[Word] | None = None,
    service: Service | None = None,
    kept: int = KEPT,
    any_will_do: bool = False,
    executor: Executor | None = None,
    progress: Progress | None = None,
) -> Candidates:
    """Return the trains that do a job, ranked by what is weighed.

    Every pair of the space is drawn, cut and rated by the formulas of the single gear, given
    arrays. Pairs that keep to the limits are combined to trains whose ratio lies in the band.

    Parameters
    ----------
    space : SearchSpace
        What to choose from.
    duty : Duty
        Drive and load. Its number of stages does not count, and its losses only for the band of
        ratios: those of each train follow from its teeth and the friction of the service.
    limits : Limits, optional
        What to keep to.
    weights : Weights or sequence of str, optional
        What counts how much; or words for it, as of `Weights`: ["small", "light"].
    service : Service, optional
        How the machine is used; default one hundred hours indoors.
    kept : int
        How many of the best by score to keep; of fewer than the default no front is looked for.
    any_will_do : bool
        Whether to end with the first part of the search that finds any, not the best of all, and to
        try but some of very many tooth counts and trains: whether there are any is known sooner.
    executor : concurrent.futures.Executor, optional
        What runs the parts of a large search; the result does not depend on it.
    progress : callable, optional
        Called with the number of parts done and of all parts that are known by then.

    Returns
    -------
    Candidates
        The best by score, a thousand and all on the front of what is weighed unless told otherwise.
        If there are none, `why` says what stands in the way.

    Notes
    -----
    Memory: about 200 bytes for every pair that keeps to the limits, for each panel. All trains of
    one stage and of one pair repeated are tried; so are all mixed trains of two and three stages
    while there are at most 1200 and 150 pairs. Of more pairs only those go into mixed trains that
    no other of about the same ratio beats in strength, mass and centre distance, and of pairs
    that differ in profile shift alone the strongest.

    Examples
    --------
    >>> from gearwork import Bit, Duty, SearchSpace, plywood
    >>> from gearwork.machine import GivenDrive, GivenLoad
    >>> space = SearchSpace(Bit(3.0), (plywood("birch", 12),), (2.9, 3.1), stages=(1,))
    >>> found = search(space, Duty(GivenDrive(0.5, 100.0), GivenLoad(1.0, 30.0)))
    >>> bool(found["margin"].min() >= 1.0)
    True
    """
    limits = limits or Limits()
    if not isinstance(weights, Weights):
        weights = Weights(tuple(weights or ()))
    need("search", space, SearchSpace, "a SearchSpace", "gw.SearchSpace(bit, (sheet,))")
    need("search", duty, Duty, "a Duty", "gw.Duty(drive, load)")
    task = Task(space, limits, duty, service or Service())
    bands = _bands(task)
    teeth = in_reach(space.teeth_pairs, bands)
    run = _Run(executor, progress)
    if any_will_do:
        # where most are in reach all are taken, whatever drive and load, so that looks share them
        teeth = space.teeth_pairs if len(teeth) > MANY * len(space.teeth_pairs) else teeth
        teeth = teeth[:: -(-len(teeth) // ENOUGH)] if len(teeth) else teeth
        counts = tuple(map(tuple, teeth.tolist()))
        pairs, pairs_tally = _some_pairs(space, limits, counts, _hubs(task))
    else:
        pairs, pairs_tally = _all_pairs(PairGrid(space, limits, teeth, _hubs(task)), run)
    trains, tallies = _all_trains(task, pairs, bands, weights, kept, run, any_will_do)
    if any(len(table) for table in trains):
        return Candidates.ranked(trains, weights)
    account = why_none(task, bands, pairs, pairs_tally, tallies)
    return Candidates.ranked([TrainTable.none(pairs, task)], weights, *account)


@dataclass
class _Run:
    """Runs the parts of a search, here or by an executor, and reports them."""

    executor: Executor | None
    progress: Progress | None
    done: int = 0
    total: int = 0

    def each(self, function: Callable[..., T], parts: Sequence[Any]) -> Iterator[T]:
        self.total += len(parts)
        results: Iterable[T] = (
            map(function, parts) if self.executor is None else self.executor.map(function, parts)
        )
        for result in results:
            self.done += 1
            if self.progress is not None:
                self.progress(self.done, self.total)
            yield result


def _bands(task: Task) -> dict[int, Band]:
    """Band of ratios for each number of stages that has one."""
    wanted = task.space.ratio
    found = {
        stages: wanted or task.with_stages(stages).duty.ratio_range
        for stages in sorted(set(task.space.stages))
    }
    low, high = task.limits.ratio or (0.0, np.inf)
    within = {n: (max(low, band[0]), min(high, band[1])) for n, band in found.items() if band}
    return {stages: band for stages, band in within.items() if band[0] <= band[1]}


def _hubs(task: Task) -> tuple[HubTable, ...]:
    """What the fixings on the rod hold in each panel; none if no rod is given."""
    rod, bit = task.limits.rod, task.space.bit.cut_diameter
    use = JointUse.of(task.service, task.duty.ridden)
    kind, panels = task.limits.fixing, task.space.panels
    return tuple(HubTable(panel, rod, bit, use, kind) for panel in panels if rod is not None)


def _all_pairs(grid: PairGrid, run: _Run) -> tuple[PairTable, Tally]:
    spans = [(i, min(i + CHUNK, len(grid))) for i in range(0, max(len(grid), 1), CHUNK)]
    results = list(run.each(partial(pairs_in, grid), spans))
    return joined([table for table, _ in results]), sum((t for _, t in results), Tally())


@lru_cache(maxsize=8)
def _some_pairs(
    space: SearchSpace,
    limits: Limits,
    teeth: tuple[tuple[float, ...], ...],
    hubs: tuple[HubTable, ...],
) -> tuple[PairTable, Tally]:
    """The same of few teeth, for looks that differ in drive and load alone."""
    grid = PairGrid(space, limits, np.array(teeth, dtype=float).reshape(-1, 2), hubs)
    return _all_pairs(grid, _Run(None, None))


def _all_trains(
    task: Task,
    pairs: PairTable,
    bands: dict[int, Band],
    weights: Weights,
    kept: int,
    run: _Run,
    any_will_do: bool,
) -> tuple[list[TrainTable], list[Tally]]:
    """Trains worth keeping, and what ruled out the others in each lot of demands."""
    results: list[tuple[TrainTable, list[Tally]]] = []
    for stages, band in bands.items():
        if any_will_do and any(len(table) for table, _ in results):
            break
        parts = jobs(task.with_stages(stages), pairs, band, weights, kept, any_will_do)
        for result in run.each(found_by, parts):
            results.append(result)
            if any_will_do and len(result[0]):
                break
    lots = zip(*(tallies for _, tallies in results), strict=True)
    return [table for table, _ in results], [sum(lot, Tally()) for lot in lots]
