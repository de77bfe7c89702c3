"""Stage by stage: what changes, the model of each stage, and equilibrium after it.

A stage's out-of-balance force is whatever the new situation leaves unbalanced: ground taken away no longer holds its neighbours, a wall
just driven stands in the ground's own stress. Linear elastic ground therefore gives the same answer in one stage or ten (Ishihara 1970;
Brown and Booker 1985, from memory).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fesoil.case.model import Case
from fesoil.case.overburden import mean_pressure
from fesoil.case.sequence import Situation, drains, material_at, situations
from fesoil.case.stiffness import working_modulus
from fesoil.elements.beam import make_beams
from fesoil.elements.joint import Joints
from fesoil.elements.triangle import N_POINTS
from fesoil.mesh.sides import standing_pieces
from fesoil.mesh.split import LEFT, RIGHT, Mesh
from fesoil.result.state import Record, State, blank_state
from fesoil.soils.ground import Ground, ground_of, parts_of, without_excess
from fesoil.solve.actions import OUTWARD, Actions, Step, actions, face_areas, face_material, pushed_frames
from fesoil.solve.balance import equilibrium_error, failure_of, prop_loads
from fesoil.solve.driving import drive, withdraw
from fesoil.solve.newton import Effort, Outcome, equilibrate
from fesoil.solve.props import memory_of, props_of
from fesoil.solve.start import at_rest_stress, gravity_ground, start_ground, uses_gravity
from fesoil.solve.system import Base, make_model
from fesoil.water.seepage import Seepage, seepage

JOINT_STIFFNESS = 10.0
"""Normal stiffness of a joint for each metre, in terms of the soil's one-dimensional modulus; shear likewise of its shear modulus. Measured on the timing case
(psi = 10, 1,900 triangles): 2, 10 and 50 give a wall movement of 16.76, 16.51 and 16.47 mm in 78, 57 and 118 factorisations."""


def support(case: Case, base: Base):
    """Fixed freedoms (n, 2): rollers on the sides, no movement at the bottom."""
    left, right, bottom, _ = base.mesh.box
    x, y = base.mesh.points.T
    fixed = np.zeros((len(x), 2), bool)
    fixed[:, 0] = (np.abs(x - left) < 1e-6) | (np.abs(x - right) < 1e-6)
    fixed[np.abs(y - bottom) < 1e-6] = True
    return fixed


def ground_model(case: Case, base: Base, situation: Situation, acting: Actions, rest) -> Ground:
    """Laws at the points of the active triangles, with the mean stress before the works ``rest`` (3 m,) [kPa]."""
    chosen = acting.active
    level = (base.triangles.points[chosen] + base.mesh.origin)[..., 1].ravel()
    return ground_of(case.soils, np.repeat(acting.material[chosen], N_POINTS), rest.reshape(-1, N_POINTS)[chosen].ravel(), level, situation.drained)


def start(case: Case, base: Base, report=None):
    """State and record before the first stage: initial stress in equilibrium, movements set to zero.

    Equilibrium is found in ground of one stiffness; then the stress is split between the parts of ground that is stiff at small strain.
    """
    situation = situations(case)[0]
    state = blank_state(base.mesh)
    step = prepare(case, base, situation, state)
    plain = replace(step, model=replace(step.model, ground=start_ground(case, base, step.acting)))
    if uses_gravity(case):
        elastic = replace(step, model=replace(step.model, ground=gravity_ground(case, base, step.acting)))
        first = equilibrate(elastic.model, state, step.load, step.scale, tolerance=1e-8)
        state = replace(first.state, u=np.zeros_like(state.u))
    else:
        stress = state.stress.copy()
        stress[:, 0] = at_rest_stress(case, base, situation, step.acting)
        state = replace(state, stress=stress)
    still = np.zeros(len(step.load))
    unbalanced = np.linalg.norm((step.load - plain.model.evaluate(state, still, tangent=False).force)[: step.model.unknowns.free]) / step.scale
    outcome = equilibrate(plain.model, state, step.load, step.scale, report=report)
    record = record_of(plain, outcome)
    moved = float(np.abs(outcome.state.u).max())
    state = replace(outcome.state, u=np.zeros_like(state.u))
    return _split(case, base, step, state), replace(record, start_movement=moved, start_residual=float(unbalanced)), step


def _split(case: Case, base: Base, step: Step, state: State) -> State:
    """The state of rest with its mean stress noted, and its stress split between the parts of each soil."""
    total = state.stress[:, 0]
    rest = np.maximum(-total[:, :3].mean(axis=1), 0.0)
    stress = np.zeros((len(total), parts_of(case.soils), 4))
    points = step.model.points
    parts = ground_model(case, base, step.situation, step.acting, rest).split(total[points])
    stress[points, : parts.shape[1]] = parts
    return replace(state, stress=stress, rest=rest)


def run_stage(case: Case, base: Base, before: Step, situation: Situation, state: State, report=None):
    """State, record and solved step of one stage from the state and step before it."""
    prepared = enter(case, base, before, situation, state)
    water = water_of(case, base, situation)
    prepared = replace(prepared, head=state.head * np.nan if water is None else water.head)
    step = prepare(case, base, situation, prepared)
    outcome = equilibrate(step.model, prepared, step.load, step.scale, report=report)
    told = {} if water is None else {"out": water.out, "balance": water.balance, "iterations": water.flow.iterations}
    return outcome.state, replace(record_of(step, outcome), water=told), step


def water_of(case: Case, base: Base, situation: Situation) -> Seepage | None:
    """Steady seepage in a situation that asks for it."""
    return seepage(case, base.mesh, base.triangles, situation) if situation.seepage else None


def prepare(case: Case, base: Base, situation: Situation, state: State) -> Step:
    """Model and load of a situation, in ground with the mean stress before the works and the heads of a state."""
    pushed, rest = pushed_frames(case, situation), state.rest
    acting = actions(case, base, situation, state.head, pushed)
    beams = _beams(case, base.mesh, acting.standing)
    joints, pairs = _joints(case, base.mesh, situation, acting)
    springs = props_of(case, base.mesh, situation, acting)
    model = make_model(base, acting.active, ground_model(case, base, situation, acting, rest), acting.standing, beams, joints, pairs, springs, support(case, base))
    scale = float(np.linalg.norm(acting.weight)) or 1.0
    return Step(situation, acting, model, model.reduce(acting.soil, acting.wall), scale, pushed)


def enter(case: Case, base: Base, before: Step, situation: Situation, state: State) -> State:
    """State at the entry of a stage: walls just driven stand unstressed in the ground's stress, new springs hold their lock-in load."""
    standing = standing_pieces(case, base.mesh, situation)
    new, gone = standing & ~before.acting.standing, before.acting.standing & ~standing
    if np.any(new):
        state = drive(case, base, before, new, state)
    if np.any(gone):
        state = withdraw(base.mesh, gone, standing, state)
    material = material_at(case, situation, *base.mesh.centroids.T)
    state = _fresh(base.mesh, before.acting.material, material, state)
    state = replace(state, stress=without_excess(state.stress, case.soils, np.repeat(material, N_POINTS), situation.drained))
    return replace(state, springs=memory_of(case, before.situation, situation, state.springs))


