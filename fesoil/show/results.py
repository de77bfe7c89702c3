"""Pictures of a result: walls, frame loads, settlement, fields over the section. From plain arrays; ``draw_result`` reads a result."""

from __future__ import annotations

import re

import matplotlib
import numpy as np
from matplotlib.collections import LineCollection
from matplotlib.ticker import MaxNLocator
from matplotlib.tri import Triangulation

from fesoil.case import sequence
from fesoil.show import style
from fesoil.show.profiles import MOMENT_SIGN, ground_strip, stage_key, wall_figure, wall_lines
from fesoil.show.section import Pen, draw_frames, draw_loads, draw_slabs, draw_situation, draw_walls, ground_line, pit_window, section_axes

__all__ = ["draw_result", "field", "frame_loads", "ground_strip", "sequence_section", "settlement_trough", "stage_key", "wall_figure", "wall_lines"]

MM = 1e3  # mm in a metre


def frame_loads(ax, names, stages, loads, *, capacities=None, failed=()):
    """Load of each frame by stage.

    Parameters
    ----------
    names : frames, in the order of the case
    stages : names of the stages
    loads : (n_stages, n_frames) [kN/m], positive in compression; NaN while a frame does not act
    capacities : (value [kN/m], basis) or None for each frame
    failed : indices of the stages without equilibrium

    Returns
    -------
    ax
    """
    loads = np.asarray(loads, float)
    at = np.arange(len(stages))
    for i in failed:
        ax.axvspan(i - 0.5, i + 0.5, facecolor="#f0f0f0", hatch="///", edgecolor="#d0d0d0", linewidth=0, zorder=0)
        ax.text(i, 0.99, style.NO_EQUILIBRIUM, transform=ax.get_xaxis_transform(), rotation=90, ha="center", va="top", fontsize=6.5, zorder=6,
                weight="bold", bbox=style.LABEL)
    ends = []
    for j, name in enumerate(names):
        acting = np.flatnonzero(np.isfinite(loads[:, j]))
        if len(acting):
            ax.plot(at, loads[:, j], markersize=4.5, linewidth=1.4, zorder=4, clip_on=False, **style.frame_style(j))
            sure = [i for i in acting if i not in failed] or list(acting)
            peak = sure[int(np.argmax(loads[sure, j]))]
            ends.append((j, acting[-1], loads[acting[-1], j], f"{style.shorten(name, 26)}\nmost {loads[peak, j]:.0f} kN/m, stage {peak + 1}"))
    _capacity_lines(ax, names, capacities or [None] * len(names), len(stages))
    ax.set_ylim(0, 1.12 * ax.get_ylim()[1])
    _end_labels(ax, ends, len(stages))
    _stage_ticks(ax, stages)
    ax.set_ylabel("Frame load [kN/m]\ncompression positive")
    ax.grid(axis="y", color="#ececec", linewidth=0.5)
    return ax


def _capacity_lines(ax, names, capacities, n):
    """Dashed lines of capacity; frames of one capacity share a line."""
    shared: dict[tuple, list[int]] = {}
    for j, given in enumerate(capacities):
        if given is not None:
            shared.setdefault(tuple(given), []).append(j)
    for (value, basis), frames in shared.items():
        colour = style.frame_style(frames[0])["color"] if len(frames) == 1 else style.GREY
        ax.axhline(value, color=colour, linewidth=1.0, linestyle=(0, (1, 1.5)), zorder=2)
        who = ", ".join(style.shorten(names[j], 22) for j in frames)
        style.write(ax, -0.4, value, f"capacity {value:g} kN/m, {basis}: {who}", (0, 5), ha="left", color=colour, fontsize=6.5)


def _end_labels(ax, ends, n):
    """Names at the right of the picture, each led to the last point of its line."""
    low, high = ax.get_ylim()
    places = style.spread([y for _, _, y, _ in ends], 0.085 * (high - low))
    for (j, i, y, text), place in zip(ends, places):
        colour = style.frame_style(j)["color"]
        ax.plot([i, n - 0.55], [y, place], color=colour, linewidth=0.5, linestyle=(0, (1, 2)), zorder=2)
        style.write(ax, n - 0.5, place, text, ha="left", color=colour, linespacing=1.1)
    ax.set_xlim(-0.5, n - 0.5)


def _stage_ticks(ax, stages):
    ax.set_xticks(range(len(stages)))
    labels = [style.wrap(f"{i}  {name}", 24, 2) for i, name in enumerate(stages, 1)]
    ax.set_xticklabels(labels, rotation=38, ha="right", rotation_mode="anchor", parse_math=False, fontsize=6.5)
    ax.set_xlabel("Stage")


