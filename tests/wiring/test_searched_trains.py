"""The loads that can govern count in the search as in the check of the whole machine."""

import pytest
from machines import HAULED, changed

from gearwork.machine.axial import OnEnds
from gearwork.spec.solve import candidates_for, solve, with_stages
from gearwork.spec.spec import parse_brief

# One stage is searched for what test_governing_loads hauls with a stage that is given.
SEARCHED = (
    changed(HAULED, ("mass = 20.0", "mass = 26.0"), ("torque = 2.4", "torque = 3.1")).partition(
        "[[stage]]"
    )[0]
    + """
[wishes]
stages = [1]
modules = [5, 6]
pinion_teeth = [16, 18]
wheel_teeth = [40, 44]
max_layers = 2
reserve = 0.0
"""
)


@pytest.fixture(scope="module", autouse=True)
def at_the_plate():
    """The drum sits at the plate, so that it bends no rod: a search would ask for room there."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(OnEnds, "load_overhang", lambda *_: 0.0)
        yield


@pytest.fixture(scope="module")
def hauled():
    brief = parse_brief(SEARCHED, "hauled")
    return brief, candidates_for(brief)


def test_search_and_whole_machine_judge_what_drives_back_alike(hauled):
    """Centre distances are rounded up by at most 0.01 mm of some 150: 1e-3 covers it."""
    brief, found = hauled
    assert len(found) > 3
    for rank, chosen in zip(range(4), with_stages(brief, found), strict=False):
        design = solve(chosen)
        weakest = min(design.limits[0], key=lambda limit: limit.torque / limit.case.torque)
        assert weakest.case.name == "braking"
        assert weakest.case.torque == design.torques.back[0] > design.torques.stall[0]
        assert weakest.torque / weakest.case.torque == pytest.approx(
            found["margin"][rank], rel=1e-3
        )
        # the drum sits at the plate, so that it bends no rod: there is no room for it there
        assert [check for check in design.report.failed if check.kind != "room"] == []


def test_what_drives_back_rules_trains_out_by_their_hubs():
    """Teeth of two layers hold, no fixing of the small pinion does: see test_governing_loads."""
    heavy = changed(
        SEARCHED,
        ("mass = 26.0", "mass = 43.5"),
        ("torque = 3.1", "torque = 5.2"),
        ("[5, 6]", "[5]"),
        ("[16, 18]", "[16, 16]"),
        ("[40, 44]", "[40, 40]"),
    )
    lighter = changed(heavy, ("mass = 43.5", "mass = 41.0"))
    none = candidates_for(parse_brief(heavy, "heavy"))
    assert len(none) == 0
    assert none.why.startswith("Hub strength, braking ruled out")
    assert "clutch" not in none.why  # of a drive that has none
    assert len(candidates_for(parse_brief(lighter, "lighter"))) > 0
