"""The part of the job sheet that tells what to make: gears, hubs, rods, pieces, measurements."""

from collections.abc import Iterable, Sequence
from math import hypot

from gearwork.checks.tooth.strength import Rating, break_words
from gearwork.errors import GearworkError
from gearwork.geometry.measuring import pin_for, teeth_to_span
from gearwork.geometry.part import Part
from gearwork.machine.design import Design
from gearwork.machine.layout import SheetLayout
from gearwork.numbers import figure, fixed
from gearwork.output.drawing.views import GearMeasures, gear_drawing
from gearwork.output.html import Html, element, joined, listed, symbol, table
from gearwork.output.jobsheet.content import inspection, setting_sentences
from gearwork.output.jobsheet.gear_data import gear_data, pair_data
from gearwork.output.jobsheet.picture import sheet_view
from gearwork.output.svg import drawing_picture
from gearwork.stock.hardware import fasteners

_BLANK = element("span", "\N{NO-BREAK SPACE}", class_="measured")


def facts(figures: Iterable[tuple[str, str]]) -> Html:
    """Return figures with their names, side by side where there is room."""
    pairs = (joined((element("dt", name), element("dd", value))) for name, value in figures)
    return element("dl", *pairs, class_="facts")


def gears(design: Design) -> Html:
    """Return the gears and the pairs, as they will be cut."""
    return joined((gear_figures(design), _pair_figures(design)))


def gear_figures(design: Design, style: str = "") -> Html:
    """Return one column for each gear, one row for each figure."""
    mounted = design.train.gears
    data = [gear_data(gear.gear, 2) for gear in mounted]
    rows = []
    for same in zip(*data, strict=True):
        first = same[0]
        sign = first.symbol
        if sign.startswith("W_"):
            cells = [f"{q.value} over {q.symbol[2:]}" for q in same]
            rows.append((_term("span measurement over k teeth", "W_k", first.unit), *cells))
        else:
            rows.append((_term(first.term, sign, first.unit), *(q.value for q in same)))
    layers = (design.stages[gear.stage].layers for gear in mounted)
    angles = (design.panel(gear.stage).layers for gear in mounted)
    rows += [
        (_term("face width", "b", "mm"), *(fixed(gear.end - gear.start, 1) for gear in mounted)),
        (
            "layers, and the face grain of each to tooth 0",
            *(
                f"{count}: {', '.join(f'{angle:g}°' for angle in turned)}"
                for count, turned in zip(layers, angles, strict=True)
            ),
        ),
        (
            "bore, mm",
            *(fixed(held.fixing.bore_diameter) for held in design.fixings),
        ),
    ]
    return table(("figure", *(gear.name for gear in mounted)), rows, "numbers", style)


def _pair_figures(design: Design) -> Html:
    data = [pair_data(stage.pair, 2) for stage in design.stages]
    rows = [
        (_term(same[0].term, same[0].symbol, same[0].unit), *(q.value for q in same))
        for same in zip(*data, strict=True)
    ]
    head = ("pair", *(f"stage {i}" for i in range(1, len(data) + 1)))
    return table(head, rows, "numbers")


def _term(term: str, sign: str, unit: str) -> Html:
    tail = f", {unit}" if unit else ""
    return joined((term, " " if sign else "", symbol(sign), tail))


def rating(design: Design) -> Html:
    """Return the greatest torque by stage and case, and how the drive is set for it."""
    stall, drive = design.torques.stall, design.duty.drive.greatest_torque
    rows = []
    for stage, limits in enumerate(design.limits):
        for weakest in Rating.of(limits).limits:
            where = "flanks" if weakest.kind == "contact" else f"{weakest.side}, {weakest.kind}"
            rows.append(
                (
                    f"stage {stage + 1}, {weakest.case.name}",
                    figure(weakest.case.torque, "N·m"),
                    break_words(weakest),
                    figure(weakest.torque, "N·m"),
                    figure(weakest.torque * drive / float(stall[stage]), "N·m"),
                    where,
                )
            )
    head = ("case", "given, on the pinion", "breaks at about", "allowed, on the pinion",
            "allowed, at the drive", "gives way first")  # fmt: skip
    first, *rest = setting_sentences(design)
    sentences = (element("p", element("b", first)), *(element("p", text) for text in rest))
    return joined((*sentences, table(head, rows, "numbers")))


def loads(design: Design) -> Html:
    """Return what can happen to the machine, and what is fixed to the ends of its shafts."""
    rows = (
        (
            event.name,
            event.cause,
            event.cap,
            figure(float(event.torques[0]), "N·m"),
            figure(float(event.torques[-1]), "N·m"),
            "the other flanks" if event.braking else "the driving flanks",
            "with each turn" if event.name == "running" else _times(event.times),
        )
        for event in design.events
    )
    head = ("what happens", "because", "capped by", "at the drive", "at the output", "carry",
            "how often")  # fmt: skip
    worst = -design.torques.back if design.torques.back[-1] > 0.0 else design.torques.stall
    ends = []
    for end, place in enumerate((0, len(design.train.shafts) - 1)):
        steady, *shocks = (
            design.ends(torques, running)[end]
            for torques, running in (
                (design.torques.running, True), (design.torques.stall, False), (worst, False)
            )
        )  # fmt: skip
        forces = [max(hypot(*force) for force in one.directions) for one in (steady, *shocks)]
        pieces = "on both ends" if steady.count == 2 else "on its end"
        way = "one direction" if len(steady.directions) == 1 else "every direction that is possible"
        ends.append(
            (
                f"shaft {place + 1}",
                f"{steady.name}, {pieces}",
                fixed(steady.overhang, 1, "mm"),
                figure(forces[0], "N"),
                figure(max(forces), "N"),
                way,
            )
        )
    second = ("shaft", "what is fixed to it", "its middle beyond the plate", "presses running",
              "at worst", "tried in")  # fmt: skip
    words = (
        "If the middle sits elsewhere, give drive_overhang or load_overhang under [shafts] and run"
        " again: rods, bearings, seats and meshes are judged with it."
    )
    return joined((table(head, rows, "named"), table(second, ends, "named"), element("p", words)))


