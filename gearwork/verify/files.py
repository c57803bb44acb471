"""A folder written and read back: every cut file, and every pair of gears found there turned."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import product
from math import nan
from os import PathLike
from pathlib import Path

import numpy as np

from gearwork.checks.check import Check, CheckReport, Subject
from gearwork.checks.tooth.mesh import CutPair, distance_tolerance, need_cut_pair
from gearwork.errors import GearworkError, need, shown
from gearwork.geometry.gear_outline import tooth_outline
from gearwork.geometry.outline import Outline, circle_of
from gearwork.geometry.pair import SIDES, Side
from gearwork.geometry.rack import Bar, BarPiece, Rack
from gearwork.machine.design import Design
from gearwork.machine.gear_set import GearSet
from gearwork.machine.parts import FIRST_PLATE, file_stem
from gearwork.machine.stage import MountedGear
from gearwork.numbers import Floats
from gearwork.output.dxf import Version
from gearwork.output.files import changed_files, folder_of, written_files
from gearwork.output.marking import OUTER, CutLines
from gearwork.output.toolpath_files import SUFFIX, beside_way
from gearwork.output.write import (
    DESIGN_FILE,
    SPACING,
    cut_files,
    file_names,
    way_works,
    write_folder,
)
from gearwork.spec.gear_file import bench_brief
from gearwork.spec.solve import Progress, solve
from gearwork.spec.spec import read_brief
from gearwork.spec.ways import Way
from gearwork.stock.laminate import Panel, need_panel
from gearwork.verify.pieces import faults_check, piece_checks
from gearwork.verify.read_dxf import CutFiles
from gearwork.verify.read_svg import svg_check
from gearwork.verify.rolling import check_bar_rolling, check_rolling
from gearwork.verify.spacing import spacing_checks
from gearwork.verify.toolpath import bit_path_checks, path_faults

PLATE_ERROR = 0.02  # largest of a centre distance in the plate's file, mm; files keep far less


def write_files(
    design: GearSet | CutPair,
    folder: str | PathLike[str],
    *,
    sheet: Panel | None = None,
    bores: Sequence[float] = (),
    torque: float | None = None,
    speed: float | None = None,
    title: str = "Pair of gears",
    version: Version = "R2010",
    progress: Progress | None = None,
    ways: Sequence[Way] = (),
) -> CheckReport:
    """Write every file of a design or of a pair, and read the cut files back at once.

    All files are written, or none and the old ones stay. Those of an earlier run are replaced;
    files that are not gearwork's, or that somebody changed, are not: an error names them.

    Parameters
    ----------
    design : Design, GearSet or CutPair
        From `load_design`; or a pair, with the parameters from `sheet` to `title`.
    folder : path
        Made if it does not exist.
    sheet : Plywood or Stack
        What both gears of the pair are cut from.
    bores : sequence of float
        Of pinion and wheel, mm.
    torque, speed : float, optional
        Running, on the pinion, N·m and rpm: what strength is judged by.
    title : str
        What the papers are headed with.
    version : {"R2010", "R12"}
        Of the DXF files.
    progress : callable, optional
        Called with a line of text when a longer step begins.
    ways : sequence of Way
        Ways out of a design that fails, from `ways_out`: their design files are written as well.

    Returns
    -------
    CheckReport
        What `check_files` found in the files.

    Raises
    ------
    GearworkError
        If a part cannot be made or placed, or a file cannot be written.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> import gearwork as gw
    >>> pair = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 38, thinning=0.2))
    >>> cut, sheet = gw.CutPair(pair, gw.Bit(3.0)), gw.plywood("birch", 12)
    >>> with TemporaryDirectory() as folder:
    ...     found = gw.write_files(cut, folder, sheet=sheet, bores=(12.0, 12.0))
    >>> found.ok
    True
    """
    if isinstance(design, CutPair):
        design = _on_bench("write_files", design, sheet, bores, torque, speed, None, title)
    else:
        ways_in = "gw.load_design(path) or gw.CutPair(pair, bit)"
        need("write_files", design, GearSet, "a design or a CutPair", ways_in)
        if sheet is not None or bores or torque is not None or speed is not None:
            raise GearworkError(
                "sheet, bores, torque and speed go with a CutPair: a design has its own, leave"
                " them out"
            )
    say = progress or (lambda _: None)
    write_folder(design, folder, version, progress, ways)
    say("reading the cut files back")
    return check_files(folder, design)


def write_part(
    cut: CutPair,
    side: Side,
    folder: str | PathLike[str],
    *,
    sheet: Panel,
    bore: float,
    torque: float | None = None,
    speed: float | None = None,
    title: str = "Gear",
    version: Version = "R2010",
) -> CheckReport:
    """Write every file of one gear of a pair, shaped for its mate, and read them back at once.

    Parameters
    ----------
    cut : CutPair
        The gear and its mate.
    side : {"pinion", "wheel"}
        Which gear.
    folder, sheet, torque, speed, title, version
        As in `write_files`.
    bore : float
        mm.

    Returns
    -------
    CheckReport
        What `check_files` found, the gear turned against its mate as designed.

    Raises
    ------
    GearworkError
        As `write_files`.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> import gearwork as gw
    >>> cut = gw.CutPair(gw.GearPair(gw.Gear(5, 20, thinning=0.2), gw.Gear(5, 38)), gw.Bit(3.0))
    >>> with TemporaryDirectory() as folder:
    ...     found = gw.write_part(cut, "wheel", folder, sheet=gw.plywood("birch", 12), bore=22.0)
    >>> found.ok
    True
    """
    need_cut_pair("write_part", cut)
    if side not in SIDES:
        raise GearworkError(f'side is {shown(side)}: it must be "pinion" or "wheel"')
    gear = _on_bench("write_part", cut, sheet, (bore,), torque, speed, side, title)
    write_folder(gear, folder, version)
    return check_files(folder, gear)


def _on_bench(
    caller: str,
    cut: CutPair,
    sheet: Panel | None,
    bores: Sequence[float],
    torque: float | None,
    speed: float | None,
    only: Side | None,
    title: str,
) -> GearSet:
    """The gears of a pair without a machine; errors speak of parameters, not of a file's table."""
    panel = need_panel(caller, sheet)
    wanted = 1 if only else 2
    if not isinstance(bores, Sequence) or isinstance(bores, str) or len(bores) != wanted:
        raise GearworkError(
            f"bores are {shown(bores)}: two in mm are needed, pinion and wheel: bores=(12.0, 12.0)"
        )
    return GearSet(
        bench_brief(cut, panel, tuple(bores), torque=torque, speed=speed, only=only, title=title)
    )


