"""Check and CheckReport: one judgement with its reason, and a list of them.

A check carries facts; its name is made from them, and no decision reads a name.
"""

import json
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

from gearwork.numbers import FUZZ, figure, four_digits, telling

Case = Literal["running", "starting", "stall", "braking"]
"""Load case of a machine: in normal running, when it starts, when its output is stopped or jams,
when the load turns the gears on the other flanks."""

Kind = Literal[
    "geometry",  # sizes and ratios of sizes
    "strength",  # of a load that acts a few times; the value grows in proportion to the load
    "safety",  # its reciprocal: the value falls as the load grows
    "pressure",  # of flanks: the value grows with the root of the load (Hertz)
    "fatigue",  # strength under many cycles
    "life",  # hours or cycles that are reached
    "stiffness",  # deflection and what follows from it
    "chance",  # probability from sampling
    "power",  # whether the drive's torque moves the load
    "speed",  # speed and grip of drive and load
    "room",  # whether parts keep clear of each other and of what is there
    "file",  # whether a file is what was designed
]

LOADED = ("strength", "safety", "pressure", "fatigue", "stiffness")
"""Kinds of limits that a load reaches; a bent rod that parts a mesh is bent by it too."""

SPARED = (*LOADED, "life", "power")
"""Kinds of limits that loads come near to: a design may keep its distance. Sizes and room are at
their limits by construction, speeds and chances at those that were wished."""

SubjectKind = Literal[
    "pair", "stage", "rim", "tolerance", "duty", "room", "train", "hub", "shaft", "frame",
    "files", "machine",
]  # fmt: skip


@dataclass(frozen=True)
class Subject:
    """What checks belong to: its kind, its words, and which stage, shaft or gear, from 0."""

    kind: SubjectKind
    title: str
    number: int | None = None


@dataclass(frozen=True)
class Step:
    """One step on the way to an allowable value, so that a reader can trace it.

    `quantity` is e.g. "tension strength at 45° (characteristic)" or "k_mod"; `unit` is empty for
    a factor; `source` is standard and clause, handbook, "from memory", or "assumption".
    """

    quantity: str
    value: float
    unit: str
    source: str


Way = tuple[tuple[str, float | str | tuple[float, ...] | None], ...]
"""One way out: keys of the design file ("stage.module"), or parameters of whoever asked ("ratio"),
and what to write there; None: nothing."""

NO_WAY = "No change of one thing that was tried is enough by itself."


def advice(ways: Sequence[Way]) -> str:
    """Return in a sentence what to write, by the first way or another one; nothing where none."""
    return f"Write {'; or '.join(map(_written, ways))}." if ways else ""


def _written(way: Way) -> str:
    tables: dict[str, list[str]] = {}
    for name, value in way:
        table, _, key = name.rpartition(".")
        said = f"{value or 0.0:.10g}" if isinstance(value, float | int | None) else ""
        said = said or json.dumps(value)
        tables.setdefault(table, []).append(f"no {key}" if value is None else f"{key} = {said}")
    return " with ".join(
        f"[{table}] {', '.join(told)}" if table else ", ".join(told)
        for table, told in tables.items()
    )


