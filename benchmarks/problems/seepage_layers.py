"""Flow across and along two layers, through a leaking wall, and water at rest: closed forms that the triangles hold exactly."""

from __future__ import annotations

import numpy as np

from benchmarks.common import plain_mesh
from benchmarks.problem import Answer, Graph, Problem, Row
from benchmarks.seepage import beside, flow, given
from benchmarks.sketch import arrow, box, measure, wall

WIDTH, HEIGHT, BORDER, HEAD = 6.0, 4.0, 1.5, 3.0
"""Box, level of the border between the layers, difference of head [m]."""

UPPER, LOWER, LEAKAGE = (2.0, 0.5), (0.01, 0.1), 0.3
"""Permeabilities along x and y [m/s] and leakage of the wall [1/s], relative."""

EXACT = "1e-8: heads that are linear in each layer are held exactly"
REST = "1e-6 m: exact but for the trace of flow that is kept in dry ground"


def layered(h, walls=()):
    """Mesh of the box, permeabilities (m, 2), coordinates."""
    mesh = plain_mesh((0.0, WIDTH, 0.0, HEIGHT), h, [(0.0, 0.0, HEIGHT)], [(0.0, BORDER, WIDTH, BORDER)], walls=np.array(walls, float).reshape(-1, 3))
    return mesh, np.where(mesh.centroids[:, 1:] > BORDER, UPPER, LOWER), *mesh.points.T


def across(h):
    """Discharge over width and head at the border when water flows down through both layers, level at the top and the bottom."""
    mesh, k, x, y = layered(h)
    top, bottom = y > HEIGHT - 1e-9, y < 1e-9
    found = flow(mesh, given(mesh, (top, HEIGHT + HEAD), (bottom, HEIGHT)), k)
    order = np.argsort(y)
    return found.inflow[top].sum() / WIDTH, found.head[np.abs(y - BORDER) < 1e-9].mean(), (found.head[order], y[order]), len(mesh.triangles)


def along(h):
    """Discharge when water flows along both layers."""
    mesh, k, x, _ = layered(h)
    left = x < 1e-9
    return flow(mesh, given(mesh, (left, HEIGHT + HEAD), (x > WIDTH - 1e-9, HEIGHT)), k).inflow[left].sum()


def through_wall(h):
    """Discharge over height through uniform ground, of the upper layer, parted by a leaking wall, and the drop of head at the wall."""
    middle = WIDTH / 2
    mesh, _, x, _ = layered(h, [(middle, 0.0, HEIGHT)])
    left, on = x < 1e-9, np.abs(x - middle) < 1e-9
    found = flow(mesh, given(mesh, (left, HEIGHT + HEAD), (x > WIDTH - 1e-9, HEIGHT)), UPPER, leakage=LEAKAGE)
    faces = [found.head[on & beside(mesh, lambda c, s=s: s * (c[:, 0] - middle) > 0)].mean() for s in (-1, 1)]
    return found.inflow[left].sum() / HEIGHT, faces[0] - faces[1]


def at_rest(h):
    """Largest error [m] of the pressure head where the same level, between nodes, is given on both sides."""
    mesh, k, x, y = layered(h)
    level = 0.7347 * HEIGHT
    found = flow(mesh, given(mesh, ((x < 1e-9) | (x > WIDTH - 1e-9), level)), k)
    return np.abs(np.maximum(found.head - y, 0) - np.maximum(level - y, 0)).max()


def run(h) -> Answer:
    """``h``: size of the triangles at the left side [m]."""
    depths, ky = np.array([HEIGHT - BORDER, BORDER]), np.array([UPPER[1], LOWER[1]])
    rate = HEAD / (depths / ky).sum()
    border = HEIGHT + HEAD - rate * depths[0] / ky[0]
    level = HEAD / WIDTH * (UPPER[0] * depths[0] + LOWER[0] * depths[1])
    leaks = HEAD / (WIDTH / UPPER[0] + 1 / LEAKAGE)
    (down, between, profile, triangles), (wall_rate, drop) = across(h), through_wall(h)
    rows = [
        Row("discharge across the layers [m/s]", rate, down, -1e-8, 1e-8, EXACT), Row("head at their border [m]", border, between, -1e-8, 1e-8, EXACT),
        Row("discharge along the layers [m2/s]", level, along(h), -1e-8, 1e-8, EXACT),
        Row("discharge through a leaking wall [m/s]", leaks, wall_rate, -1e-8, 1e-8, EXACT), Row("drop of head at it [m]", leaks / LEAKAGE, drop, -1e-8, 1e-8, EXACT),
        Row("1 + error of the pressure head at rest [m]", 1.0, 1.0 + at_rest(h), -1e-6, 1e-6, REST),
    ]  # fmt: skip
    line = (("closed form", [HEIGHT, border, HEIGHT + HEAD], [0.0, BORDER, HEIGHT]),)
    return Answer(rows, triangles, Graph("Head [m]", "Level [m]", line, (("fesoil", *(v[:: max(1, len(v) // 40)] for v in profile)),)))


def draw(ax):
    """The layers and the ways through them."""
    box(ax, 0, WIDTH, 0, BORDER)
    box(ax, 0, WIDTH, BORDER, HEIGHT)
    wall(ax, (WIDTH / 2, 0), (WIDTH / 2, HEIGHT))
    arrow(ax, (1.5, HEIGHT + 1.2), (1.5, HEIGHT), "across")
    arrow(ax, (-1.5, HEIGHT / 2), (0, HEIGHT / 2), "along")
    measure(ax, (WIDTH + 0.6, 0), (WIDTH + 0.6, BORDER), "1.5 m")
    measure(ax, (WIDTH + 0.6, BORDER), (WIDTH + 0.6, HEIGHT), "2.5 m")


PROBLEM = Problem(
    "seepage in layers", "Water flows across and along two anisotropic layers, and through a leaking wall in uniform ground; water at rest with its level between nodes",
    "layers in series and side by side (closed form)", run, (0.5,), (0.5,), draw,
)  # fmt: skip
