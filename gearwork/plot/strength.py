"""Pictures of strength: roses of sheets and wheels, and the stress in one tooth."""

from typing import Any

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.patches import Polygon
from matplotlib.projections.polar import PolarAxes
from matplotlib.ticker import MaxNLocator
from matplotlib.tri import Triangulation, UniformTriRefiner
from numpy.typing import ArrayLike

from gearwork.checks.tooth.elements import flank_loads, on_a_gear, tooth_mesh
from gearwork.errors import GearworkError, need, number
from gearwork.fem.plane import PlaneSolution, stress_along
from gearwork.geometry.rack import Rack
from gearwork.geometry.tooth import CutTooth
from gearwork.numbers import Floats
from gearwork.plot import style
from gearwork.stock.laminate import Panel, need_panel

ROUND = np.arange(0.0, 361.0, 1.0)
LOOKS = (
    (style.INK, "-"),
    (style.WARM, style.DASHED),
    (style.COOL, style.CHAIN),
    (style.GREY, style.DOTTED),
)
HEAT = LinearSegmentedColormap.from_list("heat", ["#ffffff", "#f7dcbd", "#dd8141", "#7a2b06"])
"""From pale to dark, so that it reads the same in grey."""
HUB = 0.25
"""Empty middle of a tooth rose, share of its radius."""


@rc_context(style.LOOK)
def plot_polar_strength(*panels: Panel) -> style.Panels:
    """Draw strength and stiffness of sheets or stacks in every direction of their plane.

    Parameters
    ----------
    *panels : Plywood or Stack
        One to four, to compare.

    Returns
    -------
    tuple of Axes
        Tension, compression, modulus.

    Raises
    ------
    GearworkError
        If there is no panel or more than four, or one is none.

    Examples
    --------
    >>> from gearwork import Stack, plywood
    >>> sheet = plywood("birch", 12)
    >>> [ax.get_title(loc="left") for ax in plot_polar_strength(sheet, Stack(sheet, (0, 45)))]
    ['tension strength, MPa', 'compression strength, MPa', 'modulus of elasticity, GPa']
    """
    if not 1 <= len(panels) <= len(LOOKS):
        raise GearworkError(f"panels: {len(panels)}; give one to {len(LOOKS)} sheets or stacks")
    for panel in panels:
        need_panel("plot_polar_strength", panel)
    axes = style.panels((8.8, 3.5 + 0.2 * len(panels)), columns=3, polar=True)
    for ax, quantity, what, scale in zip(
        axes,
        ("tension", "compression", "modulus"),
        ("tension strength, MPa", "compression strength, MPa", "modulus of elasticity, GPa"),
        (1.0, 1.0, 1e-3),
        strict=True,
    ):
        for panel, (colour, dashes) in zip(panels, LOOKS, strict=False):
            values = scale * np.asarray(getattr(panel, f"{quantity}_at")(ROUND))
            ax.plot(np.radians(ROUND), values, color=colour, ls=dashes, label=panel.name)
        _round(ax, what, ax.get_ylim()[1])
    axes[0].figure.legend(
        handles=axes[0].lines, loc="outside lower center", frameon=False, handlelength=3.2
    )
    return axes


@rc_context(style.LOOK)
def plot_tooth_polar(
    angles: ArrayLike,
    forward: ArrayLike,
    backward: ArrayLike | None = None,
) -> Axes:
    """Draw the utilisation of every tooth around a wheel, and which tooth breaks first.

    Parameters
    ----------
    angles : array_like, shape (z,)
        Of the teeth's axes to the face grain, degrees, tooth 0 first.
    forward, backward : array_like, shape (z,)
        Share of its strength that each tooth uses with one flank loaded and with the other;
        1 is the limit.

    Returns
    -------
    Axes
        The share as radius.

    Raises
    ------
    GearworkError
        If the shapes differ.

    Examples
    --------
    >>> plot_tooth_polar([0, 120, 240], [0.5, 0.8, 0.6]).get_title(loc="left")
    'share of strength used: tooth 1 (hatched) breaks first, 0.80'
    """
    given = {"angles": angles, "forward": forward}
    given["backward"] = forward if backward is None else backward
    angle, shares, other = style.rows("tooth", given)
    (ax,) = style.panels((7.2, 5.4), polar=True)
    worst = int(np.argmax(np.maximum(shares, other)))
    share = float(max(shares[worst], other[worst]))
    turn, width = np.radians(angle), 0.8 * 2 * np.pi / angle.size
    look: dict[str, Any] = {"facecolor": style.PALE_WARM, "edgecolor": style.INK, "lw": style.THIN}
    name = "either flank loaded" if backward is None else "driving"
    ax.bar(turn, shares, width, label=name, **look)
    ax.bar(turn[worst], shares[worst], width, hatch=style.HATCH, **look)
    if backward is not None:
        ax.plot(turn, other, "x", color=style.COOL, ms=7.0, mew=1.4, label="driven back", zorder=4)
    limit: dict[str, Any] = {"color": style.WARM, "ls": style.DASHED}
    ax.plot(np.radians(ROUND), np.ones_like(ROUND), label="limit", zorder=3, **limit)
    top = 1.12 * max(1.0, share)
    _round(ax, f"share of strength used: tooth {worst} (hatched) breaks first, {share:.2f}", top)
    ax.set(rorigin=-HUB * top)
    style.key(ax, bbox_to_anchor=(1.1, 1.0))
    return ax