def _fresh(mesh: Mesh, before, now, state: State) -> State:
    """Material just placed (``before`` and ``now`` (m,)) is stress-free, and so are its joints with the walls: nothing of what stood there once is left."""
    new = (now >= 0) & (now != before)
    if not np.any(new):
        return state
    stress, rest, gap, traction = state.stress.copy(), state.rest.copy(), state.gap.copy(), state.traction.copy()
    stress.reshape(len(new), -1)[new] = 0.0
    rest.reshape(-1, N_POINTS)[new] = 0.0
    placed = (mesh.faces >= 0) & new[mesh.faces]
    gap[placed], traction[placed] = 0.0, 0.0
    return replace(state, stress=stress, rest=rest, gap=gap, traction=traction)


def _beams(case, mesh: Mesh, standing):
    sheets = [w.sheet for w in case.walls]
    rigidity = np.array([(s.EA, s.EI * s.stiffness_factor, s.shear_stiffness) for s in sheets]).reshape(-1, 3)
    capacity = np.array([s.moment_capacity if s.hinges and s.moment_capacity else np.inf for s in sheets])
    wall = mesh.segment_wall[standing]
    return make_beams(mesh.wall_points, mesh.segments[standing], rigidity[wall], capacity[wall])


def _joints(case: Case, mesh: Mesh, situation: Situation, acting: Actions):
    """Joints of all standing faces with ground, and their flat indices into (s, 2, 3). At faces of undrained soil adhesion is all that holds."""
    area = face_areas(mesh)
    places = mesh.wall_points[mesh.segments] + mesh.origin
    share = np.array([w.friction_share for w in case.walls]).reshape(-1, 2)
    columns, index = [], []
    for face in (LEFT, RIGHT):
        material = face_material(mesh, acting.material, face)
        for i, soil in enumerate(case.soils):
            s = np.flatnonzero(acting.standing & (material == i))
            x, y = places[s].reshape(-1, 2).T
            keep = share[mesh.segment_wall[s], face].repeat(3)
            friction = soil.wall_friction
            normal = np.tile(OUTWARD[face], (len(y), 1))
            tan = np.full(len(y), np.tan(friction.angle) if drains(soil, situation) else 0.0)
            columns.append((
                mesh.face_nodes[s, face].ravel(), mesh.segments[s].ravel(), normal, area[s].ravel(),
                joint_stiffness(soil, mean_pressure(case, x + 1e-3 * OUTWARD[face, 0], y), y),
                friction.adhesion * keep, tan * keep, acting.gap_water[s, face].ravel(),
            ))  # fmt: skip
            index.append(((2 * s + face)[:, None] * 3 + np.arange(3)).ravel())
    if not columns:
        empty = np.zeros(0)
        return Joints(empty.astype(int), empty.astype(int), np.zeros((0, 2)), empty, np.zeros((0, 2)), empty, empty, empty), empty.astype(int)
    order = np.argsort(np.concatenate(index))  # forces are summed in the same order whatever the order of the soils in the file
    return Joints(*(np.concatenate(c)[order] for c in zip(*columns))), np.concatenate(index)[order]


def joint_stiffness(soil, p, level):
    """Normal and shear stiffness (k, 2) of joints against a soil at mean stresses before the works (k,) [kPa] and levels (k,) [kN/m3]."""
    E, nu = working_modulus(soil, p, level), min(soil.poisson_ratio, 0.35)
    one_dimensional = E * (1 - nu) / ((1 + nu) * (1 - 2 * nu))
    return JOINT_STIFFNESS * np.column_stack([one_dimensional, E / (2 * (1 + nu))])


def record_of(step: Step, outcome: Outcome) -> Record:
    """Record of a stage from the end of its search."""
    effort: Effort = outcome.effort
    error = equilibrium_error(step, outcome.state) if outcome.converged else float("nan")
    return Record(
        step.situation.name, outcome.converged, outcome.share, effort.iterations, effort.factorisations, effort.relaxations, effort.cuts,
        outcome.residual, outcome.stress_correction, error, prop_loads(step, outcome.state), failure=failure_of(step, outcome),
    )  # fmt: skip
