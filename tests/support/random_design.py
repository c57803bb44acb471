"""Random design files over the whole domain, and the rules every one of them must keep."""

import re
import tempfile
import warnings
from collections import Counter
from typing import Any, get_args

import numpy as np
import shapely
from solids import faults

import gearwork as gw
from gearwork.checks.hub.coupling import ShaftForm
from gearwork.checks.hub.fixing import FixingName
from gearwork.geometry.outline import Outline
from gearwork.geometry.part import Part
from gearwork.output.write import write_folder
from gearwork.spec.spec import DRIVES, parse_brief
from gearwork.stock.hardware import bearings, threads

SURFACES = (
    "asphalt", "wet asphalt", "concrete", "firm path", "gravel", "soil", "grass", "sand"
)  # fmt: skip
GRADES = ("A2-70", "A2-50", "4.6", "4.8", "8.8")
WOODS = {"birch": (4, 6.5, 9, 12, 15, 18, 21, 24), "thin-veneer spruce": (9, 12, 18)}

SHORTEST = 1e-4
"""A line or arc shorter than this is a fault, mm: no control of a router keeps it apart."""

ROUNDING = 1e-6
"""What arithmetic may take from the tightest corner, mm."""


def design_text(seed: int, number: int) -> str:
    """Return design file `number` of a series."""
    draw = _Draw(np.random.default_rng([seed, number]))
    drive = draw.drive()
    stages = [draw.stage() for _ in range(draw.pick((1, 1, 2, 2, 2, 3)))]
    frame = draw.frame()
    if draw.chance(0.1):  # input and output on one axis: two pairs alike
        stages, frame["arrangement"] = [stages[0]] * 2, "coaxial"
    tables = [
        ("drive", drive),
        ("load", draw.load() if draw.chance(0.5) else draw.matching_load(drive, stages)),
        ("sheet", draw.sheet()),
        ("bit", draw.bit(min(stage["module"] for stage in stages))),
        ("stock", {"width": draw.log(400, 3000), "height": draw.log(300, 2000)}),
        ("shafts", draw.shafts()),
        ("frame", frame),
        ("service", draw.service()),
        ("cutting", {"bit_paths": draw.chance(0.3)}),
    ]
    tables += [("[stage]", stage) for stage in stages]
    drive |= draw.motor_shaft() if drive["kind"] in ("motor", "given") else {}
    if draw.chance(0.3):
        dict(tables)["shafts"]["fixing"] = draw.pick(get_args(FixingName))
    blocks = [f'title = "random {seed} {number}"']
    for name, values in tables:
        keys = (f"{k} = {_toml(v)}" for k, v in values.items() if v is not None)
        blocks.append("\n".join([f"[{name}]", *keys]))
    return "\n\n".join(blocks) + "\n"


ROLLED = ("backlash", "tip clearance", "contact ratio", "transmission error")
"""What two outlines turned against each other are judged by, beside being those of the design."""