def _round(ax: Axes, title: str, top: float) -> None:
    """Give a rose its title, directions and circles, with numbers that stay legible."""
    assert isinstance(ax, PolarAxes)
    ax.set(xlabel="angle to the face grain", ylim=(0.0, top))
    ax.set_title(title, y=1.0, pad=24.0)  # above "90°", wherever matplotlib would put it
    ax.xaxis.labelpad = 8.0
    ax.spines["polar"].set(color=style.GREY)
    ax.set_thetagrids(range(0, 360, 45))
    values = np.asarray(MaxNLocator(4, steps=[1, 2, 2.5, 5, 10]).tick_values(0.0, top))
    values = values[(values > 0) & (values <= top)]
    ax.set_yticks(values, labels=[""] * len(values))
    for value in values:
        style.note(ax, f"{value:g}", (np.radians(67.5), value), ha="center", va="center")


@rc_context(style.LOOK)
def plot_tooth_stress(
    cut: CutTooth[float],
    panel: Panel,
    angle: float,
    line_load: float,
) -> Axes:
    """Draw how near to failure the wood is all over a tooth loaded at its tip.

    By finite elements on the tooth as cut. Beside each fillet stands its greatest stress along
    the edge and the failure index there. At the force itself the index means nothing, for the
    force of the picture acts on a point.

    Parameters
    ----------
    cut : CutTooth
        The tooth.
    panel : Plywood or Stack
        What it is cut from.
    angle : float
        Of the tooth's axis to the face grain, degrees.
    line_load : float
        Normal force on the flank at y > 0, N per mm of face width.

    Returns
    -------
    Axes
        In mm from the gear's centre, the tooth along +x.

    Raises
    ------
    GearworkError
        If the load is not above 0 or the tooth cannot be meshed.

    Examples
    --------
    >>> from gearwork import Bit, CutPair, Gear, GearPair, plywood
    >>> pair = GearPair(Gear(module=5, teeth=14), Gear(module=5, teeth=44))
    >>> cut = CutPair(pair, Bit(3.0)).wheel
    >>> plot_tooth_stress(cut, plywood("birch", 12), angle=45, line_load=10).get_ylabel()
    'y, mm'
    """
    need("plot_tooth_stress", cut, CutTooth, "a CutTooth", "gw.CutPair(pair, bit).pinion")
    need_panel("plot_tooth_stress", panel)
    load = number("load of the tooth", line_load, unit="N/mm", above=0.0)
    rack, cut = isinstance(cut.gear, Rack), on_a_gear(cut)
    mesh = tooth_mesh(cut)
    points, forces = (both[:1] for both in flank_loads(cut, cut.gear.tip_diameter))
    loads = mesh.body.point_loads(points, load * forces)
    solution = mesh.body.solve(np.asarray(panel.stiffness(angle)), loads)
    stress, index = _edge_values(solution, panel, angle, points[0])
    fillet = np.flatnonzero(2 * np.hypot(*mesh.body.mesh.middles.T) < mesh.form_diameter)
    worst = float(np.nanmax(index[fillet]))
    gear, half = cut.gear, 0.75 * np.pi / cut.gear.teeth * cut.root_diameter
    left = cut.root_diameter / 2 - 1.8 * gear.module
    right = gear.tip_diameter / 2 + 1.2 * gear.module
    scale = min(6.2 / (right - left), 2.4 / half)  # inches a mm
    (ax,) = style.panels((scale * (right - left) + 2.0, 2 * scale * half + 1.2))
    _fill_index(ax, solution, _index_at_vertices(solution, panel, angle, index), worst)
    for place in (fillet[np.nanargmax(stress[fillet])], fillet[np.nanargmin(stress[fillet])]):
        _name_edge(ax, mesh.body.mesh.middles[place], float(stress[place]), float(index[place]))
    tip, tail = points[0], points[0] - 1.3 * gear.module * forces[0]
    arrow: dict[str, Any] = {"arrowstyle": "-|>", "color": style.COOL, "lw": style.BOLD}
    arrow |= {"mutation_scale": 18.0, "shrinkA": 0.0, "shrinkB": 0.0}
    ax.annotate("", (tip[0], tip[1]), (tail[0], tail[1]), arrowprops=arrow, zorder=7)
    ax.set(
        xlim=(left, right),
        ylim=(-half, half),
        aspect="equal",
        title=f"{panel.name}\n{load:.3g} N for each mm of width on a tooth at {angle:g}° to the"
        " face grain",
        xlabel="height above the reference line, mm" if rack else "x from the gear's centre, mm",
        ylabel="y, mm",
    )
    ax.grid(False)
    if rack:
        line = gear.reference_diameter / 2
        ax.xaxis.set_major_formatter(lambda x, _: f"{x - line:g}")
    return ax


