"""Rim and spokes: the frame against closed forms, whole wheels against finite elements."""

import re
from dataclasses import replace

import numpy as np
import pytest
from volume import every

import gearwork as gw
from gearwork.checks.tooth.elements import flank_loads
from gearwork.checks.tooth.load_case import load_cases
from gearwork.checks.tooth.mesh import CutPair
from gearwork.checks.tooth.strength import tooth_limits
from gearwork.checks.tooth.stress import SheetPolar, notch_factor
from gearwork.checks.windows import (
    rim_checks,
    rim_factor,
    rim_ratio,
    wheel_stress,
    windows_save,
)
from gearwork.fem.grid import mesh_region
from gearwork.fem.plane import ElasticBody
from gearwork.geometry.features import Windows
from gearwork.geometry.gear_outline import tooth_profile
from gearwork.geometry.tooth import cut_tooth
from gearwork.stock.orthotropic import stiffness


def loaded(frame, node, force):
    loads = np.zeros((len(frame.nodes), 3, 1))
    loads[node, :, 0] = force
    return frame.section_forces(loads)[..., 0]


def test_rim_factor_by_hand():
    # AGMA 2001-D04 (from memory): 1.6 ln(2.242 / m_B), 1 from 1.2 on.
    assert rim_factor(0.5) == pytest.approx(2.401, abs=5e-4)
    assert rim_factor(1.0) == pytest.approx(1.292, abs=5e-4)
    assert rim_factor(1.2) == pytest.approx(1.0, abs=1e-4)
    assert rim_factor(3.0) == 1.0


def test_rim_ratio_counts_the_tooth_as_cut():
    deep, shallow = (cut_tooth(gw.Gear(5, 40), bit) for bit in (3.0, 6.5))
    windows = Windows(6, 60, 13.5, 14, 8)
    assert rim_ratio(deep, windows) == pytest.approx(13.5 / (2.25 * 5))
    assert rim_ratio(shallow, windows) > rim_ratio(deep, windows)


def test_stiff_rim_spreads_the_load_over_all_spokes():
    # By hand for a rim that turns and shifts as one, 8 slender spokes of 5 mm clamped at both ends.
    # Turning by 1: shear 12 R/l - 6 and moment at the hub 6 R/l - 2, both over EI/l² and EI/l;
    # 1 N shifting it: 2/8 N in the spoke along it.
    cut, windows = cut_tooth(gw.Gear(5, 80), 3.0), Windows(8, 40, 60, 5, 8)
    window = windows.cuts(cut, cut.root_diameter)[0].outline.points(0.01)
    start, end = np.hypot(*window.T).min(), cut.root_diameter / 2 - 30.0  # to the rim's middle
    length = end - start
    shear, at_hub, at_rim = 12 * end / length - 6, 6 * end / length - 2, 6 * end / length - 4
    torque = cut.gear.base_diameter / 2 / 8
    moment = torque * at_hub / (shear * end / length - at_rim)
    notch = notch_factor(5.0, (length - 30.0) / 2, 4.0)
    expected = (6 * moment / 5**2 + 2 / 8 / 5) * notch
    assert wheel_stress(cut, windows).spoke == pytest.approx(expected, rel=0.05)


def wheel_body(cut, windows, phase, hold=24.0):
    """A disc with one tooth at +x, windows turned by `phase`, held at a circle in the hub."""
    profile = tooth_profile(cut, 0.002)
    root, half = cut.root_diameter / 2, np.pi / cut.gear.teeth
    around = np.linspace(half, 2 * np.pi - half, 900)[1:-1]
    edge = np.vstack([profile, root * np.column_stack([np.cos(around), np.sin(around)])])
    coarse = [np.full(len(profile), 2.0), np.full(len(around), 5.0)]
    size = windows.corner_diameter / 5
    turn = np.array([[np.cos(phase), np.sin(phase)], [-np.sin(phase), np.cos(phase)]])
    cuts = windows.cuts(cut, cut.root_diameter)
    holes = [path.outline.points(0.004 * size) @ turn for path in cuts]
    angle = np.linspace(0, 2 * np.pi, 120, endpoint=False)
    hub = hold / 2 * np.column_stack([np.cos(angle), np.sin(angle)])
    sizes = [np.concatenate(coarse), *(np.full(len(h), size) for h in holes), np.full(120, 4.0)]
    mesh = mesh_region([edge, *holes, hub], sizes)
    held = mesh.loops == len(holes) + 1
    return ElasticBody(mesh, np.column_stack([held, held]))


@pytest.mark.parametrize(
    "windows", every(2, [Windows(4, 36, 12, 12, 12), Windows(5, 36, 7, 11, 10)])
)
def test_spokes_and_rim_against_finite_elements(windows):
    cut, birch = cut_tooth(gw.Gear(5, 30), 3.175), gw.plywood("birch", 12)
    rose, stress = SheetPolar.of(birch), wheel_stress(cut, windows)
    inner = cut.root_diameter / 2 - windows.rim_thickness - windows.corner_diameter / 4
    greatest = np.zeros((2, 2))
    for phase in (0.0, np.pi / windows.count):  # a spoke under the tooth, a window under it
        body = wheel_body(cut, windows, phase)
        loads = body.point_loads(*flank_loads(cut, cut.gear.tip_diameter))
        edge = (body.mesh.loops > 0) & (body.mesh.loops <= windows.count)
        rim = np.hypot(*body.mesh.middles[edge].T) > inner
        plain = body.solve(stiffness(0.0, (2100.0, 2100.0), 2100 / 2.6, 0.3), loads)
        along = body.solve(birch.stiffness(30.0), loads).edge_stress[:, edge]
        x, y = body.tangents[edge].T
        angle = 30.0 + np.degrees(np.arctan2(y, x))
        strength = np.where(along > 0, birch.tension_at(angle), np.inf)
        for k, values in enumerate((plain.edge_stress[:, edge], along / strength)):
            found = np.abs(values)[:, ~rim].max(), np.abs(values)[:, rim].max()
            greatest[k] = np.maximum(greatest[k], found)
    frame = np.array([stress.spoke, stress.rim])
    assert (greatest[0] / frame < 1.12).all()
    assert (greatest[0] / frame > 0.6).all()
    assert (greatest[1] / frame / rose.worst_tension < 1.10).all()


