"""Ground that is stiff at small strain: Mohr-Coulomb parts side by side, which share the strain and add up their stresses.

Each part is plain Mohr-Coulomb ground with the soil's angles of friction and dilation (Besseling 1958 and Iwan 1967 for parts in parallel, from memory). They
differ in what they take of the soil's shear modulus G0 (share w) and of its bulk modulus, cohesion and tension limit (share b; the shares of
each kind add up to 1):

    part i:  G = w_i G0,  K = b_i K0,  c = b_i c,  t = b_i t

Under the shear strain that the soil feels a part yields when w_i G0 strain = b_i strength, so at strain = m_i strength / G0 with m_i = b_i / w_i: the
weak ones early, the strong ones late, and what is left of G0 is the share w of those that still hold. So

- the shares can be chosen to follow a measured curve (``shares_of_curve``);
- unloading and reloading follow Masing's rule by themselves, because each part remembers its own stress;
- at failure all parts flow in one direction, and the sum lies on the soil's own Mohr-Coulomb surface. It is never outside: the surface is convex, and
  b_i c, b_i t make each part a smaller copy of it;
- mean stress is shared as b_i as long as nothing dilates.

Mean stress above that of the state of rest compresses the ground with its compression modulus, where it has one: the strain that the parts feel is less by what
compression takes. Of the shear strain it takes as much as goes with its volumetric strain when ground is compressed one way, so that this happens with the modulus stated, and no more,
so that shear keeps its curve. Volumetric strain taken comes back when the mean stress falls.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from fesoil.case import stiffness
from fesoil.case.soil import TOTAL_STRESS, Soil
from fesoil.soils.elastic import TENSION, Update
from fesoil.soils.mohr_coulomb import AT_YIELD, MohrCoulomb

N_PARTS = 6
FIRST_CORNERS = (0.01, 0.02, 0.03, 0.05, 0.08, 0.12, 0.2)
"""Strains of the first corner that are tried, in terms of the reference strain."""

BAND = 1.1
"""Points share their parts with those whose curve differs by less than half this factor."""

RESIDUAL = 0.02
"""Elastic share in the tangent of a part on a tension plane, in soils with friction: ten times that of plain ground, with which five pits took 63 to 102 factorisations
instead of 60 to 76. In undrained ground, whose elastic stiffness hardly lets volume change, it is the other way round (131 instead of 50)."""

SHEAR_LEFT = 0.6
"""Share of G0 that is taken to be left when ground is compressed one way (a choice of ours): with all of it, as in ground that was loaded more before, the modulus comes out a quarter
too high, with a fifth of it, as in normally consolidated ground, a quarter too low (Poisson's ratio 0.2)."""

ONE_WAY = np.sqrt(2 / 3)
MEAN, TENSOR = np.array([1.0, 1.0, 1.0, 0.0]), np.array([1.0, 1.0, 1.0, 0.5])
"""The unit of volumetric strain, and what makes squares of strains `[xx, yy, zz, xy]` the square of the tensor."""

DEVIATOR = np.diag([1.0, 1.0, 1.0, 1.0]) - np.outer(MEAN, MEAN) / 3


class Shares(NamedTuple):
    """Parts that follow a curve: ``w`` (N,) shares of shear stiffness, ``m`` (N,) strains at which they yield in terms of strength / G0; b = w m. ``error``:
    largest relative error of the secant modulus."""

    w: np.ndarray
    m: np.ndarray
    error: float


def backbone(X, exponent, cap):
    """Strength in use as a function of x = strain G0 / strength, and the x at which all of it is: the curve x / (1 + (x / X)^exponent), from where it would reach 1
    only beyond ``cap`` the straight tangent to (cap, 1), so that it stays concave."""

    def curve(x):
        return x / (1 + (x / X) ** exponent)

    x = np.geomspace(1e-3 * X, cap, 20001)
    y = curve(x)
    if y.max() >= 1:
        full = float(np.interp(1.0, y[: np.argmax(y >= 1) + 1], x[: np.argmax(y >= 1) + 1]))
        return (lambda s: np.where(s < full, curve(s), 1.0)), full
    slope = (1 + (1 - exponent) * (x / X) ** exponent) / (1 + (x / X) ** exponent) ** 2
    touch = np.argmax(y + slope * (cap - x) <= 1)  # the tangent at x reaches 1 at cap or beyond
    x0, y0 = float(x[touch]), float(y[touch])
    return (lambda s: np.where(s < x0, curve(s), np.minimum(y0 + (1 - y0) * (s - x0) / (cap - x0), 1.0))), cap


@lru_cache(maxsize=2048)
def shares_of_curve(X, exponent, cap) -> Shares:
    """Shares of ``N_PARTS`` parts that follow the curve with ratio ``X`` and ``exponent``, the whole strength used at x = ``cap`` at the latest.

    The secant modulus of the sum, sum w_j min(x, m_j), is fitted by non-negative least squares over the corners' strains; of several sets of corners the best is kept.

    Raises
    ------
    ValueError
        Where even the stiffness G0 would not use the strength by ``cap``.
    """
    from scipy.optimize import nnls

    if cap <= 1.5:
        raise ValueError(f"the strength cannot be used within {cap:.3g} times the strain that it needs at G0")
    y, full = backbone(X, exponent, cap)
    x = np.geomspace(0.02 * X, 1.3 * full, 160)
    best = None
    for first in FIRST_CORNERS:
        corners = np.geomspace(min(first * X, 0.5 * full), full, N_PARTS)
        rows = np.minimum(x[:, None], corners) / y(x)[:, None]
        sums = 1e3 * np.array([np.ones(N_PARTS), corners])
        w = nnls(np.vstack([rows, sums]), np.concatenate([np.ones(len(x)), [1e3, 1e3]]))[0]
        w = np.where(w < 1e-4, 0.0, w) / w[w >= 1e-4].sum()
        corners = corners / (w @ corners)
        seen = np.concatenate([x, corners[corners > x[0]]])  # the error is greatest at corners
        error = float(np.abs(np.minimum(seen[:, None], corners) @ w / y(seen) - 1).max())
        if best is None or error < best.error:
            best = Shares(w, corners, error)
    return best


def shares_at(soil: Soil, p, level):
    """Shares ``w`` and ``m``, each (N, n), and the fit's error (n,) of a soil at mean stresses before the works (n,) and levels (n,).

    Curves are told apart in steps of ``BAND``, counted from the one at the stress to which the soil's G0 belongs, so that a point has the same shares in all stages.
    """
    given, n = soil.stiffness, len(level)
    reference, ratio = _curve(soil, p, level)
    home, home_level = given.at_stress or given.strain_at_stress or 100.0, given.at_level if given.at_level is not None else soil.strength.at_level or 0.0
    home_reference, home_ratio = (float(v[0]) for v in _curve(soil, np.array([home]), np.array([home_level])))
    steps = np.rint(np.log(np.stack([reference / home_reference, ratio / home_ratio])) / np.log(BAND)).astype(int)
    bands, which = np.unique(steps, axis=1, return_inverse=True)
    w, m, error = np.empty((N_PARTS, n)), np.empty((N_PARTS, n)), np.empty(n)
    for band, (i, j) in enumerate(bands.T):
        X = home_ratio * BAND**j
        found = shares_of_curve(X, stiffness.curvature(soil), X * given.full_strength_strain / (home_reference * BAND**i))
        here = which.ravel() == band
        w[:, here], m[:, here], error[here] = found.w[:, None], found.m[:, None], found.error
    return w, m, error


def _curve(soil, p, level):
    """Reference strain and ratio X (n,)."""
    reference = stiffness.reference_strain(soil, p) + np.zeros(len(level))
    return reference, reference * stiffness.small_strain_modulus(soil, p, level) / stiffness.shear_strength(soil, p, level)


@dataclass(frozen=True, eq=False)
class Parts:
    """Parts of one soil at its n points.

    Parameters
    ----------
    parts : MohrCoulomb
        At N n points: the first part of all points, then the second, and so on.
    whole : MohrCoulomb
        The soil itself (n,).
    w, b : (N, n)
        Shares of shear stiffness, and of all else; both 0 for a part that is not there.
    p, K, compression : (n,)
        Mean stress before the works, bulk modulus below it and above it [kPa].
    rest : float
        At-rest ratio when the ground was loaded most.
    """

    parts: MohrCoulomb
    whole: MohrCoulomb
    w: np.ndarray
    b: np.ndarray
    p: np.ndarray
    K: np.ndarray
    compression: np.ndarray
    rest: float

    @classmethod
    def of(cls, soil: Soil, whole: MohrCoulomb, p, level) -> Parts:
        """Parts of a soil at points with mean stress before the works ``p`` (n,) [kPa] and level (n,) [m]."""
        nu, G = soil.poisson_ratio, stiffness.small_strain_modulus(soil, p, level)
        bulk = 2 * (1 + nu) / (3 * (1 - 2 * nu))  # K / G, one number, so that the parts of a band have the same Poisson's ratio to the last digit
        w, m, _ = shares_at(soil, p, level)
        b, ratio, K = w * m, m * bulk, bulk * G
        nu_parts = (3 * ratio - 2) / (2 * (3 * ratio + 1))
        E, c, t = 2 * w * G * (1 + nu_parts), b * whole.c, b * whole.t
        parts = MohrCoulomb(nu_parts.ravel(), whole.phi, whole.psi, E.ravel(), c.ravel(), t.ravel(), RESIDUAL if whole.phi > 0 else whole.residual)
        return cls(parts, whole, w, b, np.asarray(p, float), K, compression_bulk(soil, K, G), rest_when_loaded_most(soil))

    def update(self, increment, state, theta=0.0, tangent=True) -> Update:
        """Stress, tangent and state after the strain `increment` (n, 4) from `state` (n, N, 4): each part by itself, then the sum."""
        N, n = self.w.shape
        taken, slope = self._compressed(increment, state)
        strain, by_strain = _without(increment, taken, slope)
        one = self.parts.update(np.tile(strain, (N, 1)), _one_by_one(state, N), theta, tangent)
        new = one.state.reshape(N, n, 4)
        D = None
        if tangent:
            D = np.moveaxis(one.tangent, 0, -1).reshape(4, 4, N, n).sum(axis=2)
            some = np.flatnonzero((slope > 0) | (taken != 0))
            D[..., some] = np.einsum("ijn,jkn->ikn", D[..., some], by_strain(some))
            D = np.moveaxis(D, -1, 0)
        yielded = np.where(self.w > 0, one.yielded.reshape(N, n), TENSION).min(axis=0)
        return Update(new.sum(axis=0), D, new.swapaxes(0, 1), yielded)

    def _compressed(self, increment, state):
        """Volumetric strain (n,) that compression takes of an increment, extension positive, and its derivative by volumetric strain (n,).

        Mean stress follows volumetric strain with K below p and with the bulk modulus of compression above it.
        """
        volume, p = increment[:, :3].sum(axis=1), -state[:, :, :3].sum(axis=(1, 2)) / 3
        above = np.maximum(p - self.p, 0.0)
        strain, limit = np.minimum(p, self.p) / self.K + above / self.compression - volume, self.p / self.K  # compressive, from no stress
        reached = np.where(strain > limit, self.p + (strain - limit) * self.compression, strain * self.K)
        return volume + (reached - p) / self.K, np.where(strain > limit * (1 + 1e-12), 1 - self.compression / self.K, 0.0)

    def split(self, stress):
        """Stress of the parts (n, N, 4) that add up to the `stress` (n, 4) of rest, none of them outside its strength.

        From no shear the deviator grows in its direction, each part taking w of it up to its strength, to the greatest that the ground has known, and falls back to
        that of today. The greatest is that of K0 compression (``rest``) at the mean stress of today, the deviator itself where that is more. What lies beyond the soil's own
        strength is shared as w: the first update brings it back.
        """
        p = -stress[:, :3].mean(axis=1)
        deviator = stress.copy()
        deviator[:, :3] += p[:, None]
        q, axis = _along_vertical(deviator)
        most, least = self._limit(axis, p), -self._limit(-axis, p)
        peak = np.clip(np.maximum(3 * (1 - self.rest) / (1 + 2 * self.rest) * p, q), 0.0, most)
        up = _filled(self.w, self.b * most, peak)
        target = np.clip(q, least, most)
        parts = up - _filled(self.w, up - self.b * least, peak - target) + self.w * (q - target)
        state = parts[..., None] * axis
        state[..., :3] -= (self.b * p)[..., None]
        return state.swapaxes(0, 1)

    def _limit(self, axis, p):
        """Deviator (n,) along `axis` (n, 4) that uses the strength at mean stress p (n,)."""
        centre, radius = 0.5 * (axis[:, 0] + axis[:, 1]), np.hypot(0.5 * (axis[:, 0] - axis[:, 1]), axis[:, 3])
        first, last = np.maximum(centre + radius, axis[:, 2]), np.minimum(centre - radius, axis[:, 2])
        sin, cos = np.sin(self.whole.phi), np.cos(self.whole.phi)
        shear = 2 * (p * sin + self.whole.c * cos) / ((1 + sin) * first - (1 - sin) * last)
        return np.maximum(np.minimum(shear, (p + self.whole.t) / first), 0.0)

    def mobilised(self, state):
        """Share of the strength in use (n,) as the share of those parts that yield in shear; 1 when all of them do."""
        spent = self.parts.mobilised(_one_by_one(state, len(self.w))).reshape(self.w.shape) > AT_YIELD
        return np.minimum((self.b * spent).sum(axis=0) / self.b.sum(axis=0), 1.0)

    def stiffness_left(self, state):
        """G / G0 (n,) for strain that goes on as before: the share of the parts that yield neither in shear nor in tension."""
        spent = self.parts.at_yield(_one_by_one(state, len(self.w))).reshape(self.w.shape)
        return np.maximum(1 - (self.w * spent).sum(axis=0), 0.0)

    def reduced(self, factor):
        """The same ground with its strength divided by a factor; shares and stiffness stay."""
        return replace(self, parts=self.parts.reduced(factor), whole=self.whole.reduced(factor))


def compression_bulk(soil: Soil, K, G):
    """Bulk modulus (n,) [kPa] of compression beyond the state of rest, never above ``K`` (n,), itself where the soil states no compression modulus.

    Compressed one way, the ground has K + 4/3 of what is left of its shear modulus ``G`` (n,) [kPa] and strains K / bulk times as much as that would; with ``SHEAR_LEFT`` of G that makes
    the compression modulus.
    """
    M = soil.stiffness.compression_modulus
    return K if M is None else np.minimum(M / (1 + 4 / 3 * SHEAR_LEFT * G / K), K)


def _without(increment, taken, slope):
    """Strain increment (n, 4) without what compression takes of it, and a function that gives its derivatives (4, 4, k) by the increment at points (k,).

    Compression takes the volumetric strain ``taken`` (n,), whose derivative is ``slope`` (n,), and in proportion of the deviator e, at most as much as goes with it in
    compression one way: |e| = ``ONE_WAY`` times the volumetric strain.
    """
    volume = increment[:, :3].sum(axis=1)
    deviator = increment - volume[:, None] / 3 * MEAN
    size = np.sqrt((deviator**2 @ TENSOR))
    whole = size <= ONE_WAY * np.abs(volume)
    share = np.where(whole, np.divide(taken, volume, out=slope.copy(), where=volume != 0), np.divide(ONE_WAY * np.abs(taken), size, out=np.zeros_like(size), where=size > 0))
    strain = increment - taken[:, None] / 3 * MEAN - share[:, None] * deviator

    def derivative(at):
        e, s = deviator[at].T, share[at]
        by_volume = np.where(whole[at], np.divide(slope[at] - s, volume[at], out=np.zeros_like(s), where=volume[at] != 0), ONE_WAY * np.sign(taken[at]) * slope[at] / np.where(size[at] > 0, size[at], 1.0))
        by_size = np.where(whole[at], 0.0, -s / np.where(size[at] > 0, size[at], 1.0) ** 2)
        shares = by_volume * MEAN[:, None] + by_size * (e * TENSOR[:, None])  # derivatives of the share by each strain
        J = np.eye(4)[..., None] - slope[at] / 3 * np.outer(MEAN, MEAN)[..., None] - s * DEVIATOR[..., None]
        return J - e[:, None] * shares[None]

    return strain, derivative


def rest_when_loaded_most(soil: Soil) -> float:
    """At-rest ratio of the ground when it was loaded most, as given or the lower of today's and 1 - sin(phi') (Jaky 1944, from memory)."""
    if soil.stiffness.at_rest_when_loaded_most is not None:
        return soil.stiffness.at_rest_when_loaded_most
    jaky = 1.0 if soil.drainage == TOTAL_STRESS else 1 - np.sin(soil.strength.friction_angle)
    return float(min(soil.at_rest_ratio, jaky))


def _along_vertical(deviator):
    """Size (n,) of deviators (n, 4), positive where they press vertically, and their axis (n, 4) of unit size; the vertical one where there is none.

    Size is that of the deviator q of triaxial tests, vertical less horizontal pressure there.
    """
    size = np.sqrt(1.5 * ((deviator[:, :3] ** 2).sum(axis=1) + 2 * deviator[:, 3] ** 2))
    q = np.where(deviator[:, 1] > 0, -size, size)
    some = size > 1e-12 * np.maximum(np.abs(deviator).max(initial=0.0), 1.0)
    upright = np.array([1.0, -2.0, 1.0, 0.0]) / 3
    return np.where(some, q, 0.0), np.where(some[:, None], deviator / np.where(some, q, 1.0)[:, None], upright)


def _filled(w, room, total):
    """Amounts (N, n) that add up to ``total`` (n,): as w, none above its room (N, n); all the room where the total is more."""
    low, high = np.zeros(len(total)), np.max(np.divide(room, w, out=np.zeros_like(w), where=w > 0), axis=0)
    for _ in range(100):  # halving: exact to the last digit
        middle = 0.5 * (low + high)
        enough = np.minimum(w * middle, room).sum(axis=0) >= total
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    return np.minimum(w * high, room)


def _one_by_one(state, N):
    """States (n, N or more, 4) of points as those of plain points (N n, 1, 4), the first part of all of them first."""
    return state[:, :N].swapaxes(0, 1).reshape(-1, 1, 4)
