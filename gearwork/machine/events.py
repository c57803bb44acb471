"""What can happen to a train, each with its cause and what caps it.

Torques on the shafts of a train, or on those of many trains at once: arrays end in one entry for
each shaft, the drive's first, or for each stage.
"""

from dataclasses import dataclass
from math import pi
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike

from gearwork.numbers import RPM, Floats

EventName = Literal[
    "running",
    "starting",
    "drive stalls",
    "output jams",
    "drive locks",
    "load runs back",
    "load is held",
]

SHEAR_MODULUS = 75_000.0
"""Of steel rods, MPa; stainless steel has 73 to 77 GPa (handbooks, from memory)."""


@dataclass(frozen=True, eq=False)
class Event:
    """One thing that can happen, and what the shafts feel of it.

    `torques` on every shaft, N·m, without sign; `braking`: the other flanks carry, as the load
    turns the gears. `times` in the machine's life: None while it runs, when every turn counts.
    """

    name: EventName
    cause: str
    cap: str
    torques: Floats
    braking: bool = False
    times: float | None = None


def torsional_stiffness(
    ratio_up_to: ArrayLike, mesh_stiffness: ArrayLike, lengths: ArrayLike, core_diameter: float
) -> Any:
    """Return the stiffness of a train with its output held, seen at the drive, N·m/rad.

    Rods and meshes twist one after the other; behind a ratio i a spring is 1/i² as stiff.

    Parameters
    ----------
    ratio_up_to : array_like, shape (..., shafts)
        Drive speed over the speed of each shaft.
    mesh_stiffness : array_like, shape (..., stages)
        Of each mesh, seen at its pinion, N·m/rad.
    lengths : array_like, shape (..., shafts)
        Of rod that each shaft's torque twists, mm.
    core_diameter : float
        Of the rods, mm.
    """
    up_to = np.asarray(ratio_up_to)
    section = pi * core_diameter**4 / 32.0
    rods = np.asarray(lengths) * 1000.0 / (SHEAR_MODULUS * section)
    twist = (up_to**2 * rods).sum(axis=-1)
    twist += (up_to[..., :-1] ** 2 / np.asarray(mesh_stiffness)).sum(axis=-1)
    return 1.0 / twist


def twisted_lengths(
    face_widths: ArrayLike, gap: float, plate_thickness: float, overhangs: tuple[float, float]
) -> Floats:
    """Return the length of each rod between where torque comes and goes, mm, shape (..., shafts).

    Planes of gears in order, a plate outside the first and the last; from the drive's middle to
    the first pinion, from wheel to pinion, from the last wheel to the load's middle.
    """
    widths = np.asarray(face_widths, dtype=float)
    between = (widths[..., :-1] + widths[..., 1:]) / 2.0 + gap
    ends = [
        overhang + plate_thickness + gap + width / 2.0
        for overhang, width in zip(overhangs, (widths[..., :1], widths[..., -1:]), strict=True)
    ]
    return np.concatenate([ends[0], between, ends[1]], axis=-1)


def jam_torque(torque: Any, speed: Any, inertia: float, stiffness: Any) -> Any:
    """Return the greatest torque at the drive when its output jams while it runs, N·m.

    The rotor winds up the train and the drive pushes on: energy gives T + sqrt(T² + J k ω²)
    (suddenly applied load; Roark, chapter on dynamic loading, from memory). Nothing that swings:
    the drive's torque alone.

    Parameters
    ----------
    torque : float or ndarray
        That the drive gives when stalled, N·m.
    speed : float or ndarray
        rpm.
    inertia : float
        Of what turns in the drive, seen at its shaft, kg·m².
    stiffness : float or ndarray
        From `torsional_stiffness`.
    """
    if inertia == 0.0:
        return torque
    return torque + np.sqrt(torque**2 + inertia * stiffness * (speed * RPM) ** 2)


def braking_force(
    weight: float,
    friction: float,
    share: float,
    wheelbase: float,
    centre_to_rear: float,
    centre_height: float,
    driven_axle: Literal["rear", "front"],
) -> float:
    """Return the force at the ground when driven wheels are locked while rolling ahead, N.

    Weight goes to the front: N_rear = W a/(L + μ h), N_front = W b/(L − μ h), a and b the
    distances of the centre of mass to the other axle (Wong, Theory of Ground Vehicles, ch. 3;
    from memory). Weight on the ground, N; lengths in mm; `share` of the axle's weight that is on
    driven wheels. No axle bears more than all the weight.
    """
    grip = friction * share
    if driven_axle == "rear":
        on_axle = weight * (wheelbase - centre_to_rear) / (wheelbase + grip * centre_height)
    else:
        span = wheelbase - grip * centre_height
        on_axle = min(weight * centre_to_rear / span, weight) if span > 0.0 else weight
    return grip * on_axle


def passed_back(load: Any, clutch: float | None, ratio_up_to: Any, kept: Any) -> Any:
    """Return the torque on every shaft when the load turns the train and the drive stands, N·m.

    The load's torque N·m goes down with the ratio, losses left out. A clutch in the drive slips
    at its own torque: a shaft then feels that times the ratio, over what losses keep up to it,
    for friction holds against the load as well.
    """
    whole = np.asarray(ratio_up_to)
    through = np.asarray(load)[..., None] * whole / whole[..., -1:]
    if clutch is None:
        return through
    return np.minimum(through, clutch * whole / np.asarray(kept))
