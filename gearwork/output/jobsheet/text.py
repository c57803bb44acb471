"""The job sheet as short plain text for the terminal."""

from gearwork.machine.cause import causes
from gearwork.machine.design import Design
from gearwork.machine.gear_set import GearSet
from gearwork.output.drawing.spacing import ends_of
from gearwork.output.jobsheet.content import key_figures, setting_sentences, verdict_line
from gearwork.output.jobsheet.gear_sheet import gear_figures
from gearwork.output.jobsheet.pages import plain_page
from gearwork.output.jobsheet.testpiece import broken_lines, result_lines

MAX_CAUSES = 2
"""Causes that are told in the terminal: a screen has room for a dozen lines before the gears."""


def job_sheet_text(design: GearSet) -> str:
    """Return the design as short plain text, the verdict first, at most 79 columns wide."""
    word, verdict = verdict_line(design)
    machine = design if isinstance(design, Design) else None
    return plain_page(
        "job-sheet.txt",
        title=design.title,
        design=design,
        word=word,
        verdict=verdict,
        causes=causes(design),
        max_causes=MAX_CAUSES,
        marginal=[check for check in design.report if check.verdict == "marginal"],
        setting=setting_sentences(machine) if machine else (),
        figures=key_figures(machine) if machine else gear_figures(design),
        ends_of=ends_of,
        test_piece=result_lines(design),
        broken=broken_lines(design.brief.gears.sheet),
    )
