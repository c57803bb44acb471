"""What the remedies of the mesh checks tell, written into the design file, is enough."""

from hypothesis import given
from remedies import written
from strategies import bits, one_in, pairs, workshop_pairs

import gearwork as gw
from gearwork.checks.check import NO_WAY
from gearwork.checks.tooth.mesh import CutPair, judges, mesh_checks
from gearwork.machine.stage import Stage
from gearwork.spec.spec import parse_brief


def file_of(pair, bit):
    """The design file of a pair, or None where no file can say it."""
    try:
        stage = Stage(pair, 12.0, bores=(1.0, 1.0)).toml
    except gw.GearworkError:
        return None
    sheet = 'sheet = { kind = "plywood", thickness = 12.0 }'
    return f"{sheet}\nbit = {{ diameter = {bit.cut_diameter} }}\n{stage}"


def check_remedies(pair, bit):
    text = file_of(pair, bit)
    if text is None:
        return
    for place, check in enumerate(mesh_checks(CutPair(pair, bit))):
        if check.verdict == "pass":
            continue
        if not check.ways:
            assert check.remedy == NO_WAY
            continue
        again = list(written(text, check.remedy))
        assert len(again) == len(check.ways)
        for changed in again:
            brief = parse_brief(changed, "a remedy")
            one = judges(CutPair(brief.stages[0].pair, brief.bit))[place][1]()
            assert one.ok if not check.ok else one.verdict == "pass", f"{check}\n{one}"


@one_in(5)
@given(workshop_pairs(), bits(most=8.0))
def test_remedies_of_a_mesh_are_enough(pair, bit):
    check_remedies(pair, bit)


@one_in(10)
@given(pairs(), bits())
def test_remedies_of_any_mesh_are_enough_or_say_that_nothing_is(pair, bit):
    check_remedies(pair, bit)