def judge(text: str, *, write: bool = False) -> str:
    """Take a design file end to end; return what became of it in a few words.

    Parameters
    ----------
    text : str
        Design file.
    write : bool
        Also write all files into a folder of their own and read them back.

    Raises
    ------
    Exception
        Any but `GearworkError`, every warning, and a refusal to write what finds room on sheets: a
        fault of the program.
    AssertionError
        If an outline breaks a rule, solids on the rods overlap, slide or do not add up, or files
        just written are not those of the design.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            design = gw.solve(parse_brief(text, "random"))
            report = design.report
            str(report)
            found = faults(design)
            parts = design.parts
        except gw.GearworkError as error:
            return f"refused: {reason(error)}"
        assert not found, found
        for part in parts:
            check_part(part, design.brief.bit)
        try:
            _ = design.sheets
        except gw.GearworkError as error:
            return f"designed, not written: {reason(error)}"
        if write:
            with tempfile.TemporaryDirectory() as folder:
                write_folder(design, folder)
                # Files hold what was designed; of a design that fails, turned outlines tell so.
                unsound = [
                    check.name
                    for check in gw.check_files(folder).failed
                    if report.ok or (check.kind == "file" and check.judged not in ROLLED)
                ]
            assert not unsound, unsound
    return "all checks hold" if report.ok else "designed, a check fails"


def reason(error: Exception) -> str:
    """Return the text of an error without its numbers, so that like errors count together."""
    lines = str(error).splitlines()
    text = lines[min(1, len(lines) - 1)].removeprefix("- ")
    text = re.sub(r"\[(stage \d|\w+)\] |random: |Gear\(.*?\): ", "", text)
    text = re.sub(r"-?\d+(\.\d+)?(e[-+]?\d+)?", "#", text)
    return re.sub(r"(pinion|wheel|shaft|stage) #( grain #)?( (lower|upper) face)?", r"\1", text)[
        :90
    ]


def check_part(part: Part, bit: gw.Bit) -> None:
    """Assert that every outline of a part can be cut."""
    check_outline(f"edge of {part.name}", part.outer, bit.cut_diameter)
    for cut in part.cuts:
        drilled = cut.operation in ("drilled hole", "mark")
        width = 0.0 if drilled else bit.cut_diameter
        check_outline(f"{cut.operation} of {part.name}", cut.outline, width, turned=True)


def check_outline(name: str, outline: Outline, bit: float, *, turned: bool = False) -> None:
    """Assert the rules of a closed path; `turned`: the wood is outside, the bit works inside."""
    assert np.hypot(*outline.chords.T).min() > SHORTEST, f"{name}: a piece of no length"
    points = outline.points()
    assert outline.area > 0, f"{name}: runs clockwise"
    polygon = shapely.Polygon(points)
    assert polygon.is_valid, f"{name}: {shapely.is_valid_reason(polygon)}"
    tightest = _tightest(outline, -1.0 if turned else 1.0)
    assert tightest >= bit - ROUNDING, f"{name}: a corner of {tightest:.6f} mm for a bit of {bit}"


def _tightest(outline: Outline, side: float) -> float:
    """Diameter of the tightest corner the bit must reach into, mm; 0 where it is sharp."""
    if (side * outline.corner_angles() < -1.0).any():
        return 0.0
    hollow = side * outline.bulges < 0
    return float(2 * outline.radii[hollow].min(initial=np.inf))


def summary(results: list[str]) -> str:
    """Return how many designs ended how, most frequent first."""
    counted = Counter(results).most_common()
    return "\n".join(f"{100 * n / len(results):6.2f} %  {n:6d}  {what}" for what, n in counted)


def _toml(value: object) -> str:
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(_toml, value)) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{k} = {_toml(v)}" for k, v in value.items()) + "}"
    return repr(value)


class _Draw:
    """Values drawn at random, mostly sensible, now and then extreme."""

    def __init__(self, random: np.random.Generator) -> None:
        self.random = random

    def pick(self, choices: Any) -> Any:
        return choices[int(self.random.integers(len(choices)))]

    def chance(self, share: float) -> bool:
        return bool(self.random.random() < share)

    def log(self, low: float, high: float) -> float:
        value = float(np.exp(self.random.uniform(np.log(low), np.log(high))))
        return float(f"{value:.4g}") if self.chance(0.7) else value

    def even(self, low: float, high: float) -> float:
        value = float(self.random.uniform(low, high))
        return round(value, 2) if self.chance(0.7) else value

    def whole(self, low: int, high: int) -> int:
        return int(self.random.integers(low, high + 1))

    def drive(self) -> dict[str, Any]:
        kind = self.pick(("cordless drill", "motor", "hand crank", "given"))
        if kind == "cordless drill":
            low = self.log(100, 800)
            table = {
                "max_torque": self.log(5, 150),
                "low_speed": low,
                "high_speed": low * self.even(1.0, 5.0),
                "gear": self.pick(("low", "high")),
            }
            if self.chance(0.5):
                table["clutch_torque"] = self.log(0.3, 20)
        elif kind == "motor":
            table = {"stall_torque": self.log(0.02, 60), "no_load_speed": self.log(5, 20000)}
            if self.chance(0.3):
                table |= {"sustained_share": self.even(0.05, 1.0), "inertia": self.log(1e-6, 0.1)}
        elif kind == "hand crank":
            force = self.log(5, 200)
            table = {
                "force": force, "crank_length": self.log(50, 500), "cadence": self.log(5, 100),
                "peak_force": force * self.even(1.0, 5.0),
            }  # fmt: skip
        else:
            table = {"torque": self.log(0.01, 100), "speed": self.log(1, 10000)}
        return {"kind": kind, **table}

    def motor_shaft(self) -> dict[str, Any]:
        if self.chance(0.3):
            return {}
        return {"shaft_diameter": self.even(5, 25), "shaft_end": self.pick(get_args(ShaftForm))}

    def load(self) -> dict[str, Any]:
        kind = self.pick(("rope drum", "vehicle", "given"))
        if kind == "given":
            table: dict[str, Any] = {"torque": self.log(0.05, 300), "speed": self.log(0.5, 2000)}
            if self.chance(0.3):
                table |= {
                    "start_factor": self.even(1.0, 4.0),
                    "moving_inertia": self.log(1e-4, 10),
                    "loads_both_flanks": self.chance(0.5),
                }
            return {"kind": kind, **table}
        table = {
            "mass": self.log(0.5, 300),
            "slope": self.pick((0.0, self.even(0.0, 45.0))),
            "travel_speed": self.log(0.01, 3),
        }
        if self.chance(0.5):
            table["surface"] = self.pick(SURFACES)
        else:
            table["rolling_resistance"] = self.log(0.005, 0.5)
            if kind == "vehicle":
                table["tyre_friction"] = self.even(0.1, 1.2)
        if kind == "rope drum":
            table |= {
                "drum_diameter": self.log(10, 400),
                "rope_diameter": self.log(1, 20),
                "layers": self.whole(1, 6),
            }
        else:
            base = self.log(200, 2000)
            table |= {
                "wheel_diameter": self.log(50, 700), "wheelbase": base,
                "centre_to_rear": base * self.even(0.0, 1.0), "centre_height": self.log(50, 1000),
                "track": self.log(150, 1500), "driven_axle": self.pick(("rear", "front")),
                "driven_share": self.pick((0.5, 1.0)),
            }  # fmt: skip
        return {"kind": kind, **table}

    def matching_load(self, drive: dict[str, Any], stages: list[dict[str, Any]]) -> dict[str, Any]:
        """Return a load the drive can move, so that checks may hold."""
        kind = drive["kind"]
        mover = DRIVES[kind](**{name: value for name, value in drive.items() if name != "kind"})
        ratio = float(np.prod([s["wheel_teeth"] / s["pinion_teeth"] for s in stages]))
        return {
            "kind": "given",
            "torque": mover.sustained_torque * ratio * self.even(0.2, 0.9),
            "speed": mover.line.no_load_speed / ratio * self.even(0.2, 0.8),
        }

    def sheet(self) -> dict[str, Any]:
        angles = [self.even(-90, 180) for _ in range(self.whole(1, 4))]
        angles = self.pick(([0, 45], [0], [0, 90], angles))
        if self.chance(0.8):
            wood = self.pick(tuple(WOODS))
            thickness = self.pick(WOODS[wood])
            table = {"kind": "plywood", "wood": wood, "thickness": thickness}
            if self.chance(0.3):
                table["measured_thickness"] = thickness * self.even(0.94, 1.03)
        else:
            along = self.log(10, 80)
            table = {
                "kind": "declared", "name": "board", "thickness": self.log(3, 40),
                "tension": [along, along * self.even(0.2, 1.5)],
                "compression": [self.log(8, 60), self.log(8, 60)],
                "panel_shear": self.log(2, 15), "modulus": [self.log(2e3, 2e4), self.log(2e3, 2e4)],
                "shear_modulus": self.log(200, 1500), "density": self.log(300, 900),
            }  # fmt: skip
        return {**table, "layer_angles": angles}

    def bit(self, module: float) -> dict[str, Any]:
        sizes = [d for d in (1.0, 1.5, 2.0, 3.0, 3.175, 4.0, 6.0) if d < 0.8 * module] or [1.0]
        size = self.pick(sizes) if self.chance(0.8) else self.log(0.5, 25)
        measured = {"measured_diameter": size * self.even(0.95, 1.05)} if self.chance(0.3) else {}
        return {"diameter": size, **measured}

    def shafts(self) -> dict[str, Any]:
        matching = {"M8": "608", "M10": "6000", "M12": "6001"}
        thread = self.pick(threads())
        seat = matching.get(thread) if self.chance(0.8) else None
        return {
            "thread": thread,
            "grade": self.pick(GRADES),
            "bearing_name": seat if seat in bearings() else self.pick(bearings()),
            "free_end": self.even(0, 150),
        }

    def frame(self) -> dict[str, Any]:
        return {
            "plate_thickness": self.pick((9.0, *(12.0,) * 4, *(18.0,) * 5)),
            "arrangement": self.pick((None, "folded", "in line")),
            "clearance": self.even(0.5, 10.0),
            "fit": self.pick((0.0, 0.1, self.even(0.0, 0.5))),
        }

    def service(self) -> dict[str, Any]:
        return {
            "service_class": self.whole(1, 3),
            "application_factor": self.even(1.0, 3.0),
            "running_hours": self.log(0.1, 1e5),
            "loads_both_flanks": self.chance(0.5),
        }

    def stage(self) -> dict[str, Any]:
        wild = self.chance(0.15)
        module = self.log(0.5, 30) if wild else self.log(2.5, 10)
        table = {
            "module": module,
            "pinion_teeth": self.whole(5, 60) if wild else self.whole(11, 25),
            "wheel_teeth": self.whole(5, 300) if wild else self.whole(12, 80),
            "pinion_shift": self.even(-1.0, 1.2) if wild else self.even(0.1, 0.5),
            "wheel_shift": self.even(-1.0, 1.2) if wild else self.even(-0.3, 0.4),
            "pressure_angle": self.pick((20.0, 20.0, 25.0, self.even(14.5, 30.0))),
            "thinning": module * self.even(0.0, 0.3) if wild else self.log(0.02, 0.6),
            "layers": self.whole(1, 12) if wild else self.whole(1, 4),
        }
        if self.chance(0.1):
            between = module * (table["pinion_teeth"] + table["wheel_teeth"]) / 2
            table["centre_distance"] = between + module * self.even(-0.3, 1.2)
        if self.chance(0.2):
            root = module * (table["wheel_teeth"] - 2.5)
            table["windows"] = {
                "count": self.whole(3, 8), "hub_diameter": root * self.even(0.1, 0.6),
                "rim_thickness": module * self.even(1.0, 6.0),
                "spoke_width": root * self.even(0.03, 0.2), "corner_diameter": self.log(2, 20),
            }  # fmt: skip
        return table