def check_files(folder: str | PathLike[str], design: GearSet | None = None) -> CheckReport:
    """Read the written cut files back and turn every pair of gears found in them.

    Parameters
    ----------
    folder : path
        Written by `write_files`; the files may have been changed since.
    design : Design or GearSet, optional
        The one just written, if it is at hand: it is not solved again as long as the folder's
        design file says the same.

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
    >>> import gearwork as gw
    >>> cut = gw.CutPair(gw.GearPair(gw.Gear(5, 20, thinning=0.2), gw.Gear(5, 38)), gw.Bit(3.0))
    >>> with TemporaryDirectory() as folder:
    ...     _ = gw.write_part(cut, "wheel", folder, sheet=gw.plywood("birch", 12), bore=22.0)
    ...     found = gw.check_files(folder)
    >>> found.ok
    True
    """
    home = folder_of(folder)
    written_files(home)
    brief = read_brief(home / DESIGN_FILE)
    if design is None or brief.text != design.brief.text:
        design = solve(brief)
    files = CutFiles(home)
    checks: list[Check] = []
    for stage in range(len(design.stages)):
        if design.stages[stage].only is None:
            checks += _distance_checks(design, stage, *_bored(files, design, stage))
        checks += _pair_checks(files, design, stage)
    try:
        drawn = {stem: make() for stem, make in cut_files(design).items()}
    except GearworkError as error:
        checks.append(_unmade(error))
    else:
        checks += piece_checks(design, files, drawn)
        checks += _drawing_checks(files, design, drawn)
    checks += bit_path_checks(files, design.brief.bit)
    if design.axes:
        checks += spacing_checks(files, design)
    checks.append(faults_check("files of this design", "", list(_folder_faults(home, design))))
    return CheckReport(Subject("files", f"files in {home.name}"), tuple(checks))


