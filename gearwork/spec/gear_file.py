"""A design file made from the objects of the bench, so that a pair's folder can make it again."""

import json

from gearwork.checks.tooth.mesh import CutPair
from gearwork.errors import GearworkError, shown
from gearwork.geometry.pair import Side
from gearwork.machine.brief import GearBrief
from gearwork.machine.stage import Stage
from gearwork.spec.spec import LONGEST_TITLE, parse_brief
from gearwork.stock.bit import Bit
from gearwork.stock.laminate import Panel, Stack
from gearwork.stock.plywood import Plywood, plywood, plywood_kinds

SINGLE = ("thickness", "panel_shear", "shear_modulus", "density")
"""Figures of a declared sheet that are one number each."""


def bench_brief(
    cut: CutPair,
    panel: Panel,
    bores: tuple[float, ...],
    *,
    torque: float | None = None,
    speed: float | None = None,
    only: Side | None = None,
    title: str = "Pair of gears",
) -> GearBrief:
    """Return what a design file of this pair says, with the text of the file.

    Refused where no file can say it: another bit than a `Bit`, a sheet whose figures the file has
    no keys for.
    """
    if not isinstance(title, str) or not 0 < len(title) <= LONGEST_TITLE:
        raise GearworkError(f"title is {shown(title)}: 1 to {LONGEST_TITLE} letters are needed")
    if not isinstance(cut.bit, Bit):
        raise GearworkError(f"bit is {shown(cut.bit)}: a gw.Bit is needed, as gw.Bit(diameter=3.0)")
    stage = Stage(
        cut.pair, panel.thickness, len(panel.layers), None, tuple(bores), torque, speed, only
    )
    stage.need_bench()
    keys = {"diameter": cut.bit.diameter, "measured_diameter": cut.bit.measured_diameter}
    bit_text = ", ".join(
        f"{key} = {float(value)!r}" for key, value in keys.items() if value is not None
    )
    lines = [
        f"title = {json.dumps(title, ensure_ascii=False)}",
        f"sheet = {{ {_sheet(panel)} }}",
        f"bit = {{ {bit_text} }}",
    ]
    text = "\n".join([*lines, "", stage.toml])
    brief = parse_brief(text, "the design file of this pair")
    if (brief.stages, brief.gears.panel(stage.layers)) != ((stage,), panel):
        raise GearworkError(
            f"no design file can say this pair in {panel.name}: take a sheet of gw.plywood, or one"
            " of gw.plywood_from_strengths with the figures that [sheet] has keys for"
        )
    return brief


def _sheet(panel: Panel) -> str:
    """The keys of the sheet in the design file."""
    sheet = panel.sheet
    turned = f", layer_angles = {[*panel.layers]!r}" if isinstance(panel, Stack) else ""
    for kind, sizes in plywood_kinds().items():
        for size in sizes:
            bought = plywood(kind, size)
            keys = f'kind = "plywood", wood = "{kind}", thickness = {size!r}'
            if bought == sheet:
                return f"{keys}{turned}"
            if bought.nominal_thickness == sheet.nominal_thickness and _measured(bought, sheet):
                return f"{keys}, measured_thickness = {sheet.thickness!r}{turned}"
    figures = {
        "name": json.dumps(sheet.name, ensure_ascii=False),
        **{key: repr([*getattr(sheet, key)]) for key in ("tension", "compression", "modulus")},
        **{key: repr(getattr(sheet, key)) for key in SINGLE},
    }
    told = ", ".join(f"{key} = {value}" for key, value in figures.items())
    return f'kind = "declared", {told}{turned}'


def _measured(bought: Plywood, sheet: Plywood) -> bool:
    """Whether a sheet is that one at another thickness."""
    try:
        return bought.measured(sheet.thickness) == sheet
    except GearworkError:
        return False
