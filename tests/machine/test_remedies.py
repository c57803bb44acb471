"""Ways out of a machine's checks, written into its design file as they are told, are enough."""

import re
from functools import cache

import pytest
from failing import CASES, solved
from remedies import written
from volume import every

from gearwork.checks.check import NO_WAY
from gearwork.machine.design import Design
from gearwork.spec.keys import tables
from gearwork.spec.spec import parse_brief


@cache
def place_of(name, kind, number, title):
    """Which of the makers of reports a check came from."""
    design = solved(name)
    for place, make in enumerate(design._makers):
        of = make().subject
        if (of.kind, of.number, of.title) == (kind, number, title):
            return place
    raise AssertionError(title)


def failed_again(name, text, check):
    """What still fails of a check in the machine that a text makes."""
    of = check.subject
    place = place_of(name, of.kind, of.number, of.title)
    report = Design(parse_brief(text, "again.toml"))._makers[place]()
    hub = of.kind == "hub"  # another fixing may be taken: it must hold as a whole
    facts = (check.judged, check.part, check.case)
    return [c for c in report.failed if hub or (c.judged, c.part, c.case) == facts]


def is_enough(name, check):
    texts = list(written(solved(name).brief.text, check.remedy))
    assert len(texts) == len(check.every_way)
    for text in texts:
        assert not failed_again(name, text, check), f"{check}\n{text}"


@pytest.mark.parametrize("name", every(4, CASES))
def test_one_way_of_each_kind_of_check_is_enough(name):
    failed = solved(name).report.failed
    for facts in CASES[name][1]:
        every = [c for c in failed if (c.subject.kind, c.judged) == facts]
        check = next((c for c in every if c.every_way), None)
        assert check, f"{facts} of {failed}"
        is_enough(name, check)


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_every_way_of_every_check_is_enough(name):
    design = solved(name)
    for check in design.report.failed:
        if check.every_way:
            is_enough(name, check)


def test_only_a_drive_that_has_a_clutch_is_told_to_set_it():
    for name, said in (("clutch set too high", True), ("crank too long", False),
                       ("rods too thin", False)):  # fmt: skip
        keys = {key for c in solved(name).report.failed for way in c.every_way for key, _ in way}
        assert ("drive.clutch_torque" in keys) == said, name


@pytest.mark.parametrize("name", every(4, CASES))
def test_what_is_told_can_be_bought_or_set(name):
    """Threads, bearings, sheets and layers of the tables; a clutch to 0.1 N·m."""
    sold = {
        "thread": {"M6", "M8", "M10", "M12"},
        "plate_thickness": {4.0, 6.5, 9.0, 12.0, 15.0, 18.0, 21.0, 24.0, 27.0, 30.0},
        "layers": set(range(1, 7)),
        "bearing_name": {"626", "608", "6000", "6001", "6200", "6201"},
    }
    for check in solved(name).report.failed:
        for key, value in (entry for way in check.every_way for entry in way):
            last = key.rpartition(".")[2]
            assert value is None or last not in sold or value in sold[last], (key, value)
            assert last != "clutch_torque" or round(value, 1) == value


@pytest.mark.parametrize("name", every(4, CASES))
def test_every_key_that_is_told_stands_in_the_reference(name):
    known = {f"{table.name}.{key.name}" for table in tables() for key in table.keys}
    for check in solved(name).report:
        for key, _ in (entry for way in check.every_way for entry in way):
            assert re.sub(r"^stage \d+", "stage", key) in known, (check.name, key)
        if not check.every_way:
            assert check.remedy == ("" if check.ok else NO_WAY), check
