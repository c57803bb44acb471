"""The test piece of a design, and what its readings in the design file say."""

from collections.abc import Iterator

from gearwork.errors import GearworkError
from gearwork.machine.design import Design
from gearwork.machine.gear_set import GearSet
from gearwork.machine.parts import file_stem
from gearwork.machine.readings import OVER_PINS
from gearwork.machine.testpiece import PIECES, TestPiece
from gearwork.numbers import fixed
from gearwork.output.testpiece.evaluation import TestPieceResult, evaluate_test_piece
from gearwork.stock.bit import Bit


def result_of(design: GearSet) -> TestPieceResult | None:
    """Return what the readings in the design file say, None where there are none."""
    readings = design.brief.test_piece
    if readings is None:
        return None
    told = readings.programmed_diameter or design.brief.bit.diameter
    piece = design.test_piece_cut_by(Bit(told))
    if piece is None:
        raise GearworkError(
            "[test_piece] has readings: no test piece of this design can be measured; take them out"
        )
    try:
        return evaluate_test_piece(piece, readings)
    except GearworkError as error:
        raise GearworkError(
            f"[test_piece] {error}; if the teeth of the design were changed since, take the"
            " readings out"
        ) from None


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