def _times(often: float | None) -> str:
    return "while it stands" if often is None else f"{often:.0f} times in all"


def hubs_and_rods(design: Design) -> Html:
    """Return how each gear is held, and what goes on each shaft."""
    every = [
        (gear.name, held, design.hub_torque(gear))
        for gear, held in zip(design.train.gears, design.fixings, strict=True)
    ]
    if design.output_fixing is not None:
        name, on_rod, torque, _ = design.output_fixing
        every.append((name, on_rod, torque))
    hubs = (
        (
            name,
            held.fixing.name,
            fixed(held.fixing.bore_diameter, 1, "mm"),
            figure(torque, "N·m"),
            figure(held.design_torque, "N·m"),
            held.weakest.name,
        )
        for name, held, torque in every
    )
    head = ("what", "how it is held", "bore", "must bear", "bears", "weakest link")
    sizes = listed(fasteners(design.brief.shafts.rod))
    words = element("p", "Nuts and washers for these rods, as far as the hubs above need them:")
    return joined((table(head, hubs, "named"), _rods(design), words, sizes))


def _rods(design: Design) -> Html:
    train, parts = design.train, design.brief.shafts
    rows = []
    for shaft, (x, y) in enumerate(train.points):
        carried = (g for g in train.gears if g.shaft == shaft)
        way = "as the drive" if train.directions[shaft] > 0 else "against the drive"
        rows.append(
            (
                f"shaft {shaft + 1}",
                f"{parts.rod.thread}, class {parts.rod.grade.name},"
                f" {train.rod_lengths[shaft]:.0f} mm long",
                f"2 of {parts.bearing.name}",
                f"{fixed(x)}, {fixed(y)}",
                "; ".join(f"{g.name} {fixed(g.start, 1)} to {fixed(g.end, 1)}" for g in carried),
                f"{figure(design.speeds[shaft], 'rpm')} {way}",
                figure(float(design.torques.running[shaft]), "N·m"),
            )
        )
    head = ("shaft", "rod", "bearings", "at x, y in mm", "gears, mm from the first plate",
            "turns under load", "torque under load")  # fmt: skip
    return table(head, rows, "named")


def cut_list(parts: Sequence[Part], sheets: Sequence[SheetLayout]) -> Html:
    """Return the pieces, and where they lie on the sheets."""
    rows = []
    for number, part in enumerate(parts, 1):
        left, low, right, top = part.bounds
        rows.append(
            (
                f"{number}",
                part.name,
                f"{part.count}",
                f"{right - left:.0f} × {top - low:.0f} × {part.thickness:g} mm",
                f"{part.grain:g}°",
            )
        )
    numbers = {part.name: number for number, part in enumerate(parts, 1)}
    pictures = (
        element(
            "figure",
            sheet_view(sheet, numbers),
            element(
                "figcaption",
                f"{sheet.stock.label}: {'; '.join(sheet.notes)}. The face grain of the sheet runs"
                f" at {sheet.stock.grain:g}° to its long side in this picture.",
            ),
        )
        for sheet in sheets
    )
    head = ("no.", "piece", "pieces", "size", "face grain to its x axis")
    return joined((table(head, rows), *pictures))


def how_measured(design: Design) -> Html:
    """Return a picture of where to measure a gear, of the first on which jaws and pins fit."""
    for gear in design.train.gears:
        tooth = design.cut_pairs[gear.stage].tooth_of(gear.side)
        spanned, pin = teeth_to_span(tooth), pin_for(tooth)
        if spanned is None or pin is None:
            continue
        measures = GearMeasures.of(tooth, spanned, pin)
        try:
            drawing = gear_drawing(design.layers(gear)[0], measures)
        except GearworkError:  # not to be cut with this bit
            return Html("")
        words = (
            f"Where to measure, shown on {gear.name}: span W over {spanned} teeth, M over two"
            f" pins of {pin:g} mm, tip diameter and bore. Sizes in brackets are for information."
        )
        picture = Html(drawing_picture(drawing))
        return element("figure", picture, element("figcaption", words))
    return Html("")


def inspections(design: Design) -> Html:
    """Return what to measure, with room to write it down."""
    head = ("part", "what", "nominal", "limits", "measured", "how")
    tables = []
    for stage in range(len(design.stages)):
        rows = [
            (
                f"{row.part} {stage + 1}",
                row.quantity,
                fixed(row.nominal, 2, row.unit),
                f"{fixed(row.lower)} to {fixed(row.upper)}",
                _BLANK,
                row.how,
            )
            for row in inspection(design, stage)
        ]
        if rows:
            tables.append(table(head, rows, "named"))
        else:
            tables.append(element("p", f"Stage {stage + 1} cannot be cut with this bit."))
    distances = (
        (
            f"{start} to {end}",
            "centre distance",
            fixed(distance, 2, "mm"),
            f"{fixed(distance - play)} to {fixed(distance + play)}",
            _BLANK,
            "in both plates: from edge to edge of the two seats, plus one seat diameter",
        )
        for (start, end, distance), play in design.toleranced_distances
    )
    return joined((how_measured(design), *tables, table(head, distances, "named")))
