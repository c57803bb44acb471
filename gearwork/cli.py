"""The command: design a machine from its file, check it, write everything the workshop needs."""

import argparse
import atexit
import codecs
import gc
import io
import os
import sys
from collections.abc import Sequence
from pathlib import Path

import gearwork as gw
from gearwork.errors import NoMachineError

ABOUT = """\
Design plywood gears from a design file, two alone or those of a whole machine:
check everything, and write cut files, a spacing drawing at 1:1 and a job sheet."""

EPILOG = """\
Examples that come with gearwork:
  orchard-hauler   a rope drum turned by a cordless drill (if nothing is named)
  orchard-cart     a cart to ride on; its gears are searched
  cider-mill       turned by hand; its gears are searched
  drying-carousel  slow, three equal stages; searched
  apple-washer     two gears alone, without a machine
  press-slide      a pinion and a rack alone
  orchard-gate     a machine that ends in a rack

Copy the design.toml that one of them writes, change it to your machine, run

  gearwork my-machine.toml --into my-machine

Files of an earlier run in the folder are replaced; a file that you changed
or put there never is: the command then says which one stands in the way.

exit status:
  0  every check holds
  1  designed and written, but a check fails: the text says what to change
  2  the file cannot be read, or nothing can be made of it"""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command and return its exit status."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="gearwork")
    given = _parser().parse_args(arguments)
    gc.set_threshold(200_000)  # before all that loads: what a run makes it keeps, nearly all of it
    atexit.register(gc.freeze)  # to look through it once more at the end took a fifteenth of all
    try:
        return _run(given)
    except gw.GearworkError as error:
        print(f"gearwork: {error}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("gearwork: stopped; nothing was written half-way", file=sys.stderr)
        return 2


def _spelled(error: UnicodeError) -> tuple[str, int]:
    """What a terminal shows for letters it does not know."""
    assert isinstance(error, UnicodeEncodeError)
    return gw.plain_text(error.object[error.start : error.end]), error.end


codecs.register_error("gearwork", _spelled)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="gearwork",
        description=ABOUT,
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument_group("what to build").add_argument(
        "design",
        nargs="?",
        metavar="DESIGN.toml",
        help="a design file, or the name of an example",
    )
    parser.add_argument(
        "--into", metavar="FOLDER", default="output", help="where the files go (default: output)"
    )
    parser.add_argument(
        "--old-dxf", action="store_true", help="write DXF R12, for programs that need it"
    )
    parser.add_argument(
        "--keys",
        action="store_true",
        help="print every table and key of a design file, with default, unit, limits and meaning",
    )
    parser.add_argument(
        "--choices",
        action="store_true",
        help="of a file whose gears are searched: show up to four trains side by side in"
        " choices.html, and the line that takes each; write nothing else",
    )
    parser.add_argument(
        "--read-back",
        action="store_true",
        help="design nothing: read the files in the folder back and turn the gears found there",
    )
    parser.add_argument(
        "--all", action="store_true", help="with --read-back: tell every check, not faults alone"
    )
    return parser


def _run(given: argparse.Namespace) -> int:
    if given.keys:
        _tell(gw.reference())
        return 0
    if given.read_back:
        found = gw.check_files(given.into)
        _tell(str(found) if given.all else "\n".join(_read_back(found)))
        return 0 if found.ok else 1
    name = given.design or gw.EXAMPLES[0]
    is_example = name in gw.EXAMPLES and not Path(name).is_file()
    brief = gw.example_brief(name) if is_example else gw.read_brief(name)
    if given.choices:
        found = gw.choices(brief, _progress)
        _progress("")
        page = gw.write_choices(found, given.into)
        _tell(f"{gw.choices_text(found)}\n{page} shows them; write one line under [wishes]")
        return 0
    try:
        design = gw.solve(brief, _progress)
    except NoMachineError as error:
        ways = gw.ways_out(brief, progress=_progress)
        _progress("")
        if ways:
            gw.write_ways(ways, given.into)
        told = _ways(ways, Path(given.into)) or ["", NO_WAY]
        raise NoMachineError("\n".join((str(error), *told))) from None
    _progress("")
    if design.report.ok and design.cannot_be_cut:
        raise gw.GearworkError(design.cannot_be_cut)  # no verdict on what cannot be made
    _tell(gw.job_sheet_text(design))
    ways = () if design.report.ok else gw.ways_out(brief, design, _progress)
    version = "R12" if given.old_dxf else "R2010"
    found = gw.write_files(design, given.into, version=version, progress=_progress, ways=ways)
    _progress("")
    home = Path(given.into)
    told = [*_read_back(found), f"all files are in {home}; start with {home / 'job-sheet.html'}"]
    told += _ways(ways, home)
    if not ways and isinstance(design, gw.Design) and not design.report.ok:
        told += ["", NO_WAY]
    _tell("\n".join(told))
    return 0 if design.report.ok and found.ok else 1


def _ways(ways: Sequence[object], home: Path) -> list[str]:
    """Ways out that stand in a folder as design files, in lines."""
    told = []
    for number, way in enumerate(ways, 1):
        run = f"Run it: gearwork {home / f'way-{number}.toml'} --into another-folder"
        told += ["", str(way), run]
    return told


NO_WAY = "No way out was found among the changes that were tried, whichever wish yields."

MAX_FAULTS = 8
"""Faults of a folder that are told, the worst first."""


def _read_back(found: gw.CheckReport) -> list[str]:
    """What was found in the files: spoiled ones in a line each, the worst first.

    Gears that do not turn are no news where a file is not what was designed.
    """
    spoiled = [check for check in found.failed if check.kind == "file"]
    told = sorted(spoiled or found.failed, key=_excess, reverse=True)
    lines = [found.summary, *(f"  {check.name}: {check.reason}" for check in told[:MAX_FAULTS])]
    more = len(found.failed) - len(lines) + 1
    if more > 0:
        fail = "fails" if more == 1 else "fail"
        lines.append(f"  and {more} more that {fail}: --read-back --all tells every check")
    return lines


def _excess(check: gw.Check) -> float:
    """How far a check misses its limit, as a proportion; what is no number at all most."""
    worse, better = sorted((abs(check.value), abs(check.limit)), reverse=True)
    return worse / better if better > 0.0 and worse == worse else float("inf")


def _tell(text: str) -> None:
    """Print a text; a reader that has seen enough, such as `head`, is no error."""
    try:
        print(text, flush=True)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _progress(step: str) -> None:
    if sys.stderr.isatty():
        print(f"\r\033[K{step}", end="", file=sys.stderr, flush=True)
