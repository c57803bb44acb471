"""The job sheet, as one HTML file and as short text, and the tables that notebooks show."""

from collections.abc import Iterable, Sequence
from textwrap import fill

from gearwork.checks.verdict import Check, CheckReport
from gearwork.design.solution import Design
from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import GearPair
from gearwork.geometry.part import Part
from gearwork.shop.gear_data import Quantity, gear_data, pair_data
from gearwork.shop.html_table import Html, element, figure, fixed, html, joined, listed, symbol
from gearwork.shop.html_table import table as html_table
from gearwork.shop.job_facts import (
    assumptions,
    inspection,
    key_figures,
    setting_sentences,
    sources,
    verdict_line,
)
from gearwork.shop.job_style import STYLE
from gearwork.shop.layout import SheetLayout
from gearwork.shop.train_picture import section_view, sheet_view, train_view

WIDTH = 79
LEFT = "text-align:left"

CAUTIONS = (
    "Routers throw chips and take fingers: clamp the sheet, wear eye and ear protection, keep"
    " hands away until the bit stands still.",
    "Plywood dust harms the lungs: extract it at the bit and wear a mask.",
    "Gears pinch. Guard every mesh so that no finger, hair or cloth can reach it.",
    "First runs: without load, then with little; stand aside of the plane of the gears.",
    "What is hauled can run back, and a rope under load whips: keep clear of both, and never"
    " stand below the load.",
    "Follow your local codes; where people ride or a load can fall on somebody, have a licensed"
    " engineer look at the machine before it is used.",
)

UNKNOWNS = (
    "No fatigue tests of birch plywood teeth were found: figures of cyclic bending of clear wood"
    " stand in, falling on beyond the cycles tested. This errs to the safe side, as far as known.",
    "The peak of stress at the fillet counts in full, in compression too, though wood crushes"
    " gradually and hands its load on. This errs to the safe side.",
    "No characteristic strength of plywood pressed across its face was found; a low value of"
    " clear wood stands in. Clamped hubs relax as wood creeps: half the clamp is counted. Whether"
    " half is enough over years is not known.",
    "Friction of steel on plywood was measured from 0.1 to 0.3; 0.15 counts. Oiled faces may have"
    " less.",
    "Crushing of flanks is judged by the embedment of bolts, without fatigue or wear. Which way"
    " this errs is not known: look at the flanks after the first hours.",
)

ASSEMBLY = (
    "Cut a slot with the bit, measure it, put its width into the design file and run again.",
    "Cut the parts; inside cuts first, the outer edge last, with holding tabs.",
    "Measure every gear by the inspection sheet before gluing.",
    "Glue the layers of each gear with a pin through the witness marks; each layer's grain lies at"
    " the angle in its name. Press flat until the glue has set.",
    "Press the bearings into the side plates; check each centre distance against the spacing"
    " drawing.",
    "Fix the gears on their rods as told for each hub, in the order of the shafts, with the"
    " washers and nuts named there.",
    "Join the plates with the spacers, turn the train by hand through a whole turn of the last"
    " gear: it must turn freely, with the play told at the rim.",
    "Set the drive's clutch, guard the gears, and run without load for some minutes.",
)


def gear_table(gear: Gear) -> Html:
    """Return the figures of a gear as a table for a notebook."""
    return _quantities(gear_data(gear))


def pair_table(pair: GearPair) -> Html:
    """Return the figures of a pair as a table for a notebook."""
    return _quantities(pair_data(pair))


def design_summary(design: Design) -> Html:
    """Return verdict, figures and gears of a design for a notebook."""
    word, text = verdict_line(design)
    return joined(
        (
            element("p", element("b", word), f": {text}"),
            html_table(("figure", "value"), key_figures(design), style=LEFT),
            _gears(design),
        )
    )


def _quantities(rows: Iterable[Quantity]) -> Html:
    cells = ((q.term, symbol(q.symbol), f"{q.value} {q.unit}".strip()) for q in rows)
    return html_table(("quantity", "symbol", "value"), cells, style=LEFT)


