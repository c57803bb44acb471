"""The design file of a pair from the bench makes the same pair again, to the last bit."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

import gearwork as gw
from gearwork.machine.gear_set import GearSet
from gearwork.spec.gear_file import bench_brief
from gearwork.spec.spec import parse_brief

BIRCH = gw.plywood("birch", 12)
POPLAR = gw.plywood_from_strengths(
    'poplar "10"', 10.0, tension=(20.0, 16.0), compression=(15.0, 12.0), panel_shear=4.0,
    modulus=(5000.0, 3500.0), shear_modulus=300.0, density=440.0,
)  # fmt: skip
SHEETS = (
    BIRCH,
    BIRCH.measured(11.7),
    gw.plywood("thin-veneer spruce", 12),
    POPLAR,
    gw.Stack(BIRCH, (0, 45)),
    gw.Stack(POPLAR, (0.0, 30.0, 90.0)),
)


@st.composite
def benches(draw):
    """A pair that can be, cut with some bit, in some sheet."""
    shift, thin = (st.floats(*ends).map(lambda x: round(x, 4)) for ends in ((-0.2, 0.6), (0, 0.5)))
    common = {
        "module": draw(st.floats(2.0, 12.0)),
        "pressure_angle": draw(st.sampled_from([20.0, 25.0])),
        "addendum": draw(st.floats(0.8, 1.0)),
        "clearance": draw(st.floats(0.2, 0.4)),
    }
    gears = [
        gw.Gear(
            teeth=draw(st.integers(12, 60)), profile_shift=draw(shift), thinning=draw(thin),
            tip_alteration=draw(st.sampled_from([0.0, -0.05, -0.2])), **common,
        )
        for _ in range(2)
    ]  # fmt: skip
    nearest = gw.GearPair(*gears).centre_distance
    distance = draw(st.sampled_from([None, nearest + 0.3]))
    bit = draw(st.sampled_from([gw.Bit(1.0), gw.Bit(1.5, measured_diameter=1.52)]))
    return gw.CutPair(gw.GearPair(*gears, distance), bit), draw(st.sampled_from(SHEETS))


@given(benches())
def test_what_is_written_is_read_as_the_same_pair(bench):
    cut, sheet = bench
    brief = bench_brief(cut, sheet, (8.0, 10.5), torque=0.7, speed=90.0, title='Ünser "Paar"')
    gears = GearSet(parse_brief(brief.text, "again"))
    assert gears.cut_pairs == (cut,)
    assert gears.panel(0) == sheet
    assert gears.stages[0].bores == (8.0, 10.5)


def test_it_is_a_few_lines():
    cut = gw.CutPair(gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 38)), gw.Bit(3.0))
    text = bench_brief(cut, gw.Stack(BIRCH, (0, 45)), (12.0, 12.0), torque=1.0, speed=150.0).text
    assert len(text.splitlines()) <= 16


def pair(**wheel):
    gears = gw.GearPair(gw.Gear(5, 20, thinning=0.2), gw.Gear(5, 40, **wheel))
    return gw.CutPair(gears, gw.Bit(3.0))


@pytest.mark.parametrize(
    ("cut", "sheet", "said"),
    [
        (pair(addendum=0.9), BIRCH, "addendum is 1 on the pinion and 0.9 on the wheel"),
        (pair(), gw.plywood_from_layup([1.4] * 9), "no design file can say this pair in"),
        (pair(), gw.Stack(BIRCH, (30.0,)), "no design file can say this pair in"),
    ],
)
def test_what_no_file_can_say_is_refused(cut, sheet, said):
    with pytest.raises(gw.GearworkError) as error:
        bench_brief(cut, sheet, (12.0, 12.0))
    assert said in str(error.value)
