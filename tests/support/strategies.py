"""What the property tests draw: gears, pairs, bits, sheets, parts of trains, design files.

Two kinds of pair: `pairs` is the whole domain the package accepts, `running_pairs` those a
maker would cut, with teeth that come out of the bit and mesh.
"""

from dataclasses import replace

import numpy as np
from hypothesis import assume, settings
from hypothesis import strategies as st

import gearwork as gw
from gearwork.checks.tooth.mesh import CutPair
from gearwork.machine.drive import GivenDrive, HandCrank, Motor
from gearwork.machine.duty import Duty
from gearwork.machine.frame import Frame, ShaftParts
from gearwork.machine.load import GivenLoad, RopeDrum
from gearwork.machine.stage import Stage
from gearwork.machine.train import GearTrain
from gearwork.machine.vehicle import Vehicle
from gearwork.stock.plywood import plywood_kinds


def one_in(share):
    """Settings for a test whose examples are costly: that much fewer of them."""
    return settings(max_examples=max(settings.default.max_examples // share, 1))


def between(low, high):
    """Numbers that somebody might give; none so small that they can only be slips."""
    numbers = st.floats(low, high, allow_nan=False)
    return numbers.map(lambda value: 0.0 if low <= 0.0 and abs(value) < 1e-9 else value)


@st.composite
def decades(draw, low, high):
    """Numbers spread evenly over the decades."""
    return float(np.exp(draw(between(np.log(low), np.log(high)))))


def modules(low=0.01, high=100.0):
    return decades(low, high)


TEETH = st.one_of(st.integers(5, 60), st.integers(5, 1000))
ADDENDA = st.one_of(st.just(1.0), between(0.3, 2.0))
CLEARANCES = st.one_of(st.just(0.25), between(0.0, 1.0))


OPENED = st.one_of(st.none(), between(0.0, 1.0))


@st.composite
def gears(draw, module=None, pressure_angle=None, thinnest=0.95):
    """Any gear the package accepts; `thinnest` is the most of a tooth that thinning takes."""
    m = draw(modules()) if module is None else module
    degrees = draw(between(14.5, 30.0)) if pressure_angle is None else pressure_angle
    z, addendum, clearance = draw(TEETH), draw(ADDENDA), draw(CLEARANCES)
    altered = draw(st.one_of(st.just(0.0), between(-1.5, 0.5)))
    alpha = np.radians(degrees)
    least = max(
        -2.0,
        z * (np.cos(alpha) - 1) / 2 - addendum - altered,
        addendum + clearance - z / 2,
        -np.pi / 4 / np.tan(alpha),
    )
    most = min(2.0, 0.1 + z / 25 + 0.5 * (1 - addendum))
    assume(least < most)
    shift = least + draw(between(0.01, 1.0)) * (most - least)
    thickness = m * (np.pi / 2 + 2 * shift * np.tan(alpha))
    thinning = draw(st.one_of(st.just(0.0), between(0.0, thinnest))) * thickness
    try:
        return gw.Gear(m, z, shift, degrees, addendum, clearance, thinning, altered)
    except gw.GearworkError:
        assume(False)


@st.composite
def pairs(draw, opened=OPENED):
    """Any pair the package accepts, at its own distance or with the shafts moved apart.

    `opened` is in modules.
    """
    pinion = draw(gears())
    wheel = draw(gears(pinion.module, pinion.pressure_angle))
    try:
        pair = gw.GearPair(pinion, wheel)
        apart = draw(opened)
        if apart is not None:
            pair = gw.GearPair(pinion, wheel, pair.centre_distance + apart * pinion.module)
    except gw.GearworkError:
        assume(False)
    return pair


@st.composite
def bits(draw, most=25.0):
    """Any router bit, measured or not."""
    diameter = draw(between(0.5, most))
    off = draw(st.one_of(st.none(), between(-0.2, 0.2)))
    measured = None if off is None else min(max(diameter + off, 0.5), 25.0)
    return gw.Bit(diameter, measured)


@st.composite
def workshop_gears(draw, module, pressure_angle, max_teeth=80):
    """A gear as a maker chooses it."""
    z = draw(st.integers(9, max_teeth))
    fewest = max(0.0, 1 - z * np.sin(np.radians(pressure_angle)) ** 2 / 2)
    shift = round(draw(between(0.6, 1.2)) * fewest + draw(between(-0.1, 0.15)), 3)
    thinning = round(draw(between(0.0, 0.06)) * module, 3)
    try:
        return gw.Gear(module, z, shift, pressure_angle, thinning=thinning)
    except gw.GearworkError:
        assume(False)


@st.composite
def workshop_pairs(draw, max_teeth=80):
    """A pair as a maker chooses it; it may yet fail a check."""
    module = round(draw(modules(1.5, 12.0)), 2)
    degrees = draw(st.sampled_from([17.5, 20.0, 20.0, 22.5, 25.0]))
    each = workshop_gears(module, degrees, max_teeth)
    pair = gw.GearPair(draw(each), draw(each))
    apart = draw(st.one_of(st.just(0.0), between(0.0, 0.06)))
    return gw.GearPair(pair.pinion, pair.wheel, pair.centre_distance + apart * module)


@st.composite
def running_pairs(draw, max_teeth=80):
    """A pair and a bit that can cut it so that it runs."""
    pair = draw(workshop_pairs(max_teeth))
    bit = gw.Bit(max(0.5, draw(between(0.1, 0.7)) * pair.pinion.module))
    assume(not pair.interferes)
    cut = CutPair(pair, bit)
    assume(cut.pinion.runs and cut.wheel.runs)
    return pair, bit


@st.composite
def sheets(draw):
    """A sheet of the tables, as sold or as measured, or one by its declared figures."""
    if draw(st.booleans()):
        kind = draw(st.sampled_from(sorted(plywood_kinds())))
        sheet = gw.plywood(kind, draw(st.sampled_from(plywood_kinds()[kind])))
        share = draw(st.one_of(st.none(), between(0.86, 1.14)))
        return sheet if share is None else sheet.measured(share * sheet.thickness)
    both = st.tuples(between(5.0, 80.0), between(5.0, 80.0))
    stiff = st.tuples(between(1000.0, 16_000.0), between(1000.0, 16_000.0))
    return gw.plywood_from_strengths(
        "declared sheet",
        draw(between(3.0, 40.0)),
        tension=draw(both),
        compression=draw(both),
        panel_shear=draw(between(2.0, 15.0)),
        modulus=draw(stiff),
        shear_modulus=draw(between(200.0, 1500.0)),
        density=draw(between(350.0, 800.0)),
    )


@st.composite
def panels(draw):
    """A sheet, or a stack of up to five layers of it."""
    sheet = draw(sheets())
    layers = draw(st.lists(between(-180.0, 180.0), max_size=5))
    return gw.Stack(sheet, tuple(layers)) if layers else sheet


@st.composite
def drives(draw):
    """Any drive, in the sizes of a workshop."""
    kind = draw(st.sampled_from(["motor", "crank", "given"]))
    if kind == "crank":
        force = draw(between(20.0, 200.0))
        return HandCrank(force, draw(between(50.0, 500.0)), draw(between(10.0, 90.0)), force + 200)
    torque, speed = draw(between(0.05, 60.0)), draw(between(10.0, 20_000.0))
    if kind == "given":
        return GivenDrive(torque, speed)
    clutch = draw(st.one_of(st.none(), between(0.1, 1.5)))
    return Motor(
        torque, speed, draw(between(0.1, 1.0)), None if clutch is None else clutch * torque
    )


@st.composite
def loads(draw):
    """Any load, in the sizes of a garden."""
    kind = draw(st.sampled_from(["drum", "vehicle", "given"]))
    if kind == "given":
        return GivenLoad(
            draw(between(0.1, 500.0)), draw(between(1.0, 1000.0)), draw(between(1.0, 3.0))
        )
    mass, slope = draw(between(1.0, 500.0)), draw(between(0.0, 45.0))
    rolling, speed = draw(between(0.01, 0.6)), draw(between(0.01, 5.0))
    if kind == "drum":
        sizes = draw(between(20.0, 200.0)), draw(between(2.0, 12.0))
        return RopeDrum(mass, slope, rolling, *sizes, speed, draw(st.integers(1, 5)))
    wheelbase = draw(between(300.0, 2000.0))
    return Vehicle(
        mass,
        draw(between(100.0, 700.0)),
        slope,
        rolling,
        speed,
        tyre_friction=draw(between(0.05, 2.0)),
        wheelbase=wheelbase,
        centre_to_rear=draw(between(0.0, 1.0)) * wheelbase,
        centre_height=draw(between(50.0, 1500.0)),
        track=draw(between(200.0, 1500.0)),
        driven_axle=draw(st.sampled_from(["rear", "front"])),
        driven_share=draw(between(0.3, 1.0)),
    )


@st.composite
def duties(draw):
    """A drive and a load with up to four stages between them."""
    return Duty(draw(drives()), draw(loads()), draw(st.integers(0, 4)))


@st.composite
def shaft_parts(draw):
    """A rod, what clamps a gear on it, and its bearings."""
    rod = draw(between(4.0, 20.0))
    return ShaftParts(
        rod_diameter=rod,
        hub_diameter=rod + draw(between(2.0, 60.0)),
        hub_height=draw(between(0.0, 15.0)),
        seat_diameter=rod + draw(between(5.0, 40.0)),
        bearing_width=draw(between(3.0, 15.0)),
    )


@st.composite
def frames(draw):
    """Plates, gaps and ground."""
    return Frame(
        plate_thickness=draw(between(4.0, 30.0)),
        gap=draw(between(0.0, 25.0)),
        clearance=draw(between(0.0, 5.0)),
        output_height=draw(st.one_of(st.none(), between(1.0, 500.0))),
    )


@st.composite
def trains(draw, max_stages=4):
    """Any train of gears as a maker chooses them."""
    stages = draw(
        st.lists(
            st.builds(Stage, workshop_pairs(), between(3.0, 60.0)), min_size=1, max_size=max_stages
        )
    )
    count = len(stages)
    parts = draw(st.lists(shaft_parts(), min_size=count + 1, max_size=count + 1))
    angles = st.tuples(*[between(0.0, 360.0)] * count)
    arrangement = draw(st.one_of(st.just("folded"), st.just("in line"), angles))
    try:
        frame = replace(draw(frames()), arrangement=arrangement)
        return GearTrain(tuple(stages), tuple(parts), frame)
    except gw.GearworkError:  # shafts on one axis
        assume(False)
