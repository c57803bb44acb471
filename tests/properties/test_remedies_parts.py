"""What the remedies of hubs and shafts tell is enough, or they say that nothing is."""

import re
from dataclasses import replace
from functools import partial

from hypothesis import assume, given
from hypothesis import strategies as st
from remedies import remembered, told
from strategies import between, decades, one_in, panels, sheets

import gearwork as gw
from gearwork.checks.hub.fixing import (
    bolted,
    bolted_to_gear,
    bonded,
    clamped,
    glued_on_rod,
    glued_to_gear,
    pocketed,
)
from gearwork.checks.hub.hub import check_hub
from gearwork.checks.shaft.beam import Shaft, ShaftLoad, mesh_load
from gearwork.checks.shaft.shaft import check_shaft
from gearwork.geometry.features import RELIEF
from gearwork.stock.hardware import bearing, bearings, rod, threads


@st.composite
def rods(draw):
    grades = st.sampled_from(["A2-70", "A2-50", "4.6", "4.8", "8.8"])
    return rod(draw(st.sampled_from(threads())), draw(grades))


@st.composite
def fixings(draw, bit):
    on = draw(rods())
    bolt = rod(draw(st.sampled_from(threads())), "4.6")
    circle = st.tuples(st.integers(2, 12), between(10.0, 200.0))
    partner = draw(sheets())
    make = draw(
        st.sampled_from(
            [
                lambda: clamped(on),
                lambda: clamped(on, "wide washer", thread_lock=True),
                lambda: bonded(on),
                lambda: bonded(on, "washer"),
                lambda: glued_on_rod(on),
                lambda: pocketed(on, draw(between(1.0, 10.0)), RELIEF * bit / 2),
                lambda: bolted(on, bolt, *draw(circle)),
                lambda: bolted_to_gear(on, bolt, *draw(circle), partner),
                lambda: glued_to_gear(on, draw(between(20.0, 100.0)), partner),
            ]
        )
    )
    try:
        return make()
    except gw.GearworkError:
        assume(False)


def after(words, text):
    """The name of a fixing behind these words."""
    found = re.search(words + r": (.*?)\.(?: It holds|$)", text)
    return found and found[1]


@one_in(2)
@given(st.data(), panels(), decades(0.01, 200.0), decades(8.0, 400.0), between(0.5, 8.0))
def test_remedies_of_a_hub_are_enough_or_say_that_nothing_is(data, panel, torque, room, bit):
    fixing = data.draw(fixings(bit))

    def judged(fixing, torque, room):
        return check_hub(fixing.rate(panel), torque, room_diameter=room, bit_diameter=bit)

    def made(name):
        return remembered(name, fixing.rod, RELIEF * bit / 2, fixing.partner, panel)

    for check in judged(fixing, torque, room).failed:
        text = check.remedy
        depth, circle = told(r"at most # mm deep", text), told(r"bolt circle from # to # mm", text)
        instead, strongest = after("Take instead", text), after("that fits is", text)
        wider = told(r"With # mm take", text)
        assert depth or circle or instead or "No fixing of the table" in text, check
        if depth:
            shallow = [replace(link, depth=depth[0]) for link in fixing.joints[:1]]
            again = replace(fixing, joints=(*shallow, *fixing.joints[1:]))
            assert judged(again, torque, room)[check.name].ok, check
        for end in circle or ():
            links = [replace(link, circle_diameter=end) for link in fixing.joints[:1]]
            again = replace(fixing, joints=(*links, *fixing.joints[1:]))
            assert judged(again, torque, room)[check.name].ok, check
        if instead:
            assert judged(made(instead), torque, room).ok, check
        if strongest:
            (held,) = told(r"It holds # N·m: lower", text)
            assert judged(made(strongest), held, room).ok, check
        if wider:
            assert judged(made(after("mm take", text)), torque, wider[0]).ok, check


@st.composite
def shafts(draw):
    ball = bearing(draw(st.sampled_from(bearings())))
    thin = [rod(name) for name in threads() if rod(name).diameter <= ball.bore]
    assume(thin)
    span = draw(between(20.0, 200.0))
    torque = draw(decades(0.05, 60.0))
    loads = [
        mesh_load(
            name,
            draw(between(-0.3, 1.3)) * span,
            sign * torque,
            draw(between(30.0, 200.0)),
            draw(between(15.0, 30.0)),
            mate_direction=draw(between(0.0, 360.0)),
            face_width=draw(between(6.0, 60.0)),
        )
        for name, sign in (("wheel 1", 1), ("pinion 2", -1))
    ]
    if draw(st.booleans()):
        loads[1] = ShaftLoad("drive", -20.0, (0.0, 0.0), -torque)
    grade = draw(st.sampled_from(["A2-70", "4.8", "8.8"]))
    return Shaft(rod(draw(st.sampled_from(thin)).thread, grade), ball, (0.0, span), tuple(loads))


def scaled(shaft, share):
    loads = (
        replace(
            load,
            force=(load.force[0] * share, load.force[1] * share),
            torque=load.torque * share,
        )
        for load in shaft.loads
    )
    return replace(shaft, loads=tuple(loads))


def closer(shaft, share):
    loads = tuple(replace(load, position=load.position * share) for load in shaft.loads)
    span = shaft.bearing_positions[1] * share
    return replace(shaft, bearing_positions=(0.0, span), loads=loads)


def ways(shaft, plate, check):
    """Changes of the shaft and of its conditions, one for each way out that is told."""
    own = shaft.bearing
    for way in check.remedy.split(", or "):
        words = way.lower()
        if new := told(r"take an m# rod", words):
            ball = bearing(re.search(r"with (\S+) bearings", way)[1])
            thicker = rod(f"M{new[0]:g}", shaft.rod.grade.name)
            yield partial(replace, rod=thicker, bearing=ball), {}
        elif new := told(r"to # % of their distances", words):
            yield partial(closer, share=new[0] / 100), {}
        elif new := re.search(r"take (\d+) bearings", words):
            yield partial(replace, bearing=bearing(new[1])), {}
        elif new := told(r"lower the load to # %", words):
            yield partial(scaled, share=new[0] / 100), {}
        elif new := told(r"seat the bearing # mm deep", words):
            yield replace, {"plate": replace(plate, thickness=new[0])}
        elif new := told(r"accept # h", words):
            yield replace, {"hours": new[0]}
        elif new := told(r"bearing with c of at least # n", words):
            yield partial(replace, bearing=replace(own, dynamic_rating=new[0])), {}
        elif new := told(r"bearing with c0 of at least # n", words):
            yield partial(replace, bearing=replace(own, static_rating=new[0])), {}
        elif new := told(r"steel ring of at least # mm", words):
            yield partial(replace, bearing=replace(own, outer_diameter=new[0])), {}
        else:
            raise AssertionError(f"nobody knows how to {way}")


@one_in(2)
@given(
    shafts(), sheets(), between(1.0, 3000.0), decades(1.0, 1e5), between(1.0, 4.0),
    st.one_of(st.none(), between(0.1, 5.0)),
)  # fmt: skip
def test_remedies_of_a_shaft_are_enough(shaft, plate, speed, hours, peak, back):
    shocks = [] if back is None else [(scaled(shaft, -back), 1000.0)]
    given_ = {"speed": speed, "plate": plate, "hours": hours, "peak_factor": peak}
    for check in check_shaft(shaft, shocks=shocks, **given_).failed:
        for change, other in ways(shaft, plate, check):
            after = [(change(one), often) for one, often in shocks]
            again = check_shaft(change(shaft), shocks=after, **(given_ | other))[check.name]
            assert again.ok, f"{check}\n{again}"
