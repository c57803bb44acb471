"""What a page tells of the test piece and of broken teeth: readings to take, what they said."""

from collections.abc import Iterator

from gearwork.machine.break_test import COPIES, BreakTest
from gearwork.machine.design import Design
from gearwork.machine.evaluation import result_of
from gearwork.machine.gear_set import GearSet
from gearwork.machine.parts import file_stem
from gearwork.machine.stage import Stage
from gearwork.machine.testpiece import OVER_PINS, PIECES, TestPiece
from gearwork.numbers import figure, fixed
from gearwork.stock.plywood import Plywood


def result_lines(design: GearSet) -> tuple[str, ...]:
    """Return what the readings in the design file say, one sentence or value a line."""
    result = result_of(design)
    if result is None:
        return ()
    lines = str(result).splitlines()
    known = design.brief.bit.measured_diameter
    if result.design_entry is not None and result.design_entry == f"measured_diameter = {known}":
        lines.append("The design file has it already.")
    return tuple(lines)


def rows_of(design: GearSet) -> dict[str, object] | None:
    """Return what a page tells of the test piece: files, readings to take, what they said.

    None where there is no test piece. Readings already in the design file stand in their blanks.
    """
    piece = design.test_piece
    if piece is None:
        return None
    sizes, given = piece.sizes(), design.brief.test_piece
    pins = dict(zip((f"{name}_pin" for name in PIECES), given.pins if given else (), strict=False))
    rows = []
    for number, (name, how) in enumerate(piece.instructions.items(), 1):
        known = [fixed(value) for value in getattr(given, name, ())] or ["", "", ""]
        row = {"number": number, "how": how, "drawn": fixed(sizes[name].size), "readings": known}
        if name in OVER_PINS:
            shank = pins.get(name)
            row["shank"] = "" if shank is None else fixed(shank)
        rows.append(row)
    for number, (how, drawn, found) in enumerate(_bought(design), len(rows) + 1):
        rows.append({"number": number, "how": how, "drawn": fixed(drawn), "readings": [found]})
    names = [f"{file_stem(part.name)}.dxf" for part in piece.parts]
    return {
        "files": " and ".join(names),
        "bit": piece.programmed_diameter,
        "rows": rows,
        "entry": "\n".join(_entry(piece)),
        "said": result_lines(design),
    }


def _bought(design: GearSet) -> Iterator[tuple[str, float, str]]:
    """What else is measured before anything is cut: how, as reckoned with, and as it was found."""
    sheet = design.brief.gears.sheet
    found = fixed(sheet.thickness) if sheet.thinnest == sheet.thickness else ""
    yield "thickness of the gears' sheet, at its corners and in its middle", sheet.thickness, found
    if isinstance(design, Design):
        on = design.brief.shafts.rod
        found = fixed(on.outside[0]) if on.outside[0] == on.outside[1] else ""
        yield "diameter of the rods over their crests", on.outside[1], found


def _entry(test_piece: TestPiece) -> Iterator[str]:
    """What to write into the design file, with the readings left open, numbered as on the page."""
    yield "[test_piece]"
    yield f"programmed_diameter = {test_piece.programmed_diameter:g}"
    for number, name in enumerate(test_piece.instructions, 1):
        yield f"{name} = []    # reading {number}"
    for name, piece in zip(PIECES, (test_piece.pinion, test_piece.wheel), strict=True):
        yield f"{name}_pin_diameter = {piece.pin_diameter:g}"
    yield "caliper_error = 0.03"


def broken_lines(sheet: Plywood) -> tuple[str, ...]:
    """Return what the broken teeth of a sheet said, one sentence a line; none where none were."""
    shown = sheet.broken_teeth
    if shown is None:
        return ()
    lines = [
        f"{b.direction:g}° to the grain: {b.count} teeth broke at {figure(b.mean, 'N·m')} on"
        f" average, {figure(b.expected, 'N·m')} were expected; {figure(b.characteristic, 'N·m')}"
        f" count, {b.factor:.2f} times what the sheet's table gives"
        for b in shown.found
    ]
    least = shown.weakest
    if shown.covers:
        lines.append(f"The teeth are rated by them, the weakest those at {least.direction:g}°.")
    else:
        lines.append(
            "Teeth of other directions would break first by the sheet's table, which still sets the"
            " rating: break some in the other directions too."
        )
    return tuple(lines)


def broken_entry(test: BreakTest) -> Iterator[str]:
    """Yield the lines for the design file, with the torques left open."""
    yield "[broken_teeth]"
    yield f'of_sheet = "{test.sheet.name}"'
    yield f'gear = "{test.side}"'
    yield f"bit_diameter = {test.cut.bit.cut_diameter:g}"
    yield "duration =      # s, from the first pull to the break, of the quickest tooth"
    for name, value in (("direction", "{:g}"), ("torque", "   ")):
        rows = (", ".join([value.format(d)] * COPIES) for d in test.directions)
        yield f"{name} = ["
        yield from (f"  {row}," for row in rows)
        yield "]"
    stage = Stage(test.cut.pair, test.sheet.thickness).toml
    yield from stage.replace("[[stage]]", "[broken_teeth.stage]").splitlines()
