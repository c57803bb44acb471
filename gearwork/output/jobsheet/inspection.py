"""What to measure on finished gears with calipers and pins, and within which limits."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gearwork.errors import GearworkError, number
from gearwork.geometry.features import Windows
from gearwork.geometry.gear_outline import fitting_tooth
from gearwork.geometry.measuring import (
    bar_pin,
    pin_for,
    pin_height,
    teeth_to_span,
)
from gearwork.geometry.pair import GearPair, PairShape
from gearwork.geometry.rack import Rack
from gearwork.geometry.tooth import Cutter, CutTooth

LARGEST_SHARE = 0.1
"""Largest tolerance of an edge, in modules: beyond it a tooth is another one (assumption)."""


@dataclass(frozen=True)
class InspectionRow:
    """One line of the inspection sheet.

    `part`: "pinion" or "wheel"; `quantity`: what is measured, e.g. "span over 5 teeth"; `nominal`,
    `lower`, `upper`: value as designed and its limits, in `unit`; `unit`: unit of the three; `how`:
    how to measure it.
    """

    part: str
    quantity: str
    nominal: float
    lower: float
    upper: float
    unit: str
    how: str


def inspection_rows(
    pair: GearPair,
    bit: Cutter,
    tolerance: float,
    centre_tolerance: float,
    bores: Sequence[float | None] = (None, None),
) -> tuple[InspectionRow, ...]:
    """Return what to measure on both gears of a pair, and what to feel for between them.

    `tolerance`: how far any cut edge may lie from its line, to either side, mm; `centre_tolerance`:
    how far the centre distance may be off, to either side, mm; `bores`: bore of pinion and wheel as
    it is to be cut, mm; None: no row.

    An edge that lies e outside its line makes spans and tip diameters 2 e larger and bores 2 e
    smaller, exactly; over pins is reckoned anew with the thicker tooth.
    """
    module = pair.pinion.module
    tolerance = number(
        "tolerance of the edges", tolerance, unit="mm", above=0.0, at_most=LARGEST_SHARE * module
    )
    centre_tolerance = number(
        "tolerance of the centre distance",
        centre_tolerance,
        unit="mm",
        at_least=0.0,
        at_most=0.2 * module,
    )
    if len(bores) != 2:
        raise GearworkError(f"{len(bores)} bores are given: two are needed, pinion and wheel")
    rows: list[InspectionRow] = []
    second = pair.called("wheel")
    gears = (("pinion", pair.pinion, pair.wheel), (second, pair.wheel, pair.pinion))
    for (name, gear, mate), bore in zip(gears, bores, strict=True):
        cut = fitting_tooth(gear, bit, mate, pair.centre_distance)
        rows += _edge_rows(name, cut, tolerance)
        if bore is not None:
            rows.append(_bore_row(name, bore, tolerance))
        rows.append(_play_row(name, pair, tolerance, centre_tolerance))
    return tuple(rows)


def spoke_row(windows: Windows, tolerance: float) -> InspectionRow:
    """Return how to measure the spokes between the windows of a wheel."""
    width, play = windows.spoke_width, 2 * tolerance
    how = "caliper across the middle of every spoke"
    return InspectionRow("wheel", "spoke width", width, width - play, width + play, "mm", how)


def _edge_rows(name: str, cut: CutTooth[float], tolerance: float) -> list[InspectionRow]:
    gear = cut.gear
    if isinstance(gear, Rack):
        return _bar_rows(gear, tolerance)
    shapes = (gear, gear.offset(-tolerance), gear.offset(tolerance))
    measured: list[tuple[str, list[float], str]] = []
    spanned, pin = teeth_to_span(cut), pin_for(cut)
    if spanned is not None:
        how = "caliper jaws square on the outer flanks; try several places round the rim"
        spans = [shape.span(spanned) for shape in shapes]
        measured.append((f"span over {spanned} teeth", spans, how))
    if pin is not None:
        where = "opposite spaces" if gear.teeth % 2 == 0 else "the two most nearly opposite spaces"
        how = f"shanks of two {pin:g} mm drills in {where}, caliper over both"
        over = [shape.over_pins(pin) for shape in shapes]
        if np.isfinite(over).all():
            measured.append((f"over {pin:g} mm pins", over, how))
    if gear.teeth % 2 == 0:
        how = "caliper over opposite tips"
    else:
        how = "odd number of teeth: from the edge of the bore to a tip, twice that plus the bore"
    measured.append(("tip diameter", [shape.tip_diameter for shape in shapes], how))
    return [
        InspectionRow(name, quantity, nominal, lower, upper, "mm", how)
        for quantity, (nominal, lower, upper), how in measured
    ]


def _bar_rows(rack: Rack, tolerance: float) -> list[InspectionRow]:
    """What calipers find on a bar: its height, and a pin in a space over the back."""
    pin = bar_pin(rack)
    whole, wider = rack.tip_height + rack.back_depth, 2 * tolerance
    over, low, high = (
        rack.back_depth + edge + pin_height(rack, pin, edge) + pin / 2
        for edge in (0.0, -tolerance, tolerance)
    )
    how = "caliper from the back over the tips, at both ends and between"
    pinned = f"shank of a {pin:g} mm drill in a space, caliper from the back over it"
    return [
        InspectionRow("rack", f"over a {pin:g} mm pin", over, low, high, "mm", pinned),
        InspectionRow("rack", "height", whole, whole - wider, whole + wider, "mm", how),
    ]


def joint_row(rack: Rack, deviation: float) -> InspectionRow:
    """Return how to measure the pitch over a joint of a bar, off by `deviation` at most, mm."""
    pin = bar_pin(rack)
    over = 2.0 * rack.pitch + pin
    how = f"shanks of two {pin:g} mm drills in the spaces beside a joint, caliper over both"
    low, high = over - deviation, over + deviation
    return InspectionRow("rack", f"over a joint, {pin:g} mm pins", over, low, high, "mm", how)


def _bore_row(name: str, bore: float, tolerance: float) -> InspectionRow:
    bore = number(f"bore of the {name}", bore, unit="mm", above=2 * tolerance)
    how = "inside jaws, along and across the grain"
    return InspectionRow(name, "bore", bore, bore - 2 * tolerance, bore + 2 * tolerance, "mm", how)


def _play_row(
    name: str, pair: GearPair, tolerance: float, centre_tolerance: float
) -> InspectionRow:
    nominal, lower, upper = (
        _play_at_tips(pair, name, edge, centre)
        for edge, centre in (
            (0.0, 0.0),
            (tolerance, -centre_tolerance),
            (-tolerance, centre_tolerance),
        )
    )
    mate = pair.called("wheel") if name == "pinion" else "pinion"
    how = f"assembled: hold the {mate} still, rock the {name}, watch the tip of a tooth"
    if not lower >= 0:
        how += "; at the tight end of the tolerances the teeth bind"
    least = lower if lower >= 0 else 0.0
    return InspectionRow(name, "backlash at the rim", nominal, least, upper, "mm", how)


def _play_at_tips(pair: GearPair, name: str, edge: float, centre: float) -> float:
    """Way of a tooth tip within the backlash, mm, with edges and centre distance off by that."""
    shape = PairShape(
        pair.pinion.offset(edge),
        pair.wheel.offset(edge),
        pair.centre_distance + centre,
    )
    side = 0 if name == "pinion" else 1
    tip = (shape.pinion, shape.wheel)[side].tip_diameter
    return float(shape.backlash * tip / shape.working_pitch_diameters[side])