@pytest.fixture(scope="module")
def cut():
    pair = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 60, thinning=0.2))
    return CutPair(pair, gw.Bit(3.175))


@pytest.fixture(scope="module")
def birch():
    return gw.plywood("birch", 12)


def report(cut, birch, windows, torque=1.0):
    cases = load_cases(torque, 150.0, gw.Service(), None, 3 * torque)
    return rim_checks(cut, "wheel", windows, birch, 24.0, tooth_limits(cut, birch, 24.0, cases))


def test_checks_and_savings(cut, birch):
    found = report(cut, birch, Windows(6, 70, 16, 14, 8))
    assert [check.name for check in found] == [
        "rim thickness, wheel",
        "tooth bending on its rim, wheel, running",
        "tooth bending on its rim, wheel, stall",
        "spokes, wheel, running",
        "spokes, wheel, stall",
        "rim between the spokes, wheel, running",
        "rim between the spokes, wheel, stall",
    ]
    assert found.ok
    assert re.search(r"save [\d.]+ kg of [\d.]+ kg and \d+ % of the inertia", found.title)


def test_windows_save_what_they_weigh(cut, birch):
    # Mass by hand: ring between hub and rim less six spokes, corners neglected.
    windows = Windows(6, 70, 16, 14, 8)
    whole, saved = windows_save(cut.wheel, windows, birch, 24.0)
    inner, outer = 35.0, cut.wheel.root_diameter / 2 - 16
    area = np.pi * (outer**2 - inner**2) - 6 * 14 * (outer - inner)
    assert saved.mass == pytest.approx(area * 24 * birch.density * 1e-9, rel=0.03)
    middle = (cut.wheel.root_diameter + cut.wheel.gear.tip_diameter) / 4
    assert whole.mass == pytest.approx(np.pi * middle**2 * 24 * birch.density * 1e-9, rel=0.02)
    assert whole.inertia == pytest.approx(whole.mass * middle**2 / 2 * 1e-6, rel=0.03)


def test_stress_at_the_root_is_raised_by_a_thin_rim(cut, birch):
    cases = load_cases(1.0, 150.0, gw.Service())
    solid = tooth_limits(cut, birch, 24.0, cases)[1]
    thick, thin = (
        report(cut, birch, Windows(6, 70, rim, 14, 8))["tooth bending on its rim, wheel, running"]
        for rim in (40, 6)
    )
    assert solid.stress < thick.value < 1.1 * solid.stress
    assert thin.value > rim_factor(rim_ratio(cut.wheel, Windows(6, 70, 6, 14, 8))) * solid.stress
    assert thick.basis == solid.basis


def test_sizes_and_torque_told_are_enough(cut, birch):
    weak = Windows(6, 70, 6, 6, 8)
    found = report(cut, birch, weak, torque=1.2)
    assert not found.ok
    ((_, rim),) = found["rim thickness, wheel"].ways[0]
    assert report(cut, birch, replace(weak, rim_thickness=float(rim))).checks[0].verdict == "pass"
    told = 0
    for check in found.failed:
        ways = dict(way[0] for way in check.ways)
        for name in ("rim_thickness", "spoke_width", "corner_diameter"):
            if f"stage.windows.{name}" not in ways:
                continue
            windows = replace(weak, **{name: ways[f"stage.windows.{name}"]})
            assert report(cut, birch, windows, torque=1.2)[check.name].ok
            told += 1
        if torque := ways.get("torque") or ways.get("stall_torque"):
            share = 3 if "stall" in check.name else 1
            allowed = torque / share
            assert report(cut, birch, weak, torque=allowed)[check.name].ok
    assert told >= 2


def test_windows_that_do_not_fit_are_refused(cut, birch):
    with pytest.raises(gw.GearworkError, match="have no room"):
        report(cut, birch, Windows(6, 260, 16, 14, 8))


def test_where_deviations_use_the_strength_up_the_pinion_must_run_slower(cut, birch):
    def judged(speed):
        cases = load_cases(0.3, speed, gw.Service())
        limits = tooth_limits(cut, birch, 24.0, cases)
        return rim_checks(cut, "wheel", Windows(6, 70, 16, 14, 8), birch, 24.0, limits)

    failed = judged(20_000.0).failed
    assert {check.judged for check in failed} >= {"tooth bending on its rim", "spokes"}
    for check in failed:
        told = dict(check.ways[-1])["speed"]
        assert judged(float(told))[check.name].ok
        assert not judged(1.02 * float(told))[check.name].ok


def test_where_speed_leaves_no_strength_at_all_no_number_is_made_up(cut, birch):
    cases = load_cases(0.2, 20_000.0, gw.Service(running_hours=1e5), stall_torque=0.2)
    limits = tooth_limits(cut, birch, 24.0, cases)
    report = rim_checks(cut, "wheel", Windows(6, 70, 16, 14, 8), birch, 24.0, limits)
    (root,) = report.select(judged="tooth bending on its rim", case="running")
    assert root.limit == 0.0
    assert root.value == np.inf
    assert not root.ok
