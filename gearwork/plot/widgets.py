"""Live controls for notebooks: sliders, the pair that follows them, and a button that writes it."""

from collections.abc import Mapping
from dataclasses import replace
from itertools import cycle, islice
from typing import Any

from gearwork.checks.check import CheckReport
from gearwork.checks.tooth.mesh import CutPair, need_cut_pair
from gearwork.checks.tooth.pair_check import check_pair
from gearwork.errors import GearworkError, need
from gearwork.geometry.pair import GearPair
from gearwork.geometry.rack import Rack
from gearwork.output.jobsheet.pages import page
from gearwork.plot.mesh import plot_mesh
from gearwork.stock.bit import SOLD, Bit
from gearwork.stock.laminate import Panel, Stack
from gearwork.stock.plywood import Plywood, plywood, plywood_kinds
from gearwork.verify.files import write_files

MAX_LAYERS = 4

LOOK: Any = {"style": {"description_width": "9.5em"}, "layout": {"width": "auto"}}
"""Of a control, as ipywidgets takes it."""


def live_pair(
    cut: CutPair,
    sheet: Panel,
    *,
    torque: float = 0.0,
    speed: float = 150.0,
    bores: tuple[float, float] = (12.0, 12.0),
    folder: str = "my-gears",
) -> "LivePair":
    """Return sliders for a pair, with its picture and checks that follow them.

    Where the sliders stand at something that cannot be, the reason takes the picture's place.

    Parameters
    ----------
    cut : CutPair
        Two gears and the bit: where the sliders stand first.
    sheet : Plywood or Stack
        What both gears are cut from.
    torque, speed : float
        Running, on the pinion, N·m and rpm; without torque strength is not judged.
    bores : tuple of float
        Of pinion and wheel, mm, for the files.
    folder : str
        Where the button writes the files.

    Returns
    -------
    LivePair
        Shows itself as the result of a notebook's cell; its `pair` is the one of the moment.

    Raises
    ------
    GearworkError
        If ipywidgets is not installed, or it is no pair of gears.

    See Also
    --------
    plot_mesh, check_pair : picture and checks of a pair that stays, without ipywidgets.

    Examples
    --------
    >>> import gearwork as gw
    >>> pair = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 38, thinning=0.2))
    >>> live = live_pair(gw.CutPair(pair, gw.Bit(3.0)), gw.plywood("birch", 12), torque=0.5)
    >>> live.sliders["pinion teeth"].value = 20
    >>> live.pair.pair.pinion.teeth, live.report.summary
    (20, 'pair 20/38, module 5 mm: all 17 checks hold, 1 marginal')
    """
    need_cut_pair("live_pair", cut)
    if isinstance(cut.pair.wheel, Rack):
        raise GearworkError(
            "live_pair moves two gears, a rack has no sliders: plot_mesh and check_pair"
        )
    need("live_pair", bores, tuple | list, "two bores in mm", "bores=(12.0, 12.0)")
    return LivePair(_ipywidgets(), cut, sheet, torque, speed, bores, folder)


