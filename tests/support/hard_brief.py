"""Briefs that ask for too much, by seed, and what must come of each.

A way out that passes when its file is run, or a stated impossibility that trying every train of
the same choices confirms (`brute_force`): plain loops over whole machines, no array of the search.
"""

import dataclasses
import itertools
import tomllib

import numpy as np

import gearwork as gw
from gearwork.errors import GearworkError
from gearwork.machine.design import Design
from gearwork.machine.stage import Stage
from gearwork.spec.solve import spared
from gearwork.spec.spec import Keep, parse_brief
from gearwork.spec.ways import ways_out

KINDS = ("torque", "room", "bit", "rod", "wishes")
THINNINGS = (0.15, 0.3)
"""Of the teeth that are tried one by one, mm."""

MOST = 40
"""Trains of a brief that are tried one by one; of more, as many by chance."""


def hard_text(seed: int, number: int) -> str:
    """Return hard brief `number` of a series; its kind is `number` modulo 5."""
    rng, kind = np.random.default_rng([seed, number]), KINDS[number % len(KINDS)]

    def log(low: float, high: float) -> float:
        return float(f"{np.exp(rng.uniform(np.log(low), np.log(high))):.2g}")

    torque, ratio = log(2, 8), log(2.2, 3.4)
    clutch = 1.35 * torque / ratio
    speed, thread, room, bit = 360.0 / ratio, "M12", "", 3.175
    modules, pinion, wheel, layers = "5, 6", "13, 15", "32, 48", 2
    if kind == "torque":
        torque, clutch = torque * (more := log(4, 25)), clutch * more
    elif kind == "room":
        room = f"[room]\nmax_diameter = {log(60, 150)}\n"
    elif kind == "bit":
        bit, modules = float(rng.choice([4.0, 6.0, 8.0])), "2, 3"
    elif kind == "rod":
        torque, clutch, thread = torque * (more := log(1, 3)), clutch * more, "M8"
    elif rng.random() < 0.5:
        pinion, wheel = "32, 40", "12, 15"
    else:
        speed /= log(4, 12)
        torque *= log(1, 4)
    bearing = {"M8": "608", "M12": "6001"}[thread]
    share = 1.0 if number % 3 == 0 else rng.uniform(0.0, 0.7)
    kept = [name for name in Keep.__annotations__ if rng.random() < share]
    keep = "\n".join(f"{name} = true" for name in kept)
    return f"""title = "hard {seed} {number}, {kind}"
[drive]
kind = "cordless drill"
max_torque = {max(30.0, clutch)}
low_speed = 400.0
high_speed = 1500.0
clutch_torque = {clutch:.3g}
side_force = 10.0
[load]
kind = "given"
torque = {torque:.3g}
speed = {speed:.3g}
[sheet]
kind = "plywood"
wood = "birch"
thickness = {rng.choice([9.0, 12.0])}
[bit]
diameter = {bit}
[shafts]
thread = "{thread}"
grade = "8.8"
bearing_name = "{bearing}"
[service]
running_hours = {log(5, 50)}
[wishes]
stages = [1]
modules = [{modules}]
pinion_teeth = [{pinion}]
wheel_teeth = [{wheel}]
pinion_shifts = [0.0, 0.3]
returned_shares = [0.0]
max_layers = {layers}
[keep]
{keep}
{room}"""


def answered(text: str) -> str:
    """Return in a word how a hard brief ended.

    Raises
    ------
    AssertionError
        If a way out does not pass when it is run, changes what was to be kept, or if a train is
        found by brute force where none was said to be.
    """
    brief = parse_brief(text, "hard")
    try:
        design = gw.solve(brief)
    except GearworkError:
        design = None
    if design is not None and design.report.ok:
        return "holds at once"
    ways = ways_out(brief, design)
    assert len(ways) <= 2
    for way in ways:
        again = gw.solve(parse_brief(way.text, "way"))
        assert again.report.ok, again.report.failed
        assert again.stages == way.design.stages
        kept_as_it_was(text, way.text)
    if ways:
        return f"{len(ways)} ways out, the first of {len(ways[0].changes)} changes"
    found = brute_force(text)
    assert found is None, f"no way out was told, but there is {found!r}"
    return "impossible, and confirmed"


TABLES = {"drive": "drive", "shafts": "shafts", "bit": "bit", "sheet": "sheet", "room": "room",
          "load": "load", "gears": "wishes"}  # fmt: skip


def kept_as_it_was(before: str, after: str) -> None:
    """Assert that what a file says is to be kept was kept."""
    old, new = tomllib.loads(before), tomllib.loads(after)
    for name, kept in old["keep"].items():
        table = TABLES[name]
        assert not kept or old.get(table) == new.get(table), f"{table} was to be kept"


def brute_force(text: str, seed: int = 1) -> Design | None:
    """Return a train of a brief's own choices that holds as wished, tried one by one."""
    brief = parse_brief(text, "brute")
    space, trains = brief.space, []
    counts = (range(low, high + 1) for low, high in (space.pinion_teeth, space.wheel_teeth))
    shifts = {(x, -x * share) for x in space.pinion_shifts for share in space.returned_shares}
    single = itertools.product(
        space.modules, *counts, sorted(shifts), range(1, len(space.panels) + 1), THINNINGS
    )
    gears = [brief, *_other_gear(brief)]
    for m, z1, z2, (x1, x2), layers, thin in single:
        for gear, way in enumerate(gears):
            speed = way.drive.no_load_speed * z1 / z2
            if 0.7 < speed / brief.load.speed < 2.5:  # a drill keeps half of its speed and more
                trains.append((gear, m, z1, z2, x1, x2, layers, thin))
    if len(trains) > MOST:
        order = np.random.default_rng(seed).permutation(len(trains))[:MOST]
        trains = [trains[i] for i in sorted(order)]
    for gear, m, z1, z2, x1, x2, layers, thin in trains:
        stage = Stage.of_sheet(
            brief.gears.sheet.thickness, module=m, pinion_teeth=z1, wheel_teeth=z2,
            pinion_shift=x1, wheel_shift=x2, thinning=thin, layers=layers,
        )  # fmt: skip
        try:
            made = Design(gears[gear].given([stage]))
            if spared(made):
                return made
        except GearworkError:
            continue
    return None


def _other_gear(brief):
    other = getattr(brief.drive, "other_gear", None)
    return [dataclasses.replace(brief, drive=other)] if other else []
