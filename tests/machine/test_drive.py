"""Common drives, and how long they last at what torque."""

import pytest

from gearwork.errors import GearworkError
from gearwork.machine.drive import (
    WORK,
    Motor,
    common_drive,
    crank_power,
    drive_kind,
    drive_kinds,
    motor_heat,
)


def test_person_at_a_crank():
    """136 W for minutes, 30 W to 50 W for hours (handbooks); less the longer it takes."""
    assert crank_power(5.0) == pytest.approx(136.0)
    assert 30.0 <= crank_power(240.0) <= 50.0
    powers = [crank_power(minutes) for minutes in (0.5, 5, 10, 30, 60, 120, 240, 480)]
    assert powers == sorted(powers, reverse=True)
    assert crank_power(1.0) == crank_power(5.0)  # no more is counted on, however short
    assert crank_power(10_000.0) == pytest.approx(30.0)


def test_share_of_the_stall_torque_by_work():
    """0.3 while its fan turns; held at a third of it, it smokes within half a minute."""
    assert WORK["running"].share == 0.3
    assert WORK["holding"].share < 0.33 / 2
    assert WORK["holding"].share < WORK["running"].share < WORK["short runs"].share


def test_heat_is_what_does_not_turn():
    """Ideal motor, current ∝ torque: power in T ω0, power out T ω; at stall all of it is heat."""
    assert motor_heat(5.0, 1000.0, 1000.0) == 0.0
    assert motor_heat(10.0, 0.0, 955.0) == pytest.approx(1000.0, rel=1e-3)
    assert motor_heat(10.0, 477.5, 955.0) == pytest.approx(500.0, rel=1e-3)


def test_table_of_kinds():
    assert len(drive_kinds()) >= 5
    for kind in drive_kinds():
        assert kind.source
        for name in ("torque", "low_speed", "high_speed"):
            low, usual, high = getattr(kind, name)
            assert 0 < low <= usual <= high, (kind.name, name)
        assert kind.high_speed[1] >= kind.low_speed[1]


@pytest.mark.parametrize("kind", drive_kinds(), ids=lambda kind: kind.name)
def test_only_what_has_a_clutch_has_a_chuck_and_the_words_of_a_drill(kind):
    """Drills and screwdrivers have both; motors of wipers and windows turn a bare shaft."""
    drive = common_drive(kind.name)
    assert drive.has_chuck == drive.has_clutch == kind.clutch
    two = kind.low_speed[1] < kind.high_speed[1]
    assert drive.in_gear == (
        "" if not two else "drill in its high gear" if kind.clutch else "motor at its high speed"
    )
    for gear in filter(None, (drive.other_gear,)):
        assert gear.has_chuck == gear.has_clutch == kind.clutch


def test_a_motor_has_the_clutch_it_was_given():
    assert not Motor(10.0, 100.0).has_clutch
    assert Motor(10.0, 100.0, clutch_torque=2.0).has_clutch


def test_unknown_kind_names_the_nearest():
    with pytest.raises(GearworkError, match=r"18 V drill"):
        drive_kind("18V dril")
