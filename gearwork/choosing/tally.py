"""Demands on candidates, and the account of what ruled them out.

For an empty result the account names the demand that must yield, and how far.
"""

from dataclasses import dataclass, field
from typing import Any, Literal, NamedTuple

import numpy as np

from gearwork.checks.check import SPARED, Kind
from gearwork.checks.tooth.strength import MAX_TOLD_LAYERS
from gearwork.numbers import Bools, figures_down, figures_up, round_up, told_apart
from gearwork.stock.hardware import Rod, threads

FAR = 1000.0
"""What a value that is no number lacks, in limits."""

LITTLE = 0.01
"""Share of a limit that is next to nothing."""

Demands = dict[str, tuple[Any, Any]]
"""Value and limit of every candidate by the demand's name."""


class Demand(NamedTuple):
    """One demand: its unit, which side of the limit is good, and what helps if nothing meets it.

    The advice may name {value} and {limit} of the nearest candidate, {short}, what lies between
    them, {enough}, the limit it would keep, {asked}, the limit rounded up, {clutch}, the torque it
    bears in steps of a clutch, {thicker}, the layers that would bear it, and {rod}, a thicker
    thread, and {rods}, one with its bearing, as far as such can be made. It speaks keys of the
    design file, which are parameters of `search` too.
    """

    unit: str
    sense: Literal["at least", "at most"]
    advice: str
    found: str = "the nearest has {value}{unit} and {sense} {limit} is asked"
    clutch: str = ""
    """What a clutch in the drive can do about it."""
    less: str = ""
    """What the file may ask instead, where the nearest has more than nothing."""
    below: str = ""
    """Said instead of what was found where the nearest has less than nothing."""
    kind: Kind = "geometry"
    """What sort of limit it is, as a check has it: of some (`SPARED`) a share is kept to spare."""
    lot: int = 0
    """Of what bends shafts: how many lots of demands are reckoned before it, see `Nearest`."""


SMALLER = "Allow smaller modules or fewer pinion_teeth and wheel_teeth"
LARGER_SHEET = "write the width and height of a larger sheet under [stock]"
STRONGER = "Allow {thicker}larger modules, or take a stronger [sheet] or a smaller [load]"
RATIO = "Allow more pinion_teeth, wheel_teeth or stages"
SLOWER = f"{RATIO}, or a wider speed_band"
STIFFER = (
    "Write {rods}larger modules, a smaller drive_overhang or load_overhang, or a smaller [load]"
)
FIRMER = "Write {rod}more pinion_teeth or larger modules"
OF_LOAD = "Write {rod}larger max_layers, or take a smaller [load]"
OF_DRIVE = "Write {rod}larger max_layers, or take a weaker [drive]"
THICKER = "Write {rod}a higher grade, or take a weaker [drive]"
FED_BACK = "N·m fed back to the drive"
CLUTCH = ", or clutch_torque = {clutch:g}, to which the drive's clutch is then set"
SLIPS_BACK = ", or clutch_torque = {clutch:g} of a clutch that slips back too"
TIMES = "the best bears {value} times what acts"
BEARS = "the best bears {value} of {limit}{unit}"


def _held(what: str, advice: str) -> dict[str, Demand]:
    """What holds the drive's torque at a stall, and the load's when it drives back."""
    return {
        f"{what}, stall": Demand(
            "N·m at the drive", "at least", advice, BEARS, CLUTCH, kind="strength"
        ),
        f"{what}, braking": Demand(
            FED_BACK, "at least", advice, BEARS, SLIPS_BACK, kind="strength"
        ),
    }


