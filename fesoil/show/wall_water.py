"""Water pressure on both faces of a wall, a panel for each stage with seepage, beside the ground that the wall stands in."""

from __future__ import annotations

import numpy as np

from fesoil.case import sequence
from fesoil.show import style
from fesoil.show.labels import write_free
from fesoil.show.profiles import ground_strip
from fesoil.show.section import pit_window, with_held_water

COLUMNS = 4
HEIGHT = 5.6, 4.5  # [inch] of one row of panels, and of each of several


def water_stages(result, name: str) -> list[int]:
    """Stages (1 is the first) with seepage in which a wall stands, of those that were reached."""
    return [i for i in range(1, len(result.stages) + 1) if result.situations[i].seepage and name in result.situations[i].toes]


def wall_water_figure(result, name: str):
    """Figure of the water pressure on a wall: the ground strip of the one with the greatest net pressure, then a panel for each of ``water_stages``."""
    case, stages, lines = result.case, water_stages(result, name), result.water_on(name)
    n = len(stages) + 1
    columns = min(n, COLUMNS)
    rows = -(-n // columns)
    figure = style.new_figure(max(style.PAGE * columns / COLUMNS, 6.5), rows * HEIGHT[rows > 1] + 0.8)
    axes = figure.subplots(rows, columns, squeeze=False)
    flat = list(axes.flat)
    worst = max(stages, key=lambda i: np.abs(lines[i - 1].right - lines[i - 1].left).max())
    ground_strip(flat[0], case, name, with_held_water(case, result.situations[worst], pit_window(case)))
    style.title(flat[0], f"Wall {style.shorten(name, 30)}", color=style.wall_colour(case, name), weight="bold")
    most = max(float(max(lines[i - 1].left.max(), lines[i - 1].right.max())) for i in stages)
    for ax in flat[1:n]:
        ax.set(xlim=(-1.3 * max(most, 1.0), 1.3 * max(most, 1.0)), ylim=flat[0].get_ylim())
        style.level_ticks(ax.yaxis)
    for ax in flat[n:]:
        ax.set_visible(False)
    figure.get_layout_engine().execute(figure)  # the notes go by the places of the curves on the page
    for i, ax in zip(stages, flat[1:]):
        water_lines(ax, lines[i - 1])
        _ground_levels(ax, case, result.situations[i], name)
        stage = result.stages[i - 1]
        words = style.wrap(f"{i}  {stage.name}" + ("" if stage.converged else f": {style.NO_EQUILIBRIUM}"), 34, 3)
        style.title(ax, words, fontsize=7.5, weight="normal" if stage.converged else "bold")
    return figure


def water_lines(ax, line):
    """Pressure on the left face drawn to the left and on the right face to the right of a wall, and what one side pushes more than the other, shaded on the side that pushes.

    Parameters
    ----------
    line : WaterLine

    Returns
    -------
    ax
    """
    net = line.right - line.left
    ax.plot([0, 0], [line.level.max(), line.level.min()], color=style.INK, linewidth=2.0, solid_capstyle="butt", zorder=3)
    ax.fill_betweenx(line.level, 0, net, facecolor=style.WATER, edgecolor=style.WATER_LINE, hatch="---", linewidth=0, zorder=1.5)
    for sign, pressure in ((-1, line.left), (1, line.right)):
        ax.plot(sign * pressure, line.level, color=style.WATER_LINE, linewidth=1.5, zorder=4)
    at = int(np.argmax(np.abs(net)))
    if abs(net[at]) > 0.05:
        text = f"net {style.number(abs(net[at]))} kPa\nat {style.level(line.level[at])} m"
        ax.plot([net[at]], [line.level[at]], "o", color=style.INK, markersize=4, zorder=6)
        write_free(ax, net[at], line.level[at], text, [(-line.left, line.level), (line.right, line.level), (net, line.level)])
    for sign, pressure in ((-1, line.left), (1, line.right)):
        j = int(np.argmax(pressure))
        if pressure[j] > 0.05:
            style.write(ax, sign * pressure[j], line.level[j], f"{style.number(pressure[j])}", (0, -7), color=style.WATER_LINE, fontsize=style.SMALL)
    ax.set_xlabel("Water pressure [kPa]\nleft face | right face; shaded: net")
    ax.xaxis.set_major_formatter(lambda value, _: f"{abs(value):g}")
    ax.grid(axis="y", color="#ececec", linewidth=0.5)
    return ax


def _ground_levels(ax, case, situation, name):
    """The ground surface on each side of the wall, and the water there."""
    x = next(wall.x for wall in case.walls if wall.name == name)
    reach = ax.get_xlim()[1]
    for side in (-1, 1):
        ground = float(sequence.ground_level(case, situation, x + 1e-3 * side))
        ax.plot([0, side * reach], [ground, ground], color="#4d4433", linewidth=1.1, zorder=2)
        zone = int(sequence.zone_of(case, x + 1e-3 * side))
        water = float(sequence.free_level(case, situation, zone))
        if water > ground + 1e-6:
            ax.plot([0, side * reach], [water, water], color=style.WATER_LINE, linewidth=0.8, linestyle=(0, (5, 3)), zorder=2)
