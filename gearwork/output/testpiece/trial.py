"""The test piece of a design, and what its readings in the design file say."""

from collections.abc import Iterator

from gearwork.errors import GearworkError
from gearwork.machine.gear_set import GearSet
from gearwork.machine.parts import file_stem
from gearwork.machine.readings import MEASURED
from gearwork.machine.testpiece import PIECES, Coupon
from gearwork.numbers import fixed
from gearwork.output.testpiece.evaluation import CouponResult, evaluate_coupon
from gearwork.stock.bit import Bit


def trial_result(design: GearSet) -> CouponResult | None:
    """Return what the readings in the design file say, None where there are none."""
    readings = design.brief.test_piece
    if readings is None:
        return None
    told = readings.told_diameter or design.brief.bit.diameter
    trial = design.test_piece_cut_by(Bit(told))
    if trial is None:
        raise GearworkError(
            "[test_piece] has readings: no test piece of this design can be measured; take them out"
        )
    try:
        return evaluate_coupon(trial.coupon, readings)
    except GearworkError as error:
        raise GearworkError(
            f"[test_piece] {error}; if the teeth of the design were changed since, take the"
            " readings out"
        ) from None


def result_lines(design: GearSet) -> tuple[str, ...]:
    """Return what the readings in the design file say, one sentence or value a line."""
    result = trial_result(design)
    if result is None:
        return ()
    lines = str(result).splitlines()
    known = design.brief.bit.measured_diameter
    if result.design_entry is not None and result.design_entry == f"measured_diameter = {known}":
        lines.append("The design file has it already.")
    return tuple(lines)


def trial_rows(design: GearSet) -> dict[str, object] | None:
    """Return what a page tells of the test piece: files, readings to take, what they said.

    None where there is no test piece. Readings already in the design file stand in their blanks.
    """
    trial = design.test_piece
    if trial is None:
        return None
    sizes, given = trial.coupon.sizes(), design.brief.test_piece
    rows = []
    for number, (name, how) in enumerate(trial.coupon.instructions.items(), 1):
        known = [fixed(value) for value in getattr(given, name, ())]
        blanks = known or ["", "", ""]
        rows.append(
            {"number": number, "how": how, "drawn": fixed(sizes[name].size), "readings": blanks}
        )
    names = [f"{file_stem(part.name)}.dxf" for part in trial.coupon.parts]
    return {
        "files": " and ".join(names),
        "bit": trial.coupon.told_diameter,
        "rows": rows,
        "entry": "\n".join(_entry(trial.coupon)),
        "said": result_lines(design),
    }


def _entry(coupon: Coupon) -> Iterator[str]:
    """What to write into the design file, with the readings left open, numbered as on the page."""
    yield "[test_piece]"
    yield f"told_diameter = {coupon.told_diameter:g}"
    for number, name in enumerate(MEASURED, 1):
        yield f"{name} = []    # reading {number}"
    for name, piece in zip(PIECES, (coupon.pinion, coupon.wheel), strict=True):
        yield f"{name}_pin_diameter = {piece.pin_diameter:g}"
    yield "caliper_error = 0.03"