DEMANDS = {
    "contact ratio": Demand(
        "", "at least", "Write contact_ratio = {enough:g}, or allow more teeth of smaller modules"
    ),
    "interference": Demand("mm", "at least", "Allow more pinion_teeth or larger pinion_shifts"),
    "pointed tip": Demand("mm", "at least", "Allow smaller pinion_shifts or more pinion_teeth"),
    "tip thickness": Demand(
        "of the module", "at least", "Allow smaller pinion_shifts or more pinion_teeth"
    ),
    "largest diameter": Demand(
        "mm", "at most", f"{SMALLER}, or write max_diameter = {{enough:g}}", kind="room"
    ),
    "smallest centre distance": Demand(
        "mm", "at least", "Allow larger modules, or write min_distance = {enough:g}", kind="room"
    ),
    "largest centre distance": Demand(
        "mm", "at most", f"{SMALLER}, or write max_distance = {{enough:g}}", kind="room"
    ),
    "wheel shift at the fixed distance": Demand(
        "",
        "at most",
        "Allow other pinion_teeth, wheel_teeth or modules, or another fixed_distance",
        kind="room",
    ),
    "stock size": Demand("mm", "at most", f"{SMALLER}, or {LARGER_SHEET}", kind="room"),
    **dict.fromkeys(
        ("short side of the plates", "long side of the plates", "length of the boards"),
        Demand("mm", "at most", f"{SMALLER}, or {LARGER_SHEET}", kind="room"),
    ),
    "coprime teeth": Demand("", "at most", "Write coprime = false, or allow more wheel_teeth"),
    "room beside the hub": Demand(
        "mm", "at least", "Write a thinner thread, or allow larger modules", kind="room"
    ),
    "wood between bearing seats": Demand(
        "mm",
        "at least",
        "Write another bearing_name, smaller, or allow larger modules",
        kind="room",
    ),
    "flank above the bit's fillet": Demand(
        "mm", "at least", "Take a smaller [bit], or allow larger modules"
    ),
    "root clearance": Demand(
        "of the module", "at least", "Take a smaller [bit], or allow larger modules"
    ),
    **_held("hub strength", FIRMER),
    **_held("fixing of what is driven", OF_LOAD),
    **_held("fixing of what drives", OF_DRIVE),
    **_held("coupling of the drive", THICKER),
    **_held("rod in torsion", THICKER),
    "ratio to start": Demand("", "at least", RATIO, kind="power"),
    "ratio to keep moving": Demand("", "at least", RATIO, kind="power"),
    "ratio for riders": Demand("", "at least", RATIO, kind="speed"),
    "speed of the output": Demand("times the wanted one", "at least", SLOWER, kind="speed"),
    "highest speed of the output": Demand("times the wanted one", "at most", SLOWER, kind="speed"),
    "room at the next shaft": Demand(
        "mm",
        "at least",
        "Write a thinner thread, or allow other pinion_teeth and wheel_teeth",
        kind="room",
    ),
    "room between shafts": Demand(
        "mm",
        "at least",
        "Write a thinner thread, or allow other pinion_teeth and wheel_teeth",
        kind="room",
    ),
    "width of the machine": Demand(
        "mm", "at most", f"{SMALLER}, or write width = {{enough:g}}", kind="room"
    ),
    "height of the machine": Demand(
        "mm", "at most", f"{SMALLER}, or write height = {{enough:g}}", kind="room"
    ),
    "depth of the machine": Demand(
        "mm",
        "at most",
        f"{SMALLER}, a smaller max_layers or fewer stages, or write depth = {{enough:g}}",
        kind="room",
    ),
    "room beside the plate": Demand(
        "mm", "at least", "Write load_overhang = {asked:g} under [shafts]", kind="room"
    ),
    "gap at one edge as assembled": Demand(
        "times what may run in",
        "at most",
        "Cut and true more exactly, and write that squareness and max_wobble",
    ),
    "difference of the centre distances": Demand(
        "mm",
        "at most",
        "Write same_gears = true, or a fixed_distance",
        kind="room",
    ),
    "room between wheel and drive": Demand(
        "mm", "at least", "Allow larger modules, or write a smaller wheel_diameter", kind="room"
    ),
    "bending of the cradle": Demand(
        "",
        "at least",
        "Take a drill of less handle_width or handle_distance",
        TIMES,
        kind="strength",
    ),
    "wood beside the drill": Demand(
        "mm",
        "at least",
        "Take a drill of less body_diameter, or allow larger modules",
        kind="room",
    ),
    "wood beside the pegs": Demand("mm", "at least", "Write another handle_direction", kind="room"),
    "teeth behind the joints of the guard": Demand(
        "mm", "at least", "Write clearance = {asked:g} under [frame]", kind="room", lot=2
    ),
    "wood beside the bearings": Demand(
        "",
        "at least",
        "Write a larger plate_thickness, larger modules or a smaller [load]",
        TIMES,
        kind="strength",
        lot=2,
    ),
    "bending of the feet": Demand(
        "",
        "at least",
        "Write a larger plate_thickness or a smaller [load]",
        TIMES,
        kind="strength",
        lot=2,
    ),
    "rod strength": Demand("", "at least", STIFFER, TIMES, kind="strength", lot=2),
    "rod fatigue": Demand("", "at least", STIFFER, TIMES, kind="fatigue", lot=2),
    "bearing life": Demand("", "at least", STIFFER, TIMES, kind="life", lot=2),
    "bearing strength": Demand("", "at least", STIFFER, TIMES, kind="safety", lot=2),
    "bearing seats": Demand("", "at least", STIFFER, TIMES, kind="strength", lot=2),
    "edge load": Demand(
        "times what the teeth bear at their edge", "at most", STIFFER, kind="stiffness", lot=1
    ),
    "centre distance under load": Demand(
        "times what their mesh bears", "at most", STIFFER, kind="stiffness", lot=1
    ),
    "ground clearance": Demand(
        "mm",
        "at least",
        f"{SMALLER}, or raise the axle by {{short:g}} mm: by a larger wheel_diameter of a vehicle,"
        " by output_height of any other machine",
        "gears and guard of the nearest keep {value} mm off the ground, and {limit} mm is asked",
        kind="room",
        less=", or write ground_clearance = {enough:g}",
        below="gears and guard of the nearest are {none} mm below the ground",
    ),
    "tooth strength, running": Demand(
        "N·m at the drive", "at least", STRONGER, BEARS, kind="strength"
    ),
    "tooth strength, starting": Demand(
        "N·m at the drive", "at least", STRONGER, BEARS, kind="strength"
    ),
    "tooth strength, stall": Demand(
        "N·m at the drive", "at least", STRONGER, BEARS, CLUTCH, kind="strength"
    ),
    "tooth strength, braking": Demand(
        FED_BACK, "at least", STRONGER, BEARS, SLIPS_BACK, kind="strength"
    ),
}


