"""What to measure: on finished gears with calipers and pins, on the test piece, of broken teeth."""

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from gearwork.checks.tooth.mesh import distance_tolerance
from gearwork.errors import GearworkError
from gearwork.geometry.gear_outline import fitting_tooth
from gearwork.geometry.measuring import bar_pin, pin_for, pin_height, teeth_to_span
from gearwork.geometry.pair import SIDES, GearPair, PairShape, Side
from gearwork.geometry.rack import Rack
from gearwork.geometry.tooth import Cutter, CutTooth
from gearwork.machine.design import Design
from gearwork.machine.evaluation import result_of
from gearwork.machine.gear_set import GearSet
from gearwork.machine.stage import gear_name
from gearwork.output.drawing.views import gear_drawing
from gearwork.output.jobsheet.pages import sentences
from gearwork.output.svg import drawing_picture
from gearwork.stock.plywood import Plywood

FELT_PLAY = 0.05
"""mm: less play is not felt by rocking a gear by hand (assumption)."""

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


def _either_way(part: str, what: str, nominal: float, play: float, how: str) -> InspectionRow:
    return InspectionRow(part, what, nominal, nominal - play, nominal + play, how)


def inspection(design: GearSet, stage: int) -> tuple[InspectionRow, ...]:
    """Return what to measure on the gears of a stage; nothing where the bit cannot cut them."""
    pair, given = design.stages[stage].pair, design.brief.tolerance
    holes = {
        pair.called(gear.side): design.bore(gear) for gear in design.gears if gear.stage == stage
    }
    bores = [holes.get(pair.called(side)) for side in SIDES]
    edges = min(given.edge_tolerance, LARGEST_SHARE * pair.pinion.module)
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
        pin = bar_pin(bar.rack)
        how = "two such shanks in the spaces beside a joint, caliper over both"
        what, over = f"over a joint, {pin:g} mm pins", 2.0 * bar.rack.pitch + pin
        found.append(_either_way("rack", what, over, given.deviation, how))
    return tuple(found)


def inspection_rows(
    pair: GearPair,
    bit: Cutter,
    tolerance: float,
    centre_tolerance: float,
    bores: Sequence[float | None] = (None, None),
) -> Iterator[InspectionRow]:
    """Yield what to measure on both gears of a pair, and what to feel for; no bore: no row, mm.

    `tolerance`, `centre_tolerance`: how far edges and centre distance may be off, either way. An
    edge e outside its line makes spans and tips 2 e larger, bores smaller; over pins anew.
    """
    gears = (("pinion", pair.pinion, pair.wheel), (pair.called("wheel"), pair.wheel, pair.pinion))
    for (name, gear, mate), bore in zip(gears, bores, strict=True):
        cut = fitting_tooth(gear, bit, mate, pair.centre_distance)
        if isinstance(gear, Rack):
            yield from _bar_rows(gear, tolerance)
        else:
            yield from _edge_rows(name, cut, tolerance)
        if bore is not None:
            how = "inside jaws, along and across the grain; its rod goes in by hand"
            yield _either_way(name, "bore", bore, 2 * tolerance, how)
        yield _play_row(name, pair, tolerance, centre_tolerance)


def _edge_rows(name: str, cut: CutTooth[float], tolerance: float) -> Iterator[InspectionRow]:
    gear = cut.gear
    shapes = (gear, gear.offset(-tolerance), gear.offset(tolerance))
    spanned, pin, even = teeth_to_span(cut), pin_for(cut), gear.teeth % 2 == 0
    if spanned is not None:
        how = "caliper jaws square on the outer flanks; try several places round the rim"
        one, low, high = (shape.span(spanned) for shape in shapes)
        yield InspectionRow(name, f"span over {spanned} teeth", one, low, high, how)
    if pin is not None:
        where = "opposite spaces" if even else "the two most nearly opposite spaces"
        how = f"pins: drill shanks, in {where}, caliper over both"
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
    pinned = "pin: a drill shank, in a space, caliper from the back over it"
    yield InspectionRow("rack", f"over a {pin:g} mm pin", over, low, high, pinned)
    how = "caliper from the back over the tips, at both ends and between"
    yield _either_way("rack", "height", whole, 2 * tolerance, how)


def _play_row(name: str, pair: GearPair, edge: float, centre: float) -> InspectionRow:
    """The way of a tooth's tip within the backlash, edges and centre distance off by so much."""
    side = 0 if name == "pinion" else 1
    ways = []
    for off, apart in ((0.0, 0.0), (edge, -centre), (-edge, centre)):
        gears = pair.pinion.offset(off), pair.wheel.offset(off)
        shape = PairShape(*gears, pair.centre_distance + apart)
        pitch = shape.working_pitch_diameters[side]
        ways.append(float(shape.backlash * gears[side].tip_diameter / pitch))
    nominal, lower, upper = ways
    mate = pair.called("wheel") if name == "pinion" else "pinion"
    how = f"assembled: hold the {mate} still, rock the {name}, watch the tip of a tooth"
    if not lower >= 0.0:
        how += "; it must rock all round: tolerances may add up to bind"
        lower = min(FELT_PLAY, nominal)
    return InspectionRow(name, "backlash at the rim", nominal, lower, upper, how)


def where_to_measure(design: GearSet) -> dict[str, object] | None:
    """Return a picture of where to measure, of the first gear on which jaws and pins fit."""
    for gear in () if design.cannot_be_cut else design.gears:
        if isinstance(gear.gear, Rack):
            continue  # jaws find no parallel flanks on it
        tooth = design.cut_pairs[gear.stage].tooth_of(gear.side)
        spanned, pin = teeth_to_span(tooth), pin_for(tooth)
        if spanned is not None and pin is not None:
            picture = drawing_picture(gear_drawing(design.layers(gear)[0], tooth, spanned, pin))
            return {"picture": picture, "gear": gear.name, "spanned": spanned, "pin": pin}
    return None


def inspections(design: GearSet) -> list[InspectionRow]:
    """Return what to measure of a whole design, each gear by its own name, then the distances."""
    found = []
    for stage in range(len(design.stages)):
        for row in inspection(design, stage):
            side: Side = "pinion" if row.part == "pinion" else "wheel"
            found.append(row._replace(part=gear_name(design.stages, stage, side)))
    seats = "from edge to edge of the two holes, plus half of each diameter"
    if isinstance(design, Design):
        seats = "in both plates: from edge to edge of the two seats, plus one seat diameter"
    shared = len(design.train.distances) if isinstance(design, Design) else math.inf
    to_hole = "from edge to edge of the seat and the bar's screw hole, plus half of each diameter"
    for number, ((start, end, distance), play) in enumerate(design.toleranced_distances):
        axes, how = f"{start} to {end}", seats if number < shared else to_hole
        found.append(_either_way(axes, "centre distance", distance, play, how))
    return found


def result_lines(design: GearSet) -> tuple[str, ...]:
    """Return what the readings in the design file say, one sentence or value a line."""
    result = result_of(design)
    if result is None:
        return ()
    lines = str(result).splitlines()
    known = design.brief.bit.measured_diameter
    if result.design_entry is not None and result.design_entry == f"measured_diameter = {known}":
        lines.append("The design file has it already.")
    return tuple(lines)


def broken_lines(sheet: Plywood) -> tuple[str, ...]:
    """Return what the broken teeth of a sheet said, one sentence a line; none where none were."""
    shown = sheet.broken_teeth
    return sentences("broken-teeth.txt", shown=shown) if shown else ()
