"""Screws of a rack's pieces: what the end one takes by statics, and what one of them carries."""

import math
from dataclasses import replace

import numpy as np
import pytest

import gearwork as gw
from gearwork.checks.hub.bar_screws import (
    check_bar_screws,
    end_screw_force,
    screw_for,
    screw_length,
    screw_load,
)
from gearwork.checks.hub.joints import JointUse
from gearwork.geometry.rack import Bar

STACK = gw.Stack(gw.plywood("birch", 12), (0, 0))


def test_a_screw_in_softwood_carries_what_its_yield_modes_say():
    """4 mm through 24 mm of birch (630 kg/m³) six diameters into C24 (350), by hand.

    d 1.1 x 0.7 x 4 = 3.08; f_h 0.11 x 630 x 3.08^-0.3 = 49.45 and 0.082 x 350 x 3.08^-0.3 = 20.48;
    M_y 0.3 x 400 x 3.08^2.6 = 2236. Mode e, a hinge: 1.05 f t2 d/(1 + 2b) (sqrt(2 b² (1 + b)
    + 4 b (1 + 2 b) M/(f d t2²)) - b) with b 0.4141: 705 N; both hinges, mode f: 726 N.
    """  # fmt: skip
    force, steps = screw_load(4.0, STACK)
    assert [step.value for step in steps[:4]] == pytest.approx([3.08, 49.45, 20.48, 2236], rel=1e-3)
    assert force == pytest.approx(705.0, abs=1.0)
    assert (screw_for(4.5), screw_for(4.2), screw_for(5.3)) == (4.0, 3.5, 5.0)
    assert screw_length(4.5, STACK) == 50.0  # 24 + 6 x 4 = 48


def test_the_end_screw_of_two_is_that_of_a_group_of_bolts():
    """Shear of bolts loaded eccentrically (Shigley, chapter on joints): F/n and M r/Σr².

    Two screws 100 mm apart, a push of 36.4 N 50 mm beyond the last and 100 N along, 30 mm from
    their row: about the middle M = 36.4 x 100 + 100 x 30.
    """
    moment = 36.4 * 100 + 100 * 30
    across = 36.4 / 2 + moment * 50 / (2 * 50**2)
    found = 100 * end_screw_force((0.0, 100.0), 50.0, 30.0, 0.364)
    assert found == pytest.approx(math.hypot(50.0, across))


def test_many_screws_share_what_is_along_the_bar():
    """Against least squares of a stiff bar on springs: the two at the end take more than that."""
    places, over, lever, tan = np.arange(6) * 100.0, 50.0, 30.0, 0.364
    at = places - places.mean()
    moment = tan * (at[-1] + over) + lever
    stiff = math.hypot(1 / 6, tan / 6 + moment * at[-1] / (at @ at))
    found = end_screw_force(tuple(places), over, lever, tan)
    assert stiff < found < math.hypot(1 / 6, 2 * tan + lever / 100.0)


def test_a_short_piece_holds_less_and_thicker_screws_more():
    rack, use = gw.Rack(5, 60, height=30.0), JointUse()

    def value(longest, hole=4.5):
        return check_bar_screws(Bar.of(rack, [longest]), (12.0, hole), 100.0, STACK, use)

    whole, short = value(60), value(6)
    assert short.value > 1.5 * whole.value
    assert value(60, 5.5).limit > whole.limit
    assert not whole.ways


@pytest.mark.parametrize("height", [30.0, 20.0])
def test_thicker_screws_are_told_and_a_higher_bar_where_they_have_no_room(height):
    """Below roots of 6.25 mm three holes of the screw, plus 0.5 mm each, stand in the back."""
    bar, use = Bar.of(gw.Rack(5, 60, height=height), [60]), JointUse()
    heavy = check_bar_screws(bar, (12.0, 4.5), 600.0, STACK, use)
    assert not heavy.ok
    (((key, bores), *higher),) = heavy.ways
    assert (key, bores[0]) == ("stage.bores", 12.0)
    tall = max((value for _, value in higher), default=height)
    assert tall - 6.25 >= 3 * bores[1]
    assert (tall > height) == bool(higher) == (height == 20.0)
    higher_bar = Bar.of(gw.Rack(5, 60, height=tall), [60])
    assert check_bar_screws(higher_bar, bores, 600.0, STACK, use).ok
    assert f"bores = [12.0, {bores[1]}]" in heavy.remedy


def test_the_shortest_piece_of_a_bar_decides():
    rack, use = gw.Rack(5, 60, height=30.0), JointUse()
    both, short = (
        check_bar_screws(bar, (12.0, 4.5), 100.0, STACK, use).value
        for bar in (Bar(rack, ((6,),)), Bar(replace(rack, teeth=6), ((),)))
    )
    assert both == pytest.approx(short)