@dataclass(frozen=True)
class Nearest:
    """How near a search came that found nothing.

    `lots` of demands that some candidates met, one after the other; what the nearest of them lacks
    of the next lot, all its demands together (`lacks`), and the kinds of limits that it misses. Of
    those that meet a lot only the next is reckoned: who lacks of the later one is nearer.
    """

    lots: int = -1
    lack: float = np.inf
    kinds: frozenset[Kind] = frozenset()

    @property
    def rank(self) -> tuple[int, float]:
        """The greater, the nearer."""
        return self.lots, -self.lack


NOWHERE = Nearest()
"""Of a search that tried nothing, or found what it sought."""


@dataclass(frozen=True)
class Count:
    """How many candidates miss a demand, and value, limit and lack of the nearest of them.

    One that misses no other demand goes before one that does.
    """

    killed: int
    value: float
    limit: float
    others: bool  # whether the nearest misses other demands too
    shortfall: float  # what it lacks, over the limit where that is not 0

    def __add__(self, other: "Count") -> "Count":
        nearest = min(self, other, key=lambda count: (count.others, count.shortfall))
        killed = self.killed + other.killed
        return Count(killed, nearest.value, nearest.limit, nearest.others, nearest.shortfall)


@dataclass(frozen=True)
class Tally:
    """How many candidates were tried, and what ruled them out; one may miss several demands.

    `nearest`: the one of them that comes nearest to meeting all.
    """

    tried: int = 0
    counts: dict[str, Count] = field(default_factory=dict)
    nearest: Nearest = NOWHERE

    def __add__(self, other: "Tally") -> "Tally":
        counts = dict(self.counts)
        for name, count in other.counts.items():
            counts[name] = counts[name] + count if name in counts else count
        return Tally(
            self.tried + other.tried,
            counts,
            max(self.nearest, other.nearest, key=lambda one: one.rank),
        )

    @property
    def kinds(self) -> frozenset[Kind]:
        """The kinds of the demands that ruled out half of the candidates, or more than others.

        And of those but for which some candidate would have met all.
        """
        most = max((count.killed for count in self.counts.values()), default=0)
        least = min(most, self.tried / 2)
        return frozenset(
            DEMANDS[name].kind
            for name, count in self.counts.items()
            if count.killed >= least or not count.others
        )

    @property
    def max_share(self) -> float:
        """Share of the candidates that the demand ruled out that ruled out most."""
        return max((count.killed for count in self.counts.values()), default=0) / self.tried

    def sentence(
        self,
        what: str,
        layers: int,
        clutch: bool = False,
        reserve: float = 0.0,
        rod: Rod | None = None,
    ) -> str:
        """Say which demand must yield and how far; empty if none did rule out any.

        The one that alone keeps the nearest candidate out, whichever ruled out most; if all miss
        several, the one that most do, and of its nearest what that misses too.
        `what` was tried, "pairs" or "trains", with so many layers of a gear at most; `clutch`:
        whether the drive may have one; `reserve`: what share of strength was kept to spare; `rod`:
        that of the shafts, for there may be no thicker one.
        """
        if not self.counts:
            return ""
        name, count = min(
            self.counts.items(),
            key=lambda item: (
                item[1].others,
                -item[1].killed if item[1].others else item[1].shortfall,
            ),
        )
        demand = DEMANDS[name]
        share = 100 * count.killed / self.tried
        said = f"{name} ruled out {share:.3g} % of {self.tried} {what}"
        if not np.isfinite(count.shortfall):
            others = "pinion_teeth, wheel_teeth, modules or pinion_shifts"
            return f"{said}: nothing comes near. Allow other {others}."
        value, limit = told_apart(count.value, count.limit)
        needed = np.ceil(count.limit / count.value * layers) if count.value > 0 else np.inf
        enough = figures_down if demand.sense == "at least" else figures_up
        thickest = rod is not None and rod.thread == threads()[-1]
        words = {
            "rod": "" if thickest else "a thicker thread, ",
            "rods": "" if thickest else "a thicker thread and its bearing_name, ",
            "value": value,
            "limit": limit,
            "unit": f" {demand.unit}" if demand.unit else "",
            "sense": demand.sense,
            "short": round_up(abs(count.limit - count.value), 1),
            "enough": enough(count.value),
            "none": figures_up(abs(count.value)),
            "asked": round_up(count.limit, 1),
            "clutch": figures_down(count.value, 2),
            "thicker": f"max_layers = {needed:g}, " if needed <= MAX_TOLD_LAYERS else "",
        }
        rest = {other: c.killed for other, c in self.counts.items() if other != name}
        also = ""
        if count.others and rest:
            also = f", and it misses {max(rest, key=lambda other: rest[other])} too"
        some = count.value > 0.0
        advice = demand.advice + (demand.clutch if clutch else "") + (demand.less if some else "")
        found = demand.found if some else demand.below or demand.found
        spared = ""
        if reserve and demand.kind in SPARED:
            spared = f" Of what it bears {100 * reserve:g} % are kept to spare."
        return f"{said}: {found.format(**words)}{also}. {advice.format(**words)}.{spared}"


