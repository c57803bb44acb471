"""Files of the path of the bit's centre: for every sheet and for the test piece, and read back.

A sheet is what lies on the machine, so a sheet has one such file and its parts have none; the
test piece is cut before any sheet and has its own.
"""

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from gearwork.checks.bit_way import way_check
from gearwork.checks.verdict import Check
from gearwork.design.solution import Design
from gearwork.geometry.part import Part
from gearwork.geometry.tooth import Cutter
from gearwork.shop.bit_lines import BitLines
from gearwork.shop.cut_lines import read_outlines, read_runs
from gearwork.shop.dxf import Version, lines_dxf
from gearwork.shop.files import written_files
from gearwork.shop.layout import SheetLayout
from gearwork.shop.marking import HOLES, INNER, OUTER, Marks
from gearwork.shop.parts import file_stem
from gearwork.shop.svg import lines_svg

SUFFIX = "-bit-path"


def bit_path_files(
    design: Design, pieces: Iterable[Part], sheets: Sequence[SheetLayout], version: Version
) -> dict[str, bytes]:
    """Return the files of the path of the bit's centre by name.

    Parameters
    ----------
    design : Design
        Its bit and its wishes for tabs count.
    pieces : iterable of Part
        Each with a file of its own: those of the test piece.
    sheets : sequence of SheetLayout
        Each with one file for all that lies on it.
    version : {"R2010", "R12"}
        Of the DXF files.

    Raises
    ------
    GearworkError
        If the bit cannot follow an edge, or tabs do not fit.
    """
    bit, tabs = design.brief.bit, design.brief.cutting.bridges
    files: dict[str, bytes] = {}
    for piece in pieces:
        stem = file_stem(piece.name)
        found = BitLines.of([piece], bit, tabs, f"{stem}.dxf")
        files |= _both(stem, found, found.part_marks(piece), version)
    for sheet in sheets:
        stem = f"sheet-{sheet.number}"
        found = BitLines.of(sheet.parts, bit, tabs, f"{stem}.dxf")
        marks = found.sheet_marks(sheet.parts, sheet.stock.width, sheet.stock.height)
        files |= _both(stem, found, marks, version)
    return files


def _both(stem: str, found: BitLines, marks: Marks, version: Version) -> dict[str, bytes]:
    name = f"{stem}{SUFFIX}"
    return {
        f"{name}.dxf": lines_dxf(found.lines, marks, version),
        f"{name}.svg": lines_svg(name, found.lines, marks).encode(),
    }


def bit_path_checks(folder: Path, bit: Cutter) -> Iterator[Check]:
    """Yield a check for each file of bit-centre paths in a folder that gearwork wrote.

    Parameters
    ----------
    folder : Path
        With its list of files.
    bit : Bit
        Its `cut_diameter` counts.

    Raises
    ------
    GearworkError
        If a file cannot be read.
    """
    for path in written_files(folder):
        if path.name.endswith(f"{SUFFIX}.dxf"):
            edges = read_outlines(path.with_name(path.name.replace(SUFFIX, "")))
            through = [(edge, True) for edge in edges.get(INNER, [])]
            through += [(edge, False) for edge in edges.get(OUTER, [])]
            runs = [run for layer, run in read_runs(path) if layer != HOLES]
            yield way_check(path.name, through, runs, bit.cut_diameter)
