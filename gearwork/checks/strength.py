"""Strength of the teeth: what each gear bears in each load case, and the checks of it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from gearwork.checks.johansen import bolt_embedment
from gearwork.checks.load_case import LoadCase
from gearwork.checks.mesh import CutPair, Side
from gearwork.checks.tooth_stress import (
    DIRECTIONS,
    SheetRose,
    Utilisation,
    root_stress,
    weakest_tooth,
)
from gearwork.checks.verdict import Check, Step
from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import PairShape
from gearwork.stock.laminate import Panel
from gearwork.stock.timber import Factor, design_value

Kind = Literal["tension", "compression", "shear", "contact"]

POISSON = 0.3
LARGEST_PEG = 30.0
"""Bolt diameter up to which the embedment rule of EN 1995-1-1 8.5.1.1 holds, mm."""

MEAN_PRESSURE = np.pi / 4
"""Mean over greatest pressure of a Hertzian line contact; embedment is a mean pressure too."""

WORDS = {
    "tension": "Stress along the root fillet on the pulled side",
    "compression": "Stress along the root fillet on the pushed side",
    "shear": "Shear across the root",
    "contact": "Pressure between the flanks",
}
SOURCES = {
    "tension": "beam of the section as cut, notch factor ISO 6336-3, stiffness of the sheet",
    "compression": "beam of the section as cut, notch factor ISO 6336-3, stiffness of the sheet",
    "shear": "parabola across the section as cut",
    "contact": "Hertz, two cylinders, mean pressure; embedment as limit, no fatigue of it known: assumption",
}


@dataclass(frozen=True)
class ToothLimit:
    """What one gear's weakest tooth bears in one load case.

    Attributes
    ----------
    side : {"pinion", "wheel"}
        The gear.
    case : LoadCase
        The load.
    kind : str
        What gives way first: "tension", "compression", "shear" or "contact".
    stress, strength : float
        Design stress under the case's torque and design strength, MPa.
    torque : float
        Greatest allowable torque on the pinion, N·m.
    basis : tuple of Step
        From the characteristic strength to the design value.
    """

    side: Side
    case: LoadCase
    kind: Kind
    stress: float
    strength: float
    torque: float
    basis: tuple[Step, ...]


def line_load(pinion: Gear, torque: float, face_width: float) -> float:
    """Return the normal force per mm of face width, F_n / b = T / (r_b b), N/mm."""
    return 2000 * torque / pinion.base_diameter / face_width


def tooth_limits(
    cut: CutPair, panel: Panel, face_width: float, cases: Sequence[LoadCase]
) -> tuple[ToothLimit, ...]:
    """Return what pinion and wheel bear, for each case, root first, then contact.

    The whole load stands at the tip on one tooth: a routed gear shares it only by chance.

    Parameters
    ----------
    cut : CutPair
        The pair as cut.
    panel : Plywood or Stack
        What the gears are cut from.
    face_width : float
        b, mm.
    cases : sequence of LoadCase
        The loads.
    """
    rose = SheetRose.of(panel)
    roots = {
        side: weakest_tooth(root_stress(tooth, gear.tip_diameter), rose)
        for side, gear, _, tooth in cut.sides()
    }
    limits = []
    for case in cases:
        limits += [
            _root_limit(cut, side, roots[side], panel, rose, face_width, case) for side in roots
        ]
        limits.append(_contact_limit(cut, panel, face_width, case))
    return tuple(limits)


def _root_limit(
    cut: CutPair,
    side: Side,
    share: Utilisation,
    panel: Panel,
    rose: SheetRose,
    face_width: float,
    case: LoadCase,
) -> ToothLimit:
    gear: Gear = getattr(cut.pair, side)
    factors = case.factors(gear, cut.pair.pinion)
    kind = share.kind
    angle, strength = _edge_strength(panel, rose, kind)
    design = design_value(strength, *factors)
    load = case.application_factor * line_load(cut.pair.pinion, case.torque, face_width)
    stress = load * float(getattr(share, kind)) * strength
    per_torque = line_load(cut.pair.pinion, 1.0, face_width) * float(getattr(share, kind))
    return ToothLimit(
        side,
        case,
        kind,  # type: ignore[arg-type]
        stress,
        design,
        design / strength / per_torque / case.application_factor,
        _basis(f"{kind} strength at {angle:g}° to the grain", strength, panel.source, factors),
    )


def _edge_strength(panel: Panel, rose: SheetRose, kind: str) -> tuple[float, float]:
    """Direction in which the sheet fails first by this kind, and its strength there, MPa."""
    strength = np.asarray(getattr(panel, f"{kind}_at")(DIRECTIONS))
    load = 1.0 if kind == "shear" else rose.edge_factor(DIRECTIONS)
    worst = int(np.argmax(load / strength))
    return float(DIRECTIONS[worst]), float(strength[worst])


def _basis(
    name: str, characteristic: float, source: str, factors: Sequence[Factor]
) -> tuple[Step, ...]:
    steps = [Step(f"characteristic {name}", characteristic, "MPa", source)]
    steps += [
        Step(f"{'divided by' if f.divides else 'times'} {f.quantity}", f.value, "", f.source)
        for f in factors
    ]
    return (*steps, Step("design value", design_value(characteristic, *factors), "MPa", "product"))


def contact_curvature(pair: PairShape[Any]) -> Any:
    """Return the least effective radius of curvature where one tooth pair carries alone, mm."""
    start, end = pair.contact_limits
    pitch = pair.pinion.base_pitch
    line = pair.line_of_action
    first, last = np.maximum(end - pitch, start), np.minimum(start + pitch, end)
    return np.minimum(first * (line - first), last * (line - last)) / line


def _contact_limit(
    cut: CutPair, panel: Panel, face_width: float, case: LoadCase
) -> ToothLimit:
    pair = cut.pair
    radius = max(float(contact_curvature(pair)), 1e-9)
    modulus = float(np.max(panel.modulus_at(DIRECTIONS))) / (2 * (1 - POISSON**2))
    factors = case.static_factors
    peg = min(2 * radius, LARGEST_PEG)
    strength = bolt_embedment(peg, panel.characteristic_density)
    design = design_value(strength, *factors)
    load = case.application_factor * line_load(pair.pinion, case.torque, face_width)
    bearable = (design / MEAN_PRESSURE) ** 2 * np.pi * radius / modulus
    return ToothLimit(
        "pinion",
        case,
        "contact",
        float(MEAN_PRESSURE * np.sqrt(load * modulus / (np.pi * radius))),
        design,
        float(bearable / (case.application_factor * line_load(pair.pinion, 1.0, face_width))),
        _basis(
            f"embedment strength under a peg of {peg:.3g} mm",
            strength,
            "EN 1995-1-1:2004 eq. (8.36)",
            factors,
        ),
    )


def strength_checks(limits: Sequence[ToothLimit], face_width: float) -> tuple[Check, ...]:
    """Return a check for each limit.

    Parameters
    ----------
    limits : sequence of ToothLimit
        From `tooth_limits`.
    face_width : float
        b, mm, for the remedy.
    """
    return tuple(_strength_check(limit, face_width) for limit in limits)


def _strength_check(limit: ToothLimit, face_width: float) -> Check:
    case = limit.case
    wider = np.ceil(10 * face_width * case.torque / limit.torque) / 10
    flanks = limit.kind == "contact"
    name = "flank pressure" if flanks else f"tooth bending, {limit.side}"
    return Check(
        name=f"{name}, {case.name}",
        value=limit.stress,
        limit=limit.strength,
        unit="MPa",
        sense="at most",
        why=(
            f"{WORDS[limit.kind]}, weakest tooth, whole load at the tip; the pinion may be given"
            f" {limit.torque:.3g} N·m in this case, it is given {case.torque:.3g} N·m."
        ),
        remedy=(
            f"Make the gears {wider:g} mm thick, keep the pinion's torque to"
            f" {limit.torque:.3g} N·m, or take a larger module."
        ),
        source=SOURCES[limit.kind],
        basis=limit.basis,
    )
