"""What caliper readings of the test piece say about bit, machine and teeth, and how surely.

Least squares, with uncertainties by JCGM 100 (GUM): the scatter of the readings is of type A, the
caliper's own error a common shift of type B; Student's t allows for few readings.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from gearwork.errors import GearworkError, need
from gearwork.machine.gear_set import GearSet
from gearwork.machine.testpiece import MEASURED, Readings, TestPiece, reading_name
from gearwork.numbers import Bools, Floats
from gearwork.stock.bit import Bit

CONFIDENCE = 0.95
"""Chance that an interval holds the true value (JCGM 100, 6.3.3: the usual level)."""

MAX_SUSPECTS = 5

Model = Callable[[Floats], tuple[Floats, Floats]]


@dataclass(frozen=True)
class Estimate:
    """A value that was measured, and how surely, mm.

    `value`: best value; `uncertainty`: standard uncertainty (JCGM 100, 5.1.2); `freedom`: effective
    degrees of freedom (JCGM 100, G.4.1).
    """

    value: float
    uncertainty: float
    freedom: float = np.inf

    @property
    def half_width(self) -> float:
        """Expanded uncertainty: with 95 % chance the true value is no farther away, mm."""
        return student_quantile((1 + CONFIDENCE) / 2, self.freedom) * self.uncertainty

    @property
    def low(self) -> float:
        """Lower end of the 95 % interval, mm."""
        return self.value - self.half_width

    @property
    def high(self) -> float:
        """Upper end of the 95 % interval, mm."""
        return self.value + self.half_width

    @property
    def differs(self) -> bool:
        """Whether 0 lies outside the interval."""
        return abs(self.value) > self.half_width

    def __str__(self) -> str:
        return f"{self.value:.3f} mm ± {self.half_width:.3f}"


def student_quantile(probability: float, freedom: float) -> float:
    """Return the quantile of Student's t; `freedom` may be broken or infinite."""
    from scipy.special import stdtrit

    return float(stdtrit(freedom, probability))


@dataclass(frozen=True)
class Suspect:
    """Readings that lie off the rest together.

    `rows`: which readings; `shift`: how far they lie off, mm; `excess`: that over the largest shift
    that chance and caliper explain.
    """

    rows: Bools
    shift: float
    excess: float


@dataclass(frozen=True)
class Fit:
    """A model fitted to n readings by least squares.

    `values`, `residuals`: readings, and readings minus fitted sizes, mm; `slopes`: how fast each
    reading changes with each unknown; `solution`: the unknowns; those that no reading tells stay
    where they started; `shifts`: how far each of m independent errors of 1 mm of the caliper moves
    each reading, mm; `caliper`: standard uncertainty of such an error, mm.
    """

    values: Floats
    residuals: Floats
    slopes: Floats
    solution: Floats
    shifts: Floats
    caliper: float

    @cached_property
    def inverse(self) -> Floats:
        """Influence of each reading on each unknown, shape (p, n)."""
        return np.asarray(np.linalg.pinv(self.slopes), dtype=float)

    @cached_property
    def spare(self) -> int:
        """How many readings there are beyond those that determine the unknowns."""
        return len(self.values) - int(np.linalg.matrix_rank(self.slopes))

    @property
    def scatter(self) -> float:
        """Standard deviation of one reading, mm; the caliper's where nothing tells it."""
        if not self.spare:
            return self.caliper
        return float(np.sqrt((self.residuals**2).sum() / self.spare))

    def estimate(self, weights: Floats, constant: float = 0.0) -> Estimate:
        """Return constant + weights · unknowns with its uncertainty.

        Where no reading is to spare, the scatter is an assumption with unlimited freedom.
        """
        influence = weights @ self.inverse
        random = self.scatter**2 * float((influence**2).sum())
        common = self.caliper**2 * float(((influence @ self.shifts) ** 2).sum())
        known = self.spare > 0 and random > 0
        freedom = self.spare * (1 + common / random) ** 2 if known else np.inf
        value = constant + float(weights @ self.solution)
        return Estimate(value, float(np.sqrt(random + common)), freedom)

    def suspects(self, groups: Bools) -> Iterator[Suspect]:
        """Yield readings, and groups of readings, that disagree with the rest, worst first.

        Each is tested for a shift as one more unknown of the fit, against Student's t with one
        degree of freedom less and the caliper's own error; the limit is drawn in so that it
        holds for all tests together (Bonferroni). The rest is then tested without it.
        """
        left = np.ones(len(self.values), dtype=bool)
        sets = np.vstack([np.eye(len(left), dtype=bool), groups])
        for _ in range(MAX_SUSPECTS):
            worst = self._worst(sets, left)
            if worst is None:
                return
            yield worst
            left = left & ~worst.rows
            sets = sets & left

    def _worst(self, sets: Bools, left: Bools) -> Suspect | None:
        """The set of readings farthest off, if any is, among those left."""
        slopes = self.slopes * left[:, None]
        unexplained = np.diag(left.astype(float)) - slopes @ np.linalg.pinv(slopes)
        residuals = unexplained @ self.residuals
        seen = ((sets @ unexplained) * sets).sum(axis=1)
        testable = np.flatnonzero(seen > 1e-9)
        freedom = int(left.sum()) - int(np.linalg.matrix_rank(slopes)) - 1
        if freedom < 1 or not len(testable):
            return None
        seen = seen[testable]
        shift = sets[testable] @ residuals / seen
        rest = np.maximum((residuals**2).sum() - shift**2 * seen, 0.0) / freedom
        limit = student_quantile(1 - (1 - CONFIDENCE) / 2 / len(testable), freedom)
        excess = np.abs(shift) / (limit * np.sqrt(rest / seen + self.caliper**2))
        worst = int(np.argmax(excess))
        if excess[worst] <= 1:
            return None
        return Suspect(sets[testable[worst]], float(shift[worst]), float(excess[worst]))


