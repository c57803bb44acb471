"""Pictures of strength: roses of sheets and wheels, and the stress in one tooth."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.projections.polar import PolarAxes
from matplotlib.ticker import MaxNLocator
from matplotlib.tri import Triangulation, UniformTriRefiner
from numpy.typing import ArrayLike

from gearwork.checks.tooth.elements import flank_loads, on_a_gear, tooth_mesh
from gearwork.errors import GearworkError, number
from gearwork.fem.plane import PlaneSolution
from gearwork.geometry.rack import Rack
from gearwork.geometry.tooth import CutTooth
from gearwork.numbers import Floats
from gearwork.plot import style
from gearwork.stock.laminate import Panel

ROUND = np.arange(0.0, 361.0, 1.0)
LOOKS = (
    (style.INK, style.SOLID, 1.8),
    (style.WARM, style.DASHED, 1.8),
    (style.COOL, style.CHAIN, 1.8),
    (style.GREY, style.DOTTED, 2.0),
)
HEAT = LinearSegmentedColormap.from_list("heat", ["#ffffff", "#f7dcbd", "#dd8141", "#7a2b06"])
"""From pale to dark, so that it reads the same in grey."""
HUB = 0.25
"""Empty middle of a tooth rose, share of its radius."""


def plot_polar_strength(*panels: Panel, axes: Sequence[Axes] | None = None) -> style.Panels:
    """Draw strength and stiffness of sheets or stacks in every direction of their plane.

    Parameters
    ----------
    *panels : Plywood or Stack
        One to four, to compare.
    axes : sequence of Axes, optional
        Three polar ones: tension, compression, modulus. Default: those of a new figure.

    Returns
    -------
    tuple of Axes
        The three.

    Raises
    ------
    GearworkError
        If there is no panel or more than four, or the axes are not three polar ones.

    Examples
    --------
    >>> from gearwork import Stack, plywood
    >>> sheet = plywood("birch", 12)
    >>> [ax.get_title(loc="left") for ax in plot_polar_strength(sheet, Stack(sheet, (0, 45)))]
    ['tension strength, MPa', 'compression strength, MPa', 'modulus of elasticity, GPa']
    """
    if not 1 <= len(panels) <= len(LOOKS):
        raise GearworkError(f"panels: {len(panels)}; give one to {len(LOOKS)} sheets or stacks")
    height = 3.5 + 0.2 * len(panels)
    axes = style.panel_axes(axes, (1, 3), (8.8, height), polar=True)
    for ax, quantity in zip(axes, ("tension", "compression", "modulus"), strict=True):
        unit, scale = ("GPa", 1e-3) if quantity == "modulus" else ("MPa", 1.0)
        for panel, (colour, dashes, width) in zip(panels, LOOKS, strict=False):
            values = scale * np.asarray(getattr(panel, f"{quantity}_at")(ROUND))
            look = style.line(colour, dashes, width, label=panel.name)
            ax.plot(np.radians(ROUND), values, **look)
        kind = "modulus of elasticity" if quantity == "modulus" else f"{quantity} strength"
        _polar_axes(ax, f"{kind}, {unit}", ax.get_ylim()[1])
    style.key_below(axes[0])
    return axes


def plot_tooth_polar(
    angles: ArrayLike,
    forward: ArrayLike,
    backward: ArrayLike | None = None,
    ax: Axes | None = None,
) -> Axes:
    """Draw the utilisation of every tooth around a wheel, and which tooth breaks first.

    Parameters
    ----------
    angles : array_like, shape (z,)
        Of the teeth's axes to the face grain, degrees, tooth 0 first.
    forward, backward : array_like, shape (z,)
        Share of its strength that each tooth uses with one flank loaded and with the other;
        1 is the limit.
    ax : Axes, optional
        Polar. Default: that of a new figure.

    Returns
    -------
    Axes
        The share as radius.

    Raises
    ------
    GearworkError
        If the axes are not polar or the shapes differ.

    Examples
    --------
    >>> plot_tooth_polar([0, 120, 240], [0.5, 0.8, 0.6]).get_title(loc="left")
    'share of strength used: tooth 1 (hatched) breaks first, 0.80'
    """
    angle, shares = np.asarray(angles, dtype=float), np.asarray(forward, dtype=float)
    other = shares if backward is None else np.asarray(backward, dtype=float)
    if not angle.shape == shares.shape == other.shape or angle.ndim != 1 or not angle.size:
        raise GearworkError(
            f"angles, forward and backward have the shapes {angle.shape}, {shares.shape} and"
            f" {other.shape}: one number a tooth is needed in each"
        )
    (ax,) = style.panel_axes(None if ax is None else [ax], (1, 1), (7.2, 5.4), polar=True)
    worst = int(np.argmax(np.maximum(shares, other)))
    share = float(max(shares[worst], other[worst]))
    look: style.Look = {"edgecolor": style.INK, "linewidth": style.THIN}
    look["width"] = 0.8 * 2 * np.pi / angle.size
    name = "either flank loaded" if backward is None else "driving"
    turn = np.radians(angle)
    handles: list[Any] = [ax.bar(turn, shares, facecolor=style.PALE_WARM, label=name, **look)]
    ax.bar(turn[worst], shares[worst], facecolor=style.PALE_WARM, hatch=style.HATCH, **look)
    if backward is not None:
        mark = style.cross(style.COOL, 7.0, label="driven back", zorder=4)
        handles += ax.plot(turn, other, "x", **mark)
    limit = style.line(style.WARM, style.DASHED, label="limit", zorder=3)
    handles += ax.plot(np.radians(ROUND), np.ones_like(ROUND), **limit)
    top = 1.12 * max(1.0, share)
    _polar_axes(
        ax, f"share of strength used: tooth {worst} (hatched) breaks first, {share:.2f}", top
    )
    ax.set(rorigin=-HUB * top)
    style.key(ax, handles, bbox_to_anchor=(1.1, 1.0))
    return ax


def _polar_axes(ax: Axes, title: str, top: float) -> None:
    """Give a rose its title, directions and circles, with numbers that stay legible."""
    assert isinstance(ax, PolarAxes)
    style.labels(ax, title, "angle to the face grain")
    ax.xaxis.labelpad = 8.0
    style.grid(ax)
    ax.spines["polar"].set(color=style.GREY, linewidth=style.THIN)
    ax.set_thetagrids(range(0, 360, 45))
    ax.set_ylim(0.0, top)
    values = np.asarray(MaxNLocator(4, steps=[1, 2, 2.5, 5, 10]).tick_values(0.0, top))
    values = values[(values > 0) & (values <= top)]
    ax.set_yticks(values, labels=[""] * len(values))
    for value in values:
        style.note(ax, f"{value:g}", (np.radians(67.5), value), ha="center", va="center")


def plot_tooth_stress(
    cut: CutTooth[float],
    panel: Panel,
    angle: float,
    line_load: float,
    ax: Axes | None = None,
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
    ax : Axes, optional
        Where to draw. Default: axes of a new figure.

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
    load = number("load of the tooth", line_load, unit="N/mm", above=0.0)
    rack, cut = isinstance(cut.gear, Rack), on_a_gear(cut)
    mesh = tooth_mesh(cut)
    points, forces = (both[:1] for both in flank_loads(cut, cut.gear.tip_diameter))
    loads = mesh.body.point_loads(points, load * forces)
    solution = mesh.body.solve(np.asarray(panel.stiffness(angle)), loads)
    stress, index = _edge_values(solution, panel, angle, points[0])
    fillet = np.flatnonzero(2 * np.hypot(*mesh.body.mesh.middles.T) < mesh.form_diameter)
    worst = float(np.nanmax(index[fillet]))
    left, right, half = _tooth_window(cut)
    size = style.fitting(right - left, 2 * half, beside=2.0, below=1.2)
    ax = style.plain_axes(ax, size, equal=True)
    _fill_index(ax, solution, _index_at_vertices(solution, panel, angle, index), worst)
    for place in (fillet[np.nanargmax(stress[fillet])], fillet[np.nanargmin(stress[fillet])]):
        _name_edge(ax, mesh.body.mesh.middles[place], float(stress[place]), float(index[place]))
    _draw_force(ax, points[0], forces[0], cut.gear.module)
    ax.set(xlim=(left, right), ylim=(-half, half))
    style.labels(
        ax,
        f"{panel.name}\n{load:.3g} N for each mm of width on a tooth at {angle:g}° to the"
        " face grain",
        "height above the reference line, mm" if rack else "x from the gear's centre, mm",
        "y, mm",
    )
    if rack:
        line = cut.gear.reference_diameter / 2
        ax.xaxis.set_major_formatter(lambda x, _: f"{x - line:g}")
    return ax


def _tooth_window(cut: CutTooth[float]) -> tuple[float, float, float]:
    """Smallest and greatest x and half the height of the picture of a tooth, mm."""
    gear = cut.gear
    half = 0.75 * np.pi / gear.teeth * cut.root_diameter
    left, right = cut.root_diameter / 2 - 1.8 * gear.module, gear.tip_diameter / 2
    return left, right + 1.2 * gear.module, half


def _edge_values(
    solution: PlaneSolution, panel: Panel, angle: float, loaded: Floats
) -> tuple[Floats, Floats]:
    """Stress along the boundary, MPa, and failure index; not a number where it is not free."""
    body = solution.body
    lengths = np.hypot(*(body.edge_points[:, 2] - body.edge_points[:, 0]).T)
    pressed = np.hypot(*(body.mesh.middles - loaded).T) < 2.0 * lengths
    stress = np.where(body.held.any(axis=1) | pressed, np.nan, solution.edge_stress[0])
    x, y = body.tangents.T
    along, across, shear = np.nan_to_num(stress) * np.array([x * x, y * y, x * y])
    index = panel.norris_index(along, across, shear, angle)
    return stress, np.where(np.isnan(stress), np.nan, index)


def _index_at_vertices(
    solution: PlaneSolution, panel: Panel, angle: float, edge_index: Floats
) -> Floats:
    """Failure index at the vertices: mean of the triangles around, at a free edge of its own."""
    mesh = solution.body.mesh
    centres = mesh.vertices[mesh.triangles].mean(axis=1)
    stress = solution.stress(solution.body.strain_operator(centres))[0]
    inner = np.asarray(panel.norris_index(stress[:, 0], stress[:, 1], stress[:, 2], angle))
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
    style.fill(ax, edge, linewidth=style.LINE, zorder=3)
    bar = ax.figure.colorbar(filled, ax=ax, shrink=0.89, pad=0.03, panchor=False)
    bar.set_label("failure index (Norris): 1 breaks", fontsize=style.TEXT, color=style.INK)
    bar.ax.tick_params(labelsize=style.SMALL, colors=style.INK)


def _name_edge(ax: Axes, at: Floats, stress: float, index: float) -> None:
    side = 1.0 if at[1] > 0 else -1.0
    kind = "pulled" if stress > 0 else "pushed"
    ax.plot(*at[:, None], "o", **style.dot(style.INK, 6.0, zorder=6))
    arrow: dict[str, Any] = {"arrowstyle": "-", "color": style.INK, "linewidth": style.THIN}
    style.note(
        ax,
        f"{kind} with {abs(stress):.3g} MPa\nindex {index:.2f}",
        (float(at[0]), float(at[1])),
        xytext=(45, 60 * side),
        textcoords="offset points",
        va="center",
        fontsize=style.TEXT,
        arrowprops=arrow,
    )


def _draw_force(ax: Axes, point: Floats, force: Floats, module: float) -> None:
    tail = point - 1.3 * module * force
    style.arrow(
        ax, (tail[0], tail[1]), (point[0], point[1]), color=style.COOL, linewidth=style.BOLD,
        mutation_scale=18.0, zorder=7,
    )  # fmt: skip
