"""Six-node triangles: shapes, strain operator, nodal forces and stiffness of all of them at once.

Nodes: three corners anticlockwise, then the middles of sides 1-2, 2-3, 3-1. Stresses and strains are ``[xx, yy, zz, xy]``.
Three integration points: enough for the full rank of nine and as good as six or seven on collapse loads.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse

POINTS = np.array([[1 / 6, 1 / 6], [2 / 3, 1 / 6], [1 / 6, 2 / 3]])
WEIGHTS = np.full(3, 1 / 6)
N_POINTS = len(WEIGHTS)
SIDES = np.array([[0, 1, 3], [1, 2, 4], [2, 0, 5]])
"""Local nodes of each side: end, end, middle."""

IN_PLANE = (0, 1, 3)
"""Rows of ``[xx, yy, zz, xy]`` that work on in-plane strains."""

ENTERS = ((0, 3), (3, 1))
"""Strain into which the derivatives of ux, and of uy, by x and by y enter."""


def shapes(points):
    """Shape functions at local points (k, 2): values (k, 6)."""
    b, c = np.asarray(points, float).T
    a = 1 - b - c
    return np.column_stack([a * (2 * a - 1), b * (2 * b - 1), c * (2 * c - 1), 4 * a * b, 4 * b * c, 4 * c * a])


def gradients(points):
    """Derivatives of the shape functions in local coordinates at points (k, 2): (k, 2, 6)."""
    b, c = np.asarray(points, float).T
    a, zero = 1 - b - c, 0 * b
    by_b = np.column_stack([1 - 4 * a, 4 * b - 1, zero, 4 * (a - b), 4 * c, -4 * c])
    by_c = np.column_stack([1 - 4 * a, zero, 4 * c - 1, -4 * b, 4 * b, 4 * (a - c)])
    return np.stack([by_b, by_c], axis=1)


@dataclass(frozen=True)
class Triangles:
    """Geometry of all triangles at their integration points.

    ``nodes`` (m, 6); ``inverse`` (m, 3, 2, 2) inverse Jacobians (row: local, column: global direction);
    ``weight`` (m, 3) area of each point [m2]; ``points`` (m, 3, 2) places [m]; ``n_nodes`` in the whole mesh.
    """

    nodes: np.ndarray
    inverse: np.ndarray
    weight: np.ndarray
    points: np.ndarray
    n_nodes: int

    def subset(self, chosen) -> Triangles:
        """The chosen triangles (index or mask), nodes as before."""
        return Triangles(self.nodes[chosen], self.inverse[chosen], self.weight[chosen], self.points[chosen], self.n_nodes)

    def strain_operator(self) -> sparse.csr_matrix:
        """Sparse matrix (4 * 3 m, 2 n_nodes) from displacements ``u.ravel()`` to strains, points in order of triangles."""
        m = len(self.nodes)
        grad = np.einsum("ekab,kai->ekbi", self.inverse, gradients(POINTS))
        row = 4 * np.arange(m * N_POINTS).reshape(m, N_POINTS, 1)
        column = 2 * np.broadcast_to(self.nodes[:, None, :], (m, N_POINTS, 6))
        parts = [(row, column, grad[:, :, 0]), (row + 1, column + 1, grad[:, :, 1]), (row + 3, column, grad[:, :, 1]), (row + 3, column + 1, grad[:, :, 0])]
        rows = np.concatenate([np.broadcast_to(r, column.shape).ravel() for r, _, _ in parts])
        columns = np.concatenate([c.ravel() for _, c, _ in parts])
        values = np.concatenate([v.ravel() for _, _, v in parts])
        return sparse.csr_matrix((values, (rows, columns)), shape=(4 * m * N_POINTS, 2 * self.n_nodes))

    def body_force(self, density):
        """Nodal forces (n_nodes, 2) of a body force at the points (m, 3, 2) [kN/m3]."""
        forces = np.einsum("ek,ki,ekd->eid", self.weight, shapes(POINTS), density)
        return scatter(self.nodes, forces, self.n_nodes)

    def stiffness(self, tangent):
        """Stiffness of each triangle, (2, 2, m, 6, 6): blocks [direction, direction, triangle, node, node].

        Parameters
        ----------
        tangent : array (m, 3, 4, 4)
            Tangent of stress by strain at the points [kPa].

        Notes
        -----
        With A = w J^-1 C_ab J^-T and the local gradients g, block ab is sum over points of g^T A g: one matrix product for each ab.
        """
        m, local = len(self.nodes), gradients(POINTS)
        product = np.einsum("kai,kbj->kabij", local, local).reshape(4 * N_POINTS, 36)
        # component by component over all points: many times faster than so many products of two-by-two matrices
        D = np.ascontiguousarray(np.moveaxis(tangent, (2, 3), (0, 1)))
        inverse = np.ascontiguousarray(np.moveaxis(self.inverse, (2, 3), (0, 1)))
        weighted = inverse * self.weight
        blocks, A = np.empty((2, 2, m, 6, 6)), np.empty((m, N_POINTS, 2, 2))
        for a, (along, across) in enumerate(ENTERS):
            rows = [{j: weighted[k, 0] * D[along, j] + weighted[k, 1] * D[across, j] for j in IN_PLANE} for k in range(2)]
            for b, (x, y) in enumerate(ENTERS):
                for k in range(2):
                    for l in range(2):
                        A[:, :, k, l] = rows[k][x] * inverse[l, 0] + rows[k][y] * inverse[l, 1]
                np.matmul(A.reshape(m, 4 * N_POINTS), product, out=blocks[a, b].reshape(m, 36))
        return blocks


def make_triangles(points, nodes) -> Triangles:
    """Geometry of triangles ``nodes`` (m, 6) on ``points`` (n, 2); sides may be curved.

    Raises
    ------
    ValueError
        Where a Jacobian is not positive (a node order turned round, or a side too curved).
    """
    corners = points[nodes]
    jacobian = np.einsum("kai,eid->ekad", gradients(POINTS), corners)
    determinant = np.linalg.det(jacobian)
    if np.any(determinant <= 0):
        bad = np.unravel_index(np.argmin(determinant), determinant.shape)[0]
        raise ValueError(f"triangle {bad} at {corners[bad].mean(axis=0)} is turned inside out")
    inverse = np.linalg.inv(jacobian).swapaxes(2, 3)
    return Triangles(nodes, inverse, determinant * WEIGHTS, np.einsum("ki,eid->ekd", shapes(POINTS), corners), len(points))


def scatter(nodes, values, n_nodes):
    """Sum values (m, k, d) of elements with nodes (m, k) into nodal values (n_nodes, d)."""
    flat = nodes.ravel()
    return np.column_stack([np.bincount(flat, values[..., d].ravel(), n_nodes) for d in range(values.shape[-1])])
