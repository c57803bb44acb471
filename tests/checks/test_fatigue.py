"""Fatigue of EN 1995-2 Annex A, and the laminate line beside it."""

import pytest

from gearwork.checks.fatigue import (
    GRAVE,
    fatigue_factor,
    fatigue_share,
    laminate_share,
    tooth_share,
)
from gearwork.errors import GearworkError


@pytest.mark.parametrize(
    ("kind", "ratio", "cycles", "beta", "share"),
    [
        ("tension", 0.0, 1e6, 1.0, 1.0 - 6.0 / (9.5 * 1.1)),
        ("tension", -1.0, 1e6, 1.0, 1.0 - 2.0 * 6.0 / (9.5 * 2.1)),
        ("compression", 0.0, 1e6, 1.0, 1.0 - 6.0 / 18.0),
        ("shear", 0.0, 1e6, GRAVE, 1.0 - 6.4771213 / (6.7 * 1.3)),
        ("dowels", 0.5, 1e4, 1.0, 1.0 - 0.5 * 4.0 / (6.0 * 1.5)),
    ],
)
def test_share_by_the_annex(
    kind: str, ratio: float, cycles: float, beta: float, share: float
) -> None:
    assert fatigue_share(kind, ratio, cycles, beta) == pytest.approx(share, rel=1e-7)
    assert fatigue_factor(kind, ratio, cycles, beta).value == fatigue_share(
        kind, ratio, cycles, beta
    )


def test_one_cycle_takes_nothing_and_the_share_never_falls_below_nothing() -> None:
    assert fatigue_share("tension", 0.0, 1.0) == 1.0
    assert fatigue_share("shear", -1.0, 1e10, GRAVE) == 0.0


@pytest.mark.parametrize(
    ("ratio", "exponent", "share"),
    [
        (0.0, 6.0, 1.0 - 6.0 / 10.45),  # 0.426 of tension, twice 0.311 of shear: pull decides
        (0.0, 8.0, 2.0 * (1.0 - 8.0 / 8.71)),  # 0.234 of tension, twice 0.082 of shear
        (-1.0, 6.0, 1.0 - 12.0 / 19.95),  # 0.398, twice 0.221
        (-1.0, 7.0, 2.0 * (1.0 - 14.0 / 15.41)),  # 0.298, twice 0.091
    ],
)
def test_of_a_tooth_shear_decides_from_half_of_what_is_left_of_tension(ratio, exponent, share):
    # a and b of the annex by hand: 9.5 * 1.1 and 6.7 * 1.3 at R = 0, 9.5 * 2.1 and 6.7 * 2.3 at -1
    assert tooth_share(ratio, 10.0**exponent) == pytest.approx(share)


def test_steady_load_is_no_fatigue() -> None:
    assert fatigue_share("tension", 1.0, 1e7) == 1.0


@pytest.mark.parametrize("cycles", [1e3, 1e4, 1e5, 1e6])
def test_alternating_tension_lies_between_design_and_mean_line_of_laminates(cycles: float) -> None:
    """m 13.4 for design, 20 for the mean of unjointed ones: the annex is no more cautious."""
    share = fatigue_share("tension", -1.0, cycles)
    assert laminate_share(cycles) < share < laminate_share(cycles, 20.0)


def test_unknown_stress_is_refused_with_what_there_is() -> None:
    with pytest.raises(GearworkError, match="tension"):
        fatigue_share("bending flatwise", 0.0, 10.0)