def fit_model(
    values: Floats,
    model: Model,
    start: Floats,
    caliper: float,
    shifts: Callable[[Floats], Floats],
) -> Fit:
    """Return the least-squares fit of a nearly linear model (Gauss and Newton).

    `values`: readings, mm; `caliper`: standard uncertainty of the caliper's own errors, mm.
    """
    unknowns = start
    for _ in range(8):
        sizes, slopes = model(unknowns)
        step = np.linalg.pinv(slopes) @ (values - sizes)
        if np.abs(step).max() < 1e-7:
            break
        unknowns = unknowns + step
    return Fit(values, values - sizes, slopes, unknowns, shifts(slopes), caliper)


__all__ = ["MEASURED", "Readings", "TestPieceResult", "evaluate_test_piece"]

LARGEST_OFFSET = 0.5
"""Farthest an edge may lie from its line, mm; beyond it a reading is taken for a slip
(assumption)."""

OFFSET_SHARE = 0.15
"""The same in modules, for small teeth (assumption)."""

INSIDE_JAWS = ("slot", "hole", "bore")


class MeasuredSize(NamedTuple):
    """One thing measured: its name, the mean of its readings and what the estimates make it."""

    name: str
    mean: float
    fitted: float


@dataclass(frozen=True)
class TestPieceResult:
    """What the test piece says. An estimate is None where nothing that tells it was measured.

    `programmed_diameter`: what the path of the bit's centre was made for, mm; `bit_diameter`: what
    the bit really cuts: `measured_diameter` of the design file's bit; `outside`, `inside`: wood
    left standing beyond the line on outside edges (teeth) and inside edges (bores, seats); negative
    where too much was taken. This is the offset to correct; `unexplained`: share of `outside` that
    the bit's diameter does not explain: the bit bends away, the machine has play, or the path was
    made for another bit; `thickness_error`: how much thicker each tooth is than designed, arc on
    the reference circle; `backlash`: j_wt of the pair if it is cut without correction; `sizes`:
    readings against what the estimates make of them; `findings`: what to see to, one sentence
    each: readings that disagree, faults of the cut.
    """

    programmed_diameter: float
    bit_diameter: Estimate | None
    outside: Estimate | None
    inside: Estimate | None
    unexplained: Estimate | None
    thickness_error: Estimate | None
    backlash: Estimate | None
    sizes: tuple[MeasuredSize, ...]
    findings: tuple[str, ...]

    @property
    def tell_outside(self) -> Estimate | None:
        """Bit diameter to make the path of outside edges for, so that they come out true."""
        return _corrected(self.programmed_diameter, self.outside)

    @property
    def tell_inside(self) -> Estimate | None:
        """Bit diameter to make the path of inside edges for, so that they come out true."""
        return _corrected(self.programmed_diameter, self.inside)

    @property
    def design_entry(self) -> str | None:
        """The line for the [bit] table of the design file."""
        if self.bit_diameter is None:
            return None
        return f"measured_diameter = {self.bit_diameter.value:.2f}"

    def __str__(self) -> str:
        values = (
            ("bit cuts", self.bit_diameter),
            ("wood left beyond the line, outside edges", self.outside),
            ("wood left beyond the line, inside edges", self.inside),
            ("to correct, make the path of outside edges for a bit of", self.tell_outside),
            ("to correct, make the path of inside edges for a bit of", self.tell_inside),
            ("thickness error of a tooth", self.thickness_error),
            ("backlash of the pair without correction", self.backlash),
        )
        lines = [f"{text}: {estimate}" for text, estimate in values if estimate is not None]
        if self.design_entry is not None:
            lines.append(f"in the design file, under [bit]: {self.design_entry}")
        return "\n".join([*lines, *self.findings])


