"""The test piece of a design, and what its readings in the design file say."""

from collections.abc import Iterator

from gearwork.errors import GearworkError
from gearwork.machine.design import Design
from gearwork.machine.parts import file_stem
from gearwork.machine.readings import MEASURED
from gearwork.machine.testpiece import PIECES, Coupon
from gearwork.numbers import fixed
from gearwork.output.html import Html, element, joined, listed, table
from gearwork.output.testpiece.evaluation import CouponResult, evaluate_coupon
from gearwork.stock.bit import Bit

SLOT_ALONE = (
    "Calipers and pins find too little on these teeth for a test piece. Cut a slot in one pass of"
    " the bit, measure its width, and write it into the design file under [bit] as"
    " measured_diameter."
)


def trial_result(design: Design) -> CouponResult | None:
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


def result_lines(design: Design) -> tuple[str, ...]:
    """Return what the readings in the design file say, one sentence or value a line."""
    result = trial_result(design)
    if result is None:
        return ()
    lines = str(result).splitlines()
    known = design.brief.bit.measured_diameter
    if result.design_entry is not None and result.design_entry == f"measured_diameter = {known}":
        lines.append("The design file has it already.")
    return tuple(lines)


def trial_section(design: Design) -> Html:
    """Return how to cut and measure the test piece, and what it said."""
    trial = design.test_piece
    if trial is None:
        return element("p", SLOT_ALONE)
    told = trial.coupon.told_diameter
    names = " and ".join(f"{file_stem(part.name)}.dxf" for part in trial.coupon.parts)
    intro = (
        f"Cut {names} before anything else: from the sheet of the gears, with the bit, the feed"
        f" and the direction of cut that the gears will get, the path made for a bit of {told:g}"
        f" mm. They carry teeth of stage {trial.stage}, a slot of one pass of the bit and a hole"
        " of the size of the bearing seats. Take each reading three times, write them into the"
        " design file as below and run again: this section then tells what to correct."
    )
    sizes = trial.coupon.sizes()
    rows = (
        (
            name,
            fixed(sizes[name].size, 2, "mm"),
            element("span", "\N{NO-BREAK SPACE}", class_="measured"),
            how,
        )
        for name, how in trial.coupon.instructions.items()
    )
    said = result_lines(design)
    found = (element("h3", "What the test piece said"), listed(said)) if said else ()
    return joined(
        (
            element("p", intro),
            table(("reading", "as drawn", "measured", "how"), rows),
            element("pre", "\n".join(_entry(trial.coupon))),
            *found,
        )
    )


def _entry(coupon: Coupon) -> Iterator[str]:
    """What to write into the design file, with the readings left open."""
    yield "[test_piece]"
    yield f"told_diameter = {coupon.told_diameter:g}"
    yield from (f"{name} = []" for name in MEASURED)
    for name, piece in zip(PIECES, (coupon.pinion, coupon.wheel), strict=True):
        yield f"{name}_pin_diameter = {piece.pin_diameter:g}"
    yield "caliper_error = 0.03"