def _gears(design: Design) -> Html:
    head = ("gear", "z", "m", "x", "tip d_a", "root d_f", "thickness", "span W_k")
    rows = [
        (
            m.name,
            f"{m.gear.teeth:g}",
            f"{m.gear.module:g}",
            fixed(m.gear.profile_shift, 2),
            fixed(m.gear.tip_diameter),
            fixed(m.gear.root_diameter),
            fixed(m.end - m.start, 1),
            f"{fixed(m.gear.span())} over {m.gear.default_teeth_spanned:g}",
        )
        for m in design.train.gears
    ]
    return html_table(head, rows, "numbers")


def job_sheet_html(
    design: Design, parts: Sequence[Part] = (), sheets: Sequence[SheetLayout] = ()
) -> str:
    """Return the whole design as one HTML page that needs nothing else.

    Parameters
    ----------
    design : Design
        Solved.
    parts : sequence of Part
        For the cut list.
    sheets : sequence of SheetLayout
        Where they lie on the stock.
    """
    word, text = verdict_line(design)
    body = joined(
        (
            element("p", "Job sheet", class_="kind"),
            element("h1", design.title),
            element("p", _verdict(word), f" {text}", class_=f"verdict-line {word}"),
            _to_change(design),
            _figure(train_view(design), "The gears in mesh, seen along their rods."),
            _facts(key_figures(design)),
            _section("Setting the drive", _paragraphs(setting_sentences(design))),
            _section("Gears", _gears(design), _distances(design)),
            _section("What the teeth bear", _limits(design)),
            _section("Hubs and rods", _hubs(design), _rods(design)),
            _figure(section_view(design), "The shafts, laid side by side and cut lengthwise."),
            _section("Cut list", _cut_list(parts), _sheets(parts, sheets)) if parts else Html(""),
            _section("Assembly", listed(ASSEMBLY, "ol")),
            _section("Inspection", *_inspections(design)),
            _section("All checks", *(_check_table(report) for report in design.reports)),
            _section("How the allowables came about", _traces(design)),
            _section("Cautions", listed((*CAUTIONS, *design.duty.cautions))),
            _section("What is not known", listed(UNKNOWNS)),
            _section("Assumptions", listed(assumptions(design))),
            _section("Sources", listed(sources(design))),
        ),
        "\n",
    )
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{html(design.title)}: job sheet</title>\n<style>{STYLE}</style>\n</head>\n"
        f"<body>\n{body}\n</body>\n</html>\n"
    )


def _section(title: str, *content: str) -> Html:
    return element("section", element("h2", title), *content)


def _paragraphs(texts: Iterable[str]) -> Html:
    return joined(element("p", text) for text in texts)


def _figure(picture: str, caption: str) -> Html:
    return element("figure", picture, element("figcaption", caption))


def _verdict(word: str) -> Html:
    return element("span", word, class_=f"verdict {word}")


def _facts(figures: Iterable[tuple[str, str]]) -> Html:
    pairs = (element("div", element("dt", name), element("dd", value)) for name, value in figures)
    return element("dl", *pairs, class_="facts")


def _to_change(design: Design) -> Html:
    failed = design.report.failed
    if not failed:
        return Html("")
    lines = (f"{check.name}: {check.why} {check.remedy}" for check in failed)
    return _section("What to change", listed(lines))


def _distances(design: Design) -> Html:
    rows = [
        (
            f"stage {i}",
            fixed(stage.pair.gear_ratio, 4),
            fixed(stage.pair.centre_distance, 3),
            fixed(stage.pair.contact_ratio, 3),
            fixed(stage.pair.backlash, 3),
        )
        for i, stage in enumerate(design.stages, 1)
    ]
    head = ("stage", "gear ratio u", "centre distance a_w, mm", "contact ratio", "backlash, mm")
    return html_table(head, rows, "numbers")


def _limits(design: Design) -> Html:
    rows = [
        (
            f"stage {i}, {'flanks' if limit.kind == 'contact' else limit.side}, {limit.case.name}",
            figure(limit.case.torque),
            figure(limit.torque),
            limit.kind,
        )
        for i, limits in enumerate(design.limits, 1)
        for limit in limits
    ]
    head = ("part and load", "torque on the pinion, N·m", "allowable, N·m", "gives way by")
    return html_table(head, rows)


def _hubs(design: Design) -> Html:
    rows = [
        (
            gear.name,
            held.fixing.name,
            fixed(held.fixing.bore_diameter, 1),
            figure(design.hub_torque(gear)),
            figure(held.design_torque),
        )
        for gear, held in zip(design.train.gears, design.fixings, strict=True)
    ]
    head = ("gear", "how it is held", "bore, mm", "greatest torque, N·m", "holds, N·m")
    return html_table(head, rows)


