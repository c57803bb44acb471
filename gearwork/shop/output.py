"""Every file of a design, written together, and read back before anything is cut."""

import re
from collections.abc import Iterable
from itertools import product
from os import PathLike
from pathlib import Path
from typing import Any

import numpy as np

from gearwork.checks.mesh import distance_tolerance
from gearwork.checks.piece_match import Layers
from gearwork.checks.rolling import check_rolling
from gearwork.checks.verdict import Check, CheckReport
from gearwork.design.brief import read_brief
from gearwork.design.choosing import Progress
from gearwork.design.solution import Design, solve
from gearwork.design.stage import MountedGear
from gearwork.errors import GearworkError
from gearwork.geometry.measure import circle_of
from gearwork.geometry.outline import Outline
from gearwork.geometry.part import Part
from gearwork.shop.bit_files import bit_path_checks, bit_path_files
from gearwork.shop.cut_lines import read_outlines
from gearwork.shop.draft import Drawing, Table
from gearwork.shop.drawing import drawing_pdf
from gearwork.shop.dxf import Version, part_dxf, sheet_dxf
from gearwork.shop.dxf_drawing import drawing_dxf
from gearwork.shop.files import write_set, written_files
from gearwork.shop.layout import SheetLayout, Stock, lay_out
from gearwork.shop.marking import OUTER
from gearwork.shop.parts import design_parts, file_stem, first_plate, layer_names
from gearwork.shop.piece_checks import piece_checks
from gearwork.shop.report import job_sheet_html, job_sheet_text
from gearwork.shop.svg import part_svg, sheet_svg
from gearwork.shop.trial import design_trial
from gearwork.shop.views import Axis, Distance, GearCircles, spacing_drawing

DESIGN_FILE = "design.toml"
SPACING = "spacing"

PLATE_ERROR = 0.02
"""Largest error of a centre distance in the plate's file, mm; files keep far less."""


def write_files(
    design: Design,
    folder: str | PathLike[str],
    version: Version = "R2010",
    progress: Progress | None = None,
) -> list[Path]:
    """Write every file of a design: all of them, or none and the old ones stay.

    Parameters
    ----------
    design : Design
        From `load_design`.
    folder : path
        Made if it does not exist. Files of an earlier run are replaced; files that are not
        gearwork's, or that somebody changed, are not: an error names them.
    version : {"R2010", "R12"}
        Of the DXF files.
    progress : callable, optional
        Called with a line of text when a longer step begins.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    GearworkError
        If a part cannot be made or placed, or a file cannot be written.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from gearwork import example_brief, solve
    >>> with TemporaryDirectory() as folder:
    ...     written = write_files(solve(example_brief()), folder)
    >>> "job-sheet.html" in [path.name for path in written]
    True
    """
    say = progress or (lambda _: None)
    say("drawing the parts")
    parts = design_parts(design)
    sheets = place_parts(design, parts)
    trial = design_trial(design)
    pieces = trial.coupon.parts if trial else ()
    say("writing the job sheet")
    sheet = job_sheet_html(design, parts, sheets)
    say("drawing the cut files")
    files = dict(_part_files((*parts, *pieces), version))
    files |= _sheet_files(sheets, version)
    if design.brief.cutting.bit_paths:
        say("drawing the way of the bit")
        files |= bit_path_files(design, pieces, sheets, version)
    say("drawing where the shafts stand")
    drawing = design_spacing(design)
    files[f"{SPACING}.dxf"] = drawing_dxf(drawing)
    files[f"{SPACING}.pdf"] = drawing_pdf(drawing)
    files["job-sheet.html"] = sheet.encode()
    files["job-sheet.txt"] = job_sheet_text(design).encode()
    files[DESIGN_FILE] = design.brief.text.encode()
    return write_set(folder, files, clear=True)


def place_parts(design: Design, parts: Iterable[Part]) -> tuple[SheetLayout, ...]:
    """Return the stock sheets from which all parts can be cut.

    Parameters
    ----------
    design : Design
        Its design file names the size of the sheets as bought.
    parts : iterable of Part
        From `design_parts`.

    Returns
    -------
    tuple of SheetLayout
        Each shows itself in a notebook; `plot_sheet` draws it with names and measures.

    Raises
    ------
    GearworkError
        If a part is larger than a sheet.

    Examples
    --------
    >>> from gearwork import design_parts, example_brief, solve
    >>> design = solve(example_brief())
    >>> plates = design_parts(design)[-1:]  # one part, cut twice
    >>> [len(sheet.parts) for sheet in place_parts(design, plates)]
    [2]
    """
    stock = design.brief.stock
    pieces = tuple(parts)
    sizes = [
        Stock(stock.width, stock.height, thickness)
        for thickness in sorted({part.thickness for part in pieces})
    ]
    return lay_out(pieces, sizes, design.brief.bit, margin=stock.margin)


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


def design_spacing(design: Design) -> Drawing:
    """Return the drawing to drill the plates by."""
    train = design.train
    fit = design.brief.frame.fit
    axes = [
        Axis(a.name, a.at, a.bore + fit, tuple(GearCircles(*c) for c in a.circles))
        for a in train.axes
    ]
    distances = [
        Distance(start, end, play, -play) for (start, end, _), play in design.toleranced_distances
    ]
    return spacing_drawing(design.title, axes, distances, [gear_data(design)])


