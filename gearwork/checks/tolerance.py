"""The chance that a mesh binds or loses overlap, and the setting that makes it small enough."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gearwork.checks.mesh import LEAST_CONTACT_RATIO
from gearwork.checks.sampling import (
    SAMPLES,
    Drawn,
    Scatter,
    Setting,
    Spread,
    draw,
    sample_pair,
    spread_at,
)
from gearwork.checks.verdict import Check, CheckReport
from gearwork.errors import GearworkError, number
from gearwork.geometry.pair import GearPair
from gearwork.geometry.tooth import Cutter

__all__ = [
    "SafeSetting",
    "Scatter",
    "Spread",
    "check_tolerance",
    "draw",
    "safe_distance",
    "sample_pair",
]

Floats = NDArray[np.float64]

ACCEPTED = 0.01
"""Chance of binding, and of too little overlap, that is put up with (assumption)."""

SOURCE = "sampling with the formulas of the pair; scatter and accepted chance are assumptions"


@dataclass(frozen=True, eq=False)
class SafeSetting:
    """A centre distance and a thinning that keep the chances accepted.

    Attributes
    ----------
    centre_distance : float
        mm.
    added_thinning : float
        To add to the thinning of both gears, mm on the reference circle; 0 where the distance
        alone is enough.
    spread : Spread
        What becomes of the pair then.
    """

    centre_distance: float
    added_thinning: float
    spread: Spread


def safe_distance(
    pair: GearPair,
    scatter: Scatter | None = None,
    *,
    accepted: float = ACCEPTED,
    contact_ratio: float = LEAST_CONTACT_RATIO,
    bit: Cutter | None = None,
    samples: int = SAMPLES,
    seed: int = 0,
) -> SafeSetting:
    """Return the setting nearest to the pair's own at which it neither binds nor loses overlap.

    The shafts are moved as far as that alone helps; teeth are thinned only where the overlap
    does not allow the distance that the play asks for. The gears keep their tips; longer ones,
    which wider shafts would allow, are not counted on.

    Parameters
    ----------
    pair : GearPair
        As designed.
    scatter : Scatter, optional
        Default: the assumptions of `Scatter`.
    accepted : float
        Chance of binding, and chance of too little overlap, to put up with.
    contact_ratio : float
        Overlap to keep.
    bit, samples, seed
        As for `sample_pair`.

    Raises
    ------
    GearworkError
        If no setting of this pair keeps both.
    """
    given = Scatter() if scatter is None else scatter
    drawn = draw(given, samples, seed)
    search = _Search(
        drawn,
        given.deflection,
        number("accepted chance", accepted, at_least=10 / len(drawn.shafts), at_most=0.5),
        number("contact ratio to keep", contact_ratio, at_least=0.5, at_most=3.0),
    )
    setting, thinning = search.apart(Setting.of(pair, bit)), 0.0
    if not search.keeps_overlap(search.spread(setting)):
        setting = search.together(setting)
        thinning = search.thinning(setting)
    spread = search.spread(setting.thinned(thinning))
    if spread.chance_of_binding > accepted or not search.keeps_overlap(spread):
        own = sample_pair(pair, scatter, bit=bit, samples=samples, seed=seed)
        raise GearworkError(
            f"contact ratio to keep is {contact_ratio:g} with a chance of {accepted:g} that less"
            f" is left or that the mesh binds: no distance and thinning of {pair!r} does both. At"
            f" its own distance it keeps {search.allowed(own.contact_ratio):.3f} that surely;"
            " ask for less, work more exactly, or take more addendum or a larger module"
        )
    return SafeSetting(setting.distance, thinning, spread)


SHORTEST_STEP, ROUNDS, GRID = 1e-5, 15, 1e-3
"""Where a search ends, mm or rounds, and what its result is rounded to, mm."""


class _Search(NamedTuple):
    """A search with the same errors at every setting, so that chances change steadily."""

    drawn: Drawn
    deflection: float
    accepted: float
    contact_ratio: float

    def spread(self, setting: Setting) -> Spread:
        return spread_at(setting, self.drawn, self.deflection)

    def keeps_overlap(self, spread: Spread) -> bool:
        return spread.chance_of_overlap_below(self.contact_ratio) <= self.accepted

    def allowed(self, margins: Floats) -> float:
        """The margin that just the accepted share of samples fall below."""
        rank = int(self.accepted * len(margins))
        return float(np.partition(margins, rank)[rank])

    def apart(self, setting: Setting) -> Setting:
        """Shafts moved apart, if need be, until binding is as rare as accepted."""

        def missing(distance: float) -> float:
            moved = setting._replace(distance=distance)
            spread = self.spread(moved)
            room = np.minimum(
                spread.backlash / (2 * np.tan(moved.working_angle)), spread.tip_clearance
            )
            return max(-self.allowed(room), 0.0)

        return setting._replace(distance=_settled(setting.distance, missing, 1))

    def together(self, setting: Setting) -> Setting:
        """Shafts moved together until too little overlap is as rare as accepted.

        Not so near that tips would be shortened, which loses more overlap than nearness gains.
        """

        def missing(distance: float) -> float:
            moved = setting._replace(distance=distance)
            spare = self.spread(moved).contact_ratio - self.contact_ratio
            pitch = setting.pinion.base_pitch * np.sin(moved.working_angle)
            return float(min(self.allowed(spare), 0.0) * pitch)

        distance = _settled(setting.distance, missing, -1)
        return setting._replace(distance=max(distance, setting.closest))

    def thinning(self, setting: Setting) -> float:
        """Thinning to add to both gears until binding is as rare as accepted, mm."""

        def missing(thinning: float) -> float:
            spread = self.spread(setting.thinned(thinning))
            play = np.where(spread.tip_clearance < 0.0, -np.inf, spread.backlash)
            allowed = self.allowed(play)
            return max(-allowed / 2, 0.0) if np.isfinite(allowed) else 0.0

        return _settled(0.0, missing, 1)


def _settled(start: float, missing: Callable[[float], float], sign: int) -> float:
    """Follow what is missing until nothing is, rounded in the direction given."""
    value = start
    for _ in range(ROUNDS):
        step = missing(value)
        value += step
        if abs(step) < SHORTEST_STEP:
            break
    if value == start:
        return start
    return float(sign * np.ceil(sign * value / GRID + 1e-6) * GRID)


def check_tolerance(
    pair: GearPair,
    scatter: Scatter | None = None,
    *,
    accepted: float = ACCEPTED,
    contact_ratio: float = LEAST_CONTACT_RATIO,
    bit: Cutter | None = None,
    samples: int = SAMPLES,
    seed: int = 0,
) -> CheckReport:
    """Judge whether a pair binds or loses overlap too often when nothing is exact.

    Parameters and errors are those of `safe_distance`, whose result is the remedy.

    Parameters
    ----------
    pair : GearPair
        As designed.
    scatter : Scatter, optional
        Default: the assumptions of `Scatter`.
    accepted : float
        Chance of binding, and chance of too little overlap, to put up with.
    contact_ratio : float
        Overlap to keep.
    bit, samples, seed
        As for `sample_pair`.

    Returns
    -------
    CheckReport
        Chances from 0 to 1.

    Raises
    ------
    GearworkError
        If a number is out of its range.

    Examples
    --------
    Teeth without play bind in about every workshop; 0.2 mm off each tooth cures that.

    >>> from gearwork import Gear, GearPair
    >>> for thinning in (0.0, 0.2):
    ...     gears = (Gear(5, z, 0.2, thinning=thinning) for z in (14, 38))
    ...     print(check_tolerance(GearPair(*gears), samples=1000).ok)
    False
    True
    """
    spread = sample_pair(pair, scatter, bit=bit, samples=samples, seed=seed)
    binding = spread.chance_of_binding
    low = spread.chance_of_overlap_below(contact_ratio)
    remedy = ""
    if max(binding, low) > accepted:
        try:
            remedy = _advice(
                safe_distance(
                    pair,
                    scatter,
                    accepted=accepted,
                    contact_ratio=contact_ratio,
                    bit=bit,
                    samples=samples,
                    seed=seed,
                )
            )
        except GearworkError as error:
            remedy = f"{error}."
    least, middle, most = spread.quantiles()
    return CheckReport(
        "tolerance",
        (
            Check(
                name="chance of binding",
                value=binding,
                limit=accepted,
                unit="",
                sense="at most",
                why=f"Share of {len(spread.backlash)} sampled pairs that bind somewhere in their"
                f" turn, {_how_surely(spread, binding)}; their least backlash is"
                f" {middle:.3f} mm in the middle, 98 of 100 have {least:.3f} to {most:.3f} mm.",
                remedy=remedy,
                source=SOURCE,
            ),
            Check(
                name=f"chance of a contact ratio below {contact_ratio:g}",
                value=low,
                limit=accepted,
                unit="",
                sense="at most",
                why="Share of the same pairs whose teeth lose each other at the widest place of"
                f" their turn, {_how_surely(spread, low)}.",
                remedy=remedy,
                source=SOURCE,
            ),
        ),
    )


def _how_surely(spread: Spread, chance: float) -> str:
    """How well a chance is known; where none was found, by the rule of three."""
    if chance == 0.0:
        return f"surely fewer than {3 / len(spread.backlash):.1g}"
    return f"give or take {spread.standard_error(chance):.1g}"


def _advice(safe: SafeSetting) -> str:
    words = f"Set the shafts {safe.centre_distance:.3f} mm apart"
    if safe.added_thinning > 0:
        words += f" and thin the teeth of both gears by another {safe.added_thinning:.3f} mm"
    return (
        f"{words}: then the chance of binding is {safe.spread.chance_of_binding:.3g}, the middle"
        f" of the least backlash {safe.spread.quantiles((0.5,))[0]:.3f} mm."
    )
