"""Stage: one pair of gears in a train; MountedGear: one gear at its place on a shaft."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, replace
from inspect import signature
from typing import Annotated, Literal, TypeVar

from gearwork.checks.tooth.mesh import CutPair
from gearwork.errors import Bound, GearworkError, check_given, check_values
from gearwork.geometry.features import Windows
from gearwork.geometry.gear import BOUNDS, MODULE, TEETH, Gear
from gearwork.geometry.pair import SIDES, GearPair, Side
from gearwork.geometry.rack import Rack
from gearwork.geometry.tooth import Cutter
from gearwork.numbers import M3, M5, Floats
from gearwork.stock.laminate import MAX_LAYERS

Size = TypeVar("Size", float, Floats)

LAYERS = Bound(at_least=1, at_most=MAX_LAYERS)
SIZE = Bound("mm", above=0.0)
ANGLE = Bound("°", at_least=-180.0, at_most=180.0)
TORQUE = Bound("N·m", above=0.0, at_most=1e6)
SPEED = Bound("rpm", above=0.0, at_most=1e5)

NO_IDLER = (
    'kind is "idler": there is no stage before it whose wheel drives on; give the first stage its'
    " own pinion"
)

WALL = 4.0
"""Wood left between the hub and the root of the teeth, mm (assumption)."""


def hub_room(root_diameter: Size) -> Size:
    """Return the diameter within which the face of a gear is whole wood, mm."""
    return root_diameter - 2 * WALL


@dataclass(frozen=True)
class Stage:
    """One pair of gears in a train; its pinion drives.

    Attributes
    ----------
    pair : GearPair
        The gears.
    face_width : float
        b, mm: thickness of both gears.
    layers : int
        Sheets that are glued together to this thickness.
    windows : Windows, optional
        Lightening windows of the wheel.
    bores : tuple of float
        Of pinion and wheel where no machine asks for others, mm; of one gear where one is cut. Of
        a rack those of its screw holes, which are all that a machine's rack has.
    torque, speed : float, optional
        Running, on the pinion, where no machine gives them; N·m, rpm.
    only : {"pinion", "wheel"}, optional
        The one gear of the pair that is to be cut.
    idler : bool
        Whether its pinion is the wheel of the stage before, an idler between two gears.
    angle : float, optional
        By how much its centre line turns off from that of the stage before, with an idler between,
        degrees. Default: as the machine is arranged; straight on without one.

    Raises
    ------
    GearworkError
        If a value cannot be.

    Examples
    --------
    >>> from gearwork import Gear, GearPair
    >>> Stage(GearPair(Gear(module=5, teeth=16), Gear(module=5, teeth=44)), face_width=24).ratio
    2.75
    """

    pair: GearPair
    face_width: Annotated[float, SIZE]
    layers: Annotated[int, LAYERS] = 1
    windows: Windows | None = None
    bores: Annotated[tuple[float, ...], SIZE] = ()
    torque: Annotated[float | None, TORQUE] = None
    speed: Annotated[float | None, SPEED] = None
    only: Side | None = None
    idler: bool = False
    angle: Annotated[float | None, ANGLE] = None

    def __post_init__(self) -> None:
        if not isinstance(self.pair, GearPair):
            raise GearworkError(f"pair of a stage is {self.pair!r}: a GearPair is needed")
        check_values(self)
        object.__setattr__(self, "bores", tuple(map(float, self.bores)))
        for name in ("torque", "speed"):
            if getattr(self, name) is not None:
                object.__setattr__(self, name, float(getattr(self, name)))

    @property
    def sides(self) -> tuple[Side, ...]:
        """Which gears are to be cut: an idler belongs to the stage before."""
        if self.idler:
            return ("wheel",)
        return SIDES if self.only is None else (self.only,)

    @property
    def axes_apart(self) -> float:
        """From the pinion's axis to the wheel's, or to the row of a rack's screw holes, mm."""
        wheel, distance = self.pair.wheel, self.pair.centre_distance
        return distance + wheel.hole_depth if isinstance(wheel, Rack) else distance

    @property
    def screw_hole(self) -> float:
        """Of a rack, diameter of its screw holes, mm; 4.5 (common practice) where none is given."""
        return self.bores[-1] if self.bores else 4.5

    def need_bench(self) -> None:
        """Refuse a stage that says too little for gears without a machine."""
        if len(self.bores) != len(self.sides):
            raise GearworkError(
                f"bores are {list(self.bores)}: one in mm is needed for"
                f" {' and '.join(self.sides)}, as wide as the rod or bearing that goes in"
            )
        if self.torque is not None and self.speed is None:
            raise GearworkError("torque is given without a speed: give the pinion's, in rpm")
        if self.windows is not None and isinstance(self.pair.wheel, Rack):
            raise GearworkError("windows are for a wheel: leave them out, a rack has none")
        if self.windows is not None and self.torque is None:
            raise GearworkError("windows weaken the wheel: give torque and speed to judge it by")

    def need_machine(self) -> None:
        """Refuse what drive, load and hubs of a machine say."""
        bar = isinstance(self.pair.wheel, Rack)
        if bar and len(self.bores) > 1:
            raise GearworkError(
                f"bores are {list(self.bores)}: of a machine's rack one is needed, its screw"
                " holes; the pinion's hub says its own"
            )
        given: dict[str, object] = {"torque": self.torque, "speed": self.speed, "only": self.only}
        given |= {"windows": self.windows} if bar else {"bores": self.bores or None}
        for name, value in given.items():
            if value is not None:
                raise GearworkError(
                    f"{name} is for gears without a machine: leave it out, drive, load and hubs"
                    " say it"
                )

    @classmethod
    def of_sheet(
        cls,
        thickness: float,
        module: Annotated[float, MODULE],
        pinion_teeth: Annotated[int, TEETH],
        wheel_teeth: Annotated[int | None, TEETH] = None,
        pinion_shift: Annotated[float, BOUNDS["profile_shift"]] = 0.0,
        wheel_shift: Annotated[float, BOUNDS["profile_shift"]] = 0.0,
        pressure_angle: Annotated[float, BOUNDS["pressure_angle"]] = 20.0,
        thinning: Annotated[float, BOUNDS["thinning"]] = 0.0,
        wheel_thinning: Annotated[float | None, BOUNDS["thinning"]] = None,
        addendum: Annotated[float, BOUNDS["addendum"]] = 1.0,
        clearance: Annotated[float, BOUNDS["clearance"]] = 0.25,
        pinion_tip_alteration: Annotated[float, BOUNDS["tip_alteration"]] = 0.0,
        wheel_tip_alteration: Annotated[float, BOUNDS["tip_alteration"]] = 0.0,
        layers: Annotated[int, LAYERS] = 1,
        centre_distance: Annotated[float | None, SIZE] = None,
        windows: Windows | None = None,
        bores: Annotated[tuple[float, ...], SIZE] = (),
        torque: Annotated[float | None, TORQUE] = None,
        speed: Annotated[float | None, SPEED] = None,
        only: Literal["pinion", "wheel"] | None = None,
        rack_teeth: Annotated[int | None, TEETH] = None,
        rack_height: Annotated[float | None, SIZE] = None,
    ) -> "Stage":
        """Return the stage that a design file describes, of sheets so thick (mm).

        Parameters
        ----------
        thickness : float
            Of a sheet, mm.
        module : float
            Of both gears, mm.
        pinion_teeth, wheel_teeth : int
            Of the driving and of the driven gear.
        pinion_shift, wheel_shift : float
            Profile shifts, coefficients of the module.
        pressure_angle : float
            Of both gears, degrees.
        thinning, wheel_thinning : float
            Taken off each tooth for backlash, mm; the wheel's by default as the pinion's.
        addendum, clearance : float
            Of both gears, coefficients of the module.
        pinion_tip_alteration, wheel_tip_alteration : float
            By how much the tip stands out farther, coefficient of the module; negative: shorter.
        layers : int
            Sheets that are glued together to one gear.
        centre_distance : float, optional
            Of the shafts, mm; to the reference line of a rack. Default: that without backlash
            beyond the thinning.
        windows : Windows, optional
            Lightening windows of the wheel.
        bores : tuple of float
            Of pinion and wheel, mm, in gears without a machine.
        torque, speed : float, optional
            Running, on the pinion, of gears without a machine, N·m and rpm.
        only : {"pinion", "wheel"}, optional
            The one gear of the pair that is to be cut, in gears without a machine.
        rack_teeth : int, optional
            Of a rack in the place of the wheel; what is said of the wheel but a shift is its.
        rack_height : float, optional
            Of the rack, from the reference line to its back, mm.
        """
        check_given(cls.of_sheet, locals())
        pinion = Gear(
            module, pinion_teeth, pinion_shift, pressure_angle, addendum, clearance, thinning,
            pinion_tip_alteration,
        )  # fmt: skip
        wheel = _mate(
            pinion, wheel_teeth, wheel_shift, wheel_thinning, wheel_tip_alteration, rack_teeth,
            rack_height,
        )  # fmt: skip
        pair = GearPair(pinion, wheel, centre_distance)
        return cls(pair, thickness * layers, layers, windows, bores, torque, speed, only)

    def onward(
        self,
        wheel_teeth: Annotated[int | None, TEETH] = None,
        wheel_shift: Annotated[float, BOUNDS["profile_shift"]] = 0.0,
        wheel_thinning: Annotated[float | None, BOUNDS["thinning"]] = None,
        wheel_tip_alteration: Annotated[float, BOUNDS["tip_alteration"]] = 0.0,
        centre_distance: Annotated[float | None, SIZE] = None,
        angle: Annotated[float | None, ANGLE] = None,
        windows: Windows | None = None,
        bores: Annotated[tuple[float, ...], SIZE] = (),
        rack_teeth: Annotated[int | None, TEETH] = None,
        rack_height: Annotated[float | None, SIZE] = None,
    ) -> "Stage":
        """Return the stage that this one's wheel drives: an idler, with a mate on either side.

        What is not said is as of the stage before. The idler's tip is the shorter one that its two
        mates ask for: `with_idlers` tells the stage before of it.

        Parameters
        ----------
        wheel_teeth : int
            Of the gear behind the idler.
        wheel_shift, wheel_thinning, wheel_tip_alteration, windows, rack_teeth, rack_height
            As of any stage; the thinning by default as the idler's.
        centre_distance : float, optional
            From the idler to the gear behind it, mm. Default: that without backlash beyond the
            thinning.
        angle : float, optional
            By how much the line from the idler to that gear turns off from the line that leads to
            the idler, degrees, counter-clockwise seen from the load's side; 0: in line. Default: as
            the frame is arranged, in line without one.
        bores : tuple of float
            Of the gear behind the idler, one, in gears without a machine.
        """
        check_given(Stage.onward, locals())
        idler = self.pair.wheel
        if isinstance(idler, Rack):
            raise GearworkError("the stage before ends in a rack: an idler is a gear")
        wheel = _mate(
            idler, wheel_teeth, wheel_shift, wheel_thinning, wheel_tip_alteration, rack_teeth,
            rack_height,
        )  # fmt: skip
        return Stage(
            GearPair(idler, wheel, centre_distance),
            self.face_width,
            self.layers,
            windows,
            bores,
            self.torque and self.torque * self.ratio,
            self.speed and self.speed / self.ratio,
            idler=True,
            angle=angle,
        )

    @property
    def toml(self) -> str:
        """The stage as a table of the design file; what is as by default is left out.

        Raises
        ------
        GearworkError
            If addendum or clearance of the gears differ: the file has one for both.
        """
        pinion, wheel = self.pair.pinion, self.pair.wheel
        for name in ("addendum", "clearance"):
            one, other = getattr(pinion, name), getattr(wheel, name)
            if one != other:
                raise GearworkError(
                    f"{name} is {one:g} on the pinion and {other:g} on the wheel: a design file"
                    " says one for both; give both gears the same"
                )
        first, second, distance = self.pair.as_given
        said = {
            "module": pinion.module,
            "pinion_teeth": int(pinion.teeth),
            "rack_teeth" if isinstance(wheel, Rack) else "wheel_teeth": int(wheel.teeth),
            "rack_height": wheel.height if isinstance(wheel, Rack) else None,
            "pinion_shift": pinion.profile_shift,
            "wheel_shift": wheel.profile_shift,
            "pressure_angle": pinion.pressure_angle,
            "thinning": pinion.thinning,
            "wheel_thinning": wheel.thinning if wheel.thinning != pinion.thinning else None,
            "addendum": pinion.addendum,
            "clearance": pinion.clearance,
            "layers": self.layers,
            "pinion_tip_alteration": first.tip_alteration,
            "wheel_tip_alteration": second.tip_alteration,
            "centre_distance": distance,
            "bores": [*self.bores] or (),
            "torque": self.torque,
            "speed": self.speed,
        }
        usual, keys = signature(Stage.of_sheet).parameters, []
        if self.idler:  # the rest is of the stage before
            usual, keys = signature(Stage.onward).parameters, ['kind = "idler"']
            said["angle"] = self.angle
        keys += [
            f"{name} = {v!r}"
            for name, v in said.items()
            if name in usual and v != usual[name].default
        ]
        if self.only:
            keys.append(f'only = "{self.only}"')
        if self.windows is not None:
            sizes = ", ".join(f"{name} = {v!r}" for name, v in asdict(self.windows).items())
            keys.append(f"windows = {{ {sizes} }}")
        return "\n".join(["[[stage]]", *keys, ""])

    @property
    def ratio(self) -> float:
        """u = z_wheel / z_pinion: speed of its pinion over speed of its wheel."""
        return self.pair.gear_ratio


