"""Friction between the flanks: what it costs, and what it adds at the root.

Flanks slide past each other everywhere but at the pitch point. The sliding takes power from the
mesh, more when starting than when moving, and its force bends the driving tooth.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from gearwork.geometry.pair import PairShape


@dataclass(frozen=True)
class FlankFriction:
    """Coefficients of friction between flanks: of those that slide, and of those at rest."""

    moving: float
    starting: float
    source: str


# Wood on wood is much like wood on rough steel; wax is what makers rub in.
FRICTION = {
    "dry": FlankFriction(
        0.40, 0.65, "dry wood on rough steel, wood on wood alike (McKenzie and Karpovich 1968)"
    ),
    "waxed": FlankFriction(0.20, 0.35, "waxed wood on wood, 0.1 to 0.3 moving (from memory)"),
    "steel": FlankFriction(
        0.30, 0.50, "dry wood on smooth steel, 0.3 to 0.5 (Wood Handbook, from memory)"
    ),
}


TYPICAL_LOSS = 0.25
"""H of a pair of 10 and 40 teeth, where no pair is chosen yet; more teeth lose less."""


def loss_factor(pinion_teeth: Any, wheel_teeth: Any, pinion_share: Any, wheel_share: Any) -> Any:
    """Return H: the power lost in a mesh is the friction coefficient times H times the power.

    The shares are the parts of the contact ratio from the pitch point to the tip of the pinion
    (ε1) and of the wheel (ε2). H = π (1/z1 + 1/z2)(1 − ε + ε1² + ε2²), external spur gears, load
    shared evenly by the teeth in contact (Ohlendorf; Niemann and Winter, Maschinenelemente 2,
    from memory). A share is below 0 where contact ends before the pitch point.
    """
    parts = 1 - pinion_share - wheel_share + pinion_share**2 + wheel_share**2
    return np.pi * (1 / pinion_teeth + 1 / wheel_teeth) * parts


def tip_shares(pair: PairShape[Any]) -> tuple[Any, Any]:
    """Return ε1 and ε2, the parts of the contact ratio beyond the pitch point, of either tip."""
    start, end = pair.contact_limits
    first, second = pair.pinion.circle_teeth, pair.wheel.circle_teeth
    pitch_point = pair.line_of_action * first / (first + second)
    base_pitch = pair.pinion.base_pitch
    return (end - pitch_point) / base_pitch, (pitch_point - start) / base_pitch


def mesh_loss(pair: PairShape[Any]) -> Any:
    """Return H of a pair, or of arrays of pairs."""
    teeth = pair.pinion.circle_teeth, pair.wheel.circle_teeth
    return loss_factor(*teeth, *tip_shares(pair))


def mesh_efficiency(losses: Any, friction: float) -> Any:
    """Return 1 − μ H: what a mesh passes on of the power, bearings apart; the mean of some.

    `losses`: H of each mesh, along the last axis; their geometric mean, for powers multiply.
    """
    kept = 1.0 - friction * np.asarray(losses)
    return np.prod(kept, axis=-1) ** (1.0 / kept.shape[-1])


def driving_tooth(arm: Any, half_thickness: Any, angle: Any, friction: float) -> tuple[Any, Any]:
    """Return bending moment and pressing force that 1 N of normal force and its friction make.

    At the tip of the gear that drives, the mate drags the flank outwards: friction adds to the
    moment and takes from the force along the tooth's axis. On the driven gear it is the other way
    round, which is not counted on. With the force's line through the axis a distance `arm` above
    the section, mm, `angle` degrees from square to the axis, `half_thickness` mm of the tooth
    where the force meets the flank:

        M = h cos α + μ (h sin α + e / cos α),  N = sin α − μ cos α

    Statics. N below 0 pulls.
    """
    alpha = np.radians(angle)
    across, along = np.cos(alpha), np.sin(alpha)
    lever = arm * along + half_thickness / across
    return arm * across + friction * lever, along - friction * across
