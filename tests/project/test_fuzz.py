"""Whatever goes in, only `GearworkError` comes out.

Run more by hand with e.g. FUZZ=20000 in the environment; the examples are then new in each run.
"""

import math
import os
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sample_parts import part_dxf, plate

import gearwork as gw
from gearwork.spec.spec import example_text, parse_brief, read_brief
from gearwork.verify.read_dxf import read_outlines

COUNT = int(os.environ.get("FUZZ", "0"))


def fuzz(examples):
    return settings(
        max_examples=COUNT or max(examples * settings().max_examples // 15, 3),
        derandomize=not COUNT,
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )


EXAMPLE = example_text()
SETTINGS = re.findall(r"^(\w+) = ([^#\n]*?) *(?=#|$)", EXAMPLE, re.MULTILINE)
NUMBERS = [(key, value) for key, value in SETTINGS if re.fullmatch(r"[\d.]+", value)]

TOML_VALUES = st.one_of(
    st.floats().map(repr),
    st.integers(-(10**30), 10**30).map(str),
    st.sampled_from(
        ["nan", "-inf", "1e400", "0x" + "f" * 400, "true", "1979-05-27", "[]", "[[1], []]", "{}",
         "{a = [1]}", "'x'", '""', '"\\u0000"', "'é💥'", "'" + "y" * 9_000 + "'",
         "[" * 90 + "]" * 90, "[" + "0," * 9_000 + "]"]
    ),
)  # fmt: skip
FACTORS = st.floats(-2.0, 2.0).map(lambda power: 10.0**power) | st.sampled_from(
    [0.0, -1.0, 1e-300, 1e-9, 1e9, 1e300, math.inf, math.nan]
)


def tried(work, longest=1_000):
    """What work gives, or None if it is refused in a text that can be read."""
    try:
        return work()
    except gw.GearworkError as error:
        complaint = str(error)
    assert 0 < len(complaint) < longest
    return None


def solved(text):
    """Take a design file as far as it goes."""
    tried(lambda: str(gw.solve(parse_brief(text, "fuzzed")).report), 20_000)


@fuzz(100)
@given(st.binary(max_size=300))
def test_design_file_of_any_bytes(tmp_path_factory, data):
    path = tmp_path_factory.mktemp("fuzz") / "x.toml"
    path.write_bytes(data)
    with pytest.raises(gw.GearworkError):
        read_brief(path)


@fuzz(10)
@given(st.data())
def test_design_file_with_lines_replaced_lost_doubled_and_renamed(data):
    lines = EXAMPLE.splitlines()
    for _ in range(data.draw(st.integers(1, 3))):
        place = data.draw(st.integers(0, len(lines) - 1))
        key, _, value = lines[place].partition("=")
        lines[place : place + 1] = data.draw(
            st.one_of(
                st.just([]),
                st.just([lines[place]] * 2),
                TOML_VALUES.map(lambda new, key=key: [f"{key}= {new}"]),
                st.sampled_from(SETTINGS).map(lambda s, value=value: [f"{s[0]} ={value}"]),
                st.text(max_size=30).map(lambda text: [text]),
            )
        )
        lines = lines or [""]
    solved("\n".join(lines))


@fuzz(8)
@given(st.lists(st.tuples(st.sampled_from(NUMBERS), FACTORS), min_size=1, max_size=4))
def test_design_file_with_odd_numbers_is_solved_or_refused(changes):
    text = EXAMPLE
    for (key, value), factor in changes:
        text = text.replace(f"{key} = {value}", f"{key} = {float(value) * factor!r}")
    solved(text)


DXF = {version: part_dxf(plate(), version) for version in ("R2010", "R12")}
CODES = ["0", "2", "5", "8", "10", "20", "40", "42", "67", "70", "90", "210", "999", "x", "-1"]
DXF_VALUES = st.one_of(
    st.floats().map(repr),
    st.integers(-(10**20), 10**20).map(str),
    st.sampled_from(
        ["", "LWPOLYLINE", "POLYLINE", "VERTEX", "SEQEND", "CIRCLE", "SPLINE", "INSERT", "ENDSEC",
         "SECTION", "ENTITIES", "EOF", "é", "1e400", "9" * 5_000]
    ),
)  # fmt: skip


def read(tmp_path_factory, data):
    path = tmp_path_factory.mktemp("fuzz") / "x.dxf"
    path.write_bytes(data)
    for outlines in (tried(lambda: read_outlines(path)) or {}).values():
        for outline in outlines:
            assert math.isfinite(outline.area)
            assert len(outline.points()) < 3_000_000


@fuzz(100)
@given(st.binary(max_size=400))
def test_dxf_of_any_bytes(tmp_path_factory, data):
    read(tmp_path_factory, data)


@fuzz(100)
@given(st.sampled_from(sorted(DXF)), st.data())
def test_dxf_cut_short_or_with_bits_flipped(tmp_path_factory, version, data):
    damaged = bytearray(DXF[version])
    for place in data.draw(st.lists(st.integers(0, len(damaged) - 1), max_size=5)):
        damaged[place] ^= 1 << data.draw(st.integers(0, 7))
    end = data.draw(st.just(len(damaged)) | st.integers(0, len(damaged)))
    read(tmp_path_factory, bytes(damaged[:end]))


@fuzz(100)
@given(st.sampled_from(sorted(DXF)), st.data())
def test_dxf_with_group_codes_and_values_exchanged(tmp_path_factory, version, data):
    lines = DXF[version].decode("ascii").split("\n")
    first = lines.index("ENTITIES") + 1
    for _ in range(data.draw(st.integers(1, 4))):
        place = data.draw(st.integers(first // 2, len(lines) // 2 - 1)) * 2
        code, value = data.draw(st.sampled_from(CODES)), data.draw(DXF_VALUES)
        tags = {"code": [code, lines[place + 1]], "value": [lines[place], value]}
        tags |= {"none": [], "more": [code, value, *lines[place : place + 2]]}
        lines[place : place + 2] = tags[data.draw(st.sampled_from(sorted(tags)))]
    read(tmp_path_factory, "\n".join(lines).encode())


TEST_PIECE = gw.make_test_piece(
    gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 38, thinning=0.2)),
    gw.Bit(3.0),
    gw.plywood("birch", 12).thickness,
)
SIZES = {name: size.size for name, size in TEST_PIECE.sizes().items()}
ANYTHING = st.one_of(
    st.none(), st.booleans(), st.text(max_size=5), st.floats(), st.integers(),
    st.binary(max_size=3), st.lists(st.floats(), max_size=60),
    st.dictionaries(st.text(max_size=2), st.floats(), max_size=2),
)  # fmt: skip


@fuzz(300)
@given(
    st.dictionaries(
        st.sampled_from([*SIZES, "pinion_pin_diameter", "wheel_pin_diameter", "caliper_error"]),
        ANYTHING,
    )
)
def test_readings_of_anything(given_readings):
    tried(lambda: gw.evaluate_test_piece(TEST_PIECE, gw.Readings(**given_readings)))


@fuzz(150)
@given(
    st.dictionaries(
        st.sampled_from(sorted(SIZES)),
        st.lists(st.floats(-1.2, 1.2), min_size=1, max_size=4),
        min_size=1,
    ),
    st.floats(1e-6, 0.5),
)
def test_readings_near_what_was_drawn_are_told_or_refused(errors, caliper_error):
    readings = {name: [SIZES[name] + e for e in several] for name, several in errors.items()}
    given_readings = gw.Readings(**readings, caliper_error=caliper_error)
    result = tried(lambda: gw.evaluate_test_piece(TEST_PIECE, given_readings))
    if result is not None:
        estimates = (result.bit_diameter, result.outside, result.inside, result.backlash)
        assert all(math.isfinite(e.value) for e in estimates if e is not None)
