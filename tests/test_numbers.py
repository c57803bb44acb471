"""Figures as text, rounding to the safe side, and halving."""

import math

import pytest

from gearwork.numbers import (
    figure,
    figures_down,
    figures_up,
    fixed,
    four_digits,
    how_often,
    last_that,
    round_down,
    round_up,
)


@pytest.mark.parametrize(
    ("value", "plain", "page"),
    [
        (0.123456, "0.1235", "0.1235\N{NO-BREAK SPACE}mm"),
        (0.000086114, "0.00008611", "0.00008611\N{NO-BREAK SPACE}mm"),
        (-8.6e-7, "-0.00000086", "-0.00000086\N{NO-BREAK SPACE}mm"),
        (1234.5678, "1235", "1235\N{NO-BREAK SPACE}mm"),
        (2.5e6, "2500000", "2.5\N{NO-BREAK SPACE}million\N{NO-BREAK SPACE}mm"),
        (math.inf, "unlimited", "unlimited"),
        (-math.inf, "-unlimited", "−unlimited"),
        (math.nan, "none", "none"),
    ],
)
def test_a_figure_in_plain_text_and_on_a_page(value, plain, page):
    assert four_digits(value) == plain
    assert figure(value, "mm") == page


def test_fixed_decimals_have_no_minus_zero():
    assert fixed(-0.0001) == "0.00"
    assert fixed(-1.25, 1, "°") == "-1.2\N{NO-BREAK SPACE}°"


@pytest.mark.parametrize("value", [0.1 + 0.2, 1.005, 7.0])
def test_rounding_goes_to_its_side_but_leaves_round_numbers(value):
    assert round_down(value) <= value + 1e-9
    assert round_up(value) >= value - 1e-9
    assert round_up(value) - round_down(value) == pytest.approx(0.01, abs=0.011)
    assert (round_up(0.1 + 0.2, 1), round_down(0.3, 1)) == (0.3, 0.3)


def test_figures_count_from_the_first():
    assert (figures_up(0.0123401), figures_down(12349.0)) == (0.0124, 12300.0)


def test_the_last_value_that_holds_is_found_from_the_safe_side():
    found = last_that(lambda x: x * x <= 2.0, 0.0, 2.0, 40)
    assert found == pytest.approx(math.sqrt(2.0), abs=1e-11)
    assert found <= math.sqrt(2.0)
    assert last_that(lambda x: False, 3.0, 4.0, 10) == 3.0


def test_a_figure_has_as_many_digits_as_it_deserves():
    space = "\N{NO-BREAK SPACE}"
    assert figure(10.41367, digits=3) == "10.4"
    assert figure(585.2, "N", 2) == f"590{space}N"  # two digits, in no notation of a program
    assert figure(392.94, "rpm", 3) == f"393{space}rpm"
    assert figure(3.2e9, "h") == f"more than{space}10{space}000{space}h"
    assert figure(9800.0, "h") == f"9800{space}h"


def test_how_often_is_told_without_the_notation_of_a_program():
    space = "\N{NO-BREAK SPACE}"
    told = [how_often(count) for count in (20.0, 1000.0, 67_890.0, 1.2345e6)]
    assert told == ["20", f"1{space}000", f"67{space}900", f"1.23{space}million"]
