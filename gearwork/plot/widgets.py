"""Live controls for notebooks: sliders, and the pair that follows them."""

from functools import partial
from typing import Any

from gearwork.errors import GearworkError
from gearwork.output.html import element, joined
from gearwork.plot.mesh import view_pair
from gearwork.plot.style import png_of
from gearwork.stock.laminate import Panel

BITS = (1.0, 1.5, 2.0, 2.5, 3.0, 3.175, 4.0, 5.0, 6.0, 6.35, 8.0)
"""Diameters to choose from, mm: usual sizes of end mills, two of them in fractions of an inch."""

RESOLUTION = 90.0
"""Dots an inch: a little less than a still picture, so that it keeps up with the slider."""

OWN_SIZE = {"align_self": "flex-start", "max_width": "100%", "height": "auto"}
"""Of the picture: as drawn, never stretched, smaller on a narrow page."""

WIDEST = "max-width: 60em; line-height: 1.35"
"""Of the text below it."""


def live_pair(
    sheet: Panel,
    *,
    module: float = 5.0,
    pinion_teeth: int = 14,
    wheel_teeth: int = 38,
    pinion_shift: float = 0.0,
    wheel_shift: float = 0.0,
    bit_diameter: float = 3.0,
    thinning: float = 0.0,
    torque: float = 0.0,
    speed: float = 0.0,
) -> Any:
    """Return sliders for a pair, with its picture and checks that follow them.

    Where the sliders stand at something that cannot be, the reason takes the picture's place.

    Parameters
    ----------
    sheet, module, pinion_teeth, wheel_teeth, pinion_shift, wheel_shift, bit_diameter, thinning, \
torque, speed
        As for `view_pair`; those with a slider are where it stands first.

    Returns
    -------
    ipywidgets.VBox
        Shows itself as the result of a notebook's cell.

    Raises
    ------
    GearworkError
        If ipywidgets is not installed, or there can be no such pair to begin with.

    See Also
    --------
    view_pair : the same for numbers that stay, without ipywidgets.

    Examples
    --------
    >>> from gearwork import plywood
    >>> sliders, verdict, *_ = live_pair(plywood("birch", 12), thinning=0.2).children
    >>> sliders.children[2].description
    'pinion teeth'
    >>> sliders.children[2].value = 20
    >>> print(verdict.value)
    <b>pair 20/38, module 5 mm: all 17 checks hold</b>
    """
    widgets = _ipywidgets()
    show: Any = partial(view_pair, sheet, thinning=thinning, torque=torque, speed=speed)
    chosen = {
        "module": module,
        "bit_diameter": bit_diameter,
        "pinion_teeth": pinion_teeth,
        "wheel_teeth": wheel_teeth,
        "pinion_shift": pinion_shift,
        "wheel_shift": wheel_shift,
    }
    canvas: Any = show(**chosen).picture
    png_of(canvas, RESOLUTION)
    canvas.get_figure(root=True).set_layout_engine("none")  # laid out once, then as it is
    sliders = _sliders(widgets, chosen)
    verdict, words = widgets.HTML(), widgets.HTML()
    picture = widgets.Image(format="png", layout=widgets.Layout(**OWN_SIZE))

    def follow(_: Any = None) -> None:
        canvas.clear()
        try:
            view = show(**{name: slider.value for name, slider in sliders.items()}, ax=canvas)
        except GearworkError as reason:
            verdict.value = joined((element("b", "cannot be: "), str(reason)))
            seen = "hidden"
        else:
            picture.value = png_of(canvas, RESOLUTION)
            verdict.value = element("b", view.report.summary)
            words.value = element("div", view.words, style=WIDEST)
            seen = "visible"
        picture.layout.visibility = words.layout.visibility = seen

    for slider in sliders.values():
        slider.observe(follow, "value")
    follow()
    columns = widgets.Layout(grid_template_columns="repeat(2, minmax(0, 24em))", grid_gap="0 1em")
    grid = widgets.GridBox([*sliders.values()], layout=columns)
    return widgets.VBox([grid, verdict, picture, words])


def _ipywidgets() -> Any:
    try:
        import ipywidgets
    except ImportError:
        raise GearworkError(
            "live controls need ipywidgets, which is not installed: run pip install"
            " 'gearwork[notebook]' and start the notebook again, or call view_pair with the same"
            " arguments"
        ) from None
    return ipywidgets


def _sliders(widgets: Any, chosen: dict[str, float]) -> dict[str, Any]:
    """Make a slider for each value, where need be long enough to reach it."""
    look = {"style": {"description_width": "7em"}, "layout": widgets.Layout(width="100%")}

    def slider(name: str, kind: Any, least: float, most: float, step: float) -> Any:
        value = chosen[name]
        words = name.replace("_", " ") + (", mm" if name == "module" else "")
        low, high = min(least, value), max(most, value)
        return kind(value=value, min=low, max=high, step=step, description=words, **look)

    bits = sorted({*BITS, chosen["bit_diameter"]})
    return {
        "module": slider("module", widgets.FloatSlider, 1.5, 12.0, 0.25),
        "bit_diameter": widgets.SelectionSlider(
            options=[(f"{bit:g}", bit) for bit in bits],
            value=chosen["bit_diameter"],
            description="bit, mm",
            **look,
        ),
        "pinion_teeth": slider("pinion_teeth", widgets.IntSlider, 5, 40, 1),
        "wheel_teeth": slider("wheel_teeth", widgets.IntSlider, 8, 120, 1),
        "pinion_shift": slider("pinion_shift", widgets.FloatSlider, -0.5, 1.0, 0.05),
        "wheel_shift": slider("wheel_shift", widgets.FloatSlider, -0.5, 1.0, 0.05),
    }
