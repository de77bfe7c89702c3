"""Unknowns, sparse pattern, and the forces and stiffness of everything that acts in one stage.

A stage's ``Model`` works on one vector of increments: free unknowns in elimination order, then prescribed ones, then one slot that is always
zero and stands for whatever does not exist. What lasts from stage to stage is the ``State``, on the whole mesh.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from scipy import sparse

from fesoil.elements.beam import Beams
from fesoil.elements.joint import Joints
from fesoil.elements.spring import Springs
from fesoil.elements.triangle import N_POINTS, Triangles, make_triangles
from fesoil.mesh.split import Mesh, sharing
from fesoil.result.state import State
from fesoil.soils.elastic import Update
from fesoil.soils.ground import Ground

PRESSURE = np.array([1.0, 1.0, 1.0, 0.0])
"""A unit mean stress in the order ``[xx, yy, zz, xy]``."""


@dataclass(frozen=True)
class Base:
    """What is the same in all stages: the mesh, its triangles and the strain operator (4 * 3 m, 2 n)."""

    mesh: Mesh
    triangles: Triangles
    strain: sparse.csr_matrix

    def soil_forces(self, stress, chosen=slice(None)):
        """Nodal forces (n, 2) that hold stresses (m, 3, 4) in balance, copies of a node apart; only triangles ``chosen``."""
        weighted = np.zeros(stress.shape)
        weighted[chosen] = stress[chosen] * self.triangles.weight[chosen][..., None]
        return (self.strain.T @ weighted.ravel()).reshape(-1, 2)


def make_base(mesh: Mesh) -> Base:
    """Base of a mesh."""
    triangles = make_triangles(mesh.points, mesh.triangles)
    return Base(mesh, triangles, triangles.strain_operator())


@dataclass(frozen=True)
class Unknowns:
    """Numbers of the unknowns: ``soil`` (n, 2), ``wall`` (b, 3); free ones below ``free``, prescribed below ``zero``, which is the slot of nothing."""

    soil: np.ndarray
    wall: np.ndarray
    free: int
    zero: int


def number(mesh: Mesh, active, standing, fixed_soil, fixed_wall=None) -> Unknowns:
    """Number the unknowns of active triangles (m,) and standing pieces of wall (s,), with fixed freedoms (n, 2) and (b, 3)."""
    leader = sharing(mesh, standing)
    soil_used, wall_used = np.zeros(len(mesh.points), bool), np.zeros(len(mesh.wall_points), bool)
    soil_used[leader[mesh.triangles[active].ravel()]] = True
    wall_used[mesh.segments[standing].ravel()] = True
    fixed = np.zeros(fixed_soil.shape, bool)
    np.logical_or.at(fixed, leader, fixed_soil)
    n, b = len(mesh.points), len(mesh.wall_points)
    rank = np.concatenate([np.repeat(mesh.rank, 2), np.repeat(mesh.wall_rank, 3)])
    used = np.concatenate([np.repeat(soil_used, 2), np.repeat(wall_used, 3)])
    is_fixed = np.concatenate([fixed.ravel(), np.zeros(3 * b, bool) if fixed_wall is None else fixed_wall.ravel()])
    order = np.lexsort((np.arange(len(rank)), rank))
    numbers = np.full(len(rank), -1)
    free = order[(used & ~is_fixed)[order]]
    held = order[(used & is_fixed)[order]]
    numbers[free] = np.arange(len(free))
    numbers[held] = len(free) + np.arange(len(held))
    zero = len(free) + len(held)
    numbers[numbers < 0] = zero
    return Unknowns(numbers[: 2 * n].reshape(n, 2)[leader], numbers[2 * n :].reshape(b, 3), len(free), zero)


class Trial(NamedTuple):
    """All forces and memories after an increment; ``force`` (zero + 1,) is what the structure holds against the load."""

    force: np.ndarray
    ground: Update
    section: np.ndarray
    section_tangent: np.ndarray
    traction: np.ndarray
    joint_tangent: np.ndarray
    gap: np.ndarray
    spring_load: np.ndarray
    spring_tangent: np.ndarray
    spring_memory: np.ndarray


@dataclass(frozen=True)
class Model:
    """Everything that acts in one stage.

    ``active`` indices of triangles; ``points`` indices of their integration points; ``strain`` and ``collect`` sparse operators between
    the vector of unknowns and those points; ``beam_freedoms`` (k, 9); ``pairs`` flat indices of active joints into (s, 2, 3);
    ``joint_freedoms`` (j, 2, 2): soil, wall; ``spring_names`` of ``springs``.
    """

    base: Base
    unknowns: Unknowns
    active: np.ndarray
    points: np.ndarray
    triangles: Triangles
    ground: Ground
    strain: sparse.csr_matrix
    collect: sparse.csr_matrix
    standing: np.ndarray
    beams: Beams
    beam_freedoms: np.ndarray
    joints: Joints
    pairs: np.ndarray
    joint_freedoms: np.ndarray
    springs: Springs
    spring_names: tuple[str, ...]
    pattern: Pattern

    def evaluate(self, state: State, step, theta=0.0, tangent=True) -> Trial:
        """Forces after an increment ``step`` (zero + 1,) from a state."""
        n = self.unknowns.zero + 1
        strain = (self.strain @ step).reshape(-1, 4)
        soil = self.ground.update(strain, state.stress[self.points], theta, tangent)
        force = self.collect @ soil.stress.ravel()
        section, section_tangent = self.beams.update(step[self.beam_freedoms], state.section[self.standing])
        force += np.bincount(self.beam_freedoms.ravel(), self.beams.forces(section).ravel(), n)
        movement = step[self.joint_freedoms[:, 0]] - step[self.joint_freedoms[:, 1]]
        before = state.traction.reshape(-1, 2)[self.pairs]
        traction, joint_tangent, gap = self.joints.update(movement, state.gap.ravel()[self.pairs], before[:, 1])
        held = self.joints.forces(traction)
        force += np.bincount(self.joint_freedoms.ravel(), np.stack([held, -held], axis=1).ravel(), n)
        memory = np.array([state.springs[name] for name in self.spring_names])
        load, spring_tangent, memory = self.springs.update(step[self.springs.a] - step[self.springs.b], memory)
        force += np.bincount(self.springs.a, load, n) - np.bincount(self.springs.b, load, n)
        force[-1] = 0.0
        return Trial(force, soil, section, section_tangent, traction, joint_tangent, gap, load, spring_tangent, memory)

    def matrix(self, trial: Trial, soil_tangent=None):
        """Tangent stiffness of the free unknowns (CSC), with another tangent (p, 4, 4) of the ground if given."""
        D = trial.ground.tangent if soil_tangent is None else soil_tangent
        soil = self.triangles.stiffness(D.reshape(-1, N_POINTS, 4, 4))
        beam = self.beams.stiffness(trial.section_tangent)
        block = self.joints.stiffness_blocks(trial.joint_tangent)
        joint = np.block([[block, -block], [-block, block]])
        spring = trial.spring_tangent[:, None] * np.array([1.0, -1.0, -1.0, 1.0])
        return self.pattern.fill(np.concatenate([soil.ravel(), beam.ravel(), joint.ravel(), spring.ravel()]))

    def times(self, trial: Trial, step):
        """Tangent stiffness of all unknowns times a vector (zero + 1,), without a matrix."""
        n = self.unknowns.zero + 1
        force = self.collect @ np.einsum("pij,pj->pi", trial.ground.tangent, (self.strain @ step).reshape(-1, 4)).ravel()
        beam = np.einsum("eij,ej->ei", self.beams.stiffness(trial.section_tangent), step[self.beam_freedoms])
        movement = step[self.joint_freedoms[:, 0]] - step[self.joint_freedoms[:, 1]]
        joint = np.einsum("kij,kj->ki", self.joints.stiffness_blocks(trial.joint_tangent), movement)
        spring = trial.spring_tangent * (step[self.springs.a] - step[self.springs.b])
        force += np.bincount(self.beam_freedoms.ravel(), beam.ravel(), n)
        force += np.bincount(self.joint_freedoms.ravel(), np.stack([joint, -joint], axis=1).ravel(), n)
        force += np.bincount(self.springs.a, spring, n) - np.bincount(self.springs.b, spring, n)
        force[-1] = 0.0
        return force

    def kinks(self, state: State, step, direction):
        """Shares of a direction at which a prop begins or ceases to bear, and just beyond which a point of a wall begins or ceases to hinge (at the
        limit itself its tangent would be that of the wrong side)."""
        closing, further = (v[self.springs.a] - v[self.springs.b] for v in (step, direction))
        props = self.springs.touching(closing, further, np.array([state.springs[name] for name in self.spring_names]))
        hinges = self.beams.hinging(step[self.beam_freedoms], direction[self.beam_freedoms], state.section[self.standing])
        return np.concatenate([props, 1.001 * hinges + 1e-5])

    def accept(self, state: State, step, trial: Trial) -> State:
        """State after an increment."""
        stress, section = state.stress.copy(), state.section.copy()
        stress[self.points] = trial.ground.state
        section[self.standing] = trial.section
        gap, traction = state.gap.copy(), state.traction.copy()
        gap.reshape(-1)[self.pairs] = trial.gap
        traction.reshape(-1, 2)[self.pairs] = trial.traction
        springs = {**state.springs, **dict(zip(self.spring_names, trial.spring_memory.tolist()))}
        u, w = state.u + step[self.unknowns.soil], state.w + step[self.unknowns.wall]
        return replace(state, u=u, w=w, stress=stress, section=section, gap=gap, traction=traction, springs=springs)

    def reduce(self, soil, wall):
        """Nodal forces on soil (n, 2) and wall nodes (b, 3) as a vector (zero + 1,)."""
        n = self.unknowns.zero + 1
        force = np.bincount(self.unknowns.soil.ravel(), soil.ravel(), n) + np.bincount(self.unknowns.wall.ravel(), wall.ravel(), n)
        force[-1] = 0.0
        return force


@dataclass(frozen=True)
class Pattern:
    """Where element entries go in the compressed columns of the free unknowns."""

    slot: np.ndarray
    indices: np.ndarray
    indptr: np.ndarray

    def fill(self, entries):
        """Sparse matrix (CSC) with the entries summed."""
        data = np.bincount(self.slot, entries, len(self.indices) + 1)[:-1]
        n = len(self.indptr) - 1
        return sparse.csc_matrix((data, self.indices, self.indptr), shape=(n, n))


def make_pattern(rows, columns, n) -> Pattern:
    """Pattern of entries (rows, columns); those of n and above are left out."""
    kept = (rows < n) & (columns < n)
    r, c = rows[kept].astype(np.int32), columns[kept].astype(np.int32)
    whole = sparse.csc_matrix((np.ones(len(r), bool), (r, c)), shape=(n, n))
    whole.sort_indices()
    numbered = sparse.csc_matrix((np.arange(whole.nnz, dtype=np.int32), whole.indices, whole.indptr), shape=(n, n))
    slot = np.full(len(rows), whole.nnz)
    slot[kept] = np.asarray(numbered[r, c]).ravel()
    return Pattern(slot, whole.indices, whole.indptr)


class Prop(NamedTuple):
    """A spring between two freedoms, each (kind, node, direction) with kind 'wall' or 'soil' and direction 0 or 1, or None for a fixed point; it closes when
    ``a`` moves on and ``b`` back. ``stiffness`` [kN/m2], ``limit`` [kN/m], ``two_way`` where it pulls as well."""

    name: str
    a: tuple[str, int, int] | None
    b: tuple[str, int, int] | None
    stiffness: float
    limit: float
    two_way: bool


def make_model(base: Base, active, ground: Ground, standing, beams: Beams, joints: Joints, pairs, springs, fixed_soil, fixed_wall=None) -> Model:
    """Model of a stage.

    Parameters
    ----------
    active : array (m,) bool
        Triangles that are ground now; ``ground`` covers their points in order.
    standing : array (s,) bool
        Pieces of wall that stand; ``beams`` are theirs, with nodes of the wall.
    joints, pairs
        Joints with nodes of soil and wall, and their flat indices into (s, 2, 3).
    springs : list of Prop
    fixed_soil, fixed_wall : arrays (n, 2), (b, 3) bool
        Freedoms with prescribed movement.
    """
    unknowns = number(base.mesh, active, standing, fixed_soil, fixed_wall)
    chosen = np.flatnonzero(active)
    triangles = base.triangles.subset(chosen)
    points = (N_POINTS * chosen[:, None] + np.arange(N_POINTS)).ravel()
    rows = (4 * points[:, None] + np.arange(4)).ravel()
    n_soil = unknowns.soil.size
    select = sparse.csr_matrix((np.ones(n_soil), (np.arange(n_soil), unknowns.soil.ravel())), shape=(n_soil, unknowns.zero + 1))
    strain = base.strain[rows] @ select
    strain.sum_duplicates()
    collect = sparse.csr_matrix(strain.T.multiply(np.repeat(triangles.weight.ravel(), 4)[None]))
    beam_freedoms = unknowns.wall[beams.nodes].reshape(-1, 9)
    joint_freedoms = np.stack([unknowns.soil[joints.soil], unknowns.wall[joints.wall][:, :2]], axis=1)
    spring, names = _springs(unknowns, springs)
    soil_freedoms = unknowns.soil[triangles.nodes]
    groups = [(np.moveaxis(soil_freedoms, 2, 0), None), (beam_freedoms, 9), (joint_freedoms.reshape(-1, 4), 4), (np.column_stack([spring.a, spring.b]), 2)]
    pattern = make_pattern(*_places(groups), unknowns.free)
    return Model(base, unknowns, chosen, points, triangles, ground, strain, collect, standing, beams, beam_freedoms, joints, pairs, joint_freedoms, spring, names, pattern)


def _places(groups):
    """Row and column of every element entry, in the order in which ``Model.matrix`` lists them."""
    rows, columns = [], []
    by_direction = groups[0][0]  # (2, m, 6)
    shape = (2, 2, *by_direction.shape[1:], by_direction.shape[2])
    rows.append(np.broadcast_to(by_direction[:, None, :, :, None], shape).ravel())
    columns.append(np.broadcast_to(by_direction[None, :, :, None, :], shape).ravel())
    for freedoms, k in groups[1:]:
        rows.append(np.repeat(freedoms, k, axis=1).ravel())
        columns.append(np.tile(freedoms, (1, k)).ravel())
    return np.concatenate(rows), np.concatenate(columns)


def _springs(unknowns: Unknowns, props):
    def place(end):
        if end is None:
            return unknowns.zero
        kind, node, direction = end
        return (unknowns.wall if kind == "wall" else unknowns.soil)[node, direction]

    a, b = (np.array([place(end) for end in ends], int) for ends in ([p.a for p in props], [p.b for p in props]))
    stiffness, limit = (np.array(values, float) for values in ([p.stiffness for p in props], [p.limit for p in props]))
    return Springs(a, b, stiffness, limit, np.array([p.two_way for p in props], bool)), tuple(p.name for p in props)
