"""Room for the whole machine: kept by the search, judged of what is given."""

import pytest

from gearwork.machine.design import Design
from gearwork.output.jobsheet.papers import figures
from gearwork.spec.solve import candidates_for, solve
from gearwork.spec.spec import example_text, parse_brief

MILL = example_text("cider-mill")
HAULER = example_text("orchard-hauler")


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


def hauler(arrangement="", **sizes):
    keys = "\n".join(f"{name} = {size}" for name, size in sizes.items())
    typed = f'\narrangement = "{arrangement}"' if arrangement else ""
    return solve(parse_brief(HAULER.replace("[frame]", f"[room]\n{keys}\n[frame]{typed}"), "room"))


@pytest.mark.slow
def test_shafts_stand_folded_or_in_line_as_fits():
    """Two wheels of 276 and 344 mm tip beside each other are lower, above each other shorter."""
    low, narrow = hauler(height=460.0), hauler(width=600.0)
    assert low.report.ok
    assert low.train.angles == (0.0, 0.0)
    assert "height of the machine" in dict(figures(low))["shafts stand"]
    assert narrow.report.ok
    assert narrow.train.angles[1] != 0.0
    assert dict(figures(narrow))["shafts stand"].startswith("folded")


@pytest.mark.parametrize(
    ("arrangement", "sizes"), [("folded", {"height": 460.0}), ("in line", {"width": 600.0})]
)
def test_a_typed_arrangement_is_kept_where_the_other_would_fit(arrangement, sizes):
    design = hauler(arrangement, **sizes)
    assert not design.report.ok
    assert (design.train.angles[1] == 0.0) is (arrangement == "in line")
    assert dict(figures(design))["shafts stand"] == f"{arrangement}: as the design file says"


@pytest.mark.slow
def test_a_searched_train_stands_in_line_where_folded_is_too_high():
    """Wheels above each other need more than one of them: 264 mm tip and the boards."""
    wishes = "pinion_teeth = [13, 13]\nwheel_teeth = [41, 42]"
    text = example_text("drying-carousel").replace("modules = [4, 5, 6]", "modules = [6]")
    text = text.replace("pinion_teeth = [10, 16]\nwheel_teeth = [30, 50]", wishes)
    found = solve(parse_brief(f"{text}\n[room]\nheight = 370.0\n", "room"))
    assert found.report.ok
    assert found.size[1] <= 370.0
    assert found.train.angles == (0.0, 0.0, 0.0)
    assert solve(parse_brief(found.brief.text, "written")).train == found.train
