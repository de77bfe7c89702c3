"""A square metre of ground along a path: its sides are moved or pressed, and what is read is the stress, the same everywhere.

Compression positive in what goes in and what comes out, as in tests of soil.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from benchmarks.common import at_rest_in, lattice, mesh_of, movement, no_wall_force, one_material, pressed, push, straightened

TIGHT = 1e-11
"""Tolerance of equilibrium, so small that it cannot be seen in what is read."""

ALGEBRA = "the stress is the same in all triangles, so what is left is the tolerance of equilibrium"
HOLDS = 1e-6
"""How near stresses and strains must come, as shares of themselves."""


class Path(NamedTuple):
    """Stress (k, 4) [kPa] and strain (k, 2), sideways and upright, after each step; ``scatter`` (k,): largest difference between points [kPa]."""

    stress: np.ndarray
    strain: np.ndarray
    scatter: np.ndarray


def square():
    """Mesh of eight triangles, none like another."""
    points, triangles = lattice(2, 2)
    points[12] += [0.06, -0.04]  # the one corner inside
    return mesh_of(straightened(points, triangles), triangles)


def compressed(law, before, upright, sideways=None) -> Path:
    """Path of a square at rest in the stress ``before`` (xx, yy, zz) [kPa].

    Parameters
    ----------
    law : callable
        From points (k, 2) to a law.
    upright, sideways : arrays (k,)
        Shortening of the height and of the width after each step; without ``sideways`` the right side is pressed with the stress before.
    """
    mesh = square()
    x, y = mesh.points.T
    right, top = x > 1 - 1e-9, y > 1 - 1e-9
    fixed = np.column_stack([(x < 1e-9) | (right if sideways is not None else False), (y < 1e-9) | top])
    model = one_material(mesh, law, fixed)
    load = model.reduce(pressed(mesh, right & (sideways is None), before[0]), no_wall_force(mesh))
    shares = np.arange(len(upright) + 1) / len(upright)
    zero = np.zeros(len(upright))
    by_share = lambda share, path: np.interp(share, shares, [0.0, *path])  # noqa: E731
    width, height = (movement(model, -np.outer(on, unit)) for on, unit in ((right, [1.0, 0.0]), (top, [0.0, 1.0])))
    move = lambda share: by_share(share, zero if sideways is None else sideways) * width + by_share(share, upright) * height  # noqa: E731
    start = at_rest_in(model, lambda points: np.tile([-before[0], -before[1], -before[2], 0.0], (len(points), 1)))
    curve = push(model, start, load, max(before), move, shares[1:], lambda s, _: np.nan, TIGHT)
    return read(curve, right, top)


def read(curve, right, top) -> Path:
    """The path of a curve, nan where there was no equilibrium; ``right`` and ``top`` mask the nodes of two sides."""
    lost = [np.nan if not p.converged else 0.0 for p in curve]
    stress = np.array([-p.state.stress.sum(axis=1) for p in curve]) + np.reshape(lost, (-1, 1, 1))
    strain = np.array([[-p.state.u[right, 0].mean(), -p.state.u[top, 1].mean()] for p in curve])
    return Path(stress.mean(axis=1), strain, np.ptp(stress, axis=1).max(axis=1))
