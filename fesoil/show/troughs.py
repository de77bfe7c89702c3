"""Settlement beside the pit by stage, with the buildings and loads that stand there."""

from __future__ import annotations

import numpy as np

from fesoil.result.trust import with_bar
from fesoil.show import style
from fesoil.show.labels import write_free

STRIP = 0.075  # share of the picture's height for each row of buildings and loads


def settlement_trough(ax, curves, *, loads=(), failed=(), xlabel: str = "Distance from the wall [m]", bars=None):
    """Settlement beside the pit by stage, drawn downwards, and the horizontal movement of the governing stage.

    Parameters
    ----------
    curves : list of (stage, distance (n,) [m], settlement (n,) [mm, positive down], horizontal (n,) [mm, positive towards the dig])
    loads : (name, nearer end, farther end) [m] of buildings and loads, marked along the top, clear of the curves
    failed : indices in ``curves`` of the stages without equilibrium
    bars : function from an index in ``curves`` to the text of the error bar of the greatest settlement

    Returns
    -------
    ax
    """
    worst = governing(curves, failed)
    for i, ((_, distance, settlement, _), colour) in enumerate(zip(curves, style.stage_colours(len(curves)))):
        ax.plot(distance, settlement, **style.stage_line(colour, 2 if i == worst else 0, i in failed))
    _, distance, _, horizontal = curves[worst]
    ax.plot(distance, horizontal, color=style.WALLS[1], linewidth=1.4, linestyle=(0, (1, 1.2)), zorder=4.5)
    ax.axhline(0, color="#4d4433", linewidth=1.0, zorder=2)
    rows = _rows(loads)
    _limits(ax, curves, horizontal, max(rows, default=-1) + 1)
    ax.set_xlabel(xlabel)
    ax.set_ylabel("Settlement, downwards [mm]\nhorizontal movement, towards the dig [mm]")
    ax.grid(axis="y", color="#ececec", linewidth=0.5)
    _mark_neighbours(ax, loads, rows)
    _label(ax, curves, worst, failed, bars(worst) if bars else "")
    return ax


def governing(curves, failed=()) -> int:
    """Index of the curve with the greatest settlement, of those in equilibrium where there are any."""
    return max([i for i in range(len(curves)) if i not in failed] or range(len(curves)), key=lambda i: _most(curves[i][2]))


def _most(values):
    """Greatest finite value; 0 where there is none."""
    values = np.asarray(values, float)
    return float(np.max(values, where=np.isfinite(values), initial=0.0))


def _limits(ax, curves, horizontal, n_rows):
    """Limits that leave room for the notes below the curves and for ``n_rows`` of neighbours above them."""
    drawn = [*(c[2] for c in curves), horizontal]
    bottom = 1.22 * max(*map(_most, drawn), 1.0)
    top = -max(*(1.1 * _most(-np.asarray(d, float)) for d in drawn), 0.06 * bottom)
    share = STRIP * n_rows + 0.02 * (n_rows > 0)
    ax.set(xlim=(0, float(np.max(curves[0][1]))), ylim=(bottom, (top - share * bottom) / (1 - share)))


def _rows(loads):
    """Row from the top for each load, so that none lies over another."""
    rows: list[int] = []
    for i, (_, near, far) in enumerate(loads):
        taken = {rows[j] for j in range(i) if loads[j][1] < far and near < loads[j][2]}
        rows.append(next(r for r in range(len(loads)) if r not in taken))
    return rows


def _mark_neighbours(ax, loads, rows):
    """Buildings and loads as named bars along the top, their ends led down through the curves by faint lines."""
    across = ax.get_xaxis_transform()
    edge = ax.get_xlim()[1]
    for (name, near, far), row in zip(loads, rows):
        top, right = 1 - STRIP * row, max(min(far, edge), near + 0.005 * edge)
        ax.fill_between([near, right], top - 0.8 * STRIP, top, transform=across, facecolor="#dedede", edgecolor=style.GREY, linewidth=0.7, zorder=2.5)
        for x in (near, far):
            if x < edge:
                ax.plot([x, x], [0, top - 0.8 * STRIP], transform=across, color=style.FAINT, linewidth=0.6, linestyle=(0, (1, 2)), zorder=1)
        words = style.shorten(name, 30)
        short = len(words) * 0.6 * style.SMALL > 50 * ax.get_window_extent().width / ax.figure.dpi * (right - near) / edge
        x, ha = (right, "left") if short else ((near + right) / 2, "center")
        style.write(ax, x, top - 0.4 * STRIP, words, (4 if short else 0, 0), xycoords=across, fontsize=style.SMALL, ha=ha)


def _label(ax, curves, worst, failed, bar):
    """Greatest settlement with its place and stage, the horizontal curve, the stages without equilibrium, all clear of the curves."""
    drawn = [(c[1], c[2]) for c in curves] + [curves[worst][1::2]]
    stage, distance, settlement, horizontal = (np.asarray(c) if i else c for i, c in enumerate(curves[worst]))
    if np.any(np.isfinite(settlement)):
        at = int(np.nanargmax(settlement))
        ax.plot(distance[at], settlement[at], "o", color=style.INK, markersize=4, zorder=6, clip_on=False)
        text = f"{with_bar(f'{settlement[at]:.1f}', bar, 'mm')} at {distance[at]:.1f} m\n{style.wrap(stage, 44, 2)}"
        write_free(ax, distance[at], settlement[at], text, drawn, 7.5, main=(distance, settlement))
        far = int(np.searchsorted(distance, 0.4 * distance[-1]))
        write_free(ax, distance[far], horizontal[far], "horizontal, same stage", drawn, color=style.WALLS[1])
    for name, x, y, _ in (curves[i] for i in failed if np.any(np.isfinite(curves[i][2]))):
        at = int(np.nanargmax(y))
        write_free(ax, x[at], y[at], f"{style.shorten(name, 30)}: {style.NO_EQUILIBRIUM}", drawn, weight="bold")
