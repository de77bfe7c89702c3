"""An upright beam on springs that yield: bending, what the springs answer, and the search for balance. Plain arrays, nothing of a case.

A beam by Bernoulli of cubic pieces (shear of the sheets is left out). Each spring presses on the beam against the direction ``toward`` (+1 to the right, -1 to the left) in which the
beam's movement loads it: r = clip(start + toward * stiffness * movement, low, high). The forces come from a convex potential, so that balance, where there is any, has one set of forces, and
Newton's method with the exact tangent and a line search finds it.
Lengths in m, forces in kN/m, pressures in kPa, movement positive to the right, depth below the top of the beam.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy.linalg import LinAlgError, solveh_banded
from scipy.optimize import brentq

PIECE = 0.25
"""Greatest length of a piece of the beam [m]."""

CLOSE = 1e-8
"""Force or moment at a node that is out of balance over the sum of all forces of the springs, at which balance is found."""

FAR = 10.0
"""Movement [m] in one step of the search beyond which nothing is taken to hold the beam."""

STEPS = 200
"""Steps of the search."""

KEPT = 1e-3
"""Share of the stiffness of yielded springs that is kept in the direction of the search where the exact one is that of a mechanism."""

SIMPSON = np.array([1.0, 4.0, 1.0]) / 6


class NoBalance(ValueError):
    """Nothing holds the beam, or no balance was found."""


@dataclass(frozen=True)
class Beam:
    """Pieces between nodes (n,) and intervals of pressure between edges (m + 1,), both depths [m] from 0 down; the edges hold the nodes.

    ``depth`` (m, 3) points of Simpson's rule in each interval, its two ends and its middle, with their ``length`` (m, 3) [m]; ``shape`` (3 m, 2 n) from the freedoms, movement and slope with
    depth at each node, to the movement at the points; ``stiffness`` (2 n, 2 n) in bending.
    """

    nodes: np.ndarray
    depth: np.ndarray
    length: np.ndarray
    shape: np.ndarray
    stiffness: np.ndarray

    def at(self, depth):
        """Rows (k, 2 n) from the freedoms to the movement at depths (k,) [m]."""
        return _cubics(self.nodes, np.asarray(depth, float))


def make_beam(nodes, edges, EI) -> Beam:
    """Beam with nodes (n,) and edges (m + 1,) [m], in order, and a bending stiffness [kN m2/m]."""
    upper, lower = edges[:-1, None], edges[1:, None]
    depth = np.hstack([upper, (upper + lower) / 2, lower])
    return Beam(nodes, depth, (lower - upper) * SIMPSON, _cubics(nodes, depth.ravel()), _bending(nodes, EI))


def pieces(corners):
    """Nodes (n,) [m] at all corners, in order, and between them at most ``PIECE`` apart."""
    corners = np.unique(corners)
    counts = np.ceil(np.diff(corners) / PIECE - 1e-9).astype(int)
    return np.concatenate([*(np.linspace(a, b, k, endpoint=False) for a, b, k in zip(corners, corners[1:], counts)), corners[-1:]])


def _cubics(nodes, depth):
    """Hermite's cubics of the pieces (k, 2 n) at depths (k,)."""
    piece = np.clip(np.searchsorted(nodes, depth, side="right") - 1, 0, len(nodes) - 2)
    h = np.diff(nodes)[piece]
    t = (depth - nodes[piece]) / h
    rows = np.zeros((len(depth), 2 * len(nodes)))
    values = np.column_stack([1 - 3 * t**2 + 2 * t**3, h * (t - 2 * t**2 + t**3), 3 * t**2 - 2 * t**3, h * (t**3 - t**2)])
    rows[np.arange(len(depth))[:, None], 2 * piece[:, None] + np.arange(4)] = values
    return rows


def _bending(nodes, EI):
    """Stiffness of the pieces (2 n, 2 n)."""
    h, one = np.diff(nodes), np.ones(len(nodes) - 1)
    force, turn = np.array([12 * one, 6 * h, -12 * one, 6 * h]), np.array([6 * h, 4 * h**2, -6 * h, 2 * h**2])
    back = np.array([6 * h, 2 * h**2, -6 * h, 4 * h**2])
    each = np.moveaxis(EI / h**3 * np.array([force, turn, -force, back]), 2, 0)
    freedoms = 2 * np.arange(len(h))[:, None] + np.arange(4)
    whole = np.zeros((2 * len(nodes), 2 * len(nodes)))
    np.add.at(whole, (freedoms[:, :, None], freedoms[:, None, :]), each)
    return whole


