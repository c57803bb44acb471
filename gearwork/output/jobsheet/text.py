"""The job sheet as short plain text for the terminal."""

from collections.abc import Iterable
from textwrap import fill

from gearwork.checks.check import Check
from gearwork.geometry.pair import GearPair
from gearwork.geometry.rack import Rack
from gearwork.machine.cause import Cause, causes
from gearwork.machine.design import Design
from gearwork.machine.gear_set import GearSet
from gearwork.numbers import fixed
from gearwork.output.drawing.spacing import ends_of
from gearwork.output.jobsheet.content import key_figures, setting_sentences, verdict_line
from gearwork.output.jobsheet.gear_sheet import gear_figures
from gearwork.output.testpiece.broken import broken_lines
from gearwork.output.testpiece.results import result_lines

WIDTH = 79

MAX_CAUSES = 2
"""Causes that are told in the terminal: a screen has room for a dozen lines before the gears."""


def job_sheet_text(design: GearSet) -> str:
    """Return the design as short plain text, the verdict first, at most 79 columns wide."""
    word, text = verdict_line(design)
    setting: tuple[str, ...] = ()
    if isinstance(design, Design):
        setting, figures, has = setting_sentences(design), key_figures(design), "assembly, "
        if design.report.failed:
            setting = setting[:1]
    else:
        figures, has = gear_figures(design), ""
    blocks = [
        _wrapped(f"{design.title}: {word}. {text}"),
        *_matter(design),
        *_marginal(design),
        *(["\n".join(map(_wrapped, setting))] if setting else []),
        "\n".join(_gears(design)),
        "\n".join(_pairs(design)),
        "\n".join(_wrapped(f"{name}: {value}", after=2) for name, value in figures),
        *_test_piece(design),
        *_broken(design),
        _wrapped(f"The job sheet (HTML) has cautions, {has}inspection and every check."),
    ]
    return "\n\n".join(blocks).replace("\N{NO-BREAK SPACE}", " ") + "\n"


def _test_piece(design: GearSet) -> Iterable[str]:
    said = result_lines(design)
    if said:
        lines = (_wrapped(line, before=2, after=4) for line in said)
        yield "\n".join(["What the test piece said:", *lines])


def _broken(design: GearSet) -> Iterable[str]:
    said = broken_lines(design.brief.gears.sheet)
    if said:
        lines = (_wrapped(line, before=2, after=4) for line in said)
        yield "\n".join(["What the broken teeth said:", *lines])


def _matter(design: GearSet) -> Iterable[str]:
    """What is the matter: each cause once, with the way out of its worst check."""
    found = causes(design)
    if found:
        lines = [_wrapped(_words(cause), before=2, after=4) for cause in found[:MAX_CAUSES]]
        if len(found) > MAX_CAUSES:
            lines.append(f"  and {len(found) - MAX_CAUSES} more causes, see the job sheet")
        yield "\n".join(["What is the matter:", *lines])


def _words(cause: Cause) -> str:
    """A load too high breaks much at once: what each part would take is in the calculation."""
    if cause.others:
        return f"{cause.sentence} {cause.others} other checks fail of it."
    return f"{cause.sentence} {cause.checks[0].remedy}"


def _marginal(design: GearSet) -> Iterable[str]:
    """What is marginal, in a line each where nothing fails; else only how many."""
    checks = [check for check in design.report if check.verdict == "marginal"]
    if checks and not design.report.failed:
        yield "\n".join(["Marginal:", *(_line(check) for check in checks)])


def _line(check: Check) -> str:
    value = f"{check.shown} ({check.demand})"
    return _wrapped(f"{check.name}: {value}. {check.remedy}".rstrip(), before=2, after=4)


def _gears(design: GearSet) -> Iterable[str]:
    head = ("", "z", "m", "x", "tip", "root", "span over k", "wide", "bore")
    yield _row(head)
    for mounted in design.gears:
        gear = mounted.gear
        yield _row(
            (
                mounted.name,
                f"{gear.teeth:g}",
                f"{gear.module:g}",
                fixed(gear.profile_shift, 2),
                *(fixed(size) for size in ends_of(gear)),
                ""
                if isinstance(gear, Rack)
                else f"{fixed(gear.span())} {gear.default_teeth_spanned:g}",
                fixed(mounted.end - mounted.start, 1),
                fixed(design.bore(mounted), 1),
            )
        )


def _row(cells: Iterable[str]) -> str:
    name, *rest = cells
    widths = (4, 6, 7, 9, 9, 13, 7, 7)
    return f"{name:<11}" + "".join(
        cell.rjust(width) for cell, width in zip(rest, widths, strict=True)
    )


def _pairs(design: GearSet) -> Iterable[str]:
    for number, stage in enumerate(design.stages, 1):
        pair = stage.pair
        yield _wrapped(
            f"stage {number}: {_motion(pair)}, centre distance"
            f" {fixed(pair.centre_distance, 2, 'mm')}, backlash {fixed(pair.backlash, 2, 'mm')}",
            after=2,
        )


def _motion(pair: GearPair) -> str:
    """Ratio of a pair, or how far a turn of the pinion moves the rack."""
    if isinstance(pair.wheel, Rack):
        travel = fixed(pair.travel_per_turn, 2, "mm")
        return f"{travel} a turn of the pinion, to the rack's reference line"
    return f"ratio {fixed(pair.gear_ratio, 4)}"


def _wrapped(text: str, before: int = 0, after: int = 0) -> str:
    return fill(
        text,
        WIDTH,
        initial_indent=" " * before,
        subsequent_indent=" " * after,
        break_on_hyphens=False,
    )
