"""What a solved stage holds: loads of the props, and the check of global equilibrium."""

from __future__ import annotations

import numpy as np

from fesoil.result.state import State
from fesoil.solve.actions import Step
from fesoil.solve.newton import Outcome
from fesoil.solve.system import PRESSURE


def prop_loads(step: Step, state: State) -> dict[str, float]:
    """Load of each acting frame and slab [kN/m], compression positive."""
    loads = dict(step.pushed)
    for name in step.model.spring_names:
        kind, _, rest = name.partition(":")
        if kind in ("frame", "slab"):
            loads[rest] = max(state.springs[name], 0.0)
    return loads


def equilibrium_error(step: Step, state: State) -> float:
    """Largest of the sums of horizontal force, vertical force and moment over the total weight: of reactions, props and actions on the whole section,
    and of tractions, water, props and weight on each wall by itself.

    Moments are taken about the middle of the section (of the wall's own place for a wall) and divided by the section's width.
    """
    model, mesh = step.model, step.model.base.mesh
    force = model.evaluate(state, np.zeros(len(step.load)), tangent=False).force
    reaction = (force - step.load)[model.unknowns.soil]
    held = (model.unknowns.soil >= model.unknowns.free) & (model.unknowns.soil < model.unknowns.zero)
    reaction = np.where(held, reaction, 0.0)
    copies = np.bincount(model.unknowns.soil.ravel(), minlength=model.unknowns.zero + 1)[model.unknowns.soil]
    soil = step.acting.soil - model.base.soil_forces(step.acting.pore[..., None] * PRESSURE) + reaction / np.maximum(copies, 1)
    wall = step.acting.wall.copy()
    _props(step, state, wall)
    centre = np.array([(mesh.box[0] + mesh.box[1]) / 2, (mesh.box[2] + mesh.box[3]) / 2])
    arm, wall_arm = mesh.points - centre, mesh.wall_points - centre
    moment = np.sum(arm[:, 0] * soil[:, 1] - arm[:, 1] * soil[:, 0]) + np.sum(wall_arm[:, 0] * wall[:, 1] - wall_arm[:, 1] * wall[:, 0])
    sums = np.abs([*(soil.sum(axis=0) + wall[:, :2].sum(axis=0)), moment / (mesh.box[1] - mesh.box[0]), *_wall_sums(step, force)])
    return float(sums.max() / np.abs(step.acting.weight[:, 1].sum()))


def _wall_sums(step: Step, force):
    """Sums of horizontal force, vertical force and moment over width, of what acts on each wall from outside [kN/m]; a beam's own forces cancel."""
    model, mesh = step.model, step.model.base.mesh
    left = (step.load - force)[model.unknowns.wall]
    sums = []
    for i in np.unique(mesh.segment_wall[model.standing]):
        nodes = np.unique(mesh.segments[model.standing & (mesh.segment_wall == i)])
        level = mesh.wall_points[nodes, 1] - mesh.wall_points[nodes, 1].mean()
        moment = (left[nodes, 2] - level * left[nodes, 0]).sum()
        sums += [left[nodes, 0].sum(), left[nodes, 1].sum(), moment / (mesh.box[1] - mesh.box[0])]
    return sums


def _props(step: Step, state: State, wall) -> None:
    """Forces of springs that end at the axis of symmetry; those between two walls are internal."""
    model = step.model
    where = {number: (node, d) for node in range(len(wall)) for d, number in enumerate(model.unknowns.wall[node, :2])}
    for name, a, b, two_way in zip(model.spring_names, model.springs.a, model.springs.b, model.springs.two_way):
        load = state.springs[name] if two_way else max(state.springs[name], 0.0)
        for number, sign in ((a, -1.0), (b, 1.0)):
            other = b if sign < 0 else a
            if other == model.unknowns.zero and number in where:
                node, d = where[number]
                wall[node, d] += sign * load


def failure_of(step: Step, outcome: Outcome) -> dict:
    """Where a stage that found no equilibrium moves on: place of the greatest movement, points at yield, the movement itself, and whether it was seen to go on."""
    if outcome.failing is None:
        return {}
    model, mesh = step.model, step.model.base.mesh
    movement = outcome.failing[model.unknowns.soil]
    size = np.hypot(*movement.T)
    x, level = mesh.points[np.argmax(size)] + mesh.origin
    yielded = model.evaluate(outcome.state, outcome.failing, tangent=False).ground.yielded
    relative = (movement / (size.max() or 1.0)).round(4)
    return {"x": float(x), "level": float(level), "yielded": float(np.mean(yielded > 0)), "goes_on": outcome.goes_on, "mechanism": relative.tolist()}
