"""What the workshop and the weather do to a mesh: sampling of everything that is not exact.

Cutting moves a flank square to itself (`GearShape.offset`). Moisture scales a gear as a whole.
With that every sample is a pair of gears at a distance, and its backlash, clearance and contact
ratio come from the formulas of `PairShape`, not from a linear estimate. From them come the chance
that a mesh binds or loses overlap, and the setting that makes it small enough.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Annotated, Any, Literal, NamedTuple

import numpy as np

from gearwork.checks.check import Check, CheckReport, Step, Subject, Way
from gearwork.checks.hub.centring import TRUED, Centring
from gearwork.checks.tooth.mesh import MIN_CONTACT_RATIO, CutPair, need_cut_pair
from gearwork.errors import Bound, GearworkError, check_values, need, number, whole_number
from gearwork.geometry.gear import GearShape
from gearwork.geometry.pair import GearPair, PairShape, base_distance
from gearwork.numbers import Floats
from gearwork.stock.timber import swelling

Frame = Literal["wood", "steel"]

SAMPLES = 100_000  # of which 1 % is known to 0.03 %, in about a second
ACCEPTED = 0.01  # chance of binding, and of too little overlap, that is put up with (assumption)
SOURCE = "sampling with the formulas of the pair; scatter and accepted chance are assumptions"
STEP, ROUNDS, GRID = 1e-5, 15, 1e-2
"""Where a search ends, mm or rounds, and what its result is rounded to, mm."""


_MISS = Bound("mm", at_least=0.0, at_most=5.0)
_MOISTURE = Bound("percentage points", at_least=0.0, at_most=30.0)
_DRIFT = Bound("percentage points", at_least=-30.0, at_most=30.0)


@dataclass(frozen=True)
class Scatter:
    """How far a workshop misses what is drawn; the defaults are assumptions, measure your own.

    Errors are normally distributed about 0; each figure is a standard deviation unless it says
    otherwise.

    Attributes
    ----------
    cutting_error : float
        Offset of a gear's flanks, square to them, mm; each gear its own.
    bit_diameter : float
        Doubt about what the bit cuts, mm; the same bit cuts both gears, half of it off each
        flank.
    centre_distance : float
        Of the shafts, mm.
    eccentricity : float, optional
        Of a gear's teeth to its shaft, mm, along either of two axes: the run-out that a dial
        gauge shows is twice the distance of the centres. Default: by the fits of bore, rod and
        bearing, and `max_run_out`.
    moisture_change : float
        Mean change of the wood's moisture content from cutting to use, percentage points;
        `equilibrium_moisture` tells what wood takes on in air.
    moisture : float
        Scatter of that change, percentage points; both gears alike.
    moisture_difference : float
        Between gears and a wooden frame, percentage points.
    frame : {"wood", "steel"}
        What holds the shafts apart: sheets like those of the gears, or something that does not
        swell.
    deflection : float
        How far the shafts bend apart under load, mm, not scattered. It takes overlap, and no
        binding is forgiven for it.
    max_run_out : float
        What a gear trued on its rod may show on a pointer, full swing, mm, not scattered. It
        counts in full; where the fits are better than that, they count. Large: gears are not
        trued.

    Raises
    ------
    GearworkError
        If a figure is negative or not a number, or the frame is unknown.

    Examples
    --------
    A workshop that cuts twice as exactly, in a dry shed.

    >>> Scatter(cutting_error=0.015, bit_diameter=0.01, moisture=1.0).frame
    'wood'
    """

    cutting_error: Annotated[float, _MISS] = 0.03
    bit_diameter: Annotated[float, _MISS] = 0.02
    centre_distance: Annotated[float, _MISS] = 0.05
    eccentricity: Annotated[float | None, _MISS] = None
    moisture_change: Annotated[float, _DRIFT] = 0.0
    moisture: Annotated[float, _MOISTURE] = 2.0
    moisture_difference: Annotated[float, _MOISTURE] = 0.5
    frame: Frame = "wood"
    deflection: Annotated[float, _MISS] = 0.0
    max_run_out: Annotated[float, _MISS] = TRUED

    def __post_init__(self) -> None:
        check_values(self)


class Drawn(NamedTuple):
    """Errors drawn, one of each for each of n samples."""

    flanks: Floats  # offset of the flanks of pinion and wheel, mm of wood too much, (2, n)
    eccentricities: Floats  # distance of the teeth's centre from the shaft's, mm, (2, n)
    shafts: Floats  # error of the centre distance, mm, (n,)
    gear_growth: Floats  # size in use over size when cut, (n,)
    frame_growth: Floats


@dataclass(frozen=True, eq=False)
class Spread:
    """What becomes of a pair, one entry a sample; all arrays have the shape (n,)."""

    backlash: Floats  # smallest j_wt through the turn, both eccentric gears at their nearest, mm
    normal_backlash: Floats  # the same square to the flanks, j_bn, mm
    widest_backlash: Floats  # largest j_wt through the turn, mm
    tip_clearance: Floats  # smallest room between a tip and the mate's root, mm
    contact_ratio: Floats  # smallest ε_α through the turn, the shafts bent apart

    @property
    def chance_of_binding(self) -> float:
        """Share of samples whose flanks or tips overlap somewhere in the turn."""
        return float(np.mean((self.backlash < 0.0) | (self.tip_clearance < 0.0)))

    def chance_of_overlap_below(self, contact_ratio: float) -> float:
        """Return the share of samples whose contact ratio falls below the given one."""
        return float(np.mean(self.contact_ratio < contact_ratio))

    def standard_error(self, chance: float) -> float:
        """Return how exactly a chance is known from this many samples."""
        return float(np.sqrt(chance * (1.0 - chance) / len(self.backlash)))


Centrings = tuple[Centring, Centring]
"""How pinion and wheel are centred."""


def draw(
    scatter: Scatter, samples: int = SAMPLES, seed: int = 0, centrings: Centrings | None = None
) -> Drawn:
    """Draw errors; the same seed gives the same ones.

    A typed eccentricity goes before the fits of the gears (`centrings`); without either, both
    gears swing by all that trueing leaves.
    """
    count = whole_number("samples", samples, at_least=100, at_most=10_000_000)
    random = np.random.default_rng(whole_number("seed", seed, at_least=0))
    normal = random.standard_normal((10, count))
    cutting = scatter.cutting_error * normal[0:2] - scatter.bit_diameter / 2 * normal[2]
    if scatter.eccentricity is not None:
        off = scatter.eccentricity * np.hypot(normal[3:5], normal[5:7])
    elif centrings is None:
        off = np.full((2, count), scatter.max_run_out / 2.0)
    else:
        rods, turns = random.random((2, count)), 2.0 * np.pi * random.random((2, count))
        # wood too much on the flanks is wood too much in the bore
        off = np.array(
            [
                one.eccentricity(one.bore - 2.0 * flank, rod, turn, scatter.max_run_out)
                for one, flank, rod, turn in zip(centrings, cutting, rods, turns, strict=True)
            ]
        )
    moisture = scatter.moisture_change + scatter.moisture * normal[8]
    frame = moisture + scatter.moisture_difference * normal[9]
    return Drawn(
        flanks=cutting,
        eccentricities=off,
        shafts=scatter.centre_distance * normal[7],
        gear_growth=1.0 + swelling(moisture),
        frame_growth=1.0 + swelling(frame if scatter.frame == "wood" else 0.0 * frame),
    )


def sample_pair(
    cut: CutPair, scatter: Scatter | None = None, *, samples: int = SAMPLES, seed: int = 0
) -> Spread:
    """Return what becomes of a pair when nothing is exact.

    Parameters
    ----------
    cut : CutPair
        As designed, with its roots as the bit leaves them.
    scatter : Scatter, optional
        Default: the assumptions of `Scatter`.
    samples, seed : int
        How many, and where the random numbers start.

    Returns
    -------
    Spread
        Backlash, clearance and contact ratio of every sample, and the chance of binding.

    Raises
    ------
    GearworkError
        If samples or seed are out of range.

    Examples
    --------
    Without any scatter every sample is the pair as designed.

    >>> import gearwork as gw
    >>> pair = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 38, thinning=0.2))
    >>> exact = Scatter(0, 0, 0, 0, moisture=0, moisture_difference=0)
    >>> spread = sample_pair(gw.CutPair(pair, gw.Bit(3.0)), exact, samples=100)
    >>> bool(abs(spread.backlash - pair.backlash).max() < 1e-9)
    True
    """
    need_cut_pair("sample_pair", cut)
    given = _scatter("sample_pair", scatter)
    return spread_at(Setting.of(cut), draw(given, samples, seed), given.deflection)


def _scatter(caller: str, given: Scatter | None) -> Scatter:
    found = Scatter() if given is None else given
    need(caller, found, Scatter, "a Scatter", "gw.Scatter(cutting_error=0.05)")
    return found


class Setting(NamedTuple):
    """Gears with their roots as cut, and the distance they are set at."""

    pinion: GearShape[Any]
    wheel: GearShape[Any]
    distance: float

    @classmethod
    def of(cls, cut: CutPair) -> "Setting":
        """Return a pair as designed, with its roots as the bit leaves them."""
        pinion, wheel = (
            replace(
                gear.shape,
                clearance=gear.clearance
                - (tooth.root_diameter - gear.root_diameter) / 2 / gear.module,
            )
            for _, gear, _, tooth in cut.sides()
        )
        return cls(pinion, wheel, cut.pair.centre_distance)

    @property
    def working_angle(self) -> float:
        """α_w, radians."""
        distance = max(self.distance, base_distance(self.pinion, self.wheel))
        return float(np.radians(PairShape(*self[:2], distance).working_pressure_angle))

    @property
    def closest(self) -> float:
        """Distance below which a `GearPair` would shorten the tips, mm."""
        gears = self.pinion, self.wheel
        return max(
            float(
                gear.tip_diameter / 2
                + mate.root_diameter / 2
                + mate.clearance * mate.module
                - gear.datum_radius
                - mate.datum_radius
            )
            for gear, mate in (gears, gears[::-1])
        )

    def thinned(self, thinning: float) -> "Setting":
        """Return the gears with both their teeth thinner by so much, mm."""
        pinion, wheel = (
            replace(gear, thinning=gear.thinning + thinning) for gear in (self.pinion, self.wheel)
        )
        return Setting(pinion, wheel, self.distance)


def spread_at(setting: Setting, drawn: Drawn, deflection: float) -> Spread:
    """Return what becomes of gears set like this under the errors drawn."""
    growth = drawn.gear_growth
    pinion, wheel = (
        replace(gear, module=gear.module * growth, thinning=gear.thinning * growth).offset(flank)
        for gear, flank in zip((setting.pinion, setting.wheel), drawn.flanks, strict=True)
    )
    distance = setting.distance * drawn.frame_growth + drawn.shafts
    swing = drawn.eccentricities.sum(axis=0)
    least = base_distance(pinion, wheel)
    near = PairShape(pinion, wheel, np.maximum(distance - swing, least))
    far = PairShape(pinion, wheel, np.maximum(distance + swing, least))
    loaded = replace(far, centre_distance=far.centre_distance + deflection)
    return Spread(
        backlash=near.backlash,
        normal_backlash=near.normal_backlash,
        widest_backlash=far.backlash,
        tip_clearance=np.minimum(*near.tip_clearances),
        contact_ratio=loaded.contact_ratio,
    )


@dataclass(frozen=True, eq=False)
class SafeSetting:
    """A centre distance and a thinning, mm, that keep the chances accepted, and the spread then.

    The thinning is to be added to that of both gears, on the reference circle; 0 where the
    distance alone is enough.
    """

    centre_distance: float
    added_thinning: float
    spread: Spread


def safe_setting(cut: CutPair, search: "SettingSearch", own: Spread) -> SafeSetting:
    """The setting nearest to the pair's own, where it becomes `own`, that does neither.

    The shafts are moved as far as that alone helps; teeth are thinned only where the overlap does
    not allow the distance that the play asks for. The gears keep their tips; longer ones, which
    wider shafts would allow, are not counted on. An error if no setting of this pair keeps both.
    """
    setting, thinning = search.apart(Setting.of(cut)), 0.0
    if not search.keeps_overlap(search.spread(setting)):
        setting = search.together(setting)
        thinning = search.thinning(setting)
    spread = search.spread(setting.thinned(thinning))
    if spread.chance_of_binding > search.accepted or not search.keeps_overlap(spread):
        raise GearworkError(
            f"contact ratio to keep is {search.contact_ratio:g} with a chance of"
            f" {search.accepted:g} that less is left or that the mesh binds: no distance and"
            f" thinning of {cut.pair!r} does both. At its own distance it keeps"
            f" {search.allowed(own.contact_ratio):.3f} that surely;"
            " ask for less, work more exactly, or take more addendum or a larger module"
        )
    return SafeSetting(setting.distance, thinning, spread)


class SettingSearch(NamedTuple):
    """A search with the same errors at every setting, so that chances change steadily."""

    drawn: Drawn
    deflection: float
    accepted: float
    contact_ratio: float

    @classmethod
    def over(
        cls, drawn: Drawn, scatter: Scatter, accepted: float, contact_ratio: float
    ) -> "SettingSearch":
        """Refuse chances that so few samples do not tell, and overlaps that no pair has."""
        return cls(
            drawn,
            scatter.deflection,
            number("accepted chance", accepted, at_least=10 / len(drawn.shafts), at_most=0.5),
            number("contact ratio to keep", contact_ratio, at_least=0.5, at_most=3.0),
        )

    def spread(self, setting: Setting) -> Spread:
        """Return what becomes of the gears there."""
        return spread_at(setting, self.drawn, self.deflection)

    def keeps_overlap(self, spread: Spread) -> bool:
        """Whether too little overlap is as rare as accepted."""
        return spread.chance_of_overlap_below(self.contact_ratio) <= self.accepted

    def allowed(self, margins: Floats) -> float:
        """The margin that just the accepted share of samples fall below."""
        rank = int(self.accepted * len(margins))
        return float(np.partition(margins, rank)[rank])

    def apart(self, setting: Setting) -> Setting:
        """Shafts moved apart, if need be, until binding is as rare as accepted."""

        def missing(distance: float) -> float:
            moved = setting._replace(distance=distance)
            spread = self.spread(moved)
            room = np.minimum(
                spread.backlash / (2 * np.tan(moved.working_angle)), spread.tip_clearance
            )
            return max(-self.allowed(room), 0.0)

        return setting._replace(distance=_settled(setting.distance, missing, 1))

    def together(self, setting: Setting) -> Setting:
        """Shafts moved together until too little overlap is as rare as accepted.

        Not so near that tips would be shortened, which loses more overlap than nearness gains.
        """

        def missing(distance: float) -> float:
            moved = setting._replace(distance=distance)
            spare = self.spread(moved).contact_ratio - self.contact_ratio
            pitch = setting.pinion.base_pitch * np.sin(moved.working_angle)
            return float(min(self.allowed(spare), 0.0) * pitch)

        distance = _settled(setting.distance, missing, -1)
        return setting._replace(distance=max(distance, setting.closest))

    def thinning(self, setting: Setting) -> float:
        """Thinning to add to both gears until binding is as rare as accepted, mm."""

        def missing(thinning: float) -> float:
            spread = self.spread(setting.thinned(thinning))
            play = np.where(spread.tip_clearance < 0.0, -np.inf, spread.backlash)
            allowed = self.allowed(play)
            return max(-allowed / 2, 0.0) if np.isfinite(allowed) else 0.0

        return _settled(0.0, missing, 1)


def _settled(start: float, missing: Callable[[float], float], sign: int) -> float:
    """Follow what is missing until nothing is, rounded in the direction given."""
    value = start
    for _ in range(ROUNDS):
        step = missing(value)
        value += step
        if abs(step) < STEP:
            break
    if value == start:
        return start
    return float(sign * np.ceil(sign * value / GRID + 1e-6) * GRID)


def check_tolerance(
    cut: CutPair,
    scatter: Scatter | None = None,
    *,
    accepted: float = ACCEPTED,
    contact_ratio: float = MIN_CONTACT_RATIO,
    samples: int = SAMPLES,
    seed: int = 0,
    centrings: Centrings | None = None,
) -> CheckReport:
    """Judge whether a pair binds or loses overlap too often when nothing is exact.

    The remedy is the nearest setting of the shafts, and the thinning, that does neither.

    Parameters
    ----------
    cut : CutPair
        As designed, with its roots as the bit leaves them.
    scatter : Scatter, optional
        Default: the assumptions of `Scatter`.
    accepted : float
        Chance of binding, and chance of too little overlap, to put up with.
    contact_ratio : float
        Overlap to keep.
    samples, seed
        As for `sample_pair`.
    centrings : tuple of Centring, optional
        How pinion and wheel sit on their rods. Default: both trued to `scatter.max_run_out`.

    Returns
    -------
    CheckReport
        Chances from 0 to 1.

    Raises
    ------
    GearworkError
        If a number is out of its range.

    Examples
    --------
    Teeth without play bind in about every workshop; 0.2 mm off each tooth cures that.

    >>> import gearwork as gw
    >>> for thinning in (0.0, 0.2):
    ...     pair = gw.GearPair(*(gw.Gear(5, z, 0.2, thinning=thinning) for z in (14, 38)))
    ...     print(check_tolerance(gw.CutPair(pair, gw.Bit(3.0)), samples=1000).ok)
    False
    True
    """
    need_cut_pair("check_tolerance", cut)
    given = _scatter("check_tolerance", scatter)
    drawn = draw(given, samples, seed, centrings)
    spread = spread_at(Setting.of(cut), drawn, given.deflection)
    run_out, basis = _run_out(given, centrings)
    binding = spread.chance_of_binding
    low = spread.chance_of_overlap_below(contact_ratio)
    ways: tuple[Way, ...] = ()
    if max(binding, low) > accepted:
        try:
            search = SettingSearch.over(drawn, given, accepted, contact_ratio)
            ways = (_way(safe_setting(cut, search, spread), cut.pair),)
        except GearworkError:  # no distance is safe
            ways = ()
    least, middle, most = np.quantile(spread.backlash, (0.01, 0.5, 0.99))

    def check(judged: str, chance: float, why: str, *meaning: str) -> Check:
        return Check(
            judged, chance, accepted, "", "at most", why, SOURCE, kind="chance",
            basis=basis, ways=ways, meaning=meaning,
        )  # fmt: skip

    return CheckReport(
        Subject("tolerance", "tolerance"),
        (
            check(
                "chance of binding",
                binding,
                f"Share of {len(spread.backlash)} sampled pairs that bind somewhere in their"
                f" turn, {_how_surely(spread, binding)}; their smallest backlash is"
                f" {middle:.3f} mm in the middle, 98 of 100 have {least:.3f} to {most:.3f} mm.",
                run_out,
            ),
            check(
                f"chance of a contact ratio below {contact_ratio:g}",
                low,
                "Share of the same pairs whose teeth lose each other at the widest place of"
                f" their turn, {_how_surely(spread, low)}.",
            ),
        ),
    )


def _run_out(scatter: Scatter, centrings: Centrings | None) -> tuple[str, tuple[Step, ...]]:
    """Where the run-out of the gears is from, in a sentence and as steps."""
    if scatter.eccentricity is not None:
        typed = f"Their run-out is the typed eccentricity of {scatter.eccentricity:g} mm."
        return typed, (Step("typed eccentricity", scatter.eccentricity, "mm", "as given"),)
    limit = Step("run-out of a trued gear", scatter.max_run_out, "mm", "common practice, or given")
    if centrings is None:
        return f"Each gear is trued to {scatter.max_run_out:g} mm of run-out.", (limit,)
    loose = max(one.max_eccentricity for one in centrings)
    trued = f"trued to {scatter.max_run_out:g} mm of run-out"
    words = (
        f"Bores, rods and bearings leave up to {loose:.2f} mm of eccentricity; gears are {trued}."
    )
    return words, (limit, *centrings[0].steps, *centrings[1].steps)


def _how_surely(spread: Spread, chance: float) -> str:
    """How well a chance is known; where none was found, by the rule of three."""
    if chance == 0.0:
        return f"surely fewer than {3 / len(spread.backlash):.1g}"
    return f"give or take {spread.standard_error(chance):.1g}"


def _way(safe: SafeSetting, pair: GearPair) -> Way:
    """The setting as keys of the design file."""
    keys = {"stage.centre_distance": safe.centre_distance}
    if safe.added_thinning > 0:
        pinion, wheel = (
            round(gear.thinning + safe.added_thinning, 4) for gear in (pair.pinion, pair.wheel)
        )
        keys["stage.thinning"] = pinion
        if pinion != wheel:
            keys["stage.wheel_thinning"] = wheel
    return tuple(keys.items())
