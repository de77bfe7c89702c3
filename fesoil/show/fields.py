"""A quantity over the section as coloured contours or triangles, with what stands there."""

from __future__ import annotations

import matplotlib
import numpy as np
from matplotlib.cm import ScalarMappable
from matplotlib.collections import LineCollection, PolyCollection
from matplotlib.colors import BoundaryNorm, Normalize
from matplotlib.ticker import MaxNLocator
from matplotlib.tri import Triangulation

from fesoil.case import sequence
from fesoil.show import style
from fesoil.show.section import Pen, draw_frames, draw_loads, draw_slabs, draw_walls, draw_wells, ground_line, pit_window, section_axes

BLANK = "#d4d4d4"


def field(
    ax, points, triangles, values, *, label: str, unit: str = "", case=None, situation=None, active=None, marked=None, displacement=None,
    magnification: float | None = None, limits=None, cmap: str = "viridis", bar_axes=None, blank=None, blank_note: str = "grey: not shown",
    remarks=(),
):  # fmt: skip
    """A quantity over the section, zoomed to the pit, with what stands there and the deformed outline where asked.

    Parameters
    ----------
    points : (n, 2) [m]
    triangles : (m, 3) or (m, 6), corners first, then the middles of sides 0-1, 1-2, 2-0
    values : (n,) at the points, or (m,) by triangle
    label, unit : words for the colour bar, which takes its room from ``ax`` or is drawn in ``bar_axes``
    active : (m,) bool, triangles that are ground now; all when left out
    marked : (m,) bool, triangles with a dot in the middle: at yield
    displacement : (n, 2) [m]; with ``magnification`` (worked out when left out) the deformed outline is drawn
    limits : (least, most) of the colours, or the bounds of three or more of one colour each; the values' own in the window when left out
    blank : (m,) bool, ground of which the quantity means nothing: grey, with ``blank_note``, and left out of the deformed outline
    remarks : further lines of the note in the corner

    Returns
    -------
    ax
    """
    points, triangles, values = np.asarray(points), np.asarray(triangles), np.asarray(values)
    window = pit_window(case) if case is not None else None
    ground = np.ones(len(triangles), bool) if active is None else np.asarray(active, bool)
    told = ground if blank is None else ground & ~np.asarray(blank, bool)
    near = seen(points, triangles, window)
    keep, shown = ground & near, told & near
    _colour(ax, points, triangles[shown], values if len(values) == len(points) else values[shown], limits, cmap, window, bar_axes, (label, unit))
    notes = []
    if marked is not None:
        notes += _dots(ax, points, triangles[shown & np.asarray(marked, bool)])
    if displacement is not None:
        notes += _deformed(ax, points, triangles[told], np.asarray(displacement), magnification, window)
    if np.any(keep & ~shown):
        grey = PolyCollection(points[triangles[keep & ~shown, :3]], facecolor=BLANK, edgecolor=BLANK, linewidth=0.6, zorder=1)
        ax.add_collection(grey, autolim=False)
        notes.append(blank_note)
    notes += remarks
    if notes:
        ax.text(0.01, 0.015, "\n".join(notes), transform=ax.transAxes, fontsize=style.SMALL, color=style.INK, zorder=9, bbox=style.LABEL)
    if case is not None:
        _what_stands(ax, case, situation or sequence.situations(case)[-1], window)
    ax.set_aspect("equal")
    return section_axes(ax)


def placed(case, situations, points, triangles):
    """Which triangles (m,) are not, after the last of ``situations``, the ground that they were at the first and all through: filled or replaced."""
    x, y = np.asarray(points)[np.asarray(triangles)[:, :3]].mean(axis=1).T
    now = sequence.material_at(case, situations[-1], x, y)
    changed = np.zeros(len(x), bool)
    for before in situations[:-1]:
        changed |= sequence.material_at(case, before, x, y) != now
    return changed & (now >= 0)


def seen(points, triangles, window):
    """Triangles (m,) that reach into the window; all without one."""
    if window is None:
        return np.ones(len(triangles), bool)
    ends = points[triangles[:, :3]]
    low, high = ends.min(axis=1), ends.max(axis=1)
    return (high[:, 0] > window.x0) & (low[:, 0] < window.x1) & (high[:, 1] > window.y0)


