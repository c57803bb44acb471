"""Torque on a power screw, by the textbook."""

from math import cos, pi, radians


def screw_torque(force, mean_diameter, lead, friction, half_angle, *, raising):
    """Shigley, Mechanical Engineering Design, Eq. 8-5 and its counterpart for lowering."""
    f = friction / cos(radians(half_angle))
    if raising:
        top, bottom = lead + pi * f * mean_diameter, pi * mean_diameter - f * lead
    else:
        top, bottom = pi * f * mean_diameter - lead, pi * mean_diameter + f * lead
    return force * mean_diameter / 2.0 * top / bottom
