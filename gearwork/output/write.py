"""Every file of a design, written together, and read back before anything is cut."""

from collections.abc import Iterable, Sequence
from os import PathLike
from pathlib import Path

from gearwork.geometry.part import Part
from gearwork.machine.design import Design
from gearwork.machine.gear_set import GearSet
from gearwork.machine.layout import SheetLayout
from gearwork.machine.parts import file_stem
from gearwork.output.drawing.spacing import design_spacing
from gearwork.output.dxf import Version, drawing_dxf, part_dxf, sheet_dxf
from gearwork.output.files import write_set
from gearwork.output.jobsheet.choices import choices_html
from gearwork.output.jobsheet.papers import (
    break_test_html,
    calculation_html,
    job_sheet_html,
    job_sheet_text,
)
from gearwork.output.pdf import drawing_pdf
from gearwork.output.svg import part_svg, sheet_svg
from gearwork.output.toolpath_files import SUFFIX, bit_path_files
from gearwork.spec.solve import Choices, Progress
from gearwork.spec.ways import Way

DESIGN_FILE = "design.toml"
WAY_FILE = "way-{}.toml"
SPACING = "spacing"


def write_folder(
    design: GearSet,
    folder: str | PathLike[str],
    version: Version = "R2010",
    progress: Progress | None = None,
    ways: Sequence[Way] = (),
) -> list[Path]:
    """Write every file of a design: all of them, or none and the old ones stay.

    Files of an earlier run are replaced; those that are not gearwork's, or that somebody changed,
    are not: an error names them.
    """
    say = progress or (lambda _: None)
    say("drawing the parts")
    parts, sheets = design.parts, design.sheets
    pieces = design.test_parts
    say("writing the papers")
    papers = _papers(design)
    say("drawing the cut files")
    files = dict(_part_files((*parts, *pieces), version))
    files |= _sheet_files(sheets, version)
    if design.brief.cutting.bit_paths:
        say("drawing the way of the bit")
        files |= bit_path_files(design, pieces, sheets, version)
    if design.axes:
        say("drawing where the shafts stand")
        drawing = design_spacing(design)
        files[f"{SPACING}.dxf"] = drawing_dxf(drawing)
        files[f"{SPACING}.pdf"] = drawing_pdf(drawing, design.brief.drawing.paper)
    files |= {f"{name}.html": paper.encode() for name, paper in papers.items()}
    files["job-sheet.txt"] = job_sheet_text(design).encode()
    files[DESIGN_FILE] = design.brief.text.encode()
    return write_set(folder, files | _way_files(ways), clear=True)


def write_ways(ways: Sequence[Way], folder: str | PathLike[str]) -> list[Path]:
    """Write the design files of ways out alone; whatever else gearwork wrote there stays."""
    return write_set(folder, _way_files(ways))


def _way_files(ways: Sequence[Way]) -> dict[str, bytes]:
    return {WAY_FILE.format(i): way.text.encode() for i, way in enumerate(ways, 1)}


def write_choices(choices: Choices, folder: str | PathLike[str]) -> Path:
    """Write the page of machines to choose from; whatever else gearwork wrote there stays."""
    return write_set(folder, {"choices.html": choices_html(choices).encode()})[0]


def file_names(design: GearSet) -> set[str]:
    """Return the names of the files that a design must have in its folder."""
    tests = [file_stem(part.name) for part in design.test_parts]
    sheets = [f"sheet-{sheet.number}" for sheet in design.sheets]
    stems = [*(file_stem(part.name) for part in design.parts), *tests, *sheets]
    if design.brief.cutting.bit_paths:
        stems += [f"{stem}{SUFFIX}" for stem in (*tests, *sheets)]
    names = {f"{stem}.{kind}" for stem in stems for kind in ("dxf", "svg")}
    names |= {f"{SPACING}.dxf", f"{SPACING}.pdf"} if design.axes else set()
    names |= {"break-test.html"} if design.break_test is not None else set()
    names |= {"calculation.html"} if isinstance(design, Design) else set()
    return names | {"job-sheet.html", "job-sheet.txt", DESIGN_FILE}


def _papers(design: GearSet) -> dict[str, str]:
    """The papers by the names of their files, without ending."""
    papers: dict[str, str] = {}
    if design.break_test is not None:
        papers["break-test"] = break_test_html(design, design.break_test)
    papers["job-sheet"] = job_sheet_html(design)
    if isinstance(design, Design):
        papers["calculation"] = calculation_html(design)
    return papers


def _part_files(parts: Iterable[Part], version: Version) -> Iterable[tuple[str, bytes]]:
    for part in parts:
        yield f"{file_stem(part.name)}.dxf", part_dxf(part, version)
        yield f"{file_stem(part.name)}.svg", part_svg(part).encode()


def _sheet_files(sheets: Iterable[SheetLayout], version: Version) -> dict[str, bytes]:
    files = {}
    for sheet in sheets:
        size = (sheet.stock.width, sheet.stock.height)
        name = f"sheet-{sheet.number}"
        files[f"{name}.dxf"] = sheet_dxf(sheet.parts, *size, sheet.notes, version)
        files[f"{name}.svg"] = sheet_svg(sheet.parts, *size, sheet.notes).encode()
    return files