def _colour(ax, points, triangles, values, limits, cmap, window, bar_axes, words):
    """Contours of values at the points, flat triangles of others, with the colour bar."""
    at_points, colours, (label, unit) = len(values) == len(points), matplotlib.colormaps[cmap], words
    limits = limits or _range(points, triangles, values, window)
    least, most = limits[0], limits[-1]
    norm = Normalize(least, most) if len(limits) == 2 else BoundaryNorm(limits, colours.N)
    if not len(triangles):
        drawn = ScalarMappable(norm, colours)  # the bar alone: nothing of it in the window
    elif at_points:
        high = np.max(values[np.unique(triangles)], initial=most)
        more = "max" if high > most + 1e-6 * abs(most - least) else "neither"
        values = values if more == "max" else np.minimum(values, most)
        drawn = ax.tricontourf(Triangulation(*points.T, corners(triangles)), values, _levels(least, most), cmap=colours, extend=more, zorder=1)
    else:
        drawn = ax.tripcolor(Triangulation(*points.T, triangles[:, :3]), values, cmap=colours, norm=norm, zorder=1, rasterized=True)
    room = dict(cax=bar_axes) if bar_axes is not None else dict(ax=ax, shrink=0.72, aspect=26, pad=0.015)
    bar = ax.figure.colorbar(drawn, **room)
    if len(limits) > 2:
        bar.set_ticks(limits, labels=[f"{bound:g}" for bound in limits])
        bar.minorticks_off()
    bar.set_label(f"{label} [{unit}]" if unit else label)
    bar.outline.set_linewidth(0.4)


def corners(triangles):
    """Straight three-node triangles, four for each of six nodes."""
    if triangles.shape[1] == 3:
        return triangles
    return np.concatenate([triangles[:, i] for i in ([0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5])])


def _levels(least, most):
    """Ten to fifteen contour levels at round values."""
    return MaxNLocator(15, steps=[1, 2, 2.5, 5, 10]).tick_values(least, most)


def _dots(ax, points, triangles):
    """Dots in the middle of triangles; the note that explains them."""
    if not len(triangles):
        return []
    ax.plot(*points[triangles[:, :3]].mean(axis=1).T, ".", color=style.INK, markersize=1.8, zorder=2.2)
    return ["dots: at yield"]


def _range(points, triangles, values, window):
    """Least and most value within the window; 0 to the most where nothing is negative."""
    at = points if len(values) == len(points) else points[triangles[:, :3]].mean(axis=1)
    used = np.isin(np.arange(len(points)), triangles) if len(values) == len(points) else np.ones(len(values), bool)
    if window is not None:
        used &= (at[:, 0] >= window.x0) & (at[:, 0] <= window.x1) & (at[:, 1] >= window.y0)
    seen = values[used & np.isfinite(values)]
    least, most = (float(np.min(seen)), float(np.max(seen))) if len(seen) else (0.0, 1.0)
    return min(least, 0.0), max(most, least + 1e-9, 1e-9)


def _deformed(ax, points, triangles, displacement, magnification, window):
    """Outline of the ground as deformed, magnified so that the largest movement is about a twentieth of the picture; the note that explains it."""
    if not len(triangles):
        return []
    if magnification is None:
        size = window.y1 - window.y0 if window else float(np.max(np.ptp(points, axis=0)))
        wanted = 0.05 * size / max(float(np.max(np.hypot(*displacement[np.unique(triangles)].T))), 1e-12)
        step = 10.0 ** np.floor(np.log10(wanted))
        magnification = float(step * max(m for m in (1, 2, 5) if m * step <= wanted))
    moved = points + magnification * displacement
    ax.add_collection(LineCollection(moved[_boundary(triangles, moved)], colors=style.INK, linewidths=0.8, zorder=3), autolim=False)
    return [f"thin line: deformed outline, movements \u00d7 {magnification:g}"]


def _boundary(triangles, moved=None):
    """Edges (corner to corner) that belong to one triangle only, shape (n, 2); points that lie and move together count as one."""
    same = np.arange(np.max(triangles) + 1)
    if moved is not None:
        _, first, whose = np.unique(np.round(moved[: len(same)], 6), axis=0, return_index=True, return_inverse=True)
        same = first[whose.ravel()]
    triangles = same[triangles[:, :3]]
    edges = np.sort(np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), axis=1)
    found, count = np.unique(edges, axis=0, return_counts=True)
    return found[count == 1]


def directions(ax, points, along, window, spacing=16):
    """Arrows of one length along unit vectors (k, 2) at points (k, 2), one in each of about ``spacing`` squares across the window."""
    cell, (x, y) = (window.x1 - window.x0) / spacing, points.T
    inside = np.flatnonzero((x > window.x0) & (x < window.x1) & (y > window.y0) & (y < window.y1))
    _, first = np.unique(np.floor(points[inside] / cell).astype(int), axis=0, return_index=True)
    chosen = inside[first]
    look = dict(width=0.0025, color="white", edgecolor="black", linewidth=0.3, zorder=6)
    ax.quiver(*points[chosen].T, *(0.7 * cell * along[chosen]).T, angles="xy", scale_units="xy", scale=1, **look)


def _what_stands(ax, case, situation, window):
    pen = Pen(ax)
    draw_slabs(pen, case, situation)
    draw_wells(pen, case, situation, 0)
    draw_walls(pen, case, situation, 2.4)
    draw_frames(pen, case, situation, 3.5)
    draw_loads(pen, case, situation, window, 0.035 * (window.y1 - window.y0), 7)
    ax.plot(*ground_line(case, situation, window.x0, window.x1), color=style.GREY, linewidth=0.8, zorder=2)
    ax.set(xlim=(window.x0, window.x1), ylim=(window.y0, window.y1))
