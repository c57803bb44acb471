"""Ranking candidates: the weighted score, and the front of those that none beats in all things."""

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from gearwork.choosing.space import Weights
from gearwork.numbers import Bools, Floats, Ints

KEPT = 1000
"""Best candidates that are kept beside the front."""


def scores(quantities: ArrayLike, weights: Weights) -> Floats:
    """Return the weighted geometric mean of the quantities of each candidate; less is better.

    Quantities of shape (n, 6) in the order of `Weights`, above 0 and all the less the better.
    """
    logs = np.log(np.asarray(quantities, dtype=float))
    return np.asarray(np.exp(logs @ weights.values / weights.values.sum()))


def front(values: ArrayLike) -> Bools:
    """Return which rows (n, k) no other beats: as good in every column and better in one.

    All the less the better; of equal rows the first alone is on the front.
    """
    # Taken in the order of their sum, and of their columns where sums are equal, none is beaten by
    # a later one: each still there when its turn comes is on the front and strikes out the beaten.
    rows = np.asarray(values, dtype=float)
    found = np.zeros(len(rows), dtype=bool)
    order = np.lexsort((*rows.T[::-1], rows.sum(axis=1)))
    left = rows[order]
    while len(order):
        found[order[0]] = True
        better_somewhere = (left < left[0]).any(axis=1)
        order, left = order[better_somewhere], left[better_somewhere]
    return found


def worth_keeping(
    quantities: Floats,
    weights: Weights,
    most: int,
    hold: Callable[[Ints], Bools] | None = None,
    looked: int | None = None,
) -> Ints:
    """Return the rows of the `most` best by score and of the front, best first.

    Of fewer than `KEPT` those alone; `looked`: among so many of the best at most.

    Quantities as for `scores`; one of no weight is left out of the front. `hold` says which of some
    rows count at all: it is dear, and asked of no more rows than needed, the best first.
    """
    order = np.argsort(scores(quantities, weights), kind="stable")
    held = np.ones(len(order), dtype=bool)  # in that order, as the next
    known = np.full(len(order), hold is None)

    def look(at: Ints) -> None:
        if hold is not None and len(at):
            held[at], known[at] = hold(order[at]), True

    kept = np.zeros(len(order), dtype=bool)
    start, step = 0, most
    while start < (looked or len(order)) and kept.sum() < most:
        look(np.flatnonzero(~known[start : start + step]) + start)
        kept[np.flatnonzero(held & known)[:most]] = True
        start, step = start + step, 2 * step
    if most < KEPT:  # some are enough
        return np.asarray(order[kept])
    values = quantities[order][:, weights.values > 0]
    while True:
        left = np.flatnonzero(held)
        best = left[front(values[left])]
        if known[best].all():
            break
        look(best[~known[best]])
    kept[best] = True
    return np.asarray(order[kept])
