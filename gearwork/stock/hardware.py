"""Threaded rods, nuts, washers and ball bearings that can be bought."""

from dataclasses import dataclass, replace
from math import log, pi
from typing import Any

import numpy as np

from gearwork.errors import GearworkError, number
from gearwork.stock import table


@dataclass(frozen=True)
class RodGrade:
    """Property class of a threaded rod: tensile strength R_m and yield strength R_p0.2, MPa.

    Stainless steel is passive: anaerobic thread-lock cures slowly on it.
    """

    name: str
    tensile_strength: float
    yield_strength: float
    source: str
    stainless: bool = False


@dataclass(frozen=True)
class _Threaded:
    thread: str
    source: str


@dataclass(frozen=True)
class Rod(_Threaded):
    """A threaded rod of coarse thread: nominal d and core diameter d3, pitch in mm; A_s in mm².

    `outside`: least and greatest diameter over its crests, mm, of tolerance class 6g: a rod is
    thinner than its name, and it is the crests that stand in a bore.
    """

    diameter: float
    pitch: float
    core_diameter: float
    stress_area: float
    outside: tuple[float, float]
    grade: RodGrade

    def measured(self, diameter: float) -> "Rod":
        """Return the rod as measured over its crests with a caliper, mm."""
        number(
            f"measured diameter of the {self.thread} rod",
            diameter,
            unit="mm",
            at_least=self.core_diameter,
            at_most=self.diameter + 0.1,
        )
        return replace(self, outside=(diameter, diameter))


@dataclass(frozen=True)
class Nut(_Threaded):
    """A hexagon nut: widths across flats and (least) across corners, greatest height, mm."""

    width_across_flats: float
    width_across_corners: float
    height: float


@dataclass(frozen=True)
class FlangeNut(_Threaded):
    """A hexagon nut with flange: greatest flange and least bearing diameter, height, mm."""

    flange_diameter: float
    bearing_diameter: float
    height: float


@dataclass(frozen=True)
class Washer(_Threaded):
    """A plain washer, or a shim ring, mm."""

    hole_diameter: float
    diameter: float
    thickness: float


@dataclass(frozen=True)
class DiscSpring(_Threaded):
    """A disc spring for under a nut, mm: D_i, D_e, t, free height of the cone h_0."""

    hole_diameter: float
    outer_diameter: float
    thickness: float
    cone_height: float

    @property
    def travel(self) -> float:
        """Up to which it is used, mm: three quarters of its cone."""
        return 0.75 * self.cone_height

    def load(self, deflection: Any) -> Any:
        """Return its force at a deflection, mm, N: Almen and Laszlo, DIN EN 16984 (from memory).

        E 206 GPa and Poisson's ratio 0.3 of spring steel. Arrays too.
        """
        ratio = self.outer_diameter / self.hole_diameter
        shape = (ratio + 1.0) / (ratio - 1.0) - 2.0 / log(ratio)
        k_1 = ((ratio - 1.0) / ratio) ** 2 / shape / pi
        t, cone = self.thickness, self.cone_height
        stiffness = 4.0 * 206_000.0 / (1.0 - 0.3**2) * t / (k_1 * self.outer_diameter**2)
        bent = (cone - deflection) * (cone - deflection / 2.0) + t**2
        return stiffness * deflection * bent

    def deflection(self, force: float) -> float:
        """Return its deflection under a force that flattens it by its travel at most, mm."""
        path = np.linspace(0.0, self.travel, 1001)
        return float(np.interp(force, self.load(path), path))


@dataclass(frozen=True)
class SpringPin(_Threaded):
    """A slotted spring pin across a rod: diameter and length, mm; shear force in two planes, N."""

    diameter: float
    length: float
    double_shear: float


@dataclass(frozen=True)
class Sleeve:
    """A rigid sleeve coupling: outer diameter, length, mm; screws at each end, A_s in mm²."""

    diameter: float
    length: float
    screw: str
    stress_area: float
    source: str


@dataclass(frozen=True)
class ShaftKey:
    """A parallel key: width, height, depth in the shaft, mm."""

    width: float
    height: float
    depth: float
    source: str


@dataclass(frozen=True)
class Bearing:
    """A deep groove ball bearing: sizes d, D, B in mm, dynamic and static rating C, C0 in N."""

    name: str
    bore: float
    outer_diameter: float
    width: float
    dynamic_rating: float
    static_rating: float
    source: str


def rod(thread: str, grade: str = "A2-70") -> Rod:
    """Return a threaded rod, e.g. ``rod("M8", grade="4.8")``.

    Parameters
    ----------
    thread : str
        "M6", "M8", "M10" or "M12".
    grade : str
        Property class: "A2-70", "A2-50" (stainless), "4.6", "4.8", "8.8".

    Returns
    -------
    Rod
        Sizes in mm, strengths in MPa.

    Raises
    ------
    GearworkError
        If the thread or the grade is not in the table.

    Examples
    --------
    >>> rod("M8").core_diameter
    6.466
    """
    row = _row("thread of a rod", thread, "rod", "thread")
    return Rod(thread=thread, grade=rod_grade(grade), **row | {"outside": tuple(row["outside"])})


