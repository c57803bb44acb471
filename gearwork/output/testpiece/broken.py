"""What readings of broken teeth say of their sheet, and the table they are written into."""

from collections.abc import Iterator

from gearwork.machine.break_test import COPIES, BreakTest
from gearwork.machine.stage import Stage
from gearwork.numbers import figure
from gearwork.stock.plywood import Plywood


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
