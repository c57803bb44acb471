"""Random wishes for a machine whose train is searched, and what must hold of every answer."""

import re

import numpy as np

import gearwork as gw
from gearwork.spec.spec import parse_brief

MU = {"dry": 0.40, "waxed": 0.20}


def brief_text(seed: int, number: int) -> str:
    """Return design file `number` of a series; most ask for what can be, some for too much."""
    rng = np.random.default_rng([seed, number])

    def log(low: float, high: float) -> float:
        return float(f"{np.exp(rng.uniform(np.log(low), np.log(high))):.3g}")

    def pick(*choices: str) -> str:
        return choices[int(rng.integers(len(choices)))]

    stages = pick("1", "2", "1, 2")
    ratio = log(1.6, 4.5) if stages == "1" else log(3.5, 16)
    kind = pick("cordless drill", "cordless drill", "hand crank", "given")
    free, power, most = {  # speed at the load, rpm, W, greatest torque, N·m
        "cordless drill": (low := log(200, 500), 0.022 * (torque := log(5, 60)) * low, torque),
        "hand crank": (40.0, 25.0, 60.0),
        "given": (speed := log(30, 400), 0.1 * speed * (given := log(0.2, 3)), given),
    }[kind]
    turning = 0.85 * free / ratio
    share = log(0.02, 0.3) * float(pick("1", "1", "1", "4"))  # of what the drive gives
    wanted = share * power / (turning * np.pi / 30)  # torque, N·m
    clutch = min(wanted / ratio * log(1.4, 2.5), most)
    drive = {
        "cordless drill": (
            f"max_torque = {torque}\nlow_speed = {low}\nhigh_speed = {log(2, 4) * low}\n"
            f"clutch_torque = {clutch:.3g}\nside_force = 10.0"
        ),
        "hand crank": f"force = {log(30, 100)}\ncrank_length = {log(50, 150)}\ncadence = 40.0",
        "given": f"torque = {given}\nspeed = {speed}",
    }[kind]
    load = pick("vehicle", "rope drum", "given")
    if load == "vehicle":
        diameter, slope = log(150, 350), float(pick("0", "1", "4"))
        mass = 2000.0 * wanted / diameter / (9.81 * (0.04 + np.sin(np.radians(slope))))
        text = (
            f'surface = "firm path"\nmass = {min(max(mass, 5.0), 120.0):.3g}\n'
            f"wheel_diameter = {diameter}\nslope = {slope}\n"
            f"travel_speed = {turning * np.pi * diameter / 6e4:.3g}\nwheelbase = 800.0\n"
            "centre_to_rear = 350.0\ncentre_height = 350.0\ntrack = 600.0\n"
            f"driven_share = {pick('0.5', '1.0')}"
        )
    elif load == "rope drum":
        diameter, slope = log(40, 120), float(pick("2", "10", "25"))
        mass = 2000.0 * wanted / diameter / (9.81 * (0.06 + np.sin(np.radians(slope))))
        text = (
            f'surface = "grass"\nmass = {min(max(mass, 1.0), 100.0):.3g}\nslope = {slope}\n'
            f"drum_diameter = {diameter}\nrope_diameter = 6.0\nlayers = {pick('1', '2', '3')}\n"
            f"travel_speed = {turning * np.pi * diameter / 6e4:.3g}"
        )
    else:
        text = f"torque = {wanted:.3g}\nspeed = {turning:.3g}"
    thread, bearing = {"M8": ("M8", "608"), "M12": ("M12", "6001")}[pick("M8", "M12", "M12")]
    room = f"\n[room]\nmax_diameter = {log(120, 400)}\n" if rng.random() < 0.3 else ""
    return f"""title = "wish {seed} {number}"
[drive]
kind = "{kind}"
{drive}
[load]
kind = "{load}"
{text}
[sheet]
kind = "plywood"
wood = "birch"
thickness = {pick("12.0", "18.0")}
[bit]
diameter = {pick("2.0", "3.175")}
[shafts]
thread = "{thread}"
grade = "8.8"
bearing_name = "{bearing}"
load_overhang = 40.0
[service]
running_hours = {log(5, 200)}
flanks = "{pick("dry", "waxed")}"
[wishes]
stages = [{stages}]
modules = [{pick("4, 6", "5, 8", "6")}]
pinion_teeth = [10, 14]
wheel_teeth = [20, 50]
{room}"""


def answered(text: str) -> str:
    """Return in a word how a brief was answered.

    Raises
    ------
    AssertionError
        If its load moves faster than the band, a rider above the limit, the answer to what cannot
        be names nothing that must yield, with a figure, or a machine that holds does not where it
        is solved again, or where its sheet is 3 % thinner.
    """
    brief = parse_brief(text, "wish")
    try:
        design = gw.solve(brief)
    except gw.GearworkError as error:
        told = str(error)
        assert re.search(
            r"speed|slow|fast|load|pull|slope|room|diameter|teeth|thick|stages|layers|\[drive\]",
            told,
        ), told
        assert re.search(r"\d", told), told
        return "refused: " + re.sub(r"-?\d[\d.e+-]*", "#", told)[:100]
    load, line = design.duty.load, design.duty.drive.line
    friction = MU[re.search(r'flanks = "(\w+)"', text).group(1)]
    kept = 1.0
    for stage in design.stages:
        pair = stage.pair
        base = [g.module * g.teeth * np.cos(np.radians(20)) / 2 for g in (pair.pinion, pair.wheel)]
        along = pair.centre_distance * np.sin(np.radians(pair.working_pressure_angle))
        tips = [
            np.sqrt((g.tip_diameter / 2) ** 2 - b**2)
            for g, b in zip((pair.pinion, pair.wheel), base, strict=True)
        ]
        pitch = along * np.array(base) / sum(base)
        e1, e2 = (np.array(tips) - pitch) / (2 * np.pi * base[0] / pair.pinion.teeth)
        z1, z2 = pair.pinion.teeth, pair.wheel.teeth
        loss = np.pi * (1 / z1 + 1 / z2) * (1 - e1 - e2 + e1**2 + e2**2)
        kept *= 0.99 * (1 - friction * loss)
    ratio = design.train.ratio
    for torque in (load.min_running_torque, load.running_torque):
        rpm = float(line.speed_at(torque / kept / ratio)) / ratio
        share = torque * rpm * np.pi / 30 / load.wanted_power
        assert share <= 1.25 * (1 + 1e-6), f"{share} times the wanted speed"
        if design.report.ok:
            assert share >= 0.8 * (1 - 1e-6), f"{share} times the wanted speed"
    if load.riding_limit is not None:
        pace = line.no_load_speed / ratio * np.pi / 30 * load.pull_diameter / 2000
        assert pace <= load.riding_limit * (1 + 1e-6), f"riders at {pace} m/s"
    if design.report.ok:
        sheet, own = design.brief.gears.sheet, design.brief.text
        thin = own.replace("[sheet]", f"[sheet]\nmeasured_thickness = {0.97 * sheet.thickness:.4g}")
        for what, again in (("solved again", own), ("measured 3 % thinner", thin)):
            other = gw.solve(parse_brief(again, "again"))
            failed = ", ".join(check.name for check in other.report.failed)
            assert other.report.ok, f"{what} it fails: {failed}"
            assert what[0] == "m" or other.stages == design.stages
    return "all checks hold" if design.report.ok else "a check fails"