def settlement_trough(ax, curves, *, loads=(), failed=(), xlabel: str = "Distance from the wall [m]"):
    """Settlement beside the pit by stage, drawn downwards, and the horizontal movement of the governing stage.

    Parameters
    ----------
    curves : list of (stage, distance (n,) [m], settlement (n,) [mm, positive down], horizontal (n,) [mm, positive towards the dig])
    loads : (name, nearer end, farther end) [m] of buildings and loads, marked on top
    failed : indices in ``curves`` of the stages without equilibrium

    Returns
    -------
    ax
    """
    colours = style.stage_colours(len(curves))
    worst = max([i for i in range(len(curves)) if i not in failed] or range(len(curves)), key=lambda i: np.nanmax(curves[i][2]))
    for i, (_, distance, settlement, _) in enumerate(curves):
        look = dict(linestyle=(0, (4, 2)), linewidth=1.3) if i in failed else dict(linewidth=2.2 if i == worst else 1.1)
        ax.plot(distance, settlement, color=colours[i], zorder=4 if i == worst else 3, **look)
    stage, distance, settlement, horizontal = curves[worst]
    ax.plot(distance, horizontal, color=style.WALLS[1], linewidth=1.2, linestyle=(0, (1, 1.2)), zorder=3.5)
    ax.axhline(0, color="#4d4433", linewidth=1.0, zorder=2)
    bottom = 1.22 * max(*(np.nanmax(c[2]) for c in curves), np.nanmax(horizontal), 1.0)
    top = min(-0.16 * bottom, 1.1 * min(np.nanmin(c[2]) for c in curves), 1.1 * np.nanmin(horizontal)) - (0.1 * bottom if len(loads) else 0)
    ax.set(xlim=(0, float(np.max(distance))), ylim=(bottom, top), xlabel=xlabel)
    ax.set_ylabel("Settlement, downwards [mm]\nhorizontal movement, towards the dig [mm]")
    _mark_neighbours(ax, loads, top)
    _label_trough(ax, curves[worst])
    for i in failed:
        at = int(np.nanargmax(curves[i][2]))
        style.write(ax, curves[i][1][at], curves[i][2][at], f"{style.shorten(curves[i][0], 30)}: {style.NO_EQUILIBRIUM}", (0, -7), ha="left", weight="bold", fontsize=6.5,
                    bbox=style.LABEL, path_effects=[])
    ax.grid(axis="y", color="#ececec", linewidth=0.5)
    return ax


def _label_trough(ax, curve):
    stage, distance, settlement, horizontal = (np.asarray(c) if i else c for i, c in enumerate(curve))
    at = int(np.nanargmax(settlement))
    ax.plot(distance[at], settlement[at], "o", color=style.INK, markersize=4, zorder=6)
    text = f"{settlement[at]:.1f} mm at {distance[at]:.1f} m\n{style.wrap(stage, 44, 2)}"
    style.write(ax, distance[at], settlement[at], text, (10, -4), ha="left", va="top", bbox=style.LABEL, path_effects=[])
    far = int(np.searchsorted(distance, 0.62 * distance[-1]))
    style.write(ax, distance[far], horizontal[far], "horizontal, same stage", (0, -9), color=style.WALLS[1], ha="left")


def _mark_neighbours(ax, loads, top):
    """Buildings and loads as bars on the ground surface, named above."""
    lifted: list[tuple[float, float, int]] = []
    for name, near, far in loads:
        lift = sum(1 for a, b, _ in lifted if a < far and near < b)
        lifted.append((near, far, lift))
        height = abs(top) * 0.28
        right = min(far, ax.get_xlim()[1])
        ax.fill_between([near, max(right, near + 0.05)], -lift * height, -(lift + 1) * height * 0.9, facecolor="#d9d9d9", edgecolor=style.GREY, linewidth=0.7, zorder=3)
        style.write(ax, (near + right) / 2, -(lift + 0.45) * height, style.shorten(name, 30), fontsize=6.5)


