"""Rod on two bearings, mesh forces, bearing life and seats."""

import re
from math import cos, inf, pi, radians, sin, sqrt

import numpy as np
import pytest
from scipy.integrate import cumulative_trapezoid
from scipy.optimize import brentq

from gearwork.checks.shaft.beam import (
    MODULUS,
    Shaft,
    ShaftLoad,
    face_load_factor,
    gear_forces,
    mesh_load,
    thread_fatigue_strength,
)
from gearwork.checks.shaft.shaft import check_shaft
from gearwork.errors import GearworkError
from gearwork.stock.hardware import bearing, flange_nut, nut, rod, washer
from gearwork.stock.plywood import plywood

M8 = rod("M8")
BIRCH = plywood("birch", 12)
EI = MODULUS * pi * M8.core_diameter**4 / 64.0


def shaft(*loads, bearings=(0.0, 100.0), on=M8, ball="608"):
    return Shaft(on, bearing(ball), bearings, loads)


def across(position, y, z=0.0):
    return ShaftLoad("load", position, (y, z))


# Statics and deflection


@pytest.mark.parametrize("seed", range(8))
def test_forces_and_moments_add_up_to_zero(seed):
    rng = np.random.default_rng(seed)
    loads = [across(rng.uniform(-40, 150), *rng.normal(size=2)) for _ in range(4)]
    beam = shaft(*loads, bearings=(7.0, 93.0))
    forces = np.array([load.force for load in loads])
    at = np.array([load.position for load in loads])
    assert forces.sum(axis=0) + beam.reactions.sum(axis=0) == pytest.approx(np.zeros(2), abs=1e-12)
    moment = at @ forces + np.array(beam.bearing_positions) @ beam.reactions
    assert moment == pytest.approx(np.zeros(2), abs=1e-10)
    assert beam.bending_moment[-1] == pytest.approx(np.zeros(2), abs=1e-12)


@pytest.mark.parametrize("seed", range(4))
def test_deflection_by_integrating_the_moment_twice(seed):
    # Second road: M/EI summed by the trapezoidal rule over 8000 steps; error of the rule 1e-6.
    rng = np.random.default_rng(seed)
    loads = [across(rng.uniform(-40, 150), *(50 * rng.normal(size=2))) for _ in range(3)]
    beam = shaft(*loads)
    x = np.linspace(-40.0, 150.0, 8_001)
    moment = sum(
        np.maximum(x - place, 0.0)[:, None] * np.array(force)
        for place, force in [
            *((load.position, load.force) for load in loads),
            *zip(beam.bearing_positions, beam.reactions, strict=True),
        ]
    )
    slope = cumulative_trapezoid(moment / EI, x, axis=0, initial=0.0)
    bent = cumulative_trapezoid(slope, x, axis=0, initial=0.0)
    ends = np.array([np.interp([0.0, 100.0], x, bent[:, axis]) for axis in (0, 1)]).T
    tilt = (ends[1] - ends[0]) / 100.0
    expected = bent - ends[0] - np.outer(x, tilt)
    assert beam.deflection_at(x) == pytest.approx(expected, abs=1e-5 * np.abs(expected).max())
    assert beam.slope_at(x) == pytest.approx(slope - tilt, abs=1e-5 * np.abs(slope).max())


def test_bearings_do_not_move():
    beam = shaft(across(30.0, 10.0, 20.0), across(140.0, -5.0, 7.0))
    assert beam.deflection_at([0.0, 100.0]) == pytest.approx(np.zeros((2, 2)), abs=1e-12)


def test_torque_runs_between_the_gears():
    beam = shaft(
        ShaftLoad("drum", 120.0, (0.0, 0.0), -2.0), ShaftLoad("wheel", 40.0, (0.0, 0.0), 2.0)
    )
    inside = (beam.positions > 40.0) & (beam.positions < 120.0)
    assert np.abs(beam.torque[inside]) == pytest.approx(2.0)
    assert beam.torque[~inside & (beam.positions < 40.0)] == pytest.approx(0.0)
    jump = np.abs(beam.torque[beam.positions == 40.0])
    assert tuple(jump) == (0.0, 2.0)


def test_bending_and_torsion_together():
    # σ = 32 M/(π d³), τ = 16 T/(π d³): sqrt(σ² + 3τ²) = 16/(π d³) sqrt(4 M² + 3 T²) by hand.
    beam = shaft(
        ShaftLoad("wheel", 50.0, (30.0, 40.0), 1.5), ShaftLoad("drum", 130.0, (0.0, 0.0), -1.5)
    )
    moment = 50.0 * 100.0 / 4.0
    expected = 16.0 / (pi * 6.466**3) * sqrt(4.0 * moment**2 + 3.0 * 1500.0**2)
    assert beam.von_mises_stress.max() == pytest.approx(expected)


