"""The flanks of cut outlines, and where two sets of them first touch when one gear is turned.

A flank is tabulated as direction over distance from the gear's centre. Turning a gear moves its
points on circles, so the way a pinion can turn until it touches is the smallest angle between a
point of the wheel and the pinion's flank at the same distance from the pinion's centre. Corners
of the pinion, which would slip between the wheel's points, are held against the wheel's flanks in
the same way. Teeth of the same shape are held against each other once.

Points are complex numbers about the gear's centre, mm; angles are radians.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from gearwork.errors import GearworkError, whole_number
from gearwork.geometry.gear import MAX_TEETH, MIN_TEETH
from gearwork.geometry.outline import Outline, as_complex, unit
from gearwork.geometry.tooth import half_lens
from gearwork.numbers import Bools, Complexes, Floats, Ints

SAMPLING = 5e-4  # chord error of the sampled outline, mm: a tenth of the outlines' tolerance
SKIN = 1e-3  # cut off tips and roots, mm, so that rounded files still have a clear corner
CELLS = 192  # of one flank: at module 5 a chord of the widest strays 0.0003 mm from an involute
SHARES = np.linspace(0.0, 1.0, CELLS + 1) ** 2  # of its height, where they end
SHARP = 1.0  # a change of direction from this on is a corner, degrees

LOOK, CLOSER = np.linspace(0.0, 1.0, 24), np.linspace(0.0, 1.0, 9)
"""Where on a wheel's flank points are tried first, and again about the nearest."""

COMPLIANCE = 0.02
"""Flanks this near to touching carry, mm: four times the default tolerance of outlines, and less
than plywood teeth yield under load (assumption)."""

NEWTON_STEPS = 3
FARTHEST = 0.1  # longest step, radians: a flat piece of flank must not throw the corner away