@dataclass(frozen=True)
class Check:
    """One judgement: a value held against a limit, with the reason and a way out.

    Attributes
    ----------
    judged : str
        The quantity that is judged, e.g. "contact ratio", "life".
    value, limit : float
        Both in `unit`.
    unit : str
        Unit of value and limit, empty for a plain ratio.
    sense : {"at least", "at most"}
        Which side of the limit is good.
    why : str
        What this number means for the machine.
    source : str
        Where limit and formula come from.
    otherwise : str
        What is said where nothing is known to write: of a file, to write it again.
    wanted : float, optional
        A stricter value than the limit; between the two the verdict is "marginal".
    basis : tuple of Step
        How the limit was arrived at, for allowables.
    part : str
        Which part of the subject, e.g. "pinion", "bearing A", a file's name.
    case : str
        Load case, e.g. "running", "stall".
    kind : str
        What sort of limit it is, see `Kind`.
    subject : Subject, optional
        What it belongs to, where checks of several subjects stand together.
    ways : tuple
        Ways out, each keys of the design file with the values to write there.
    meaning : tuple of str
        Sentences before that one which other checks share: a paper says them once.
    tries : callable, optional
        Finds more of them by trying; only asked once somebody reads the remedy.

    Examples
    --------
    >>> ways = ((("frame.gap", 0.2),),)
    >>> gap = Check("gap", 0.1, 0.2, "mm", "at least", "Dust needs room.", "custom", ways=ways)
    >>> print(gap)
    fail      gap: 0.1 mm (at least 0.2 mm). Dust needs room. Write [frame] gap = 0.2.
    """

    judged: str
    value: float
    limit: float
    unit: str
    sense: Literal["at least", "at most"]
    why: str
    source: str
    otherwise: str = ""
    wanted: float | None = None
    basis: tuple[Step, ...] = ()
    part: str = ""
    case: str = ""
    kind: Kind = "geometry"
    subject: Subject | None = None
    ways: tuple[Way, ...] = ()
    meaning: tuple[str, ...] = ()
    tries: "Callable[[Check], tuple[Way, ...]] | None" = field(
        default=None, compare=False, repr=False
    )

    @property
    def reason(self) -> str:
        """All that is said of it: what others share, then what this number means."""
        return " ".join((*self.meaning, self.why))

    @property
    def every_way(self) -> tuple[Way, ...]:
        """The ways out that are known, and those that are found by trying."""
        return self.ways + (self.tries(self) if self.tries else ())

    @property
    def remedy(self) -> str:
        """What to write, as keys and values."""
        return advice(self.every_way) or self.otherwise

    @property
    def name(self) -> str:
        """What is judged, in words for people."""
        words = ", ".join(word for word in (self.judged, self.part, self.case) if word)
        return f"{self.subject.title}: {words}" if self.subject else words

    def _reserve(self, limit: float) -> float:
        return self.value - limit if self.sense == "at least" else limit - self.value

    @property
    def margin(self) -> float:
        """Distance to the limit in `unit`; positive is on the good side."""
        return self._reserve(self.limit)

    @property
    def load_share(self) -> float | None:
        """Share of its load that the limit bears, 2 where it may double; None where it has none."""
        if self.value <= 0.0 or not math.isfinite(self.value):
            return None
        if self.kind == "safety":
            return self.value / self.limit
        power = {"strength": 1, "pressure": 2}.get(self.kind)
        return (self.limit / self.value) ** power if power else None

    @property
    def ok(self) -> bool:
        """Whether the limit is kept, to a billionth; a value that is no number keeps nothing."""
        return self._keeps(self.limit)

    def _keeps(self, limit: float) -> bool:
        noise = FUZZ * abs(limit) if math.isfinite(limit) else 0.0
        return self.value == limit or self._reserve(limit) >= -noise

    def ok_with(self, reserve: float) -> bool:
        """Whether the limit is kept with such a share to spare, where its kind asks for any."""
        return self.to_spare >= reserve if math.isfinite(self.to_spare) else self.ok

    @property
    def to_spare(self) -> float:
        """By which share loads might be greater, or a life longer; infinite where none counts."""
        least, most = (
            (self.limit, self.value) if self.sense == "at least" else (self.value, self.limit)
        )
        counts = self.kind in SPARED and math.isfinite(self.limit) and least > 0.0
        return most / least - 1.0 if counts else math.inf

    @property
    def verdict(self) -> Literal["pass", "marginal", "fail"]:
        """The judgement as a word."""
        if not self.ok:
            return "fail"
        if self.wanted is not None and not self._keeps(self.wanted):
            return "marginal"
        return "pass"

    @property
    def _digits(self) -> int:
        """With how many digits the value looks as it is judged: unlike what it misses."""
        missed = {"fail": self.limit, "marginal": self.wanted, "pass": None}[self.verdict]
        return 4 if missed is None else telling(self.value, missed)

    @property
    def shown(self) -> str:
        """The value as a page tells it, with its unit."""
        return figure(self.value, self.unit, self._digits)

    @property
    def demand(self) -> str:
        """The limit in words; with what is wanted where that is missed, or no limit is hard."""
        digits = self._digits
        limit = f"{self.sense} {four_digits(self.limit, digits)}"
        if self.wanted is None:
            return limit
        wanted = four_digits(self.wanted, digits)
        if math.isinf(self.limit):
            return f"better {self.sense} {wanted}"
        return f"{limit}, better {wanted}" if self.verdict == "marginal" else limit

    @property
    def demanded(self) -> str:
        """The limit in words with its unit, the space before it never broken."""
        return self.demand + (f"\N{NO-BREAK SPACE}{self.unit}" if self.unit else "")

    def __str__(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        value = four_digits(self.value, self._digits)
        line = f"{self.verdict:8}  {self.name}: {value}{unit} ({self.demand}{unit})."
        line = f"{line} {self.reason}"
        return line if self.verdict == "pass" else f"{line} {self.remedy}".rstrip()


@dataclass(frozen=True)
class CheckReport:
    """All checks of one thing, in the order they were made.

    Attributes
    ----------
    subject : Subject
        Of what.
    checks : tuple of Check
        By name, ``report["contact ratio"]``, or by facts, ``report.select(part="pinion")``.

    Examples
    --------
    >>> wide = Check("gap", 0.3, 0.2, "mm", "at least", "Dust needs room.", "custom")
    >>> report = CheckReport(Subject("room", "door"), (wide,))
    >>> report.ok, report["gap"].verdict, report.summary
    (True, 'pass', 'door: all 1 checks hold')
    """

    subject: Subject
    checks: tuple[Check, ...]

    @property
    def title(self) -> str:
        """Of what, in words."""
        return self.subject.title

    @property
    def ok(self) -> bool:
        """Whether every check holds its limit."""
        return all(check.ok for check in self.checks)

    @property
    def failed(self) -> tuple[Check, ...]:
        """The checks that fail."""
        return tuple(check for check in self.checks if not check.ok)

    def __iter__(self) -> Iterator[Check]:
        return iter(self.checks)

    def __len__(self) -> int:
        return len(self.checks)

    def __getitem__(self, name: str) -> Check:
        for check in self.checks:
            if check.name == name:
                return check
        raise KeyError(f"no check {name!r}; there are: {', '.join(c.name for c in self.checks)}")

    def __add__(self, other: "CheckReport") -> "CheckReport":
        return CheckReport(self.subject, self.checks + other.checks)

    def select(
        self, judged: str | None = None, part: str | None = None, case: str | None = None
    ) -> tuple[Check, ...]:
        """Return the checks of a quantity, of a part and in a load case, as far as given."""
        wanted = (judged, part, case)
        return tuple(
            check
            for check in self.checks
            if all(
                fact in (None, own)
                for fact, own in zip(wanted, (check.judged, check.part, check.case), strict=True)
            )
        )

    @property
    def summary(self) -> str:
        """One line: the verdict on the whole."""
        if self.ok:
            watched = sum(check.verdict == "marginal" for check in self.checks)
            return f"{self.title}: all {len(self)} checks hold" + (
                f", {watched} marginal" if watched else ""
            )
        fails = "fails" if len(self.failed) == 1 else "fail"
        return f"{self.title}: {len(self.failed)} of {len(self)} checks {fails}"

    def __str__(self) -> str:
        return "\n".join([self.summary, *map(str, self.checks)])


def sentence(text: str) -> str:
    """Return a text as a sentence: a capital letter first, a full stop last."""
    return f"{text[0].upper()}{text[1:]}."