# Mesh forces


@pytest.mark.parametrize("torque", [2.0, -2.0])
@pytest.mark.parametrize("direction", [0.0, 37.0, 200.0])
def test_tooth_force_turns_the_gear_and_pushes_it_away(torque, direction):
    # Statics: the moment of the force at the pitch point is the torque; F_r = F_t tan 25°.
    base, angle = 60.0, 25.0
    load = mesh_load("w", 50.0, torque, base, angle, mate_direction=direction, face_width=9.0)
    centre = np.array([cos(radians(direction)), sin(radians(direction))])
    at = centre * base / cos(radians(angle)) / 2.0
    moment = at[0] * load.force[1] - at[1] * load.force[0]
    assert moment / 1000.0 == pytest.approx(torque)
    away = -float(np.dot(load.force, centre))
    assert away == pytest.approx(abs(moment) / np.linalg.norm(at) * np.tan(radians(angle)))


@pytest.mark.parametrize("gap", [0.0, 0.005, 0.02, 0.08, 0.5])
def test_edge_load_on_an_elastic_mesh(gap):
    """Second road: springs side by side over the width, pressed together until they carry F.

    Contact only where they overlap; 2001 springs: 0.2 %.
    """
    width, force, modulus = 12.0, 100.0, 5000.0
    stiffness = 20.0 * modulus / 206_000.0 * 1000.0
    apart = np.linspace(0.0, gap, 2001)

    def carried(press):
        return np.mean(np.maximum(stiffness * (press - apart), 0.0)) * width

    press = brentq(lambda p: carried(p) - force, 0.0, 10.0)
    expected = stiffness * press / (force / width)
    assert face_load_factor(gap, width, force, modulus) == pytest.approx(expected, rel=2e-3)


# Bearings and threads


def test_sizes_of_nuts_and_washers():
    # ISO 4032, 4161, 7089, 7093-1 for M8.
    assert nut("M8").width_across_flats == 13.0
    assert flange_nut("M8").flange_diameter == 17.9
    assert [washer("M8", wide=wide).diameter for wide in (False, True)] == [16.0, 24.0]


# The check


def gear_shaft(torque, *, wheel=50.0, pinion=60.0, span=100.0, on=M8, ball="608"):
    """A wheel of 100 mm driven, a pinion of 40 mm driving the next stage."""

    def mesh(name, at, into, base, direction):
        return mesh_load(name, at, into, base, 20.0, mate_direction=direction, face_width=12.0)

    return Shaft(
        on,
        bearing(ball),
        (0.0, span),
        (
            mesh("wheel", wheel, torque, 100.0, 0.0),
            mesh("pinion", pinion, -torque, 40.0, 180.0),
        ),
    )


def report(torque, *, peak=1.0, hours=100.0, plate=BIRCH, **where):
    return check_shaft(
        gear_shaft(torque, **where), speed=60.0, plate=plate, hours=hours, peak_factor=peak
    )


def test_lightly_loaded_shaft_holds():
    found = report(0.3)
    assert found.ok, str(found)
    assert len(found) == 8


def test_values_of_the_check_by_hand():
    """Single force of 100 N in the middle, peak twice that, 608 bearings of unknown make."""
    beam = shaft(across(50.0, 100.0))
    found = check_shaft(beam, speed=100.0, plate=BIRCH, peak_factor=2.0)
    stress = 32.0 * 2500.0 / (pi * 6.466**3)
    assert found["rod, static"].value == pytest.approx(2.0 * stress)
    assert found["rod, static"].limit == pytest.approx(450.0 / 1.5)
    assert found["rod, fatigue"].value == pytest.approx(stress)
    assert found["static safety, bearing A"].value == pytest.approx(0.75 * 1350.0 / 100.0)
    assert found["life, bearing B"].value == pytest.approx((0.75 * 3300 / 50) ** 3 * 1e6 / 6000.0)
    assert found["seat, bearing A"].value == pytest.approx(100.0 / (22.0 * 7.0))


def test_braking_counts_where_it_loads_the_shaft_more():
    """An idler's forces add up in one sense of rotation and nearly cancel in the other."""
    base, ends = 125.0 * cos(radians(20.0)), {"face_width": 20.0}

    def idler(torque):
        return shaft(
            mesh_load("pinion", 50.0, torque, base, 20.0, mate_direction=0.0, **ends),
            mesh_load("next", 50.0, -torque, base, 20.0, mate_direction=90.0, **ends),
            ShaftLoad("drive", 130.0, (0.0, 0.0), 0.0),
        )

    driving, braking = idler(3.0), idler(-3.0)
    one = check_shaft(driving, speed=100.0, plate=BIRCH, peak_factor=2.0)
    both = check_shaft(driving, speed=100.0, plate=BIRCH, peak_factor=2.0, shocks=[(braking, 1.0)])
    ratio = braking.bearing_forces[0] / driving.bearing_forces[0] / 2.0
    assert ratio > 1.0
    for name, share in (
        ("rod, static", ratio),
        ("seat, bearing A", ratio),
        ("static safety, bearing B", 1.0 / ratio),
        ("rod, fatigue", 1.0),
        ("life, bearing A", 1.0),
    ):
        assert both[name].value == pytest.approx(share * one[name].value), name
    less = check_shaft(driving, speed=100.0, plate=BIRCH, peak_factor=2.0, shocks=[(driving, 1.0)])
    assert [check.value for check in less] == [check.value for check in one]


