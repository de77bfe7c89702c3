"""Pictures of a result: walls, frame loads, settlement, fields over the section. From plain arrays; ``draw_result`` reads a result."""

from __future__ import annotations

import re
from functools import partial

import numpy as np

from fesoil.case.frames import frame_resistance
from fesoil.case.stiffness import is_small_strain
from fesoil.result.trust import with_bar
from fesoil.show import style
from fesoil.show.curves import curve_places, curves_figure, stiffness_picture
from fesoil.show.fields import field
from fesoil.show.ground import mechanism_picture, stage_picture
from fesoil.show.profiles import MOMENT_SIGN, ground_strip, stage_key, wall_figure, wall_lines
from fesoil.show.section import draw_situation, pit_window, section_axes
from fesoil.show.troughs import governing, settlement_trough
from fesoil.show.wall_water import wall_water_figure, water_stages
from fesoil.show.water import flow_picture

__all__ = ["draw_result", "field", "frame_loads", "ground_strip", "sequence_section", "settlement_trough", "stage_key", "wall_figure", "wall_lines"]

MM = 1e3  # mm in a metre
GREATEST = ("max_deflection_mm", "max_moment_kNm_per_m", "max_shear_kN_per_m")  # keys of the summary, by axis of a wall's picture
WITH_BARS = ("wall", "frames", "settlement", "mechanism")  # pictures whose numbers have error bars
FAR_ABOVE = 2.5  # times the greatest load: a capacity that would press the loads flat


def frame_loads(ax, names, stages, loads, *, capacities=None, failed=(), bars=None):
    """Load of each frame by stage.

    Parameters
    ----------
    names : frames, in the order of the case
    stages : names of the stages
    loads : (n_stages, n_frames) [kN/m], positive in compression; NaN while a frame does not act
    capacities : (value [kN/m], basis) or None for each frame
    failed : indices of the stages without equilibrium
    bars : function from the index of a stage and a name to the text of the load's error bar

    Returns
    -------
    ax
    """
    loads = np.asarray(loads, float)
    at = np.arange(len(stages))
    for i in failed:
        ax.axvspan(i - 0.5, i + 0.5, facecolor="#f0f0f0", hatch="///", edgecolor="#d0d0d0", linewidth=0, zorder=0)
        note = dict(transform=ax.get_xaxis_transform(), rotation=90, ha="left", va="top", fontsize=style.SMALL, weight="bold", zorder=6)
        ax.text(i - 0.46, 0.99, style.NO_EQUILIBRIUM, bbox=style.LABEL, **note)
    ends = []
    for j, name in enumerate(names):
        acting = np.flatnonzero(np.isfinite(loads[:, j]))
        if len(acting):
            ax.plot(at, loads[:, j], markersize=4.5, linewidth=1.4, zorder=4, clip_on=False, **style.frame_style(j))
            unsure = [i for i in acting if i in failed]
            ax.plot(unsure, loads[unsure, j], **{**style.frame_style(j), "linestyle": "none"}, markersize=4.5, markerfacecolor="white", zorder=4.1)
            sure = [i for i in acting if i not in failed] or list(acting)
            peak = sure[int(np.argmax(loads[sure, j]))]
            most = with_bar(f"{loads[peak, j]:.0f}", bars(peak, name) if bars else "", "kN/m")
            ends.append((j, acting[-1], loads[acting[-1], j], f"{style.shorten(name, 26)}\nmost {most}, stage {peak + 1}"))
    most = float(np.max(loads, where=np.isfinite(loads), initial=0.0))
    high = _capacity_lines(ax, names, capacities or [None] * len(names), most)
    low = float(np.min(loads, where=np.isfinite(loads), initial=0.0))
    ax.set_ylim(1.1 * low, (1.12 + 0.04 * high) * ax.get_ylim()[1])
    _end_labels(ax, ends, len(stages))
    _stage_ticks(ax, stages)
    ax.set_ylabel("Frame load [kN/m]\ncompression positive")
    ax.grid(axis="y", color="#ececec", linewidth=0.5)
    return ax


def _capacity_lines(ax, names, capacities, most):
    """Dashed lines of capacity; frames of one capacity share a line. One far above the loads is written at the top, without its line."""
    shared: dict[tuple, list[int]] = {}
    for j, given in enumerate(capacities):
        if given is not None:
            shared.setdefault(tuple(given), []).append(j)
    high = 0
    for (value, basis), frames in sorted(shared.items()):
        colour = style.frame_style(frames[0])["color"] if len(frames) == 1 else style.GREY
        who = f"capacity {value:g} kN/m, {basis}: {', '.join(style.shorten(names[j], 22) for j in frames)}"
        if value > FAR_ABOVE * most > 0:
            place = dict(xycoords="axes fraction", ha="left", color=colour, fontsize=style.SMALL)
            style.write(ax, 0.01, 1.0, f"\u2191 {who} (above the picture)", (0, -6 - 11 * high), **place)
            high += 1
            continue
        ax.axhline(value, color=colour, linewidth=1.0, linestyle=(0, (1, 1.5)), zorder=2)
        style.write(ax, -0.4, value, who, (0, 5), ha="left", color=colour, fontsize=style.SMALL)
    return high


