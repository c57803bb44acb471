"""Why a search found nothing, and how far what was asked must yield."""

import numpy as np

from gearwork.design.duty_check import what_to_change
from gearwork.design.pair_grid import Array
from gearwork.design.pair_table import PairTable
from gearwork.design.search_space import Band
from gearwork.design.tally import Tally
from gearwork.design.train_table import Task

FEW = 1000
"""Ratios from which products of three are looked through."""


MANY = 0.5
"""Share of pairs ruled out that is worth saying where the trains are what fails."""


def why_none(
    task: Task, bands: dict[int, Band], pairs: PairTable, of_pairs: Tally, of_trains: Tally
) -> str:
    """Return in a few sentences what ruled out most and how far it must yield.

    Parameters
    ----------
    task : Task
        What the search was for.
    bands : dict of int to (float, float)
        Band of ratios for each number of stages.
    pairs : PairTable
        The pairs that kept to the limits.
    of_pairs, of_trains : Tally
        What ruled out the others, and what ruled out their trains.
    """
    if not bands:
        return what_to_change(task.with_stages(min(task.space.stages)).duty)
    if not of_pairs.tried:
        teeth = task.space.teeth_pairs
        return _ratio_sentence("the tooth counts", teeth[:, 1] / teeth[:, 0], bands, task)
    layers = max(len(panel.layers) for panel in task.space.panels)
    if not len(pairs):
        return _capital(of_pairs.sentence("pairs", layers))
    many = of_pairs.greatest_share >= MANY
    rest = f" Before that, {of_pairs.sentence('pairs', layers)}" if many else ""
    if not of_trains.tried:
        return f"{_ratio_sentence('the pairs left', pairs.ratio, bands, task)}{rest}"
    return f"{_capital(of_trains.sentence('trains', layers))}{rest}"


def _ratio_sentence(what: str, ratios: Array, bands: dict[int, Band], task: Task) -> str:
    found = {n: nearest_ratio(ratios, n, band, task.limits.same_gears) for n, band in bands.items()}
    stages = min(found, key=lambda n: _strays(found[n], bands[n]))
    low, high = bands[stages]
    return (
        f"With {what} no train has a ratio from {low:.4g} to {high:.4g}: the nearest has"
        f" {found[stages]:.4g} with {stages} stage{'s' if stages > 1 else ''}. Widen the band to"
        " that, or allow more tooth counts or stages."
    )


def nearest_ratio(ratios: Array, stages: int, band: Band, same: bool = False) -> float:
    """Return the product of so many ratios that strays least from a band.

    Parameters
    ----------
    ratios : ndarray
        Of the pairs; of more than 1000 different ones, that many are looked through for three
        stages.
    stages : int
        How many.
    band : (float, float)
        Least and greatest ratio.
    same : bool
        Whether all must be the same.
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


def _strays(ratio: Array | float, band: Band) -> Array:
    """How far a ratio lies outside a band, as the logarithm of their proportion."""
    return np.abs(np.log(np.clip(ratio, *band) / ratio))


def _capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]
