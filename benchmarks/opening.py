"""A quarter ring of triangles with curved sides: circular openings and thick cylinders, their ground, and their sketch."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from benchmarks import sketch
from benchmarks.common import at_rest_in, lattice, mesh_of, movement, no_wall_force, one_material, pressed, push


def ring(inner, outer, around, across, power=1.0):
    """Quarter ring of around x across cells; radial sizes grow with the radius (``power`` 1) or stay alike (0)."""
    grid, triangles = lattice(across, around)
    corners = np.linspace(0, 1, across + 1)
    radii = inner * (outer / inner) ** corners if power else inner + (outer - inner) * corners
    radius = np.interp(grid[:, 0], corners, radii)
    angle = np.pi / 2 * grid[:, 1]
    return mesh_of(np.column_stack([radius * np.cos(angle), radius * np.sin(angle)]), triangles), radii


def square_cells(inner, outer, around):
    """Number of cells across a ring of ``around`` cells that makes them about as long as they are wide."""
    return int(np.ceil(np.log(outer / inner) / (np.pi / 2 / around)))


def at_radius(mesh, radius):
    """Mask (n,) of nodes at a radius and their outward unit vectors (n, 2)."""
    r = np.hypot(*mesh.points.T)
    return np.abs(r - radius) < 1e-9 * radius, mesh.points / r[:, None]


def symmetric(mesh):
    return np.column_stack([np.abs(mesh.points[:, 0]) < 1e-9, np.abs(mesh.points[:, 1]) < 1e-9])


def radial(mesh, state, radius):
    """Mean outward movement at a radius."""
    on, outward = at_radius(mesh, radius)
    return float(np.sum(state.u * outward, axis=1)[on].mean())


def even(model, pressure):
    """State at rest under the same pressure [kPa] in all directions."""
    return at_rest_in(model, lambda points: np.tile([-pressure, -pressure, -pressure, 0.0], (len(points), 1)))


def expand(mesh, law, p0, by, shares):
    """A ring at rest under ``p0`` [kPa], whose inside moves out by ``by`` [m] and whose outside stays under ``p0``.

    Returns the curve of the pressure inside [kPa], and the model.
    """
    r = np.hypot(*mesh.points.T)
    (inner, outward), (outer, _) = at_radius(mesh, r.min()), at_radius(mesh, r.max())
    model = one_material(mesh, law, symmetric(mesh) | inner[:, None])
    load, work = (model.reduce(pressed(mesh, on, size), no_wall_force(mesh)) for on, size in ((outer, p0), (inner, 1.0)))
    radially = np.zeros(len(work))
    radially[model.unknowns.soil[inner]] = outward[inner]
    read = lambda _, held: held @ radially / (work @ radially)  # noqa: E731
    return push(model, even(model, p0), load, max(p0, 25.0), movement(model, by * outward), shares, read, 1e-6), model


class Friction(NamedTuple):
    """Mohr-Coulomb ground: Young's modulus and cohesion in kPa, angles in degrees."""

    E: float = 50e3
    nu: float = 0.3
    c: float = 5.0
    phi: float = 30.0
    psi: float = 0.0

    @property
    def G(self):
        return self.E / (2 * (1 + self.nu))

    @property
    def yielding(self):
        """N and Y [kPa] of the larger stress at yield, N times the smaller and Y more; and H = Y / (N - 1)."""
        phi = np.radians(self.phi)
        N, Y = (1 + np.sin(phi)) / (1 - np.sin(phi)), 2 * self.c * np.cos(phi) / (1 - np.sin(phi))
        return N, Y, Y / (N - 1)

    @property
    def flow(self):
        """Plastic extension along the smaller stress over the shortening along the larger."""
        psi = np.radians(self.psi)
        return (1 + np.sin(psi)) / (1 - np.sin(psi))


def draw_ring(ax, inner, outer, words, endless=False):
    """Quarter ring with pressure on its inside; ``words`` at the inside and at the outside, which pressure holds where it is ``endless``."""
    arc = np.column_stack([f(np.linspace(0, np.pi / 2, 40)) for f in (np.cos, np.sin)])
    sketch.ground(ax, np.vstack([inner * arc, outer * arc[::-1]]))
    for direction in arc[[6, 20, 33]]:
        sketch.arrow(ax, 0.3 * inner * direction, inner * direction)
        if endless:
            sketch.arrow(ax, 1.25 * outer * direction, outer * direction)
    sketch.say(ax, 1.1 * inner, -0.07 * outer, words[0])
    sketch.say(ax, outer, -0.07 * outer, words[1])
