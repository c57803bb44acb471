"""No sentence says that 1.5 is less than 1.5, asks for what is there already, or for nothing."""

import re
import tomllib

import pytest
from failing import CASES, solved
from hard_brief import hard_text
from hypothesis import given
from hypothesis import strategies as st
from random_design import design_text
from strategies import between, bits, one_in, running_pairs, sheets, workshop_pairs
from volume import every

import gearwork as gw
from gearwork.checks.check import Check
from gearwork.checks.tooth.load_case import load_cases
from gearwork.checks.tooth.mesh import CutPair, mesh_checks
from gearwork.checks.tooth.strength import strength_checks, tooth_limits
from gearwork.machine.cause import causes
from gearwork.machine.design import Design
from gearwork.output.jobsheet.papers import setting_sentences
from gearwork.spec.spec import parse_brief

MORE = [pytest.param(number, marks=pytest.mark.slow) for number in range(6, 40)]

NONSENSE = (
    r"(\S+) of \1(?![\d.])",
    r"\b1(\.0+)? times as",
    r"(?<![\d.,])0(\.0+)? (N·m|MPa|N|rpm|%|h)\b",
    r"\b0\.00\d+ mm (more|farther|nearer)",
)


def number(text):
    return re.search(r"-?[\d.]+(e[-+]?\d+)?|unlimited|none", text)[0]


def is_sense(check):
    """Nothing where a check is told as it should be."""
    told = str(check)
    if not check.ok:
        value, limit = check.shown, check.demand.removeprefix(check.sense)
        assert number(value) != number(limit) or check.value == check.limit, told
    for wrong in NONSENSE:
        assert not re.search(wrong, check.remedy), told


def asks_for_something_else(check, tables):
    """No way out writes what stands in the file."""
    for way in check.every_way:
        before = [_at(tables, key) for key, _ in way]
        assert before != [value for _, value in way], f"{check}\n{before}"


def _at(tables, key):
    *path, last = key.split(".")
    place = tables
    for step in path:
        name, _, number = step.partition(" ")
        place = place.get(name, {})
        place = place[int(number or 1) - 1] if isinstance(place, list) else place
    return place.get(last)


def all_sense(design):
    tables = tomllib.loads(design.brief.text)
    for check in design.report:
        if check.verdict != "pass":
            is_sense(check)
            asks_for_something_else(check, tables)
    for cause in causes(design):
        found = re.search(r"puts (\S+)\s.* holds (\S+)\s", cause.sentence)
        assert not found or found[1] != found[2], cause.sentence
    if isinstance(design, Design):
        for sentence in setting_sentences(design):
            assert not any(re.search(wrong, sentence) for wrong in NONSENSE), sentence


@pytest.mark.parametrize("name", every(4, CASES))
def test_of_a_machine_that_fails_nothing_senseless_is_said(name):
    all_sense(solved(name))


def made(text):
    """The machine, or None where there is none, for a reason that makes sense."""
    try:
        return gw.solve(parse_brief(text, "shown.toml"))
    except gw.GearworkError as error:
        told = str(error)
    assert not any(re.search(wrong, told) for wrong in NONSENSE), told
    return None


@pytest.mark.parametrize("number", every(40, [1, 5, *MORE]))
def test_of_a_random_design_nothing_senseless_is_said(number):
    if design := made(design_text(7, number)):
        all_sense(design)


@pytest.mark.parametrize("number", [1, *MORE])
def test_of_a_hard_brief_nothing_senseless_is_said(number):
    if design := made(hard_text(20261128, number)):
        all_sense(design)


@given(
    between(0.001, 1e5),
    between(2e-9, 0.01),
    st.sampled_from(("at least", "at most")),
    st.booleans(),
)
def test_what_is_missed_by_little_looks_missed(limit, little, sense, marginal):
    value = limit * (1.0 - little if sense == "at least" else 1.0 + little)
    far = 0.0 if sense == "at least" else 1e9
    bounds = {"limit": far, "wanted": limit} if marginal else {"limit": limit}
    check = Check("size", value, unit="mm", sense=sense, why="", otherwise="", source="", **bounds)
    assert check.verdict == ("marginal" if marginal else "fail")
    missed = check.demand.rpartition(" ")[2]
    assert number(check.shown) != number(missed), str(check)
    assert float(number(check.shown)) == pytest.approx(value, rel=1e-3)
    assert (float(number(check.shown)) < float(number(missed))) == (sense == "at least")


@one_in(3)
@given(workshop_pairs(), bits(most=8.0))
def test_of_a_mesh_nothing_senseless_is_said(pair, bit):
    for check in mesh_checks(CutPair(pair, bit)):
        if check.verdict != "pass":
            is_sense(check)


@one_in(5)
@given(running_pairs(max_teeth=30), sheets(), between(1.0, 1.0 + 1e-3))
def test_of_teeth_that_nearly_bear_their_load_nothing_senseless_is_said(case, sheet, over):
    cut = CutPair(*case)

    def limits(torque, layers=1):
        cases = load_cases(torque, 10.0, gw.Service())
        return tooth_limits(cut, sheet, layers * sheet.thickness, cases)

    most = min(limit.torque for limit in limits(1.0))
    if most > 0.0:
        torque = over * most
        for check in strength_checks(limits(torque), 1, lambda n: limits(torque, n)):
            if not check.ok:
                is_sense(check)
                said = re.search(r"given (\S+) N·m in this case, it is given (\S+) N·m", check.why)
                assert said[1] != said[2], check.why
