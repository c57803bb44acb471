"""The job sheet: what to buy, cut, measure and build, in the order of work."""

from collections.abc import Iterator, Sequence
from string import ascii_lowercase
from typing import Any

from markupsafe import Markup

from gearwork.errors import GearworkError
from gearwork.geometry.measuring import pin_for, teeth_to_span
from gearwork.geometry.part import Part
from gearwork.geometry.rack import Rack
from gearwork.machine.axial import BillRow
from gearwork.machine.cause import causes
from gearwork.machine.design import Design
from gearwork.machine.gear_set import GearSet
from gearwork.machine.stage import MountedGear, gear_name
from gearwork.numbers import figure, fixed
from gearwork.output.drawing.views import gear_drawing
from gearwork.output.jobsheet.assembly import assembly
from gearwork.output.jobsheet.content import (
    inspection,
    key_figures,
    setting_sentences,
    verdict_line,
)
from gearwork.output.jobsheet.pages import page
from gearwork.output.jobsheet.picture import pinion_and_bar, section_view, sheet_view, train_view
from gearwork.output.svg import drawing_picture
from gearwork.output.testpiece.broken import broken_lines
from gearwork.output.testpiece.results import rows_of


def job_sheet_html(design: Design) -> Markup:
    """Return the job sheet of a design as one HTML page that needs nothing else."""
    rows = _bill(design)
    cut = to_cut(design, len(rows) + 1)
    numbers = {row.item: row.number for row in rows} | cut["numbers"]
    return page(
        "job-sheet.html",
        **_first_page(design),
        design=design,
        cautions=design.cautions,
        brief=design.brief,
        sections=[(one.name, section_view(one, numbers)) for one in design.shaft_layouts],
        shafts=_shafts(design),
        bill=[(f"{row.number}", row.item, row.amount) for row in rows],
        **cut,
        test_piece=rows_of(design),
        break_test=design.break_test,
        broken=broken_lines(design.brief.gears.sheet),
        **assembly(design, numbers),
        measures=where_to_measure(design),
        **inspections(design),
    )


def notebook_page(design: Design) -> Markup:
    """Return the first page of the job sheet, to stand in a notebook with its look."""
    return page("notebook.html", first_page="first-page.html", **_first_page(design))


def _first_page(design: Design) -> dict[str, object]:
    word, text = verdict_line(design)
    return {
        "title": design.title,
        "word": word,
        "verdict": text,
        "causes": causes(design),
        "setting": setting_sentences(design),
        "train": train_view(design.train, design.cut_pairs, design.title, pinion_and_bar(design)),
        "figures": key_figures(design),
        "gears": gear_blocks(design),
    }


def gear_blocks(design: GearSet) -> list[dict[str, object]]:
    """Return each gear as a block of its own, as it is looked up at the bench."""
    return [_gear(design, mounted) for mounted in design.gears]


def _gear(design: GearSet, mounted: MountedGear) -> dict[str, object]:
    gear, turned = mounted.gear, design.panel(mounted.stage).layers
    grain = ", ".join(f"{angle:g}°" for angle in turned)
    if isinstance(gear, Rack):
        bar = (
            ("module", f"{gear.module:g} mm"),
            ("tips above the reference line", fixed(gear.tip_height, 2, "mm")),
            (
                "back, holes below it",
                f"{fixed(gear.back_depth)}, {fixed(gear.hole_depth, 2, 'mm')}",
            ),
            ("length", fixed(gear.length, 2, "mm")),
            ("screw holes", fixed(design.bore(mounted), 2, "mm")),
            ("width", fixed(mounted.end - mounted.start, 1, "mm")),
            ("layers, grain to the bar", f"{len(turned)}: {grain}"),
        )
        return {"name": mounted.name, "teeth": f"{gear.teeth:g}", "rows": bar}
    rows = (
        ("module, profile shift", f"{gear.module:g} mm, {fixed(gear.profile_shift)}"),
        ("tip diameter", fixed(gear.tip_diameter, 2, "mm")),
        ("bore", fixed(design.bore(mounted), 2, "mm")),
        ("width", fixed(mounted.end - mounted.start, 1, "mm")),
        ("layers, grain to tooth 0", f"{len(turned)}: {grain}"),
    )
    return {"name": mounted.name, "teeth": f"{gear.teeth:g}", "rows": rows}


