"""Candidates: what a search found, as a table of arrays, the best first."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gearwork.checks.check import Kind
from gearwork.choosing.pairs import PairTable, joined
from gearwork.choosing.ranking import KEPT, front, scores, worth_keeping
from gearwork.choosing.space import MAX_STAGES, SearchSpace, Weights
from gearwork.choosing.tally import NOWHERE, Nearest
from gearwork.choosing.trains import TrainTable
from gearwork.errors import GearworkError, whole_number
from gearwork.machine.stage import Stage
from gearwork.numbers import Bools, Ints
from gearwork.stock.laminate import Panel

SHOWN = 20
"""Candidates shown in a notebook."""

SEEN = ("size", "sheet_area", "margin", "mesh_speed")
"""What a maker sees of a train: its length, its wood, what it bears, how fast its teeth are."""

MAX_SCORE = 1.3
"""Of a candidate that is worth showing beside the best, whose score is 1."""

OF_THE_TRAIN = (
    "ratio",
    "size",
    "max_diameter",
    "mass",
    "margin",
    "sheet_area",
    "different_gears",
    "clutch_torque",
    "mesh_speed",
)
COUNTS_OF_A_STAGE = ("pinion_teeth", "wheel_teeth", "panel")
SIZES_OF_A_STAGE = (
    "module",
    "pinion_shift",
    "wheel_shift",
    "thinning",
    "centre_distance",
    "face_width",
    "contact_ratio",
)
HEADS = {
    "score": "score",
    "ratio": "ratio",
    "gears": "gears",
    "size": "size, mm",
    "mass": "mass, kg",
    "margin": "margin",
    "sheet_area": "sheet, m²",
    "different_gears": "different gears",
    "clutch_torque": "clutch, N·m",
}


@dataclass(frozen=True, eq=False)
class Candidates:
    """Trains that meet all demands, the best by score first.

    Attributes
    ----------
    columns : mapping of str to ndarray
        One column a quantity. Of the whole train, shape (n,): score (1 the best, 1.1 is 10 %
        worse in the weighted mean), stages, ratio, size (length with the shafts in line, mm),
        max_diameter (mm), mass (kg), margin (allowable over acting torque), sheet_area (m²),
        different_gears, clutch_torque (of the drive, at which no tooth fails at a stall, N·m),
        mesh_speed (of the teeth of the fastest pair, m/s). Of the stages, shape (n, 3), 0, −1 for
        the panel or not a number where there is none: module, pinion_teeth, wheel_teeth,
        pinion_shift, wheel_shift, thinning, centre_distance, face_width, contact_ratio, layers,
        panel.
    pareto : ndarray of bool, shape (n,)
        Those that no other beats in all that is weighed.
    why : str
        For an empty result: what must yield, and how far.
    missed : frozenset of str
        For an empty result: the kinds of limits (`Check.kind`) that ruled out most.
    nearest : Nearest
        For an empty result how near it came.
    space : SearchSpace
        What was searched.
    pairs : PairTable
        The pairs of the stages.
    places : ndarray of int, shape (n, 3)
        Row of the pair of each stage; −1 where there is none.
    """

    columns: Mapping[str, NDArray[Any]]
    pareto: Bools
    why: str
    missed: frozenset[Kind]
    nearest: Nearest
    space: SearchSpace
    pairs: PairTable
    places: Ints

    @classmethod
    def ranked(
        cls,
        trains: Sequence[TrainTable],
        weights: Weights,
        why: str = "",
        missed: frozenset[Kind] = frozenset(),
        nearest: Nearest = NOWHERE,
    ) -> "Candidates":
        """Return the best of some trains (at least one table) and all on the front, the best first.

        If there is none, `why` tells why, `missed` which kinds of limits are in the way, `nearest`
        how near one came.
        """
        quantities = np.concatenate([table.quantities for table in trains])
        order = worth_keeping(quantities, weights, KEPT)
        every = [_columns(table) for table in trains]
        columns = {name: np.concatenate([c[name] for c in every])[order] for name in every[0]}
        score = scores(quantities[order], weights)
        starts = np.cumsum([0, *(len(table.pairs) for table in trains)])
        places = [_padded(t.places + start, -1) for t, start in zip(trains, starts, strict=False)]
        return cls(
            {"score": score / score[:1], **columns},
            front(quantities[order][:, weights.values > 0]),
            why,
            missed,
            nearest,
            trains[0].task.space,
            joined([table.pairs for table in trains]),
            np.concatenate(places)[order],
        )

    def __len__(self) -> int:
        return len(self.places)

    def __getitem__(self, name: str) -> NDArray[Any]:
        if name not in self.columns:
            raise KeyError(f"no column {name!r}; there are: {', '.join(self.columns)}")
        return self.columns[name]

    def best(self, rank: int = 0) -> tuple[Stage, ...]:
        """Return the stages of a candidate, ready for `GearTrain`.

        Parameters
        ----------
        rank : int
            0 the best by score, 1 the next.

        Raises
        ------
        GearworkError
            If there is no such candidate; for an empty result with the reason.
        """
        return tuple(
            Stage(self.pairs.pair(place, self.space), panel.thickness, len(panel.layers))
            for place, panel in zip(self._stages_of(rank), self.panels(rank), strict=True)
        )

    def panels(self, rank: int = 0) -> tuple[Panel, ...]:
        """Return the sheet or stack of each stage of a candidate."""
        return tuple(self.space.panels[self.pairs.panel[p]] for p in self._stages_of(rank))

    def name(self, rank: int = 0) -> str:
        """Return the gears of a candidate in words, e.g. "m 5, 14/38, 2 layers"."""
        stages = []
        for i in range(self["stages"][rank]):
            teeth = f"{self['pinion_teeth'][rank, i]}/{self['wheel_teeth'][rank, i]}"
            layers = self["layers"][rank, i]
            many = f"{layers} layer{'s' if layers > 1 else ''}"
            stages.append(f"m {self['module'][rank, i]:g}, {teeth}, {many}")
        return "; ".join(stages)

    def front(self, *names: str, best_high: tuple[str, ...] = ("margin",)) -> Bools:
        """Return which candidates no other beats in some quantities, e.g. for a plot of two.

        Parameters
        ----------
        *names : str
            Columns of whole trains.
        best_high : tuple of str
            Those of them of which more is better.
        """
        values = [-self[name] if name in best_high else self[name] for name in names]
        return front(np.column_stack(values))

    def most_unlike(self, tried: Sequence[int]) -> int | None:
        """Return which candidate differs most from those tried, in proportion; None: none does.

        Of those on the front of what a maker sees of a train that are little worse by score and of
        other gears.
        """
        seen = np.log(np.column_stack([self[name] for name in SEEN]))
        names = {self.name(rank) for rank in tried}
        near = np.flatnonzero(self.front(*SEEN) & (self["score"] <= MAX_SCORE))
        left = [rank for rank in map(int, near) if self.name(rank) not in names]
        if not left:
            return None
        apart = np.linalg.norm(seen[left, None] - seen[None, list(tried)], axis=-1).min(axis=1)
        return left[int(np.argmax(apart))]

    def _stages_of(self, rank: int) -> list[int]:
        if not len(self):
            raise GearworkError(f"the search found no train. {self.why}")
        at = whole_number("rank of a candidate", rank, at_least=0, at_most=len(self) - 1)
        return [int(place) for place in self.places[at] if place >= 0]

    def __repr__(self) -> str:
        if not len(self):
            return f"Candidates(none: {self.why})"
        return f"Candidates({len(self)}, {self.pareto.sum()} on the front; best: {self.name()})"

    @property
    def rows(self) -> list[tuple[str, ...]]:
        """The best trains as text, one a row; the first row is the head of the columns."""
        head = ("rank", *HEADS.values(), "front")
        return [head, *(self._row(rank) for rank in range(min(len(self), SHOWN)))]

    def _row(self, rank: int) -> tuple[str, ...]:
        values = (
            self.name(rank) if name == "gears" else f"{self[name][rank]:.4g}" for name in HEADS
        )
        return str(rank), *values, "front" if self.pareto[rank] else "beaten"


def _columns(trains: TrainTable) -> dict[str, NDArray[Any]]:
    """All columns but the score."""
    count = trains.places.shape[1]
    whole = {name: getattr(trains, name) for name in OF_THE_TRAIN}
    counts = {name: getattr(trains.stages, name).astype(np.int64) for name in COUNTS_OF_A_STAGE}
    sizes = {name: getattr(trains.stages, name) for name in SIZES_OF_A_STAGE}
    return {
        "stages": np.full(len(trains), count),
        **whole,
        "layers": _padded(trains.layers, 0),
        **{name: _padded(values, -1 if name == "panel" else 0) for name, values in counts.items()},
        **{name: _padded(values, np.nan) for name, values in sizes.items()},
    }


def _padded(values: NDArray[Any], filler: float) -> NDArray[Any]:
    missing = MAX_STAGES - values.shape[1]
    return np.pad(values, ((0, 0), (0, missing)), constant_values=filler)