def field(ax, points, triangles, values, *, label: str, unit: str = "", case=None, situation=None, active=None, marked=None,
          displacement=None, magnification: float | None = None, limits=None, cmap: str = "viridis"):
    """A quantity over the section, zoomed to the pit, with what stands there and the deformed outline where asked.

    Parameters
    ----------
    points : (n, 2) [m]
    triangles : (m, 3) or (m, 6), corners first, then the middles of sides 0-1, 1-2, 2-0
    values : (n,) at the points, or (m,) by triangle
    label, unit : words for the colour bar
    active : (m,) bool, triangles that are ground now; all when left out
    marked : (m,) bool, triangles with a dot in the middle: at yield
    displacement : (n, 2) [m]; with ``magnification`` (worked out when left out) the deformed outline is drawn
    limits : (least, most) of the colours; the values' own in the window when left out

    Returns
    -------
    ax
    """
    points, triangles, values = np.asarray(points), np.asarray(triangles), np.asarray(values)
    keep = np.ones(len(triangles), bool) if active is None else np.asarray(active, bool)
    window = pit_window(case) if case is not None else None
    least, most = limits or _range(points, triangles[keep], values if len(values) == len(points) else values[keep], window)
    colours = matplotlib.colormaps[cmap]
    if len(values) == len(points):
        mesh = Triangulation(*points.T, _corners(triangles[keep]))
        drawn = ax.tricontourf(mesh, values, _levels(least, most), cmap=colours, extend="max" if most < np.max(values[np.unique(triangles[keep])]) else "neither", zorder=1)
    else:
        drawn = ax.tripcolor(Triangulation(*points.T, triangles[keep, :3]), values[keep], cmap=colours, vmin=least, vmax=most, zorder=1, rasterized=True)
    bar = ax.figure.colorbar(drawn, ax=ax, shrink=0.72, aspect=26, pad=0.015)
    bar.set_label(f"{label} [{unit}]" if unit else label)
    bar.outline.set_linewidth(0.4)
    if marked is not None:
        _dots(ax, points, triangles[keep & np.asarray(marked, bool)])
    if displacement is not None:
        _deformed(ax, points, triangles[keep], np.asarray(displacement), magnification, window)
    if case is not None:
        _what_stands(ax, case, situation or sequence.situations(case)[-1], window)
    ax.set_aspect("equal")
    return section_axes(ax)


def _corners(triangles):
    """Straight three-node triangles, four for each of six nodes."""
    if triangles.shape[1] == 3:
        return triangles
    return np.concatenate([triangles[:, i] for i in ([0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5])])


def _levels(least, most):
    """About a dozen contour levels at round values."""
    return MaxNLocator(12, steps=[1, 2, 2.5, 5, 10]).tick_values(least, most)


def _dots(ax, points, triangles):
    if len(triangles):
        ax.plot(*points[triangles[:, :3]].mean(axis=1).T, ".", color=style.INK, markersize=1.6, zorder=2.2)
        ax.text(0.01, 0.015, "dots: at yield", transform=ax.transAxes, fontsize=6.5, zorder=9, bbox=style.LABEL)


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
    """Outline of the ground as deformed, magnified so that the largest movement is about a twentieth of the picture."""
    if magnification is None:
        size = window.y1 - window.y0 if window else float(np.max(np.ptp(points, axis=0)))
        wanted = 0.05 * size / max(float(np.max(np.hypot(*displacement[np.unique(triangles)].T))), 1e-12)
        step = 10.0 ** np.floor(np.log10(wanted))
        magnification = float(step * max(m for m in (1, 2, 5) if m * step <= wanted))
    moved = points + magnification * displacement
    ax.add_collection(LineCollection(moved[_boundary(triangles)], colors=style.INK, linewidths=0.8, zorder=3), autolim=False)
    ax.text(0.01, 0.015, f"thin line: deformed outline, movements \u00d7 {magnification:g}", transform=ax.transAxes, fontsize=6.5, color=style.INK, zorder=9, bbox=style.LABEL)


def _boundary(triangles):
    """Edges (corner to corner) that belong to one triangle only, shape (n, 2)."""
    edges = np.sort(np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), axis=1)
    found, count = np.unique(edges, axis=0, return_counts=True)
    return found[count == 1]


def _what_stands(ax, case, situation, window):
    pen = Pen(ax)
    draw_slabs(pen, case, situation)
    draw_walls(pen, case, situation, 2.4)
    draw_frames(pen, case, situation, 3.5)
    draw_loads(pen, case, situation, window, 0.035 * (window.y1 - window.y0), 7)
    ax.plot(*ground_line(case, situation, window.x0, window.x1), color=style.GREY, linewidth=0.8, zorder=2)
    ax.set(xlim=(window.x0, window.x1), ylim=(window.y0, window.y1))


def sequence_section(ax, case, situation):
    """What stands after a stage, with the stage's name."""
    draw_situation(ax, case, situation, pit_window(case))
    style.title(ax, style.wrap(f"{situation.index}  {situation.name}", 90, 2))
    return section_axes(ax)


