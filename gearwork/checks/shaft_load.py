"""ShaftLoad: what a gear, a drum or a crank does to its shaft; the forces of a mesh."""

from dataclasses import dataclass
from math import cos, radians, sin, tan

from gearwork.errors import GearworkError, number


@dataclass(frozen=True)
class ShaftLoad:
    """What acts on a shaft at one place.

    Attributes
    ----------
    name : str
        E.g. "wheel 2".
    position : float
        Along the shaft, mm.
    force : tuple of float
        (F_y, F_z) across the shaft, N.
    torque : float
        Put into the shaft here, N·m, positive from +y to +z.
    mate_direction : float, optional
        Where the mating gear's centre lies, degrees from +y towards +z; for a mesh alone.
    face_width : float, optional
        Of the mesh, mm; for a mesh alone.

    Raises
    ------
    GearworkError
        If a value is no number, or a mesh is half given.

    Examples
    --------
    A drum that takes 2 N·m and hangs on the rod with 100 N:

    >>> ShaftLoad("drum", position=120.0, force=(0.0, -100.0), torque=-2.0).torque
    -2.0
    """

    name: str
    position: float
    force: tuple[float, float]
    torque: float = 0.0
    mate_direction: float | None = None
    face_width: float | None = None

    def __post_init__(self) -> None:
        number(f"position of {self.name}", self.position, unit="mm")
        if not isinstance(self.force, tuple | list) or len(self.force) != 2:
            raise GearworkError(
                f"force of {self.name} is {self.force!r}: two numbers (F_y, F_z) in N are needed"
            )
        for part in self.force:
            number(f"force of {self.name}", part, unit="N")
        number(f"torque of {self.name}", self.torque, unit="N·m")
        if (self.mate_direction is None) != (self.face_width is None):
            raise GearworkError(
                f"{self.name} has only one of mate direction and face width: a mesh needs both,"
                " make it with mesh_load(...)"
            )
        if self.mate_direction is not None:
            number(f"direction of the mate of {self.name}", self.mate_direction, unit="°")
        if self.face_width is not None:
            number(f"face width of {self.name}", self.face_width, unit="mm", above=0.0)


def gear_forces(
    torque: float, base_diameter: float, working_pressure_angle: float
) -> tuple[float, float]:
    """Return tangential and radial force at the working pitch circle of a spur gear, N.

    Parameters
    ----------
    torque : float
        On this gear, N·m.
    base_diameter : float
        mm.
    working_pressure_angle : float
        Degrees.

    Raises
    ------
    GearworkError
        If a value cannot be.

    References
    ----------
    F_t = 2000 T/d_w, F_r = F_t tan α_w, d_w = d_b / cos α_w (ISO 6336-1; statics).

    Examples
    --------
    >>> tangential, radial = gear_forces(2.0, 37.5877, 20.0)
    >>> round(tangential, 1), round(radial, 1)
    (100.0, 36.4)
    """
    number("torque of the gear", torque, unit="N·m")
    number("base diameter", base_diameter, unit="mm", above=0.0)
    angle = number(
        "working pressure angle", working_pressure_angle, unit="°", at_least=0.0, at_most=60.0
    )
    tangential = 2000.0 * abs(torque) * cos(radians(angle)) / base_diameter
    return tangential, tangential * tan(radians(angle))


def mesh_load(
    name: str,
    position: float,
    torque: float,
    base_diameter: float,
    working_pressure_angle: float,
    *,
    mate_direction: float,
    face_width: float,
) -> ShaftLoad:
    """Return what a mesh does to the shaft: the tooth force and the torque it puts in.

    Parameters
    ----------
    name, position, mate_direction, face_width
        As in `ShaftLoad`.
    torque : float
        That the mate puts into this gear, N·m: positive from +y to +z; on a driving gear it is
        against the rotation.
    base_diameter, working_pressure_angle : float
        As in `gear_forces`.

    Returns
    -------
    ShaftLoad
        Force in N, torque in N·m.

    Raises
    ------
    GearworkError
        If a value cannot be.

    Examples
    --------
    2 N·m on a pitch circle of 40 mm: 100 N along the tangent, 100 N · tan 20° away from the mate.

    >>> load = mesh_load("wheel", 50.0, 2.0, 37.5877, 20.0, mate_direction=0.0, face_width=24.0)
    >>> [round(part, 1) for part in load.force]
    [-36.4, 100.0]
    """
    tangential, radial = gear_forces(torque, base_diameter, working_pressure_angle)
    along = tangential if torque >= 0.0 else -tangential
    c, s = cos(radians(mate_direction)), sin(radians(mate_direction))
    force = (-radial * c - along * s, -radial * s + along * c)
    return ShaftLoad(name, position, force, torque, mate_direction, face_width)