def _unmade(error: GearworkError) -> Check:
    judged, source = "pieces as designed", "the design file as read back"
    why = f"{DESIGN_FILE} no longer makes the parts in these files: {error}."
    remedy = "Write the files again from a design that can be made."
    return Check(judged, nan, 0.0, "", "at most", why, source, remedy, kind="file")


READ = (".dxf", ".svg")
"""Files that are read by what they hold."""

CUT_BY = (
    *READ,
    *(".nc", ".ngc", ".gcode", ".gc", ".cnc", ".tap"),
    *(".plt", ".hpgl", ".dwg", ".svgz", ".eps", ".ai", ".cdr", ".lbrn", ".lbrn2"),
    *(".step", ".stp", ".igs", ".stl", ".3mf"),
)
"""Endings of files that a machine may be given."""

PAPERS = (".pdf", ".html", ".htm", ".txt", ".toml", ".png", ".zip")
"""Endings of what may be an older paper or a copy of one, if it is called like one of ours."""


def _folder_faults(home: Path, design: GearSet) -> Iterator[str]:
    """Yield what stands in the folder and should not, what lacks, and what nobody can vouch for."""
    listed = {path.name for path in written_files(home)}
    changed = changed_files(home)
    if DESIGN_FILE in changed:
        yield f"{DESIGN_FILE} was changed after the other files were made of it: run gearwork again"
    for path in map(Path, sorted(changed - {DESIGN_FILE})):
        if path.suffix not in READ or path.stem == SPACING:
            yield f"{path} was changed since it was written"
    try:
        wanted = file_names(design)
    except GearworkError:
        return  # told already
    for name in sorted(wanted - listed):
        yield f"{name} is not in the list of files"
    ours = tuple(Path(name).stem for name in listed)
    for name in sorted(path.name for path in home.iterdir()):
        kind = Path(name).suffix.lower()
        copied = kind in PAPERS and name not in listed and name.lower().startswith(ours)
        if copied or (kind in CUT_BY and name not in wanted):
            yield f"{name} is no file of this design: move it away"


def _drawing_checks(
    files: CutFiles, design: GearSet, drawn: Mapping[str, CutLines]
) -> Iterator[Check]:
    """Yield checks of the ways of the bit, and of the drawings beside the cut files."""
    there = {path.name for path in written_files(files.home)}  # their list tells what is not
    for stem, file in drawn.items():
        if f"{stem}.svg" in there:
            yield svg_check(files.home / f"{stem}.svg", replace(file, lines=files.lines(stem)))
    bit, tabs = design.brief.bit, design.brief.cutting.bridges
    for stem, work in way_works(design).items():
        if stem not in files.with_ways:
            continue
        file = beside_way(stem, work, files.ways(stem), bit, tabs)
        faults = list(path_faults(files, stem, bit, tabs, work, file.marks))
        yield faults_check("passes of the bit", f"{stem}{SUFFIX}.dxf", faults)
        if f"{stem}{SUFFIX}.svg" in there:
            yield svg_check(files.home / f"{stem}{SUFFIX}.svg", file)


