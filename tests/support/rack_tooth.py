"""Reference tooth for tests: cut by a basic rack of ISO 53, from the law of gearing alone."""

import numpy as np
from scipy.optimize import brentq

import gearwork as gw
from gearwork.checks.tooth.stress import section_bending
from gearwork.geometry.tooth import Fillet, load_at


def rack_tooth(z, x=0.0, h_a=1.0, h_f=1.25, tip_radius=0.38, alpha=20.0, spacing=0.01):
    """Outline of one tooth of module 1 as a rack cuts it, centred on +x, gear centre at the origin.

    Flanks are involutes, fillets the envelope of the rack's rounded corner: where the rack touches
    the gear, the common normal passes through the pitch point. Undercut is followed.

    Returns
    -------
    (n, 2) ndarray
        From mid-root at y < 0 over the tip to mid-root at y > 0, no point more than about
        `spacing` from the next; the corners at the tip are points of it.
    """
    slope = np.radians(alpha)
    base = z / 2 * np.cos(slope)
    tip = z / 2 + h_a + x
    inv = np.tan(slope) - slope
    psi, radius, angle = rack_fillet(z, x, h_f, tip_radius, alpha)

    def half_angle(r):
        roll = np.sqrt(np.maximum((r / base) ** 2 - 1.0, 0.0))
        return (np.pi / 2 + 2 * x * np.tan(slope)) / z + inv - roll + np.arctan(roll)

    def excess(p):
        _, r, a = rack_fillet(z, x, h_f, tip_radius, alpha, np.array([p]))
        return float(a[0] - half_angle(r)[0])

    undercut = np.flatnonzero((radius > base) & (angle < half_angle(radius) - 1e-9))
    joint = brentq(excess, psi[undercut[-1]], psi[undercut[-1] + 1]) if len(undercut) else psi[-1]
    psi = np.linspace(0.0, joint, round(1.2 / spacing))
    _, radius, angle = rack_fillet(z, x, h_f, tip_radius, alpha, psi)
    land = np.linspace(
        np.pi / z, angle[0], max(3, round(radius[0] * (np.pi / z - angle[0]) / spacing))
    )
    flank = np.linspace(radius[-1], tip, round((tip - radius[-1]) / spacing) + 3)[1:]
    top = half_angle(tip)
    if top <= 0.0:
        raise ValueError("the tooth is pointed below its tip circle")
    crest = np.linspace(top, -top, round(2 * top * tip / spacing) + 3)[1:-1]
    left_radius = np.concatenate([np.full(len(land) - 1, radius[0]), radius, flank])
    left_angle = np.concatenate([land[:-1], angle, half_angle(flank)])
    r = np.concatenate([left_radius, np.full(len(crest), tip), left_radius[::-1]])[::-1]
    a = np.concatenate([left_angle, crest, -left_angle[::-1]])[::-1]
    return np.column_stack([r * np.cos(a), r * np.sin(a)])


def rack_fillet(z, x, h_f, tip_radius, alpha, psi=None):
    """Direction of the common normal from root to flank; radius and half angle of the fillet there.

    The angle is counted from the tooth's centre line.
    """
    slope = np.radians(alpha)
    depth = h_f - x - tip_radius  # of the corner's centre below the pitch line
    offset = np.pi / 4 - h_f * np.tan(slope) - tip_radius * (1 - np.sin(slope)) / np.cos(slope)
    if offset < 0.0:
        raise ValueError("the rack's tip corners overlap: take a smaller tip radius")
    if psi is None:
        psi = np.linspace(0.0, np.pi / 2 - slope, 5001)
    pitch_point = offset - depth * np.tan(psi)
    across = offset + tip_radius * np.sin(psi) - pitch_point
    up = z / 2 - depth - tip_radius * np.cos(psi)
    return psi, np.hypot(across, up), np.pi / z - np.arctan2(across, up) - 2 * pitch_point / z


def rack_edge(z, **profile):
    """Upper edge of the reference tooth below its tip, from flank to root."""
    points = rack_tooth(z, spacing=0.002, **profile)
    upper = points[points[:, 1] > 0]
    radius = np.hypot(*upper.T)
    x, y = upper[radius < radius.max() - 1e-9].T
    return Fillet(x, y, np.degrees(np.arctan2(np.gradient(y), -np.gradient(x))))


def sections(z, **profile):
    """The reference tooth's edge, lever arm and bending stress of 1 N/mm at its tip."""
    gear = gw.Gear(1.0, z, addendum=profile.get("h_a", 1.0))
    load, edge = load_at(gear, gear.tip_diameter), rack_edge(z, **profile)
    return edge, load, *section_bending(load, edge)


def fillet_edge(teeth):
    """Upper fillet from flank to root: x, y and slope of the edge, degrees, m = 1."""
    profile = rack_tooth(teeth)
    upper = profile[profile[:, 1] > 0]
    step = np.diff(upper, axis=0)
    middle = (upper[1:] + upper[:-1]) / 2
    slope = np.degrees(np.arctan2(-step[:, 1], -step[:, 0]))
    below = np.hypot(*middle.T) < teeth / 2 - 0.4
    return middle[below, 0], middle[below, 1], slope[below]


def section_at_30_degrees(teeth):
    x, y, slope = fillet_edge(teeth)
    order = np.argsort(slope)
    at = [float(np.interp(-30.0, slope[order], v[order])) for v in (x, y)]
    return at[0], 2 * at[1]
