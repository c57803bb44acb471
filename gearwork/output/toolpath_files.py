"""The path of the bit's centre as files: for those who cut without a program that offsets lines.

The bit cannot be told a height in these files, so stretches at different heights lie on layers
of their own. A sheet is what lies on the machine, so a sheet has one such file and its parts have
none; the test piece is cut before any sheet and has its own.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np

from gearwork.errors import GearworkError
from gearwork.geometry.part import Part
from gearwork.geometry.toolpath import BitPath, Run, Tabs, bit_paths
from gearwork.geometry.tooth import Cutter
from gearwork.machine.gear_set import GearSet
from gearwork.machine.layout import SheetLayout
from gearwork.machine.parts import file_stem
from gearwork.output import marking
from gearwork.output.dxf import Version, lines_dxf
from gearwork.output.svg import lines_svg

INNER = "bit-inner-edge"
OUTER = "bit-outer-edge"


@dataclass(frozen=True)
class BitLines:
    """What a file of bit-centre paths holds.

    `lines`: holes to drill, then inner edges, then outer edges; `notes`: lines of text that tell
    how to cut by them.
    """

    lines: tuple[marking.Line, ...]
    notes: tuple[str, ...]

    @classmethod
    def of(cls, parts: Sequence[Part], bit: Cutter, tabs: Tabs | None, beside: str) -> "BitLines":
        """Return the paths of the bit along every edge of parts where they lie."""
        paths = [_paths(part, bit, tabs) for part in parts]
        inner = chain.from_iterable(_lines(INNER, path) for *inside, _ in paths for path in inside)
        outer = chain.from_iterable(_lines(OUTER, outside) for *_, outside in paths)
        holes = (line for line in marking.cut_paths(parts) if line[0] == marking.HOLES)
        lines = (*holes, *inner, *outer)
        return cls(lines, tuple(path_notes((name for name, _ in lines), parts, bit, tabs, beside)))

    def part_marks(self, part: Part) -> marking.Marks:
        """Return the marks of one part alone with the notes beside it."""
        _, _, right, top = part.bounds
        return marking.text_block(
            [part.name, *self.notes], right + marking.GAP, top
        ) + marking.marks_on(part, named=False)

    def sheet_marks(self, parts: Sequence[Part], width: float, height: float) -> marking.Marks:
        """Return the marks of a sheet with the notes beside it."""
        return marking.sheet_marks(parts, width, height, self.notes)


def _paths(part: Part, bit: Cutter, tabs: Tabs | None) -> tuple[BitPath, ...]:
    try:
        return bit_paths(part, bit, tabs)
    except GearworkError as error:
        raise GearworkError(f"path of the bit round {part.name}: {error}") from None


def _lines(layer: str, path: BitPath) -> Iterator[marking.Line]:
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
    if marking.HOLES in layers:
        yield f"{marking.HOLES}: drill through, or leave out"
    for layer in layers:
        if layer in (INNER, OUTER):
            last = ", after all others" if layer == OUTER else ""
            yield f"{layer}: cut through{last}"
        elif layer != marking.HOLES and tabs is not None:
            yield f"{layer}: lift the bit to {tabs.height:g} mm above the underside"
    if any(cut.operation == "pocket" for part in parts for cut in part.cuts):
        yield f"pockets have no path here: see {beside}"
    yield f"{marking.NOT_CUT}: text and marks, not cut; the arrow is the face grain"


SUFFIX = "-bit-path"


def bit_path_files(
    design: GearSet, pieces: Iterable[Part], sheets: Sequence[SheetLayout], version: Version
) -> dict[str, bytes]:
    """Return the files of the path of the bit's centre by name."""
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


def _both(stem: str, found: BitLines, marks: marking.Marks, version: Version) -> dict[str, bytes]:
    name = f"{stem}{SUFFIX}"
    return {
        f"{name}.dxf": lines_dxf(found.lines, marks, version),
        f"{name}.svg": lines_svg(name, found.lines, marks).encode(),
    }
