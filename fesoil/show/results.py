"""Pictures of a result: walls, frame loads, settlement, fields over the section. From plain arrays; ``draw_result`` reads a result."""

from __future__ import annotations

import re

import numpy as np

from fesoil.case.sequence import frame_resistance
from fesoil.show import style
from fesoil.show.fields import field
from fesoil.show.profiles import MOMENT_SIGN, ground_strip, stage_key, wall_figure, wall_lines
from fesoil.show.section import draw_situation, pit_window, section_axes

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
        ax.text(
            i,
            0.99,
            style.NO_EQUILIBRIUM,
            transform=ax.get_xaxis_transform(),
            rotation=90,
            ha="center",
            va="top",
            fontsize=6.5,
            zorder=6,
            weight="bold",
            bbox=style.LABEL,
        )
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
        style.write(ax, n - 0.5, place, text, ha="left", color=colour, linespacing=1.1).set_in_layout(True)
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
    worst = max([i for i in range(len(curves)) if i not in failed] or range(len(curves)), key=lambda i: _most(curves[i][2]))
    for i, (_, distance, settlement, _) in enumerate(curves):
        look = dict(linestyle=(0, (4, 2)), linewidth=1.3) if i in failed else dict(linewidth=2.2 if i == worst else 1.1)
        ax.plot(distance, settlement, color=colours[i], zorder=4 if i == worst else 3, **look)
    stage, distance, settlement, horizontal = curves[worst]
    ax.plot(distance, horizontal, color=style.WALLS[1], linewidth=1.2, linestyle=(0, (1, 1.2)), zorder=3.5)
    ax.axhline(0, color="#4d4433", linewidth=1.0, zorder=2)
    bottom = 1.22 * max(*(_most(c[2]) for c in curves), _most(horizontal), 1.0)
    top = min(-0.16 * bottom, *(-1.1 * _most(-np.asarray(c)) for c in (*(c[2] for c in curves), horizontal))) - (0.1 * bottom if len(loads) else 0)
    ax.set(xlim=(0, float(np.max(distance))), ylim=(bottom, top), xlabel=xlabel)
    ax.set_ylabel("Settlement, downwards [mm]\nhorizontal movement, towards the dig [mm]")
    _mark_neighbours(ax, loads, top)
    _label_trough(ax, curves[worst])
    for i in (i for i in failed if np.any(np.isfinite(curves[i][2]))):
        at = int(np.nanargmax(curves[i][2]))
        style.write(
            ax,
            curves[i][1][at],
            curves[i][2][at],
            f"{style.shorten(curves[i][0], 30)}: {style.NO_EQUILIBRIUM}",
            (0, -7),
            ha="left",
            weight="bold",
            fontsize=6.5,
            bbox=style.LABEL,
            path_effects=[],
        )
    ax.grid(axis="y", color="#ececec", linewidth=0.5)
    return ax


def _most(values):
    """Greatest finite value; 0 where there is none."""
    values = np.asarray(values, float)
    return float(np.max(values, where=np.isfinite(values), initial=0.0))


def _label_trough(ax, curve):
    if not np.any(np.isfinite(curve[2])):
        return
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
        ax.fill_between(
            [near, max(right, near + 0.05)],
            -lift * height,
            -(lift + 1) * height * 0.9,
            facecolor="#d9d9d9",
            edgecolor=style.GREY,
            linewidth=0.7,
            zorder=3,
        )
        style.write(ax, (near + right) / 2, -(lift + 0.45) * height, style.shorten(name, 30), fontsize=6.5)


def sequence_section(ax, case, situation):
    """What stands after a stage, with the stage's name."""
    draw_situation(ax, case, situation, pit_window(case))
    style.title(ax, style.wrap(f"{situation.index}  {situation.name}", 90, 2))
    return section_axes(ax)


def draw_result(result, out_dir) -> list:
    """Write the pictures of a result; returns their paths, none where no stage was reached. For each wall, the frames, each side's trough, each
    stage's fields."""
    if not result.stages:
        return []
    case = result.case
    failed = {i for i, stage in enumerate(result.stages) if not stage.converged}
    pictures = {f"wall-{_file_name(w.name, i)}.png": _wall_picture(result, w.name, failed) for i, w in enumerate(case.walls)}
    if result.frames.names:
        pictures["frames.png"] = lambda: _frames_picture(result, failed)
    sides = ("right",) if case.section.half else ("left", "right")
    pictures.update({f"settlement-{side}.png": _settlement_picture(result, side, failed) for side in sides})
    pictures.update({f"stage-{i + 1:02d}.png": _stage_picture(result, i, failed) for i in range(len(result.stages))})
    with_mechanism = [i for i in range(1, len(result.stages) + 1) if result.mechanism(i) is not None]
    pictures.update({f"mechanism-{i:02d}.png": _mechanism_picture(result, i) for i in with_mechanism})
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
        lines = [
            None if line is None else (stage.name, line.level, MM * np.asarray(line.deflection), line.moment, line.shear)
            for stage, line in zip(result.stages, result.wall(name).lines)
        ]
        return wall_figure(result.case, name, lines, failed=failed, moment_sign=MOMENT_SIGN, shown=range(1, len(lines) + 1))

    return make


