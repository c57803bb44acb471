"""Trains made of pairs, a block at a time, and which of them are worth keeping.

A search of two or three stages can have more trains than memory holds. Trains are therefore made
and judged a block at a time, and of those that meet all demands only the best by score and the
front of what is weighed are kept; shafts are bent for these alone. Where there are more than
`MAX_PAIRS` pairs, fewer go into trains of several stages: of pairs that differ in profile shift
alone the strongest, and of these the ones not beaten in centre distance, mass and strength by
others of about the same ratio.
"""

from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np

from gearwork.choosing.pairs import PairTable, taken
from gearwork.choosing.ranking import KEPT, front, worth_keeping
from gearwork.choosing.shafts import AT_ONCE, shaft_demands
from gearwork.choosing.space import Band, Weights, widened
from gearwork.choosing.tally import Tally, judge
from gearwork.choosing.trains import Task, TrainTable
from gearwork.numbers import Bools, Floats, Ints

MAX_PAIRS = {2: 1200, 3: 150}
"""Pairs that go into trains of two and of three stages."""

RATIO_BINS = 40
"""Classes of about the same ratio, evenly spaced in its logarithm."""

BLOCK = 20_000
"""Trains judged at once."""

REDUCE_AT = 100_000
"""Trains that wait before the best of them are picked."""

PARTS = 8
"""Jobs that combining one number of stages is split into."""

SAMPLED, LOOKED = 2, 400
"""Of these jobs, each an even share of all trains, and of the best trains of a job, as many as show
whether there are some."""


class Job(NamedTuple):
    """One part of the trains of one number of stages."""

    task: Task
    pairs: PairTable
    band: Band  # ratios wanted
    weights: Weights
    kept: int
    """How many of the best are kept."""
    part: int | None
    """Which of the `PARTS` of all combinations of different pairs; None: one and the same pair."""
    any_will_do: bool = False
    """Whether to look at no more trains than show that there are some."""


def jobs(
    task: Task,
    pairs: PairTable,
    band: Band,
    weights: Weights,
    kept: int = KEPT,
    any_will_do: bool = False,
) -> list[Job]:
    """Return the parts in which the trains of one number of stages are searched."""
    stages, (low, high) = task.duty.stages, widened(band)
    whole = pairs.ratio**stages
    alone = taken(pairs, np.flatnonzero((whole >= low) & (whole <= high)))
    found = [Job(task, alone, band, weights, kept, None, any_will_do)]
    if stages > 1 and not task.limits.same_gears:
        fewer = taken(pairs, fewer_pairs(pairs, stages))
        parts = range(SAMPLED if any_will_do else PARTS)
        found += [Job(task, fewer, band, weights, kept, part, any_will_do) for part in parts]
    return found