def _rods(design: Design) -> Html:
    parts = design.brief.shafts
    rows = [
        (
            f"shaft {i}",
            f"{parts.rod.thread} {parts.rod.grade.name}, {length:.0f} mm",
            f"2 x {parts.bearing.name}",
            f"{x:.3f}, {y:.3f}",
            figure(speed),
        )
        for i, (length, (x, y), speed) in enumerate(
            zip(design.train.rod_lengths, design.train.points, design.speeds, strict=True), 1
        )
    ]
    head = ("shaft", "rod", "bearings", "at x, y, mm", "speed, rpm")
    return html_table(head, rows)


def _cut_list(parts: Sequence[Part]) -> Html:
    rows = [
        (f"{i}", part.name, f"{part.count}", f"{part.thickness:g}", f"{part.grain:g}°")
        for i, part in enumerate(parts, 1)
    ]
    return html_table(("no.", "part", "pieces", "sheet, mm", "grain to tooth 0"), rows)


def _sheets(parts: Sequence[Part], sheets: Sequence[SheetLayout]) -> Html:
    numbers = {part.name: i for i, part in enumerate(parts, 1)}
    return joined(
        _figure(sheet_view(sheet, numbers), f"{'; '.join(sheet.notes)}.") for sheet in sheets
    )


def _inspections(design: Design) -> Iterable[Html]:
    head = ("part", "what", "nominal", "from", "to", "measured", "how")
    blank = element("span", "\N{NO-BREAK SPACE}", class_="measured")
    for i in range(len(design.stages)):
        rows = [
            (
                r.part,
                r.quantity,
                fixed(r.nominal, 2, r.unit),
                fixed(r.lower),
                fixed(r.upper),
                blank,
                r.how,
            )
            for r in inspection(design, i)
        ]
        yield element("h3", f"Stage {i + 1}")
        yield html_table(head, rows)


def _check_table(report: CheckReport) -> Html:
    head = ("check", "verdict", "value", "limit", "why", "source")
    rows = [
        (
            check.name,
            _verdict(check.verdict),
            figure(check.value, check.unit),
            check.demand,
            _reason(check),
            element("small", check.source),
        )
        for check in report
    ]
    return joined((element("h3", report.title), html_table(head, rows)))


def _reason(check: Check) -> Html:
    if check.verdict == "holds":
        return html(check.why)
    return joined((check.why, " ", element("span", check.remedy, class_="remedy")))


def _traces(design: Design) -> Html:
    return joined(
        element(
            "details",
            element("summary", check.name),
            listed(f"{s.quantity}: {figure(s.value, s.unit)} ({s.source})" for s in check.basis),
        )
        for check in design.report
        if check.basis
    )


def job_sheet_text(design: Design) -> str:
    """Return the design as short plain text, the verdict first, at most 79 columns wide."""
    word, text = verdict_line(design)
    blocks = [_wrapped(f"{design.title}: {word.upper()}. {text}")]
    blocks += [
        _wrapped(f"{check.verdict}: {check.name}. {check.why} {check.remedy}", 2)
        for check in design.report
        if check.verdict != "holds"
    ]
    blocks.append("")
    blocks += [_wrapped(sentence) for sentence in setting_sentences(design)]
    blocks.append("")
    blocks.append(f"{'gear':10}{'z':>4}{'m':>6}{'x':>7}{'tip':>9}{'root':>9}{'wide':>7}  held by")
    for m, held in zip(design.train.gears, design.fixings, strict=True):
        g = m.gear
        line = (
            f"{m.name:10}{g.teeth:4.0f}{g.module:6g}{g.profile_shift:7.2f}{g.tip_diameter:9.2f}"
            f"{g.root_diameter:9.2f}{m.end - m.start:7.1f}  "
        )
        blocks.append(fill(line + held.fixing.name, WIDTH, subsequent_indent=" " * 12))
    blocks.append("")
    blocks += [_wrapped(f"{name}: {value}") for name, value in key_figures(design)]
    return "\n".join(blocks).replace("\N{NO-BREAK SPACE}", " ") + "\n"


def _wrapped(text: str, indent: int = 0) -> str:
    return fill(text, WIDTH, initial_indent=" " * indent, subsequent_indent=" " * (indent + 2))
