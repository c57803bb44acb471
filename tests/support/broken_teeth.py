"""Random teeth broken by nonlinear elements, and what the plain formula allows of that."""

from collections.abc import Iterator

import numpy as np

from gearwork.checks.tooth.breaking import breaking_shares
from gearwork.checks.tooth.broken import break_tooth, yielding_tooth
from gearwork.checks.tooth.elastic import direction_polars
from gearwork.checks.tooth.stress import SheetPolar
from gearwork.geometry.gear import Gear
from gearwork.geometry.tooth import CutTooth, cut_tooth
from gearwork.stock.laminate import Panel, Stack
from gearwork.stock.plywood import plywood

SEED = 20261128
ANGLES = np.arange(0.0, 180.0, 7.5)


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


def margins(cut: CutTooth[float], panel: Panel, angles: np.ndarray = ANGLES) -> tuple[float, float]:
    """Load at which elements reach the characteristic strength, over the formula's bare one.

    The linear peak of tension first, in the worst of all directions, either flank; then the first
    fibre at its strength where veneers yield, there and, of a stack, 15° either way, because
    layers that move alike share otherwise there. No factor of a load case is in it: what is allowed
    lies lower by all of them.
    """
    allowed = 1.0 / float(
        breaking_shares(cut, cut.gear.tip_diameter, SheetPolar.of(panel)).greatest
    )
    roses = direction_polars(cut, panel, angles)
    flank, which = max(
        ((left, int(rose.share.tension.argmax())) for left, rose in
         ((True, roses.left), (False, roses.right))),
        key=lambda at: float((roses.left if at[0] else roses.right).share.tension[at[1]]),
    )  # fmt: skip
    peak = float((roses.left if flank else roses.right).share.tension[which])
    near = (-15.0, 0.0, 15.0) if len(panel.layers) > 1 else (0.0,)
    tooth = yielding_tooth(cut, left=flank)
    first = min(
        break_tooth(tooth, panel, float(angles[which]) + turn, edge_only=True).edge_tension
        for turn in near
    )
    return 1.0 / peak / allowed, first / allowed
