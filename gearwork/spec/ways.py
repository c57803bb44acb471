"""Ways out of a design that fails: changes of its file that were tried on the whole machine."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice, product
from typing import Any

import tomlkit

from gearwork.checks.check import LOADED
from gearwork.errors import GearworkError
from gearwork.machine.brief import GearBrief
from gearwork.machine.design import Design
from gearwork.machine.drive import Motor
from gearwork.machine.gear_set import GearSet
from gearwork.machine.setting import torque_setting
from gearwork.spec.solve import Progress, solve
from gearwork.spec.spec import DesignFile, parse_brief

RODS = (("M6", "626"), ("M8", "608"), ("M10", "6000"), ("M12", "6001"))
"""Rods and the ball bearings that fit them, thinnest first."""

SHEETS = (6.0, 9.0, 12.0, 15.0, 18.0)
"""Thicknesses in which sheets are sold, mm."""

MODULES = (3.0, 4.0, 5.0, 6.0, 8.0, 10.0)

MAX_TRIED = 15
"""Machines that are designed on the way out."""

YIELDS = (0.9, 0.75, 0.6, 0.45, 0.3, 0.2)
"""Shares to which a wish is brought down where nothing else helps, one after the other."""

Table = Any  # of a TOML document, which its library leaves without a type
Edit = Callable[[Table], str | None]


@dataclass(frozen=True)
class Way:
    """Changes of a design file after which every check holds.

    `changes`: one sentence each, with the key to write; `text`: the file with them; `design`: the
    machine it makes.
    """

    changes: tuple[str, ...]
    text: str
    design: Design

    def __str__(self) -> str:
        lines = "".join(f"\n  {change}" for change in self.changes)
        return f"A way out that was tried, with which every check holds:{lines}"


def way_out(
    brief: GearBrief, design: GearSet | None = None, progress: Progress | None = None
) -> Way | None:
    """Return the least change of a design file that makes every check hold, tried as a whole.

    Parameters
    ----------
    brief : GearBrief
        What was asked; what its `[keep]` names is left as it is.
    design : GearSet, optional
        What came of it, and fails; None where nothing could be made of it.
    progress : callable, optional
        Called with a line of text before each try.

    Returns
    -------
    Way or None
        Few changes before many: clutch, gears, rods, wishes, sheet. Where they are not enough, one
        in which mass or torque of the load yields, with no more of the others than it takes. None
        where none of those tried holds.

    Examples
    --------
    >>> from gearwork import solve
    >>> from gearwork.spec.spec import example_text, parse_brief
    >>> text = example_text().replace("clutch_torque = 1.6", "clutch_torque = 3.0")
    >>> brief = parse_brief(text, "hauler.toml")
    >>> way = way_out(brief, solve(brief))
    >>> way.design.holds, len(way.changes)
    (True, 1)
    """
    if not isinstance(brief, DesignFile):  # gears alone: their remedies say what to change
        return None
    say = progress or (lambda _: None)
    tried: set[str] = set()
    options = _options(brief, design)
    for edits in islice(_plans(options), MAX_TRIED):
        way = _tried(brief.asked, edits, tried, say)
        if way is not None:
            return way
    return None if brief.keep.load else _yielding(brief.asked, options, tried, say)


def _yielding(
    text: str, options: Sequence[Sequence[Edit]], tried: set[str], say: Progress
) -> Way | None:
    """A way in which a wish yields, with only those of the other changes that it needs."""
    helps = [steps[-1] for steps in options]
    for share, wish in product(YIELDS, ("mass", "torque")):
        less = _lighter(wish, share)
        way = _tried(text, [*helps, less], tried, say)
        if way is None:
            continue
        for help_ in list(helps):
            fewer = [one for one in helps if one is not help_]
            without = _tried(text, [*fewer, less], tried, say)
            if without is not None:
                way, helps = without, fewer
        return way
    return None


def _plans(options: Sequence[Sequence[Edit]]) -> Iterator[list[Edit]]:
    """Sets of changes to try, few and small ones first."""
    places = product(*(range(len(steps) + 1) for steps in options))
    for place in sorted(places, key=lambda at: (sum(map(bool, at)), sum(at), at[::-1])):
        if any(place):
            chosen = zip(place, options, strict=True)
            yield [steps[at - 1] for at, steps in chosen if at > 0]


def _options(brief: DesignFile, design: GearSet | None) -> list[list[Edit]]:
    """What may be changed, each in steps from small to large; only what can help."""
    document, keep = tomlkit.parse(brief.asked), brief.keep
    given = "stage" in document
    strained = design is None or any(check.kind in LOADED for check in design.report.failed)
    options: list[list[Edit]] = []
    if strained and isinstance(design, Design) and not keep.drive:
        options.append(_clutch(design))
    if not keep.gears:
        options.append([_search_again] if given else _wishes(brief))
    if strained and not keep.shafts:
        options.append(_rods(brief))
    if strained and not keep.sheet:
        options.append(_thicker(document))
    return [steps for steps in options if steps]


def _set(document: Table, table: str, key: str, value: object) -> str | None:
    """Write a key; the change in words, or None where it stood there already."""
    if table not in document:
        document[table] = tomlkit.table()
    old = document[table].get(key)
    if old == value:
        return None
    document[table][key] = value
    was = "" if old is None else f" (was {tomlkit.item(old).as_string()})"
    return f"[{table}] {key} = {tomlkit.item(value).as_string()}{was}"


def _clutch(design: Design) -> list[Edit]:
    drive = design.duty.drive
    if not isinstance(drive, Motor) or drive.clutch_torque is None:
        return []
    setting = torque_setting(design)
    lower = math.floor(10.0 * setting.max_torque) / 10.0
    if not setting.min_torque <= lower < drive.clutch_torque:
        return []
    return [lambda document: _set(document, "drive", "clutch_torque", lower)]


def _search_again(document: Table) -> str | None:
    del document["stage"]
    return "[[stage]] left out: the gears are searched"


def _rods(brief: DesignFile) -> list[Edit]:
    threads = [thread for thread, _ in RODS]
    own = brief.shafts.rod.thread
    thicker = RODS[threads.index(own) + 1 :] if own in threads else ()

    def take(thread: str, ball: str) -> Edit:
        def edit(document: Table) -> str | None:
            _set(document, "shafts", "bearing_name", ball)
            told = _set(document, "shafts", "thread", thread)
            return f'{told}, bearing_name = "{ball}"'

        return edit

    return [take(*one) for one in thicker]


def _wishes(brief: DesignFile) -> list[Edit]:
    """Let the search take more layers, larger modules and another number of stages."""
    layers = len(brief.space.panels)

    def more(extra: int, modules: Sequence[float], stages: Sequence[int]) -> Edit:
        def edit(document: Table) -> str | None:
            told = [
                _set(document, "wishes", key, value)
                for key, value in (
                    ("max_layers", layers + extra),
                    ("modules", list(modules)),
                    ("stages", list(stages)),
                )
                if value
            ]
            return "; ".join(word for word in told if word) or None

        return edit

    largest = max(brief.space.modules)
    larger = [*brief.space.modules, *(m for m in MODULES if m > largest)][:6]
    stages = sorted({*brief.space.stages, 1, 2, 3})
    return [more(1, (), ()), more(1, larger, ()), more(2, larger, stages)]


def _thicker(document: Table) -> list[Edit]:
    sheet = document["sheet"]
    if sheet.get("kind") != "plywood" or "measured_thickness" in sheet:
        return []
    own = float(sheet.get("thickness", 12.0))

    def take(thickness: float) -> Edit:
        return lambda document: _set(document, "sheet", "thickness", thickness)

    return [take(thickness) for thickness in SHEETS if thickness > own][:2]


def _lighter(wish: str, share: float) -> Edit:
    """Ask for less of a load: the one wish that yields, rounded down to two figures."""

    def edit(document: Table) -> str | None:
        own = document["load"].get(wish)
        if own is None:
            return None
        digits = 1 - math.floor(math.log10(share * own))
        less = math.floor(share * own * 10.0**digits) / 10.0**digits
        return _set(document, "load", wish, less)

    return edit


def _tried(text: str, edits: Sequence[Edit], tried: set[str], say: Progress) -> Way | None:
    """The way that these changes are, if every check of the machine they make holds."""
    document = tomlkit.parse(text)
    told = [words for edit in edits if (words := edit(document))]
    changed = tomlkit.dumps(document)
    if len(told) < len(edits) or changed in tried:
        return None
    tried.add(changed)
    say(f"trying a way out: {'; '.join(told)}")
    try:
        design = solve(parse_brief(changed, "a way out"))
    except GearworkError:
        return None
    if not (isinstance(design, Design) and design.holds):
        return None
    return Way(tuple(told), design.brief.text, design)
