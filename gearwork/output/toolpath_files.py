"""The path of the bit's centre as files: for those who cut without a program that offsets lines.

The bit cannot be told a height in these files, so stretches at different heights lie on layers
of their own. A sheet is what lies on the machine, so a sheet has one such file and its parts have
none; the test piece is cut before any sheet and has its own.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain

import numpy as np

from gearwork.errors import GearworkError
from gearwork.geometry.part import Part
from gearwork.geometry.toolpath import BitPath, Run, Tabs, bit_paths
from gearwork.geometry.tooth import Cutter
from gearwork.machine.layout import SheetLayout
from gearwork.machine.parts import file_stem
from gearwork.output.marking import (
    HOLES,
    NOT_CUT,
    CutLines,
    Line,
    cut_paths,
    part_marks,
    sheet_marks,
)

INNER = "bit-inner-edge"
OUTER = "bit-outer-edge"
SUFFIX = "-bit-path"


def part_way(part: Part, bit: Cutter, tabs: Tabs | None) -> CutLines:
    """Return the way of the bit round one part alone, and how to cut by it."""
    stem = file_stem(part.name)
    lines, notes = way([part], bit, tabs, f"{stem}.dxf")
    return CutLines(f"{stem}{SUFFIX}", lines, part_marks(part, [part.name, *notes]))


def sheet_way(sheet: SheetLayout, bit: Cutter, tabs: Tabs | None) -> CutLines:
    """Return the way of the bit round all parts of a sheet, and how to cut by it."""
    stem, size = f"sheet-{sheet.number}", (sheet.stock.width, sheet.stock.height)
    lines, notes = way(sheet.parts, bit, tabs, f"{stem}.dxf")
    return CutLines(f"{stem}{SUFFIX}", lines, sheet_marks(sheet.parts, *size, notes))


def way(
    parts: Sequence[Part], bit: Cutter, tabs: Tabs | None, beside: str
) -> tuple[list[Line], list[str]]:
    """Return holes to drill, then inner, then outer edges of parts where they lie, and notes."""
    paths = [_paths(part, bit, tabs) for part in parts]
    lines: list[Line] = [line for line in cut_paths(parts) if line[0] == HOLES]
    for *inside, _ in paths:
        lines += chain.from_iterable(_lines(INNER, path) for path in inside)
    lines += chain.from_iterable(_lines(OUTER, outside) for *_, outside in paths)
    return lines, list(path_notes((name for name, _ in lines), parts, bit, tabs, beside))


def _paths(part: Part, bit: Cutter, tabs: Tabs | None) -> tuple[BitPath, ...]:
    try:
        return bit_paths(part, bit, tabs)
    except GearworkError as error:
        raise GearworkError(f"path of the bit round {part.name}: {error}") from None


def _lines(layer: str, path: BitPath) -> Iterator[Line]:
    """One line for every stretch at one height; the lead-in belongs to the first."""
    runs = [path.runs[0]]
    for run in path.runs[1:]:
        if run.height == runs[-1].height:
            runs[-1] = runs[-1].followed_by(run)
        else:
            runs.append(run)
    for run in runs:
        yield (tab_layer(layer, run.height) if run.height else layer), _rounded(run)


def tab_layer(layer: str, height: float) -> str:
    """Return the layer of stretches over tabs of a height, mm."""
    return f"{layer}-tab-{height:.2f}".rstrip("0").rstrip(".").replace(".", "_") + "mm"


def _rounded(run: Run) -> Run:
    """The run to the nanometre, as all lines are written."""
    return Run(np.round(run.vertices, 6) + 0.0, np.round(run.bulges, 9) + 0.0, run.height)


def path_notes(
    names: Iterable[str],
    parts: Sequence[Part],
    bit: Cutter,
    tabs: Tabs | None,
    beside: str,
) -> Iterator[str]:
    """Yield lines of text that tell how to cut by paths on such layers, in their order."""
    layers = dict.fromkeys(names)
    yield f"path of the centre of a bit that cuts {bit.cut_diameter:g} mm: no offset"
    yield "cut in the order of the file, the wood to the right of the path"
    if HOLES in layers:
        yield f"{HOLES}: drill through, or leave out"
    for layer in layers:
        if layer in (INNER, OUTER):
            last = ", after all others" if layer == OUTER else ""
            yield f"{layer}: cut through{last}"
        elif layer != HOLES and tabs is not None:
            yield f"{layer}: lift the bit to {tabs.height:g} mm above the underside"
    if any(cut.operation == "pocket" for part in parts for cut in part.cuts):
        yield f"pockets have no path here: see {beside}"
    yield f"{NOT_CUT}: text and marks, not cut; the arrow is the face grain"
