"""Two cut outlines turned through their mesh: play, clearance, transmission error, contacts."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gearwork.checks.first_contact import Way, free_way, mesh_of, tip_clearance
from gearwork.checks.flank_table import ToothedEdge
from gearwork.errors import GearworkError, number, whole_number
from gearwork.geometry.outline import Outline

Floats = NDArray[np.float64]

FEWEST_STEPS = 40
"""Positions for each tooth, so that the contact ratio is good to two or three hundredths."""


class Touch(NamedTuple):
    """A place of contact.

    Attributes
    ----------
    pinion_tooth, wheel_tooth : int
        Counted counter-clockwise from 0, see `roll`.
    pinion_angle : float
        Nominal turn of the pinion, degrees.
    x, y : float
        From the pinion's centre, mm; the wheel's centre lies on +x.
    """

    pinion_tooth: int
    wheel_tooth: int
    pinion_angle: float
    x: float
    y: float


@dataclass(frozen=True, eq=False)
class Rolling:
    """Two outlines through a full turn of the one with more teeth.

    Attributes
    ----------
    centre_distance : float
        mm.
    pinion_angle : ndarray, shape (n,)
        Nominal turn of the pinion at each position, degrees.
    forward, backward : ndarray, shape (n,)
        How far the pinion can turn from there counter-clockwise and clockwise until it touches
        the wheel, mm of arc on its working pitch circle; negative where it overlaps already,
        infinite where it meets nothing.
    flank_clearance : ndarray, shape (n,)
        Distance of the flanks with the pinion in the middle of its play, mm; negative where
        they overlap however it is turned. To first order in the play where an edge is nearest.
    tip_clearances : tuple of float
        Least distance of pinion tip and wheel tip to the mate's root, the highest tooth over
        the shallowest space, mm; negative where they overlap.
    contact_ratio : float
        Tooth pairs whose flanks, not the edges of their tips, are within
        `first_contact.COMPLIANCE` of touching, on average; the worse way of turning. Coarse
        outlines touch at an edge too early, which takes up to 0.05, more below a module of 2.
    first_touch : Touch, optional
        Where the pinion is stopped earliest, whichever way it turns.
    """

    centre_distance: float
    pinion_angle: Floats
    forward: Floats
    backward: Floats
    flank_clearance: Floats
    tip_clearances: tuple[float, float]
    contact_ratio: float
    first_touch: Touch | None

    @property
    def backlash(self) -> Floats:
        """j_wt at each position, mm, shape (n,)."""
        return self.forward + self.backward

    @property
    def least_backlash(self) -> float:
        """Least j_wt through the turn, mm."""
        return float(self.backlash.min())

    @property
    def least_clearance(self) -> float:
        """Least distance of the outlines through the turn, the pinion amid its play, mm."""
        return float(min(self.flank_clearance.min(), *self.tip_clearances))

    @property
    def collides(self) -> bool:
        """Whether the outlines overlap somewhere however the pinion is turned in its play."""
        return self.least_clearance < 0.0

    @property
    def transmission_errors(self) -> tuple[Floats, Floats]:
        """Lead of a driving pinion over the ratio of teeth, counter-clockwise and clockwise.

        µm of arc on the working pitch circle against the mean of the turn, shapes (n,); infinite
        where the pinion meets nothing.
        """
        return _deviation(self.forward), _deviation(self.backward)

    @property
    def transmission_error_span(self) -> float:
        """Peak to peak transmission error, µm, the worse way of turning."""
        if not np.isfinite(self.backlash).all():
            return np.inf
        return float(max(np.ptp(error) for error in self.transmission_errors))


def _deviation(way: Floats) -> Floats:
    meets = np.isfinite(way)
    mean = way[meets].mean() if meets.any() else 0.0
    return np.where(meets, 1000.0 * (way - mean), np.inf)


def roll(
    pinion: Outline,
    wheel: Outline,
    centre_distance: float,
    teeth: tuple[int, int],
    positions: int = 720,
) -> Rolling:
    """Turn two cut outlines through their mesh, in equal steps over a turn of the larger.

    Parameters
    ----------
    pinion, wheel : Outline
        Toothed edges about the origin. Tooth 0 is the one nearest the x axis.
    centre_distance : float
        mm. At the start tooth 0 of the pinion points at the wheel, and the space before tooth 0
        of the wheel at the pinion.
    teeth : tuple of int
        Tooth counts of pinion and wheel.
    positions : int
        Least number of steps; rounded up to a whole number for each tooth, `FEWEST_STEPS` or
        more.

    Returns
    -------
    Rolling
        Play and clearance at every position, mm.

    Raises
    ------
    GearworkError
        If an outline has no such teeth, or a gear would reach the other's centre.

    Examples
    --------
    Two outlines turn with the play their gears were designed with, give or take their tolerance.

    >>> import gearwork as gw
    >>> pair = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 38, thinning=0.2))
    >>> distance = pair.centre_distance
    >>> gears = (pair.pinion, pair.wheel), (pair.wheel, pair.pinion)
    >>> pinion, wheel = (gw.gear_outline(g, gw.Bit(3.0), mate, distance) for g, mate in gears)
    >>> rolling = roll(pinion, wheel, distance, (14, 38))
    >>> rolling.collides, bool(abs(rolling.backlash - pair.backlash).max() < 0.02)
    (False, True)
    """
    edges = ToothedEdge.of(pinion, teeth[0]), ToothedEdge.of(wheel, teeth[1])
    distance = number("centre distance", centre_distance, unit="mm", above=0.0)
    count = whole_number("positions", positions, at_least=1)
    reach = max(edge.reach for edge in edges)
    if distance <= reach:
        raise GearworkError(
            f"centre distance is {distance:g} mm: a gear of {2 * reach:.3f} mm tip diameter would"
            " reach the other's centre; are both outlines in millimetres?"
        )
    return roll_edges(*edges, distance, count)


def roll_edges(
    pinion: ToothedEdge, wheel: ToothedEdge, distance: float, positions: int = 720
) -> Rolling:
    """Turn two outlines whose flanks are tabulated; as `roll`."""
    larger = max(pinion.teeth, wheel.teeth)
    pitch = max(FEWEST_STEPS, -(-positions // larger))
    steps = np.arange(larger * pitch)
    angle = steps.astype(np.float64) * (360.0 / pitch / pinion.teeth)
    ways = (
        free_way(mesh_of(pinion.front, wheel.front, distance, steps, pitch, 0), len(steps)),
        free_way(mesh_of(pinion.back, wheel.back, distance, -steps, pitch, 1), len(steps)),
    )
    radius = distance * pinion.teeth / (pinion.teeth + wheel.teeth)
    lever = np.minimum(ways[0].lever, ways[1].lever)
    return Rolling(
        centre_distance=distance,
        pinion_angle=angle,
        forward=radius * ways[0].angle,
        backward=radius * ways[1].angle,
        flank_clearance=(ways[0].angle + ways[1].angle) / 2 * lever,
        tip_clearances=(
            tip_clearance(pinion, wheel, distance),
            tip_clearance(wheel, pinion, distance),
        ),
        contact_ratio=float(min(way.carrying.mean() for way in ways)),
        first_touch=_first_touch(ways, angle, (pinion.teeth, wheel.teeth)),
    )


def _first_touch(ways: tuple[Way, Way], angle: Floats, teeth: tuple[int, int]) -> Touch | None:
    """The contact that comes earliest against the middle of its way of turning."""
    finite = [np.where(np.isfinite(way.angle), way.angle, np.nan) for way in ways]
    if any(np.isnan(way).all() for way in finite):
        return None
    early = [way - np.nanmedian(way) for way in finite]
    side = int(np.nanmin(early[1]) < np.nanmin(early[0]))
    at = int(np.nanargmin(early[side]))
    way, sign = ways[side], 1 - 2 * side
    return Touch(
        int(sign * way.pinion_tooth[at]) % teeth[0],
        int(sign * way.wheel_tooth[at]) % teeth[1],
        float(angle[at]),
        float(way.place[at].real),
        float(sign * way.place[at].imag),
    )
