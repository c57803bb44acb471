"""The figures of a gear and of a pair by their terms (ISO 1122-1) and symbols (ISO 701)."""

from typing import NamedTuple

from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import GearPair
from gearwork.geometry.rack import Rack
from gearwork.numbers import fixed


class Quantity(NamedTuple):
    """One figure: its term, its symbol with the index after an underscore, value and unit."""

    term: str
    symbol: str
    value: str
    unit: str = ""


def gear_data(gear: Gear, digits: int = 3) -> list[Quantity]:
    """Return the figures that define a gear or rack and those to measure on it."""
    found = [
        Quantity("number of teeth", "z", f"{gear.teeth:g}"),
        Quantity("module", "m", f"{gear.module:g}", "mm"),
        Quantity("pressure angle", "α", f"{gear.pressure_angle:g}", "°"),
    ]
    if isinstance(gear, Rack):
        where, spans, last = "line", [], []
        lengths = [
            ("pitch", "p", gear.pitch),
            ("length", "L", gear.length),
            ("addendum, above the reference line", "h_a", gear.tip_height),
            ("dedendum, below it, as designed", "h_f", gear.root_depth),
            ("back, below it", "H", gear.back_depth),
            ("row of screw holes, below it", "", gear.hole_depth),
        ]
    else:
        found.append(Quantity("profile shift coefficient", "x", fixed(gear.profile_shift, 3)))
        where, spans = "circle", [("span measurement over k teeth", "W_k", gear.span())]
        last = [Quantity("teeth spanned", "k", f"{gear.default_teeth_spanned:g}")]
        lengths = [
            ("reference diameter", "d", gear.reference_diameter),
            ("base diameter", "d_b", gear.base_diameter),
            ("tip diameter", "d_a", gear.tip_diameter),
            ("root diameter, as designed", "d_f", gear.root_diameter),
            ("tooth depth", "h", gear.tooth_depth),
        ]
    lengths += [
        (f"tooth thickness on the reference {where}", "s", gear.tooth_thickness),
        ("of this taken off for backlash", "Δs", gear.thinning),
        ("tooth thickness at the tip", "s_a", gear.tip_thickness),
        *spans,
    ]
    found += [Quantity(term, sign, fixed(mm, digits), "mm") for term, sign, mm in lengths]
    return found + last


def pair_data(pair: GearPair, digits: int = 3) -> list[Quantity]:
    """Return the figures of two gears in mesh; `digits` decimals for lengths."""

    def both(values: tuple[float, float], places: int = digits) -> str:
        return " / ".join(fixed(value, places) for value in values)

    pitches = pair.working_pitch_diameters
    if isinstance(pair.wheel, Rack):
        travel = fixed(pair.travel_per_turn, digits)
        ratio = Quantity("travel in a turn of the pinion", "π d_w", travel, "mm")
        counted, of, shown = ", to the reference line", " of the pinion", fixed(pitches[0], digits)
    else:
        ratio = Quantity("gear ratio", "u", fixed(pair.gear_ratio, 4))
        counted, of, shown = "", "s, pinion / wheel", both(pitches)
    names = f"pinion / {pair.called('wheel')}"
    bad = "yes: this pair cannot run" if pair.interferes else "no"
    return [
        ratio,
        Quantity(f"centre distance{counted}", "a_w", fixed(pair.centre_distance, digits), "mm"),
        Quantity("working pressure angle", "α_w", fixed(pair.working_pressure_angle, 3), "°"),
        Quantity(f"working pitch diameter{of}", "d_w", shown, "mm"),
        Quantity("length of path of contact", "g_α", fixed(pair.path_of_contact, digits), "mm"),
        Quantity("contact ratio", "ε_α", fixed(pair.contact_ratio, 3)),
        Quantity("circumferential backlash", "j_wt", fixed(pair.backlash, digits), "mm"),
        Quantity("normal backlash", "j_bn", fixed(pair.normal_backlash, digits), "mm"),
        Quantity(f"tip clearance, {names}", "c", both(pair.tip_clearances), "mm"),
        Quantity(f"specific sliding, {names}", "ζ", both(pair.specific_sliding, 2)),
        Quantity("interference", "", bad),
    ]