def evaluate_test_piece(test_piece: TestPiece, readings: Readings) -> TestPieceResult:
    """Return what the readings of a test piece say, each value with its uncertainty.

    Parameters
    ----------
    test_piece : TestPiece
        As it was drawn.
    readings : Readings
        As they were taken; three of each are good, one of each will do.

    Returns
    -------
    TestPieceResult
        Every estimate in mm.

    Raises
    ------
    GearworkError
        If a reading is too far from what was drawn to be one: inches, another pin, a slip.

    Notes
    -----
    All readings are counted, also those the findings call doubtful. A tooth whose flanks lie e
    outside their lines is 2 e / cos α thicker; two gears cut so lose 4 e / cos α_w of backlash.

    Examples
    --------
    >>> from gearwork import Bit, Gear, GearPair, Readings, make_test_piece
    >>> pair = GearPair(Gear(module=5, teeth=20), Gear(module=5, teeth=38))
    >>> test_piece = make_test_piece(pair, Bit(3.0), 9.0)
    >>> readings = Readings(slot=[3.07, 3.09, 3.08], hole=[22.05, 22.07])
    >>> result = evaluate_test_piece(test_piece, readings)
    >>> print(result.design_entry)
    measured_diameter = 3.06
    """
    way = "gw.make_test_piece(pair, bit, 12.0)"
    need("evaluate_test_piece", test_piece, TestPiece, "a TestPiece", way)
    need("evaluate_test_piece", readings, Readings, "Readings", "gw.Readings(slot=[3.07, 3.09])")
    _refuse_slips(test_piece, readings)
    names = tuple(name for name, several in readings.taken.items() for _ in several)
    fit = _fitted(test_piece, readings, names)
    bit, outside, inside = (
        fit.estimate(weights) if slopes.any() else None
        for weights, slopes in zip(np.eye(3), fit.slopes.T, strict=True)
    )
    unexplained = apart = None
    if bit and outside:
        unexplained = fit.estimate(np.array([0.5, 1.0, 0.0]), -test_piece.programmed_diameter / 2)
    if inside and outside:
        apart = fit.estimate(np.array([0.0, 1.0, -1.0]))
    pair = test_piece.pair
    change = _times(-4 / np.cos(np.radians(pair.working_pressure_angle)), outside)
    return TestPieceResult(
        programmed_diameter=test_piece.programmed_diameter,
        bit_diameter=bit,
        outside=outside,
        inside=inside,
        unexplained=unexplained,
        thickness_error=_times(2 / np.cos(np.radians(pair.pinion.pressure_angle)), outside),
        backlash=_times(1.0, change, pair.backlash),
        sizes=_sizes(fit, names),
        findings=(
            *_doubts(fit, names),
            *_faults(unexplained, apart, np.radians(pair.pinion.pressure_angle)),
        ),
    )


def result_of(design: GearSet) -> TestPieceResult | None:
    """Return what the readings in the design file say, None where there are none."""
    readings = design.brief.test_piece
    if readings is None:
        return None
    told = readings.programmed_diameter or design.brief.bit.diameter
    piece = design.test_piece_cut_by(Bit(told))
    if piece is None:
        raise GearworkError(
            "[test_piece] has readings: no test piece of this design can be measured; take them out"
        )
    try:
        return evaluate_test_piece(piece, readings)
    except GearworkError as error:
        raise GearworkError(
            f"[test_piece] {error}; if the teeth of the design were changed since, take the"
            " readings out"
        ) from None


def _fitted(test_piece: TestPiece, readings: Readings, names: tuple[str, ...]) -> Fit:
    """Fit bit diameter and both offsets to the readings."""

    def model(unknowns: Floats) -> tuple[Floats, Floats]:
        bit, outside, inside = unknowns.tolist()
        expected = test_piece.sizes(bit, outside, inside, readings.pins)
        sizes = np.array([expected[name].size for name in names])
        if not np.isfinite(sizes).all():
            raise GearworkError(
                f"readings put outside edges {-outside:.2f} mm inside their lines: a pin would find"
                " no flank there; measure again, or leave the sizes over pins out"
            )
        return sizes, np.array([expected[name].rates for name in names])

    def shifts(slopes: Floats) -> Floats:
        """Move outside jaws, inside jaws and each pin's diameter.

        A pin measured too thick makes the size expected over it too large, by half the rate
        at which that size grows with the offset.
        """
        inside = np.isin(names, INSIDE_JAWS)
        pins = [slopes[:, 1] / 2 * np.isin(names, pin) for pin in ("pinion_pin", "wheel_pin")]
        return np.column_stack([~inside, inside, *pins]).astype(float)

    return fit_model(
        np.concatenate(list(readings.taken.values())),
        model,
        np.array([test_piece.programmed_diameter, 0.0, 0.0]),
        readings.caliper_error / np.sqrt(3),  # a uniform error, JCGM 100, 4.3.7
        shifts,
    )


