"""The spacing drawing of a design: where its shafts stand, and the data of its gears."""

from gearwork.machine.gear_set import GearSet
from gearwork.output.drawing.draft import Drawing, Table
from gearwork.output.drawing.views import Axis, Distance, GearCircles, spacing_drawing


def design_spacing(design: GearSet) -> Drawing:
    """Return the drawing to drill plates by."""
    axes = [
        Axis(a.name, a.at, a.bore, tuple(GearCircles(*c) for c in a.circles)) for a in design.axes
    ]
    distances = [
        Distance(start, end, play, -play) for (start, end, _), play in design.toleranced_distances
    ]
    return spacing_drawing(design.title, axes, distances, [_gear_data(design)])


def _gear_data(design: GearSet) -> Table:
    """The gear data table of the title block."""
    rows = [("gear", "z", "m", "x", "tip", "root")]
    rows += [
        (
            m.name,
            f"{m.gear.teeth:g}",
            f"{m.gear.module:g}",
            f"{m.gear.profile_shift:g}",
            f"{m.gear.tip_diameter:.2f}",
            f"{m.gear.root_diameter:.2f}",
        )
        for m in design.gears
    ]
    return Table("gears, mm", tuple(rows))
