"""What the problems of steady seepage share: running a flow on a mesh, a pair of walls in a layer, and its exact solution by conformal mapping.

Permeabilities [m/s] and discharges [m3/s per m] are relative: the flow is linear in them.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, root
from scipy.special import ellipk

from benchmarks.common import plain_mesh
from benchmarks.sketch import INK, box, measure, wall
from fesoil.elements.joint import SIMPSON
from fesoil.elements.triangle import SIDES
from fesoil.mesh.split import Mesh
from fesoil.solve.system import make_base
from fesoil.water.flow import Flow, steady

FAR = 3.5
"""Ground beside a wall, in thicknesses of the layer: what is left out carries a share of exp(-pi FAR), 2e-5, of the flow."""

GAUSS, WEIGHTS = np.polynomial.legendre.leggauss(200)


def flow(mesh: Mesh, fixed, k=(1.0, 1.0), seeps=None, leakage=None, standing=True, about_axis=False) -> Flow:
    """Flow with given heads (n,), nan for none; ``k`` (2,) or (m, 2); ``seeps`` (n,) mask; ``leakage`` of all pieces of wall [1/s]; ``about_axis`` x = 0 if so wished."""
    pieces = np.ones(len(mesh.segments))
    k = np.broadcast_to(np.asarray(k, float), (len(mesh.triangles), 2))
    seeps = np.zeros(len(mesh.points), bool) if seeps is None else seeps
    return steady(mesh, make_base(mesh).triangles, k, pieces * standing > 0, fixed, seeps, None if leakage is None else leakage * pieces, about_axis)


def beside(mesh: Mesh, where):
    """Mask (n,) of the nodes of triangles whose centroids (m, 2) satisfy ``where``: tells the two faces of a wall apart."""
    mask = np.zeros(len(mesh.points), bool)
    mask[mesh.triangles[where(mesh.centroids)].ravel()] = True
    return mask


def given(mesh: Mesh, *parts):
    """Given heads (n,): nan but for ``parts``, pairs of a mask (n,) and a head or heads."""
    heads = np.full(len(mesh.points), np.nan)
    for mask, head in parts:
        heads[mask] = head
    return heads


def unit(value):
    """Integral over [0, 1] of a smooth function of an array of places."""
    return float(WEIGHTS @ value((GAUSS + 1) / 2)) / 2


@dataclass(frozen=True)
class Pair:
    """Two walls that face each other at a distance of 2 ``b`` [m] in a layer ``T`` thick, penetrating ``inner`` and ``outer`` below the ground inside and outside [m].

    Head 1 on the ground outside, 0 inside. Half of it is the image of the upper half-plane by dz/dt = -(T/pi) (t - tip) / sqrt(t (t - 1) (t - c) (t + d)): the corner at
    base and axis lies at -d, the axis meets the ground inside at 0, the wall at 1, the toe is at ``tip`` and the wall meets the ground outside at c (Schwarz and Christoffel;
    the flow by elliptic integrals as in Harr 1962, both from memory).
    """

    b: float
    inner: float
    outer: float
    T: float

    @cached_property
    def places(self):
        """tip, c, d."""

        def lengths(s):
            c, d = 1 + np.exp(s[0]), np.exp(s[1])
            tip = 1 + (c - 1) / (1 + np.exp(-s[2]))
            turn = np.arcsin(np.sqrt((tip - 1) / (c - 1)))
            ground = self._along(lambda t: (tip - t) / np.sqrt((c - t) * (t + d)), 0, 1, 0, np.pi / 2)
            face = lambda t: np.abs(t - tip) / np.sqrt(t * (t + d))  # noqa: E731
            return tip, c, d, np.array([ground, self._along(face, 1, c, 0, turn), self._along(face, 1, c, turn, np.pi / 2)])

        found = root(lambda s: np.log(lengths(s)[3] / [self.b, self.inner, self.outer]), [0.0, 0.0, 0.0], tol=1e-13)
        if np.abs(found.fun).max() > 1e-9:
            raise ArithmeticError(f"no mapping found for {self}")
        return lengths(found.x)[:3]

    def _along(self, rest, start, end, turn_from, turn_to):
        """Length of boundary while t goes from ``start`` towards ``end`` as sin^2 of an angle does between two angles; ``rest`` of t: what is left without the roots of the ends."""
        t = lambda u: start + (end - start) * np.sin(turn_from + (turn_to - turn_from) * u) ** 2  # noqa: E731
        return self.T / np.pi * unit(lambda u: rest(t(u)) * 2 * (turn_to - turn_from))

    @property
    def discharge(self):
        """Flow of half the pit over permeability and difference of head."""
        c = self.places[1]
        return ellipk(1 / c) / ellipk(1 - 1 / c)

    @cached_property
    def _potential(self):
        """A in dW/dt = i A / sqrt(t (t - 1) (t - c)), whose real part is the head."""
        c = self.places[1]
        return 1 / unit(lambda u: np.pi / np.sqrt(1 + (c - 1) * np.sin(u * np.pi / 2) ** 2))

    @property
    def toe_head(self):
        """Head at the toe."""
        tip, c, _ = self.places
        turn = np.arcsin(np.sqrt((tip - 1) / (c - 1)))
        return self._potential * unit(lambda u: 2 * turn / np.sqrt(1 + (c - 1) * np.sin(turn * u) ** 2))

    def exit_gradient(self, t=1.0):
        """Gradient [1/m] out of the ground inside: at the wall, or at the axis with t = 0."""
        tip, _, d = self.places
        return self._potential * np.pi / self.T * np.sqrt(t + d) / (tip - t)

    def inside(self, angles):
        """Distances [m] from the axis and gradients [1/m] out of the ground inside, at t = sin^2 of angles (j,)."""
        tip, c, d = self.places
        ground = lambda t: (tip - t) / np.sqrt((c - t) * (t + d))  # noqa: E731
        return [self._along(ground, 0, 1, 0, angle) for angle in angles], self.exit_gradient(np.sin(angles) ** 2)

    def mean_head(self, width):
        """Mean head at the level of the toe over a width [m] beside the wall: t and the complex potential W followed along that level from the axis."""
        tip, c, d = self.places
        roots = lambda t: np.sqrt(t) * np.sqrt(t - 1) * np.sqrt(t - c)  # noqa: E731
        by_x = lambda t: np.pi / self.T * roots(t) * np.sqrt(t + d) / (t - tip)  # noqa: E731

        def rates(x, state):
            t, by = state[0], by_x(state[0])
            return np.array([by, by * 1j * self._potential / roots(t), state[1] if x > self.b - width else 0.0])

        down = lambda angle: self._along(lambda t: (tip - t) / np.sqrt((1 - t) * (c - t)), 0, -d, 0, angle) - self.inner  # noqa: E731
        angle = brentq(down, 0, np.pi / 2)
        start = -d * np.sin(angle) ** 2
        fall = lambda u: 2 * angle * np.sqrt(d) * np.cos(angle * u) / np.sqrt((1 + d * np.sin(angle * u) ** 2) * (c + d * np.sin(angle * u) ** 2))  # noqa: E731
        state, at = np.array([start + 0j, self._potential * unit(fall), 0.0]), 0.0
        for end in sorted({max(self.b - width, 0.0), self.b * (1 - 1e-9)} - {0.0}):
            state, at = solve_ivp(rates, (at, end), state, method="DOP853", rtol=1e-10, atol=1e-12).y[:, -1], end
        return state[2].real / width

    @property
    def step(self):
        """Depth of the ground inside below that outside [m]."""
        return self.outer - self.inner

    def mesh(self, h) -> Mesh:
        """Half of it, axis at x = 0, ground outside at y = 0; size ``h`` [m] at the toe."""
        right, toe = self.b + FAR * self.T, -self.outer
        inside = lambda centres: ~((centres[:, 0] < self.b) & (centres[:, 1] > -self.step))  # noqa: E731
        lines = [(0.0, -self.step, self.b, -self.step)] if self.step else []
        edge = [(max(self.b - self.inner / 2, 0.0), toe, self.b, toe)]
        return plain_mesh((0.0, right, -self.T, 0.0), h, [(self.b, toe, toe)], lines + edge, walls=np.array([[self.b, toe, 0.0]]), keep=inside)

    def faces(self, mesh: Mesh):
        """Nodes (n,) of the ground inside and outside."""
        x, y = mesh.points.T
        left, right = beside(mesh, lambda c: c[:, 0] < self.b), beside(mesh, lambda c: c[:, 0] > self.b)
        return (np.abs(y + self.step) < 1e-9) & (x < self.b + 1e-9) & left, (np.abs(y) < 1e-9) & right

    def solved(self, h, head=None, about_axis=False):
        """Mesh and flow by finite elements with a difference of head [m], water at the ground inside; the step, or 1 m where there is none, when left out. A round pit ``about_axis``."""
        mesh, head = self.mesh(h), (self.step or 1.0) if head is None else head
        inside, outside = self.faces(mesh)
        return mesh, flow(mesh, given(mesh, (inside, -self.step), (outside, head - self.step)), about_axis=about_axis), head

    def sketch(self, ax):
        """The half with its dimensions."""
        far = 3 * self.b + self.outer
        box(ax, 0, self.b, -self.T, -self.step)
        box(ax, self.b, far, -self.T, 0)
        wall(ax, (self.b, -self.outer), (self.b, 0.1 * self.T))
        measure(ax, (0, 0.12 * self.T - self.step), (self.b, 0.12 * self.T - self.step), f"{self.b:g} m")
        measure(ax, (0.4 * self.b, -self.outer), (0.4 * self.b, -self.step), f"{self.inner:g} m")
        measure(ax, (1.7 * self.b, -self.outer), (1.7 * self.b, 0), f"{self.outer:g} m")
        measure(ax, (0.85 * far, -self.T), (0.85 * far, 0), f"{self.T:g} m")
        ax.plot([0, 0], [-1.05 * self.T, 0.1 * self.T], color=INK, linewidth=0.6, linestyle="-.")


def mean_along(mesh: Mesh, values, x0, x1, y, about_axis=False):
    """Mean of nodal values (n,) over the sides on a level line from x0 to x1, or over the ring that it makes ``about_axis``, by Simpson's rule."""
    sides = mesh.triangles[:, SIDES].reshape(-1, 3)
    place = mesh.points[sides]
    on = np.all((np.abs(place[..., 1] - y) < 1e-6) & (place[..., 0] > x0 - 1e-6) & (place[..., 0] < x1 + 1e-6), axis=1)
    share = np.abs(place[on, 1, :1] - place[on, 0, :1]) * SIMPSON * (place[on, :, 0] if about_axis else 1.0)
    return float((share * values[sides[on]]).sum() / share.sum())
