"""Stages for a brief that gives none: searched by its wishes, as a design file would give them."""

from collections.abc import Callable, Iterator
from concurrent.futures import Executor

from gearwork.checks.hub import LEAST_FLOOR
from gearwork.design.brief import Brief
from gearwork.design.candidates import Candidates
from gearwork.design.duty import Duty
from gearwork.design.frame import Frame, ShaftParts
from gearwork.design.given_stage import GivenStage
from gearwork.design.search import search
from gearwork.design.search_space import Limits
from gearwork.errors import number
from gearwork.rounding import round_up
from gearwork.stock.hardware import nut, washer

Progress = Callable[[str], None]


def candidates_for(
    brief: Brief, progress: Progress | None = None, executor: Executor | None = None
) -> Candidates:
    """Return the trains that a brief's wishes lead to, ranked by its weights.

    Parameters
    ----------
    brief : Brief
        From `read_brief` or `example_brief`; stages that it gives do not count.
    progress : callable, optional
        Called with a line of text after each part of the search.
    executor : concurrent.futures.Executor, optional
        As for `search`.

    Returns
    -------
    Candidates
        The best first; `solve` builds the first that passes every check.

    Raises
    ------
    GearworkError
        If the wishes ask for what cannot be searched.

    Examples
    --------
    >>> from gearwork import example_brief
    >>> found = candidates_for(example_brief("cider-mill"))
    >>> set(found["stages"].tolist()), bool(found["margin"].min() >= 1.0)
    ({1}, True)
    """
    say = progress or (lambda _: None)
    return search(
        brief.space,
        Duty(brief.drive, brief.load),
        limits=limits_of(brief),
        weights=brief.weights,
        service=brief.full_service,
        executor=executor,
        progress=lambda done, total: say(f"searching trains: {done} of {total} parts"),
    )


def limits_of(brief: Brief) -> Limits:
    """Return what a search for this brief must keep to."""
    room, stock = brief.room, brief.stock
    return Limits(
        contact_ratio=brief.wishes.contact_ratio,
        greatest_diameter=room.greatest_diameter,
        least_distance=room.least_distance,
        greatest_distance=room.greatest_distance,
        fixed_distance=room.fixed_distance,
        stock=(stock.width - 2 * stock.margin, stock.height - 2 * stock.margin),
        coprime=brief.wishes.coprime,
        same_gears=brief.wishes.same_gears,
        rod=brief.shafts.rod,
        frame=frame_of(brief),
        parts=shaft_parts_of(brief),
    )


def with_stages(brief: Brief, candidates: Candidates) -> Iterator[Brief]:
    """Yield the brief with the stages of each candidate given in it, the best first.

    Centre distances that the room does not fix are rounded up to 0.01 mm.
    """
    for rank in range(len(candidates)):
        count, fixed = candidates["stages"][rank], brief.room.fixed_distance
        yield brief.given(_given_stage(candidates, rank, stage, fixed) for stage in range(count))


def _given_stage(
    candidates: Candidates, rank: int, stage: int, fixed_distance: float | None
) -> GivenStage:
    def of(name: str) -> float:
        return float(candidates[name][rank, stage])

    return GivenStage(
        module=of("module"),
        pinion_teeth=int(of("pinion_teeth")),
        wheel_teeth=int(of("wheel_teeth")),
        pinion_shift=of("pinion_shift"),
        wheel_shift=of("wheel_shift"),
        pressure_angle=candidates.space.pressure_angle,
        thinning=of("thinning"),
        layers=int(of("layers")),
        centre_distance=fixed_distance or round_up(of("centre_distance")),
    )


def frame_of(brief: Brief) -> Frame:
    """Return the plates between which a brief's train stands.

    Raises
    ------
    GearworkError
        If pockets for the bearings are too shallow for them, or too deep for the plates.
    """
    wishes = brief.frame
    plate = brief.gears.plate(wishes.plate_thickness).thickness
    if wishes.seat_depth is not None:
        number(
            "depth of the bearing seats",
            wishes.seat_depth,
            unit="mm",
            at_least=brief.shafts.bearing.width,
            at_most=plate - LEAST_FLOOR,
        )
    return Frame(
        plate_thickness=plate,
        gap=shaft_parts_of(brief).hub_height + wishes.clearance,
        clearance=wishes.clearance,
        output_height=wishes.output_height,
        ground_clearance=wishes.ground_clearance,
    )


def shaft_parts_of(brief: Brief) -> ShaftParts:
    """Return rod, hub and bearing of every shaft of a brief's train."""
    shafts, thread = brief.shafts, brief.shafts.rod.thread
    return ShaftParts.of(
        shafts.rod, nut(thread), washer(thread, wide=True), shafts.bearing, shafts.free_end
    )
