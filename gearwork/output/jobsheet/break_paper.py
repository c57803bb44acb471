"""The paper of the break test: how to build it, what to expect, where readings go."""

from collections.abc import Iterator

from markupsafe import Markup

from gearwork.machine.break_test import COPIES, BreakTest, StageBreakTest
from gearwork.machine.gear_set import GearSet
from gearwork.machine.parts import file_stem
from gearwork.numbers import fixed
from gearwork.output.jobsheet.pages import page
from gearwork.output.jobsheet.picture import break_test_views
from gearwork.output.jobsheet.testpiece import broken_entry, broken_lines


def break_test_html(design: GearSet, broken: StageBreakTest) -> Markup:
    """Return how to break some teeth of a design, as one HTML page that needs nothing else."""
    test = broken.test
    return page(
        "break-test.html",
        title=design.title,
        stage=broken.stage,
        test=test,
        copies=COPIES,
        most=max(test.shown(tooth.high) for tooth in test.readings),
        files=[file_stem(part.name) for part in test.parts],
        pictures=break_test_views(test),
        rows=list(_rows(test)),
        allowed=test.shown(_allowed(design, broken)),
        allowed_torque=_allowed(design, broken),
        entry="\n".join(broken_entry(test)),
        said=broken_lines(test.sheet),
    )


def _allowed(design: GearSet, broken: StageBreakTest) -> float:
    """What the design allows one layer of the tested gear at a stall, N·m."""
    stage, test = design.stages[broken.stage - 1], broken.test
    stall = design.rating(broken.stage - 1)["stall"].torque
    on_gear = stall if test.side == "pinion" else stall * stage.ratio
    return on_gear * test.sheet.thickness / stage.face_width


def _rows(test: BreakTest) -> Iterator[tuple[str, ...]]:
    """Tooth, direction, expected reading in kg and N, and the torque it is."""
    for number, tooth in enumerate(test.readings, 1):
        mean, low, high = (test.shown(t) for t in (tooth.torque, tooth.low, tooth.high))
        yield (
            f"{number}",
            f"{tooth.direction:g}°",
            f"{fixed(mean, 1)} kg ({fixed(low, 1)} to {fixed(high, 1)})",
            f"{9.81 * mean:.0f} N",
            f"{fixed(tooth.torque, 1)} N·m",
        )