def _shafts(design: Design) -> Iterator[tuple[str, ...]]:
    train, parts = design.train, design.brief.shafts
    rods = [layout.rod.length for layout in design.layouts]
    for shaft, (x, y) in enumerate(train.points):
        carried = (gear for gear in train.gears if gear.shaft == shaft)
        way = "as the drive" if train.directions[shaft] > 0 else "against it"
        yield (
            f"shaft {shaft + 1}",
            f"{parts.rod.thread}, {parts.rod.grade.name}, {rods[shaft]:.0f} mm",
            f"2 of {parts.bearing.name}",
            f"{fixed(x)}, {fixed(y)}",
            "; ".join(f"{g.name}: {fixed(g.start, 1)} to {fixed(g.end, 1)}" for g in carried),
            f"{figure(design.speeds[shaft], 'rpm', 3)} {way}",
        )


def _bill(design: Design) -> tuple[BillRow, ...]:
    """What to buy; nothing where a part cannot be made: the checks tell what to change."""
    try:
        return tuple(design.bill)
    except GearworkError:
        return ()


def to_cut(design: GearSet, first: int = 1) -> dict[str, Any]:
    """Return the pieces and where they lie; nothing where a part cannot be made.

    `first`: number of the first piece, after those of what is bought.
    """
    try:
        parts, sheets = design.parts, design.sheets
    except GearworkError:
        return {"pieces": (), "sheets": (), "joints": (), "numbers": {}}
    numbers = {part.name: number for number, part in enumerate(parts, first)}
    return {
        "numbers": numbers,
        "pieces": list(_pieces(parts, first)),
        "sheets": [(sheet, sheet_view(sheet, numbers)) for sheet in sheets],
        "joints": [_joined(design, gear) for gear in design.gears if _jointed(design, gear)],
    }


def _jointed(design: GearSet, gear: MountedGear) -> bool:
    bar = design.bar(gear.stage)
    return isinstance(gear.gear, Rack) and bar is not None and bar.jointed


def _joined(design: GearSet, gear: MountedGear) -> str:
    """How a bar is put together of its pieces."""
    layers = design.bar_pieces(gear)
    order = "; ".join(
        f"layer {number}: {', '.join(one.name.removeprefix(f'{gear.name} ') for one in layer)}"
        for number, layer in enumerate(layers, 1)
    )
    glued = ""
    if len(layers) > 1:
        glued = " Glue them flat on drill shanks through all screw holes."
    return (
        f"{gear.name.capitalize()} from the left, teeth up, marks on top: {order}.{glued} Set the"
        " pitch over each joint by pins (measuring); the ends do not touch. The pinion, rolled over"
        " it, must not feel it. The bed runs on behind a joint, two screws each way."
    )


def _pieces(parts: Sequence[Part], first: int) -> Iterator[tuple[str, ...]]:
    for number, part in enumerate(parts, first):
        left, low, right, top = part.bounds
        size = f"{right - left:.0f} × {top - low:.0f} × {part.thickness:g}"
        yield f"{number}", part.name, f"{part.count}", size, f"{part.grain + 0.0:g}°"  # never -0


def where_to_measure(design: GearSet) -> dict[str, object] | None:
    """Return a picture of where to measure, of the first gear on which jaws and pins fit."""
    for gear in design.gears:
        if isinstance(gear.gear, Rack):
            continue  # jaws find no parallel flanks on it
        tooth = design.cut_pairs[gear.stage].tooth_of(gear.side)
        spanned, pin = teeth_to_span(tooth), pin_for(tooth)
        if spanned is None or pin is None:
            continue
        try:
            layer = design.layers(gear)[0]
        except GearworkError:  # not to be cut with this bit
            return None
        drawing = gear_drawing(layer, tooth, spanned, pin)
        words = (
            f"Where to measure, shown on {gear.name}: span W over {spanned} teeth, M over two"
            f" pins of {pin:g} mm, tip diameter and bore. Sizes in brackets are for information."
        )
        return {"picture": drawing_picture(drawing), "caption": words}
    return None


def _named(design: GearSet, stage: int, part: str) -> str:
    return gear_name(design.stages, stage, "pinion" if part == "pinion" else "wheel")


def inspections(design: GearSet) -> dict[str, object]:
    """Return what to measure and within which limits, each with the letter of how."""
    found = [
        (_named(design, stage, row.part), row.quantity, row.lower, row.upper, row.how)
        for stage in range(len(design.stages))
        for row in inspection(design, stage)
    ]
    seats = "from edge to edge of the two holes, plus half of each diameter"
    if isinstance(design, Design):
        seats = "in both plates: from edge to edge of the two seats, plus one seat diameter"
    found += [
        (f"{start} to {end}", "centre distance", distance - play, distance + play, seats)
        for (start, end, distance), play in design.toleranced_distances
    ]
    ways = list(dict.fromkeys(how for *_, how in found))
    letters = dict(zip(ways, ascii_lowercase, strict=False))
    rows = [
        (part, quantity, f"{fixed(low)} … {fixed(high)}", letters[how])
        for part, quantity, low, high, how in found
    ]
    return {"inspections": rows, "how_to_measure": ways}
