"""Ways out of a design that fails: changes of its file that were tried on the whole machine."""

import json
import math
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from functools import partial
from itertools import islice
from typing import Any

import numpy as np
import tomlkit

from gearwork.checks.check import LOADED, Kind
from gearwork.checks.check import Way as AnyWay
from gearwork.checks.hub.fixing import FixingName
from gearwork.choosing.tally import NOWHERE, Nearest, lacks
from gearwork.errors import GearworkError
from gearwork.machine.brief import SHEETS, GearBrief
from gearwork.machine.cause import causes
from gearwork.machine.design import BESIDE_PLATE, Design
from gearwork.machine.drive import Motor
from gearwork.machine.gear_set import GearSet
from gearwork.machine.remedies import (
    MODULES,
    SHARES,
    clutch_setting,
    cranks,
    grades,
    larger_wheels,
    other_rods,
    thicker_sheets,
)
from gearwork.machine.setting import torque_setting
from gearwork.numbers import figures_down, round_up
from gearwork.spec.solve import (
    Progress,
    arranged,
    candidates_for,
    drive_gears,
    solve,
    spared,
    with_stages,
)
from gearwork.spec.spec import DesignFile, Keep, parse_brief
from gearwork.stock.bit import SOLD

MIN_BIT = 1.5
"""Thinnest that is told, mm: thinner ones break in sheets of this kind (common practice)."""

MAX_TRIED = 12
"""Machines that are designed on the way out; what may help is found by searching alone."""

MAX_LOOKED = 150
"""Changed files that are looked at, after which the way out is given up: a minute or so."""

FEW, BEST = 20, 4
"""Trains that are enough to see that there are some; of these so many become whole machines."""

MAX_STEPS = 4
"""Of a change of which more always helps more."""

SLIM: tuple[FixingName, ...] = ("nut pockets", "glued rod")
"""Fixings that take little room along a rod, what can be undone first: all alike they make for
shorter rods than the cheapest for each."""

ROOMY = 1.2
"""Greatest over least ratio that a clutch should leave: with fewer hardly a train is possible."""

SETTINGS = 9
"""Steps from the clutch as it is set to the lowest setting that leaves ratios to choose from."""

LONGER = (3.0, 6.0, 10.0, 15.0, 22.0, 30.0, 40.0)
"""By how much more an overhang is tried, mm."""

MAX_ADVISED = 4
"""Checks whose advice is followed one after the other."""

MAX_ASKED = 4
"""Failing checks up to which they are asked for advice, which costs them some tries each."""

WISHED = ("load", "service", "room")
"""Tables of what is wished, which yields only where nothing else helps."""

MAX_LOOKS = 8
"""Looks at a changed file after which no second way is sought."""

SEARCHED = "[[stage]] left out: the gears are searched"
WRITTEN = "[[stage]] added: gears that a search for any that hold has found"
"""Changes of the stages, in words; the second where there is no other."""

Table = Any  # of a TOML document, which its library leaves without a type
Edit = Callable[[Table], str | None]


@dataclass(frozen=True)
class Way:
    """Changes of a design file after which every check holds.

    `changes`: one sentence each, with the key to write; `text`: the file with them; `design`: the
    machine it makes; `gives_up`: what `[keep]` names and must yield, as nothing else helps.
    """

    changes: tuple[str, ...]
    text: str
    design: Design
    gives_up: str = ""

    def __str__(self) -> str:
        lines = "".join(f"\n  {change}" for change in self.changes)
        if self.gives_up:
            first = f"No way was found that keeps all of [keep]: {self.gives_up} must yield."
            return f"{first} Tried, with this every check holds:{lines}"
        return f"A way out that was tried, with which every check holds:{lines}"


