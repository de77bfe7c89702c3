"""Mohr-Coulomb with a tension cut-off: implicit return in principal stresses, with its exact tangent.

Principal stresses are sorted, s1 >= s2 >= s3, tension positive. Six planes bound them:

    fij = (1 + sin phi) si - (1 - sin phi) sj - 2 c cos phi <= 0    for ij = 13, 23, 12
    ti  = si - t <= 0                                                for i = 1, 2, 3

(23 and 12 are the neighbours that 13 meets in the edges s1 = s2 and s2 = s3.) The shear planes flow with psi in the place of phi, the
tension planes along their normals. On a set of active planes with normals N (m, 3) and flow directions R (m, 3) the return is affine in the
trial stress, because the planes do not harden (Koiter 1953; de Souza Neto, Peric & Owen 2008, ch. 8; both from memory):

    multipliers L = (N D R')^-1 f(trial),    s = trial - D R' L,    ds/dtrial = I - D R' (N D R')^-1 N

So all possible returns are worked out once a material, and a point takes the first one whose multipliers are positive and which keeps
inside the other planes. Young's modulus cancels (L is measured in stress), so that E, c and t may differ from point to point; Poisson's ratio does not, so
the returns are kept for each of its values. More sets can be written down, such as f23 + t1 + t2, but what they reach from a sorted trial is reached by one of the
ten below with the same stress.

The apex is the corner t1 + t2 + t3 with t = c cot phi: the limit t is never allowed to lie above it. This is also what brings back a soil with
psi = 0, whose shear planes cannot change the mean stress (de Souza Neto et al. 2008, sect. 8.2, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np

from fesoil.soils.elastic import ELASTIC, SHEAR, TENSION, Update, elastic_matrix, elastic_stiffness

F13, F23, F12, T1, T2, T3 = range(6)
ACTIVE_SETS = (  # in the order in which they are tried: commonest first
    [F13], [F13, F23], [F13, F12],
    [T1], [F13, T1], [T1, T2], [F13, F12, T1], [F13, T1, T2], [F13, F23, T1], [T1, T2, T3],
)  # fmt: skip
IN_TENSION = np.array([T1 in active for active in ACTIVE_SETS])
RESIDUAL = 0.002  # usual elastic share in the tangent of a point on a tension plane
ROUND_OFF = 1e-12  # a plane counts as kept when it is overstepped by less than this share of the stresses themselves
TIE = 1e-8  # principal stresses count as equal when they differ by less than this share of themselves
ENGINEERING = np.array([2.0, 2.0, 2.0, 1.0])  # G times these: normal stress from strain, shear stress from engineering shear strain
AT_YIELD = 0.999  # share of the strength in use from which a point counts as at yield
NO_LIMIT = 1e9  # tension limit [kPa] that stands for none: finite, so that 0 * t is 0

# Places of the in-plane stresses a >= b and of the out-of-plane z in the sorted list, when z is the smallest, the middle, the largest.
PLACES = np.array([[0, 1, 2], [0, 2, 1], [1, 2, 0]])
CIRCLE = np.array([[0.5, 0.5, 0.0], [0.5, -0.5, 0.0], [0.0, 0.0, 1.0]])  # a, b, z to centre and radius of the circle in the plane, and z


class Returns(NamedTuple):
    """All returns of one material, for E = 1; the 5 columns multiply (s1, s2, s3, c, t) of the trial stress."""

    checks: np.ndarray  # (sets, 6, 5): nowhere positive if the set is the right one: -multiplier of an active plane, value of any other after return
    stress: np.ndarray  # (sets, 3 orders, 3, 5): returned stresses a, b, z
    tangent: np.ndarray  # (sets, 3 orders, 3, 3): derivatives of (a + b) / 2, (a - b) / 2 and z by the strains a + b, a - b and z


def _planes(angle):
    """The six planes (6, 5) for a friction or dilation `angle`, times (s1, s2, s3, c, t)."""
    up, down, cohesion = 1 + np.sin(angle), 1 - np.sin(angle), -2 * np.cos(angle)
    return np.array([
        [up, 0, -down, cohesion, 0],
        [0, up, -down, cohesion, 0],
        [up, -down, 0, cohesion, 0],
        [1, 0, 0, 0, -1],
        [0, 1, 0, 0, -1],
        [0, 0, 1, 0, -1],
    ])  # fmt: skip


@lru_cache(maxsize=2048)
def _returns(nu, phi, psi):
    """Work out the affine return of every active set for one Poisson's ratio; see the formulae at the top."""
    D = elastic_matrix(nu)[:3, :3]
    planes, flow = _planes(phi), _planes(psi)[:, :3]
    checks, stress, tangent = [], [], []
    for active in ACTIVE_SETS:
        corrections = D @ flow[active].T
        multipliers = np.linalg.solve(planes[active, :3] @ corrections, planes[active])
        returned = np.eye(5)
        returned[:3] -= corrections @ multipliers
        check = planes @ returned
        check[active] = -multipliers
        slope = returned[:3, :3] @ D
        checks.append(check)
        stress.append([returned[places] for places in PLACES])
        tangent.append([CIRCLE @ slope[np.ix_(places, places)] @ CIRCLE for places in PLACES])
    return Returns(np.array(checks), np.array(stress), np.array(tangent))


