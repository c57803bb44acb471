"""Frame and ShaftParts: what carries the gears of a train, in plain sizes."""

from dataclasses import dataclass

from gearwork.errors import GearworkError, number
from gearwork.stock.hardware import Bearing, Nut, Rod, Washer


@dataclass(frozen=True)
class ShaftParts:
    """The rod of one shaft, what clamps a gear on it, and its bearings.

    Attributes
    ----------
    rod_diameter : float
        mm.
    hub_diameter : float
        The widest of nut, flange and washer that stand on the face of a gear, mm.
    hub_height : float
        How far they stand out from that face, mm.
    seat_diameter : float
        Outer diameter of the bearing, mm: its seat in the plate.
    bearing_width : float
        mm.
    free_end : float
        Length of rod beyond the frame for what is coupled to it: drill, crank, drum, wheel; mm.

    Raises
    ------
    GearworkError
        If a size cannot be.

    Examples
    --------
    From the names of parts that can be bought; a 608 bearing measures 8 x 22 x 7 mm (ISO 15).

    >>> from gearwork.stock.hardware import bearing, nut, rod, washer
    >>> parts = ShaftParts.of(rod("M8"), nut("M8"), washer("M8"), bearing("608"))
    >>> parts.rod_diameter, parts.seat_diameter, parts.bearing_width
    (8.0, 22.0, 7.0)
    """

    rod_diameter: float
    hub_diameter: float
    hub_height: float
    seat_diameter: float
    bearing_width: float
    free_end: float = 0.0

    def __post_init__(self) -> None:
        rod = number("rod diameter", self.rod_diameter, unit="mm", above=0.0)
        number("hub diameter", self.hub_diameter, unit="mm", at_least=rod)
        number("hub height", self.hub_height, unit="mm", at_least=0.0)
        number("seat diameter", self.seat_diameter, unit="mm", above=rod)
        number("bearing width", self.bearing_width, unit="mm", above=0.0)
        number("free end of the rod", self.free_end, unit="mm", at_least=0.0)

    @classmethod
    def of(
        cls, rod: Rod, nut: Nut, washer: Washer, bearing: Bearing, free_end: float = 0.0
    ) -> "ShaftParts":
        """Return the sizes of parts that can be bought: gears between washers and nuts.

        Raises
        ------
        GearworkError
            If the rod does not pass through the bearing.
        """
        if bearing.bore < rod.diameter:
            raise GearworkError(
                f"bearing {bearing.name} has a bore of {bearing.bore:g} mm: a rod of"
                f" {rod.diameter:g} mm needs one of at least {rod.diameter:g} mm; take another"
                " bearing or a thinner rod"
            )
        return cls(
            rod_diameter=rod.diameter,
            hub_diameter=max(nut.width_across_corners, washer.diameter),
            hub_height=nut.height + washer.thickness,
            seat_diameter=bearing.outer_diameter,
            bearing_width=bearing.width,
            free_end=free_end,
        )


@dataclass(frozen=True)
class Spacer:
    """A distance piece between the plates: its place in the train's coordinates, diameter; mm."""

    at: tuple[float, float]
    diameter: float

    def __post_init__(self) -> None:
        for coordinate in self.at:
            number("position of a spacer", coordinate, unit="mm")
        number("diameter of a spacer", self.diameter, unit="mm", above=0.0)


@dataclass(frozen=True)
class Frame:
    """The plates between which the train stands.

    Attributes
    ----------
    plate_thickness : float
        mm; each plate carries the bearings.
    gap : float
        Axial room from one plane of gears to the next and to the plates, mm: nuts and washers
        stand in it.
    clearance : float
        Least room between what turns and anything beside it, mm (2: assumption, for run-out
        and moisture of wooden gears).
    spacers : tuple of Spacer
        Distance pieces that hold the plates apart.
    output_height : float, optional
        Height of the output shaft above the ground, or above the edge of the frame, mm; +y is up.
    ground_clearance : float
        Least height of any gear above the ground or that edge, mm (10: assumption).

    Raises
    ------
    GearworkError
        If a size cannot be.

    Examples
    --------
    >>> Frame(plate_thickness=12.0, gap=10.0).clearance
    2.0
    """

    plate_thickness: float
    gap: float
    clearance: float = 2.0
    spacers: tuple[Spacer, ...] = ()
    output_height: float | None = None
    ground_clearance: float = 10.0

    def __post_init__(self) -> None:
        number("plate thickness", self.plate_thickness, unit="mm", above=0.0)
        number("gap between planes of gears", self.gap, unit="mm", at_least=0.0)
        number("clearance", self.clearance, unit="mm", at_least=0.0)
        number("ground clearance", self.ground_clearance, unit="mm", at_least=0.0)
        if self.output_height is not None:
            number("height of the output shaft", self.output_height, unit="mm", above=0.0)
        object.__setattr__(self, "spacers", tuple(self.spacers))
