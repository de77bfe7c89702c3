"""Cuts and slopes: their sections, the safety factor by strength reduction, and the log-spiral upper bound on what they carry."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
from scipy.optimize import bisect, minimize

from benchmarks import sketch
from benchmarks.common import boxed, no_wall_force, one_material, plain_mesh, weight
from fesoil.result.state import blank_state
from fesoil.solve.newton import equilibrate
from fesoil.solve.strength import safety_factor

BRACKET = 0.002
"""Width of the last bracket of the search; the largest factor found stable is the one reported."""

# ------------------------------------------------------------------------------------------------------------- strength reduction


class Search(NamedTuple):
    """A strength reduction.

    ``factor`` of safety, nan where the ground does not even carry its load; ``stood`` factors at which it stood, in the order tried, and ``moved``
    the greatest movement there since the load came on [m].
    """

    factor: float
    stood: np.ndarray
    moved: np.ndarray


def search(model, forces, width=BRACKET) -> Search:
    """Strength reduction of ground that gets nodal forces (n, 2) all at once, its start without stress."""
    load, scale = model.reduce(forces, no_wall_force(model.base.mesh)), float(np.linalg.norm(forces))
    start, moved = equilibrate(model, blank_state(model.base.mesh), load, scale), []
    if not start.converged:
        return Search(np.nan, np.zeros(0), np.zeros(0))

    def note(_, state):
        moved.append(float(np.abs(state.u - start.state.u).max()))
        return []

    found = safety_factor(model, start.state, load, scale, tolerance=width, members=note)
    stood = np.array([factor for factor, stable, _ in found.trials if stable])
    return Search(np.nan if found.factor is None else found.factor, stood, np.array(moved))


def reduced(mesh, law, gamma, fixed=None, width=BRACKET) -> Search:
    """Strength reduction of ground with a weight [kN/m3]; ``fixed`` (n, 2) freedoms: rollers and a rough base when left out."""
    model = one_material(mesh, law, boxed(mesh) if fixed is None else fixed)
    return search(model, weight(model.base, gamma), width)


class Slope(NamedTuple):
    """Slope of an angle [deg] and a height from its crest at (0, height) down to the right to its toe at level 0.

    Ground goes on for ``crest`` behind it, for ``front`` before its toe and for ``depth`` below it [m]. The mesh is finest at the shares ``finest``
    of its height. A vertical one needs some ``front``, since the sides of the section are on rollers.
    """

    angle: float
    height: float
    crest: float
    front: float = 0.0
    depth: float = 0.0
    finest: tuple = (0.0, 1.0)

    @property
    def toe(self):
        return round(self.height / np.tan(np.radians(self.angle)), 9)

    def mesh(self, size):
        toe, height = self.toe, self.height
        box = (-self.crest, toe + self.front, -self.depth, height)
        lines = [(0.0, height, toe, 0.0)] + ([(toe, 0.0, toe + self.front, 0.0)] if self.front else [])
        fine = [(toe * (1 - s), height * s, height * s) for s in self.finest]
        return plain_mesh(box, size, fine, lines, keep=lambda p: (p[:, 1] < 0) | (p[:, 0] * height < toe * (height - p[:, 1])))

    def draw(self, ax, face=""):
        """Sketch with its height, and words on its face."""
        toe, end = self.toe, self.toe + self.front
        sketch.ground(ax, [(-self.crest, -self.depth), (end, -self.depth), (end, 0), (toe, 0), (0, self.height), (-self.crest, self.height)])
        sketch.wall(ax, (-self.crest, -self.depth), (end, -self.depth))
        sketch.measure(ax, (-self.crest / 2, 0), (-self.crest / 2, self.height), "H")
        if face:
            sketch.say(ax, toe / 2, self.height / 2, face)


# ---------------------------------------------------------------------------------------------------------------- log spiral


def moment_about(pole, x, y):
    """Integral of pole - x over the polygon with corners x, y in order anticlockwise."""
    following, above = np.roll(x, -1), np.roll(y, -1)
    return np.sum((x * above - following * y) * (pole / 2 - (x + following) / 6))


def spiral_load(shape, slope, friction, firm):
    """Upper bound on gamma H / c of a slope of height 1, its toe at (0, 0), its crest behind it at negative x: one rotating block.

    The block slides on a log spiral from the crest to the level of the toe, and its weight turns it about the pole with the power that c takes up
    along the spiral (Chen 1975, Limit Analysis and Soil Plasticity, from memory; areas are summed here instead of his closed forms).

    Parameters
    ----------
    shape
        Angles of the spiral's first and last radius below the level behind the pole [rad], and how far before the toe it comes out.
    firm : bool
        Whether it must stay above the level of the toe.
    """
    first, last, out = shape
    tan, crest = np.tan(np.radians(friction)), -1 / np.tan(np.radians(slope))
    turn = np.linspace(first, last, 200)
    growth = np.exp(tan * (turn - first))
    fall = growth[-1] * np.sin(last) - np.sin(first)
    dips = firm and last > np.pi / 2 + np.arctan(tan)
    if not (0 <= first < last - 0.05 < np.pi and out >= 0 and fall > 0) or dips:
        return np.inf
    r = growth / fall
    pole = out + r[-1] * np.cos(last)
    x, y = pole - r * np.cos(turn), r[-1] * np.sin(last) - r * np.sin(turn)
    if x[0] > crest or np.any((x > 0) & (y > 1e-9)):
        return np.inf
    moment = moment_about(pole, np.append(x, [0.0, crest]), np.append(y, [0.0, 1.0]))
    slip = r[0] ** 2 * (np.expm1(2 * tan * (last - first)) / (2 * tan) if tan else last - first)
    return slip / moment if moment > 0 else np.inf


@cache
def spiral_bound(slope, friction, firm=True):
    """Least upper bound on gamma H / c over all log spirals; angles in degrees."""

    def load(shape):
        return min(spiral_load(shape, slope, friction, firm), 1e9)

    starts = [(a, b, c) for a in np.linspace(0, 1.4, 8) for b in np.linspace(a + 0.1, 2.8, 12) for c in ((0.0,) if firm else (0.0, 0.5))]
    best = min(starts, key=load)
    for size in (0.1, 0.01):
        corners = best + size * np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, not firm]])
        best = minimize(load, best, method="Nelder-Mead", options={"initial_simplex": corners, "xatol": 1e-7, "fatol": 1e-9}).x
    return load(best)


def friction_at(friction, factor):
    """Friction angle [deg] that is left when its tangent is divided by a factor."""
    return float(np.degrees(np.arctan(np.tan(np.radians(friction)) / factor)))


def spiral_factor(slope, friction, strength, firm=True):
    """Upper bound on the safety factor of a slope with ``strength`` c / (gamma H)."""
    without = np.tan(np.radians(friction)) / np.tan(np.radians(slope))

    def excess(factor):
        return spiral_bound(slope, friction_at(friction, factor), firm) * strength / factor - 1

    return bisect(excess, max(0.5, 1.01 * without), 4.0, xtol=1e-6)
