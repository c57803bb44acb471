"""The figures of a gear and of a pair by their terms (ISO 1122-1) and symbols (ISO 701)."""

from collections.abc import Iterator
from dataclasses import dataclass

from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import GearPair
from gearwork.geometry.rack import Rack
from gearwork.numbers import fixed


@dataclass(frozen=True)
class Quantity:
    """One figure: its term, its symbol with the index after an underscore, value and unit."""

    term: str
    symbol: str
    value: str
    unit: str = ""


def gear_data(gear: Gear, digits: int = 3) -> tuple[Quantity, ...]:
    """Return the figures that define a gear or rack and those to measure on it."""
    rack = isinstance(gear, Rack)
    shift = Quantity("profile shift coefficient", "x", fixed(gear.profile_shift, 3))
    lengths = _bar_lengths(gear) if isinstance(gear, Rack) else _wheel_lengths(gear)
    return (
        Quantity("number of teeth", "z", f"{gear.teeth:g}"),
        Quantity("module", "m", f"{gear.module:g}", "mm"),
        Quantity("pressure angle", "α", f"{gear.pressure_angle:g}", "°"),
        *(() if rack else (shift,)),
        *(Quantity(term, sign, fixed(value, digits), "mm") for term, sign, value in lengths),
        *(() if rack else (Quantity("teeth spanned", "k", f"{gear.default_teeth_spanned:g}"),)),
    )


Lengths = tuple[tuple[str, str, float], ...]


def _wheel_lengths(gear: Gear) -> Lengths:
    return (
        ("reference diameter", "d", gear.reference_diameter),
        ("base diameter", "d_b", gear.base_diameter),
        ("tip diameter", "d_a", gear.tip_diameter),
        ("root diameter, as designed", "d_f", gear.root_diameter),
        ("tooth depth", "h", gear.tooth_depth),
        ("tooth thickness on the reference circle", "s", gear.tooth_thickness),
        ("of this taken off for backlash", "Δs", gear.thinning),
        ("tooth thickness at the tip", "s_a", gear.tip_thickness),
        ("span measurement over k teeth", "W_k", gear.span()),
    )


def _bar_lengths(rack: Rack) -> Lengths:
    return (
        ("pitch", "p", rack.pitch),
        ("length", "L", rack.length),
        ("addendum, above the reference line", "h_a", rack.tip_height),
        ("dedendum, below it, as designed", "h_f", rack.root_depth),
        ("back, below it", "H", rack.back_depth),
        ("row of screw holes, below it", "", rack.hole_depth),
        ("tooth thickness on the reference line", "s", rack.tooth_thickness),
        ("of this taken off for backlash", "Δs", rack.thinning),
        ("tooth thickness at the tip", "s_a", rack.tip_thickness),
    )


def pair_data(pair: GearPair, digits: int = 3) -> tuple[Quantity, ...]:
    """Return the figures of two gears in mesh; `digits` decimals for lengths."""
    return tuple(_pair_data(pair, digits))


def _pair_data(pair: GearPair, digits: int) -> Iterator[Quantity]:
    def both(values: tuple[float, float], places: int = digits) -> str:
        return " / ".join(fixed(value, places) for value in values)

    straight = isinstance(pair.wheel, Rack)
    if straight:
        travel = fixed(pair.travel_per_turn, digits)
        yield Quantity("travel in a turn of the pinion", "π d_w", travel, "mm")
    else:
        yield Quantity("gear ratio", "u", fixed(pair.gear_ratio, 4))
    counted = "centre distance, to the reference line" if straight else "centre distance"
    yield Quantity(counted, "a_w", fixed(pair.centre_distance, digits), "mm")
    yield Quantity("working pressure angle", "α_w", fixed(pair.working_pressure_angle, 3), "°")
    first, second = pair.working_pitch_diameters
    if straight:
        yield Quantity("working pitch diameter of the pinion", "d_w", fixed(first, digits), "mm")
    else:
        pitches = both((first, second))
        yield Quantity("working pitch diameters, pinion / wheel", "d_w", pitches, "mm")
    yield Quantity("length of path of contact", "g_α", fixed(pair.path_of_contact, digits), "mm")
    yield Quantity("contact ratio", "ε_α", fixed(pair.contact_ratio, 3))
    yield Quantity("circumferential backlash", "j_wt", fixed(pair.backlash, digits), "mm")
    yield Quantity("normal backlash", "j_bn", fixed(pair.normal_backlash, digits), "mm")
    names = f"pinion / {pair.called('wheel')}"
    yield Quantity(f"tip clearance, {names}", "c", both(pair.tip_clearances), "mm")
    yield Quantity(f"specific sliding, {names}", "ζ", both(pair.specific_sliding, 2))
    yield Quantity("interference", "", "yes: this pair cannot run" if pair.interferes else "no")
