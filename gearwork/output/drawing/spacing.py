"""The spacing drawing of a design: where its shafts stand, and the data of its gears."""

import cmath
import math
from collections.abc import Iterator
from dataclasses import replace

from gearwork.geometry.gear import Gear
from gearwork.geometry.gear_outline import tooth_outline
from gearwork.geometry.outline import Outline
from gearwork.geometry.rack import Rack
from gearwork.machine.gear_set import GearSet
from gearwork.output.drawing.draft import Drawing, Shape, Table
from gearwork.output.drawing.views import Axis, Distance, GearCircles, spacing_drawing

SHOWN_TEETH = 8
"""Of a rack that runs past the plates, or longer than a sheet: a printed metre of bar would help
nobody drill."""


def design_spacing(design: GearSet) -> Drawing:
    """Return the drawing to drill plates by."""
    axes = [
        Axis(a.name, a.at, a.bore, tuple(GearCircles(*c) for c in a.circles)) for a in design.axes
    ]
    distances = [
        Distance(start, end, play, -play) for (start, end, _), play in design.toleranced_distances
    ]
    drawing = spacing_drawing(design.title, axes, distances, [_gear_data(design)])
    bars = (
        Shape(bar, "dashed")
        for stage in range(len(design.stages))
        if design.stages[stage].only is None
        for bar in bar_in_place(design, stage)
    )
    return replace(drawing, shapes=(*drawing.shapes, *bars))


def bar_in_place(design: GearSet, stage: int) -> Iterator[Outline]:
    """The bar of a stage's rack, a screw hole of it beside the pinion's axis.

    Of one that runs past the plates of a machine, or is in pieces, a few teeth.
    """
    rack, cut = design.stages[stage].pair.wheel, design.cut_pairs[stage].wheel
    if isinstance(rack, Rack):
        at = rack.hole_places[len(rack.hole_places) // 2]
        bar = design.bar(stage)
        if stage == design.on_bed or (bar and bar.jointed):
            piece = replace(rack, teeth=min(SHOWN_TEETH, int(rack.teeth)))
            cut, at = replace(cut, gear=piece), (SHOWN_TEETH // 2 + 0.5) * rack.pitch
        away, (x, y) = design.points(stage)
        turn = math.atan2(y - away[1], x - away[0]) + math.pi / 2
        hole = cmath.rect(1.0, turn) * complex(at, -rack.hole_depth)
        yield tooth_outline(cut).turned(math.degrees(turn)).moved(x - hole.real, y - hole.imag)


def ends_of(gear: Gear) -> tuple[float, float]:
    """Tip and root diameter of a gear; of a rack their heights above the reference line, mm."""
    if isinstance(gear, Rack):
        return gear.tip_height, -gear.root_depth
    return gear.tip_diameter, gear.root_diameter


def _gear_data(design: GearSet) -> Table:
    """The gear data table of the title block."""
    rows = [("gear", "z", "m", "x", "tip", "root")]
    rows += [
        (
            m.name,
            f"{m.gear.teeth:g}",
            f"{m.gear.module:g}",
            f"{m.gear.profile_shift:g}",
            f"{ends_of(m.gear)[0]:.2f}",
            f"{ends_of(m.gear)[1]:.2f}",
        )
        for m in design.gears
    ]
    return Table("gears, mm", tuple(rows))
