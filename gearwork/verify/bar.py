"""The flanks of a bar of rack teeth, and a pinion turned along it, both as cut.

The bar lies as `gear_outline` draws it: reference line on the x axis, tooth 0 on the y axis, teeth
upwards. A flank is tabulated as place along the bar over height; the play of a pinion is how far
the bar can be pushed either way until one of its flanks meets a point of the pinion's.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from gearwork.errors import GearworkError
from gearwork.geometry.outline import Outline, as_complex
from gearwork.numbers import Bools, Complexes, Floats, Ints
from gearwork.verify.flanks import CELLS, COMPLIANCE, SAMPLING, SKIN, to_axis

SPACING = 0.005
"""Of the points of the pinion's edge, parts of the bar's pitch. A tip of the bar counts as such
half of that below it, so that contact ends there on average where it should."""


@dataclass(frozen=True, eq=False)
class ToothedBar:
    """Both flanks of all teeth of a bar, each from its tooth's axis, mm.

    `ahead` and `behind` are the flanks that face +x and −x, shape (n, CELLS + 1): how far from the
    tooth's axis the wood ends at heights root + (tip − root) s², s in equal steps from 0 to 1; the
    heights `root` and `tip` are those of either flank, shape (2, n), above the reference line.
    """

    pitch: float
    root: Floats
    tip: Floats
    ahead: Floats
    behind: Floats

    @classmethod
    def of(cls, outline: Outline, teeth: int, pitch: float) -> "ToothedBar":
        """Return the flanks of a bar of so many teeth at a pitch, mm, or refuse it."""
        points = outline.points(SAMPLING)
        x, y = points[points[:, 1] > points[:, 1].min() + SKIN].T
        tables, roots, tips = [], [], []
        shares = np.linspace(0.0, 1.0, CELLS + 1) ** 2
        for side in (1.0, -1.0):
            table = np.zeros((teeth, CELLS + 1))
            root, tip = np.zeros(teeth), np.zeros(teeth)
            for tooth in range(teeth):
                off = side * (x - pitch * tooth)
                own = (off >= 0.0) & (off <= pitch / 2 + SKIN)
                low, high = y[own].min(initial=np.inf), y[own].max(initial=-np.inf)
                flank = own & (y > low + SKIN / 2) & (y < high - SKIN / 2)
                if high - low < 4 * SKIN or flank.sum() < 1:
                    raise GearworkError(
                        f"outline has no flank where tooth {tooth} of {teeth} of the rack should"
                        " be: is it the bar of this rack, tooth 0 on the y axis?"
                    )
                root[tooth], tip[tooth] = low + SKIN, high - SKIN
                # The ends of the flats at tip and root belong to the flank as well.
                ends = [
                    off[own & (y <= low + SKIN / 2)].min(),
                    off[own & (y >= high - SKIN / 2)].max(),
                ]
                order = np.argsort(y[flank], kind="stable")
                heights = np.concatenate([[low], y[flank][order], [high]])
                places = np.concatenate([ends[:1], off[flank][order], ends[1:]])
                wanted = root[tooth] + (tip[tooth] - root[tooth]) * shares
                table[tooth] = np.interp(wanted, heights, places)
            tables.append(table)
            roots.append(root)
            tips.append(tip)
        return cls(pitch, np.array(roots), np.array(tips), *tables)

    @property
    def teeth(self) -> int:
        """How many there are."""
        return int(self.root.shape[1])

    @property
    def deviations(self) -> Floats:
        """How far each tooth strays from the middle one of all, mm, along the bar or in height."""
        sizes = [*self.root, *self.tip, *self.ahead.T, *self.behind.T]
        strays: Floats = np.max([np.abs(size - np.median(size)) for size in sizes], axis=0)
        return strays

    def flank(self, side: int, tooth: Ints, height: Floats) -> tuple[Floats, Floats]:
        """Return how far from its tooth's axis a flank lies at a height, and its slope dx/dy.

        Side 0 faces +x, 1 −x; above the tip and below the root there is none, −∞.
        """
        low, high = self.root[side, tooth], self.tip[side, tooth]
        share = np.clip((height - low) / (high - low), 0.0, 1.0)
        place = np.sqrt(share) * CELLS
        cell = np.minimum(place.astype(np.int64), CELLS - 1)
        table = self.behind if side else self.ahead
        first, last = table[tooth, cell], table[tooth, cell + 1]
        rise = (high - low) * (2 * cell + 1) / CELLS**2
        outside = (height < low) | (height > high)
        found = np.where(outside, -np.inf, first + (place - cell) * (last - first))
        return found, (last - first) / rise


@dataclass(frozen=True, eq=False)
class PinionEdge:
    """Points of a pinion's edge about its axis, tooth 0 on +x, near enough to be turned along."""

    points: Complexes
    teeth: int

    @classmethod
    def of(cls, outline: Outline, teeth: int, pitch: float) -> "PinionEdge":
        """Return the edge of an outline of so many teeth, for a bar of a pitch, mm."""
        points = as_complex(outline.spaced(SPACING * pitch))
        turn = to_axis(points, np.angle(points), teeth, teeth)
        return cls(points * np.exp(1j * turn), teeth)

    @property
    def tip(self) -> float:
        """Distance of the highest tip from the axis, mm."""
        return float(np.abs(self.points).max())

    @property
    def highest_root(self) -> float:
        """Distance of the shallowest root from the axis, mm."""
        space = np.floor(np.angle(self.points) * self.teeth / (2 * np.pi)).astype(np.int64)
        space %= self.teeth
        radius = np.abs(self.points)
        return max(float(radius[space == one].min()) for one in np.unique(space))


