"""Rods and bearings of whole machines against a beam of finite elements, forces by hand.

A second road from torques and places to what the report says of every shaft: beam elements (two
nodes, cubic, Bernoulli) with the bearings as supports, and forces of teeth, rope, wheel and drill
written out from the data of the design file. Source of the element: any handbook of the method.
"""

from dataclasses import replace
from itertools import pairwise
from math import cos, dist, pi, radians, sin, tan

import numpy as np
import pytest

from gearwork.machine.design import Design

G = 9.80665
M12_CORE, C, C0 = 9.853, 5100.0, 2360.0  # ISO 724; 6001 by catalogue


def beam(at, forces, supports):
    """Support forces and greatest moment, N and N·mm, of forces (k, 2) at places on two supports.

    Reactions come from the stiffness matrix, not from equilibrium; EI is of no weight in either.
    """
    nodes = sorted({*at, *supports})
    size = 2 * len(nodes)
    k = np.zeros((size, size))
    for i, (a, b) in enumerate(pairwise(nodes)):
        h = (b - a) / 100.0  # scaled, for the conditioning alone
        one = np.array(
            [[12, 6 * h, -12, 6 * h], [6 * h, 4 * h * h, -6 * h, 2 * h * h],
             [-12, -6 * h, 12, -6 * h], [6 * h, 2 * h * h, -6 * h, 4 * h * h]]
        )  # fmt: skip
        k[2 * i : 2 * i + 4, 2 * i : 2 * i + 4] += one / h**3
    load = np.zeros((size, 2))
    for place, force in zip(at, forces, strict=True):
        load[2 * nodes.index(place)] += force
    held = [2 * nodes.index(x) for x in supports]
    free = np.setdiff1d(np.arange(size), held)
    bent = np.zeros((size, 2))
    bent[free] = np.linalg.solve(k[np.ix_(free, free)], load[free])
    reactions = (k @ bent - load)[held]
    every = [*zip(at, forces, strict=True), *zip(supports, reactions, strict=True)]
    moments = [
        np.hypot(*sum(np.asarray(f) * (x - place) for place, f in every if place < x - 1e-9))
        for x in nodes[1:-1]
    ]
    return np.hypot(*reactions.T), max(moments)


def tooth_loads(design, shaft, torques):
    """Places and forces of the teeth on a shaft; the sense of the torque that they put in."""
    train, found = design.train, []
    for gear in train.gears:
        if gear.shaft != shaft:
            continue
        i, pair = gear.stage, design.stages[gear.stage].pair
        axis, mate = train.points[shaft], train.points[i + 1 if gear.drives else i]
        towards = (np.array(mate) - axis) / dist(axis, mate)
        torque = abs(torques[i]) * (1.0 if gear.drives else pair.wheel.teeth / pair.pinion.teeth)
        base = [g.module * g.teeth * cos(radians(20)) for g in (pair.pinion, pair.wheel)]
        working = np.arccos(sum(base) / 2 / pair.centre_distance)
        diameter = base[0 if gear.drives else 1] / cos(working)
        across = 2000 * torque / diameter
        # the first shaft turns counter-clockwise; a wheel is pushed on, a pinion held back
        turns = (-1.0) ** shaft * (-1.0 if gear.drives else 1.0) * np.sign(torques[i])
        sideways = np.array([-towards[1], towards[0]])
        force = across * (turns * sideways - tan(working) * towards)
        found.append(((gear.start + gear.end) / 2, force))
    return found


def outer_faces(design):
    plates = design.train.stack_up.plates
    return plates[0][0], plates[-1][1]


def leaning(design, _):
    """The drill leans on its rod with 10 N in any direction, in the middle of its coupling."""
    place = outer_faces(design)[0] - design.brief.shafts.overhangs[0]
    return [([(place, 10.0 * np.array([cos(a), sin(a)]))], 1.0) for a in np.arange(8) * pi / 4]


def rope(design, torque):
    """25 kg on 8° of grass, 34 mm outside the plate, to -x; in a shock on the bare drum."""
    pull = 25 * G * (sin(radians(8)) + design.duty.load.rolling_resistance * cos(radians(8)))
    force = pull if torque is None else 2000 * abs(torque) / 66.0
    return [([(outer_faces(design)[1] + 34.0, np.array([-force, 0.0]))], 1.0)]


def one_wheel(design, torque):
    """60 kg, 400/700 of it on the rear axle, one of two wheels driven, 38 mm outside the plate."""
    shock = torque is not None
    traction = 2000 * abs(torque if shock else design.torques.running[-1]) / 260
    weight = 0.5 * (60 * G * 400 + traction * 350) / 700
    bump, out = (2.0, 0.1 * 2.0 * weight * 130.0) if shock else (1.0, 0.0)
    reach = 38.0 + out / np.hypot(traction, bump * weight)
    place = outer_faces(design)[1] + reach
    return [([(place, np.array([s * traction, bump * weight]))], 1.0) for s in (1.0, -1.0)]