def _end_labels(ax, ends, n):
    """Names at the right of the picture, each led to the last point of its line, none below the axis."""
    low, high = ax.get_ylim()
    gap = 0.085 * (high - low)
    places = style.spread([y for _, _, y, _ in ends], gap)
    lowest = low + 0.3 * gap
    for i in np.argsort(places, kind="stable"):
        places[i] = max(places[i], lowest)
        lowest = places[i] + gap
    for (j, i, y, text), place in zip(ends, places):
        colour = style.frame_style(j)["color"]
        ax.plot([i, n - 0.55], [y, place], color=colour, linewidth=0.5, linestyle=(0, (1, 2)), zorder=2)
        style.write(ax, n - 0.5, place, text, ha="left", color=colour, linespacing=1.1).set_in_layout(True)
    ax.set_xlim(-0.5, n - 0.5)


def _stage_ticks(ax, stages):
    ax.set_xticks(range(len(stages)))
    labels = [style.wrap(f"{i}  {name}", 24, 2) for i, name in enumerate(stages, 1)]
    ax.set_xticklabels(labels, rotation=38, ha="right", rotation_mode="anchor", parse_math=False, fontsize=style.SMALL)
    ax.set_xlabel("Stage")


def sequence_section(ax, case, situation):
    """What stands after a stage, with the stage's name."""
    draw_situation(ax, case, situation, pit_window(case))
    style.title(ax, style.wrap(f"{situation.index}  {situation.name}", 90, 2))
    return section_axes(ax)


def draw_result(result, out_dir) -> list:
    """Write the pictures of a result; returns their paths, none where no stage was reached. For each wall, the frames, each side's trough, each
    stage's fields; with seepage also the flow net of each of its stages, and the water on each wall; with ground that is stiff at small strain also
    what is left of its stiffness after each stage, and its curves."""
    if not result.stages:
        return []
    case = result.case
    failed = {i for i, stage in enumerate(result.stages) if not stage.converged}
    pictures = {f"wall-{file_name(w.name, i)}.png": _wall_picture(result, w.name, failed) for i, w in enumerate(case.walls)}
    if result.frames.names:
        pictures["frames.png"] = lambda: _frames_picture(result, failed)
    sides = ("right",) if case.section.half else ("left", "right")
    pictures.update({f"settlement-{side}.png": _settlement_picture(result, side, failed) for side in sides})
    pictures.update({f"stage-{i + 1:02d}.png": partial(stage_picture, result, i + 1) for i in range(len(result.stages))})
    if any(map(is_small_strain, case.soils)):
        pictures.update({f"stiffness-{i + 1:02d}.png": partial(stiffness_picture, result, i + 1) for i in range(len(result.stages))})
        if places := curve_places(case, result.field(0)):
            pictures["stiffness-curves.png"] = partial(curves_figure, result, places)
    flowing = [i for i in range(1, len(result.stages) + 1) if result.situations[i].seepage]
    pictures.update({f"flow-{i:02d}.png": partial(flow_picture, result, i) for i in flowing})
    wet = [(k, w.name) for k, w in enumerate(case.walls) if water_stages(result, w.name)]
    pictures.update({f"water-{file_name(name, k)}.png": partial(wall_water_figure, result, name) for k, name in wet})
    with_mechanism = [i for i in range(1, len(result.stages) + 1) if result.mechanism(i) is not None]
    pictures.update({f"mechanism-{i:02d}.png": partial(mechanism_picture, result, i) for i in with_mechanism})
    paths = []
    for name, make in pictures.items():
        note = "\u00b1: error by the mesh, from three of them" if result.trust is not None and name.startswith(WITH_BARS) else ""
        with style.quiet():
            paths.append(style.save(style.footer(make(), case, result.version, note), f"{out_dir}/{name}"))
    return paths


def file_name(name, index):
    """A wall's name as a file name, with its number so that no two are the same."""
    return f"{index + 1}-{re.sub(r'[^A-Za-z0-9]+', '-', name).strip('-')[:40]}".rstrip("-")


def _wall_picture(result, name, failed):
    def make():
        lines = [
            None if line is None else (stage.name, line.level, MM * np.asarray(line.deflection), line.moment, line.shear)
            for stage, line in zip(result.stages, result.wall(name).lines)
        ]
        bars = lambda i, axis: result.plus_minus(i + 1, "walls", name, GREATEST[axis])  # noqa: E731
        return wall_figure(result.case, name, lines, failed=failed, moment_sign=MOMENT_SIGN, shown=range(1, len(lines) + 1), bars=bars)

    return make


def _frames_picture(result, failed):
    figure = style.new_figure(10.5, 5.6)
    ax = figure.add_subplot()
    by_name = {f.name: f for f in result.case.frames}
    limits = [_resistance(by_name.get(n)) for n in result.frames.names]
    bars = lambda i, name: result.plus_minus(i + 1, "frames", name, "load_kN_per_m")  # noqa: E731
    frame_loads(ax, result.frames.names, [s.name for s in result.stages], result.frames.loads, capacities=limits, failed=failed, bars=bars)
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
        words = f"Distance from the outermost wall on the {side} [m]"
        settlement_trough(axes[0], curves, loads=_neighbours(result.case, side), failed=failed, xlabel=words, bars=_settlement_bars(result, side))
        stage_key(axes[1], [s.name for s in result.stages], failed=failed, shown=range(1, len(curves) + 1), strong=[governing(curves, failed)])
        return figure

    return make


def _settlement_bars(result, side):
    """Function from the index of a stage to the error bar of the greatest settlement, which the summary has for the worse side only."""

    def bar(i):
        ground = result.stage_summary(i + 1).get("ground", {})
        return result.plus_minus(i + 1, "ground", "max_settlement_mm") if ground.get("side") == side else ""

    return bar


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
