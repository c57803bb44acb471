"""What to measure on finished gears with calipers and pins, and within which limits."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from gearwork.checks.tooth.mesh import distance_tolerance
from gearwork.errors import GearworkError, number
from gearwork.geometry.gear_outline import fitting_tooth
from gearwork.geometry.measuring import bar_pin, pin_for, pin_height, teeth_to_span
from gearwork.geometry.pair import SIDES, GearPair, PairShape
from gearwork.geometry.rack import Rack
from gearwork.geometry.tooth import Cutter, CutTooth
from gearwork.machine.gear_set import GearSet

LARGEST_SHARE = 0.1
"""Largest tolerance of an edge, in modules: beyond it a tooth is another one (assumption)."""


class InspectionRow(NamedTuple):
    """Of "pinion", "wheel" or "rack": what is measured, e.g. "span over 5 teeth", and how.

    `nominal`, `lower`, `upper`: value as designed and its limits, mm.
    """

    part: str
    quantity: str
    nominal: float
    lower: float
    upper: float
    how: str


def inspection(design: GearSet, stage: int) -> tuple[InspectionRow, ...]:
    """Return what to measure on the gears of a stage; nothing where the bit cannot cut them."""
    pair = design.stages[stage].pair
    holes = {
        pair.called(gear.side): design.bore(gear) for gear in design.gears if gear.stage == stage
    }
    bores = [holes.get(pair.called(side)) for side in SIDES]
    edges = min(design.brief.tolerance.edge_tolerance, LARGEST_SHARE * pair.pinion.module)
    try:
        rows = [*inspection_rows(pair, design.brief.bit, edges, distance_tolerance(pair), bores)]
    except GearworkError:
        return ()
    found = [row for row in rows if row.part in holes]
    windows, bar = design.stages[stage].windows, design.bar(stage)
    if windows:
        how = "caliper across the middle of every spoke"
        found.append(_either_way("wheel", "spoke width", windows.spoke_width, 2 * edges, how))
    if bar and bar.jointed:
        pin, play = bar_pin(bar.rack), design.brief.tolerance.deviation
        how = f"shanks of two {pin:g} mm drills in the spaces beside a joint, caliper over both"
        over = 2.0 * bar.rack.pitch + pin
        found.append(_either_way("rack", f"over a joint, {pin:g} mm pins", over, play, how))
    return tuple(found)


def _either_way(part: str, what: str, nominal: float, play: float, how: str) -> InspectionRow:
    return InspectionRow(part, what, nominal, nominal - play, nominal + play, how)


def inspection_rows(
    pair: GearPair,
    bit: Cutter,
    tolerance: float,
    centre_tolerance: float,
    bores: Sequence[float | None] = (None, None),
) -> Iterator[InspectionRow]:
    """Yield what to measure on both gears of a pair, and what to feel for between them.

    `tolerance`: how far any cut edge may lie from its line, to either side, mm; `centre_tolerance`:
    how far the centre distance may be off, to either side, mm; `bores`: bore of pinion and wheel as
    it is to be cut, mm; None: no row.

    An edge that lies e outside its line makes spans and tip diameters 2 e larger and bores 2 e
    smaller, exactly; over pins is reckoned anew with the thicker tooth.
    """
    module = pair.pinion.module
    number("tolerance of the edges", tolerance, unit="mm", above=0.0,
           at_most=LARGEST_SHARE * module)  # fmt: skip
    number("tolerance of the centre distance", centre_tolerance, unit="mm", at_least=0.0,
           at_most=0.2 * module)  # fmt: skip
    gears = (("pinion", pair.pinion, pair.wheel), (pair.called("wheel"), pair.wheel, pair.pinion))
    for (name, gear, mate), bore in zip(gears, bores, strict=True):
        yield from _edge_rows(name, fitting_tooth(gear, bit, mate, pair.centre_distance), tolerance)
        if bore is not None:
            number(f"bore of the {name}", bore, unit="mm", above=2 * tolerance)
            yield _either_way(
                name, "bore", bore, 2 * tolerance, "inside jaws, along and across the grain"
            )
        yield _play_row(name, pair, tolerance, centre_tolerance)


def _edge_rows(name: str, cut: CutTooth[float], tolerance: float) -> Iterator[InspectionRow]:
    gear = cut.gear
    if isinstance(gear, Rack):
        yield from _bar_rows(gear, tolerance)
        return
    shapes = (gear, gear.offset(-tolerance), gear.offset(tolerance))
    spanned, pin = teeth_to_span(cut), pin_for(cut)
    if spanned is not None:
        how = "caliper jaws square on the outer flanks; try several places round the rim"
        one, low, high = (shape.span(spanned) for shape in shapes)
        yield InspectionRow(name, f"span over {spanned} teeth", one, low, high, how)
    even = gear.teeth % 2 == 0
    if pin is not None:
        where = "opposite spaces" if even else "the two most nearly opposite spaces"
        how = f"shanks of two {pin:g} mm drills in {where}, caliper over both"
        one, low, high = (shape.over_pins(pin) for shape in shapes)
        if np.isfinite([one, low, high]).all():
            yield InspectionRow(name, f"over {pin:g} mm pins", one, low, high, how)
    odd = "odd number of teeth: from the edge of the bore to a tip, twice that plus the bore"
    how = "caliper over opposite tips" if even else odd
    yield _either_way(name, "tip diameter", gear.tip_diameter, 2 * tolerance, how)


def _bar_rows(rack: Rack, tolerance: float) -> Iterator[InspectionRow]:
    """What calipers find on a bar: its height, and a pin in a space over the back."""
    pin, whole = bar_pin(rack), rack.tip_height + rack.back_depth
    over, low, high = (
        rack.back_depth + edge + pin_height(rack, pin, edge) + pin / 2
        for edge in (0.0, -tolerance, tolerance)
    )
    pinned = f"shank of a {pin:g} mm drill in a space, caliper from the back over it"
    yield InspectionRow("rack", f"over a {pin:g} mm pin", over, low, high, pinned)
    how = "caliper from the back over the tips, at both ends and between"
    yield _either_way("rack", "height", whole, 2 * tolerance, how)


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
    return InspectionRow(name, "backlash at the rim", nominal, least, upper, how)


def _play_at_tips(pair: GearPair, name: str, edge: float, centre: float) -> float:
    """Way of a tooth tip within the backlash, mm, with edges and centre distance off by that."""
    pinion, wheel = pair.pinion.offset(edge), pair.wheel.offset(edge)
    shape = PairShape(pinion, wheel, pair.centre_distance + centre)
    side = 0 if name == "pinion" else 1
    tip = (pinion, wheel)[side].tip_diameter
    return float(shape.backlash * tip / shape.working_pitch_diameters[side])
