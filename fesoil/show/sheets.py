"""The stages side by side: small pictures with what each changes marked, and the step table as a figure."""

from __future__ import annotations

import re
import textwrap
from dataclasses import replace

import numpy as np
from matplotlib.patches import Rectangle

from fesoil.case import sequence, steps
from fesoil.show import style
from fesoil.show.section import CLEAR, draw_situation, ground_line, load_places, loads_top, pit_window, section_axes, span


def stage_sheet(case):
    """Figure of small sections, the start and each stage, with what was done under its name and marked as with a marker pen."""
    walk, window = sequence.situations(case), pit_window(case)
    window = replace(window, y1=max(loads_top(case, s, window, 0.085 * (window.y1 - window.y0)) for s in walk))
    n = len(walk)
    columns = min(n, 4 if (window.x1 - window.x0) < 1.6 * (window.y1 - window.y0) else 3)
    rows = -(-n // columns)
    wide = style.PAGE / columns
    tall = wide * 0.86 * (window.y1 - window.y0) / (window.x1 - window.x0) + 1.0
    figure = style.new_figure(style.PAGE, rows * min(tall, 4.5) + 0.75)
    axes = figure.subplots(rows, columns, sharex=True, sharey=True, squeeze=False)
    for i, ax in enumerate(axes.flat):
        if i >= n:
            ax.set_visible(False)
            continue
        small_stage(ax, case, walk[max(i - 1, 0)], walk[i], window, wide * 62)
        lowest, leftmost = i + columns >= n, i % columns == 0
        ax.tick_params(labelbottom=lowest, labelleft=leftmost)
        section_axes(ax).set(xlabel="x [m]" if lowest else "", ylabel="Level [m]" if leftmost else "")
    name_layers(axes[0, 0], case, window)
    return figure


def name_layers(ax, case, window):
    """The name of each layer's soil at the right edge."""
    tops = [max(float(sequence.level_at(layer.top, window.x1)), window.y0) for layer in case.layers] + [window.y0]
    for layer, top, below in zip(case.layers, tops, tops[1:]):
        if top - below > 0.04 * (window.y1 - window.y0):
            style.write(ax, window.x1, (top + below) / 2, style.shorten(layer.soil, 28), (-4, 0), ha="right", fontsize=style.SMALL)


def small_stage(ax, case, before, after, window, width):
    """One stage: what stands, what it changed marked in yellow, what it took away dotted; its name and actions above, ``width`` points wide."""
    draw_situation(ax, case, after, window, small=True)
    mark_changes(ax, case, before, after, window)
    done = steps.actions(case, case.stages[after.index - 1]) if after.index else ["ground, water and what stands before the works"]
    name = style.wrap(f"{after.index}  {after.name}", int(width / 4.9), 3)
    words = style.true_minus(style.wrap(_with_units("; ".join(done)), int(width / 4.0), 4)).replace("\u00a0", " ")
    size = words.count("\n") + 1
    style.title(ax, name, fontsize=7.5, weight="bold", pad=6 + 8.6 * size)
    ax.annotate(
        words,
        (0, 1),
        xytext=(0, 4),
        xycoords="axes fraction",
        textcoords="offset points",
        fontsize=style.SMALL,
        color=style.GREY,
        va="bottom",
        parse_math=False,
    )
    return ax


def _with_units(text):
    """Words in which no line is broken between a number and its unit."""
    return re.sub(r"(?<=\d) (?=m\b|kPa\b|kN\b)", "\u00a0", text)


def mark_changes(ax, case, before, after, window):
    """Yellow under what a stage brought or changed, dotted and crossed out what it removed."""
    _mark_ground(ax, case, before, after, window)
    for wall in case.walls:
        old, new = before.toes.get(wall.name), after.toes.get(wall.name)
        if new is not None and new != old:
            _pen(ax, [wall.x, wall.x], [old if old is not None and old > new else wall.top_level, new], 11)
        elif old is not None and new is None:
            _ghost(ax, [wall.x, wall.x], [wall.top_level, old])
    for frame in case.frames:
        ends = span(case, frame.between)
        if frame.name in after.frames and (after.frames[frame.name], after.preload.get(frame.name)) != (
            before.frames.get(frame.name),
            before.preload.get(frame.name),
        ):
            _pen(ax, ends, [frame.level] * 2, 9)
        elif frame.name in before.frames and frame.name not in after.frames:
            _ghost(ax, ends, [frame.level] * 2)
    for slab in case.slabs:
        a, b = span(case, slab.between)
        if (slab.name in after.slabs) != (slab.name in before.slabs):
            middle = slab.top_level - slab.thickness / 2
            _pen(ax, [a, b], [middle] * 2, 16) if slab.name in after.slabs else _ghost(ax, [a, b], [middle] * 2)
    _mark_water(ax, case, before, after, window)
    _mark_wells(ax, case, before, after)
    _mark_loads(ax, case, before, after, window)


def _mark_ground(ax, case, before, after, window):
    x = np.unique(np.concatenate([ground_line(case, s, window.x0 + CLEAR, window.x1)[0] for s in (before, after)]))
    old, new = (sequence.ground_level(case, s, x) for s in (before, after))
    for low, high, hatch in ((new, old, "////"), (old, new, "....")):
        ax.fill_between(x, low, high, where=high > low + CLEAR, facecolor=style.MARKER_PEN, alpha=0.45, linewidth=0, zorder=1.3, interpolate=True)
        ax.fill_between(x, low, high, where=high > low + CLEAR, facecolor="none", edgecolor="#b89b00", hatch=hatch, linewidth=0, zorder=1.35)


def _mark_water(ax, case, before, after, window):
    for zone, old, new in zip(sequence.zones(case), before.water, after.water):
        if new is not None and new != old:
            _pen(ax, [max(zone.x0, window.x0), min(zone.x1, window.x1)], [new, new], 6)


def _mark_wells(ax, case, before, after):
    for well in case.wells:
        top = float(sequence.ground_level(case, after, well.x))
        if after.wells.get(well.name) != before.wells.get(well.name):
            (_pen if well.name in after.wells else _ghost)(ax, [well.x, well.x], [top, well.bottom])


def _mark_loads(ax, case, before, after, window):
    height = 0.06 * (window.y1 - window.y0)
    for load, a, b, y, lift in load_places(case, after, window):
        if load.name not in before.loads:
            _pen(ax, [a, b], [y + (2.1 * lift + 0.5) * height] * 2, 11)
    for load, a, b, y, lift in load_places(case, before, window):
        if load.name not in after.loads:
            _ghost(ax, [a, b], [y + (2.1 * lift + 0.5) * height] * 2)


def _pen(ax, x, y, width=9):
    ax.plot(x, y, color=style.MARKER_PEN, linewidth=width, alpha=0.8, solid_capstyle="butt", zorder=2.4)


def _ghost(ax, x, y):
    ax.plot(x, y, color=style.MARKER_PEN, linewidth=7, alpha=0.6, solid_capstyle="butt", zorder=2.4)
    ax.plot(x, y, color=style.GREY, linewidth=1.2, linestyle=(0, (1, 1.5)), zorder=4.4)
    ax.plot(*([np.interp((0.3, 0.7), (0, 1), ends) for ends in (x, y)]), "x", color=style.INK, markersize=6, markeredgewidth=1.4, zorder=4.5)


def step_figure(case):
    """The step table as a figure: bold where a step changes a value, grey italics with a star for the program's defaults."""
    heads, grid = steps.step_grid(case)
    cells = [[[_folded(e, 34 if name == "Stage" else 40) for e in cell] for cell, (_, name) in zip(row, heads)] for row in grid]
    names = [textwrap.fill(name, 11) if group in steps.GROUPS.values() else name for group, name in heads]
    widths = [_width(names[j], [row[j] for row in cells]) for j in range(len(heads))]
    widths = _room_for_groups(heads, widths)
    tall = [max(sum(text.count("\n") + 1 for text, _ in cell) for cell in row) for row in cells]
    head = max(name.count("\n") for name in names) + 1.6
    figure = style.new_figure(max(sum(widths) + 0.4, 8.0), (sum(tall) + 0.55 * len(tall) + head + 3) * LINE + 0.75)
    figure.set_layout_engine("none")
    ax = figure.add_axes((0, 0, 1, 1))
    ax.set_axis_off()
    ax.set(xlim=(0, figure.get_figwidth()), ylim=(0, figure.get_figheight()))
    _write_table(ax, heads, names, widths, cells, tall, head)
    return figure


LINE = 0.155  # [inch] from line to line


def _folded(entry, width):
    return style.true_minus(textwrap.fill(entry.text, width)).replace("> ", ""), entry


def _width(name, cells):
    longest = max([*name.split("\n"), *(line for cell in cells for text, _ in cell for line in text.split("\n"))], key=len)
    return len(longest) * 0.058 + 0.16


def _room_for_groups(heads, widths):
    """Columns widened where the heading of their group is longer than they are together."""
    widths = list(widths)
    for group in dict.fromkeys(g for g, _ in heads if g):
        mine = [j for j, (g, _) in enumerate(heads) if g == group]
        short = len(group) * 0.06 + 0.2 - sum(widths[j] for j in mine)
        for j in mine:
            widths[j] += max(short, 0) / len(mine)
    return widths


def _write_table(ax, heads, names, widths, cells, tall, head):
    left = np.concatenate([[0.2], 0.2 + np.cumsum(widths)])
    top = ax.get_ylim()[1] - 0.18
    text = dict(fontsize=7, va="top", parse_math=False)
    last = None
    for j, (group, _) in enumerate(heads):
        if group and group != last:
            ax.text(left[j], top, group, color=style.GREY, **text)
        last = group
        ax.text(left[j], top - head * LINE, names[j], color=style.GREY, **{**text, "va": "bottom"})
    y = top - (head + 0.25) * LINE
    ax.plot([left[0], left[-1]], [y, y], color=style.INK, linewidth=0.8)
    for i, row in enumerate(cells):
        height = (tall[i] + 0.55) * LINE
        if i % 2:
            ax.add_patch(Rectangle((left[0] - 0.06, y - height), left[-1] - left[0] + 0.06, height, facecolor="#f5f5f2", linewidth=0, zorder=0))
        for x, cell in zip(left, row):
            _write_cell(ax, x, y - 0.3 * LINE, cell)
        y -= height
    ax.plot([left[0], left[-1]], [y, y], color=style.INK, linewidth=0.8)
    note = "Bold: changed in this step.  Grey italics*: the program's default, not given by the case file.  "
    note += "In brackets: length of sheet below the ground on the dug side."
    ax.text(left[0], y - 0.6 * LINE, note, color=style.GREY, **{**text, "fontsize": style.SMALL})


def _write_cell(ax, x, y, cell):
    for words, entry in cell:
        look = dict(color=style.GREY, style="italic") if entry.default else dict(weight="bold") if entry.changed else {}
        ax.text(
            x,
            y,
            words + (steps.DEFAULT_MARK if entry.default else ""),
            **{"fontsize": 7, "va": "top", "parse_math": False, "linespacing": 1.35, "color": style.INK, **look},
        )
        y -= (words.count("\n") + 1) * LINE
