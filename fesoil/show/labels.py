"""Where a note goes so that it lies on no curve and no other note, and within its axes."""

from __future__ import annotations

import numpy as np
from matplotlib.text import Text

from fesoil.show import style

REACH = (12, 26, 44, 66, 92, 122)  # [points] from the point to the nearest side of its note, nearest first
MAIN = 5  # times that a point of the main curve counts, or of another note


def write_free(ax, x, y, text: str, curves, size: float = style.SMALL, main=None, **kw):
    """Write a note near a point where it covers the least of ``curves``, each (x (n,), y (n,)) in data, and least of all of the ``main`` one and of what is written
    in the axes; led to the point by a thin line."""
    ax.get_xlim(), ax.get_ylim()  # brings the limits up to date, which ``transData`` does not
    scale = 72 / ax.figure.dpi
    at = ax.transData.transform((x, y)) * scale
    lines = text.split("\n")
    width, height = 0.62 * size * max(map(len, lines)), 1.3 * size * len(lines)
    taken = [_dense(ax.transData.transform(np.column_stack(c)) * scale) for c in [*curves, *([main] * MAIN if main else [])]]
    taken += [scale * _covered(note) for note in ax.texts if note.get_visible()] * MAIN
    taken = np.concatenate(taken) if taken else np.empty((0, 2))
    frame = ax.get_window_extent()
    frame = scale * np.array([frame.x0, frame.y0, frame.x1, frame.y1])
    offset = min(_places(width, height), key=lambda o: _badness(at + o, width, height, taken, frame) + 0.04 * np.hypot(*o))
    lead = dict(arrowstyle="-", color=style.GREY, linewidth=0.5, shrinkA=0, shrinkB=3)
    look = dict(fontsize=size, ha="center", va="center", linespacing=1.2, bbox=style.LABEL, path_effects=[], arrowprops=lead)
    return style.write(ax, x, y, text, tuple(offset), **{**look, **kw})


def _places(width, height):
    """Centres of a note about its point [points], nearest first."""
    turns = [(1, 0), (-1, 0), (1, 1), (-1, 1), (1, -1), (-1, -1), (0, 1), (0, -1), (1, 0.5), (-1, 0.5), (1, -0.5), (-1, -0.5)]
    return [np.array([i * (width / 2 + reach), j * (height / 2 + reach)]) for reach in REACH for i, j in turns]


def _badness(centre, width, height, taken, frame):
    """Points of curves that a note covers, far more where it leaves the axes, a little for its distance."""
    half = np.array([width / 2 + 2, height / 2 + 2])
    covered = np.count_nonzero(np.all(np.abs(taken - centre) < half, axis=1))
    outside = np.maximum(frame[:2] - (centre - half), 0).sum() + np.maximum(centre + half - frame[2:], 0).sum()
    return covered + 20 * outside


def _covered(note):
    """Points (n, 2) all over a note [pixels], without the line that leads to it."""
    box = Text.get_window_extent(note)
    x, y = np.meshgrid(np.linspace(box.x0, box.x1, 20), np.linspace(box.y0, box.y1, 6))
    return np.column_stack([x.ravel(), y.ravel()])


def _dense(points, step: float = 3.0):
    """A polyline (n, 2) with a point at least every ``step``; gaps where it is not finite."""
    points = points[np.all(np.isfinite(points), axis=1)]
    if len(points) < 2:
        return points
    gone = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    along = np.linspace(0, gone[-1], int(gone[-1] / step) + 2)
    return np.column_stack([np.interp(along, gone, points[:, k]) for k in (0, 1)])
