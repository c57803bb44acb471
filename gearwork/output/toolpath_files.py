"""The path of the bit's centre as files: for those who cut without a program that offsets lines.

The bit cannot be told a height in these files, so stretches at different heights lie on layers
of their own. A sheet is what lies on the machine, so a sheet has one such file and its parts have
none; the test piece is cut before any sheet and has its own.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain

from gearwork.geometry.part import Part
from gearwork.geometry.toolpath import BitPath, Tabs, bit_paths
from gearwork.geometry.tooth import Cutter
from gearwork.machine.layout import SheetLayout
from gearwork.output.jobsheet.pages import sentences
from gearwork.output.marking import (
    HOLES,
    NOT_CUT,
    CutLines,
    Line,
    cut_paths,
    part_marks,
    rounded,
    sheet_marks,
)

INNER = "bit-inner-edge"
OUTER = "bit-outer-edge"
SUFFIX = "-bit-path"


def bit_way(stem: str, work: Part | SheetLayout, bit: Cutter, tabs: Tabs | None) -> CutLines:
    """Return the way of the bit round a part alone or all of a sheet, and how to cut by it."""
    return beside_way(stem, work, way(_parts(work), bit, tabs), bit, tabs)


def beside_way(
    stem: str,
    work: Part | SheetLayout,
    lines: Sequence[Line],
    bit: Cutter,
    tabs: Tabs | None,
) -> CutLines:
    """Return lines of a way with their marks."""
    parts = _parts(work)
    notes = path_notes((name for name, _ in lines), parts, bit, tabs, f"{stem}.dxf")
    if isinstance(work, Part):
        marks = part_marks(work, (work.name, *notes))
    else:
        marks = sheet_marks(parts, work.stock, notes)
    return CutLines(f"{stem}{SUFFIX}", lines, marks)


def _parts(work: Part | SheetLayout) -> tuple[Part, ...]:
    return (work,) if isinstance(work, Part) else work.parts


def way(parts: Sequence[Part], bit: Cutter, tabs: Tabs | None) -> list[Line]:
    """Return holes to drill, then inner, then outer edges of parts where they lie."""
    paths = [bit_paths(part, bit, tabs) for part in parts]
    lines: list[Line] = [line for line in cut_paths(parts) if line[0] == HOLES]
    for *inside, _ in paths:
        lines += chain.from_iterable(_lines(INNER, path) for path in inside)
    lines += chain.from_iterable(_lines(OUTER, outside) for *_, outside in paths)
    return lines


def _lines(layer: str, path: BitPath) -> Iterator[Line]:
    """One line for every stretch at one height; the lead-in belongs to the first."""
    runs = [path.runs[0]]
    for run in path.runs[1:]:
        if run.height == runs[-1].height:
            runs[-1] = runs[-1].followed_by(run)
        else:
            runs.append(run)
    for run in runs:
        yield (tab_layer(layer, run.height) if run.height else layer), rounded(run)


def tab_layer(layer: str, height: float) -> str:
    """Return the layer of stretches over tabs of a height, mm."""
    return f"{layer}-tab-{height:.2f}".rstrip("0").rstrip(".").replace(".", "_") + "mm"


def path_notes(
    names: Iterable[str],
    parts: Sequence[Part],
    bit: Cutter,
    tabs: Tabs | None,
    beside: str,
) -> tuple[str, ...]:
    """Return lines of text that tell how to cut by paths on such layers, in their order."""
    layers = {"layers": dict.fromkeys(names), "holes": HOLES, "inner": INNER, "outer": OUTER}
    pockets = any(cut.operation == "pocket" for part in parts for cut in part.cuts)
    given = {"bit": bit, "tabs": tabs, "pockets": pockets, "beside": beside, "not_cut": NOT_CUT}
    return sentences("bit-path.txt", **layers, **given)