def _mate(
    pinion: Gear,
    teeth: int | None,
    shift: float,
    thinning: float | None,
    tip_alteration: float,
    rack_teeth: int | None,
    rack_height: float | None,
) -> Gear:
    """The wheel or rack that a stage of a design file has beside its pinion."""
    if rack_teeth is None and rack_height is not None:
        raise GearworkError("rack_height is for a rack: give rack_teeth, or leave it out")
    if (teeth is None) == (rack_teeth is None):
        missing = "is missing" if teeth is None else "and rack_teeth are both given"
        raise GearworkError(f"wheel_teeth {missing}: give one, or rack_teeth where it is a rack")
    if rack_teeth is not None and shift:
        raise GearworkError(
            f"wheel_shift is {shift:g}: a rack has none; shift the pinion, or move the axis by"
            " centre_distance"
        )
    thinned = pinion.thinning if thinning is None else thinning
    shape = pinion.pressure_angle, pinion.addendum, pinion.clearance, thinned, tip_alteration
    if teeth is not None:
        return Gear(pinion.module, teeth, shift, *shape)
    return Rack(pinion.module, rack_teeth or 0, *shape, height=rack_height)


def with_idlers(stages: Iterable[Stage]) -> tuple[Stage, ...]:
    """Return the stages, each idler with the one tip that both its mates leave room for."""
    found = list(stages)
    for before, stage in reversed([*enumerate(found[1:])]):
        if stage.idler and found[before].pair.wheel != stage.pair.pinion:
            first = found[before].pair
            joined = GearPair(first.pinion, stage.pair.pinion, first.centre_distance)
            found[before] = replace(found[before], pair=joined)
    return tuple(found)