class Push(NamedTuple):
    """How far the bar can be pushed until it meets the pinion, mm, and the contact that ends it.

    `across` is the cosine of the flank's slope there, `place` the point in the plane of the pinion,
    `carrying` the number of tooth pairs near contact.
    """

    way: float
    across: float
    place: complex
    pinion_tooth: int
    rack_tooth: int
    carrying: int


def pushes(
    pinion: "PinionEdge", bar: ToothedBar, distance: float, travel: float, first: int
) -> tuple[Push, Push]:
    """Return how far the bar can be pushed down and up, pinion and bar both `travel` mm on.

    The space after tooth 0 of the bar stands opposite tooth `first` of the pinion at the start.
    """
    turn = 2 * np.pi / pinion.teeth * (travel / bar.pitch - first)
    points = pinion.points * np.exp(1j * turn)
    top = float(bar.tip.max())
    near = points[points.real > distance - top - SKIN]
    along, height = near.imag - travel + bar.pitch / 2, distance - near.real
    space = np.floor(along / bar.pitch).astype(np.int64)
    inside = (space >= 0) & (space < bar.teeth - 1)
    near, along, height, space = (v[inside] for v in (near, along, height, space))
    tips = np.abs(near) > pinion.tip - SKIN
    found = []
    for side in (1, 0):  # pushed down the flanks facing down meet, pushed up those facing up
        tooth = space + side
        wood, slope = bar.flank(side, tooth, height)
        gap = along - bar.pitch * tooth
        gap = (-gap if side else gap) - wood
        edges = tips | (height > bar.tip[side, tooth] - SPACING * bar.pitch / 2)
        found.append(_earliest(near, gap, slope, space, tooth, edges, pinion.teeth, turn))
    return found[0], found[1]


def _earliest(
    place: Complexes,
    gap: Floats,
    slope: Floats,
    space: Ints,
    tooth: Ints,
    edges: Bools,
    teeth: int,
    turn: float,
) -> Push:
    """The least gap, and how many spaces have one nearly as small."""
    if not np.isfinite(gap).any():
        return Push(np.inf, 1.0, 0j, 0, 0, 0)
    at = int(np.argmin(gap))
    across = float(1.0 / np.hypot(1.0, slope[at]))
    close = np.flatnonzero((gap - gap[at]) * across <= COMPLIANCE)
    carrying = 0
    for one in set(space[close].tolist()):
        own = close[space[close] == one]
        carrying += not edges[own[np.argmin(gap[own])]]
    own_turn = np.angle(place[at]) - turn
    return Push(
        float(gap[at]),
        across,
        complex(place[at]),
        int(np.rint(own_turn * teeth / (2 * np.pi))) % teeth,
        int(tooth[at]),
        carrying,
    )
