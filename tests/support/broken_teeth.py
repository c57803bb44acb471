"""Random teeth broken by nonlinear elements, and what the plain formula allows of that."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from gearwork.checks.tooth.breaking import breaking_shares
from gearwork.checks.tooth.elements import break_tooth, direction_polars
from gearwork.checks.tooth.stress import SheetPolar
from gearwork.geometry.gear import Gear
from gearwork.geometry.tooth import CutTooth, cut_tooth
from gearwork.stock.laminate import Panel, Stack
from gearwork.stock.plywood import plywood

SEED = 20261128


def random_teeth(seed: int = SEED) -> Iterator[tuple[CutTooth[float], Panel]]:
    """Teeth a router can cut, without end: 10 to 60 teeth, module 3 to 10, bits of 2 to 6.35 mm,
    sheets of 9 to 18 mm, two in five of them stacks."""
    rng = np.random.default_rng(seed)
    while True:
        teeth = round(float(np.exp(rng.uniform(np.log(10), np.log(60)))))
        module = round(float(rng.uniform(3.0, 10.0)), 1)
        bit = float(rng.choice([2.0, 3.0, 3.175, 4.0, 6.0, 6.35]))
        shift = round(float(rng.uniform(0.0, 0.5) if teeth < 20 else rng.choice([0.0, 0.2])), 2)
        thin = rng.random() < 0.15
        size = float(rng.choice([9, 12, 18] if thin else [9, 12, 15, 18]))
        sheet = plywood("thin-veneer spruce" if thin else "birch", size)
        turned = float(rng.choice([15, 30, 45, 60, 75, 90]))
        panel = Stack(sheet, (0.0, turned)) if rng.random() < 0.4 else sheet
        gear = Gear(module, teeth, shift)
        if bit > gear.module * 0.9:
            continue
        cut = cut_tooth(gear, bit)
        if cut.runs:
            yield cut, panel


@dataclass(frozen=True)
class Margins:
    """Loads at which elements reach the characteristic strength, over what the formula bears.

    No factor of a load case is in either: what is allowed lies lower by all of them.
    """

    cut: CutTooth[float]
    panel: Panel
    angles: Sequence[float] = tuple(np.arange(0.0, 180.0, 7.5))

    @cached_property
    def formula(self) -> float:
        rose = SheetPolar.of(self.panel)
        return 1.0 / float(breaking_shares(self.cut, self.cut.gear.tip_diameter, rose).max)

    @cached_property
    def _worst(self) -> tuple[float, bool, float]:
        """Share used by 1 N/mm, whether the left flank is loaded, direction of the tooth."""
        polars = direction_polars(self.cut, self.panel, self.angles)
        return max(
            (float(share), left, float(angle))
            for left, flank in ((True, polars.left), (False, polars.right))
            for share, angle in zip(flank.share.tension, self.angles, strict=True)
        )

    @property
    def linear(self) -> float:
        """Of the linear peak of tension, in the worst of the directions, either flank."""
        return 1.0 / self._worst[0] / self.formula

    @property
    def first_fibre(self) -> float:
        """Of the first fibre where veneers yield, in that direction.

        Of a stack also 15° either way: layers that move alike share otherwise there.
        """
        _, left, angle = self._worst
        turns = (-15.0, 0.0, 15.0) if len(self.panel.layers) > 1 else (0.0,)
        found = [
            break_tooth(self.cut, self.panel, angle + t, left=left, edge_only=True) for t in turns
        ]
        return min(each.edge_tension for each in found) / self.formula
