"""Norris' criterion word for word, and the greatest load that holds, by bisection."""

import numpy as np


def grain_stress(tensor, angle):
    """Stress tensor in grain axes; the given axes are turned by `angle` from them."""
    a = np.radians(angle)
    turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
    return turn @ tensor @ turn.T


def holds(sheet, tensor, angle):
    """Norris' criterion and limits, word for word."""
    stress = grain_stress(tensor, angle)
    strengths = [
        tension if stress[i, i] >= 0 else compression
        for i, (tension, compression) in enumerate(
            zip(sheet.tension, sheet.compression, strict=True)
        )
    ]
    a, b = stress[0, 0] / strengths[0], stress[1, 1] / strengths[1]
    shear = stress[0, 1] / sheet.panel_shear
    return a * a - a * b + b * b + shear * shear <= 1 and abs(a) <= 1 and abs(b) <= 1


def max_multiple(holds):
    """Greatest load multiplier that holds, by bisection."""
    low, high = 0.0, 1e4
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low
