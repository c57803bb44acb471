"""The design file says how exactly the workshop works; the design is judged by it."""

import re

import pytest
from machines import changed

import gearwork as gw
from gearwork.checks.tolerance import check_tolerance
from gearwork.checks.tooth.mesh import CutPair
from gearwork.errors import GearworkError
from gearwork.machine.brief import Tolerances
from gearwork.output.jobsheet.measuring import inspection
from gearwork.spec.spec import example_text, parse_brief

SUBJECT = "tolerance of stage 1"


def solved(**changes):
    text = example_text()
    for old, new in changes.values():
        assert old in text
        text = text.replace(old, new)
    return gw.solve(parse_brief(text, "hauler.toml"))


def tolerance(design, stage=1):
    return next(r for r in design.reports if r.title == f"tolerance of stage {stage}")


CLUMSY = {"clumsy": ("centre_distance = 0.05", "centre_distance = 0.3")}


def test_every_stage_is_sampled_with_the_figures_of_the_file():
    design = solved(wood=("max_run_out = 0.1", 'eccentricity = 0.05\nframe = "steel"'))
    given = Tolerances(0.03, centre_distance=0.05, eccentricity=0.05, frame="steel")
    assert design.brief.tolerance == given
    for number, stage in enumerate(design.stages, 1):
        alone = check_tolerance(CutPair(stage.pair, design.brief.bit), given, samples=20_000)
        assert tolerance(design, number).checks == alone.checks


def test_gears_that_are_not_trued_bind():
    """The hauler holds by trueing alone: what its fits leave binds more often than accepted."""
    design = solved(loose=("max_run_out = 0.1", "max_run_out = 5.0"))
    assert not tolerance(design, 1).ok
    tight = solved(
        loose=("max_run_out = 0.1", "max_run_out = 5.0"),
        rod=('grade = "8.8"', 'grade = "8.8"\nmeasured_diameter = 11.95'),
    )
    assert tolerance(tight, 1).ok  # a thick rod, measured, needs no trueing


def test_the_example_binds_more_rarely_than_it_accepts(hauler):
    assert all(tolerance(hauler, stage).ok for stage in (1, 2))
    assert f"{SUBJECT}: chance of binding" in [check.name for check in hauler.report]


def test_what_the_check_advises_can_be_written_into_the_file_and_helps():
    (failed,) = tolerance(solved(**CLUMSY)).failed
    keys = {key.rpartition(".")[2]: value for key, value in failed.ways[0]}
    apart, thinning = keys["centre_distance"], keys.get("thinning", 0.2)
    mended = solved(
        **CLUMSY,
        advice=("thinning = 0.2\n", f"thinning = {thinning}\ncentre_distance = {apart}\n"),
    )
    assert tolerance(mended).ok


def test_a_small_chance_is_judged_by_more_samples():
    assert Tolerances().samples == 20_000
    assert Tolerances(accepted_chance=0.0002).samples == 100_000


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("accepted_chance = 0.0", "accepted_chance is 0: it must be at least 0.0001"),
        ("cutting_eror = 0.1", "no such key (nearest: cutting_error)"),
        ("cutting_error = -1.0", "cutting_error is -1 mm: it must be at least 0 mm"),
        ('frame = "brick"', 'frame is \'brick\': "wood" or "steel"'),
    ],
)
def test_bad_figures_are_named(line, words):
    text = re.sub(r"\[tolerance\].*?\n\n", f"[tolerance]\n{line}\n\n", example_text(), flags=re.S)
    with pytest.raises(gw.GearworkError, match=re.escape(words)):
        parse_brief(text, "hauler.toml")


def test_the_inspection_sheet_has_the_limits_of_this_workshop():
    # Three standard deviations: 3 · hypot(0.05, 0.02 / 2) = 0.153 mm, on both flanks of a span.
    design = solved(rough=("cutting_error = 0.03", "cutting_error = 0.05"))
    rows = inspection(design, 0)
    for part in ("pinion", "wheel"):
        first_words = {row.quantity.split(" ")[0] for row in rows if row.part == part}
        assert {"span", "over", "tip", "bore", "backlash"} <= first_words
    for row in rows:
        if row.quantity.startswith(("span", "tip", "bore", "spoke")):
            assert row.upper - row.nominal == pytest.approx(0.32)
            assert row.nominal - row.lower == pytest.approx(0.32)


def test_no_more_sheets_are_used_than_there_are():
    def stocked(count):
        return solved(stock=("[frame]", f"[stock]\ncount = {count}\n[frame]"))

    assert len(stocked(9).sheets) > 1
    with pytest.raises(gw.GearworkError, match="used up"):
        _ = stocked(1).sheets
    with pytest.raises(gw.GearworkError, match="count is 0: it must be at least 1"):
        stocked(0)


CART = example_text("orchard-cart")


def with_axle_at(height):
    return parse_brief(
        changed(CART, ("[frame]", f"[frame]\noutput_height = {height}")), "cart.toml"
    )


def test_the_wheels_of_a_vehicle_say_how_high_its_axle_is():
    """Wheels of 260 mm: 130 mm; tyres give by a twentieth. A drum may stand anywhere."""
    assert parse_brief(CART, "cart.toml").frame.output_height == 130.0
    assert with_axle_at(124.0).frame.output_height == 124.0
    assert gw.example_brief().frame.output_height is None


@pytest.mark.parametrize("height", [123.0, 137.0])
def test_an_axle_that_no_such_wheels_hold_is_refused(height):
    with pytest.raises(
        GearworkError,
        match=rf"\[frame\] output_height is {height:g} mm and wheel_diameter .* is 260 mm: .*"
        rf" wheel_diameter = {2 * height:g}",
    ):
        with_axle_at(height)
