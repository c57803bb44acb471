"""The rating: the least of all limits in each case, and the clutch it asks for."""

import math
from dataclasses import replace

import pytest

import gearwork as gw
from gearwork.checks.tooth.load_case import load_cases
from gearwork.checks.tooth.mesh import CutPair
from gearwork.checks.tooth.pair_check import rate_pair
from gearwork.checks.tooth.strength import UNKNOWNS, Rating, clutch_torque, tooth_limits
from gearwork.plot.display import show


@pytest.fixture(scope="module")
def cut():
    pair = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 38, thinning=0.2))
    return CutPair(pair, gw.Bit(3.0))


@pytest.fixture(scope="module")
def rating(cut):
    return rate_pair(cut, gw.plywood("birch", 12), 60.0, face_width=24.0)


def test_least_limit_of_each_case_counts(cut, rating):
    cases = load_cases(3.0, 60.0, gw.Service(), 4.0, 5.0)
    limits = tooth_limits(cut, gw.plywood("birch", 12), 24.0, cases)
    for case in ("running", "starting", "stall"):
        least = min(limit.torque for limit in limits if limit.case.name == case)
        assert rating[case].torque == pytest.approx(least)  # the torque given does not matter
        assert Rating.of(limits)[case].torque == least


def test_a_pair_holds_the_torque_it_is_rated_for(cut, rating):
    for case, held in (("running", True), ("stall", True), ("running", False), ("stall", False)):
        torque = rating[case].torque * (0.999 if held else 1.001)
        given = {"torque": torque} if case == "running" else {"stall_torque": torque}
        report = gw.check_pair(cut, gw.plywood("birch", 12), face_width=24.0, speed=60.0, **given)
        assert report.ok == held


def test_running_costs_more_than_a_stall(rating):
    # Fatigue, K_v and K_A come on top. In 100 h it starts 2000 times, which leaves
    # 1 - log N / 10.45 of the root; at 100 stalls k_mod over gamma_M decides.
    assert rating["running"].torque < rating["stall"].torque / 1.25
    starting, stall = (rating[case] for case in ("starting", "stall"))
    assert starting.kind == stall.kind != "contact"
    left = 1 - math.log10(2000) / 10.45
    assert starting.torque == pytest.approx(stall.torque / 1.25 * left / (0.9 / 1.2))


def test_clutch_is_set_by_the_weakest_stage(rating):
    # Two like stages: the second gets the torque times the ratio, so it is the weakest.
    held = rating["stall"].torque
    found = clutch_torque([rating, rating], [4.0, 3.0])
    assert (found.stage, found.torque) == (2, pytest.approx(held / 4.0))
    assert clutch_torque([rating, rating], [4.0, 3.0], 0.8).torque == pytest.approx(held / 3.2)
    assert clutch_torque([rating], [4.0]).torque == pytest.approx(held)
    strong = replace(
        rating, limits=tuple(replace(limit, torque=9 * limit.torque) for limit in rating.limits)
    )
    assert clutch_torque([rating, strong], [4.0, 3.0]).stage == 1
    assert f"slip at {held / 4.0:.3g} N·m" in str(found)
    assert "stage 2" in str(found)


def test_answer_reads_as_words(rating):
    text = str(rating)
    running = rating["running"]
    low, high = running.expected_range
    assert f"running: breaks at about {running.expected_break:.3g} N·m ({low:.3g} to" in text
    assert f"allowed {running.torque:.3g} N·m" in text
    assert "root of the pinion, pulled side" in text
    html = show(rating)
    assert html.count("<tr>") == 4
    assert "stall" in html
    assert f"{running.expected_break:.3g} N·m ({low:.3g} to {high:.3g})" in html


def test_what_is_not_known_is_said_with_the_way_it_errs(rating):
    assert rating.unknowns == UNKNOWNS
    for words in ("Fatigue", "Compression across the face", "Friction", "Creep", "Wear", "Speed"):
        assert any(sentence.startswith(words) for sentence in UNKNOWNS)
    assert all("side" in s or "either way" in s or "not counted on" in s for s in UNKNOWNS)


def test_wrong_questions_are_refused(rating):
    running = replace(rating, limits=rating.limits[:1])
    with pytest.raises(gw.GearworkError, match="not rated for 'stall'; there are: running"):
        clutch_torque([running], [3.0])
    with pytest.raises(gw.GearworkError, match="2 ratings and 1 ratios"):
        clutch_torque([rating, rating], [3.0])
    with pytest.raises(gw.GearworkError, match="efficiency of a stage is 1.2"):
        clutch_torque([rating], [3.0], 1.2)


def test_the_order_of_the_limits_does_not_count(cut):
    limits = tooth_limits(cut, gw.plywood("birch", 12), 24.0, load_cases(1.0, 60.0, gw.Service()))
    assert Rating.of(limits[::-1])["running"].torque == Rating.of(limits)["running"].torque
