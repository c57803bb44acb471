"""The job sheet: what to buy, cut, measure and build, in the order of work."""

from string import ascii_lowercase
from typing import Any

from markupsafe import Markup

from gearwork.errors import GearworkError
from gearwork.geometry.measuring import pin_for, teeth_to_span
from gearwork.geometry.rack import Rack
from gearwork.machine.axial import BillRow
from gearwork.machine.cause import causes
from gearwork.machine.design import Design
from gearwork.machine.gear_set import GearSet
from gearwork.machine.stage import gear_name
from gearwork.numbers import fixed
from gearwork.output.drawing.views import gear_drawing
from gearwork.output.jobsheet.assembly import assembly
from gearwork.output.jobsheet.content import key_figures, setting_sentences, verdict_line
from gearwork.output.jobsheet.inspection import inspection
from gearwork.output.jobsheet.pages import page
from gearwork.output.jobsheet.picture import pinion_and_bar, section_view, sheet_view, train_view
from gearwork.output.jobsheet.testpiece import broken_lines, rows_of
from gearwork.output.svg import drawing_picture


def job_sheet_html(design: Design) -> Markup:
    """Return the job sheet of a design as one HTML page that needs nothing else."""
    rows = _bill(design)
    cut = to_cut(design, len(rows) + 1)
    numbers = {row.item: row.number for row in rows} | cut["numbers"]
    return page(
        "job-sheet.html",
        **_first_page(design),
        brief=design.brief,
        sections=[(one.name, section_view(one, numbers)) for one in design.shaft_layouts],
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
        "design": design,
    }


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
        return {"parts": (), "sheets": (), "jointed": (), "numbers": {}}
    numbers = {part.name: number for number, part in enumerate(parts, first)}
    return {
        "numbers": numbers,
        "parts": parts,
        "sheets": [(sheet, sheet_view(sheet, numbers)) for sheet in sheets],
        "jointed": [
            (gear.name, design.bar_pieces(gear))
            for gear in design.gears
            if isinstance(gear.gear, Rack) and (bar := design.bar(gear.stage)) and bar.jointed
        ],
    }


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
