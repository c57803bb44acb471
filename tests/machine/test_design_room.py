"""Room for the whole machine: kept by the search, judged of what is given."""

import pytest

from gearwork.machine.design import Design
from gearwork.spec.solve import candidates_for, solve
from gearwork.spec.spec import example_text, parse_brief

MILL = example_text("cider-mill")


def room(**sizes):
    keys = "\n".join(f"{name} = {size}" for name, size in sizes.items())
    return f"{MILL}\n[room]\n{keys}\n"


def test_a_searched_machine_keeps_to_its_room(mill):
    """Twelve millimetres less than the free choice takes along its longer side."""
    wide, _, deep = mill.size
    found = solve(parse_brief(room(width=wide - 12.0, depth=deep + 20.0), "room"))
    assert found.report.ok
    assert found.size[0] <= wide - 12.0


def test_size_over_plates_and_rods_by_hand(mill):
    """The plate with a foot of 45 mm on either side; depth from lowest to highest rod end."""
    plate = next(part for part in mill.parts if part.name == "side plate B")
    left, low, right, top = plate.bounds
    assert mill.size[0] == pytest.approx(right - left + 90.0)
    assert mill.size[1] == pytest.approx(top - low)
    ends = [(one.rod.start, one.rod.end) for one in mill.layouts]
    assert mill.size[2] == pytest.approx(max(e for _, e in ends) - min(s for s, _ in ends))


def test_given_gears_that_take_more_fail_with_the_room_they_need(mill):
    brief = parse_brief(room(depth=50.0), "room")
    design = Design(brief.given(mill.stages))
    check = design.room_report()["depth of the machine"]
    assert not check.ok
    assert check.value == pytest.approx(mill.size[2])


def test_no_train_in_too_little_room_is_told_with_what_would_do():
    found = candidates_for(parse_brief(room(width=100.0), "room"))
    assert not len(found)
    assert "Width of the machine" in found.why