def _pair_checks(files: CutFiles, design: GearSet, stage: int) -> Iterable[Check]:
    pair = design.stages[stage].pair
    cut = design.cut_of(stage)
    pinions, wheels = (
        _edges(files, design, cut[side]) if side in cut else _as_designed(design, stage, side)
        for side in SIDES
    )
    bars = _bars(design, stage)
    firsts = next(iter(pinions)), next(iter(wheels))
    for pinion, wheel in product(pinions, wheels):
        if pinion != firsts[0] and wheel != firsts[1]:
            continue  # layers that are like their first need not all be turned against each other
        if bars:
            yield from check_bar_rolling(
                pinions[pinion],
                wheels[wheel],
                design.cut_pairs[stage],
                bars[wheel],
                tolerance=distance_tolerance(pair),
                names=(pinion, wheel),
            )
            continue
        yield from check_rolling(
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


def _bars(design: GearSet, stage: int) -> dict[str, BarPiece]:
    """What each file holds of the rack of a stage; one that is not cut here is whole."""
    rack, gear = design.stages[stage].pair.wheel, design.cut_of(stage).get("wheel")
    if not isinstance(rack, Rack):
        return {}
    if gear is None:
        return {f"wheel {stage + 1}": Bar(rack, ((),)).pieces(0)[0]}
    layers = design.bar_pieces(gear)
    return {f"{file_stem(one.name)}.dxf": one.piece for layer in layers for one in layer}


def _as_designed(design: GearSet, stage: int, side: Side) -> dict[str, Outline]:
    """Toothed edge of a gear that is not cut here, for its mate to turn against."""
    cut = design.cut_pairs[stage]
    return {f"{side} {stage + 1}": tooth_outline(cut.running(side))}


def _edges(files: CutFiles, design: GearSet, gear: MountedGear) -> dict[str, Outline]:
    """Toothed edges of all layers of a gear, by file name."""
    found = {}
    for part in design.layer_names(gear):
        stem = file_stem(part)
        name, outlines = f"{stem}.dxf", files[stem].get(OUTER, [])
        if len(outlines) != 1:
            raise GearworkError(
                f"{name} holds {len(outlines)} outer edges: one is needed; write the files again"
            )
        found[name] = outlines[0]
    return found


def _bored(files: CutFiles, design: GearSet, stage: int) -> tuple[str, Floats]:
    """What holds the bores of a stage's axes, and where they stand in its file, mm, shape (n, 2).

    Of a rack on its own bed the drawing, that of a machine too.
    """
    name, stem = ("drawing", SPACING) if design.axes else ("", "")
    if isinstance(design, Design) and stage != design.on_bed:
        name, stem = "plate", file_stem(FIRST_PLATE)
    sizes = np.array([axis.bore for axis in design.axes])
    circles = [circle_of(o) for group in files[stem].values() for o in group] if stem else []
    seats = [c[0] for c in circles if c is not None and (abs(c[1] - sizes) < 0.05).any()]
    return name, np.array(seats).reshape(-1, 2)


def _distance_checks(design: GearSet, stage: int, name: str, seats: Floats) -> Iterable[Check]:
    start, end = map(np.array, design.points(stage))
    nominal = design.stages[stage].axes_apart
    found = [seats[np.hypot(*(seats - p).T).argmin()] for p in (start, end)] if len(seats) else []
    distance = float(np.hypot(*(found[1] - found[0]))) if len(found) else nan
    yield Check(
        judged=f"centre distance in the {name}",
        part=f"stage {stage + 1}",
        kind="file",
        value=abs(distance - nominal),
        limit=PLATE_ERROR,
        unit="mm",
        sense="at most",
        why=(
            f"The file of the {name} has the axes of pinion and wheel {stage + 1}"
            f" {distance:.3f} mm apart; the gears want {nominal:.3f} mm."
        ),
        otherwise="Write the files again; do not move or scale bores by hand.",
        source="the file as read back",
    )
