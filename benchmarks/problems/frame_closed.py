"""A closed rectangular frame under an even load: moments, thrusts and movements by closed form beside a frame of beam elements."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from benchmarks import sketch
from benchmarks.problem import Answer, Graph, Problem, Row
from fesoil.checks.frame import Rectangle, Side, frame_sides

LOAD = 100.0
"""Load for each metre run [kN/m]."""

FRAMES = {
    "rigid 5 m x 8 m": Rectangle((5.0, 8.0), (60e3, 60e3), (2.4e6, 2.4e6), "rigid"),
    "rigid square 6 m": Rectangle((6.0, 6.0), (60e3, 60e3), (2.4e6, 2.4e6), "rigid"),
    "rigid, two sections": Rectangle((6.0, 4.0), (90e3, 20e3), (3.0e6, 1.1e6), "rigid"),
    "pinned 5 m x 8 m": Rectangle((5.0, 8.0), (60e3, 90e3), (2.4e6, 1.1e6), "pinned"),
}

EXACT = "beam elements with cubic shapes are exact at their nodes, and the mean is integrated exactly: round-off of the equations, 1e-6"


class Ring(NamedTuple):
    """A frame of beam elements, anticlockwise from the corner at the origin: nodes (n, 2), freedoms (n, 6) and loads (n, 6) of the elements, their stiffness (n, 6, 6) in their own axes
    (x along, y inwards), rotations (n, 6, 6) from the global ones, and lengths (n,)."""

    nodes: np.ndarray
    freedoms: np.ndarray
    load: np.ndarray
    stiffness: np.ndarray
    turn: np.ndarray
    length: np.ndarray


def beam_stiffness(EI, EA, L):
    """Stiffness (6, 6) of a beam in its own axes, freedoms u, v and rotation of each end."""
    a, b = EA / L, EI / L**3
    bending = np.array([[12, 6 * L, -12, 6 * L], [6 * L, 4 * L**2, -6 * L, 2 * L**2], [-12, -6 * L, 12, -6 * L], [6 * L, 2 * L**2, -6 * L, 4 * L**2]]) * b
    k = np.zeros((6, 6))
    k[np.ix_([1, 2, 4, 5], [1, 2, 4, 5])] = bending
    k[np.ix_([0, 3], [0, 3])] = a * np.array([[1, -1], [-1, 1]])
    return k


def ring(frame: Rectangle, load: float, pieces: int) -> Ring:
    """Elements of a frame, ``pieces`` to a side. At a pinned corner the side that begins there has a rotation of its own."""
    corners = np.array([(0, 0), (1, 0), (1, 1), (0, 1), (0, 0)]) * np.array(frame.lengths)
    nodes = np.concatenate([np.linspace(start, end, pieces, endpoint=False) for start, end in zip(corners, corners[1:])])
    n, sides = len(nodes), np.repeat([0, 1, 0, 1], pieces)
    along = np.roll(nodes, -1, axis=0) - nodes
    length = np.hypot(*along.T)
    (c, s), own = (along / length[:, None]).T, np.zeros((n, 3, 3))
    own[:, 0, 0], own[:, 0, 1], own[:, 1, 0], own[:, 1, 1], own[:, 2, 2] = c, s, -s, c, 1.0
    freedoms = np.hstack([3 * np.arange(n)[:, None] + np.arange(3), 3 * np.roll(np.arange(n), -1)[:, None] + np.arange(3)])
    if frame.corners == "pinned":
        freedoms[::pieces, 2] = 3 * n + np.arange(4)
    L, nothing = length, np.zeros(n)
    even = load * np.column_stack([nothing, L / 2, L**2 / 12, nothing, L / 2, -(L**2) / 12])
    stiffness = np.array([beam_stiffness(frame.EI[side], frame.EA[side], each) for side, each in zip(sides, length)])
    return Ring(nodes, freedoms, even, stiffness, np.einsum("ab,eij->eaibj", np.eye(2), own).reshape(n, 6, 6), length)


def solved(found: Ring, pieces: int):
    """Movements (n, 6) of the elements' ends in their own axes; the middle of each side stays on its axis of symmetry."""
    size = found.freedoms.max() + 1
    K, F = np.zeros((size, size)), np.zeros(size)
    for freedoms, turn, stiffness, load in zip(found.freedoms, found.turn, found.stiffness, found.load):
        K[np.ix_(freedoms, freedoms)] += turn.T @ stiffness @ turn
        F[freedoms] += turn.T @ load
    middles = pieces // 2 + pieces * np.arange(4)
    free = np.setdiff1d(np.arange(len(F)), 3 * middles + np.array([0, 1, 0, 1]))
    u = np.zeros(len(F))
    u[free] = np.linalg.solve(K[np.ix_(free, free)], F[free])
    return np.einsum("eij,ej->ei", found.turn, u[found.freedoms])