def fewer_pairs(pairs: PairTable, stages: int) -> Ints:
    """Return the rows of the pairs that go into trains of several stages."""
    most = MAX_PAIRS[stages]
    if len(pairs) <= most:
        return np.arange(len(pairs))
    strength = np.minimum(pairs.capacity.pinion, pairs.capacity.wheel)
    strongest = np.argsort(-strength, kind="stable")
    sizes = (pairs.module, pairs.pinion_teeth, pairs.wheel_teeth, pairs.panel)
    each = [np.unique(size, return_inverse=True)[1] for size in sizes]
    kind = np.ravel_multi_index(each, [int(size.max()) + 1 for size in each])
    _, first = np.unique(kind[strongest], return_index=True)
    places = np.sort(strongest[first])
    if len(places) <= most:
        return places
    good = np.column_stack([pairs.centre_distance, pairs.pinion_mass + pairs.wheel_mass, -strength])
    ratio = np.log(pairs.ratio[places])
    edges = np.linspace(ratio.min(), ratio.max(), RATIO_BINS + 1)[1:-1]
    which = np.digitize(ratio, edges)
    kept = [_thinned(places[which == i], good, most // RATIO_BINS) for i in np.unique(which)]
    return np.sort(np.concatenate(kept))


def _thinned(places: Ints, good: Floats, most: int) -> Ints:
    """The pairs of one class that no other beats, at most so many, from weak to strong."""
    unbeaten = places[front(good[places])]
    unbeaten = unbeaten[np.argsort(good[unbeaten, 2], kind="stable")]
    if len(unbeaten) <= most:
        return unbeaten
    return np.asarray(unbeaten[np.linspace(0, len(unbeaten) - 1, most).round().astype(int)])


LOTS = (TrainTable.quick_demands, TrainTable.running_demands)
"""What every train must meet, one lot after the other: the next is for those that met the last."""


def found_by(job: Job) -> tuple[TrainTable, list[Tally]]:
    """Return the trains of a part that are worth keeping, and what ruled out others in each lot."""
    reserve = job.task.limits.reserve
    tallies, waiting = [Tally() for _ in (*LOTS, shaft_demands)], 0

    def hold(places: Ints) -> Bools:
        found = []
        for start in range(0, len(places), AT_ONCE):
            trains = TrainTable(job.pairs, places[start : start + AT_ONCE], job.task)
            good, judged = judge(shaft_demands(trains), len(trains), reserve)
            tallies[-1] += judged
            found.append(good)
        return np.concatenate(found)

    places = [np.empty((0, job.task.duty.stages), dtype=np.int64)]
    quantities = [np.empty((0, 6))]
    for block in _blocks(job):
        trains = TrainTable(job.pairs, block, job.task)
        for lot, demands in enumerate(LOTS):
            good, judged = judge(demands(trains), len(trains), reserve)
            tallies[lot] += judged
            trains = trains.rows(good)
        places.append(trains.places)
        quantities.append(trains.quantities)
        waiting += len(trains)
        if waiting > REDUCE_AT:
            places, quantities = _reduced(places, quantities, job, hold)
            waiting = 0
    best = _reduced(places, quantities, job, hold)[0][0]
    used, compact = np.unique(best, return_inverse=True)
    return TrainTable(taken(job.pairs, used), compact.reshape(best.shape), job.task), tallies


def _reduced(
    places: list[Ints], quantities: list[Floats], job: Job, hold: Callable[[Ints], Bools]
) -> tuple[list[Ints], list[Floats]]:
    """The best and the front of those whose shafts hold."""
    every, values = np.concatenate(places), np.concatenate(quantities)
    looked = LOOKED if job.any_will_do else len(every)
    best = worth_keeping(values, job.weights, job.kept, lambda rows: hold(every[rows]), looked)
    return [every[best]], [values[best]]


def _blocks(job: Job) -> Iterator[Ints]:
    """Places of trains whose ratio is in the band, some at a time."""
    if job.part is None:
        every = np.arange(len(job.pairs))
        for start in range(0, len(every), BLOCK):
            yield np.repeat(every[start : start + BLOCK, None], job.task.duty.stages, axis=1)
    else:
        yield from _mixed_blocks(job, job.part)


def _mixed_blocks(job: Job, part: int) -> Iterator[Ints]:
    ratio, (low, high) = job.pairs.ratio, widened(job.band)
    last = np.argsort(ratio, kind="stable")
    # all first stages: the pairs, or every two of them
    grid = np.meshgrid(*[last] * (job.task.duty.stages - 1), indexing="ij")
    heads = np.stack([axis.ravel() for axis in grid], axis=1)[part::PARTS]
    before = np.prod(ratio[heads], axis=1)
    start = np.searchsorted(ratio[last], low / before, side="left")
    counts = np.searchsorted(ratio[last], high / before, side="right") - start
    ends = np.cumsum(counts)
    first = 0
    while first < len(heads):
        done = ends[first] - counts[first]
        after = max(int(np.searchsorted(ends, done + BLOCK, side="right")), first + 1)
        block = slice(first, after)
        places = _expanded(heads[block], start[block], counts[block], last)
        if len(places):
            yield places
        first = after


def _expanded(heads: Ints, start: Ints, counts: Ints, last: Ints) -> Ints:
    """Each head with each of its last stages, without trains of one and the same pair."""
    rank = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    tails = last[np.repeat(start, counts) + rank]
    places = np.column_stack([np.repeat(heads, counts, axis=0), tails])
    return np.asarray(places[(places != places[:, :1]).any(axis=1)])
