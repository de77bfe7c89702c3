"""The few strokes that sketches of problems are made of. Each takes the axes first; lengths are those of the problem, y up."""

from __future__ import annotations

import numpy as np
from matplotlib.patches import Polygon

INK, GROUND, STEEL, LOAD = "#222222", "#efe4cc", "#3b3b3b", "#0072b2"


def ground(ax, corners):
    """Ground with the given corners (n, 2), in order round it."""
    ax.add_patch(Polygon(np.asarray(corners, float), closed=True, facecolor=GROUND, edgecolor=INK, linewidth=0.6))


def box(ax, left, right, bottom, top):
    """Ground in a box."""
    ground(ax, [(left, bottom), (right, bottom), (right, top), (left, top)])


def wall(ax, start, end):
    """A sheet, beam or rigid plate from one point to another."""
    ax.plot(*zip(start, end), color=STEEL, linewidth=2.4, solid_capstyle="butt", zorder=3)


def rigid(ax, left, right, bottom, top):
    """A rigid body, a footing for example."""
    ax.add_patch(Polygon([(left, bottom), (right, bottom), (right, top), (left, top)], closed=True, facecolor="#c9c9c9", edgecolor=INK, linewidth=0.8, zorder=3))


def arrow(ax, start, end, words="", colour=LOAD):
    """A load or a movement from one point to another, with words at its tail."""
    ax.update_datalim([start, end])
    ax.annotate("", end, start, arrowprops=dict(arrowstyle="-|>", color=colour, linewidth=1.1, shrinkA=0, shrinkB=0), zorder=4)
    if words:
        ax.annotate(words, start, textcoords="offset points", xytext=(3, 3), fontsize=7, color=colour, zorder=4)


def pressure(ax, left, right, y, size, words=""):
    """An even pressure downward on a level line at ``y``, drawn with the height ``size``."""
    for x in np.linspace(left, right, 6):
        arrow(ax, (x, y + size), (x, y))
    ax.plot([left, right], [y + size] * 2, color=LOAD, linewidth=0.8)
    say(ax, (left + right) / 2, y + 1.25 * size, words, LOAD)


def spring(ax, start, end):
    """A spring from one point to another."""
    (x0, y0), (x1, y1) = start, end
    along, across = np.array([x1 - x0, y1 - y0]), np.array([y0 - y1, x1 - x0])
    s = np.linspace(0, 1, 12)
    side = np.array([0, 0, *[0.06, -0.06] * 4, 0, 0])
    ax.plot(*(np.array(start)[:, None] + along[:, None] * s + across[:, None] * side), color=INK, linewidth=0.8, zorder=3)


def measure(ax, start, end, words):
    """A dimension with its words in the middle."""
    ax.update_datalim([start, end])
    ax.annotate("", end, start, arrowprops=dict(arrowstyle="<->", color=INK, linewidth=0.6, shrinkA=0, shrinkB=0), zorder=4)
    say(ax, (start[0] + end[0]) / 2, (start[1] + end[1]) / 2, words)


def say(ax, x, y, words, colour=INK):
    """Words in the middle of a place."""
    ax.text(x, y, words, fontsize=7, color=colour, ha="center", va="center", zorder=5, bbox=dict(facecolor="white", edgecolor="none", pad=1.0, alpha=0.8))


def finish(ax):
    """Equal scales, no axes, a little room."""
    ax.set_aspect("equal")
    ax.autoscale_view()
    ax.margins(0.08)
    ax.set_axis_off()