def _edge_values(
    solution: PlaneSolution, panel: Panel, angle: float, loaded: Floats
) -> tuple[Floats, Floats]:
    """Stress along the boundary, MPa, and failure index; not a number where it is not free."""
    body = solution.body
    lengths = np.hypot(*(body.edge_points[:, 2] - body.edge_points[:, 0]).T)
    pressed = np.hypot(*(body.mesh.middles - loaded).T) < 2.0 * lengths
    stress = np.where(body.held.any(axis=1) | pressed, np.nan, solution.edge_stress[0])
    along, across, shear = stress_along(body.tangents, np.nan_to_num(stress)).T
    index = panel.norris_index(along, across, shear, angle)
    return stress, np.where(np.isnan(stress), np.nan, index)


def _index_at_vertices(
    solution: PlaneSolution, panel: Panel, angle: float, edge_index: Floats
) -> Floats:
    """Failure index at the vertices: mean of the triangles around, at a free edge of its own."""
    mesh = solution.body.mesh
    centres = mesh.vertices[mesh.triangles].mean(axis=1)
    x, y, shear = solution.stress(solution.body.strain_operator(centres))[0].T
    inner = np.asarray(panel.norris_index(x, y, shear, angle))
    count = len(mesh.vertices)
    corners = mesh.triangles.ravel()
    total = np.bincount(corners, np.repeat(inner, 3), count)
    found = total / np.bincount(corners, minlength=count)
    free = np.isfinite(edge_index)
    ends = mesh.edges[free].ravel()
    touching = np.bincount(ends, minlength=count)
    on_edge = np.bincount(ends, np.repeat(edge_index[free], 2), count)
    return np.where(touching == 2, on_edge / np.maximum(touching, 1), found)


def _fill_index(ax: Axes, solution: PlaneSolution, index: Floats, worst: float) -> None:
    mesh = solution.body.mesh
    levels = MaxNLocator(14, steps=[1, 2, 2.5, 5, 10]).tick_values(0.0, worst)
    coarse = Triangulation(mesh.vertices[:, 0], mesh.vertices[:, 1], mesh.triangles)
    triangles, smooth = UniformTriRefiner(coarse).refine_field(index, subdiv=2)
    filled = ax.tricontourf(triangles, np.maximum(smooth, 0.0), levels, cmap=HEAT, extend="max")
    ax.tricontour(triangles, smooth, levels[1:], colors=style.INK, linewidths=0.35)
    edge = solution.body.edge_points[:, :2].reshape(-1, 2)
    ax.add_artist(Polygon(edge, facecolor="none", edgecolor=style.INK, lw=style.LINE, zorder=3))
    bar = ax.figure.colorbar(filled, ax=ax, shrink=0.89, pad=0.03, panchor=False)
    bar.set_label("failure index (Norris): 1 breaks")


def _name_edge(ax: Axes, at: Floats, stress: float, index: float) -> None:
    """Write the stress, MPa, and the index at a place of the edge."""
    ax.plot(*at[:, None], "o", color=style.INK, ms=6.0, mec="white", zorder=6)
    style.note(
        ax,
        f"{'pulled' if stress > 0 else 'pushed'} with {abs(stress):.3g} MPa\nindex {index:.2f}",
        (float(at[0]), float(at[1])),
        xytext=(45, 60 if at[1] > 0 else -60),
        textcoords="offset points",
        va="center",
        fontsize=style.TEXT,
        arrowprops={"arrowstyle": "-", "color": style.INK, "linewidth": style.THIN},
    )
