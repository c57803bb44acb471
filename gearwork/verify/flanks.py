"""The flanks of a cut outline as tables of direction over distance from the gear's centre.

Points are complex numbers about the gear's centre; angles are radians.


The first contact of two sets of flanks when one gear is turned towards the other.

Turning a gear moves its points on circles. So the way a pinion can turn until it touches is the
least angle between a point of the wheel and the pinion's flank at the same distance from the
pinion's centre. Corners of the pinion, which would slip between the wheel's points, are held
against the wheel's flanks in the same way. Teeth of the same shape are held against each other
once. Points are complex numbers, angles radians.

"""

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from gearwork.errors import GearworkError, whole_number
from gearwork.geometry.gear import FEWEST_TEETH, MOST_TEETH
from gearwork.geometry.outline import Outline, as_complex
from gearwork.numbers import Bools, Complexes, Floats, Ints

SAMPLING = 5e-4
"""Chord error of the sampled outline, mm."""

SKIN = 1e-3
"""Tips and roots are cut off by this, mm, so that rounded files still have a clear corner."""

CELLS = 192
"""Cells of one flank."""

SHARP = 1.0
"""A change of direction from this on is a corner, degrees."""


@dataclass(frozen=True, eq=False)
class FlankTable:
    """The flanks on the counter-clockwise side of all teeth, each in the frame of its tooth.

    A table stands between `root` and `tip` at root + (tip − root) s², s in equal steps from 0
    to 1: finer towards the root, where the flank turns flat.

    Attributes
    ----------
    root, tip : ndarray, shape (z,)
        Least and greatest distance from the centre, mm.
    ways : ndarray, shape (z, CELLS + 1)
        Unit vectors to the flank.
    corners : ndarray, shape (z, c)
        Corners that stick out, mm; 0 where a tooth has fewer than others.
    """

    root: Floats
    tip: Floats
    ways: Complexes
    corners: Complexes

    @classmethod
    def of(cls, points: Complexes, corners: Complexes, teeth: int) -> "FlankTable":
        """Return the table of a path that runs counter-clockwise, tooth 0 centred on +x.

        Raises
        ------
        GearworkError
            If one of the teeth has no such flank.
        """
        tooth, angle, radius = _half_teeth(points, teeth)
        present = np.bincount(tooth, minlength=teeth) > 1
        if not present.all():
            raise GearworkError(
                f"outline has no flank where tooth {int(np.argmin(present))} of {teeth} should"
                " be: is it the toothed edge of this gear, centred on (0, 0)?"
            )
        first = np.searchsorted(tooth, np.arange(teeth))
        root = np.minimum.reduceat(radius, first)
        tip = np.maximum.reduceat(radius, first)
        if not (tip - root > 4 * SKIN).all():
            raise GearworkError("outline has a tooth without depth: is it the edge of a gear?")
        low = radius < root[tooth] + SKIN / 2
        high = radius > tip[tooth] - SKIN / 2
        ends = (low & np.append(low[1:], False)) | (high & np.append(False, high[:-1]))
        radius, angle, tooth = radius[~ends], angle[~ends], tooth[~ends]
        root, tip = root + SKIN, tip - SKIN
        shares = np.linspace(0.0, 1.0, CELLS + 1) ** 2
        wanted = root[:, None] + (tip - root)[:, None] * shares
        angles = _outermost(tooth, radius, angle, wanted)
        return cls(root, tip, np.exp(1j * angles), _padded(corners, teeth))

    @cached_property
    def _steps(self) -> Complexes:
        """From each entry to the next; the last has none."""
        return np.diff(self.ways, axis=1, append=self.ways[:, -1:])

    @cached_property
    def typical(self) -> int:
        """Number of a tooth that most others are like, of three tried."""
        teeth = len(self.tip)
        return max((0, teeth // 3, 2 * teeth // 3), key=lambda t: self._like(t).sum())

    @cached_property
    def kinds(self) -> Ints:
        """For each tooth the number of one of the same shape: the typical one's, or its own."""
        kinds: Ints = np.where(self._like(self.typical), self.typical, np.arange(len(self.tip)))
        return kinds

    def _like(self, tooth: int) -> Bools:
        """Which teeth have the shape of the given one, to what sampling leaves open."""
        turned = np.abs(self.ways - self.ways[tooth]).max(axis=1) * self.tip[tooth]
        moved = np.abs(self.corners - self.corners[tooth])
        grown = np.maximum(abs(self.root - self.root[tooth]), abs(self.tip - self.tip[tooth]))
        alike: Bools = np.maximum(turned, grown) + moved.max(axis=1, initial=0.0) < SAMPLING
        return alike

    def locate(self, tooth: Ints, radius: Floats) -> tuple[Ints, Floats]:
        """Return where in the flattened table a distance lies: entry and share of its cell."""
        low = self.root[tooth]
        share = np.clip((radius - low) / (self.tip[tooth] - low), 0.0, 1.0)
        place = np.sqrt(share) * CELLS
        cell = np.minimum(place.astype(np.int64), CELLS - 1)
        return tooth * (CELLS + 1) + cell, place - cell

    def way(self, tooth: Ints, radius: Floats) -> Complexes:
        """Return unit vectors to the flanks at distances from the centre, which are clipped."""
        entry, share = self.locate(tooth, radius)
        way: Complexes = self.ways.ravel()[entry] + share * self._steps.ravel()[entry]
        return way

    def slope(self, tooth: Ints, radius: Floats) -> Floats:
        """Return the change of the flank's angle with the distance, radians per mm."""
        entry, _ = self.locate(tooth, radius)
        turn = (self._steps.ravel()[entry] * np.conj(self.ways.ravel()[entry])).imag
        cell = entry - tooth * (CELLS + 1)
        rise = (self.tip - self.root)[tooth] * (2 * cell + 1) / CELLS**2
        slope: Floats = turn / rise
        return slope

    def beyond(self, tooth: Ints, radius: Floats) -> Bools:
        """Return where a distance is past the tip or below the root."""
        outside: Bools = (radius > self.tip[tooth]) | (radius < self.root[tooth])
        return outside


@dataclass(frozen=True, eq=False)
class ToothedEdge:
    """Both sides of all teeth of a cut outline.

    Attributes
    ----------
    front : FlankTable
        The sides that lead when the gear turns counter-clockwise.
    back : FlankTable
        The other sides, of the outline mirrored about the x axis: tooth i is number −i there.
    """

    front: FlankTable
    back: FlankTable

    @classmethod
    def of(cls, outline: Outline, teeth: int) -> "ToothedEdge":
        """Return the flanks of an outline about the origin; tooth 0 is the one nearest +x.

        Raises
        ------
        GearworkError
            If the outline has no such teeth.
        """
        count = whole_number("teeth", teeth, at_least=FEWEST_TEETH, at_most=MOST_TEETH)
        path = outline if outline.area > 0 else outline.reversed()
        points, vertices = as_complex(path.points(SAMPLING)), as_complex(path.vertices)
        corners = vertices[path.corner_angles() > SHARP]
        turn = np.exp(-1j * _first_tooth(points, count))
        points, corners = points * turn, corners * turn
        return cls(
            FlankTable.of(points, corners, count),
            FlankTable.of(np.conj(points[::-1]), np.conj(corners), count),
        )

    @property
    def teeth(self) -> int:
        """z."""
        return len(self.front.tip)

    @property
    def pitch(self) -> float:
        """Angle from tooth to tooth, radians."""
        return 2 * np.pi / self.teeth

    @property
    def reach(self) -> float:
        """Distance of the highest tip from the centre, mm."""
        return float(max(self.front.tip.max(), self.back.tip.max()) + SKIN)


def _first_tooth(points: Complexes, teeth: int) -> float:
    """Angle of tooth 0: the phase of the outline's radius at `teeth` waves a turn."""
    following = np.roll(points, -1)
    middle = (points + following) / 2
    wave = np.abs(middle) * np.exp(-1j * teeth * np.angle(middle)) * np.angle(following / points)
    return float(-np.angle(wave.sum()) / teeth)


def _half_teeth(points: Complexes, teeth: int) -> tuple[Ints, Floats, Floats]:
    """Tooth, angle from its axis and radius of the points beyond each axis, root to tip."""
    pitches = np.angle(points) * (teeth / (2 * np.pi))
    half = np.floor(2 * pitches).astype(np.int64)
    start = int(np.argmax(half != np.roll(half, 1)))
    order = np.roll(np.arange(len(points)), -start)[::-1]
    order = order[half[order] % 2 == 0]
    tooth = half[order] // 2
    angle = (pitches[order] - tooth) * (2 * np.pi / teeth)
    tooth = tooth % teeth
    by_tooth = np.argsort(tooth, kind="stable")
    order, tooth, angle = order[by_tooth], tooth[by_tooth], angle[by_tooth]
    return tooth, angle, np.abs(points[order])


def _outermost(tooth: Ints, radius: Floats, angle: Floats, wanted: Floats) -> Floats:
    """Angle of the outermost flank at the wanted distances, one row a tooth.

    Where a flank folds back over itself, its outermost course is that of the points beyond all
    before them or that of the points below all after them.
    """
    apart = 2 * (radius.max() + 1.0)
    along = tooth * apart + radius
    wanted = np.arange(len(wanted))[:, None] * apart + wanted
    rising = np.diff(np.maximum.accumulate(along), prepend=-1.0) > 0
    angles: Floats = np.interp(wanted, along[rising], angle[rising])
    if not rising.all():
        lowest = np.minimum.accumulate(along[::-1])[::-1]
        falling = np.append(np.diff(lowest) > 0, True)
        angles = np.maximum(angles, np.interp(wanted, along[falling], angle[falling]))
    return angles


def _padded(corners: Complexes, teeth: int) -> Complexes:
    """Corners by tooth in the frames of the teeth, those beyond each axis only."""
    pitches = np.angle(corners) * (teeth / (2 * np.pi))
    half = np.floor(2 * pitches).astype(np.int64)
    corners, tooth = corners[half % 2 == 0], (half[half % 2 == 0] // 2) % teeth
    order = np.argsort(tooth, kind="stable")
    corners, tooth = corners[order], tooth[order]
    rank = np.arange(len(tooth)) - np.searchsorted(tooth, tooth)
    table = np.zeros((teeth, int(rank.max(initial=-1)) + 1), dtype=complex)
    table[tooth, rank] = corners * np.exp(-2j * np.pi / teeth * tooth)
    return table


LOOK, CLOSER = 24, 9
"""Points of a wheel's flank tried first, and again about the nearest of them."""

COMPLIANCE = 0.02
"""Flanks this near to touching carry, mm: four times the default tolerance of outlines, and less
than plywood teeth yield under load (assumption)."""

NEWTON_STEPS = 3
FARTHEST = 0.1
"""Longest step, radians."""


class Way(NamedTuple):
    """Free turn of the pinion at each position, and the contact that ends it.

    `lever` is the distance of the contact normal from the pinion's centre, mm; `carrying` the
    number of tooth pairs near contact; `place` the point of contact.
    """

    angle: Floats
    lever: Floats
    place: Complexes
    carrying: Ints
    pinion_tooth: Ints
    wheel_tooth: Ints


class Mesh(NamedTuple):
    """Flanks that may meet.

    At `position` stands the pair of `pinion_tooth` and the `wheel_tooth` ahead of it, which is
    like the case `case`: teeth of `pinion_kind` and `wheel_kind`, the pinion tooth `ahead` of
    the line of centres, in pitches.
    """

    pinion: FlankTable
    wheel: FlankTable
    distance: float
    position: Ints
    pinion_tooth: Ints
    wheel_tooth: Ints
    case: Ints
    pinion_kind: Ints
    wheel_kind: Ints
    ahead: Floats

    @property
    def pinion_turn(self) -> Complexes:
        """From the frame of each case's pinion tooth to the plane."""
        turn: Complexes = np.exp(2j * np.pi / len(self.pinion.tip) * self.ahead)
        return turn

    @property
    def wheel_turn(self) -> Complexes:
        """From the frame of each case's wheel tooth to the plane, about the wheel's centre."""
        turn: Complexes = -np.exp(-2j * np.pi / len(self.wheel.tip) * (self.ahead + 0.5))
        return turn


def mesh_of(
    pinion: FlankTable, wheel: FlankTable, distance: float, steps: Ints, pitch: int, first: int
) -> Mesh:
    """Flanks that lie, if only in part, where the tip circles overlap; `pitch` steps a tooth."""
    z1, z2 = len(pinion.tip), len(wheel.tip)
    tips = float(pinion.tip.max()) + SKIN, float(wheel.tip.max()) + SKIN
    lens = min(_half_lens(*tips, distance) * z1, _half_lens(*tips[::-1], distance) * z2)
    near = max(0.5, 0.25 + lens / (2 * np.pi))
    low, high = int(np.ceil((-near - 0.25) * pitch)), int((near - 0.25) * pitch)
    lowest = low + (steps - low) % pitch
    ahead = lowest[:, None] + pitch * np.arange((high - low) // pitch + 1)
    position, rank = np.nonzero(ahead <= high)
    ahead = ahead[position, rank]
    tooth = (ahead - steps[position]) // pitch
    pinion_tooth, wheel_tooth = tooth % z1, (first - tooth - 1) % z2
    kinds = pinion.kinds[pinion_tooth], wheel.kinds[wheel_tooth]
    key = (kinds[0] * z2 + kinds[1]) * (high - low + 1) + ahead - low
    _, sample, case = np.unique(key, return_index=True, return_inverse=True)
    return Mesh(
        pinion,
        wheel,
        distance,
        position,
        pinion_tooth,
        wheel_tooth,
        case,
        kinds[0][sample],
        kinds[1][sample],
        ahead[sample] / pitch,
    )


def _half_lens(tip: float, other: float, distance: float) -> float:
    """Angle from the line of centres to where the tip circles cross, seen from the first."""
    cosine = (distance**2 + tip**2 - other**2) / (2 * distance * tip)
    return float(np.arccos(np.clip(cosine, -1.0, 1.0)))


class Contact(NamedTuple):
    """Turn of the pinion until contact, infinite where there is none, its lever and place.

    `edge` tells where the corner of a tip touches.
    """

    angle: Floats
    lever: Floats
    place: Complexes
    edge: Bools

    def at(self, entries: Ints) -> "Contact":
        """Return some of them."""
        return Contact(
            self.angle[entries], self.lever[entries], self.place[entries], self.edge[entries]
        )

    def or_earlier(self, other: "Contact") -> "Contact":
        """Return the one that comes first."""
        earlier = other.angle < self.angle
        return Contact(
            np.where(earlier, other.angle, self.angle),
            np.where(earlier, other.lever, self.lever),
            np.where(earlier, other.place, self.place),
            np.where(earlier, other.edge, self.edge),
        )


def free_way(mesh: Mesh, positions: int) -> Way:
    """Turn the pinion counter-clockwise from each position until it touches."""
    found = _flanks_ahead(mesh)
    for corner in mesh.pinion.corners[mesh.pinion_kind].T:
        found = found.or_earlier(_corner_ahead(mesh, corner, found.angle))
    contact = found.at(mesh.case)
    starts = np.searchsorted(mesh.position, np.arange(positions))
    least = np.minimum.reduceat(contact.angle, starts)
    stops = np.flatnonzero(contact.angle == least[mesh.position])
    first = stops[np.searchsorted(mesh.position[stops], np.arange(positions))]
    ends = contact.at(first)
    real = np.isfinite(contact.angle)
    at = mesh.position[real]
    apart = (contact.angle[real] - ends.angle[at]) * ends.lever[at]
    carries = (apart <= COMPLIANCE) & ~contact.edge[real]
    return Way(
        ends.angle,
        ends.lever,
        ends.place,
        np.bincount(at[carries], minlength=positions),
        mesh.pinion_tooth[first],
        mesh.wheel_tooth[first],
    )


def _flanks_ahead(mesh: Mesh) -> Contact:
    """Turn the pinion until its flank meets a point of the wheel."""
    wheel, tooth = mesh.wheel, mesh.wheel_kind
    low = np.clip(mesh.distance - mesh.pinion.tip.max(), wheel.root, wheel.tip)
    tried = np.linspace(low, wheel.tip, LOOK, axis=1)
    points = tried * wheel.way(np.arange(len(tried))[:, None], tried)
    best = _gap(mesh, points[tooth])[1].argmin(axis=1)
    start = tried[tooth, np.maximum(best - 1, 0)]
    stop = tried[tooth, np.minimum(best + 1, LOOK - 1)]
    closer = np.linspace(start, stop, CLOSER, axis=1)
    places, sines = _gap(mesh, closer * wheel.way(tooth[:, None], closer))
    nearest = np.arange(len(sines)), sines.argmin(axis=1)
    place, sine = places[nearest], sines[nearest]
    radius = np.abs(place)
    slope = mesh.pinion.slope(mesh.pinion_kind, radius)
    angle = np.where(np.isfinite(sine), np.arcsin(np.clip(sine, -1.0, 1.0)), np.inf)
    edge = np.abs(place - mesh.distance) > wheel.tip[tooth] - SKIN
    return Contact(angle, radius / np.hypot(1.0, radius * slope), place, edge)


def _gap(mesh: Mesh, points: Complexes) -> tuple[Complexes, Floats]:
    """Points of the wheel in the plane, and the sine of their angle ahead of the pinion flank."""
    place = mesh.distance + points * mesh.wheel_turn[:, None]
    radius = np.abs(place)
    tooth = mesh.pinion_kind[:, None]
    way = mesh.pinion.way(tooth, radius) * mesh.pinion_turn[:, None]
    sine = (place * np.conj(way)).imag / radius
    return place, np.where(mesh.pinion.beyond(tooth, radius), np.inf, sine)


def _corner_ahead(mesh: Mesh, corner: Complexes, angle: Floats) -> Contact:
    """Turn the pinion until a corner of it meets the flank of the wheel, near the given turn.

    By Newton's method where the corner overlaps there already; elsewhere one step tells enough.
    """
    angle = np.where(np.isfinite(angle), angle, 0.0)
    corner = corner * mesh.pinion_turn
    tooth, back = mesh.wheel_kind, np.conj(mesh.wheel_turn)
    meets = ~mesh.wheel.beyond(tooth, np.abs(corner * np.exp(1j * angle) - mesh.distance))
    overlaps = meets
    for _ in range(NEWTON_STEPS):
        place = corner * np.exp(1j * angle)
        own, motion = (place - mesh.distance) * back, 1j * place * back
        radius = np.abs(own)
        slope = mesh.wheel.slope(tooth, radius)
        sine = (own * np.conj(mesh.wheel.way(tooth, radius))).imag / radius
        closing = slope * (motion * np.conj(own)).real / radius - (motion / own).imag
        meets = meets & (closing > 0)
        step = np.arcsin(np.clip(sine, -1.0, 1.0)) / np.where(meets, closing, 1.0)
        angle = angle + np.where(overlaps, np.clip(step, -FARTHEST, FARTHEST), 0.0)
        overlaps = overlaps & (sine < 0)
    lever = closing * radius / np.hypot(1.0, radius * slope)
    return Contact(np.where(meets, angle, np.inf), lever, place, meets)


def tip_clearance(gear: ToothedEdge, mate: ToothedEdge, distance: float) -> float:
    """Least distance from the highest tip of a gear to the shallowest root of its mate."""
    tip = _highest_tip(gear)
    start, way = _shallowest_root(mate)
    inward = np.linspace(-0.25, 0.25, 11)[:, None]
    turned = distance - tip * np.exp(1j * gear.pitch * inward)
    points = (turned * np.exp(1j * mate.pitch * inward)).ravel()[:, None]
    along = np.clip(((points - start) * np.conj(way)).real / np.abs(way) ** 2, 0.0, 1.0)
    apart = points - start - along * way
    nearest = np.arange(len(points)), np.abs(apart).argmin(axis=1)
    apart, way = apart[nearest], way[nearest[1]]
    return float(np.where((apart * np.conj(way)).imag < 0, np.abs(apart), -np.abs(apart)).min())


def _highest_tip(gear: ToothedEdge) -> Complexes:
    """Points across the highest tip, in the frame of its tooth, mm."""
    mirrored = -np.arange(gear.teeth) % gear.teeth
    tooth = int(np.argmax(np.maximum(gear.front.tip, gear.back.tip[mirrored])))
    first, last = -np.angle(gear.back.ways[-tooth, -1]), np.angle(gear.front.ways[tooth, -1])
    points: Complexes = (gear.reach + 0j) * np.exp(1j * np.linspace(first, last, 5))
    return points


def _shallowest_root(gear: ToothedEdge) -> tuple[Complexes, Complexes]:
    """Starts and lengths of segments along the shallowest root, its space centred on +x.

    Fillets count as far as they face outward more than sideways.
    """
    follows = -(np.arange(gear.teeth) + 1) % gear.teeth
    tooth = int(np.argmax(np.maximum(gear.front.root, gear.back.root[follows])))
    turn = np.exp(-0.5j * gear.pitch)
    before = _root_side(gear.front, tooth)[::-1] * turn
    after = np.conj(_root_side(gear.back, int(follows[tooth])) * turn)
    share = np.linspace(0.0, 1.0, 7)[1:-1]
    between = np.angle(after[0] / before[-1]) * share
    lengths = np.abs(before[-1]) * (1 - share) + np.abs(after[0]) * share - SKIN
    bottom = before[-1] / np.abs(before[-1]) * np.exp(1j * between) * lengths
    path = np.concatenate([before, bottom, after])
    return path[:-1], np.diff(path)


def _root_side(flanks: FlankTable, tooth: int) -> Complexes:
    """Points from the root up to where the flank faces sideways."""
    shares = np.linspace(0.0, 1.0, CELLS + 1)[::2] ** 2
    radius = flanks.root[tooth] + (flanks.tip - flanks.root)[tooth] * shares
    points = flanks.ways[tooth, ::2] * radius
    step = np.diff(points) / points[:-1]
    sideways = np.abs(step.real) > np.abs(step.imag)
    side: Complexes = points[: int(np.argmax(sideways)) + 1]
    return side