def ways_out(
    brief: GearBrief, design: GearSet | None = None, progress: Progress | None = None
) -> tuple[Way, ...]:
    """Return one or two ways to change a design file so that every check holds, each tried.

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
    tuple of Way
        Few changes and those that cost least first: clutch, gears, rods, bit, sheet. Where no such
        change helps, a wish yields: of speed, load and room the one that has to give way least, and
        the next. Where that does not help either, one way that gives up something of `[keep]`.
        Empty where none of those tried holds.

    Examples
    --------
    Two gears without a machine have none; their remedies say what to change.

    >>> from gearwork import example_brief, solve
    >>> brief = example_brief("apple-washer")
    >>> ways_out(brief, solve(brief))
    ()
    """
    if not isinstance(brief, DesignFile):
        return ()
    seeker = _Seeker(brief, design, progress or (lambda _: None))
    if found := seeker.ways():
        return found
    kept = [name for name, keeps in vars(brief.keep).items() if keeps]
    one_each = [replace(brief.keep, **{name: False}) for name in kept]
    freed = [seeker.freed(keep, design) for keep in one_each]
    advised = [way for one in freed for way in one.advised((*one.kept, *WISHED))[:1]]
    best = min(advised, key=lambda way: len(way.changes), default=None)
    for one in (*freed, *([seeker.freed(Keep(), design)] if len(kept) > 1 else [])):
        if best and (len(best.changes) == 1 or not one.kept):
            break
        for way in one.ways()[:1]:
            best = min(best or way, way, key=lambda way: len(way.changes))
    if best is None:
        return ()
    old, new = tomllib.loads(brief.asked), tomllib.loads(best.text)
    given_up = [name for name in kept if any(old.get(t) != new.get(t) for t in KEPT[name])]
    return (replace(best, gives_up=", ".join(given_up)),)


@dataclass(frozen=True)
class Change:
    """Something that may be changed in steps from small to large.

    `kinds`: of the limits it may help to keep; `wish`: whether it is something that was wished.
    """

    name: str
    kinds: frozenset[str]
    steps: tuple[Edit, ...]
    wish: bool = False
    each: bool = False
    """Whether too much of it may be no help, so that every step is looked at."""

    @property
    def looks(self) -> tuple[int, ...]:
        """Steps to look at: the largest; of many some, as too much of it may be no help."""
        count = len(self.steps)
        if self.each:
            return tuple(range(1, count + 1))
        return (*range(3, count, 3), count) if count > MAX_STEPS else (count,)


KEPT: Mapping[str, tuple[str, ...]] = {
    "drive": ("drive",), "gears": ("wishes", "stage"), "shafts": ("shafts",), "bit": ("bit",),
    "sheet": ("sheet", "stock"), "room": ("room",), "load": ("load", "service"),
}  # fmt: skip
"""Tables that each key of `[keep]` is about."""

OPPOSITES = ({"firmer clutch", "clutch"}, {"thinner rods", "rods"})
"""Changes of the same keys in opposite senses."""

State = dict[Change, int]
"""How far each of some changes goes: its step, from 1."""

_STRAINED: frozenset[str] = frozenset((*LOADED, "life"))
_IN_WOOD = frozenset(("strength", "pressure", "fatigue"))
_LASTING = frozenset(("strength", "fatigue", "life"))


