"""What happens to a train, against energy, time steps and statics written out."""

from math import pi

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from gearwork.machine.events import (
    braking_force,
    jam_torque,
    passed_back,
    torsional_stiffness,
)

G = 9.80665


# A rotor runs into a train that has jammed


def test_jam_by_time_steps():
    """Rotor on a spring while the drive keeps pushing: the greatest torque of an ODE solver."""
    torque, inertia, stiffness, speed = 5.0, 2e-3, 40.0, 1400.0

    def rate(_, state):
        angle, pace = state
        return [pace, (torque - stiffness * angle) / inertia]

    run = solve_ivp(rate, (0.0, 0.1), [0.0, speed * pi / 30], rtol=1e-9, atol=1e-12)
    found = jam_torque(torque, speed, inertia, stiffness)
    dense = solve_ivp(rate, (0, 0.03), [0.0, speed * pi / 30], rtol=1e-9, atol=1e-12, max_step=2e-5)
    assert run.success
    assert found == pytest.approx(stiffness * dense.y[0].max(), rel=1e-4)


def test_jam_gives_up_its_energy():
    """33 J of a rotor of 1.5e-5 kg·m² at 20 000 rpm, wound up: T² / 2 k is the energy."""
    inertia, stiffness, speed = 1.5e-5, 0.5, 20_000.0
    energy = 0.5 * inertia * (speed * pi / 30) ** 2
    assert energy == pytest.approx(33, abs=0.5)
    found = jam_torque(0.0, speed, inertia, stiffness)
    assert found**2 / (2 * stiffness) == pytest.approx(energy)


def test_jam_without_momentum_is_a_stall_twice():
    """A torque that is suddenly there twists twice as far (Roark, dynamic loading; from memory)."""
    assert jam_torque(5.0, 0.0, 1e-3, 10.0) == pytest.approx(10.0)
    assert jam_torque(5.0, 0.0, 0.0, 10.0) == pytest.approx(5.0)  # nothing swings


# Stiffness of a train


def test_rod_alone_by_hand():
    """G J / L of 100 mm of a rod of 10 mm core: 75 GPa · π 10⁴/32 mm⁴ / 100 mm = 736 N·m/rad."""
    found = torsional_stiffness(np.array([1.0, 1.0]), np.array([np.inf]), [50.0, 50.0], 10.0)
    assert found == pytest.approx(75e3 * pi * 1e4 / 32 / 100 / 1000, rel=1e-9)


def test_behind_a_ratio_springs_are_softer_by_its_square():
    near = torsional_stiffness(np.array([1.0, 4.0]), np.array([np.inf]), [50.0, 0.0], 10.0)
    far = torsional_stiffness(np.array([1.0, 4.0]), np.array([np.inf]), [0.0, 50.0], 10.0)
    assert near / far == pytest.approx(16.0)


def test_train_twists_by_the_sum_of_its_parts():
    """Unit torque at the drive, output held: angles of every part added up at the drive."""
    up_to, mesh = np.array([1.0, 3.0, 7.5]), np.array([4000.0, 9000.0])
    lengths, core = [60.0, 80.0, 120.0], 9.0
    rod = 75e3 * pi * core**4 / 32 / 1000  # N·m·mm/rad
    angle = sum(u * u * length / rod for u, length in zip(up_to, lengths, strict=True))
    angle += 1 / mesh[0] + 3.0**2 / mesh[1]
    assert torsional_stiffness(up_to, mesh, lengths, core) == pytest.approx(1 / angle)


def test_arrays_of_trains():
    up_to = np.array([[1.0, 3.0], [1.0, 5.0]])
    mesh = np.array([[4000.0], [6000.0]])
    lengths = np.array([[50.0, 60.0], [70.0, 80.0]])
    both = torsional_stiffness(up_to, mesh, lengths, 9.0)
    single = [torsional_stiffness(*row, 9.0) for row in zip(up_to, mesh, lengths, strict=True)]
    assert both == pytest.approx(single)


# What comes back


def wheel_loads(weight, base, to_rear, height, force):
    """Front and rear axle, N, of a vehicle whose ground pushes backwards with a force."""
    return np.linalg.solve([[1.0, 1.0], [base - to_rear, -to_rear]], [weight, force * height])


@pytest.mark.parametrize("axle", ["rear", "front"])
@pytest.mark.parametrize("share", [0.5, 1.0])
def test_braking_takes_weight_off_the_rear(axle, share):
    """Independent road: axle loads from two linear equations; rounding only."""
    weight, base, to_rear, height, friction = 600.0, 700.0, 300.0, 350.0, 0.5
    force = braking_force(weight, friction, share, base, to_rear, height, axle)
    front, rear = wheel_loads(weight, base, to_rear, height, force)
    assert force == pytest.approx(friction * share * (rear if axle == "rear" else front))


def test_braking_uses_no_more_than_all_the_weight():
    force = braking_force(600.0, 1.5, 1.0, 700.0, 600.0, 900.0, "front")
    assert force == pytest.approx(1.5 * 600.0)


def test_cart_on_a_firm_path_gives_what_practice_says():
    """60 kg, wheels of 200 mm, both driven, firm level path: 8 to 25 N·m, about 17, on a lock.

    0.5 on 57 % of the weight, were there no transfer: 16.8 N·m.
    """
    for friction in (0.35, 0.6):
        force = braking_force(60 * G, friction, 1.0, 700.0, 300.0, 350.0, "rear")
        assert 8.0 <= force * 0.1 <= 25.0
    flat = braking_force(60 * G, 0.5, 1.0, 700.0, 300.0, 1e-9, "rear")
    assert flat * 0.1 == pytest.approx(16.8, abs=0.05)


def test_a_clutch_below_gives_way_first():
    """2 N·m at the drive through 10 : 1 are 20 at the output, and 25 if a fifth is lost."""
    up_to, kept = np.array([1.0, 10.0]), np.array([1.0, 0.8])
    free = passed_back(40.0, None, up_to, kept)
    assert free == pytest.approx([4.0, 40.0])
    held = passed_back(40.0, 2.0, up_to, kept)
    assert held == pytest.approx([2.0, 25.0])
    assert passed_back(15.0, 2.0, up_to, kept) == pytest.approx([1.5, 15.0])


def test_what_comes_back_falls_with_the_clutch():
    up_to, kept = np.array([1.0, 2.75, 7.5625]), np.array([1.0, 0.85, 0.72])
    found = [passed_back(17.0, clutch, up_to, kept)[-1] for clutch in (0.5, 1.0, 1.5)]
    assert found == sorted(found)
    assert found[0] < 8.0