def test_a_bearing_with_next_to_no_load_lasts_for_ever():
    found = check_shaft(shaft(across(1e-100, 100.0)), speed=1.0, plate=BIRCH)
    assert found["life, bearing B"].value == inf


def test_branded_bearings_count_in_full():
    beam = shaft(across(50.0, 100.0))
    plain, branded = (
        check_shaft(beam, speed=100.0, plate=BIRCH, branded_bearings=known)
        for known in (False, True)
    )
    name = "static safety, bearing A"
    assert plain[name].value == pytest.approx(0.75 * branded[name].value)


def test_thin_plate_bears_over_its_own_thickness():
    beam = shaft(across(50.0, 100.0))
    thin = plywood("birch", 4)
    found = check_shaft(beam, speed=100.0, plate=thin)["seat, bearing A"]
    assert found.value == pytest.approx(50.0 / (22.0 * 3.6))
    # Weakest compression in the plane, 0.9/1.3 (EN 1995-1-1); 10 000 loads leave more of
    # compression (k_fat 0.78, EN 1995-2 Annex A), so that it is not counted as well.
    weakest = min(thin.compression_at(np.arange(180.0)))
    assert found.limit == pytest.approx(weakest * 0.9 / 1.3, rel=1e-4)


def shrunk(given, share):
    old = {"wheel": 50.0, "pinion": 60.0, "span": 100.0}
    return given | {key: given.get(key, old[key]) * share for key in old}


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: shaft(), "no load"),
        (lambda: shaft(across(1.0, 1.0), bearings=(50.0, 53.0)), "distance from bearing A to B"),
        (lambda: shaft(across(1.0, 1.0), bearings=(50.0, 20.0)), "distance from bearing A to B"),
        (lambda: shaft(across(1.0, 1.0), on=rod("M10")), "bore of the 608 bearing"),
        (lambda: shaft(ShaftLoad("wheel", 1.0, (0.0, 0.0), 2.0)), "wheel 2"),
        (lambda: ShaftLoad("wheel", 1.0, (1.0,)), "force of wheel"),
        (lambda: ShaftLoad("wheel", float("nan"), (1.0, 2.0)), "position of wheel"),
        (lambda: ShaftLoad("wheel", 1.0, (1.0, 2.0), mate_direction=3.0), "mesh_load"),
        (lambda: gear_forces(1.0, 0.0, 20.0), "base diameter"),
        (lambda: gear_forces(1.0, 10.0, 80.0), "working pressure angle"),
        (lambda: report(1.0, peak=0.5), "peak load"),
        (lambda: report(1.0, hours=0.0), "running time"),
    ],
)
def test_bad_input_is_named(make, words):
    with pytest.raises(GearworkError, match=re.escape(words)):
        make()


def test_forces_in_any_direction_that_is_possible_count():
    """The worse of two directions, by hand: each bearing and the rod take their own worst."""
    up, down = (
        shaft(across(100.0, 50.0), ShaftLoad("drum", 130.0, (0.0, side * 40.0), 0.0))
        for side in (1.0, -1.0)
    )
    found = check_shaft(up, others=[down], speed=60.0, plate=BIRCH)
    for name in ("rod, fatigue", "life, bearing A", "life, bearing B", "seat, bearing B"):
        each = [check_shaft(one, speed=60.0, plate=BIRCH)[name] for one in (up, down)]
        worst = (
            min(c.value for c in each) if name.startswith("life") else max(c.value for c in each)
        )
        assert found[name].value == pytest.approx(worst), name


def test_shocks_that_come_often_tire_the_rod():
    """Half of the greatest stress is its amplitude, at so many times, but no fewer than 10 000."""
    running, shock = shaft(across(1.0, 50.0)), shaft(across(400.0, 50.0))
    found = check_shaft(running, shocks=[(shock, 5e5)], speed=60.0, plate=BIRCH)["rod, fatigue"]
    assert found.value == pytest.approx(float(shock.bending_stress.max()) / 2)
    diameter = running.rod.diameter
    assert found.limit == pytest.approx(thread_fatigue_strength(diameter, 5e5) / 1.2)
    assert "500\N{NO-BREAK SPACE}000 times" in found.why
