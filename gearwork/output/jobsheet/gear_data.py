"""The figures of a gear and of a pair by their terms (ISO 1122-1) and symbols (ISO 701)."""

from collections.abc import Iterator
from dataclasses import dataclass

from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import GearPair
from gearwork.numbers import fixed


@dataclass(frozen=True)
class Quantity:
    """One figure: its term, its symbol with the index after an underscore, value and unit."""

    term: str
    symbol: str
    value: str
    unit: str = ""


def gear_data(gear: Gear, digits: int = 3) -> tuple[Quantity, ...]:
    """Return the figures that define a gear and those to measure on it."""
    spanned = int(gear.default_teeth_spanned)
    lengths = (
        ("reference diameter", "d", gear.reference_diameter),
        ("base diameter", "d_b", gear.base_diameter),
        ("tip diameter", "d_a", gear.tip_diameter),
        ("root diameter, as designed", "d_f", gear.root_diameter),
        ("tooth depth", "h", gear.tooth_depth),
        ("tooth thickness on the reference circle", "s", gear.tooth_thickness),
        ("of this taken off for backlash", "Δs", gear.thinning),
        ("tooth thickness at the tip", "s_a", gear.tip_thickness),
        (f"span measurement over {spanned} teeth", f"W_{spanned}", gear.span()),
    )
    return (
        Quantity("number of teeth", "z", f"{gear.teeth:g}"),
        Quantity("module", "m", f"{gear.module:g}", "mm"),
        Quantity("pressure angle", "α", f"{gear.pressure_angle:g}", "°"),
        Quantity("profile shift coefficient", "x", fixed(gear.profile_shift, 3)),
        *(Quantity(term, sign, fixed(value, digits), "mm") for term, sign, value in lengths),
    )


def pair_data(pair: GearPair, digits: int = 3) -> tuple[Quantity, ...]:
    """Return the figures of two gears in mesh; `digits` decimals for lengths."""
    return tuple(_pair_data(pair, digits))


def _pair_data(pair: GearPair, digits: int) -> Iterator[Quantity]:
    def both(values: tuple[float, float], places: int = digits) -> str:
        return " / ".join(fixed(value, places) for value in values)

    yield Quantity("gear ratio", "u", fixed(pair.gear_ratio, 4))
    yield Quantity("centre distance", "a_w", fixed(pair.centre_distance, digits), "mm")
    yield Quantity("working pressure angle", "α_w", fixed(pair.working_pressure_angle, 3), "°")
    yield Quantity(
        "working pitch diameters, pinion / wheel", "d_w", both(pair.working_pitch_diameters), "mm"
    )
    yield Quantity("length of path of contact", "g_α", fixed(pair.path_of_contact, digits), "mm")
    yield Quantity("contact ratio", "ε_α", fixed(pair.contact_ratio, 3))
    yield Quantity("circumferential backlash", "j_wt", fixed(pair.backlash, digits), "mm")
    yield Quantity("normal backlash", "j_bn", fixed(pair.normal_backlash, digits), "mm")
    yield Quantity("tip clearance, pinion / wheel", "c", both(pair.tip_clearances), "mm")
    yield Quantity("specific sliding, pinion / wheel", "ζ", both(pair.specific_sliding, 2))
    yield Quantity("interference", "", "yes: this pair cannot run" if pair.interferes else "no")
