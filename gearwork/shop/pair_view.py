"""A pair at a glance, for notebooks: its picture and, in words, every check."""

from base64 import b64encode
from dataclasses import dataclass

from matplotlib.axes import Axes

from gearwork.checks.pair_check import check_pair
from gearwork.checks.verdict import Check, CheckReport
from gearwork.design.given_stage import GivenStage
from gearwork.shop.html_table import Html, element, figure, joined, listed
from gearwork.shop.mesh_plot import plot_mesh
from gearwork.shop.plot_style import png_of
from gearwork.stock.bit import Bit
from gearwork.stock.laminate import Panel


@dataclass(frozen=True)
class PairView:
    """A pair as it looks and as it is judged; shows both as the result of a notebook's cell.

    Attributes
    ----------
    picture : Axes
        From `plot_mesh`.
    report : CheckReport
        From `check_pair`.
    """

    picture: Axes
    report: CheckReport

    @property
    def words(self) -> Html:
        """The checks in short: what fails or is to watch in full, what holds with its number."""
        told = [str(check) for check in self.report if check.verdict != "holds"]
        held = joined((_short(c) for c in self.report if c.verdict == "holds"), " · ")
        lines = [listed(told)] if told else []
        lines += [element("p", "holds: ", held)] if held else []
        return joined(lines)

    def _repr_html_(self) -> str:
        data = b64encode(png_of(self.picture)).decode("ascii")
        verdict = element("p", element("b", self.report.summary))
        picture = f'<img alt="the pair in mesh" src="data:image/png;base64,{data}"/>'
        return joined((verdict, Html(picture), self.words))


def view_pair(
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
    ax: Axes | None = None,
) -> PairView:
    """Return picture and checks of a pair given by plain numbers.

    Parameters
    ----------
    sheet : Plywood or Stack
        What the gears are cut from; they are as thick.
    module : float
        mm.
    pinion_teeth, wheel_teeth : int
        Tooth counts.
    pinion_shift, wheel_shift : float
        Profile shifts, coefficients of the module.
    bit_diameter : float
        What the bit cuts, mm.
    thinning : float
        Of each tooth, for backlash, mm.
    torque : float
        Running torque on the pinion, N·m.
    speed : float
        Of the pinion, rpm.
    ax : Axes, optional
        Where to draw. Default: axes of a new figure.

    Returns
    -------
    PairView
        Shows itself in a notebook: the picture of `plot_mesh`, and every check.

    Raises
    ------
    GearworkError
        If there can be no such pair.

    See Also
    --------
    live_pair : the same with sliders.

    Examples
    --------
    >>> from gearwork import plywood
    >>> view = view_pair(plywood("birch", 12), pinion_shift=0.25, thinning=0.2)
    >>> view.report.ok
    True
    """
    pair = GivenStage(
        module, pinion_teeth, wheel_teeth, pinion_shift, wheel_shift, thinning=thinning
    ).pair
    bit = Bit(bit_diameter)
    report = check_pair(pair, bit, sheet, torque=torque, speed=speed)
    return PairView(plot_mesh(pair, bit, ax), report)


def _short(check: Check) -> str:
    return f"{check.name} {figure(check.value, check.unit)} ({check.demand})"
