"""Stress in the rim and spokes of a wheel with windows, from a frame of beams.

The frame is clamped to the hub where the windows begin and loaded at a tooth's tip. Finite elements
on ten wheels of birch plywood with 3 to 10 spokes give 0.46 to 1.02 of the utilisation found this
way (two such wheels are in tests/test_rim.py).

The rim's bending also adds to the stress at the tooth's root, on the pushed side: by finite
elements on eleven wheels up to min(1, 0.72 / m_B) of the rim's own edge stress. In plywood, which
is weaker pushed than pulled, that is more than the rim factor K_B of steel gears accounts for.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from gearwork.checks.plane_frame import Floats, PlaneFrame
from gearwork.checks.tooth_stress import notch_factor
from gearwork.geometry.fillet import load_at
from gearwork.geometry.tooth import CutTooth
from gearwork.geometry.windows import Windows

ROOT_SHARE = 0.75
"""Over m_B, at most 1: what of the rim's edge stress arrives at the tooth's root."""

PIECES = 8
"""Beams of the rim from spoke to spoke."""

SHEAR_RATIO = 1 / 2.6
"""G/E of an isotropic sheet: the sheet's own directions come in afterwards."""


@dataclass(frozen=True)
class WheelStress:
    """Stress in a wheel with windows for 1 N of normal force per mm of face width.

    Attributes
    ----------
    spoke, rim : float
        Along the windows' edge in an isotropic sheet, notch counted, MPa.
    root : float
        What the rim's bending adds to the pushed side of the tooth's root, MPa.
    spoke_shear, rim_shear : float
        Greatest of the parabola across the section, MPa.
    """

    spoke: float
    rim: float
    root: float
    spoke_shear: float
    rim_shear: float


def rim_ratio(cut: CutTooth[float], windows: Windows) -> float:
    """Return m_B, thickness of the rim below the root circle over the tooth's depth as cut."""
    return windows.rim_thickness / tooth_depth(cut)


@lru_cache(maxsize=256)
def wheel_stress(cut: CutTooth[float], windows: Windows) -> WheelStress:
    """Return the greatest stress in spokes and rim, whichever tooth and flank carries the load.

    Raises
    ------
    GearworkError
        If the windows do not fit the gear or the bit.
    """
    window = windows.cuts(cut, cut.root_diameter)[0].outline
    start = float(np.hypot(*window.points(0.05).T).min())
    end = cut.root_diameter / 2 - windows.rim_thickness
    frame = _frame(windows, start, end)
    forces = frame.section_forces(_loads(cut, frame, windows.count))
    pieces = PIECES * windows.count
    rim, spokes = forces[:pieces], forces[pieces::2]
    corner, reach = windows.corner_diameter / 2, (end - start) / 2
    wide, thick = windows.spoke_width, windows.rim_thickness
    at_spokes = rim[::PIECES, 0], rim[PIECES - 1 :: PIECES, 1]
    beside = np.stack([_edge(forces, thick) for forces in at_spokes])
    plain = float(_edge(rim, thick).max())
    return WheelStress(
        spoke=float(_edge(spokes, wide).max() * notch_factor(wide, reach, corner)),
        rim=float(max(plain, beside.max() * notch_factor(thick, reach, corner))),
        root=plain * min(1.0, ROOT_SHARE / rim_ratio(cut, windows)),
        spoke_shear=float(1.5 * np.abs(spokes[:, :, 1]).max() / wide),
        rim_shear=float(1.5 * np.abs(rim[:, :, 1]).max() / thick),
    )


def _frame(windows: Windows, start: float, end: float) -> PlaneFrame:
    """Rim nodes first, then the spokes' ends at the hub, then at the rim's inner edge."""
    count, pieces = windows.count, PIECES * windows.count
    round_, spokes = (np.exp(2j * np.pi / n * np.arange(n)) for n in (pieces, count))
    nodes = np.concatenate(
        [(end + windows.rim_thickness / 2) * round_, start * spokes, end * spokes]
    )
    rim = np.column_stack([np.arange(pieces), np.roll(np.arange(pieces), -1)])
    number = np.arange(count)
    outward = np.column_stack(
        [pieces + number, pieces + count + number, pieces + count + number, PIECES * number]
    )
    return PlaneFrame(
        nodes=np.column_stack([nodes.real, nodes.imag]),
        beams=np.vstack([rim, outward.reshape(-1, 2)]),
        depth=np.concatenate(
            [np.full(pieces, windows.rim_thickness), np.full(2 * count, windows.spoke_width)]
        ),
        held=pieces + number,
        shear_ratio=SHEAR_RATIO,
    )


def _loads(cut: CutTooth[float], frame: PlaneFrame, count: int) -> Floats:
    """Either flank of teeth that stand from one spoke on to the middle of a window."""
    gear = cut.gear
    angle = np.radians(load_at(gear, gear.tip_diameter).angle)
    half = gear.thickness_at(gear.tip_diameter) / gear.tip_diameter
    tip, push = gear.tip_diameter / 2 * np.exp(1j * half), -(np.sin(angle) + 1j * np.cos(angle))
    loads = np.zeros((len(frame.nodes), 3, 2 * (PIECES // 2 + 1)))
    for node in range(PIECES // 2 + 1):
        turn = np.exp(2j * np.pi * node / (PIECES * count))
        for flank, (place, force) in enumerate([(tip, push), (np.conj(tip), np.conj(push))]):
            arm = place * turn - complex(*frame.nodes[node])
            moment = (np.conj(arm) * force * turn).imag
            loads[node, :, 2 * node + flank] = (force * turn).real, (force * turn).imag, moment
    return loads


def _edge(forces: Floats, depth: float) -> Floats:
    """Greatest stress at the edges of a section; the second last axis is force, shear, moment."""
    return np.asarray(np.abs(forces[..., 0, :]) / depth + 6 * np.abs(forces[..., 2, :]) / depth**2)


def tooth_depth(cut: CutTooth[float]) -> float:
    """Return the depth of the tooth as cut, mm."""
    return (cut.gear.tip_diameter - cut.root_diameter) / 2
