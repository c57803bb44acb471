"""The screws that hold a rack on its bed, against the teeth's force on one of its pieces."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice

from gearwork.checks.check import Check, Step, Way
from gearwork.checks.hub import johansen
from gearwork.checks.hub.joints import JointUse, factor_steps
from gearwork.geometry.rack import Bar
from gearwork.numbers import round_up
from gearwork.stock.laminate import Panel
from gearwork.stock.timber import design_value

SCREWS = (3.0, 3.5, 4.0, 4.5, 5.0, 6.0, 8.0)
"""Wood screws that are sold, mm (DIN 7997, from memory)."""

HOLE_PLAY = 0.5
"""By how much a hole that is told is wider than its screw, mm."""

SCREW_PLAY = 0.3
"""Least of a screw in its hole, mm (common practice: 4.5 mm for a 4 mm screw)."""

CORE = 0.7
"""Core of a wood screw's thread over its diameter (DIN 7998, from memory)."""

SCREW_STEEL = 400.0
"""Tensile strength of wood screws, MPa (from memory)."""

IN_BED = 6.0
"""How deep a screw goes into the bed, diameters (EN 1995-1-1 8.3.1.2, from memory)."""

BED_DENSITY = 350.0
"""Characteristic density of the bed, kg/m³: C24 of EN 338 (from memory)."""


def screw_for(hole: float) -> float:
    """Return the thickest screw that goes through a hole, mm."""
    return max((size for size in SCREWS if size <= hole - SCREW_PLAY), default=SCREWS[0])


def screw_length(hole: float, panel: Panel) -> float:
    """Return how long the screws of a bar must be, mm: full fives."""
    return 5.0 * math.ceil((panel.thickness + IN_BED * screw_for(hole)) / 5.0)


def screw_load(diameter: float, panel: Panel) -> tuple[float, tuple[Step, ...]]:
    """Return what a screw carries across a bar and its bed of softwood, N, and the steps to it.

    Up to an effective diameter of 6 mm, 1.1 times the core, wood takes it as a nail that is not
    predrilled.
    """
    d = 1.1 * CORE * diameter
    embedment = (
        johansen.threaded_embedment(d, panel.sheet.characteristic_density),
        johansen.timber_embedment(d, BED_DENSITY),
    )
    moment = johansen.yield_moment(SCREW_STEEL, d)
    thickness = panel.thickness, IN_BED * diameter
    modes = johansen.wood_to_wood(embedment, thickness, d, moment)
    letter = min(modes, key=modes.__getitem__)
    return modes[letter], (
        Step("effective diameter of the screw", d, "mm", "EN 1995-1-1 8.7.1(3), 1.1 × 0.7 d"),
        Step("embedment strength of the bar", embedment[0], "MPa", "EN 1995-1-1 Eq. 8.20"),
        Step("embedment strength of the bed, C24", embedment[1], "MPa", "EN 1995-1-1 Eq. 8.15"),
        Step("yield moment M_y,Rk", moment, "N·mm", "EN 1995-1-1 Eq. 8.30, 400 MPa"),
        Step(f"load of one screw, mode {letter}", modes[letter], "N", "EN 1995-1-1 8.2.2"),
    )


def end_screw_force(places: Sequence[float], over: float, lever: float, tan: float) -> float:
    """Return the force on the end screw of a piece, as a share of the teeth's force along it.

    Statics: along the bar, which is stiff, all screws share; across it the two next to the end
    alone, of the push from the pinion, `tan` of it, `over` mm beyond the last of them, and of the
    moment of the force along, `lever` mm from their row. `places` of the screws, mm.
    """
    apart = min(places[1] - places[0], places[-1] - places[-2])
    return math.hypot(1.0 / len(places), tan * (1.0 + over / apart) + lever / apart)


def check_bar_screws(
    bar: Bar, bores: Sequence[float], force: float, panel: Panel, use: JointUse
) -> Check:
    """Judge the screws of a rack's pieces under a force of the teeth along it, N.

    `bores`: as its stage has them, mm, the last that of the screws; `panel`: of the bar.
    """
    factors, diameter = use.factors("nails"), screw_for(bores[-1])
    share, count = _end_share(bar)
    held, steps = screw_load(diameter, panel)
    value, limit = share * force, design_value(held, *factors)
    return Check(
        judged="screws of the rack",
        part="rack",
        kind="strength",
        value=value,
        limit=limit,
        unit="N",
        sense="at most",
        why=f"{force:.3g} N along a tooth at the end of a piece of bar are held by its {count}"
        " screws; the end one also takes the push from the pinion and what tilts the piece.",
        source=f"statics; Johansen's yield modes of {diameter:g} mm wood screws, EN 1995-1-1 8.2.2",
        basis=(*steps, *factor_steps(factors)),
        ways=() if value <= limit else tuple(islice(_thicker(bar, bores, force, panel, use), 1)),
    )


def _end_share(bar: Bar) -> tuple[float, int]:
    """Share of the teeth's force on the most loaded end screw, and how many its piece has."""
    rack = bar.rack
    tan, lever = math.tan(math.radians(rack.pressure_angle)), rack.hole_depth + rack.tip_height
    rows = [replace(rack, teeth=teeth).hole_places for _, teeth in bar.stretches]
    return max((end_screw_force(row, 2.0 * rack.pitch, lever, tan), len(row)) for row in rows)


def _thicker(
    bar: Bar, bores: Sequence[float], force: float, panel: Panel, use: JointUse
) -> Iterator[Way]:
    """Thicker screws that hold; a higher bar where three of their holes have no room below teeth.

    A higher bar is tilted more, so its screws are asked again.
    """
    rack = bar.rack
    for size in (size for size in SCREWS if size > screw_for(bores[-1])):
        height = max(rack.back_depth, round_up(rack.root_depth + 3.0 * (size + HOLE_PLAY), 1))
        limit = design_value(screw_load(size, panel)[0], *use.factors("nails"))
        if _end_share(replace(bar, rack=replace(rack, height=height)))[0] * force <= limit:
            higher = (("stage.rack_height", height),) if height > rack.back_depth else ()
            yield (("stage.bores", (*bores[:-1], size + HOLE_PLAY)), *higher)
