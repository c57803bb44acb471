"""The torques at which teeth of a sheet broke, as a design file gives them."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Annotated, Literal

from gearwork.checks.tooth.break_readings import DURATION, broken_teeth
from gearwork.checks.tooth.mesh import CutPair
from gearwork.errors import Bound, GearworkError, check_given
from gearwork.machine.stage import LAYERS, TORQUE, Stage
from gearwork.stock.bit import BIT, Bit
from gearwork.stock.plywood import Plywood


def broken_in(
    sheet: Plywood,
    stage: Stage,
    of_sheet: str,
    gear: Literal["pinion", "wheel"],
    bit_diameter: Annotated[float, BIT],
    torque: Annotated[Sequence[float], TORQUE],
    direction: Annotated[Sequence[float], Bound("°", at_least=0.0, at_most=180.0)],
    duration: Annotated[float, DURATION],
    layers: Annotated[int, LAYERS] = 1,
) -> Plywood:
    """Return the sheet with what its broken teeth showed.

    Parameters
    ----------
    sheet : Plywood
        Of the gears.
    stage : Stage
        The pair whose teeth were broken.
    of_sheet : str
        Name of the sheet they were cut from: readings of another say nothing of this one.
    gear : {"pinion", "wheel"}
        Whose teeth they were.
    bit_diameter : float
        What the bit cut, mm.
    torque, direction : sequence of float
        On that gear, N·m, and degrees from the face grain, as drawn, of every broken tooth.
    duration : float
        From the first pull to the break, of the quickest tooth, s.
    layers : int
        Sheets, all alike, that the teeth were thick.

    Raises
    ------
    GearworkError
        If the readings are of another sheet, too few, or cannot be.
    """
    if of_sheet != sheet.name:
        raise GearworkError(
            f"of_sheet is {of_sheet!r} and the gears are of {sheet.name!r}: broken teeth tell of"
            " their own sheet alone; break some of this one, or take the table out"
        )
    check_given(broken_in, locals())
    cut = CutPair(stage.pair, Bit(bit_diameter))
    shown = broken_teeth(cut, gear, sheet, layers, torque, direction, duration)
    return replace(sheet, broken_teeth=shown)
