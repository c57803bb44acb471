"""Briefs that ask for too much, by seed, and what must come of each.

A way out that passes when its file is run, or a stated impossibility that trying all that may be
changed confirms (`brute_force`).
"""

import tomllib

import numpy as np
from brute_force import bounds_leave, confirm

import gearwork as gw
from gearwork.errors import GearworkError
from gearwork.spec.spec import Keep, parse_brief
from gearwork.spec.ways import ways_out

KINDS = ("torque", "room", "bit", "rod", "wishes")
HARDER = (1.0, 1.5, 2.5, 5.0)
"""By how much more is asked until a brief does not hold at once."""


def hard_text(seed: int, number: int) -> str:
    """Return hard brief `number` of a series, which fails as it is."""
    texts = (_drawn(seed, number, harder) for harder in HARDER)
    return next(text for text in texts if not _holds(text))


def _holds(text: str) -> bool:
    try:
        return gw.solve(parse_brief(text, "hard")).report.ok
    except GearworkError:
        return False


def _drawn(seed: int, number: int, harder: float) -> str:
    """Return a brief that asks for much; its kind is `number` modulo 5."""
    rng, kind = np.random.default_rng([seed, number]), KINDS[number % len(KINDS)]

    def log(low: float, high: float) -> float:
        return float(f"{np.exp(rng.uniform(np.log(low), np.log(high))):.2g}")

    torque, ratio = log(2, 8), log(2.2, 3.4)
    clutch = 1.35 * torque / ratio
    torque, clutch = torque * harder, clutch * harder
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
    share = 1.0 if number % 6 == 0 else rng.uniform(0.0, 0.7)
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


def answered(text: str, seconds: float = 180.0) -> str:
    """Return in a word how a hard brief ended; brute force may take so much time.

    Raises
    ------
    AssertionError
        If a way out does not pass when it is run, changes what was to be kept and does not say so,
        or if brute force finds a machine where none was said to be, or strikes out one that is.
    """
    brief = parse_brief(text, "hard")
    try:
        design = gw.solve(brief)
        assert not design.report.ok, "it holds at once"
    except GearworkError:
        design = None
    ways = ways_out(brief, design)
    assert len(ways) <= 2
    for way in ways:
        again = gw.solve(parse_brief(way.text, "way"))
        assert again.report.ok, again.report.failed
        assert again.stages == way.design.stages
        assert again.sheets  # all of it can be laid out and cut
        assert bounds_leave(again), "brute force would strike out a machine that holds"
        kept_as_it_was(text, way.text, way.gives_up.split(", "))
    if ways and not ways[0].gives_up:
        return f"{len(ways)} ways out, the first of {len(ways[0].changes)} changes"
    told = confirm(text, seconds)
    assert told.found is None, f"no way out was told, but there is {told}"
    yields = "kept things must yield" if ways else "nothing helps"
    return f"impossible, {yields}; {'confirmed' if told.whole else 'not all tried in the time'}"


TABLES = {"drive": "drive", "shafts": "shafts", "bit": "bit", "sheet": "sheet", "room": "room",
          "load": "load", "gears": "wishes"}  # fmt: skip


def kept_as_it_was(before: str, after: str, given_up: list[str]) -> None:
    """Assert that what a file says is to be kept was kept, but for what is told."""
    old, new = tomllib.loads(before), tomllib.loads(after)
    for name, kept in old["keep"].items():
        table = TABLES[name]
        assert not kept or name in given_up or old.get(table) == new.get(table), (
            f"{table} was to be kept"
        )