def check_idlers(stages: Sequence[Stage]) -> None:
    """Refuse a stage that begins with an idler which the one before does not end in."""
    for number, stage in enumerate(stages, 1):
        if not stage.idler:
            continue
        before = stages[number - 2] if number > 1 else None
        place = f"[stage {number}]"
        if before is None:
            raise GearworkError(f"{place} {NO_IDLER}")
        same = ("face_width", "layers")
        shared = all(getattr(before, name) == getattr(stage, name) for name in same)
        if before.pair.wheel != stage.pair.pinion or not shared:
            raise GearworkError(
                f"{place} its pinion is not the wheel of the stage before, of the same layers: an"
                " idler is one gear; make the stage by `onward`, and all of them by `with_idlers`"
            )
        if before.only is not None or stage.only is not None:
            raise GearworkError(f"{place} only is for a pair: leave it out where an idler is")
        if before.windows is not None:
            raise GearworkError(
                f"[stage {number - 1}] windows are for a wheel: leave them out, its wheel is an"
                " idler, whose rim is pressed from two sides; nothing is known here of how that"
                " bends a rim with windows"
            )


def drives_on(stages: Sequence[Stage], number: int) -> bool:
    """Return whether the wheel of a stage is an idler, the pinion of the next."""
    return number + 1 < len(stages) and stages[number + 1].idler