@dataclass(frozen=True, eq=False)
class FlankTable:
    """The flanks on the counter-clockwise side of all z teeth, each in the frame of its tooth.

    `root` and `tip` are the smallest and largest distance from the centre, shape (z,). The
    `angles`, radians, shape (z, CELLS + 1), stand at root + (tip − root) s², s in equal steps from
    0 to 1: finer towards the root, where the flank turns flat. `corners` are those that
    stick out, shape (z, c), 0 where a tooth has fewer than others.
    """

    root: Floats
    tip: Floats
    angles: Floats
    corners: Complexes

    @classmethod
    def of(
        cls, points: Complexes, pitches: Floats, corners: Complexes, teeth: int, shapes: int
    ) -> "FlankTable":
        """Return the table of a path that runs counter-clockwise, tooth 0 centred on +x.

        `pitches` are the directions of its points in pitches. The path has all teeth, or with one
        of `shapes` one that all others are like.
        """
        start = int(np.argmax(np.diff(np.floor(2 * pitches)) != 0)) + 1  # no flank is torn in two
        points, pitches = np.roll(points, -start)[::-1], np.roll(pitches, -start)[::-1]
        place, tooth, angle = _beyond_axis(pitches, teeth, shapes)
        radius = np.abs(points[place])
        present = np.bincount(tooth, minlength=shapes) > 1
        if not present.all():
            raise GearworkError(
                f"outline has no flank where tooth {int(np.argmin(present))} of {teeth} should"
                " be: is it the toothed edge of this gear, centred on (0, 0)?"
            )
        first = np.searchsorted(tooth, np.arange(shapes))
        root = np.minimum.reduceat(radius, first)
        tip = np.maximum.reduceat(radius, first)
        if not (tip - root > 4 * SKIN).all():
            raise GearworkError("outline has a tooth without depth: is it the edge of a gear?")
        # Runs of points along the root and tip circles are no flank: their ends alone stay.
        low = radius < root[tooth] + SKIN / 2
        high = radius > tip[tooth] - SKIN / 2
        ends = (low & np.append(low[1:], False)) | (high & np.append(False, high[:-1]))
        radius, angle, tooth = radius[~ends], angle[~ends], tooth[~ends]
        root, tip = root + SKIN, tip - SKIN
        wanted = root[:, None] + (tip - root)[:, None] * SHARES
        angles = _outermost(tooth, radius, angle, wanted)
        place, tooth, angle = _beyond_axis(_pitches(corners, teeth), teeth, shapes)
        rank = np.arange(len(tooth)) - np.searchsorted(tooth, tooth)
        padded = np.zeros((shapes, int(rank.max(initial=-1)) + 1), dtype=complex)
        padded[tooth, rank] = np.abs(corners[place]) * unit(angle)
        each = teeth // shapes
        tables = [np.tile(table, (each, 1)) for table in (angles, padded)]
        return cls(np.tile(root, each), np.tile(tip, each), *tables)

    @cached_property
    def _most_alike(self) -> tuple[int, Bools]:
        """Number of a tooth that most others are like, of three tried, and which are."""
        teeth, best = len(self.tip), (0, self._like(0))
        for tooth in (teeth // 3, 2 * teeth // 3):
            if best[1].all():
                break
            best = max(best, (tooth, self._like(tooth)), key=lambda tried: tried[1].sum())
        return best

    @property
    def typical(self) -> int:
        """Number of a tooth that most others are like."""
        return self._most_alike[0]

    @cached_property
    def kinds(self) -> Ints:
        """For each tooth the number of one of the same shape: the typical one's, or its own."""
        kinds: Ints = np.where(self._most_alike[1], self.typical, np.arange(len(self.tip)))
        return kinds

    def _like(self, tooth: int) -> Bools:
        """Which teeth have the shape of the given one, to what sampling leaves open."""
        turned = np.abs(self.angles - self.angles[tooth]).max(axis=1) * self.tip[tooth]
        moved = np.abs(self.corners - self.corners[tooth]).max(axis=1, initial=0.0)
        grown = np.maximum(abs(self.root - self.root[tooth]), abs(self.tip - self.tip[tooth]))
        alike: Bools = np.maximum(turned, grown) + moved < SAMPLING
        return alike

    def _at(self, tooth: Ints, radius: Floats) -> tuple[Floats, Floats, Ints]:
        """Angle at a distance from the centre, by how much it changes over its cell, and which."""
        low = self.root[tooth]
        share = (radius - low) / (self.tip[tooth] - low)
        place = np.sqrt(np.minimum(np.maximum(share, 0.0), 1.0)) * CELLS  # np.clip takes longer
        cell = np.minimum(place.astype(np.int64), CELLS - 1)
        entry, table = tooth * (CELLS + 1) + cell, self.angles.ravel()
        low = table[entry]
        turn = table[entry + 1] - low
        return low + (place - cell) * turn, turn, cell

    def direction(self, tooth: Ints, radius: Floats) -> Complexes:
        """Return unit vectors to the flanks at distances from the centre, which are clipped."""
        angle, _, _ = self._at(tooth, radius)
        return unit(angle)

    def course(self, tooth: Ints, radius: Floats) -> tuple[Complexes, Floats]:
        """Return these, and the change of the flank's angle with the distance, radians per mm."""
        angle, turn, cell = self._at(tooth, radius)
        rise = (self.tip - self.root)[tooth] * (2 * cell + 1) / CELLS**2
        return unit(angle), turn / rise

    def beyond(self, tooth: Ints, radius: Floats) -> Bools:
        """Return where a distance is past the tip or below the root."""
        outside: Bools = (radius > self.tip[tooth]) | (radius < self.root[tooth])
        return outside


@dataclass(frozen=True, eq=False)
class ToothedEdge:
    """Both sides of all teeth of a cut outline.

    The sides `front` lead when the gear turns counter-clockwise. The others, `back`, are those of
    the outline mirrored about the x axis: tooth i is number −i there.
    """

    front: FlankTable
    back: FlankTable

    @classmethod
    def of(cls, outline: Outline, teeth: int) -> "ToothedEdge":
        """Return the flanks of an outline about the origin; tooth 0 is the one nearest +x.

        Raises GearworkError if the outline has no such teeth.
        """
        count = whole_number("teeth", teeth, at_least=MIN_TEETH, at_most=MAX_TEETH)
        path = outline if outline.area > 0 else outline.reversed()
        points, vertices = as_complex(path.points(SAMPLING)), as_complex(path.vertices)
        corners = vertices[path.corner_angles() > SHARP]
        shapes = 1 if _repeats(points, count) and len(corners) % count == 0 else count
        points, corners = (row[: len(row) * shapes // count] for row in (points, corners))
        directions = np.angle(points)
        turn = to_axis(points, directions, count, shapes)
        points, corners = points * np.exp(1j * turn), corners * np.exp(1j * turn)
        pitches = ((directions + turn + np.pi) % (2 * np.pi) - np.pi) * (count / (2 * np.pi))
        back = np.conj(points[::-1]), -pitches[::-1], np.conj(corners)
        return cls(
            FlankTable.of(points, pitches, corners, count, shapes),
            FlankTable.of(*back, count, shapes),
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


def _repeats(points: Complexes, teeth: int) -> bool:
    """Whether a path, counter-clockwise, is the same at every tooth, to what sampling leaves."""
    if len(points) % teeth:
        return False
    turned = np.exp(-2j * np.pi / teeth * np.arange(teeth))
    each = points.reshape(teeth, -1) * turned[:, None]
    return bool(np.abs(each - each[0]).max() < SAMPLING)


def to_axis(points: Complexes, directions: Floats, teeth: int, shapes: int) -> float:
    """Return the turn, radians, that brings the tooth nearest +x onto it.

    Tooth 0 stands at the phase of the outline's radius at so many waves a turn. `directions`: of
    the points, radians, which are all or those of one tooth: see `FlankTable.of`.
    """
    onwards = np.diff(directions, append=directions[:1] + 2 * np.pi * shapes / teeth)
    onwards -= 2 * np.pi * np.rint(onwards / (2 * np.pi))
    radius = np.abs(points)
    wave = unit(-teeth * (directions + onwards / 2)) * (radius + np.roll(radius, -1)) * onwards
    return float(np.angle(wave.sum()) / teeth)


def _pitches(points: Complexes, teeth: int) -> Floats:
    """Directions of points in pitches."""
    directions: Floats = np.angle(points) * (teeth / (2 * np.pi))
    return directions


def _beyond_axis(pitches: Floats, teeth: int, shapes: int) -> tuple[Ints, Ints, Floats]:
    """Which directions lie in the half pitch beyond a tooth's axis, by tooth; tooth and angle."""
    half = np.floor(2 * pitches).astype(np.int64)
    place = np.flatnonzero(half % 2 == 0)
    tooth = half[place] // 2
    angle = (pitches[place] - tooth) * (2 * np.pi / teeth)
    by_tooth = np.argsort(tooth % shapes, kind="stable")
    return place[by_tooth], (tooth % shapes)[by_tooth], angle[by_tooth]


def _outermost(tooth: Ints, radius: Floats, angle: Floats, wanted: Floats) -> Floats:
    """Angle of the outermost flank at the wanted distances, one row a tooth.

    Where a flank folds back over itself, its outermost course is that of the points beyond all
    before them or that of the points below all after them.
    """
    apart = 2 * (radius.max() + 1.0)  # sets the teeth behind each other: one table for all
    along = tooth * apart + radius
    wanted = np.arange(len(wanted))[:, None] * apart + wanted
    rising = np.diff(np.maximum.accumulate(along), prepend=-1.0) > 0
    angles: Floats = np.interp(wanted, along[rising], angle[rising])
    if not rising.all():
        lowest = np.minimum.accumulate(along[::-1])[::-1]
        falling = np.append(np.diff(lowest) > 0, True)
        angles = np.maximum(angles, np.interp(wanted, along[falling], angle[falling]))
    return angles


class Mesh(NamedTuple):
    """Flanks that may meet.

    At `position` stands the pair of `pinion_tooth` and the `wheel_tooth` ahead of it, which is
    like the case `case`: teeth of `pinion_kind` and `wheel_kind`, turned by `pinion_turn` and
    `wheel_turn` from the frames of their teeth to the plane, each about its own centre.
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
    pinion_turn: Complexes
    wheel_turn: Complexes


def mesh_of(
    pinion: FlankTable, wheel: FlankTable, distance: float, steps: Ints, pitch: int, first: int
) -> Mesh:
    """Flanks that lie, if only in part, where the tip circles overlap; `pitch` steps a tooth."""
    z1, z2 = len(pinion.tip), len(wheel.tip)
    tips = float(pinion.tip.max()) + SKIN, float(wheel.tip.max()) + SKIN
    lens = min(half_lens(*tips, distance) * z1, half_lens(*tips[::-1], distance) * z2)
    # A flank lies a quarter pitch ahead of its tooth's axis, give or take as much; half a pitch
    # either way of the line of centres holds one pair in any case.
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
    short = key.astype(np.min_scalar_type(int(key.max())))  # which numpy sorts by digits
    _, sample, case = np.unique(short, return_index=True, return_inverse=True)
    pitches = ahead[sample] / pitch  # of the pinion tooth ahead of the line of centres
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
        np.exp(2j * np.pi / z1 * pitches),
        -np.exp(-2j * np.pi / z2 * (pitches + 0.5)),
    )


class Contact(NamedTuple):
    """Turn of the pinion until contact, infinite where there is none.

    `lever` is the distance of the contact normal from the pinion's centre, mm, `place` the point
    of contact; `edge` tells where the corner of a tip touches.
    """

    angle: Floats
    lever: Floats
    place: Complexes
    edge: Bools


class FreeTurn(NamedTuple):
    """Free turn of the pinion at each position, and the contact that ends it.

    `carrying` is the number of tooth pairs near contact.
    """

    angle: Floats
    lever: Floats
    place: Complexes
    carrying: Ints
    pinion_tooth: Ints
    wheel_tooth: Ints


def free_turn(mesh: Mesh, positions: int) -> FreeTurn:
    """Turn the pinion counter-clockwise from each position until it touches."""
    found = _flanks_ahead(mesh)
    for corner in mesh.pinion.corners[mesh.pinion_kind].T:
        other = _corner_ahead(mesh, corner, found.angle)
        earlier = other.angle < found.angle
        found = Contact(*(np.where(earlier, b, a) for a, b in zip(found, other, strict=True)))
    angle, lever = found.angle[mesh.case], found.lever[mesh.case]
    place, edge = found.place[mesh.case], found.edge[mesh.case]
    starts = np.searchsorted(mesh.position, np.arange(positions))
    earliest = np.minimum.reduceat(angle, starts)
    stops = np.flatnonzero(angle == earliest[mesh.position])
    first = stops[np.searchsorted(mesh.position[stops], np.arange(positions))]
    real = np.isfinite(angle)
    at = mesh.position[real]
    apart = (angle[real] - earliest[at]) * lever[first][at]
    carries = (apart <= COMPLIANCE) & ~edge[real]
    return FreeTurn(
        angle[first],
        lever[first],
        place[first],
        np.bincount(at[carries], minlength=positions),
        mesh.pinion_tooth[first],
        mesh.wheel_tooth[first],
    )


def _flanks_ahead(mesh: Mesh) -> Contact:
    """Turn the pinion until its flank meets a point of the wheel."""
    wheel, tooth = mesh.wheel, mesh.wheel_kind
    kinds, kind = np.unique(tooth, return_inverse=True)
    tip = wheel.tip[kinds]
    low = np.clip(mesh.distance - mesh.pinion.tip.max(), wheel.root[kinds], tip)
    tried = low[:, None] + (tip - low)[:, None] * LOOK
    points = tried * wheel.direction(kinds[:, None], tried)
    best = _gap(mesh, points[kind])[1].argmin(axis=1)
    start = tried[kind, np.maximum(best - 1, 0)]
    stop = tried[kind, np.minimum(best + 1, len(LOOK) - 1)]
    closer = start[:, None] + (stop - start)[:, None] * CLOSER
    places, sines = _gap(mesh, closer * wheel.direction(tooth[:, None], closer))
    nearest = np.arange(len(sines)), sines.argmin(axis=1)
    place, sine = places[nearest], sines[nearest]
    radius = np.abs(place)
    _, slope = mesh.pinion.course(mesh.pinion_kind, radius)
    angle = np.where(np.isfinite(sine), np.arcsin(np.clip(sine, -1.0, 1.0)), np.inf)
    edge = np.abs(place - mesh.distance) > wheel.tip[tooth] - SKIN
    return Contact(angle, radius / np.hypot(1.0, radius * slope), place, edge)


def _gap(mesh: Mesh, points: Complexes) -> tuple[Complexes, Floats]:
    """Points of the wheel in the plane, and the sine of their angle ahead of the pinion flank."""
    place = mesh.distance + points * mesh.wheel_turn[:, None]
    radius = np.abs(place)
    tooth = mesh.pinion_kind[:, None]
    flank = mesh.pinion.direction(tooth, radius) * mesh.pinion_turn[:, None]
    sine = (place * np.conj(flank)).imag / radius
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
        flank, slope = mesh.wheel.course(tooth, radius)
        sine = (own * np.conj(flank)).imag / radius
        closing = slope * (motion * np.conj(own)).real / radius - (motion / own).imag
        meets = meets & (closing > 0)
        step = np.arcsin(np.clip(sine, -1.0, 1.0)) / np.where(meets, closing, 1.0)
        angle = angle + np.where(overlaps, np.clip(step, -FARTHEST, FARTHEST), 0.0)
        overlaps = overlaps & (sine < 0)
    lever = closing * radius / np.hypot(1.0, radius * slope)
    return Contact(np.where(meets, angle, np.inf), lever, place, meets)


def tip_clearance(gear: ToothedEdge, mate: ToothedEdge, distance: float) -> float:
    """Smallest distance from the highest tip of a gear to the shallowest root of its mate, mm."""
    # Five points across the highest tip, in the frame of its tooth.
    mirrored = -np.arange(gear.teeth) % gear.teeth
    tooth = int(np.argmax(np.maximum(gear.front.tip, gear.back.tip[mirrored])))
    first, last = -gear.back.angles[-tooth, -1], gear.front.angles[tooth, -1]
    tip = gear.reach * np.exp(1j * np.linspace(first, last, 5))
    start, way = _shallowest_root(mate)
    inward = np.linspace(-0.25, 0.25, 11)[:, None]  # pitches either side of the line of centres
    turned = distance - tip * np.exp(1j * gear.pitch * inward)
    points = (turned * np.exp(1j * mate.pitch * inward)).ravel()[:, None]
    apart = points - start
    along = np.clip((apart * np.conj(way)).real / np.abs(way) ** 2, 0.0, 1.0)
    apart = apart - along * way
    nearest = np.arange(len(points)), np.abs(apart).argmin(axis=1)
    apart, way = apart[nearest], way[nearest[1]]
    return float(np.where((apart * np.conj(way)).imag < 0, np.abs(apart), -np.abs(apart)).min())


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
    radius = flanks.root[tooth] + (flanks.tip[tooth] - flanks.root[tooth]) * SHARES[::2]
    points = unit(flanks.angles[tooth, ::2]) * radius
    step = np.diff(points) / points[:-1]
    sideways = np.abs(step.real) > np.abs(step.imag)
    side: Complexes = points[: int(np.argmax(sideways)) + 1]
    return side