class LivePair:
    """Sliders of a pair, and what they stand at: `pair`, `sheet` and `report` of the moment.

    Where the sliders stand at something that cannot be, those of the last place that could.
    """

    pair: CutPair
    sheet: Panel
    report: CheckReport

    def __init__(
        self,
        widgets: Any,
        cut: CutPair,
        sheet: Panel,
        torque: float,
        speed: float,
        bores: tuple[float, float],
        folder: str,
    ) -> None:
        self.report = check_pair(cut, sheet, torque=torque, speed=speed)
        self.pair, self.sheet, self._first = cut, sheet, cut
        self._angles = sheet.layers if len(sheet.layers) > 1 else (0.0, 45.0)
        self.sliders = _sliders(widgets, cut, sheet, torque, speed)
        self._start = self._at
        self.bores = [
            widgets.BoundedFloatText(
                value=bore, min=0.5, max=500.0, step=0.5, description=f"{side} bore, mm", **LOOK
            )
            for side, bore in zip(("pinion", "wheel"), bores, strict=True)
        ]
        self.folder = widgets.Text(value=folder, description="folder", **LOOK)
        self.button = widgets.Button(
            description="Write the files of this pair", layout=LOOK["layout"]
        )
        self.verdict, self.words, self.written = (widgets.HTML() for _ in range(3))
        own = {"align_self": "flex-start", "max_width": "100%", "height": "auto"}
        self.picture = widgets.Image(format="svg+xml", layout=own)
        for slider in self.sliders.values():
            slider.observe(self._follow, "value")
        self.button.on_click(self._write)
        controls = [*self.sliders.values(), *self.bores, self.folder, self.button, self.written]
        seen = [self.verdict, self.picture]
        left = widgets.VBox(controls, layout={"flex": "0 0 23em", "overflow": "hidden"})
        right = widgets.VBox(seen, layout={"flex": "1 1 24em", "overflow": "hidden"})
        self.box = widgets.VBox([widgets.HBox([left, right]), self.words])
        self._follow()

    def _ipython_display_(self) -> None:
        from IPython.display import display

        display(self.box)  # type: ignore[no-untyped-call]

    def _follow(self, _: Any = None) -> None:
        try:
            at = self._at
            cut, sheet = self._moved(at), self._cut_from(at)
            report = check_pair(cut, sheet, torque=at["torque, N·m"], speed=at["speed, rpm"])
            picture = plot_mesh(cut).svg.encode()
        except GearworkError as reason:
            self.verdict.value = _said("cannot be", reason)
            seen = "hidden"
        else:
            self.pair, self.sheet, self.report = cut, sheet, report
            self.picture.value = picture
            self.verdict.value = page("live.html", place="beside", report=report)
            self.words.value = page("live.html", place="below", report=report)
            self.written.value = ""
            seen = "visible"
        self.picture.layout.visibility = self.words.layout.visibility = seen
        self.button.disabled = seen == "hidden"

    @property
    def _at(self) -> dict[str, Any]:
        """Where the sliders stand; browsers add up steps: 0.19999999999999996 is 0.2."""
        values = {name: slider.value for name, slider in self.sliders.items()}
        return {n: round(at, 9) if isinstance(at, float) else at for n, at in values.items()}

    def _moved(self, at: Mapping[str, Any]) -> CutPair:
        """The pair at which the sliders stand; what has none is as in the pair given."""
        if at == self._start:
            return self._first
        first, bit = self._first.pair, self._first.bit
        pinion, wheel = (
            replace(
                gear,
                module=at["module, mm"],
                teeth=at[f"{side} teeth"],
                profile_shift=at[f"{side} shift"],
                # the wheel keeps what it is thinned by more than the pinion
                thinning=max(
                    round(at["thinning, mm"] + gear.thinning - first.pinion.thinning, 9), 0.0
                ),
                tip_alteration=0.0,  # the pair shortens tips as their clearance asks
            )
            for side, gear in (("pinion", first.pinion), ("wheel", first.wheel))
        )
        pair = GearPair(pinion, wheel)
        if at["farther apart, mm"]:
            pair = GearPair(pinion, wheel, pair.centre_distance + at["farther apart, mm"])
        return CutPair(pair, bit if at["bit, mm"] == bit.cut_diameter else Bit(at["bit, mm"]))

    def _cut_from(self, at: Mapping[str, Any]) -> Panel:
        sheet: Plywood = at["sheet, mm"]
        count = at["layers"]
        return sheet if count == 1 else Stack(sheet, tuple(islice(cycle(self._angles), count)))

    def _write(self, _: Any = None) -> None:
        """What the button does: the files of the pair of the moment."""
        at = self._at
        try:
            found = write_files(
                self.pair,
                self.folder.value,
                sheet=self.sheet,
                bores=[bore.value for bore in self.bores],
                torque=at["torque, N·m"] or None,
                speed=at["speed, rpm"],
                title=self.folder.value,
            )
        except GearworkError as reason:
            self.written.value = _said("not written", reason)
        else:
            self.written.value = _said("written", found.summary)


def _said(word: str, sentence: object) -> str:
    return page("live.html", place="", word=word, sentence=str(sentence))


def _ipywidgets() -> Any:
    try:
        import ipywidgets
    except ImportError:
        raise GearworkError(
            "live controls need ipywidgets, which is not installed: run pip install"
            " 'gearwork[notebook]' and start the notebook again, or call plot_mesh and check_pair"
        ) from None
    return ipywidgets


def _sliders(
    widgets: Any, cut: CutPair, sheet: Panel, torque: float, speed: float
) -> dict[str, Any]:
    """Make a slider for each quantity, where need be long enough to reach where it starts."""
    pinion, wheel = cut.pair.pinion, cut.pair.wheel
    apart = round(cut.pair.centre_distance - GearPair(pinion, wheel).centre_distance, 9)
    bit = float(cut.bit.cut_diameter)
    sold = [(f"{size:g}", size) for size in sorted({*SOLD, bit})]
    rows: tuple[tuple[Any, ...], ...] = (  # name, where it starts, choices, or ends and step
        ("module, mm", pinion.module, 1.5, 12.0, 0.25),
        ("pinion teeth", int(pinion.teeth), 5, 40, 1),
        ("wheel teeth", int(wheel.teeth), 8, 120, 1),
        ("pinion shift", pinion.profile_shift, -0.5, 1.0, 0.05),
        ("wheel shift", wheel.profile_shift, -0.5, 1.0, 0.05),
        ("thinning, mm", pinion.thinning, 0.0, 1.0, 0.05),
        ("farther apart, mm", apart, 0.0, 2.0, 0.05),
        ("bit, mm", bit, sold),
        ("sheet, mm", sheet.sheet, _sheets(sheet.sheet)),
        ("layers", len(sheet.layers), 1, MAX_LAYERS, 1),
        ("torque, N·m", torque, 0.0, 10.0, 0.1),
        ("speed, rpm", speed, 10.0, 1000.0, 10.0),
    )
    made: dict[str, Any] = {}
    for name, value, *reach in rows:
        look = {"description": name, **LOOK}
        if len(reach) == 1:
            made[name] = widgets.SelectionSlider(options=reach[0], value=value, **look)
        else:
            low, high, step = reach
            kind = widgets.IntSlider if isinstance(step, int) else widgets.FloatSlider
            ends = {"min": min(low, value), "max": max(high, value)}
            made[name] = kind(value=value, step=step, **ends, **look)
    return made


def _sheets(sheet: Plywood) -> list[tuple[str, Plywood]]:
    """The sheet given and, where it is one of the tables, the other thicknesses of its kind."""
    found = {sheet.thickness: sheet}
    for kind, sizes in plywood_kinds().items():
        alike = [plywood(kind, size) for size in sizes]
        if any(one.name == sheet.name for one in alike):
            found = {one.thickness: one for one in alike} | found
    return [(f"{thick:g}", found[thick]) for thick in sorted(found)]