def sides_by_elements(frame: Rectangle, load: float, pieces: int = 4) -> tuple[Side, Side]:
    """What ``frame_sides`` works out, by beam elements; independent of its formulae."""
    parts = ring(frame, load, pieces)
    u = solved(parts, pieces)
    ends = np.einsum("eij,ej->ei", parts.stiffness, u) - parts.load
    L, EI = parts.length, np.repeat([frame.EI[0], frame.EI[1]] * 2, pieces)
    inward = (u[:, 1] + u[:, 4]) / 2 * L + (u[:, 2] - u[:, 5]) * L**2 / 12 + load * L**5 / (720 * EI)  # integral of the movement of each element
    found = []
    for side in (0, 1):
        first, middle, corner = side * pieces, side * pieces + pieces // 2, u[side * pieces, 1]
        mean = inward[first : first + pieces].sum() / frame.lengths[side]
        found.append(Side(ends[first, 2], ends[middle, 2], ends[first, 1] * -1.0, ends[first, 0], mean - corner, u[middle, 1] - corner, corner))
    return found[0], found[1]


UNITS = dict(corner="kN m", span="kN m", thrust="kN", mean="m", middle="m")


def rows_of(name, frame):
    """Rows of both kinds of side, of one where they are alike; a pinned corner, with nothing expected, has none."""
    for which, expected, computed in zip("12", sides_by_elements(frame, LOAD), frame_sides(frame, LOAD)):
        for quantity, unit in UNITS.items():
            if not (quantity == "corner" and frame.corners == "pinned") and not (which == "2" and "square" in name):
                yield Row(f"{name}, side {which}, {quantity} [{unit}]", getattr(expected, quantity), getattr(computed, quantity), -1e-6, 1e-6, EXACT)


def run(_) -> Answer:
    fine, few = np.linspace(0.3, 2.5, 45), np.linspace(0.3, 2.5, 12)
    shaped = lambda ratio: Rectangle((1.0, ratio), (1.0, 1.0), (1e3, 1e3), "rigid")  # noqa: E731
    known, ours = [sides_by_elements(shaped(ratio), 1.0)[0] for ratio in fine], [frame_sides(shaped(ratio), 1.0)[0] for ratio in few]
    lines = tuple((f"beam elements, {word}", fine, [getattr(side, key) for side in known]) for word, key in (("corner", "corner"), ("middle", "span")))
    marks = tuple((f"fesoil, {word}", few, [getattr(side, key) for side in ours]) for word, key in (("corner", "corner"), ("middle", "span")))
    graph = Graph("Adjacent side over this side", "Moment over load and length squared", lines, marks)
    return Answer([row for name, frame in FRAMES.items() for row in rows_of(name, frame)], graph=graph)


def draw(ax):
    sketch.rigid(ax, 0, 8, 0, 5)
    ax.patches[-1].set_facecolor("white")
    for x in np.linspace(0.5, 7.5, 6):
        sketch.arrow(ax, (x, 6.2), (x, 5.1))
        sketch.arrow(ax, (x, -1.2), (x, -0.1))
    for y in np.linspace(0.5, 4.5, 4):
        sketch.arrow(ax, (-1.2, y), (-0.1, y))
        sketch.arrow(ax, (9.2, y), (8.1, y))
    sketch.say(ax, 4, 6.7, "w on all sides", sketch.LOAD)
    sketch.measure(ax, (0, 1), (8, 1), "8 m")
    sketch.measure(ax, (1, 0), (1, 5), "5 m")


PROBLEM = Problem(
    "closed frame",
    "Closed rectangular frames of walings under 100 kN/m on all sides, with rigid and with pinned corners, of one section and of two",
    "a frame of cubic beam elements, written beside this problem", run, (None,), (None,), draw,
)  # fmt: skip
