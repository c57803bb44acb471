"""What is the matter with a design that fails: one torque too high is one cause."""

from functools import cache

import pytest

from gearwork.machine.cause import causes
from gearwork.spec.solve import solve
from gearwork.spec.spec import example_text, parse_brief


@cache
def hauler(*change):
    return solve(parse_brief(example_text().replace(*change), "hauler.toml"))


def test_what_holds_has_no_cause():
    assert causes(hauler("", "")) == ()


def test_a_torque_too_high_is_one_cause_whatever_it_breaks():
    """8 N·m through 44/13 · 40/13 = 10.41 are 83.3 N·m, by hand, without what friction takes."""
    made = hauler("clutch_torque = 1.6", "clutch_torque = 8.0")
    (cause,) = causes(made)
    assert set(cause.checks) == set(made.report.failed)
    assert len(cause.checks) > 10
    assert "83.3 N·m" in cause.sentence.replace("\N{NO-BREAK SPACE}", " ")
    shares = [check.load_share for check in cause.checks if check.load_share is not None]
    assert cause.checks[0].load_share == min(shares)


def test_a_bit_too_thick_is_not_a_matter_of_load():
    found = causes(hauler("diameter = 3.175", "diameter = 6.35"))
    assert [cause.checks[0].judged for cause in found] == ["root clearance"]


def test_a_drive_too_weak_is_one_cause():
    found = causes(hauler("mass = 25.0", "mass = 60.0"))
    assert {check.kind for check in found[0].checks} == {"power", "speed"}


@pytest.mark.parametrize("change", [("clutch_torque = 1.6", "clutch_torque = 8.0")])
def test_every_failed_check_has_its_cause(change):
    made = hauler(*change)
    told = [check for cause in causes(made) for check in cause.checks]
    assert sorted(check.name for check in told) == sorted(c.name for c in made.report.failed)
