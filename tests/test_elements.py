"""Elements one by one and assembled: patch tests, rigid modes, rates of convergence, joints, springs, and another code's answer.

Sources of what is expected: the patch test after Irons & Razzaque 1972 and Taylor, Simo, Zienkiewicz & Chan 1986 (from memory); all else is algebra
that stands beside the check. Exact problems must be met to round-off, 1e-10 unless a reason is given.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import skfem
from reference import WEIGHT, basis_of, freedoms, supports
from skfem.helpers import ddot, sym_grad, trace

from benchmarks.common import boxed, lattice, mesh_of, mohr_coulomb, movement, no_wall_force, one_material, plain_mesh, pressed, straightened, weight
from fesoil.elements import joint
from fesoil.elements.beam import make_beams
from fesoil.elements.joint import Joints, simpson
from fesoil.elements.spring import Springs
from fesoil.elements.triangle import gradients, make_triangles, shapes
from fesoil.result.state import blank_state
from fesoil.soils.elastic import Elastic, elastic_stiffness
from fesoil.soils.ground import Ground
from fesoil.solve.newton import equilibrate
from fesoil.solve.system import Prop, make_base, make_model

E, NU = 20e3, 0.3
G, LAME = E / (2 * (1 + NU)), E * NU / ((1 + NU) * (1 - 2 * NU))
M = E * (1 - NU) / ((1 + NU) * (1 - 2 * NU))
EXACT = 1e-10


def elastic(points):
    return Elastic(NU, np.full(len(points), E))


def patch(nx=3, ny=2, seed=3):
    """Irregular patch of straight-sided triangles on the unit square, with interior corners moved about."""
    points, triangles = lattice(nx, ny)
    inner = np.all((points > 1e-9) & (points < 1 - 1e-9), axis=1)
    points[inner] += np.random.default_rng(seed).uniform(-0.25, 0.25, (inner.sum(), 2)) / [nx, ny]
    return mesh_of(straightened(points, triangles), triangles)


def border(mesh):
    left, right, bottom, top = mesh.box
    x, y = mesh.points.T
    return (np.abs(x - left) < 1e-9) | (np.abs(x - right) < 1e-9) | (np.abs(y - bottom) < 1e-9) | (np.abs(y - top) < 1e-9)


def solved(mesh, fixed, forces=None, moves=None, law=elastic, tolerance=1e-11):
    """Model and state in equilibrium with nodal forces (n, 2) and prescribed movements (n, 2)."""
    model = one_material(mesh, law, fixed)
    load = model.reduce(np.zeros(mesh.points.shape) if forces is None else forces, no_wall_force(mesh))
    scale = np.linalg.norm(load) or E * np.abs(moves).max()
    outcome = equilibrate(model, blank_state(mesh), load, scale, None if moves is None else movement(model, moves), tolerance=tolerance)
    assert outcome.converged
    return model, outcome.state


def close(found, expected, tolerance=EXACT):
    return np.abs(found - expected).max() < tolerance * np.abs(expected).max()


# ------------------------------------------------------------------------------------------------------------------- triangles


def test_linear_patch():
    mesh, slope = patch(), np.array([[1.0, 2.0], [3.0, -1.0]]) * 1e-3
    field = [0.1e-3, -0.2e-3] + mesh.points @ slope.T
    model, state = solved(mesh, np.repeat(border(mesh)[:, None], 2, axis=1), moves=field)
    strain = np.array([slope[0, 0], slope[1, 1], 0.0, slope[0, 1] + slope[1, 0]])
    assert close(state.u, field)
    assert close(state.stress[:, 0], np.tile(strain @ elastic_stiffness(np.array([E]), NU)[0], (len(state.stress), 1)))


def test_traction_patch():
    mesh, (sx, sy, sxy) = patch(), (100.0, 40.0, 25.0)
    left, right, bottom, top = mesh.box
    x, y = mesh.points.T
    push = lambda on, along, across: pressed(mesh, on, along) + shear(mesh, on, across)  # noqa: E731
    sides = (
        (np.abs(x - left) < 1e-9, -sx, sxy), (np.abs(x - right) < 1e-9, -sx, sxy), (np.abs(y - bottom) < 1e-9, -sy, -sxy),
        (np.abs(y - top) < 1e-9, -sy, -sxy),
    )
    forces = sum(push(on, normal, across) for on, normal, across in sides)
    fixed = np.zeros((len(x), 2), bool)
    fixed[np.hypot(x - left, y - bottom) < 1e-9] = True
    fixed[np.hypot(x - right, y - bottom) < 1e-9, 1] = True
    _, state = solved(mesh, fixed, forces)
    assert close(state.stress[:, 0], np.tile([sx, sy, NU * (sx + sy), sxy], (len(state.stress), 1)))


def shear(mesh, on, value):
    """Nodal forces (n, 2) of a traction along sides, positive anticlockwise round the body: a pressure turned back a quarter."""
    normal = pressed(mesh, on, value)
    return np.column_stack([normal[:, 1], -normal[:, 0]])


def test_quadratic_patch():
    mesh = patch()
    x, y = mesh.points.T
    field = np.column_stack([x**2 + x * y, y**2 - 2 * x * y])
    # strains 2x + y, 2y - 2x, shear x - 2y; body force = -div(stress), constant
    body = -np.array([M * 2 + LAME * -2 + G * -2, M * 2 + LAME * 1 + G * 1])
    forces = make_base(mesh).triangles.body_force(np.broadcast_to(body, (len(mesh.triangles), 3, 2)))
    _, state = solved(mesh, np.repeat(border(mesh)[:, None], 2, axis=1), forces, field)
    assert close(state.u, field, 1e-9)


def test_a_free_triangle_has_three_rigid_modes_and_no_other():
    points, triangles = lattice(1, 1)
    points = straightened(points @ np.array([[1.0, 0.2], [-0.3, 0.8]]), triangles)
    triangle = make_triangles(points, triangles[:1])
    blocks = triangle.stiffness(np.tile(elastic_stiffness(np.array([E]), NU), (1, 3, 1, 1)))
    K = blocks[:, :, 0].transpose(0, 2, 1, 3).reshape(12, 12)
    values = np.linalg.eigvalsh((K + K.T) / 2)
    assert np.abs(K - K.T).max() < 1e-12 * np.abs(K).max()
    assert np.abs(values[:3]).max() * 1e8 < values[3]


def test_stiffness_and_forces_agree_on_curved_sides():
    grid, triangles = lattice(2, 2)
    radius, angle = 1 + grid[:, 0], np.pi / 2 * grid[:, 1]
    mesh = mesh_of(np.column_stack([radius * np.cos(angle), radius * np.sin(angle)]), triangles)
    model = one_material(mesh, elastic, np.zeros((len(mesh.points), 2), bool))
    step = np.append(np.random.default_rng(1).normal(size=model.unknowns.free), 0.0)
    trial = model.evaluate(blank_state(mesh), step)
    assert close(model.matrix(trial) @ step[:-1], trial.force[:-1], 1e-12)
    assert abs(model.triangles.weight.sum() - 0.75 * np.pi) < 2e-3  # area of the ring: quadratic sides leave an error of fourth order


def test_gravity_column():
    height, gamma = 10.0, 20.0
    points, triangles = lattice(1, 4)
    mesh = mesh_of(points * [2.0, height], triangles)
    _, state = solved(mesh, boxed(mesh), weight(make_base(mesh), gamma))
    y = mesh.points[:, 1]
    assert close(state.u[:, 1], -gamma / M * (height * y - y**2 / 2), 1e-9)
    assert state.u[:, 1].min() == pytest.approx(-0.0371429, rel=2e-6)
    depth = height - make_base(mesh).triangles.points.reshape(-1, 2)[:, 1]
    assert close(state.stress[:, 0, 0], -NU / (1 - NU) * gamma * depth, 1e-9)


def test_convergence_rates():
    errors = np.array([manufactured(n) for n in (4, 8, 16)])
    l2, energy = np.log2(errors[-2] / errors[-1])
    assert l2 > 2.8 and energy > 1.8  # 3 and 2 in the limit


def manufactured(n):
    """Errors in L2 and in energy of u = (sin pi x sin pi y, x (1 - x) sin pi y) on n by n cells, a little distorted."""
    points, triangles = lattice(n, n)
    points = points + 0.04 * np.sin(np.pi * points[:, :1]) * np.sin(np.pi * points[:, 1:]) * [1.0, -1.0]
    mesh = mesh_of(straightened(points, triangles), triangles)
    places = make_base(mesh).triangles.points
    forces = make_base(mesh).triangles.body_force(body_of(*np.moveaxis(places, -1, 0)))
    _, state = solved(mesh, np.repeat(border(mesh)[:, None], 2, axis=1), forces, field_of(*mesh.points.T)[0])
    local, weights = skfem.quadrature.get_quadrature_tri(6)
    corners, moved = mesh.points[mesh.triangles], state.u[mesh.triangles]
    jacobian = np.einsum("kai,eid->ekad", gradients(local.T), corners)
    area = np.linalg.det(jacobian) * weights
    u, slope = field_of(*np.moveaxis(np.einsum("ki,eid->ekd", shapes(local.T), corners), -1, 0))
    off = u - np.einsum("ki,eid->ekd", shapes(local.T), moved)
    grad = np.einsum("ekab,kbi,eid->ekda", np.linalg.inv(jacobian), gradients(local.T), moved)
    strain = (slope - grad + np.swapaxes(slope - grad, -1, -2)) / 2
    density = LAME * np.trace(strain, axis1=-2, axis2=-1) ** 2 + 2 * G * np.sum(strain**2, axis=(-2, -1))
    return np.sqrt([np.sum(area * np.sum(off**2, axis=-1)), np.sum(area * density)])


def field_of(x, y):
    """The field (..., 2) and its slopes (..., direction, by)."""
    s, c, p = np.sin, np.cos, np.pi
    u = np.stack([s(p * x) * s(p * y), x * (1 - x) * s(p * y)], axis=-1)
    u_x = np.stack([p * c(p * x) * s(p * y), (1 - 2 * x) * s(p * y)], axis=-1)
    u_y = np.stack([p * s(p * x) * c(p * y), p * x * (1 - x) * c(p * y)], axis=-1)
    return u, np.stack([u_x, u_y], axis=-1)


def body_of(x, y):
    """Body force that goes with the field: -(lame + G) grad(div u) - G laplacian(u)."""
    s, c, p = np.sin, np.cos, np.pi
    div_x = -(p**2) * s(p * x) * s(p * y) + p * (1 - 2 * x) * c(p * y)
    div_y = p**2 * c(p * x) * c(p * y) - p**2 * x * (1 - x) * s(p * y)
    laplace = np.stack([-2 * p**2 * s(p * x) * s(p * y), -2 * s(p * y) - p**2 * x * (1 - x) * s(p * y)], axis=-1)
    return -(LAME + G) * np.stack([div_x, div_y], axis=-1) - G * laplace


def test_turning_everything_turns_the_answer():
    points, triangles = lattice(4, 3)
    turn = np.array([[np.cos(np.pi / 6), -np.sin(np.pi / 6)], [np.sin(np.pi / 6), np.cos(np.pi / 6)]])
    results = []
    for R in (np.eye(2), turn):
        mesh = mesh_of(points @ R.T, triangles)
        base = make_base(mesh)
        forces = base.triangles.body_force(np.broadcast_to(R @ [3.0, -20.0], (len(triangles), 3, 2)))
        place = mesh.points @ R
        forces = forces + pressed(mesh, (place[:, 1] > 1 - 1e-9) & (place[:, 0] > 0.49), 50.0)
        _, state = solved(mesh, np.repeat((place[:, 1] < 1e-9)[:, None], 2, axis=1), forces)
        sxx, syy, szz, sxy = state.stress[:, 0].T
        results.append((state.u @ R, R.T @ np.array([[sxx, sxy], [sxy, syy]]).transpose(2, 0, 1) @ R, szz))
    for first, second in zip(*results):
        assert close(second, first)


# ----------------------------------------------------------------------------------------------------------------------- beams


def test_beam_has_three_rigid_modes_and_no_other():
    points = np.array([[0.3, 0.2], [1.5, 1.8], [0.9, 1.0]])
    beams = make_beams(points, np.array([[0, 1, 2]]), np.array([[2e6, 5e4, 4e5]]), np.array([np.inf]))
    K = beams.stiffness(np.repeat(beams.rigidity[:, None], 2, axis=1))[0]
    x, y = points.T
    modes = np.zeros((3, 3, 3))  # mode, node, freedom
    modes[0, :, 0] = modes[1, :, 1] = modes[2, :, 2] = 1.0
    modes[2, :, 0], modes[2, :, 1] = -y, x
    assert np.abs(K @ modes.reshape(3, 9).T).max() < 1e-12 * np.abs(K).max()
    values = np.linalg.eigvalsh(K)
    assert np.abs(values[:3]).max() * 1e8 < values[3]


# ---------------------------------------------------------------------------------------------------------------------- joints


def block_on_joint(normal, k=(2e5, 1e5), adhesion=10.0, friction=20.0):
    """Joint of 2 m under a rigid block that presses with ``normal`` [kPa, compression]: joints, memory of the gap, shear."""
    area = simpson([2.0])[0]
    n = len(area)
    pairs = Joints(
        np.arange(n), np.arange(n), np.tile([0.0, 1.0], (n, 1)), area, np.tile(k, (n, 1)), np.full(n, adhesion),
        np.full(n, np.tan(np.radians(friction))), np.zeros(n),
    )
    return pairs, np.full(n, -normal), np.zeros(n)


def test_direct_shear_of_a_joint():
    pairs, gap, shear = block_on_joint(50.0)
    limit = 10.0 * 2 + 100.0 * np.tan(np.radians(20))  # adhesion times length and N tan(delta), N = 100 kN/m: 56.3970
    assert limit == pytest.approx(56.3970, rel=1e-6)
    for slip in (1e-4, 2.5e-4, 2.81985e-4, 1e-3):
        traction, tangent, _ = pairs.update(np.tile([-slip, 0.0], (3, 1)), gap, shear)  # along is a quarter turn left of the normal: -x
        force = pairs.forces(traction).sum(axis=0)
        assert force == pytest.approx([-min(1e5 * 2 * slip, limit), -100.0], rel=1e-6 if slip == 2.81985e-4 else EXACT)
    traction, _, gap = pairs.update(np.tile([-1e-3, 0.0], (3, 1)), gap, shear)
    back, _, _ = pairs.update(np.tile([1e-4, 0.0], (3, 1)), gap, traction[:, 1])
    assert back[:, 1] == pytest.approx(traction[:, 1] - 10.0, rel=EXACT)  # it unloads elastically


def test_friction_follows_the_pressure():
    pairs, gap, shear = block_on_joint(50.0, adhesion=0.0)
    traction, tangent, _ = pairs.update(np.tile([-5e-3, -2e-4], (3, 1)), gap, shear)
    assert traction[:, 0] == pytest.approx(np.full(3, -90.0))
    assert traction[:, 1] == pytest.approx(np.full(3, 90.0 * np.tan(np.radians(20))))
    assert tangent[:, 1, 0] == pytest.approx(np.full(3, -2e5 * np.tan(np.radians(20))))


def test_a_joint_opens_and_closes_at_the_same_gap():
    pairs, gap, shear = block_on_joint(50.0)
    open_, _, gap = pairs.update(np.tile([0.0, 3e-3], (3, 1)), gap, shear)
    assert np.all(open_ == 0.0)
    still_open, _, gap = pairs.update(np.tile([0.0, -2.74e-3], (3, 1)), gap, open_[:, 1])
    assert np.all(still_open == 0.0)
    closed, _, gap = pairs.update(np.tile([0.0, -0.26e-3], (3, 1)), gap, still_open[:, 1])
    assert closed[:, 0] == pytest.approx(np.full(3, -50.0), rel=EXACT)


def test_water_presses_in_an_open_gap():
    pairs, gap, shear = block_on_joint(50.0)
    pairs = Joints(**{**pairs.__dict__, "gap_pressure": np.full(3, 30.0)})
    traction, _, _ = pairs.update(np.tile([-1.0, 3e-3], (3, 1)), gap, shear)
    assert np.all(traction == [-30.0, 0.0])


# --------------------------------------------------------------------------------------------------------------------- springs


def test_springs_are_one_sided_and_yield():
    springs = Springs(np.arange(3), np.arange(3), np.full(3, 1e4), np.array([np.inf, np.inf, 40.0]), np.array([False, True, False]))
    load, tangent, memory = springs.update(np.full(3, -2e-3), np.zeros(3))
    assert load == pytest.approx([0.0, -20.0, 0.0]) and tangent == pytest.approx([0.0, 1e4, 0.0])
    load, _, memory = springs.update(np.full(3, 3e-3), memory)
    assert load == pytest.approx([10.0, 10.0, 10.0])  # the gap of 2 mm closes first
    load, tangent, memory = springs.update(np.full(3, 5e-3), memory)
    assert load == pytest.approx([60.0, 60.0, 40.0]) and tangent[2] == pytest.approx(1.0)
    load, _, _ = springs.update(np.full(3, -1e-3), memory)
    assert load == pytest.approx([50.0, 50.0, 30.0])  # a yielded spring unloads elastically


# -------------------------------------------------------------------------------------------------------------- whole structure


def wall_in_ground():
    """Small block of ground with a wall in its middle, joints on both faces and two springs, at a stressed state near yield everywhere."""
    wall = np.array([[0.0, -2.0, 0.0]])
    mesh = plain_mesh((-2.0, 2.0, -3.0, 0.0), 0.8, wall, walls=wall)
    base, standing = make_base(mesh), np.ones(len(mesh.segments), bool)
    faces, area = mesh.face_nodes, simpson(np.abs(np.diff(mesh.segment_levels, axis=1)).ravel())
    s, n_pairs = len(faces), 6 * len(faces)
    normal = np.broadcast_to(np.array([[-1.0, 0.0], [1.0, 0.0]])[None, :, None], (s, 2, 3, 2)).reshape(-1, 2)
    wall_nodes = np.repeat(mesh.segments[:, None], 2, axis=1).ravel()
    joints = Joints(
        faces.ravel(), wall_nodes, normal, np.repeat(area[:, None], 2, axis=1).ravel(), np.tile([4e5, 1e5], (n_pairs, 1)), np.full(n_pairs, 2.0),
        np.full(n_pairs, 0.3), np.zeros(n_pairs),
    )
    beams = make_beams(mesh.wall_points, mesh.segments, np.tile([2e6, 3e4, 4e5], (s, 1)), np.full(s, np.inf))
    law = mohr_coulomb(2e4, 0.3, 30, 5, 5.0)(base.triangles.points.reshape(-1, 2))
    top = int(np.argmax(mesh.wall_points[:, 1]))
    springs = [Prop("frame", ("wall", top, 0), None, 1e4, np.inf, False), Prop("tie", ("soil", 0, 0), ("wall", top, 0), 2e4, np.inf, True)]
    model = make_model(
        base, np.ones(len(mesh.triangles), bool), Ground(((np.arange(len(law.E)), law),), len(law.E)), standing, beams, joints, np.arange(n_pairs),
        springs, boxed(mesh),
    )
    state = blank_state(mesh)
    state.stress[:, 0] = [-20.0, -50.0, -25.0, 2.0]
    state.gap[:], state.traction[..., 0] = -20.0, -20.0
    return model, type(state)(**{**state.__dict__, "springs": {"frame": 10.0, "tie": 0.0}})


@pytest.mark.parametrize("size", [1e-5, 3e-4, 2e-3])
def test_matrix_is_the_derivative_of_the_forces(monkeypatch, size):
    monkeypatch.setattr(joint, "RESIDUAL", 0.0)  # the shares of stiffness kept on purpose in the tangent only
    model, state = wall_in_ground()
    model = replace(model, ground=replace(model.ground, groups=tuple((points, replace(law, residual=0.0)) for points, law in model.ground.groups)))
    random, free = np.random.default_rng(7), model.unknowns.free
    step = np.append(size * random.normal(size=model.unknowns.zero), 0.0)
    trial = model.evaluate(state, step)
    K, worst = model.matrix(trial), []
    for _ in range(20):
        direction = np.zeros_like(step)
        direction[:free] = random.normal(size=free)
        h = 1e-5 * size
        slope = (model.evaluate(state, step + h * direction).force - model.evaluate(state, step - h * direction).force) / (2 * h)
        product = K @ direction[:free]
        worst.append(np.abs(product - slope[:free]).max() / np.abs(product).max())
        assert close(model.times(trial, direction)[:free], product, 1e-12)
    assert np.median(worst) < 1e-8  # a direction that crosses a kink in its tiny step would stand out; most do not


def test_the_wall_model_is_partly_plastic():
    model, state = wall_in_ground()
    step = np.append(2e-3 * np.random.default_rng(7).normal(size=model.unknowns.zero), 0.0)
    trial = model.evaluate(state, step)
    assert 0.1 < np.mean(trial.ground.yielded > 0) and np.any(trial.traction[:, 0] == 0) and np.any(np.abs(trial.traction[:, 1]) > 0)


# ---------------------------------------------------------------------------------------------------------------- another code


def test_same_answer_as_scikit_fem():
    mesh = plain_mesh((0.0, 12.0, -8.0, 0.0), 0.6, [(4.0, 0.0, 0.0)], points=[(4.0, 0.0)])
    x, y = mesh.points.T
    forces = weight(make_base(mesh), 18.0) + pressed(mesh, (np.abs(y) < 1e-9) & (x < 4 + 1e-9), 75.0)
    _, state = solved(mesh, boxed(mesh), forces)
    assert close(state.u, by_scikit_fem(mesh), 1e-8)


def by_scikit_fem(mesh):
    """Displacements (n, 2) of the same elastic problem by scikit-fem: weight 18 kN/m3, 75 kPa on x < 4 m of the surface."""
    basis = basis_of(mesh)
    facets = basis.mesh.facets_satisfying(lambda p: (np.abs(p[1]) < 1e-9) & (p[0] < 4), boundaries_only=True)
    loaded = skfem.FacetBasis(basis.mesh, basis.elem, facets=facets, intorder=4)
    K = skfem.BilinearForm(lambda u, v, _: LAME * trace(sym_grad(u)) * trace(sym_grad(v)) + 2 * G * ddot(sym_grad(u), sym_grad(v))).assemble(basis)
    f = WEIGHT.assemble(basis, gamma=18.0) + skfem.LinearForm(lambda v, _: -75.0 * v[1]).assemble(loaded)
    return skfem.solve(*skfem.condense(K, f, D=supports(basis)))[freedoms(basis, mesh.points)]