def draw_result(result, out_dir) -> list:
    """Write the pictures of a result; returns their paths. For each wall, the frames, each side's trough, each stage's fields."""
    case = result.case
    failed = {i for i, stage in enumerate(result.stages) if not stage.converged}
    pictures = {f"wall-{_file_name(w.name, i)}.png": _wall_picture(result, w.name, failed) for i, w in enumerate(case.walls)}
    if result.frames.names:
        pictures["frames.png"] = lambda: _frames_picture(result, failed)
    sides = ("right",) if case.section.half else ("left", "right")
    pictures.update({f"settlement-{side}.png": _settlement_picture(result, side, failed) for side in sides})
    pictures.update({f"stage-{i + 1:02d}.png": _stage_picture(result, i, failed) for i in range(len(result.stages))})
    paths = []
    for name, make in pictures.items():
        with style.quiet():
            paths.append(style.save(style.footer(make(), case, result.version), f"{out_dir}/{name}"))
    return paths


def _file_name(name, index):
    """A wall's name as a file name, with its number so that no two are the same."""
    return f"{index + 1}-{re.sub(r'[^A-Za-z0-9]+', '-', name).strip('-')[:40]}".rstrip("-")


def _wall_picture(result, name, failed):
    def make():
        lines = [None if line is None else (stage.name, line.level, MM * np.asarray(line.deflection), line.moment, line.shear)
                 for stage, line in zip(result.stages, result.wall(name).lines)]
        return wall_figure(result.case, name, lines, failed=failed, moment_sign=MOMENT_SIGN, shown=range(1, len(lines) + 1))
    return make


def _frames_picture(result, failed):
    figure = style.new_figure(10.5, 5.6)
    axes = figure.subplots(1, 2, width_ratios=(1, 0.26))
    axes[1].set_axis_off()
    by_name = {f.name: f.capacity for f in result.case.frames}
    limits = [(c.load, c.basis) if (c := by_name.get(n)) and c.load else None for n in result.frames.names]
    frame_loads(axes[0], result.frames.names, [s.name for s in result.stages], result.frames.loads, capacities=limits, failed=failed)
    return figure


def _settlement_picture(result, side, failed):
    def make():
        figure = style.new_figure(10.5, 5.2)
        axes = figure.subplots(1, 2, width_ratios=(1, 0.26))
        trough = result.settlement(side)
        curves = [(stage.name, trough.distance, MM * s, MM * h) for stage, s, h in zip(result.stages, trough.settlement, trough.horizontal)]
        settlement_trough(axes[0], curves, loads=_neighbours(result.case, side), failed=failed, xlabel=f"Distance from the outermost wall on the {side} [m]")
        stage_key(axes[1], [s.name for s in result.stages], failed=failed, shown=range(1, len(curves) + 1))
        return figure
    return make


def _neighbours(case, side):
    """Loads outside the outermost wall on a side, as (name, nearer, farther) distances [m]."""
    xs = [w.x for w in case.walls]
    sign, wall = (1, max(xs)) if side == "right" else (-1, min(xs))
    found = []
    for load in case.loads:
        ends = sorted(sign * (e - wall) for e in (load.start, load.end, load.x) if e is not None)
        if ends and ends[-1] > 0:
            found.append((load.name, max(ends[0], 0.0), ends[-1]))
    return found


def _stage_picture(result, i, failed):
    def make():
        situation, data, stage = result.situations[i + 1], result.field(i), result.stages[i]
        size = MM * np.hypot(*np.asarray(data.displacement).T)
        window = pit_window(result.case)
        slender = (window.y1 - window.y0) / (window.x1 - window.x0)
        stacked = slender < 0.7
        figure = style.new_figure(9.0 if stacked else 12.0, 2 * (7.4 * slender + 0.6) + 0.7 if stacked else 4.75 * slender + 1.3)
        axes = figure.subplots(*((2, 1) if stacked else (1, 2)))
        common = dict(case=result.case, situation=situation)
        field(axes[0], data.points, data.triangles, size, label="Displacement since the start", unit="mm", displacement=data.displacement, **common)
        field(axes[1], data.points, data.triangles, data.share_of_strength, label="Share of the strength used", unit="\u2013", limits=(0, 1), cmap="cividis",
              marked=data.yielded, **common)
        style.title(axes[0], f"{i + 1}  {style.shorten(stage.name, 80)}")
        if i in failed:
            for ax in axes:
                ax.set_title(style.NO_EQUILIBRIUM, loc="right", fontsize=8.5, weight="bold")
        return figure
    return make
