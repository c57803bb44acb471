"""Deciding lines changed by hand, one at a time, on a copy: each must be caught by its test.

    python tests/benchmarks/mutations.py        # all of them; or the numbers of some

Tests named here do not compare the committed sample.
"""

import subprocess
import sys
import tempfile
from pathlib import Path
from shutil import copytree, ignore_patterns

ROOT = Path(__file__).parents[2]
LOADS, FRAME = "wiring/test_governing_loads.py", "machine/test_frame_check.py"
DESIGN, CASES = "machine/design.py", "checks/tooth/load_case.py"
EVENTS, CHECKED = "machine/events.py", "machine/frame_check.py"

MUTATIONS = (
    # file, what stands there, what is put in its place, test that catches it
    # which load, which event, which case
    (DESIGN, '"braking": [-given.back]', '"braking": [given.back]', LOADS),
    (DESIGN, "[sense * given.stall for", "[sense * given.starting for", LOADS),
    (DESIGN, "senses += [-self.torques.back] if self._brakes else []", "senses += []", LOADS),
    ("checks/tooth/load_case.py", "(1.0, -1.0) if self.loads_both_flanks",
     "(1.0,) if self.loads_both_flanks", "wiring/test_overhung_shafts.py"),
    ("machine/vehicle.py", "bump * side, not running", "bump * side, False",
     "wiring/test_overhung_shafts.py"),
    ("machine/brief.py", "output_height = axle\n", "output_height = None\n",
     "machine/test_brief.py"),
    ("machine/setting.py", "mesh.root_reserve * drive", "1e9 * drive",
     "output/jobsheet/test_papers_setting.py"),
    ("machine/setting.py", "np.maximum(torques.stall, torques.back) if back",
     "torques.stall if back", "output/jobsheet/test_papers_setting.py"),
    (DESIGN, "attached(drive, before)", "attached(drive, 0.0)", "wiring/test_overhung_shafts.py"),
    (DESIGN, "attached(load, after, running)", "attached(load, 0.0, running)", LOADS),
    (DESIGN, "attached(load, after, running)", "attached(load, after, True)",
     "wiring/test_overhung_shafts.py"),
    (DESIGN, "*(partial(self._end_report, end) for end in self.end_fixings),", "", LOADS),
    (DESIGN, "if self.brief.cradle.body_diameter else []),", "if False else []),",
     "machine/test_cradle.py"),
    (DESIGN, "[partial(self._coupling_report, self.coupling)] if self.coupling",
     "[partial(self._coupling_report, self.coupling)] if False", "machine/test_design.py"),
    (DESIGN, "hub_share(gear) * float(self.torques.max[gear.shaft])",
     "hub_share(gear) * float(self.torques.running[gear.shaft])", LOADS),
    (DESIGN, "JointUse.of(self.service, self.duty.ridden)", "JointUse.of(self.service, False)",
     LOADS),
    (DESIGN, "partial(check_room, self.brief.stages, self.brief.room),", "",
     "machine/test_remedies.py"),
    (DESIGN, "*(partial(self._tolerance_report, i) for i in stages),", "", LOADS),
    ("machine/gear_set.py", "2000.0 * max(case.torque", "2000.0 * min(case.torque",
     "machine/test_slide.py"),
    ("machine/gear_set.py", "accepted=given.accepted_chance,", "", LOADS),
    ("machine/duty.py", "(self.starting_efficiency * self.drive.starting_torque)",
     "(self.efficiency * self.drive.starting_torque)", LOADS),
    ("machine/duty.py", "(self.efficiency * self.drive.sustained_torque)",
     "(self.efficiency * self.drive.starting_torque)", "machine/test_duty.py"),
    ("machine/duty.py", "load.checks(ratio * drive.max_torque)",
     "load.checks(drive.max_torque)", "machine/test_duty.py"),
    # which factor
    (CASES, 'return 1.0 if self.name in ("stall", "braking") else self.service.application_factor',
     "return 1.0", LOADS),
    (CASES, 'return "wheel" if self.name == "braking" else "pinion"', 'return "pinion"',
     "checks/tooth/test_friction.py"),
    (CASES, "return -1.0 if both else 0.0", "return 0.0", LOADS),
    (CASES, "return fatigue.GRAVE if self.grave else 1.0", "return 1.0",
     "checks/tooth/test_strength.py"),
    (CASES, "k_mod(self.service.service_class, self.duration)", "k_mod(1, self.duration)", LOADS),
    (CASES, "max(often * self.running_hours, 1.0)", "1.0", LOADS),
    ("checks/fatigue.py", "return min(static, repeated,", "return max(static, repeated,", LOADS),
    ("checks/fatigue.py", "(a * (b - ratio))", "(a * (b + ratio))", "checks/test_fatigue.py"),
    ("checks/fatigue.py", "SHEAR_APART * sheared", "sheared", "checks/test_fatigue.py"),
    ("checks/tooth/friction.py", "(1 / pinion_teeth + 1 / wheel_teeth)", "(2 / pinion_teeth)",
     "checks/tooth/test_friction.py"),
    # formulas of events and of what is fixed to an end
    (EVENTS, "return torque + np.sqrt(torque**2", "return np.sqrt(torque**2",
     "machine/test_events.py"),
    (EVENTS, "clutch * whole / np.asarray(kept)", "clutch * whole", "machine/test_events.py"),
    (EVENTS, "(wheelbase - centre_to_rear) / (wheelbase", "centre_to_rear / (wheelbase",
     "machine/test_events.py"),
    ("machine/attached.py", "side * diameter / 2", "side * diameter", "machine/test_attached.py"),
    # frame, cradle, rack, part
    ("machine/parts.py", "-layer.angle if layer.turned_over else", "",
     "machine/test_design.py"),
    (CHECKED, "END_PLAY + 2.0 * edge_tolerance", "END_PLAY + edge_tolerance", FRAME),
    (CHECKED, "load.force / 2.0 + load.turning / apart\n    arm", "load.force / 2.0\n    arm",
     FRAME),
    (CHECKED, "by_shear = torn / plate.panel_shear >= bent / tension",
     "by_shear = True", FRAME),
    ("machine/cradle.py", "peg_force(torque) * self.handle_width",
     "peg_force(torque) * self.handle_distance", "machine/test_cradle.py"),
    ("machine/slide.py", "max(self.rack.teeth - KEPT_TEETH, 0.0)", "self.rack.teeth",
     "machine/test_slide.py"),
    ("checks/hub/bar_screws.py", "return max((end_screw_force", "return min((end_screw_force",
     "checks/hub/test_bar_screws.py"),
    ("checks/hub/bar_screws.py", "3.0 * (size + HOLE_PLAY)", "(size + HOLE_PLAY)",
     "checks/hub/test_bar_screws.py"),
    ("machine/slide.py", "(self.travel / rack.pitch, 9)) + KEPT_TEETH",
     "(self.travel / rack.pitch, 9))", "machine/test_slide.py"),
    ("machine/cradle.py", "post_force(torque, posts) * self.handle_distance",
     "post_force(torque, posts) * self.handle_width", "machine/test_cradle.py"),
)  # fmt: skip