class _Seeker:
    """Looks for ways out of one file."""

    def __init__(self, brief: DesignFile, design: GearSet | None, say: Progress) -> None:
        self.brief, self.design, self.say, self.tried = brief, design, say, 0
        self.kept = _kept(brief.keep)
        self.every = _changes(brief, design)
        self.known: dict[str, _Look] = {}
        if design is None:
            self.missed = self._promise({}).missed
        else:
            self.missed = frozenset(check.kind for check in design.report.failed)

    def freed(self, keep: Keep, design: GearSet | None) -> "_Seeker":
        """One that may change more of the same file, and knows what this one has seen."""
        other = copy(self)
        other.every, other.tried = _changes(replace(self.brief, keep=keep), design), 0
        other.kept = _kept(keep)
        return other

    def ways(self) -> tuple[Way, ...]:
        """One or two ways: without a wish that yields if there is any such."""
        if found := self.advised((*self.kept, *WISHED)):
            return tuple(found)
        means = [change for change in self.every if not change.wish]
        # each alone; what may keep more of the limits that are missed goes first
        for change in sorted(means, key=lambda change: -len(change.kinds & self.missed)):
            if found and len(self.known) > MAX_LOOKS:
                break
            if change.kinds & self.missed and (state := self._alone(change)):
                way = self._whole(self._smaller(state), alone=True)
                found += [way] if way else []
            if len(found) == 2:
                break
        near: State = {}
        if not found:
            near = self._nearing(means, {}, widely=True)
            if self._promise(near).machines:
                way = self._whole(self._smaller(self._fewer(near)))
                found += [way] if way else []
        if found:
            return tuple(found)
        for state in self._yielding(means, near):
            way = self._whole(state)
            found += [way] if way else []
            if len(found) == 2:
                break
        return tuple(found or self.advised(self.kept))

    def advised(self, kept: Sequence[str]) -> list[Way]:
        """One or two ways along what failing checks advise, one after the other; few keys first.

        Of given stages: those that a search found are searched again.
        """
        if self.design is None or self.brief.asked != self.brief.text:
            return []
        found: dict[tuple[str, ...], Way] = {}
        for first in _advice(self.design, kept):
            steps = dict[tuple[str, ...], AnyWay]()  # by their keys, for a value may be told again
            way: AnyWay | None = first
            while way and len(steps) < MAX_ADVISED and way not in steps.values():
                steps[tuple(key for key, _ in way)] = way
                document = _titled(self.brief.text, self.brief.title)
                told = [words for step in steps.values() if (words := _write(*step)(document))]
                self.say(f"trying a way out: {'; '.join(told)}")
                try:
                    design = solve(parse_brief(tomlkit.dumps(document), "a way out"))
                except GearworkError:
                    break
                if isinstance(design, Design) and design.sound:
                    found.setdefault(next(iter(steps)), Way(tuple(told), design.brief.text, design))
                    break
                way = next(_advice(design, kept), None)
        return sorted(found.values(), key=lambda way: len(way.changes))[:2]

    def _yielding(self, means: Sequence[Change], near: State) -> list[State]:
        """What promises a machine with one wish that yields; first where it does so least.

        Each wish alone, then beside the changes that come nearest without any.
        """
        missed = self.missed | self._promise(near).missed
        wishes = [change for change in self.every if change.wish and change.kinds & missed]
        found = [self._smaller(state) for wish in wishes if (state := self._alone(wish))]
        for wish in () if found else wishes:
            state = self._nearer([wish], near)
            if state is near:
                continue
            state = self._nearing([wish, *means], state)
            if self._promise(state).machines:
                found.append(self._smaller(self._fewer(self._smaller(state, [wish]))))
        return sorted(found, key=_yielded)

    def _nearing(self, changes: Sequence[Change], state: State, widely: bool = False) -> State:
        """A state with more changes, with which a look comes nearest or promises a machine.

        One after the other, each the one that brings it nearest, until none does; `widely`: of
        those too that help with what keeps others out than the nearest.
        """
        while not self._promise(state).machines:
            further = self._nearer(changes, state)
            if further is state and widely:
                further = self._nearer(changes, state, widely)
            if further is state:
                break
            state = further
        return state

    def _nearer(self, changes: Sequence[Change], state: State, widely: bool = False) -> State:
        """The state with one more change, or another step of one, that comes nearest; or as it is.

        Of those that may help with what the nearest train lacks; `widely`: or any.
        """
        look = self._promise(state)
        nearest, names = state, {change.name for change in state}
        for change in changes:
            opposed = any({change.name, name} in OPPOSITES for name in names)
            if not opposed and change.kinds & (look.missed if widely else look.nearest.kinds):
                steps = change.looks[-1:] if widely else change.looks
                tries = ({**state, change: step} for step in steps)
                nearest = max(nearest, *tries, key=self._nearness)
        return nearest

    def _nearness(self, state: State) -> tuple[bool, tuple[int, float]]:
        """What tells whether a look at changes comes nearer than at others."""
        look = self._promise(state)
        return bool(look.machines), look.nearest.rank

    def _alone(self, change: Change) -> State:
        """The first of some of its steps that promises a machine that holds; none: none does."""
        states = ({change: step} for step in change.looks)
        return next((state for state in states if self._promise(state).machines), {})

    def _fewer(self, state: State) -> State:
        """The same without the changes that are not needed."""
        for change in sorted(state, key=self.every.index, reverse=True):
            without = {c: step for c, step in state.items() if c is not change}
            if without and self._promise(without).machines:
                state = without
        return state

    def _smaller(self, state: State, changes: Sequence[Change] | None = None) -> State:
        """The same with some of its changes, or all, by as few steps as promise as much."""
        state = state.copy()
        for change in changes or sorted(state, key=self.every.index, reverse=True):
            low, high = 0, state[change]  # holds at the upper step
            while high - low > 1:
                middle = (low + high) // 2
                promised = self._promise({**state, change: middle}).machines
                low, high = (low, middle) if promised else (middle, high)
            state[change] = high
        return state

    def _promise(self, state: State) -> "_Look":
        """What a look at the file with these changes shows."""
        try:
            text, told = self._edited(state)
        except GearworkError:  # one change leaves nothing that another could be made of
            return _Look(())
        if text not in self.known and len(self.known) >= MAX_LOOKED:
            return _Look(())
        if text not in self.known:
            self.say(f"looking whether this helps: {'; '.join(told) or 'no change'}")
            try:
                self.known[text] = _Look.at(parse_brief(text, "a way out"))
            except GearworkError:
                self.known[text] = _Look(())
        return self.known[text]

    def _edited(self, state: State) -> tuple[str, tuple[str, ...]]:
        """The file with the changes, and they in words; stages that a search found are left out."""
        document = _titled(self.brief.asked, self.brief.title)
        # a wish that yields leaves the clutch more choice
        order = sorted(state.items(), key=lambda item: (not item[0].wish, item[0].name == "clutch"))
        told = [words for c, step in order if (words := c.steps[step - 1](document))]
        if self.brief.asked != self.brief.text:
            told.insert(0, SEARCHED)
        return tomlkit.dumps(document), tuple(told)

    def _whole(self, state: State, alone: bool = False) -> Way | None:
        """The way that these changes are as a whole machine, or lead to; `alone`: no others."""
        while self.tried < MAX_TRIED:
            _, told = self._edited(state)
            self.say(f"trying a way out: {'; '.join(told)}")
            kinds, beside = frozenset[str](), tuple[Edit, ...]()
            for chosen in self._promise(state).machines:
                self.tried, design = self.tried + 1, arranged(chosen)
                if spared(design) if chosen.asked != chosen.text else design.sound:
                    return Way(told or (WRITTEN,), design.brief.text, design)
                kinds |= {check.kind for check in design.report.failed}
                if not chosen.keep.shafts:
                    beside = beside or tuple(_overhang(chosen, design))
            if beside and not any(change.name == "overhang" for change in self.every):
                self.every += (Change("overhang", frozenset(("room",)), beside),)
                state = {**state, self.every[-1]: 1}
                continue
            # one of them by a step more, means first; where none promises as much all of them
            by_one = [
                {**state, change: step + 1}
                for change, step in sorted(state.items(), key=lambda item: item[0].wish)
                if step < len(change.steps)
            ]
            if one := next((more for more in by_one if self._promise(more).machines), None):
                state = one
                continue
            further = {c: min(step + 1, len(c.steps)) for c, step in state.items()}
            if further == state and not alone:
                more = [c for c in self.every if c not in state and not c.wish and c.kinds & kinds]
                further |= dict.fromkeys(more[:1], 1)
            if further == state:
                break
            state = further
        return None


