"""Every file of a design, written together, and read back before anything is cut."""

from collections.abc import Callable, Sequence
from functools import cache, partial
from os import PathLike
from pathlib import Path

from gearwork.geometry.part import Part
from gearwork.machine.design import Design
from gearwork.machine.gear_set import GearSet
from gearwork.machine.layout import SheetLayout
from gearwork.machine.parts import file_stem
from gearwork.output.drawing.spacing import design_spacing
from gearwork.output.dxf import Version, cut_dxf, drawing_dxf
from gearwork.output.files import write_set
from gearwork.output.jobsheet.choices import choices_html
from gearwork.output.jobsheet.papers import (
    break_test_html,
    calculation_html,
    job_sheet_html,
    job_sheet_text,
)
from gearwork.output.marking import CutLines
from gearwork.output.pdf import drawing_pdf
from gearwork.output.svg import cut_svg
from gearwork.output.toolpath_files import SUFFIX, bit_way
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
    files: dict[str, bytes] = {}
    say("drawing the parts")
    for words, makers in _makers(design, version):
        say(words)
        for name, make in makers.items():
            made = make()
            files[name] = made.encode() if isinstance(made, str) else made
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
    return {name for _, makers in _makers(design, "R2010") for name in makers}


_Makers = dict[str, Callable[[], str | bytes]]


def _makers(design: GearSet, version: Version) -> list[tuple[str, _Makers]]:
    """What makes each file, by its name; in groups, each with what is said meanwhile."""
    papers: _Makers = {
        "job-sheet.html": partial(job_sheet_html, design),
        "job-sheet.txt": partial(job_sheet_text, design),
        DESIGN_FILE: lambda: design.brief.text,
    }
    if design.break_test is not None:
        papers["break-test.html"] = partial(break_test_html, design, design.break_test)
    if isinstance(design, Design):
        papers["calculation.html"] = partial(calculation_html, design)
    found = [
        ("writing the papers", papers),
        ("drawing the cut files", _both(cut_files(design), version)),
    ]
    if design.brief.cutting.bit_paths:
        by = design.brief.bit, design.brief.cutting.bridges
        works = way_works(design).items()
        ways = {f"{stem}{SUFFIX}": partial(bit_way, stem, work, *by) for stem, work in works}
        found.append(("drawing the way of the bit", _both(ways, version)))
    if design.axes:
        drawing = cache(partial(design_spacing, design))
        spacing: _Makers = {
            f"{SPACING}.dxf": lambda: drawing_dxf(drawing()),
            f"{SPACING}.pdf": lambda: drawing_pdf(drawing(), design.brief.drawing.paper),
        }
        found.append(("drawing where the shafts stand", spacing))
    return found


def cut_files(design: GearSet) -> dict[str, partial[CutLines]]:
    """Return what makes the lines and marks of each cut file, by its name without ending."""
    parts = (*design.parts, *design.test_parts)
    found = {file_stem(part.name): partial(CutLines.of_part, part) for part in parts}
    for sheet in design.sheets:
        given = sheet.parts, sheet.stock, sheet.notes
        found[f"sheet-{sheet.number}"] = partial(CutLines.of_sheet, *given)
    return found


def way_works(design: GearSet) -> dict[str, SheetLayout | Part]:
    """Return what the bit goes round by its ways: all sheets, and what is tried before them."""
    works: dict[str, SheetLayout | Part] = {file_stem(p.name): p for p in design.test_parts}
    return works | {f"sheet-{sheet.number}": sheet for sheet in design.sheets}


def _both(cut: dict[str, partial[CutLines]], version: Version) -> _Makers:
    """What makes the two files of each stem, from the same lines."""
    as_dxf = partial(cut_dxf, version=version)
    makers: _Makers = {}
    for stem, make in cut.items():
        lines = cache(make)
        makers |= {f"{stem}.dxf": _made(as_dxf, lines), f"{stem}.svg": _made(cut_svg, lines)}
    return makers


def _made(
    write: Callable[[CutLines], str | bytes], lines: Callable[[], CutLines]
) -> Callable[[], str | bytes]:
    return lambda: write(lines())