def _frames_picture(result, failed):
    figure = style.new_figure(10.5, 5.6)
    ax = figure.add_subplot()
    by_name = {f.name: f for f in result.case.frames}
    limits = [_resistance(by_name.get(n)) for n in result.frames.names]
    frame_loads(ax, result.frames.names, [s.name for s in result.stages], result.frames.loads, capacities=limits, failed=failed)
    return figure


def _resistance(frame):
    """Stated resistance of a frame as (load [kN/m], kind of value), None where there is none."""
    load = frame_resistance(frame) if frame else None
    return None if load is None else (load, frame.capacity.basis if frame.capacity else "limit load")


def _settlement_picture(result, side, failed):
    def make():
        figure = style.new_figure(10.5, 5.2)
        axes = figure.subplots(1, 2, width_ratios=(1, 0.26))
        trough = result.settlement(side)
        curves = [(stage.name, trough.distance, MM * s, MM * h) for stage, s, h in zip(result.stages, trough.settlement, trough.horizontal)]
        settlement_trough(
            axes[0], curves, loads=_neighbours(result.case, side), failed=failed, xlabel=f"Distance from the outermost wall on the {side} [m]"
        )
        stage_key(axes[1], [s.name for s in result.stages], failed=failed, shown=range(1, len(curves) + 1))
        return figure

    return make


def _neighbours(case, side):
    """Loads outside the outermost wall on a side, as (name, nearer, farther) distances [m]."""
    xs = [w.x for w in case.walls] or [0.0]
    sign, wall = (1, max(xs)) if side == "right" else (-1, min(xs))
    found = []
    for load in case.loads:
        ends = sorted(sign * (e - wall) for e in (load.start, load.end, load.x) if e is not None)
        if ends and ends[-1] > 0:
            found.append((load.name, max(ends[0], 0.0), ends[-1]))
    return found


def _mechanism_picture(result, i):
    """Relative movement, with its direction, with which stage i fails under reduced strength or under its own load."""

    def make():
        data, movement, record = result.field(i), result.mechanism(i), result.records[i]
        found = f"safety factor {record.reduction['factor']:.2f} by strength reduction" if record.converged else "no equilibrium, the ground moves on"
        window = pit_window(result.case)
        figure = style.new_figure(8.0, 6.6 * (window.y1 - window.y0) / (window.x1 - window.x0) + 1.4)
        ax = figure.add_subplot()
        size = np.hypot(*movement.T)
        field(ax, data.points, data.triangles, size, label="Movement of the mechanism, relative", unit="\u2013", limits=(0, 1), case=result.case, situation=result.situations[i])
        _arrows(ax, data, movement, size, window)
        style.title(ax, f"{i}  {style.shorten(record.name, 60)}: {found}")
        return figure

    return make


def _arrows(ax, data, movement, size, window, spacing=16):
    """Directions of movement on a grid of about ``spacing`` squares across, where it is more than a twentieth of the greatest."""
    nodes = np.unique(data.triangles)
    cell = (window.x1 - window.x0) / spacing
    x, y = data.points[nodes].T
    inside = (x > window.x0) & (x < window.x1) & (y > window.y0) & (y < window.y1) & (size[nodes] > 0.05)
    nodes = nodes[inside]
    _, first = np.unique(np.floor(data.points[nodes] / cell).astype(int), axis=0, return_index=True)
    chosen = nodes[first]
    across = movement[chosen] / size[chosen, None] * 0.7 * cell
    ax.quiver(*data.points[chosen].T, *across.T, angles="xy", scale_units="xy", scale=1, width=0.0025, color="white", edgecolor="black", linewidth=0.3, zorder=6)


def _stage_picture(result, i, failed):
    def make():
        situation, data, stage = result.situations[i + 1], result.field(i + 1), result.stages[i]
        size = MM * np.hypot(*np.asarray(data.displacement).T)
        window = pit_window(result.case)
        slender = (window.y1 - window.y0) / (window.x1 - window.x0)
        stacked = slender < 0.7
        figure = style.new_figure(9.0 if stacked else 12.0, 2 * (7.4 * slender + 0.6) + 0.7 if stacked else 4.75 * slender + 1.3)
        axes = figure.subplots(*((2, 1) if stacked else (1, 2)))
        common = dict(case=result.case, situation=situation)
        field(axes[0], data.points, data.triangles, size, label="Displacement since the start", unit="mm", displacement=data.displacement, **common)
        field(
            axes[1],
            data.points,
            data.triangles,
            data.share_of_strength,
            label="Share of the strength used",
            unit="\u2013",
            limits=(0, 1),
            cmap="cividis",
            marked=np.asarray(data.yielded, float) >= 0.5,
            **common,
        )
        style.title(axes[0], f"{i + 1}  {style.shorten(stage.name, 80)}")
        if i in failed:
            for ax in axes:
                ax.set_title(style.NO_EQUILIBRIUM, loc="right", fontsize=8.5, weight="bold")
        return figure

    return make