class Springs(NamedTuple):
    """Springs (s,): ``rows`` (s, 2 n) from the freedoms of the beam to its movement at each; ``toward`` +1 or -1; ``length`` of beam [m] that a spring stands for, 1 for a prop; ``stiffness`` [kPa/m];
    ``start`` [kPa], what it would press with at no movement if it had no limits; the limits ``low`` and ``high`` [kPa]. A prop counts in kN/m, by one metre of beam."""

    rows: np.ndarray
    toward: np.ndarray
    length: np.ndarray
    stiffness: np.ndarray
    start: np.ndarray
    low: np.ndarray
    high: np.ndarray

    def trial(self, move):
        """What the springs (s,) would press with if they had no limits."""
        return self.start + self.toward * self.stiffness * (self.rows @ move)

    def press(self, move):
        """What they press with (s,)."""
        return np.clip(self.trial(move), self.low, self.high)

    def forces(self, press):
        """Forces (2 n,) with which they hold the beam back, positive to the left."""
        return self.rows.T @ (self.toward * self.length * press)

    def tangent(self, move, kept=0.0):
        """Stiffness (2 n, 2 n) now; yielded springs count with the share ``kept``."""
        trial = self.trial(move)
        share = np.where((trial > self.low) & (trial < self.high), 1.0, kept)
        return self.rows.T @ ((self.length * self.stiffness * share)[:, None] * self.rows)


def together(*groups: Springs) -> Springs:
    """Springs of several groups as one."""
    return Springs(*(np.concatenate(parts) for parts in zip(*groups)))


def find_balance(beam: Beam, springs: Springs, push, move):
    """Freedoms (2 n,) of the beam in balance under forces ``push`` (2 n,), positive to the right, and its springs; the search begins at ``move`` (2 n,).

    Raises
    ------
    NoBalance
        The springs cannot hold the beam, or balance is not found to ``CLOSE``.
    """

    def unbalanced(at):
        return beam.stiffness @ at + springs.forces(springs.press(at)) - push

    for _ in range(STEPS):
        residual = unbalanced(move)
        load = np.abs(push).sum() + (springs.length * np.abs(springs.press(move))).sum()
        if np.abs(residual).max() <= CLOSE * load:
            return move
        direction = _direction(beam, springs, move, residual)
        move = move + _share(lambda share: unbalanced(move + share * direction) @ direction, np.abs(direction[::2]).max()) * direction
    raise NoBalance(f"no balance found in {STEPS} steps: the wall is at its limit, or beyond")


def _direction(beam, springs, move, residual):
    """Newton's direction; where it is that of a mechanism (no factors, or far too long by rounding), one with a little stiffness left in yielded springs."""
    for kept in (0.0, KEPT):
        try:
            found = -solveh_banded(_bands(beam.stiffness + springs.tangent(move, kept)), residual, lower=True)
        except LinAlgError:
            continue
        if kept or np.abs(found[::2]).max() < FAR:
            return found
    raise NoBalance("no spring holds the wall: it can move freely")


def _bands(matrix):
    """Diagonals (4, 2 n) of a stiffness from the main one down: freedoms meet in their own piece only."""
    return np.array([np.pad(np.diagonal(matrix, -k), (0, k)) for k in range(4)])


def _share(slope, size):
    """Share of a direction to take; ``slope`` of the potential along it, which never falls, is negative at 0; ``size`` greatest movement of the direction [m]."""
    first, share = slope(0.0), min(1.0, FAR / size)
    while slope(share) < first / 2:
        if share * size >= FAR:
            raise NoBalance(f"nothing holds the wall: it still moves on after {FAR:g} m")
        share = min(2 * share, FAR / size)
    return brentq(slope, 0.0, share, rtol=1e-3) if slope(share) > -first / 2 else share


def section_forces(beam: Beam, pressure, props, loads):
    """Shear (m, 2) [kN/m] and moment (m, 2) [kN m/m] at the upper and lower end of each interval, by statics from the top down.

    ``pressure`` (m, 3) [kPa] net at the points of the beam, ``loads`` (k,) [kN/m] of props at depths ``props`` (k,) [m] against it; a load counts from the interval below it on. Signs as in
    ``hand.equilibrium``: shear is the slope of the moment with depth.
    """
    force = beam.length * pressure
    total, first = (np.append(0.0, np.cumsum(part.sum(1))) for part in (force, force * beam.depth))
    edges, held = np.append(beam.depth[:, 0], beam.depth[-1, 2]), np.where(beam.depth[:, 1:2] > props, loads, 0.0)
    above, moments = held.sum(1)[:, None], (held * props).sum(1)[:, None]
    return above - _ends(total), above * _ends(edges) - moments - _ends(edges * total - first)


def _ends(values):
    """Values at edges (m + 1,) as those at both ends of each interval (m, 2)."""
    return np.column_stack([values[:-1], values[1:]])
