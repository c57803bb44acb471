"""The job sheet, as one HTML file that needs nothing else."""

from collections.abc import Iterable, Sequence

from gearwork.checks.tooth.strength import UNKNOWNS
from gearwork.errors import GearworkError
from gearwork.machine.design import Design
from gearwork.output.html import STYLE, Html, element, html, joined, listed
from gearwork.output.jobsheet import calculation as job_checks
from gearwork.output.jobsheet import sections as job_sections
from gearwork.output.jobsheet.content import (
    CAUTIONS,
    assembly_steps,
    assumptions,
    key_figures,
    sources,
    verdict_line,
)
from gearwork.output.jobsheet.picture import section_view, train_view
from gearwork.output.testpiece.trial import trial_section


def job_sheet_html(design: Design) -> str:
    """Return the whole design as one HTML page that needs nothing else."""
    word, text = verdict_line(design)
    known = sources(design)
    places = {source: place for place, source in enumerate(known, 1)}
    workshop = [
        *job_checks.to_change(design),
        ("Gears", job_sections.gears(design)),
        ("What the teeth bear, and setting the drive", job_sections.rating(design)),
        ("Hubs, rods and bearings", job_sections.hubs_and_rods(design)),
        ("Test piece: cut it first", trial_section(design)),
        *_cut_list(design),
        ("Assembly, in this order", listed(assembly_steps(design), "ol")),
        ("Inspection sheet", job_sections.inspections(design)),
        ("Cautions", listed((*CAUTIONS, *design.duty.cautions))),
    ]
    reasons = [
        ("What can happen to it, and what caps it", job_sections.loads(design)),
        ("All checks", job_checks.check_tables(design, places)),
        ("How the limits came about", job_checks.allowables(design)),
        ("Assumptions", listed(assumptions(design))),
        ("What is not known, and which way it errs", listed(UNKNOWNS)),
        ("Sources", listed(known, "ol")),
    ]
    top = (
        element("p", "Job sheet", class_="kind"),
        element("h1", design.title),
        element("p", job_checks.verdict(word), f": {text}", class_=f"verdict-line {word}"),
        element(
            "p",
            "Read the cautions before cutting, and again before the first run. Sections 1 to"
            f" {len(workshop)} are for the workshop; those after them tell how the verdict came"
            " about.",
        ),
        _figure(train_view(design), "The gears in mesh, seen along their rods."),
        _figure(section_view(design), "The shafts laid side by side and cut lengthwise."),
        job_sections.facts(key_figures(design)),
    )
    why = element("div", *_numbered(reasons, len(workshop) + 1), class_="why")
    return _page(design.title, joined((*top, *_numbered(workshop), why), "\n"))


def _cut_list(design: Design) -> list[tuple[str, Html]]:
    try:
        return [("Cut list and sheets", job_sections.cut_list(design.parts, design.sheets))]
    except GearworkError:  # cannot be made or placed: the checks tell what to change
        return []


def _page(title: str, body: Html) -> str:
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{html(title)}: job sheet</title>\n<style>{STYLE}</style>\n</head>\n"
        f"<body>\n{body}\n</body>\n</html>\n"
    )


def _numbered(sections: Sequence[tuple[str, Html]], first: int = 1) -> Iterable[Html]:
    for number, (title, content) in enumerate(sections, first):
        yield element("section", element("h2", f"{number}. {title}"), content)


def _figure(picture: str, caption: str) -> Html:
    return element("figure", picture, element("figcaption", caption))
