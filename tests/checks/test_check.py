"""One judgement: which limits must be kept with something to spare."""

import pytest

from gearwork.checks.check import Check


def check(kind, value, limit, sense):
    return Check("it", value, limit, "", sense, "", "", "", kind=kind)


@pytest.mark.parametrize(
    ("kind", "value", "limit", "sense", "spared"),
    [
        ("strength", 9.5, 10.0, "at most", True),
        ("strength", 9.6, 10.0, "at most", False),
        ("safety", 1.05, 1.0, "at least", True),
        ("life", 104.0, 100.0, "at least", False),
        ("strength", 10.1, 10.0, "at most", False),
        ("geometry", 18.0, 18.0, "at least", True),
        ("room", 3.0, 3.0, "at least", True),
        ("stiffness", 2.0, float("inf"), "at most", True),
    ],
)
def test_loads_keep_their_distance_and_sizes_need_none(kind, value, limit, sense, spared):
    """By hand: 1.05 times 9.5 is less than 10, 1.05 times 9.6 is more."""
    assert check(kind, value, limit, sense).ok_with(0.05) is spared


@pytest.mark.parametrize(
    ("value", "limit", "sense", "ok"),
    [
        (2.0 * (1.0 + 1e-15), 2.0, "at most", True),  # noise of computing
        (2.0 * (1.0 + 1e-8), 2.0, "at most", False),
        (1.0, float("inf"), "at least", False),
        (float("inf"), float("inf"), "at least", True),
        (float("nan"), 1.0, "at most", False),
        (1e-12, 0.0, "at most", False),
    ],
)
def test_what_is_missed_by_noise_alone_is_kept(value, limit, sense, ok):
    assert check("strength", value, limit, sense).ok is ok
