"""Reference solution of one implicit Mohr-Coulomb step, by trying every set of active planes: shares no code with the package.

In the three principal stresses s_i, in any order and tension positive, all nine planes are kept: six of shear,
(1 + sin phi) s_i - (1 - sin phi) s_j <= 2 c cos phi for each ordered pair, and three of tension, s_i <= t. With Koiter's flow rule (Koiter 1953, from
memory) the step is a linear complementarity problem: s = trial - D sum_k L_k r_k, with L_k >= 0 where plane k is reached and L_k = 0 elsewhere.
Three planes fix a point, so that every solution has one with at most three of them active: 129 sets, of which the singular are left out.
"""

from __future__ import annotations

from itertools import combinations, permutations
from typing import NamedTuple

import numpy as np

NAMES = [f"f{i}{j}" for i, j in permutations((1, 2, 3), 2)] + ["t1", "t2", "t3"]
SETS = [list(s) for size in (0, 1, 2, 3) for s in combinations(range(9), size)]


class Step(NamedTuple):
    stress: np.ndarray  # (n, 3) kPa, in the order of the trial
    active: np.ndarray  # (n,) index into SETS
    miss: np.ndarray  # (n,) largest violation of a plane or of a multiplier's sign [kPa]


def planes(angle):
    """Normals (9, 3) of the planes, or their flow directions when `angle` is the dilation."""
    rows = []
    for i, j in permutations(range(3), 2):
        row = np.zeros(3)
        row[i], row[j] = 1 + np.sin(angle), np.sin(angle) - 1
        rows.append(row)
    return np.vstack([rows, np.eye(3)])


def step(trial, nu, phi, psi, c, t):
    """The returned stress of each `trial` (n, 3); `t` may be infinite. Where no set solves the problem, `miss` is not small."""
    normals, flows = planes(phi), planes(psi)
    limits = np.array([2 * c * np.cos(phi)] * 6 + [t] * 3)
    stiffness = np.linalg.inv((1 + nu) * np.eye(3) - nu * np.ones((3, 3)))  # for E = 1: the inverse of Hooke's law
    n = len(trial)
    best = Step(np.full((n, 3), np.nan), np.full(n, -1), np.full(n, np.inf))
    for k, active in enumerate(SETS):
        if np.isinf(limits[active]).any():
            continue
        N, corrections = normals[active], flows[active] @ stiffness
        if active and np.linalg.svd(N @ corrections.T, compute_uv=False)[-1] < 1e-9:
            continue
        multipliers = np.linalg.solve(N @ corrections.T, (trial @ N.T - limits[active]).T).T if active else np.zeros((n, 0))
        stress = trial - multipliers @ corrections
        miss = np.maximum((stress @ normals.T - limits).max(axis=1), -multipliers.min(axis=1, initial=0))
        better = miss < best.miss - 1e-10  # of two solutions that are equally good, keep the one with fewer planes
        best.stress[better], best.active[better], best.miss[better] = stress[better], k, miss[better]
    return best