def gear_data(design: Design) -> Table:
    """Return the gear data table of the title block."""
    rows = [("gear", "z", "m", "x", "tip", "root")]
    rows += [
        (
            m.name,
            f"{m.gear.teeth:g}",
            f"{m.gear.module:g}",
            f"{m.gear.profile_shift:g}",
            f"{m.gear.tip_diameter:.2f}",
            f"{m.gear.root_diameter:.2f}",
        )
        for m in design.train.gears
    ]
    return Table("gears, mm", tuple(rows))


def check_files(folder: str | PathLike[str]) -> CheckReport:
    """Read the written cut files back and turn every pair of gears found in them.

    Parameters
    ----------
    folder : path
        Written by `write_files`; the files may have been changed since.

    Returns
    -------
    CheckReport
        Each check names the file it speaks of.

    Raises
    ------
    GearworkError
        If a file is missing or cannot be read.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from gearwork import example_brief, solve
    >>> with TemporaryDirectory() as folder:
    ...     _ = write_files(solve(example_brief()), folder)
    ...     found = check_files(folder)
    >>> found.ok
    True
    """
    home = Path(folder)
    written_files(home)
    design = solve(read_brief(home / DESIGN_FILE))
    files = _CutFiles(home)
    centres = _bored_axes(files, design)
    checks: list[Check] = []
    for stage in range(len(design.stages)):
        checks += _distance_checks(design, stage, centres)
        checks += _pair_checks(files, design, stage)
    checks += _piece_checks(files, design)
    checks += bit_path_checks(home, design.brief.bit)
    return CheckReport(f"files in {home.name}", tuple(checks))


class _CutFiles(dict[str, Layers]):
    """Cut lines by file name without ending, each file read when it is first asked for."""

    def __init__(self, home: Path) -> None:
        super().__init__()
        self.home = home

    def __missing__(self, stem: str) -> Layers:
        self[stem] = read_outlines(self.home / f"{stem}.dxf")
        return self[stem]

    @property
    def sheets(self) -> tuple[str, ...]:
        """Names of the files of the sheets."""
        names = (path.name for path in written_files(self.home))
        return tuple(name[:-4] for name in names if re.fullmatch(r"sheet-\d+\.dxf", name))


def _piece_checks(files: _CutFiles, design: Design) -> Iterable[Check]:
    try:
        parts, trial = design_parts(design), design_trial(design)
    except GearworkError as error:
        return (
            Check(
                name="pieces as designed",
                value=float("nan"),
                limit=0.0,
                unit="",
                sense="at most",
                why=f"{DESIGN_FILE} no longer makes the parts in these files: {error}.",
                remedy="Write the files again from a design that can be made.",
                source="the design file as read back",
            ),
        )
    return piece_checks(parts, trial.coupon.parts if trial else (), files, files.sheets)


def _pair_checks(files: _CutFiles, design: Design, stage: int) -> Iterable[Check]:
    pair = design.stages[stage].pair
    pinions, wheels = (
        _edges(files, design, gear) for gear in design.train.gears if gear.stage == stage
    )
    first_pinion, first_wheel = next(iter(pinions)), next(iter(wheels))
    for pinion, wheel in product(pinions, wheels):
        if first_pinion != pinion and first_wheel != wheel:
            continue
        report = check_rolling(
            pinions[pinion],
            wheels[wheel],
            pair.centre_distance,
            (int(pair.pinion.teeth), int(pair.wheel.teeth)),
            tolerance=distance_tolerance(pair),
            bit_diameter=design.brief.bit.cut_diameter,
            tip_diameters=(pair.pinion.tip_diameter, pair.wheel.tip_diameter),
            backlash=pair.backlash,
            names=(pinion, wheel),
        )
        yield from report


def _edges(files: _CutFiles, design: Design, gear: MountedGear) -> dict[str, Outline]:
    """Toothed edges of all layers of a gear, by file name."""
    found = {}
    for part in layer_names(design, gear):
        stem = file_stem(part)
        name, outlines = f"{stem}.dxf", files[stem].get(OUTER, [])
        if len(outlines) != 1:
            raise GearworkError(
                f"{name} holds {len(outlines)} outer edges: one is needed; write the files again"
            )
        found[name] = outlines[0]
    return found


def _bored_axes(files: _CutFiles, design: Design) -> np.ndarray[Any, Any]:
    """Where the plate's file has its bearing seats, mm, shape (n, 2)."""
    seat = design.brief.shafts.bearing.outer_diameter + design.brief.frame.fit
    circles = [
        circle_of(o) for group in files[file_stem(first_plate(design))].values() for o in group
    ]
    seats = [c[0] for c in circles if c is not None and abs(c[1] - seat) < 0.05]
    return np.array(seats).reshape(-1, 2)


def _distance_checks(design: Design, stage: int, seats: np.ndarray[Any, Any]) -> Iterable[Check]:
    start, end = (np.array(design.train.points[i]) for i in (stage, stage + 1))
    nominal = design.stages[stage].pair.centre_distance
    found = [seats[np.hypot(*(seats - p).T).argmin()] for p in (start, end)] if len(seats) else []
    distance = float(np.hypot(*(found[1] - found[0]))) if len(found) else float("nan")
    yield Check(
        name=f"centre distance in the plate, stage {stage + 1}",
        value=abs(distance - nominal),
        limit=PLATE_ERROR,
        unit="mm",
        sense="at most",
        why=(
            f"The side plate's file has the bearing seats of shafts {stage + 1} and {stage + 2}"
            f" {distance:.3f} mm apart; the gears want {nominal:.3f} mm."
        ),
        remedy="Write the files again; do not move or scale seats by hand.",
        source="the file as read back",
    )