def judge(demands: Demands, count: int, reserve: float = 0.0) -> tuple[Bools, Tally]:
    """Return which of so many candidates meet all demands, and what ruled out the others.

    A value that is no number meets nothing. Where loads come near, such a share is kept in reserve.
    """
    missed = {}
    demands = {name: _spared(name, *both, reserve) for name, both in demands.items()}
    for name, (value, limit) in demands.items():
        at_least = DEMANDS[name].sense == "at least"
        missed[name] = ~(value >= limit if at_least else value <= limit)  # NaN misses either
    faults = sum(missed.values(), np.zeros(count, dtype=int))
    counts = {
        name: _count(*demands[name], miss, faults) for name, miss in missed.items() if miss.any()
    }
    good = faults == 0
    if good.any() or not count:
        return good, Tally(count, counts)
    each = (lacks(*demands[name], DEMANDS[name].sense) for name in counts)
    lack = sum(each, np.zeros(count))
    lots = np.max([DEMANDS[name].lot * missed[name] for name in counts], axis=0)
    best = np.lexsort((lack, -lots))[0]
    kinds = frozenset(DEMANDS[name].kind for name in counts if missed[name][best])
    return good, Tally(count, counts, Nearest(int(lots[best]), float(lack[best]), kinds))


def lacks(value: Any, limit: Any, sense: str) -> Any:
    """Return how far values are off a limit, 0 where they keep it, to be added for several limits.

    The logarithm of the proportion that is wanting, so that bearing twice as much counts the same
    however much is asked; of values that come to next to nothing what is wanting itself.
    """
    short = (limit - value) if sense == "at least" else (value - limit)
    short = _in_limits(np.maximum(short, 0.0), limit, FAR)
    if sense == "at most":
        return np.log1p(short)
    left = 1.0 - short
    return np.maximum(LITTLE - left, 0.0) - np.log(np.maximum(left, LITTLE))


def _in_limits(lacking: Any, limit: Any, unknown: float) -> Any:
    """What is lacking over the limit, where that is not 0; `unknown`: of what is no number."""
    share = lacking / np.where(limit != 0, np.abs(limit), 1.0)
    return np.nan_to_num(share, nan=unknown, posinf=unknown)


def _spared(name: str, value: Any, limit: Any, reserve: float) -> tuple[Any, Any]:
    """Value and limit of a demand, what is to spare taken off the value."""
    if not (reserve and DEMANDS[name].kind in SPARED):
        return value, limit
    more = 1.0 + reserve
    return (value / more if DEMANDS[name].sense == "at least" else value * more), limit


def _count(value: Any, limit: Any, miss: Bools, faults: Any) -> Count:
    limits = np.broadcast_to(limit, miss.shape)[miss]
    values, others = value[miss], faults[miss] > 1
    shortfall = _in_limits(np.abs(limits - values), limits, np.inf)
    nearest = np.lexsort((shortfall, others))[0]
    return Count(
        int(miss.sum()),
        float(values[nearest]),
        float(limits[nearest]),
        bool(others[nearest]),
        float(shortfall[nearest]),
    )