def rod_grade(name: str) -> RodGrade:
    """Return a property class of rods: A2-70, A2-50 (stainless), 4.6, 4.8, 8.8."""
    return RodGrade(name=name, **_row("property class of a rod", name, "grade"))


def nut(thread: str, *, thin: bool = False) -> Nut:
    """Return a hexagon nut of ISO 4032, or a thin one of ISO 4035."""
    row = _row("thread of a nut", thread, "nut", "thread")
    if thin:
        row |= _row("thread of a thin nut", thread, "thin_nut", "thread")
    return Nut(thread=thread, **row)


def coupling_nut(thread: str) -> Nut:
    """Return a long nut of DIN 6334."""
    row = _row("thread of a coupling nut", thread, "coupling_nut", "thread")
    return Nut(thread=thread, **row)


def spring_pin(thread: str) -> SpringPin:
    """Return the slotted spring pin of ISO 8752 that goes across a rod and the nut on it."""
    row = _row("thread of a spring pin", thread, "spring_pin", "thread")
    return SpringPin(thread=thread, **row)


MIN_SHAFT, MAX_SHAFT = 5.0, 25.0  # of a motor that a sleeve of the table takes, mm


def sleeve(bore: float) -> Sleeve:
    """Return the rigid sleeve coupling whose greater bore is this, mm."""
    return Sleeve(**_next_size("sleeve", "bore", bore))


def shaft_key(diameter: float) -> ShaftKey:
    """Return the key of a shaft, mm."""
    return ShaftKey(**_next_size("key", "shaft", diameter))


def _next_size(kind: str, rows: str, size: float) -> dict[str, Any]:
    """The smallest row that takes a size; bounds of what asks see to it that there is one."""
    name = min((float(row), row) for row in table("hardware")[kind][rows] if float(row) >= size)[1]
    return _row(f"size of a {kind}", name, kind, rows)


def bolt_head(thread: str) -> float:
    """Return the height of the head of a hexagon head screw of ISO 4017, mm."""
    height: float = _row("thread of a bolt", thread, "bolt", "thread")["head_height"]
    return height


def flange_nut(thread: str) -> FlangeNut:
    """Return a hexagon nut with flange of ISO 4161."""
    row = _row("thread of a flange nut", thread, "flange_nut", "thread")
    return FlangeNut(thread=thread, **row)


def washer(thread: str, *, wide: bool = False) -> Washer:
    """Return a washer of ISO 7089, or a wide one (three times the thread) of ISO 7093-1."""
    kind = "wide_washer" if wide else "washer"
    return Washer(thread=thread, **_row("thread of a washer", thread, kind, "thread"))


def disc_spring(thread: str) -> DiscSpring:
    """Return a disc spring of DIN 2093, series A, that goes over a rod."""
    row = _row("thread of a disc spring", thread, "disc_spring", "thread")
    return DiscSpring(thread=thread, **row)


def shim(thread: str) -> Washer:
    """Return a shim ring of DIN 988 that goes on a rod of this thread, 1 mm thick."""
    return Washer(thread=thread, **_row("thread of a shim ring", thread, "shim", "thread"))


def bearing(name: str) -> Bearing:
    """Return a ball bearing by its designation, e.g. ``bearing("608")``.

    The ratings are the lowest of four makers; unbranded parts may reach three quarters of them.

    Parameters
    ----------
    name : str
        "608", "6000", "6001" and so on: `bearings` lists them.

    Returns
    -------
    Bearing
        Sizes in mm, ratings in N.

    Raises
    ------
    GearworkError
        If the bearing is not in the table.

    Examples
    --------
    >>> ball = bearing("608")
    >>> ball.bore, ball.outer_diameter, ball.width  # ISO 15
    (8.0, 22.0, 7.0)
    """
    return Bearing(name=name, **_row("bearing", name, "bearing", "size"))


def threads() -> tuple[str, ...]:
    """Return the threads of rods, nuts and washers, thinnest first."""
    return tuple(table("hardware")["rod"]["thread"])


def bearings() -> tuple[str, ...]:
    """Return the designations of the bearings."""
    return tuple(table("hardware")["bearing"]["size"])


def _row(what: str, name: object, kind: str, rows: str = "") -> dict[str, Any]:
    """One row of a table, with the source of its kind."""
    entry = table("hardware")[kind]
    known = entry[rows] if rows else entry
    if not isinstance(name, str) or name not in known:
        raise GearworkError(f"{what} {name!r} is not in the table; there are: {', '.join(known)}")
    row: dict[str, Any] = known[name]
    return row | ({"source": entry["source"]} if rows else {})