def _choose(trial, kind, checks):
    """Index (n,) of the first active set that fits each `trial` (5, n) of the `kind` (n,), which does not decrease; `checks` (kinds, sets, 6, 5).

    No set may fit a trial to the last digit, since all of them are rounded: such a point takes the set that misses by least.
    """
    tolerance = ROUND_OFF * np.abs(trial[:4]).max(axis=0)
    chosen = np.empty(trial.shape[1], int)
    left = np.arange(trial.shape[1])
    for k in range(checks.shape[1]):
        fits = _worst(checks[:, k], kind[left], trial[:, left]) <= tolerance[left]
        chosen[left[fits]] = k
        left = left[~fits]
        if not left.size:
            return chosen
    chosen[left] = np.argmin([_worst(checks[:, k], kind[left], trial[:, left]) for k in range(checks.shape[1])], axis=0)
    return chosen


def _worst(checks, kind, trial):
    """Greatest of the `checks` (kinds, 6, 5) of each trial (5, n), kind by kind because products of whole matrices are fast."""
    values, ends = np.empty((6, len(kind))), np.searchsorted(kind, np.arange(len(checks) + 1))
    for check, first, last in zip(checks, ends, ends[1:]):
        np.matmul(check, trial[:, first:last], out=values[:, first:last])
    return values.max(axis=0)


class Principal(NamedTuple):
    """Principal stresses in and out of the plane: a >= b at double angle (cos, sin) from x, and z; each (n,)."""

    a: np.ndarray
    b: np.ndarray
    z: np.ndarray
    cos: np.ndarray
    sin: np.ndarray

    @classmethod
    def of(cls, stress):
        centre, half, shear = 0.5 * (stress[:, 0] + stress[:, 1]), 0.5 * (stress[:, 0] - stress[:, 1]), stress[:, 3]
        radius = np.hypot(half, shear)
        some = np.where(radius > 0, radius, 1.0)  # no circle, no direction: take x
        return cls(centre + radius, centre - radius, stress[:, 2], np.where(radius > 0, half / some, 1.0), shear / some)

    def sorted(self):
        """s1 >= s2 >= s3, each (n,)."""
        return np.maximum(self.a, self.z), np.clip(self.z, self.b, self.a), np.minimum(self.b, self.z)

    def stress(self):
        """Back to `[xx, yy, zz, xy]` (n, 4)."""
        centre, radius = 0.5 * (self.a + self.b), 0.5 * (self.a - self.b)
        return np.stack([centre + radius * self.cos, centre - radius * self.cos, self.z, radius * self.sin], axis=1)