@dataclass(frozen=True)
class _Look:
    """What a search, or the machine of given stages, shows of a file at little cost."""

    machines: tuple[DesignFile, ...]
    missed: frozenset[str] = frozenset()
    nearest: Nearest = NOWHERE

    @classmethod
    def at(cls, brief: GearBrief) -> "_Look":
        """Look at a file, by few profile shifts where gears are searched."""
        if not isinstance(brief, DesignFile):
            return cls(())
        missed, nearness = list[frozenset[Kind]](), list[Nearest]()
        for way in drive_gears(brief):
            if way.stages:
                made = arranged(way)
                if made.holds:
                    return cls((way,))
                failed = made.report.failed
                missed.append(frozenset(check.kind for check in failed))
                lack = sum(float(lacks(check.value, check.limit, check.sense)) for check in failed)
                nearness.append(Nearest(0, lack, missed[-1]))
                continue
            few = replace(way.space, pinion_shifts=_few(way.space.pinion_shifts))
            found = candidates_for(replace(way, space=few), kept=FEW, any_will_do=True)
            if len(found):
                # of the best, and of those whose teeth have most to spare
                strong = np.argsort(-found["margin"], kind="stable").tolist()
                ranks = dict.fromkeys([*range(BEST // 2), *strong])
                every = tuple(with_stages(way, found))
                return cls(tuple(every[rank] for rank in islice(ranks, BEST) if rank < len(every)))
            missed.append(found.missed)
            nearness.append(found.nearest)
        # a gear of the drive with which no train is fast enough tells little
        near = [kinds for kinds in missed if not kinds & {"power", "speed"}]
        nearest = max(nearness, key=lambda one: one.rank)
        return cls((), nearest.kinds.union(*(near or missed)), nearest)


def _yielded(state: State) -> tuple[int, int]:
    """How far wishes yield in it, and how many changes it has."""
    return sum(step for change, step in state.items() if change.wish), len(state)


def _changes(brief: DesignFile, design: GearSet | None) -> tuple[Change, ...]:
    """What may be changed, what costs least first, and what was wished last."""
    document, keep = tomlkit.parse(brief.asked), brief.keep
    found: list[Change] = []

    def add(name: str, kinds: frozenset[str], steps: Iterator[Edit], **more: bool) -> None:
        if every := tuple(steps):
            found.append(Change(name, kinds, every, **more))

    if not keep.shafts:
        add("overhang", frozenset(("room",)), _overhang(brief, design), each=True)
    if not keep.drive:
        add("clutch", _STRAINED, _clutch(brief, design))
        add("firmer clutch", frozenset(("power", "speed")), _firmer_clutch(brief))
        shorter = (_write(("drive.crank_length", length)) for length in cranks(brief.drive))
        add("crank", _STRAINED, shorter)
    # a search chooses no idlers, and without one the output turns the other way round
    if not (keep.gears or any(stage.idler for stage in brief.stages)):
        any_kind = frozenset((*_STRAINED, "geometry", "room", "chance", "power", "speed"))
        if any("rack_teeth" not in stage for stage in document.get("stage", ())):
            add("search", any_kind, iter((_search_again,)))
        for name, kinds, steps in (
            ("layers", _IN_WOOD, _layers(brief)),
            ("modules", _IN_WOOD | {"geometry"}, _modules(brief, larger=True)),
            ("smaller modules", frozenset(("room",)), _modules(brief, larger=False)),
            ("stages", frozenset(("speed", "room")), _stages(brief)),
            ("teeth", frozenset(("speed", "geometry", "room")), _teeth(brief)),
        ):
            add(name, kinds, (partial(_searched_with, edit) for edit in steps))
    if not keep.shafts:
        slim = (_write(("shafts.fixing", kind)) for kind in SLIM)
        add("fixing", _STRAINED | {"room"}, slim, each=True)
        add("rods", _STRAINED, (_write(*way) for way in other_rods(brief.shafts)))
        thinner = (_write(*way) for way in other_rods(brief.shafts, thicker=False))
        add("grade", _STRAINED, (_write(*way) for way in grades(brief.shafts)))
        add("thinner rods", frozenset(("room",)), thinner)
    if not keep.bit:
        add("bit", frozenset(("geometry",)), _bits(document))
    if not keep.sheet:
        add("sheet", _IN_WOOD, _thicker(brief, document))
        sizes = (_write(("stock.width", long), ("stock.height", wide)) for long, wide in SHEETS)
        add("size of the sheet", frozenset(("room",)), sizes)
    if not keep.load:
        wheels = (_write(*way) for way in larger_wheels(brief.load))
        add("wheels", frozenset(("room",)), wheels, wish=True)
    moving = _STRAINED | {"power", "speed"}
    for table, kept, kinds, keys in (
        ("load", keep.load, moving, ("travel_speed", "speed", "mass", "torque", "force")),
        ("service", keep.load, _LASTING, ("running_hours",)),
        ("room", keep.room, _STRAINED | {"room", "geometry"},
         ("max_diameter", "max_distance", "fixed_distance", "width", "height", "depth")),
    ):  # fmt: skip
        for key in () if kept else keys:
            own = document.get(table, {}).get(key)
            if own is not None:
                steps = (partial(_yield, table, key, share) for share in SHARES)
                add(f"{table} {key}", kinds, steps, wish=True)
                if "speed" in key:  # a faster load takes less ratio, which lets less torque through
                    faster = (partial(_yield, table, key, 1.0 / share) for share in SHARES)
                    add(f"{table} {key}, faster", moving, faster, wish=True)
                if key == "fixed_distance":  # which fits other teeth, and less bending too
                    nearer = (partial(_yield, table, key, 1.0 / share) for share in SHARES)
                    add(f"{table} {key}, nearer", kinds, nearer, wish=True)
    return tuple(found)


def _kept(keep: Keep) -> tuple[str, ...]:
    """The tables that stay as they are."""
    return tuple(table for name, keeps in vars(keep).items() if keeps for table in KEPT[name])


def _advice(design: GearSet, kept: Sequence[str]) -> Iterator[AnyWay]:
    """Ways out of the worst check that tells any without a kept table; none where many fail."""
    worst = [check for cause in causes(design) for check in cause.checks]
    for check in worst if len(worst) <= MAX_ASKED else ():
        told = [way for way in check.every_way if not any(_table_of(key) in kept for key, _ in way)]
        if told:
            yield from told
            return


def _table_of(name: str) -> str:
    """The table of a key, of stages whatever their number."""
    return name.split(".")[0].split()[0]


def _titled(text: str, title: str) -> Table:
    """The document of a design file, its title in it even where its own name gave it that."""
    document = tomlkit.parse(text)
    if "title" in document:
        return document
    return tomlkit.parse(f"title = {json.dumps(title, ensure_ascii=False)}\n{text}")


def _set(document: Table, name: str, value: object) -> str | None:
    """Write a key, for None leave it out; the change in words, None where it stood so before."""
    table, _, key = name.rpartition(".")
    place = document
    for step in table.split("."):
        named, _, number = step.partition(" ")
        place = place.setdefault(named, tomlkit.table())
        place = place[int(number or 1) - 1] if isinstance(place, list) else place
    old, value = place.get(key), list(value) if isinstance(value, tuple) else value
    if old == value:
        return None
    was = "" if old is None else f" (was {tomlkit.item(old).as_string()})"
    if value is None:
        del place[key]
        return f"[{table}] no {key}{was}"
    place[key] = value
    return f"[{table}] {key} = {tomlkit.item(value).as_string()}{was}"


def _write(*keys: tuple[str, object]) -> Edit:
    """Write keys and their values; what changes by it in words."""
    return lambda document: "; ".join(filter(None, (_set(document, *key) for key in keys))) or None


def _overhang(brief: DesignFile, design: GearSet | None) -> Iterator[Edit]:
    """As much as what stands beside the plate needs; in steps where that is not known."""
    if not isinstance(design, Design):
        own = brief.shafts.overhangs[1]
        longer = LONGER if brief.load.fixed_by else ()
        yield from (_write(("shafts.load_overhang", round_up(own + more, 1))) for more in longer)
        return
    for check in design.room_report():
        if not check.ok and check.judged == BESIDE_PLATE:
            yield _write(("shafts.load_overhang", round_up(check.limit, 1)))


def _clutch(brief: DesignFile, design: GearSet | None) -> Iterator[Edit]:
    """Lower settings, as long as they start the load."""
    drive = brief.drive
    if not isinstance(drive, Motor) or not drive.has_clutch:
        return
    own = drive.clutch_torque or drive.max_torque
    if brief.stages and isinstance(design, Design):
        setting = torque_setting(design)
        lower = clutch_setting(setting.max_torque / (1.0 + brief.reserve))
        if setting.min_torque <= lower < own:
            yield _write(("drive.clutch_torque", lower))
        return
    for step in range(1, SETTINGS + 1):
        yield partial(_lower_clutch, step / SETTINGS)


def _lower_clutch(way: float, document: Table) -> str | None:
    """So much of the way, as a proportion, to the lowest setting that leaves ratios to choose from.

    Of the load and the stages that the file asks for by now.
    """
    brief = parse_brief(tomlkit.dumps(document), "a way out")
    assert isinstance(brief, DesignFile)
    drive = brief.drive
    assert isinstance(drive, Motor)
    own = drive.clutch_torque or drive.max_torque
    low, high = 0.01 * own, own
    while high > 1.02 * low:
        middle = math.sqrt(low * high)
        moves = _moves(brief, middle)
        low, high = (low, middle) if moves else (middle, high)
    setting = max(clutch_setting(own * (high / own) ** way), round_up(high, 1))
    return _set(document, "drive.clutch_torque", min(setting, own))


def _firmer_clutch(brief: DesignFile) -> Iterator[Edit]:
    """Higher settings, where the one that is given keeps the drive from starting the load."""
    drive = brief.drive
    if isinstance(drive, Motor) and drive.clutch_torque:
        for more in (1.25, 1.6, 2.0, 3.0):
            if (higher := clutch_setting(more * drive.clutch_torque)) < drive.stall_torque:
                yield _write(("drive.clutch_torque", higher))


def _moves(brief: DesignFile, clutch: float) -> bool:
    """Whether a clutch set to so much, N·m, leaves some choice of ratios in a gear of the drive."""

    def set_clutch(way: DesignFile) -> DesignFile:
        assert isinstance(way.drive, Motor)
        return replace(way, drive=replace(way.drive, clutch_torque=clutch))

    reach = brief.space.wheel_teeth[1] / brief.space.pinion_teeth[0]
    bands = (
        (reach**stages, way.duty(stages).ratio_range)
        for way in map(set_clutch, drive_gears(brief))
        for stages in brief.space.stages
    )
    return any(band and min(band[1], most) > ROOMY * band[0] for most, band in bands)


def _search_again(document: Table) -> str | None:
    """Leave out the stages, but not a rack: that is where the load is."""
    if "stage" not in document:
        return None
    racks = [stage for stage in document["stage"] if "rack_teeth" in stage]
    del document["stage"]
    if racks:
        document["stage"] = tomlkit.aot()
        document["stage"].extend(racks)
    return SEARCHED


def _searched_with(edit: Edit, document: Table) -> str | None:
    """A choice of a search, which there is none of while stages are given."""
    return "; ".join(words for make in (_search_again, edit) if (words := make(document))) or None


def _layers(brief: DesignFile) -> Iterator[Edit]:
    most = len(brief.space.panels)
    for extra in (1, 2):
        yield _write(("wishes.max_layers", most + extra))


def _modules(brief: DesignFile, larger: bool) -> Iterator[Edit]:
    """One module more on one side, two, and all there are."""
    own = sorted(brief.space.modules)
    beyond = [m for m in MODULES if m > own[-1]] if larger else [m for m in MODULES if m < own[0]]
    for count in sorted({1, 2, len(beyond)}):
        more = beyond[:count] if larger else beyond[-count:]
        if 0 < len(more) == count:
            both = sorted([*own, *more])
            yield partial(_add_modules, both)


def _add_modules(modules: Sequence[float], document: Table) -> str | None:
    """Beside those that another change has added."""
    others = document.get("wishes", {}).get("modules", ())
    every = sorted({float(m) for m in (*others, *modules)})
    return _set(document, "wishes.modules", [int(m) if m == int(m) else m for m in every])


def _stages(brief: DesignFile) -> Iterator[Edit]:
    for count in (1, 2, 3):
        stages = sorted({*brief.space.stages, *range(1, count + 1)})
        if stages != sorted(brief.space.stages):
            yield _write(("wishes.stages", stages))


def _teeth(brief: DesignFile) -> Iterator[Edit]:
    """As many teeth as a search looks at by default, and then pinions as large as wheels.

    With these but few profile shifts, or there are too many pairs to try.
    """
    (low, high), (least, most) = brief.space.pinion_teeth, brief.space.wheel_teeth
    shifts = ("wishes.pinion_shifts", [*_few(brief.space.pinion_shifts)])
    for pinion, wheel in (((10, 24), (20, 100)), ((10, 50), (10, 100))):
        wider = [min(low, pinion[0]), max(high, pinion[1])]
        more = [min(least, wheel[0]), max(most, wheel[1])]
        if (wider, more) != ([low, high], [least, most]):
            fewer = (shifts,) if wider[1] > max(high, 24) else ()
            yield _write(("wishes.pinion_teeth", wider), ("wishes.wheel_teeth", more), *fewer)


def _few(shifts: Sequence[float]) -> tuple[float, ...]:
    """The first, the middle and the last of some profile shifts, each once."""
    return tuple(dict.fromkeys((shifts[0], shifts[len(shifts) // 2], shifts[-1])))


def _bits(document: Table) -> Iterator[Edit]:
    bit = document["bit"]
    if "measured_diameter" not in bit:
        smaller = (size for size in reversed(SOLD) if MIN_BIT <= size < float(bit["diameter"]))
        yield from (_write(("bit.diameter", size)) for size in smaller)


def _thicker(brief: DesignFile, document: Table) -> Iterator[Edit]:
    sheet = document["sheet"]
    if "measured_thickness" not in sheet:
        sizes = thicker_sheets(brief, float(sheet.get("thickness", 12.0)))
        yield from (_write(("sheet.thickness", size)) for size in islice(sizes, 2))


def _yield(table: str, key: str, share: float, document: Table) -> str | None:
    """Ask for less of a load or speed, or give more room; to two figures."""
    own = float(document[table][key])
    value = float(math.ceil(own / share)) if table == "room" else figures_down(share * own, 2)
    return _set(document, f"{table}.{key}", value)
