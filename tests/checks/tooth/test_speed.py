"""Dynamic factor: ISO 6336-1 stiffness, its scaling, and the phenolic bound."""

from itertools import islice

import numpy as np
import pytest
from broken_teeth import random_teeth

from gearwork.checks.tooth.breaking import breaking_shares
from gearwork.checks.tooth.load_case import Service, load_cases
from gearwork.checks.tooth.speed import (
    bearable,
    relative_speed,
    single_stiffness,
    thrown_load,
)
from gearwork.checks.tooth.stress import SheetPolar
from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import GearPair
from gearwork.geometry.tooth import cut_tooth, fillet_points, load_at
from gearwork.stock.plywood import plywood

PAIR = GearPair(Gear(5, 14, 0.25), Gear(5, 38))
WOOD = {"modulus": 3500.0, "density": 680.0}


def dynamic_factor(speed: float, line_load: float) -> float:
    """K_v = 1 + N ((C_v1 + C_v2) c' f / F + C_v3), ISO 6336-1:2006 eq. (13), method B."""
    share = relative_speed(PAIR, speed, **WOOD)
    added = share * thrown_load(PAIR, WOOD["modulus"])
    return float(1.0 + 0.23 * share + added / line_load)


def phenolic_stress(speed: float) -> float:
    """Allowable Lewis stress of laminated phenolic, MPa, at v m/s: no birch tooth exceeds it.

    Machinery's Handbook (read in a copy of the table): 41.4 MPa at rest.
    """
    return 41.4 * (0.25 + 0.76 / (1.016 + speed))


@pytest.mark.parametrize(
    ("pinion", "wheel", "stiffness"),
    [
        (Gear(5, 14, 0.25), Gear(5, 38), 16.18),
        (Gear(5, 20), Gear(5, 20), 14.73),
        (Gear(5, 17), Gear(5, 40), 15.92),
    ],
)
def test_stiffness_of_steel_teeth(pinion: Gear, wheel: Gear, stiffness: float) -> None:
    assert single_stiffness(pinion, wheel) == pytest.approx(stiffness, abs=0.005)


def test_resonance_is_far_away_and_grows_with_the_root_of_the_stiffness() -> None:
    share = float(relative_speed(PAIR, 1000.0, **WOOD))
    assert 0.0 < share < 0.2
    assert relative_speed(PAIR, 1000.0, 4 * 3500.0, 680.0) == pytest.approx(share / 2)
    assert relative_speed(PAIR, 1e6, **WOOD) == 0.85


def test_deviations_add_a_load_that_does_not_grow_with_the_load() -> None:
    light, heavy = (dynamic_factor(600.0, load) for load in (1.0, 10.0))
    added = relative_speed(PAIR, 600.0, **WOOD) * thrown_load(PAIR, WOOD["modulus"])
    assert (light - heavy) / 0.9 == pytest.approx(float(added))
    half = thrown_load(PAIR, WOOD["modulus"], deviation=0.045)
    assert half == pytest.approx(thrown_load(PAIR, WOOD["modulus"]) / 2)


def test_bearable_load_times_its_dynamic_factor_is_the_strength() -> None:
    thrown = thrown_load(PAIR, WOOD["modulus"])
    load = float(bearable(6.0, relative_speed(PAIR, 900.0, **WOOD), thrown))
    assert load * dynamic_factor(900.0, load) == pytest.approx(6.0)
    assert bearable(1.0, relative_speed(PAIR, 20000.0, **WOOD), thrown) == 0.0


@pytest.mark.parametrize("teeth", [10, 16, 30, 60])
@pytest.mark.parametrize("bit", [2.0, 6.0])
def test_no_birch_tooth_bears_more_than_phenolic(teeth: int, bit: float) -> None:
    """Lewis' stress, 6 h cos / s² at its greatest, under what is allowed for an instant."""
    sheet = plywood("birch", 4)  # the strongest of the table
    cut = cut_tooth(Gear(6, teeth, 0.4 if teeth < 17 else 0.0), bit)
    tip = cut.gear.tip_diameter
    most = 1.1 / 1.2 / float(breaking_shares(cut, tip, SheetPolar.of(sheet)).max)
    load, fillet = load_at(cut.gear, tip), fillet_points(cut)
    arm = load.apex - fillet.x
    lewis = most * float((6 * np.cos(np.radians(load.angle)) * arm / fillet.thickness**2).max())
    assert lewis < phenolic_stress(0.0)
    assert 0.5 * lewis < phenolic_stress(10.0)  # k_fat leaves no more than half


def test_no_birch_tooth_of_the_parameter_space_is_allowed_more_than_phenolic() -> None:
    """60 of the random teeth (10 to 60 teeth, module 3 to 10), at a stall and running an hour.

    Lewis' stress, 6 h cos / s² at its greatest, under what is allowed without K_v and K_A, which
    only take from it. Laminated phenolic: Machinery's Handbook, read in a copy of the table.
    """
    teeth = (tooth for tooth in random_teeth() if "birch" in tooth[1].name)
    for cut, panel in islice(teeth, 60):
        gear = cut.gear
        bears = 1.0 / float(breaking_shares(cut, gear.tip_diameter, SheetPolar.of(panel)).max)
        load, fillet = load_at(gear, gear.tip_diameter), fillet_points(cut)
        bent = 6 * np.cos(np.radians(load.angle)) * (load.apex - fillet.x) / fillet.thickness**2
        for speed in (0.1, 1.0, 3.0, 10.0):  # m/s
            turns = 60_000.0 * speed / (np.pi * gear.reference_diameter)
            cases = load_cases(1.0, turns, Service(running_hours=1.0), stall_torque=1.0)
            limits = phenolic_stress(speed), phenolic_stress(0.0)
            for case, limit in zip(cases, limits, strict=True):
                assert bears * float(bent.max()) * case.share_left(turns) < limit