def two_wheels(design, torque):
    """The same with both wheels driven, 38 mm outside either plate.

    Steadily they share the pull; in a shock one of them may have it all, and with it the torque.
    """
    shock = torque is not None
    traction = 2000 * abs(torque if shock else design.torques.running[-1]) / 260
    weight = 0.5 * (60 * G * 400 + traction * 350) / 700
    bump, out = (2.0, 0.1 * 2.0 * weight * 130.0) if shock else (1.0, 0.0)
    first, last = outer_faces(design)
    shares = [(0.5, 0.5), *([(1.0, 0.0), (0.0, 1.0)] if shock else [])]
    ways = []
    for each in shares:
        for sense in (1.0, -1.0):
            forces = [np.array([sense * share * traction, bump * weight]) for share in each]
            reach = [38.0 + out / np.hypot(*force) for force in forces]
            places = last + reach[0], first - reach[1]
            ways.append((list(zip(places, forces, strict=True)), max(each)))
    return ways


@pytest.fixture(scope="session")
def axle(cart):
    """The cart with both wheels of its axle driven."""
    return Design(replace(cart.brief, load=replace(cart.brief.load, driven_share=1.0)))


@pytest.fixture(scope="session")
def reversing(hauler):
    """The hauler round a corner, driven backwards under load as well: the other flanks carry."""
    brief = hauler.brief
    service = replace(brief.service, loads_both_flanks=True)
    frame = replace(brief.frame, arrangement=(0.0, 90.0))
    return Design(replace(brief, service=service, frame=frame))


@pytest.mark.parametrize(
    ("machine", "end"),
    [("hauler", rope), ("cart", one_wheel), ("axle", two_wheels), ("reversing", rope)],
)
def test_rods_and_bearings_of_a_machine(machine, end, request):
    design = request.getfixturevalue(machine)
    given, hours = design.torques, design.brief.service.running_hours
    last = len(design.stages)
    for shaft in range(last + 1):
        supports = tuple(design.shaft(shaft).bearing_positions)
        driven = [(given.running, None), (given.starting, 1), (given.stall, 1)]
        backwards = [(-torques, shock) for torques, shock in driven if machine == "reversing"]
        events = [*driven, *backwards, (-given.back, 1)]
        life, static, peak = np.full(2, np.inf), 0.0, np.zeros(2)
        for torques, shock in events:
            teeth = tooth_loads(design, shaft, torques)
            ways = [([], 1.0)]
            if shaft == 0:
                ways = leaning(design, None)
            if shaft == last:
                ways = end(design, torques[-1] if shock else None)
            for pushes, share in ways:
                loads = teeth + pushes
                at, forces = [x for x, _ in loads], [f for _, f in loads]
                on, moment = beam(at, forces, supports)
                given_on = design.shafts(shaft, torques)[0].loads
                twist = share * max(abs(load.torque) for load in given_on)
                bending = 32 * moment / (pi * M12_CORE**3)
                shear = 16000 * twist / (pi * M12_CORE**3)
                static = max(static, np.hypot(bending, np.sqrt(3) * shear))
                peak = np.maximum(peak, on)
                if not shock:
                    turns = 60.0 * design.speeds[shaft]
                    life = np.minimum(life, (0.75 * C / on) ** 3 * 1e6 / turns)
        report = next(r for r in design.reports if r.subject.title == f"shaft {shaft + 1}")
        checks = {(c.judged, c.part, c.case): c for c in report}
        # the torque runs only between gears and ends: its greatest may stand beside the moment
        assert checks["rod", "", "static"].value == pytest.approx(static, rel=0.02)
        for i, name in enumerate("AB"):
            found = checks["life", f"bearing {name}", ""]
            assert found.value == pytest.approx(life[i], rel=1e-3)
            assert found.limit == hours
            safety = checks["static safety", f"bearing {name}", ""].value
            assert safety == pytest.approx(0.75 * C0 / peak[i], rel=1e-3)


def test_either_of_two_wheels_is_fixed_for_all_the_torque(axle):
    """One of them may stand against a step; it is held like a wheel that drives alone."""
    held, given = axle.output_fixing, axle.torques
    assert held.torque == max(given.stall[-1], given.back[-1])


def test_what_reverses_under_load_tilts_gears_both_ways(hauler):
    """A rope that goes on pulling to one side leaves a mesh worse off one way round."""
    brief = hauler.brief
    both_ways = replace(brief, service=replace(brief.service, loads_both_flanks=True))
    one, both = (
        [check.value for check in made.report if check.judged == "edge load"]
        for made in (hauler, Design(both_ways))
    )
    assert any(b > 1.01 * a for a, b in zip(one, both, strict=True))
    assert all(b > 0.999 * a for a, b in zip(one, both, strict=True))