def caught(tree: Path, file: str, old: str, new: str, test: str) -> bool:
    """Whether the test fails with the one line changed; the line is put back."""
    path = tree / "gearwork" / file
    text = path.read_text("utf-8")
    if text.count(old) < 1:
        raise SystemExit(f"{file} has no {old!r}: the line was changed, change the table")
    path.write_text(text.replace(old, new, 1), "utf-8")
    command = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider"]
    ran = subprocess.run(
        [*command, f"tests/{test}"], cwd=tree, env={"PYTHONPATH": str(tree), "PATH": ""},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    path.write_text(text, "utf-8")
    return ran.returncode == 1 and "failed" in ran.stdout


def main() -> int:
    """Try all, or those whose numbers are given; the exit code tells whether any survived."""
    numbers = [int(word) for word in sys.argv[1:]] or range(1, len(MUTATIONS) + 1)
    survived = []
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder) / "tree"
        copytree(ROOT, tree, ignore=ignore_patterns(".git", ".venv", "__pycache__", ".*_cache"))
        for number in numbers:
            file, old, new, test = MUTATIONS[number - 1]
            found = caught(tree, file, old, new, test)
            survived += [] if found else [number]
            word = "caught by" if found else "SURVIVED"
            print(f"{number:2} {word} {test}: {file}: {old} -> {new or 'nothing'}", flush=True)
    print(f"{len(survived)} of {len(numbers)} survived: {survived}")
    return bool(survived)


if __name__ == "__main__":
    sys.exit(main())