def _order(principal):
    """Row (n,) of PLACES: 0, 1, 2 when z is the smallest, the middle, the largest."""
    return (principal.z > principal.b).astype(int) + (principal.z > principal.a)


@dataclass(frozen=True, eq=False)
class MohrCoulomb:
    """One Mohr-Coulomb material at its n points.

    Parameters
    ----------
    nu : (n,) or one number: Poisson's ratio in (-1, 0.5), of few different values.
    phi, psi : angles of friction and dilation [rad], 0 <= psi <= phi. phi = 0 makes c the undrained strength.
    E, c, t : (n,) or one number: Young's modulus, cohesion, limit of each principal tension [kPa]. `t` is lowered to c cot(phi) where above it;
        infinity means no cut-off.
    residual : elastic share in the tangent (never the stress) of a point on a tension plane, else a loose surface has no stiffness at all.

    Raises
    ------
    ValueError : psi above phi.
    """

    nu: np.ndarray
    phi: float
    psi: float
    E: np.ndarray
    c: np.ndarray
    t: np.ndarray
    residual: float = RESIDUAL

    def __post_init__(self):
        if not 0 <= self.psi <= self.phi:
            raise ValueError(f"dilation must lie between 0 and the friction angle {self.phi:.4f}, found {self.psi:.4f} rad")
        nu, E, c, t = np.broadcast_arrays(*(np.asarray(p, float) for p in (self.nu, self.E, self.c, self.t)))
        apex = c / np.tan(self.phi) if self.phi > 0 else NO_LIMIT
        for name, value in zip(("nu", "E", "c", "t"), (nu, E, c, np.minimum(t, apex))):
            object.__setattr__(self, name, value)

    @cached_property
    def _kinds(self):
        """Which of the different Poisson's ratios each point has (n,), the points in that order (n,), and the returns of all ratios one after the other."""
        ratios, kind = np.unique(self.nu, return_inverse=True)
        returns = [_returns(float(nu), self.phi, self.psi) for nu in ratios]
        return kind, np.argsort(kind, kind="stable"), Returns(*(np.stack(maps) for maps in zip(*returns)))

    def update(self, increment, state, theta=0.0, tangent=True):
        """Stress, tangent and state after the strain `increment` (n, 4) from `state` (n, 1, 4) [kPa].

        `theta` is the share of the trial stress kept, in stress, state and tangent, to regularise the search for equilibrium (overstress). The true
        stress of such a state is what a further update by nothing with theta = 0 gives, since a return leads from anywhere on its way to its end.
        """
        G = 0.5 * self.E / (1 + self.nu)
        trial = state[:, 0] + G[:, None] * (increment * ENGINEERING)
        trial[:, :3] += (2 * G * self.nu / (1 - 2 * self.nu) * increment[:, :3].sum(axis=1))[:, None]
        true, yielded = trial.copy(), np.full(len(trial), ELASTIC, np.int8)
        D = np.moveaxis(elastic_stiffness(self.E, self.nu), 0, -1) if tangent else None
        principal = Principal.of(trial)
        by_kind = self._kinds[1]
        out = by_kind[self._outside(principal)[by_kind]]
        if out.size:
            principal = Principal(*(value[out] for value in principal))
            returned, active = self._return(principal, out)
            true[out] = returned.stress()
            yielded[out] = np.where(IN_TENSION[active], TENSION, SHEAR)
            if tangent:
                exact, kept = self._tangent(principal, returned, active, out), theta + (1 - theta) * np.where(IN_TENSION[active], self.residual, 0.0)
                some = np.flatnonzero(kept)
                exact[..., some] += kept[some] * (D[..., out[some]] - exact[..., some])
                D[..., out] = exact
        stress = true + theta * (trial - true) if theta else true
        return Update(stress, np.moveaxis(D, -1, 0) if tangent else None, stress[:, None], yielded)

    def _outside(self, principal):
        """Where (n,) the trial oversteps f13 or t1, which bound the sorted stresses by themselves."""
        s1, _, s3 = principal.sorted()
        sin, cos = np.sin(self.phi), np.cos(self.phi)
        beyond = np.maximum((1 + sin) * s1 - (1 - sin) * s3 - 2 * self.c * cos, s1 - self.t)
        return beyond > ROUND_OFF * np.maximum(np.maximum(abs(s1), abs(s3)), self.c)

    def _return(self, principal, out):
        """Returned principal stresses and the active set (k,) of the points ``out`` (k,), which lie outside, in the order of their kinds."""
        kind, _, maps = self._kinds
        trial = np.stack([*principal.sorted(), self.c[out], self.t[out]])
        active = _choose(trial, kind[out], maps.checks)
        a, b, z = np.einsum("nij,jn->in", maps.stress[kind[out], active, _order(principal)], trial)
        return principal._replace(a=a, b=b, z=z), active

    def _tangent(self, principal, returned, active, out):
        """Exact d stress / d strain (4, 4, k) of the returned points ``out``: the affine map, centre and radius of the circle, turned back into x, y.

        When the axes turn by shear strain the in-plane circle turns with them, hence the shear term G (a - b) / (a - b)_trial (de Souza Neto et al.
        2008, app. A, from memory); its limit where a = b is what two opposite strains along a and b would give.
        """
        kind, _, maps = self._kinds
        E, cos, sin = self.E[out], principal.cos, principal.sin
        slope = E * np.moveaxis(maps.tangent[kind[out], active, _order(principal)], 0, -1)
        before, after = principal.a - principal.b, returned.a - returned.b
        tie = before <= TIE * np.maximum(abs(principal.a), abs(principal.b))
        G = np.divide(0.5 * E / (1 + self.nu[out]) * after, before, out=slope[1, 1].copy(), where=~tie)
        D = np.empty((4, 4, len(out)))
        # unit strains xx, yy, zz, xy as strains a + b, a - b, z and shear between a and b
        for j, (total, difference, z, shear) in enumerate(((1, cos, 0, -sin), (1, -cos, 0, sin), (0, 0 * cos, 1, 0), (0, sin, 0, cos))):
            centre, radius, D[2, j] = slope[:, 0] * total + slope[:, 1] * difference + slope[:, 2] * z
            turned = G * shear
            D[0, j], D[1, j] = centre + (cos * radius - sin * turned), centre - (cos * radius - sin * turned)
            D[3, j] = sin * radius + cos * turned
        return D

    def split(self, stress):
        """State (n, 1, 4) in a stress of rest (n, 4)."""
        return stress[:, None]

    def mobilised(self, state):
        """Share of the strength in use (n,), 0 to 1, in a `state` (n, 1, 4): the radius of the largest Mohr circle over the radius at which a circle
        of the same centre would touch the strength line c cos(phi) - centre sin(phi)."""
        s1, _, s3 = Principal.of(state[:, 0]).sorted()
        radius, strength = 0.5 * (s1 - s3), self.c * np.cos(self.phi) - 0.5 * (s1 + s3) * np.sin(self.phi)
        most = np.maximum(radius, strength)
        return np.divide(radius, most, out=np.ones_like(radius), where=most > 0)

    def at_yield(self, state):
        """Which points (n,) use their strength in a `state` (n, 1, 4), in shear or in tension."""
        s1, _, s3 = Principal.of(state[:, 0]).sorted()
        return (self.mobilised(state) > AT_YIELD) | (s1 >= self.t - ROUND_OFF * np.maximum(abs(s1), abs(s3)))

    def stiffness_left(self, state):
        """Share of the stiffness that is left (n,): all of it, or none at yield."""
        return np.where(self.at_yield(state), 0.0, 1.0)

    def reduced(self, factor):
        """The same material with c, tan(phi) and t divided by `factor`, and dilation never above friction."""
        phi = float(np.arctan(np.tan(self.phi) / factor))
        return replace(self, phi=phi, psi=min(self.psi, phi), c=self.c / factor, t=self.t / factor)
