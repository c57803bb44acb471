"""The part of the job sheet that judges: what to change, every check, every limit traced."""

from collections.abc import Iterator, Mapping

from gearwork.checks.check import Check, CheckReport, Step
from gearwork.machine.design import Design
from gearwork.numbers import figure
from gearwork.output.html import Html, element, html, joined, listed, table


def verdict(word: str) -> Html:
    """Return a verdict as a word, in the look that goes with it."""
    return element("span", word, class_=f"verdict {word}")


def to_change(design: Design) -> list[tuple[str, Html]]:
    """Return title and content on failed checks and on those to watch, where there are any."""
    titles = {"fails": "What to change before cutting", "watch": "What to watch"}
    found = []
    for word, title in titles.items():
        lines = [_advice(check) for check in design.report if check.verdict == word]
        if lines:
            found.append((title, listed(lines)))
    return found


def check_tables(design: Design, sources: Mapping[str, int]) -> Html:
    """Return a table of the checks of each subject."""
    traced = _traced(design)
    numbers = {basis: number for number, basis in enumerate(traced, 1)}
    intro = (
        "Fails: the limit is not kept. Watch: it is kept, but less well than is wanted. L and S"
        " give the numbers under which limits are traced and sources listed."
    )
    tables = (_check_table(report, sources, numbers) for report in design.reports)
    return joined((element("p", intro), *tables))


def allowables(design: Design) -> Html:
    """Return how each limit was arrived at, step by step; equal ways once."""
    return joined(
        element(
            "details",
            element("summary", f"L{number}: {', '.join(names)}"),
            table(("step", "value", "source"), (_step(step) for step in basis)),
            open="open",
        )
        for number, (basis, names) in enumerate(_traced(design).items(), 1)
    )


def _traced(design: Design) -> dict[tuple[Step, ...], list[str]]:
    """The ways to limits, each with the checks it serves, in order."""
    found: dict[tuple[Step, ...], list[str]] = {}
    for check in design.report:
        if check.basis:
            found.setdefault(check.basis, []).append(check.name)
    return found


def _step(step: Step) -> tuple[str, str, str]:
    return step.quantity, figure(step.value, step.unit), step.source


def _advice(check: Check) -> Html:
    value = f"{figure(check.value, check.unit)}, {check.demanded}."
    head = element("b", f"{check.name}: ")
    return joined((head, value, f" {check.why} ", element("span", check.remedy, class_="remedy")))


def _check_table(
    report: CheckReport, sources: Mapping[str, int], numbers: Mapping[tuple[Step, ...], int]
) -> Html:
    head = ("check", "verdict", "value", "limit", "why", "traced")
    rows = (
        (
            check.name,
            verdict(check.verdict),
            figure(check.value, check.unit),
            check.demanded,
            _reason(check),
            ", ".join(_references(check, sources, numbers)),
        )
        for check in report
    )
    title = element("h3", f"{report.summary[0].upper()}{report.summary[1:]}")
    return joined((title, table(head, rows, "checks")))


def _references(
    check: Check, sources: Mapping[str, int], numbers: Mapping[tuple[Step, ...], int]
) -> Iterator[str]:
    if check.basis:
        yield f"L{numbers[check.basis]}"
    yield f"S{sources[check.source]}"


def _reason(check: Check) -> Html:
    if check.verdict == "holds":
        return html(check.why)
    return joined((check.why, " ", element("span", check.remedy, class_="remedy")))
