"""A bar longer than the sheet: where its pieces butt, and how they end."""

import math
from itertools import pairwise

import numpy as np
import pytest
from shapely import Polygon, box

import gearwork as gw
from gearwork.geometry.gear_outline import bar_outline, tooth_outline
from gearwork.geometry.rack import BUTT_GAP, MIN_STRETCH, Bar


def rack(teeth=90, module=5):
    return gw.Rack(module, teeth, thinning=0.2)


def test_a_bar_is_cut_in_no_more_pieces_than_it_needs():
    """90 teeth, 46 in a sheet: two of 45; in three layers the middle one is set half of that on."""
    assert Bar.of(rack(), [90]).butts == ((),)
    assert Bar.of(rack(), [46]).butts == ((45,),)
    assert Bar.of(rack(), [44]).butts == ((30, 60),)
    assert Bar.of(rack(), [46, 46, 46]).butts == ((45,), (22, 68), (45,))
    # a layer whose grain lies across finds less room: the other one stays whole over its butts
    assert Bar.of(rack(44), [46, 30]).butts == ((), (22,))


def test_pieces_are_racks_whose_pitch_runs_on():
    """Lengths of pieces and gaps add up to that of the bar, half a gap less at either end."""
    bar = Bar.of(rack(), [31, 31])
    for layer in range(2):
        pieces = bar.pieces(layer)
        assert sum(piece.rack.teeth for piece in pieces) == 90
        whole = sum(piece.length for piece in pieces) + len(pieces) * BUTT_GAP
        assert whole == pytest.approx(90 * math.pi * 5)
        for before, piece in pairwise(pieces):
            assert before.first + before.rack.teeth == piece.first


@pytest.mark.parametrize("seed", range(20))
def test_screws_keep_clear_of_every_butt_and_hold_every_stretch(seed):
    rng = np.random.default_rng(20261128 + seed)
    teeth, layers = int(rng.integers(30, 400)), int(rng.integers(1, 4))
    longest = rng.integers(4 * MIN_STRETCH, 60, layers).tolist()
    bar = Bar.of(rack(teeth, module=float(rng.choice([2.0, 5.0, 8.0]))), longest)
    pitch = bar.rack.pitch
    ends = [(first - 0.5) * pitch for first, _ in bar.stretches] + [(teeth - 0.5) * pitch]
    for low, high in pairwise(ends):
        between = [x for x in bar.holes if low < x < high]
        assert len(between) >= 2
        assert min(between) - low >= 2 * pitch - 1e-6
        assert high - max(between) >= 2 * pitch - 1e-6
    for layer, most in enumerate(longest):
        pieces = bar.pieces(layer)
        assert max(piece.rack.teeth for piece in pieces) <= most or len(pieces) == 1 <= most
        # the same screws go through all layers
        through = [x + piece.first * pitch for piece in pieces for x in piece.holes]
        assert through == pytest.approx(list(bar.holes), abs=1e-5)
    for one, other in pairwise(bar.butts):
        assert all(abs(a - b) >= MIN_STRETCH for a in one for b in other)


def test_a_sheet_too_small_for_two_screws_is_refused():
    with pytest.raises(gw.GearworkError, match="room for 4 of them"):
        Bar.of(rack(), [4])


@pytest.mark.parametrize("bit", [3.0, 6.0, 8.9])
def test_a_piece_is_the_bar_cut_off_before_the_middle_of_its_last_spaces(bit):
    """By shapely: the whole bar less what lies beyond the ends; narrow spaces end in the fillet."""
    pair = gw.GearPair(
        gw.Gear(8, 16, 0.3, thinning=0.25), gw.Rack(8, 8, thinning=0.25, tip_alteration=-0.1)
    )
    cut = gw.CutPair(pair, gw.Bit(bit)).wheel
    whole = Polygon(tooth_outline(cut).points(1e-4))
    left, low, right, high = whole.bounds
    for short in (0.25, 2.0):
        piece = Polygon(bar_outline(pair.wheel, cut, short).points(1e-4))
        wanted = whole.intersection(box(left + short, low, right - short, high))
        assert piece.is_valid
        assert piece.symmetric_difference(wanted).area < 0.001
