"""Steady flow of ground water into a pit of rectangular plan: heads under its floor by finite volumes in space, and how far they stand above those of plane strain.

A section between two walls is unsafe for a small pit: water comes from all round, and the head under the floor stands higher, most of all in the corners. The pit is dug in level layers;
sheets stand on its four sides. By symmetry a quarter of it is looked at: x along the length, y along the width, both from the middle, z up.

Cells are graded towards the toes of the sheets. Water passes from cell to cell by Darcy's law between their middles; a sheet closes the faces that it covers. Conjugate gradients find the
heads, guided by the exact inverse of the layers without pit and sheets, which is a product over the three directions (Lynch, Rice and Thomas 1964, from memory). Beside the toe the head
rises as the root of the distance, so errors fall only as the size of the cells: every result is that of two grids, carried on to cells of no size (Richardson).

The ground carries water up to a level that is given, as if confined there: a water table that falls towards the pit leaves less ground to carry water, so the heads are on the high side.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy.sparse.linalg import LinearOperator, cg

from fesoil.errors import FesoilError

FINEST = 1 / 16
"""Size of the cells at the toes, over the depth of the toe below the floor."""

GROWTH = 3.0
"""By how much cells grow with the distance from the toe, over FINEST."""

FAR = 3.5
"""Where the head is held at the top: ground beside the pit, in leakage lengths of the layers. What is left out carries a share of exp(-2 FAR), 0.1 %, or less."""

UNSURE = 0.005
"""Share of the greatest factor below which its error is not stated. Measured: half the size of cells changed no factor by more than 0.4 % in 36 pits of random shape and layers."""

CLOSE = 1e-8
"""Residual, of the right-hand side, at which the heads are found."""

ITERATIONS = 1000
"""Most iterations of conjugate gradients; common pits take 30 to 60."""


class Layer(NamedTuple):
    """Level of the underside of a layer [m], permeability level and upright [m/s]."""

    bottom: float
    k_h: float
    k_v: float


@dataclass(frozen=True)
class Pit:
    """A pit in ground that carries water.

    Parameters
    ----------
    length, width : float
        In plan, between the sheets [m]; the length is no shorter.
    top : float
        Level to which the ground outside carries water [m]: its surface, or the water table where that lies lower.
    floor, toe : float
        Levels of the bottom of the pit and of the toe of the sheets [m].
    layers : tuple of Layer
        Downward from ``top``; the underside of the last one is impervious.
    head : float
        Water outside above water inside [m]; the heads are those above the water inside.
    reach : float, optional
        Distance from the sheets [m] at which the head outside is held, at all depths. Left out, it is held everywhere at ``top``: there is free water, or the water table is kept up.
    flooded : bool
        With a ``reach``, whether it is held at ``top`` as well; else no water comes from above.

    Raises
    ------
    ValueError
        Where these do not make a pit.
    """

    length: float
    width: float
    top: float
    floor: float
    toe: float
    layers: tuple[Layer, ...]
    head: float
    reach: float | None = None
    flooded: bool = False

    def __post_init__(self):
        bottoms = [layer.bottom for layer in self.layers]
        holds = {
            "the length must be no shorter than the width, and both positive": self.length >= self.width > 0,
            "top, floor, toe and base must lie one beneath the other (the top may be level with the floor)": self.top >= self.floor > self.toe > min(bottoms, default=np.inf),
            "layers must lie one beneath the other": np.all(np.diff([self.top, *bottoms]) < 0),
            "permeabilities must be positive": all(min(layer.k_h, layer.k_v) > 0 for layer in self.layers),
            "the reach must be positive": self.reach is None or self.reach > 0,
        }
        wrong = [rule for rule, kept in holds.items() if not kept]
        if wrong:
            raise ValueError(f"{'; '.join(wrong)}: {self}")

    @property
    def prism(self) -> float:
        """Width of the body that may heave beside a sheet [m]: half the depth of the toe below the floor (Terzaghi 1943, from memory), at most half the width of the pit."""
        return min((self.floor - self.toe) / 2, self.width / 2)

    @property
    def beside(self) -> float:
        """Ground beside the pit that is looked at [m]."""
        if self.reach is not None:
            return self.reach
        depths = -np.diff([self.top, *(layer.bottom for layer in self.layers)])
        _, k_h, k_v = np.array(self.layers).T
        return FAR * float(np.sqrt((k_h * depths).sum() * (depths / k_v).sum()))


PLACES = ("middle of a long side", "middle of a short side", "corner")
"""Where the head and the gradient of a pit in space are read."""


@dataclass(frozen=True)
class Inflow:
    """Flow into a pit, at the ``PLACES`` of a pit in space or at the one place of a section.

    ``head`` (p,) [m]: mean excess head over the base of the prism, at the level of the toe, in the corner a block of the prism's width both ways; ``gradient`` (p,) with which water leaves
    the floor at the sheet; ``discharge`` of the whole pit [m3/s; of a metre run in plane strain].
    """

    head: np.ndarray
    gradient: np.ndarray
    discharge: float


@dataclass(frozen=True)
class Factors:
    """Mean head under the prism over that in plane strain across the width, at the ``PLACES``.

    ``error`` (absolute) is the most by which one was carried on from the finer grid, at least the share UNSURE of the greatest. The head outside limits any head that these multiply. Where
    a water table falls in plane strain it falls less in space: then the head of ``in_space`` may be the greater, and the safe one.
    """

    long_side: float
    short_side: float
    corner: float
    error: float


def in_space(pit: Pit, finest=FINEST) -> Inflow:
    """Flow into the pit with its four sides; the finer grid has cells of size ``finest`` (see FINEST)."""
    return _carried_on(*_both(_space, pit, finest))


def in_plane(pit: Pit, finest=FINEST) -> Inflow:
    """The same in plane strain: a section across the width of the pit."""
    return _carried_on(*_both(_plane, pit, finest))


def in_circle(pit: Pit, finest=FINEST) -> Inflow:
    """The same for a round pit with the width as its diameter, which is not on the safe side of the corners of a square one."""
    return _carried_on(*_both(_circle, pit, finest))


def factors(pit: Pit, finest=FINEST, section: Pit | None = None) -> Factors:
    """By what the head of plane strain under the prism, across the width of ``pit`` or of another ``section``, must be multiplied; on equal grids, so that most of their error is in both."""
    fine, coarse = (space.head / plane.head for space, plane in zip(_both(_space, pit, finest), _both(_plane, section or pit, finest)))
    carried_on = 2 * fine - coarse
    return Factors(*carried_on.tolist(), max(float(np.abs(fine - coarse).max()), UNSURE * float(carried_on.max())))


def _both(run, pit: Pit, finest):
    """Results on a grid and on one of twice the size."""
    return run(pit, finest), run(pit, 2 * finest)


def _carried_on(fine: Inflow, coarse: Inflow) -> Inflow:
    return Inflow(2 * fine.head - coarse.head, 2 * fine.gradient - coarse.gradient, 2 * fine.discharge - coarse.discharge)


def _space(pit: Pit, finest) -> Inflow:
    x, y = (_line(pit, side / 2, finest) for side in (pit.length, pit.width))
    return _inflow(pit, x, y, finest, [(x.first, y.prism), (x.prism, y.first), (x.prism, y.prism)], 4)


def _plane(pit: Pit, finest) -> Inflow:
    x = _line(pit, pit.width / 2, finest)
    return _inflow(pit, x, _SLICE, finest, [(x.prism, _SLICE.first)], 2)


def _circle(pit: Pit, finest) -> Inflow:
    x = _rings(_line(pit, pit.width / 2, finest))
    return _inflow(pit, x, _SLICE, finest, [(x.prism, _SLICE.first)], 2 * np.pi)


def _inflow(pit: Pit, x: _Line, y: _Line, finest, places, times) -> Inflow:
    """Flow with the cells given; ``places`` are pairs of masks (x,) and (y,) of the prisms, ``times`` is how often the part looked at is in the whole."""
    z = _upright(pit, finest)
    head, over, under = pit.head * _heads(x, y, z), np.argmax(z.above_toe), z.under_floor
    share = z.half[over] / (z.half[over] + z.half[over - 1])
    at_toe, gradient = share * head[..., over] + (1 - share) * head[..., over - 1], 2 * head[..., under] / z.size[under]
    area = np.outer(x.size, y.size)
    means = [np.average(at_toe[np.ix_(along, across)], weights=area[np.ix_(along, across)]) for along, across in places]
    at_sheet = [gradient[np.flatnonzero(along)[-1], np.flatnonzero(across)[-1]] for along, across in places]
    out = times * (area * np.outer(x.inside, y.inside) * head[..., under]).sum() * z.half[under]
    return Inflow(np.array(means), np.array(at_sheet), float(out))


class _Line(NamedTuple):
    """Cells along a level direction.

    ``faces`` (n + 1,) [m]; ``size`` (n,) of the cells, their lengths or, over 2 pi, areas of rings; ``passes`` (n + 1,) conductivity of the faces to the next middle, for 1 m2/s and 1 m
    of face; ``inside`` (n,) of the sheet; ``prism`` and ``first`` (n,) the cells of the prism and the one beside the axis.
    """

    faces: np.ndarray
    size: np.ndarray
    passes: np.ndarray
    inside: np.ndarray
    prism: np.ndarray
    first: np.ndarray


_ONE = np.ones(1, bool)
_SLICE = _Line(np.array([0.0, 1.0]), np.ones(1), np.zeros(2), _ONE, _ONE, _ONE)
"""A metre run of plane strain, or a radian."""


def _line(pit: Pit, half, finest) -> _Line:
    """Cells from the middle of the pit outward; the sheet stands at ``half``."""
    faces = _graded([0.0, half - pit.prism, half, half + pit.beside], half, finest, pit.floor - pit.toe)
    middle, size = (faces[1:] + faces[:-1]) / 2, np.diff(faces)
    held = 0.0 if pit.reach is None else 2 / size[-1]
    return _Line(
        faces, size, np.concatenate([[0.0], 1 / np.diff(middle), [held]]), middle < half, (middle < half) & (middle > half - pit.prism), np.arange(len(size)) == 0
    )


def _rings(line: _Line) -> _Line:
    """The same cells about an axis, each a radian of a ring."""
    return line._replace(size=np.diff(line.faces**2) / 2, passes=line.passes * line.faces)


class _Upright(NamedTuple):
    """Cells from the base up: ``size`` (n,) [m]; ``carries`` (n,) permeability times size, for level flow [m2/s]; ``half`` (n,) conductivity from the middle of a cell to its top or bottom
    [1/s]; ``passes`` (n + 1,) of the faces; ``above_toe``, ``above_floor`` (n,)."""

    size: np.ndarray
    carries: np.ndarray
    half: np.ndarray
    passes: np.ndarray
    above_toe: np.ndarray
    above_floor: np.ndarray

    @property
    def under_floor(self) -> int:
        """The cell beneath the floor."""
        return int(np.count_nonzero(~self.above_floor)) - 1


def _upright(pit: Pit, finest) -> _Upright:
    bottoms, k_h, k_v = np.array(pit.layers[::-1]).T
    faces = _graded([*bottoms, pit.toe, pit.floor, pit.top], pit.toe, finest, pit.floor - pit.toe)
    middle, size = (faces[1:] + faces[:-1]) / 2, np.diff(faces)
    layer = np.searchsorted(bottoms, middle) - 1
    half = 2 * k_v[layer] / size
    passes = np.concatenate([[0.0], 1 / (1 / half[1:] + 1 / half[:-1]), [half[-1] if pit.reach is None or pit.flooded else 0.0]])
    return _Upright(size, k_h[layer] * size, half, passes, middle > pit.toe, middle > pit.floor)


def _graded(breaks, fine, finest, depth):
    """Faces of cells from the first to the last of ``breaks``, all of which are faces: smallest at the place ``fine``, ``finest`` times a ``depth`` [m], growing from there. Levels that
    differ by rounding are one."""
    breaks = np.unique(np.round(breaks, 6))
    faces = [breaks[:1]]
    for start, end in zip(breaks[:-1], breaks[1:]):
        place = np.linspace(start, end, 2001)
        density = 1 / (finest * (depth + GROWTH * np.abs(place - fine)))
        number = np.concatenate([[0.0], np.cumsum(np.diff(place) * (density[1:] + density[:-1]) / 2)])
        cells = int(np.ceil(number[-1]))
        faces.append(np.interp(np.arange(1, cells + 1) * number[-1] / cells, number, place))
    return np.concatenate(faces)


class _Links(NamedTuple):
    """Conductivities [m3/s for each metre of head] of the faces ``between`` cells along x, y and z; of the cells (x, y, z) to the head ``outside`` and to that at the ``floor``; ``ground``
    (x, y, z) is what is not dug away."""

    between: tuple[np.ndarray, np.ndarray, np.ndarray]
    outside: np.ndarray
    floor: np.ndarray
    ground: np.ndarray

    def leaves(self, head):
        """What leaves each cell (x, y, z) with the given heads, where those outside and at the floor are zero."""
        out = (self.outside + self.floor) * head
        for axis, links in enumerate(self.between):
            out -= np.diff(links * np.diff(head, axis=axis), axis=axis, prepend=0.0, append=0.0)
        return out


def _links(x: _Line, y: _Line, z: _Upright) -> _Links:
    inside = (x.inside[:, None] & y.inside)[..., None]
    ground = ~(inside & z.above_floor)
    area, outside, floor = np.outer(x.size, y.size)[..., None], np.zeros(ground.shape), np.zeros(ground.shape)
    by_x, by_y, by_z = np.outer(x.passes, y.size)[..., None] * z.carries, np.outer(x.size, y.passes)[..., None] * z.carries, area * z.passes
    outside[-1] += by_x[-1]
    outside[:, -1] += by_y[:, -1]
    outside[..., -1] += by_z[..., -1] * ~inside[..., 0]
    floor[..., z.under_floor] = (area * inside)[..., 0] * z.half[z.under_floor]
    sheet = lambda axis: np.diff(inside, axis=axis) & z.above_toe  # noqa: E731
    both = ground[..., 1:] & ground[..., :-1]
    return _Links((by_x[1:-1] * ~sheet(0), by_y[:, 1:-1] * ~sheet(1), by_z[..., 1:-1] * both), outside, floor, ground)


def _heads(x: _Line, y: _Line, z: _Upright):
    """Heads (x, y, z) for 1 outside and 0 at the floor, by way of the drawdown from 1, whose equations are measured by the water at the floor.

    Raises
    ------
    FesoilError
        Where conjugate gradients do not come to an end.
    """
    links, undug = _links(x, y, z), _undug(x, y, z)
    shape, size = links.ground.shape, links.ground.size

    def on_ground(act):
        return LinearOperator((size, size), matvec=lambda v: (act(v.reshape(shape) * links.ground) * links.ground).ravel(), dtype=float)

    drawdown, fault = cg(on_ground(links.leaves), links.floor.ravel(), rtol=CLOSE, maxiter=ITERATIONS, M=on_ground(undug))
    if fault:
        raise FesoilError(f"the heads under the pit were not found in {ITERATIONS} iterations; are the permeabilities of its layers right?")
    return 1 - drawdown.reshape(shape)


def _undug(x: _Line, y: _Line, z: _Upright):
    """Function from what leaves the cells (x, y, z) to their heads, for the layers without a pit or sheets."""
    (by_x, modes_x), (by_y, modes_y), (by_z, modes_z) = _modes(x.passes, x.size), _modes(y.passes, y.size), _modes(z.passes, z.carries)
    stiff = by_x[:, None, None] + by_y[:, None] + by_z

    def along_all(modes_x, modes_y, modes_z, values):
        return np.matmul(modes_y, np.tensordot(modes_x, values, 1)) @ modes_z.T

    return lambda leaves: along_all(modes_x, modes_y, modes_z, along_all(modes_x.T, modes_y.T, modes_z.T, leaves) / stiff)


def _modes(passes, size):
    """Eigenvalues (n,) and eigenvectors (n, n) of the flow along a row of cells, with conductivity ``passes`` (n + 1,) of their faces, over their ``size``."""
    root = np.sqrt(size)
    flow = np.diag(passes[1:] + passes[:-1]) - np.diag(passes[1:-1], 1) - np.diag(passes[1:-1], -1)
    values, vectors = np.linalg.eigh(flow / np.outer(root, root))
    return values, vectors / root[:, None]
