"""Torque at a nut and stress in its rod, held against the textbook's power screw."""

from math import pi, sqrt

import pytest
from screws import screw_torque

from gearwork.checks.hub.fixing import (
    bolted,
    bonded,
    clamped,
    glued_on_rod,
    pocketed,
    spring_clamped,
)
from gearwork.checks.hub.joints import FRICTION, nut_face
from gearwork.checks.hub.tightening import Tightening
from gearwork.stock.hardware import rod, threads
from gearwork.stock.plywood import plywood

BIRCH = plywood("birch", 12)


@pytest.mark.parametrize("thread", threads())
def test_torque_is_that_of_a_screw_and_its_collar(thread):
    """Shigley's Eq. 8-5 for raising, and friction on the mean diameter of the nut's face: 2 %."""
    on = rod(thread)
    d2 = on.diameter - 0.75 * sqrt(3) / 2 * on.pitch
    screw = screw_torque(1000.0, d2, on.pitch, FRICTION.value, 30.0, raising=True) / 1000.0
    face = nut_face(on)
    collar = FRICTION.value * (face.outer_diameter + face.inner_diameter) / 4
    assert Tightening("nuts", on, 1000.0).torque == pytest.approx(screw + collar, rel=0.02)
    section = pi * sqrt(4 * on.stress_area / pi) ** 3 / 16
    twist = 1000.0 * screw / section
    stress = sqrt((1000.0 / on.stress_area) ** 2 + 3 * twist**2)
    assert Tightening("nuts", on, 1000.0).stress == pytest.approx(stress, rel=0.02)


def test_a_common_nut_by_the_rule_of_thumb():
    # T = K F d with K about 0.2 for dry steel (Shigley, Table 8-15, from memory)
    assert Tightening("nuts", rod("M12"), 5000.0).torque == pytest.approx(0.2 * 5.0 * 12, rel=0.1)


@pytest.mark.parametrize("grade", ["A2-50", "4.6", "8.8"])
@pytest.mark.parametrize("thread", threads())
def test_no_nut_tears_its_rod(thread, grade):
    on = rod(thread, grade)
    fixings = (
        clamped(on), clamped(on, "wide washer"), bonded(on), pocketed(on, 3.0, 1.0),
        spring_clamped(on, BIRCH), bolted(on, rod("M6", "4.6"), 4, 60.0),
    )  # fmt: skip
    for fixing in fixings:
        found = fixing.rate(BIRCH).tightenings
        assert found
        for each in found:
            assert 0.0 < each.stress < each.rod.grade.yield_strength
    assert glued_on_rod(on).rate(BIRCH).tightenings == ()
