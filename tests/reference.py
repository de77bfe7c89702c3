"""A mesh of the package as scikit-fem sees it, and the few forms that comparisons with it need, without code of the package.

Stress and strain are tensors (2, 2, triangles, points) in the plane, tension positive; units kN, m, kPa.
"""

from __future__ import annotations

import numpy as np
import skfem
from scipy.spatial import cKDTree
from skfem.helpers import ddot, sym_grad

HELD = skfem.LinearForm(lambda v, w: ddot(w.stress, sym_grad(v)))
"""Nodal forces that hold a stress in balance."""

WEIGHT = skfem.LinearForm(lambda v, w: -w.gamma * v[1])
"""Nodal forces of a unit weight."""


def basis_of(mesh):
    """Six-node triangles, in the order of a mesh with straight sides and no wall, integrated exactly up to the second degree."""
    corners, triangles = np.unique(mesh.triangles[:, :3], return_inverse=True)
    grid = skfem.MeshTri(mesh.points[corners].T, triangles.reshape(-1, 3).T)
    return skfem.Basis(grid, skfem.ElementVector(skfem.ElementTriP2()), intorder=2)


def freedoms(basis, points):
    """Numbers (n, 2) of the freedoms along x and y at given nodes (n, 2)."""
    numbers = [np.concatenate([basis.nodal_dofs[d], basis.facet_dofs[d]]) for d in range(2)]
    return np.column_stack([own[cKDTree(basis.doflocs[:, own].T).query(points)[1]] for own in numbers])


def supports(basis):
    """Freedoms on the rollers of both sides and at the bottom, where nothing moves."""
    x, y = basis.doflocs
    across = np.isin(np.arange(basis.N), [*basis.nodal_dofs[0], *basis.facet_dofs[0]])
    return np.flatnonzero((y < y.min() + 1e-9) | across & ((x < x.min() + 1e-9) | (x > x.max() - 1e-9)))


def strain(basis, u):
    """Strain of nodal movements at the points of a basis."""
    return np.asarray(sym_grad(basis.interpolate(u)))


def each(basis, values):
    """A value for each triangle of a basis at each of its points (triangles, points)."""
    return np.repeat(np.asarray(values, float)[:, None], basis.X.shape[-1], axis=1)