def cut_pairs(stages: Sequence[Stage], bit: Cutter) -> tuple[CutPair, ...]:
    """Return every pair with its teeth as the bit leaves them, an idler's suiting both mates."""
    return tuple(
        CutPair(
            stage.pair,
            bit,
            before=stages[i - 1].pair if stage.idler else None,
            after=stages[i + 1].pair if drives_on(stages, i) else None,
        )
        for i, stage in enumerate(stages)
    )


def own_place(stages: Sequence[Stage], number: int, side: Side) -> tuple[int, Side]:
    """Return the stage a gear counts with and its side there: an idler with the one before."""
    if side == "pinion" and stages[number].idler:
        return number - 1, "wheel"
    return number, side


def gear_name(stages: Sequence[Stage], number: int, side: Side) -> str:
    """Return "pinion 1", "idler 1", "wheel 2": what a gear of a stage is called."""
    own, side = own_place(stages, number, side)
    idler = side == "wheel" and drives_on(stages, own)
    return f"{'idler' if idler else stages[own].pair.called(side)} {own + 1}"


@dataclass(frozen=True)
class MountedGear:
    """One gear at its place in a train, named "pinion 1", "wheel 1" and so on."""

    name: str
    gear: Gear
    stage: int
    shaft: int
    plane: int  # the lowest plane of gears is 0
    start: float  # its faces along z, mm
    end: float
    pitch_diameter: float  # working pitch diameter d_w, mm
    bore: float  # diameter of the rod through it, mm
    windows: Windows | None = None

    @property
    def drives(self) -> bool:
        """Whether it is the pinion of its stage."""
        return self.shaft == self.stage

    @property
    def circles(self) -> tuple[str, float, float, float]:
        """Name, working pitch, tip and root diameter, mm."""
        return self.name, self.pitch_diameter, self.gear.tip_diameter, self.gear.root_diameter

    @property
    def side(self) -> Side:
        """Which gear of its pair it is."""
        return "pinion" if self.drives else "wheel"

    def mass(self, density: float) -> float:
        """Return the mass, kg, at a density in kg/m³: no windows, teeth fill half of their ring.

        Within 1 % from 30 teeth on; up to 5 % too much, and inertia 16 %, down to 10 teeth.
        """
        return M3 * density * (self.end - self.start) * (math.pi / 4 * self._ring(2))

    def inertia(self, density: float) -> float:
        """Return the moment of inertia about its axis, kg·m²; as `mass`."""
        return M5 * density * (self.end - self.start) * (math.pi / 32 * self._ring(4))

    def _ring(self, power: int) -> float:
        mean = (self.gear.root_diameter**power + self.gear.tip_diameter**power) / 2
        return mean - self.bore**power
