"""The spacing drawing of a design: where its shafts stand, and the data of its gears."""

import cmath
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from gearwork.geometry.gear import Gear
from gearwork.geometry.gear_outline import tooth_outline
from gearwork.geometry.outline import Outline
from gearwork.geometry.rack import Rack
from gearwork.machine.gear_set import GearSet
from gearwork.machine.train import AxisPlace
from gearwork.output.drawing import draft
from gearwork.output.drawing.views import CLEAR, Ground, cross, leaders
from gearwork.output.marking import TEXT_HEIGHT, Bounds, Label, Marks, arrow, text_width

SHOWN_TEETH = 8
"""Of a rack that runs past the plates, or longer than a sheet: a printed metre of bar would help
nobody drill."""


def design_spacing(design: GearSet) -> draft.Drawing:
    """Return the drawing to drill plates by."""
    distances = [(start, end, play) for (start, end, _), play in design.toleranced_distances]
    bars = []
    for i, stage in enumerate(design.stages):
        if stage.only is None:
            bar = design.bar(i)  # drawn whole unless it runs past the plates or is in pieces
            whole = i != design.on_bed and bar is not None and not bar.jointed
            bars += [draft.Shape(one, "dashed") for one in bar_in_place(design, i, whole=whole)]
    drawing = spacing_drawing(design.title, design.axes, distances, [_gear_data(design)])
    return replace(drawing, shapes=(*drawing.shapes, *bars))


def spacing_drawing(
    title: str,
    axes: Sequence[AxisPlace],
    distances: Sequence[tuple[str, str, float]],
    tables: Sequence[draft.Table] = (),
) -> draft.Drawing:
    """Return bores where they belong, centre distances, circles; the face grain along x.

    `distances`: the names of two axes, and by how much their distance may be off, mm.
    """
    named = {axis.name: axis for axis in axes}
    shapes = tuple(shape for axis in axes for shape in _shapes(axis))
    lines = [line for axis in axes for line in cross(axis.at, _outside(axis))]
    lines += [draft.Line(named[start].at, named[end].at, "chain") for start, end, _ in distances]
    drawing = draft.Drawing(title, shapes, tuple(lines))
    ground = Ground(drawing.paths)
    lengths = [
        ground.place(_places(named[start], named[end], play)) for start, end, play in distances
    ]
    diameters = [
        ground.place(leaders(circle, _outside(axis)))
        for axis in axes
        for circle in _circles(axis, axes)
    ]
    drawing = replace(drawing, dimensions=(*lengths, *diameters))
    told = [
        (f"{start} - {end}", f"{length.value:.2f}", length.tolerance.strip())
        for (start, end, _), length in zip(distances, lengths, strict=True)
    ]
    rows = [(axis.name, *(f"{value:.2f}" for value in (*axis.at, axis.bore))) for axis in axes]
    found = [draft.Table("axes, mm", (("axis", "x", "y", "bore"), *rows))]
    found += [draft.Table("centre distances, mm", (("axes", "a", "limits"), *told))] if told else []
    marks = ground.place(_grain_arrows(drawing.bounds))
    return replace(drawing, marks=marks, tables=(*found, *tables))


def _outside(axis: AxisPlace) -> float:
    """The largest diameter on an axis, mm."""
    return max([axis.bore, *(tip for _, _, tip, _ in axis.circles)])


def _shapes(axis: AxisPlace) -> Iterator[draft.Shape]:
    yield draft.Shape(Outline.circle(axis.bore, axis.at), "hole")
    for _, pitch, tip, root in axis.circles:
        yield draft.Shape(Outline.circle(pitch, axis.at), "chain")
        yield from (draft.Shape(Outline.circle(size, axis.at), "dashed") for size in (tip, root))


def _places(start: AxisPlace, end: AxisPlace, play: float) -> Iterator[draft.Length]:
    """Yield places for a centre distance, outside the circles, below them first."""
    along = np.subtract(end.at, start.at)
    across = np.array([-along[1], along[0]]) / np.hypot(*along)
    down = across if (across[1], across[0]) < (0, 0) else -across
    reach = max(_outside(start), _outside(end)) / 2 + CLEAR
    for extra in (0.0, 10.0, 20.0, 40.0):
        for side in (down, -down):
            through = draft.point(np.array(start.at) + (reach + extra) * side)
            yield draft.Length(start.at, end.at, through, play, "a")


def _circles(axis: AxisPlace, axes: Sequence[AxisPlace]) -> Iterator[draft.Diameter]:
    """Yield each circle of an axis to be dimensioned, best on the side away from the others."""
    away = np.sum([np.subtract(axis.at, other.at) for other in axes], axis=0)
    prefer = math.degrees(math.atan2(away[1], away[0])) if np.any(away) else 180.0
    yield draft.Diameter(axis.at, axis.bore, prefer, 0.0, f"{axis.name} bore")
    for name, pitch, tip, root in axis.circles:
        owner = f"{name} " if len(axis.circles) > 1 else ""
        for what, diameter in (("tip", tip), ("pitch", pitch), ("root", root)):
            yield draft.Diameter(axis.at, diameter, prefer, 0.0, owner + what, auxiliary=True)


def _grain_arrows(bounds: Bounds) -> Iterator[Marks]:
    """Yield places for the arrow of the face grain: inside the four corners, or above."""
    left, low, right, top = bounds
    name, half = "face grain", 13.0
    width = 2 * half + text_width(name, TEXT_HEIGHT)
    for y in (top - half, low + half, top + half):
        for x in (left, right - width):
            label = Label((x + 2 * half, y - TEXT_HEIGHT / 2), TEXT_HEIGHT, name)
            yield Marks((label,), arrow(((x + half, y), 2 * half), 0.0))


def bar_in_place(design: GearSet, stage: int, *, whole: bool) -> Iterator[Outline]:
    """The bar of a stage's rack, or a few teeth, a screw hole beside the pinion's axis."""
    rack, cut = design.stages[stage].pair.wheel, design.cut_pairs[stage].wheel
    if isinstance(rack, Rack):
        at = rack.hole_places[len(rack.hole_places) // 2]
        if not whole:
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


def _gear_data(design: GearSet) -> draft.Table:
    """The gear data table of the title block."""
    rows: list[tuple[str, ...]] = [("gear", "z", "m", "x", "tip", "root")]
    for mounted in design.gears:
        gear = mounted.gear
        figures = [f"{one:g}" for one in (gear.teeth, gear.module, gear.profile_shift)]
        figures += [f"{end:.2f}" for end in ends_of(gear)]
        rows.append((mounted.name, *figures))
    return draft.Table("gears, mm", tuple(rows))
