"""Rolling resistance, inclined plane, traction.

Sources: The Engineering ToolBox, "Rolling Resistance"; OpenStax College Physics, example "Weight on
an Incline" and chapter 5. Tolerances: their g and their three digits.
"""

import dataclasses
import math

import pytest

from gearwork.machine.load import GRAVITY, hauling_pull
from gearwork.machine.vehicle import Vehicle
from gearwork.stock.ground import surface

CART = Vehicle(
    mass=60.0,
    wheel_diameter=200.0,
    slope=0.0,
    rolling_resistance=surface("firm path").rolling_resistance,
    travel_speed=1.2,
    tyre_friction=surface("firm path").tyre_friction,
    wheelbase=800.0,
    centre_to_rear=320.0,
    centre_height=400.0,
    track=600.0,
)


def changed(thing, **values):
    return dataclasses.replace(thing, **values)


def test_car_on_asphalt():
    """1500 kg, coefficient 0.03: 441 N (The Engineering ToolBox, "Rolling Resistance").

    The page works with 9.81 m/s² and prints three digits: 0.5 N.
    """
    assert hauling_pull(1500.0, 0.0, 0.03) == pytest.approx(441.0, abs=0.5)


def test_skier_on_an_incline():
    """OpenStax College Physics, example "Weight on an Incline": 60.0 kg, 25°, friction 45.0 N.

    4.14 m/s² without friction, 3.39 m/s² with it, so the friction is 0.75 m/s². g = 9.80 m/s²
    and three digits: 0.006 m/s².
    """
    friction = 45.0 / (60.0 * GRAVITY * math.cos(math.radians(25.0)))
    weight = hauling_pull(60.0, 25.0, 0.0)
    assert weight / 60.0 == pytest.approx(4.14, abs=0.006)
    drag = hauling_pull(60.0, 25.0, friction) - weight
    assert (weight - drag) / 60.0 == pytest.approx(3.39, abs=0.006)


@pytest.mark.parametrize(("friction", "acceleration"), [(1.0, 4.20), (0.7, 2.74), (0.1, -0.195)])
def test_traction_of_a_car_up_a_slope(friction, acceleration):
    """OpenStax College Physics, chapter 5, car heading up a 4° slope, half the weight driven.

    The book leaves weight transfer and rolling resistance out: centre of mass on the ground.
    Three digits (0.005) and g = 9.80 m/s² (0.07 % of 4.2, 0.003): 0.008 m/s².
    """
    car = changed(
        CART,
        mass=1000.0,
        slope=4.0,
        tyre_friction=friction,
        rolling_resistance=1e-9,
        centre_to_rear=400.0,
        centre_height=1e-6,
    )
    pull = car.usable_torque * 2000.0 / car.wheel_diameter
    net = pull - hauling_pull(car.mass, 4.0, 0.0)
    assert net / car.mass == pytest.approx(acceleration, abs=0.008)