def _sizes(fit: Fit, names: tuple[str, ...]) -> tuple[MeasuredSize, ...]:
    fitted = fit.values - fit.residuals
    found = []
    for name in dict.fromkeys(names):
        rows = np.isin(names, name)
        found.append(MeasuredSize(name, float(fit.values[rows].mean()), float(fitted[rows][0])))
    return tuple(found)


def _doubts(fit: Fit, names: tuple[str, ...]) -> Iterator[str]:
    """Yield a sentence for each reading, or all readings of one thing, that disagree."""
    if not fit.spare:
        yield (
            f"No reading is repeated or borne out by another: a scatter of {fit.scatter:.3f} mm is"
            " assumed; take each three times."
        )
    groups = np.array([np.isin(names, name) for name in dict.fromkeys(names)])
    for suspect in fit.suspects(groups[groups.sum(axis=1) > 1]):
        first = int(np.flatnonzero(suspect.rows)[0])
        name = names[first]
        if suspect.rows.sum() > 1 or names.count(name) == 1:
            which = f"The {reading_name(name)}"
        else:
            place = first - names.index(name) + 1
            which = f"Reading {place} of the {reading_name(name)}, {fit.values[first]:.2f} mm,"
        way = "larger" if suspect.shift > 0 else "smaller"
        yield (
            f"{which} is {abs(suspect.shift):.2f} mm {way} than the other readings allow: measure"
            " it again; it is still counted."
        )


def _faults(
    unexplained: Estimate | None, apart: Estimate | None, pressure_angle: float
) -> Iterator[str]:
    if unexplained is not None and unexplained.differs:
        off = unexplained.value
        thinning = 2 * abs(off) / np.cos(pressure_angle)
        if off > 0:
            why = "the bit bends away from the cut or the machine has play: take a finishing pass"
        else:
            why = "the machine has play, or the path was made for another bit: look there"
        yield (
            f"Outside edges lie {abs(off):.3f} mm farther {'out' if off > 0 else 'in'} than the"
            f" bit's diameter explains: {why}, or correct the path for outside edges, or make"
            f" the thinning of every stage {thinning:.2f} mm {'larger' if off > 0 else 'smaller'}."
        )
    if apart is not None and apart.differs:
        yield (
            f"Outside edges leave {abs(apart.value):.3f} mm"
            f" {'more' if apart.value > 0 else 'less'} wood beyond their line than inside edges:"
            " cut both with the wood on the same side of the bit, or correct each for itself."
        )


def _refuse_slips(test_piece: TestPiece, readings: Readings) -> None:
    """Refuse readings too far from the drawn size to be one."""
    pieces = (("pinion", test_piece.pinion), ("wheel", test_piece.wheel))
    for (name, piece), pin in zip(pieces, readings.pins, strict=True):
        if pin is not None:
            reach = min(LARGEST_OFFSET, piece.pin_diameter / 10)
            _refuse_slip(f"diameter of the {name} pin", pin, piece.pin_diameter, reach)
    expected = test_piece.sizes(pins=readings.pins)
    offset = min(LARGEST_OFFSET, OFFSET_SHARE * test_piece.pair.pinion.module)
    allowed = np.array(
        [min(2 * LARGEST_OFFSET, test_piece.programmed_diameter / 2), offset, offset]
    )
    for name, several in readings.taken.items():
        if name not in expected:
            raise GearworkError(f"{name} has readings, and this test piece has none: leave it out")
        reach = float(np.abs(expected[name].rates) @ allowed)
        for reading in several:
            _refuse_slip(reading_name(name), reading, expected[name].size, reach)


def _refuse_slip(what: str, given: float, drawn: float, reach: float) -> None:
    if abs(given - drawn) <= reach:
        return
    guess = "measure again, and look whether bit, pin and file are the right ones"
    for unit, factor in (("inches", 25.4), ("centimetres", 10.0)):
        if abs(given * factor - drawn) <= reach:
            guess = f"was that {unit}? Give {given * factor:.2f} mm"
    raise GearworkError(
        f"{what} is {given:g} mm: it should be {drawn:.2f} mm and cannot be off by more than"
        f" {reach:.2f} mm; {guess}"
    )


def _corrected(told: float, offset: Estimate | None) -> Estimate | None:
    return _times(-2.0, offset, told)


def _times(factor: float, estimate: Estimate | None, constant: float = 0.0) -> Estimate | None:
    """constant + factor · estimate."""
    if estimate is None:
        return None
    value = float(constant + factor * estimate.value)
    return Estimate(value, float(abs(factor) * estimate.uncertainty), estimate.freedom)
