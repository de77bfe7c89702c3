"""Sparse direct solution: factor, solve, refine, check the residual, fall back."""

from __future__ import annotations

import warnings

import numpy as np
from scipy.sparse.linalg import MatrixRankWarning, splu

GOOD = 1e-6
"""Relative residual above which a fast factor is not trusted and the matrix is factored again with pivoting."""

EXCELLENT = 1e-10
"""Relative residual below which a solution is not refined."""


class Singular(Exception):
    """The matrix has no usable factor."""


def factor(K):
    """Factor of an unsymmetric matrix (CSC) that is already in elimination order."""
    with warnings.catch_warnings():
        warnings.simplefilter("error", MatrixRankWarning)
        try:
            return splu(K, permc_spec="NATURAL", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
        except (RuntimeError, MatrixRankWarning):
            return _pivoting(K)


def _pivoting(K):
    try:
        return splu(K)
    except (RuntimeError, MatrixRankWarning) as fault:
        raise Singular(str(fault)) from fault


def solve(K, rhs):
    """Solution of K x = rhs, refined once where that is worth it.

    Raises
    ------
    Singular
        Where neither the fast nor the pivoting factor gives a finite solution.
    """
    x, residual = _refined(K, factor(K), rhs)
    if not residual < GOOD:
        x, residual = _refined(K, _pivoting(K), rhs)
    if not np.isfinite(residual):
        raise Singular("the solution is not finite")
    return x


def _refined(K, lu, rhs):
    x = lu.solve(rhs)
    left, size = rhs - K @ x, np.linalg.norm(rhs) or 1.0
    if np.linalg.norm(left) > EXCELLENT * size:
        x = x + lu.solve(left)
        left = rhs - K @ x
    return x, np.linalg.norm(left) / size
