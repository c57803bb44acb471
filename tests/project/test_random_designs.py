"""A few random designs end to end; tests/benchmarks/random_designs.py runs as many as wanted."""

import pytest
from random_design import check_outline, design_text, judge

from gearwork.geometry.outline import Outline

SEED = 7
WRITTEN = 3


@pytest.mark.slow
def test_random_designs_end_in_a_design_or_a_reason():
    outcomes = {n: judge(design_text(SEED, n), write=n == WRITTEN) for n in range(14)}
    assert outcomes[WRITTEN] == "designed, a check fails"
    assert sum("refused" not in o for o in outcomes.values()) >= len(outcomes) // 3 + 1


def test_a_wheel_in_the_way_of_a_crank_is_told():
    """Both turn on the drive's side, 78 mm apart: solids of them overlap."""
    assert judge(design_text(4057783040, 665)) == "designed, a check fails"


@pytest.mark.parametrize(
    ("outline", "turned", "fault"),
    [
        (Outline([(0, 0), (0, 9), (9, 9), (9, 0)], [0] * 4), False, "clockwise"),
        (Outline([(0, 0), (9, 9), (9, 0), (0, 9.1)], [0] * 4), False, "clockwise|Self-inter"),
        (Outline([(0, 0), (9, 0), (9, 1e-5), (9, 9), (0, 9)], [0] * 5), False, "no length"),
        (Outline([(0, 0), (9, 0), (9, 9), (5, 4), (0, 9)], [0] * 5), False, "corner of 0.0"),
        (Outline([(0, 0), (9, 0), (9, 9), (0, 9)], [0, -0.1, 0, 0]), False, ""),
        (Outline([(0, 0), (9, 0), (9, 9), (0, 9)], [0] * 4), True, "corner of 0.0"),
        (Outline.circle(2.9), True, "corner of 2.9"),
        (Outline.circle(3.0), True, ""),
    ],
)
def test_the_rules_see_a_bad_outline(outline, turned, fault):
    if not fault:
        check_outline("it", outline, 3.0, turned=turned)
        return
    with pytest.raises(AssertionError, match=fault):
        check_outline("it", outline, 3.0, turned=turned)
