"""The command: design a machine from its file, check it, write everything the workshop needs."""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from gearwork.errors import GearworkError

EPILOG = """\
Examples: orchard-hauler (a rope drum turned by a cordless drill; designed if nothing is named),
orchard-cart (a vehicle; its gears are searched), cider-mill (turned by hand). The design.toml
that each writes is a good start for a file of your own.

exit status: 0 every check holds; 1 designed, but a check fails; 2 it cannot be read or made"""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command and return its exit status."""
    given = _parser().parse_args(arguments)
    try:
        return _run(given)
    except GearworkError as error:
        print(f"gearwork: {error}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("gearwork: stopped; nothing was written half-way", file=sys.stderr)
        return 2


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="gearwork",
        description="Design plywood gears from a design file: check them, write the cut files,"
        " drawings and a job sheet.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument(
        "design",
        nargs="?",
        metavar="DESIGN.toml",
        help="what to build: a design file, or the name of an example",
    )
    parser.add_argument(
        "--into", metavar="FOLDER", default="output", help="where the files go (default: output)"
    )
    parser.add_argument(
        "--old-dxf", action="store_true", help="write DXF R12, for programs that need it"
    )
    parser.add_argument(
        "--read-back",
        action="store_true",
        help="design nothing: read the files in the folder back and turn the gears found there",
    )
    return parser


def _run(given: argparse.Namespace) -> int:
    from gearwork.design.brief import EXAMPLES, example_brief, read_brief
    from gearwork.design.solution import solve
    from gearwork.shop.output import check_files, write_files

    if given.read_back:
        found = check_files(given.into)
        print(found)
        return 0 if found.ok else 1
    name = given.design or EXAMPLES[0]
    is_example = name in EXAMPLES and not Path(name).exists()
    brief = example_brief(name) if is_example else read_brief(name)
    design = solve(brief, _progress)
    written = write_files(design, given.into, "R12" if given.old_dxf else "R2010", _progress)
    _progress("reading the cut files back")
    found = check_files(given.into)
    _progress("")
    print((Path(given.into) / "job-sheet.txt").read_text("utf-8").rstrip())
    print(f"\n{found.summary}")
    print("\n".join(f"  {check}" for check in found.failed))
    print(f"{len(written)} files written to {Path(given.into)}")
    return 0 if design.report.ok and found.ok else 1


def _progress(step: str) -> None:
    if sys.stderr.isatty():
        print(f"\r\033[K{step}", end="", file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main())
