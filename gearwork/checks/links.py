"""A link between a gear and its rod, what torque it holds, and the safety factors on it."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

from gearwork.checks.verdict import Step
from gearwork.stock.laminate import Panel
from gearwork.stock.timber import Factor, design_value, fatigue_factor, gamma_m, k_mod

Factors = tuple[Factor, ...]

ADHESIVE_FACTORS = (
    Factor(
        "partial factor, adhesive on metal", 2.0, "assumption: dirt, gap, heat, repeated load", True
    ),
)
STEEL_FACTORS = (
    Factor("partial factor, steel slipping on steel", 1.25, "EN 1993-1-8 (from memory)", True),
)


@dataclass(frozen=True)
class LinkRating:
    """What one link holds.

    Attributes
    ----------
    name : str
        Which link it is.
    characteristic_torque, design_torque : float
        N·m, before and after the safety factors.
    steps : tuple of Step
        How they were arrived at.
    why : str
        What holds here, in one sentence.
    source : str
        Where the formula comes from.
    """

    name: str
    characteristic_torque: float
    design_torque: float
    steps: tuple[Step, ...]
    why: str
    source: str


class Link(Protocol):
    """One link of the path from the gear to the rod."""

    def rate(self, panel: Panel, factors: Factors) -> LinkRating:
        """Return the torque it holds in a gear of `panel`; `factors` are those of the wood."""


def wood_factors(
    service_class: int = 2, duration: str = "short", starts: float = 10_000.0
) -> Factors:
    """Return the factors between characteristic and design torque of a joint in wood.

    Parameters
    ----------
    service_class, duration : int, str
        As in `gearwork.stock.timber.k_mod`.
    starts : float
        How often the torque comes and goes in the machine's life; stopping brakes through the
        gears, so that it reverses (R = −1). 1 for a single jam.

    Raises
    ------
    GearworkError
        If there is no such class or duration, or `starts` is below 1.

    References
    ----------
    EN 1995-1-1:2004 2.4.3, with gamma_M of connections; fatigue by the Wood Handbook, ch. 5.
    """
    return (
        k_mod(service_class, duration),
        gamma_m("connections"),
        fatigue_factor(-1.0, starts),
    )


def rated(
    name: str, torque: float, steps: Iterable[Step], factors: Factors, why: str, source: str
) -> LinkRating:
    """Return the rating of a link that holds `torque` N·mm."""
    held = torque / 1000.0
    applied = (Step(factor.quantity, factor.value, "", factor.source) for factor in factors)
    return LinkRating(
        name=name,
        characteristic_torque=held,
        design_torque=design_value(held, *factors),
        steps=(
            *steps,
            Step(f"{name}: characteristic torque", held, "N·m", source),
            *applied,
        ),
        why=why,
        source=source,
    )
