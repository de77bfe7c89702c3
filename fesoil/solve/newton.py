"""From one state to equilibrium under new loads: Newton, line search, fall-back direction, relaxation, and only then smaller steps.

Residuals are the norm of the out-of-balance nodal forces over the norm ``scale`` of the nodal weights of the active ground. The order of attempts and its
numbers come from an earlier study of a braced pit (see DEVELOPERS.md): with psi = 0, plain Newton stalls on fine meshes far from collapse, and pseudo-viscous
relaxation (overstress after Duvaut and Lions 1972, from memory) gets through without cutting the load.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Callable, NamedTuple

import numpy as np

from fesoil import linear
from fesoil.result.state import State
from fesoil.solve.system import Model, Trial

TOLERANCE = 1e-4
RELAXED_TOLERANCE = 2e-4
STALLED = 1e-3
"""Residual up to which a search that stalled still counts: what it leaves unbalanced is taken up by the relaxation step after it."""

THETA = 0.03
"""Share of the trial stress kept in relaxation."""

STIFFER_THETA = 0.3
"""The same for a step that is too hard otherwise: it leaves more overstress, which the steps after it take off."""

FALL_BACK = 0.3
"""Share of elastic stiffness in the second search direction, when no step along the first reduces the residual."""

STUBBORN = 4
"""Iterations for which the fall-back direction goes first after the exact one has failed."""

SEARCH = (1.0, 0.5, 0.25, 0.125, 0.06)
CREEP = (0.03, 0.015, 0.0075)
"""Shares of the exact direction that are tried when no greater one reduces the residual along either."""

LOOK_BACK = 5
STEADY = 0.97
"""A relaxation step that is, on average over ``LOOK_BACK`` steps, more than this share of the one before it does not die away."""

MOST_ITERATIONS, PATIENCE, MOST_RELAXATIONS = 120, 30, 120
SMALLEST_STEP = 1 / 64

Report = Callable[..., None]


@dataclass
class Effort:
    """What the search for equilibrium cost: Newton iterations, matrices factored, relaxation steps and load cuts."""

    iterations: int = 0
    factorisations: int = 0
    relaxations: int = 0
    cuts: int = 0


@dataclass(frozen=True)
class Outcome:
    """End of a search. ``share`` of the load that was reached (1 when converged), ``residual`` at the end, ``stress_correction``: largest stress
    that the last relaxation step still took off [kPa] (0 where none was needed), ``effort``; ``failing`` increments (zero + 1,) with which the model moves on under
    the load that it could not hold, None where it converged; ``goes_on``: that movement was seen to go on, the sign of a mechanism. Where it was not, the search came
    to no end, which says nothing of the ground."""

    state: State
    converged: bool
    share: float
    residual: float
    stress_correction: float = 0.0
    effort: Effort = field(default_factory=Effort)
    failing: np.ndarray | None = None
    goes_on: bool = False


class Attempt(NamedTuple):
    """End of one attempt at a load: ``state`` in equilibrium, None where none was found; its ``residual`` and ``stress_correction`` [kPa]; ``goes_on`` as in ``Outcome``."""

    state: State | None
    residual: float = np.nan
    stress_correction: float = 0.0
    goes_on: bool = False


@dataclass(frozen=True)
class _Search:
    """One Newton search: increments, forces there, and the residual."""

    step: np.ndarray
    trial: Trial
    residual: float
    converged: bool


def equilibrate(model: Model, state: State, load, scale, prescribed=None, report: Report | None = None, tolerance=TOLERANCE) -> Outcome:
    """Bring a model from a state to equilibrium under a load.

    Parameters
    ----------
    load : array (zero + 1,)
        Nodal forces to be held at the end.
    scale : float
        Norm of the nodal weights [kN/m].
    prescribed : array (zero - free,) or None
        Movement of the prescribed unknowns.
    report : callable or None
        Called as report(share=..., iteration=..., residual=...).

    Notes
    -----
    The out-of-balance force at the start is applied as a ramp: load - (1 - share) R0, in steps as large as equilibrium allows.
    """
    effort, free = Effort(), model.unknowns.free
    move = np.zeros(model.unknowns.zero - free) if prescribed is None else np.asarray(prescribed, float)
    out_of_balance = load - model.evaluate(state, np.zeros(len(load)), tangent=False).force
    reached, size, correction, goes_on = 0.0, 1.0, 0.0, False
    residual = float(np.linalg.norm(out_of_balance[:free]) / scale)
    while reached < 1:
        share = min(reached + size, 1.0)
        target = load - (1 - share) * out_of_balance
        notify = (lambda iteration, r: report(share=share, iteration=iteration, residual=r)) if report else None
        before = effort.iterations
        end = attempt(model, state, target, (share - reached) * move, scale, effort, notify, tolerance)
        if end.state is None:
            goes_on = goes_on or end.goes_on
            size /= 2
            effort.cuts += 1
            if size < SMALLEST_STEP:
                return Outcome(state, False, reached, residual, correction, effort, _failing(model, state, target, move, scale), goes_on)
            continue
        state, residual, correction = end.state, end.residual, max(correction, end.stress_correction)
        reached, goes_on = share, False
        if effort.iterations - before <= 8:
            size *= 2
    return Outcome(state, True, 1.0, residual, correction, effort)


def _failing(model, state, target, move, scale):
    """Increments with which a model moves on under a load that it does not hold: of the last of a few relaxation steps."""
    effort, still = Effort(), np.zeros_like(move)
    step = newton(model, state, target, still, scale, effort, theta=THETA).step
    for _, _, step, _ in relaxation(model, state, target, still, scale, effort, most=8):
        pass
    return step


def attempt(model, state, target, move, scale, effort, notify=None, tolerance=TOLERANCE):
    """Equilibrium with a target by Newton, else by relaxation.

    A search that stalls below the residual that counts after relaxation counts as well; one that stalls near it is where relaxation begins.
    """
    plain = newton(model, state, target, move, scale, effort, notify=notify, tolerance=tolerance)
    if plain.converged or tolerance == TOLERANCE and plain.residual < RELAXED_TOLERANCE:
        return Attempt(model.accept(state, plain.step, plain.trial), plain.residual)
    if plain.residual < STALLED:
        state, move = model.accept(state, plain.step, plain.trial), np.zeros_like(move)
    moved = []
    for state, residual, step, correction in relaxation(model, state, target, move, scale, effort, notify=notify):
        if residual < RELAXED_TOLERANCE:
            return Attempt(state, residual, correction)
        moved.append(float(np.abs(step).max()))
        if goes_on(moved):
            return Attempt(None, goes_on=True)
    return Attempt(None)


def goes_on(moved):
    """Whether the greatest movements of relaxation steps settle at a rate instead of dying away: the sign of a mechanism."""
    return len(moved) > LOOK_BACK + 2 and moved[-1] > STEADY**LOOK_BACK * moved[-1 - LOOK_BACK]


def relaxation(model, state, target, move, scale, effort, notify=None, most=MOST_RELAXATIONS):
    """Relax at constant load: yields (true state, its residual, increments, largest stress taken off [kPa]) after each step; ends where a step fails, or stalls before
    it has moved anything."""
    still = np.zeros(model.unknowns.zero + 1)
    for _ in range(most):
        for theta in (THETA, STIFFER_THETA):
            search = newton(model, state, target, move, scale, effort, theta=theta, notify=notify)
            if search.converged or search.residual < STALLED and np.any(search.step):
                break
        else:
            return
        effort.relaxations += 1
        state, move = model.accept(state, search.step, search.trial), np.zeros_like(move)
        true = model.evaluate(state, still, tangent=False)
        correction = float(np.abs(true.ground.stress - search.trial.ground.stress).max(initial=0.0))
        yield model.accept(state, still, true), _norm(model, target, true, scale), search.step, correction


def _norm(model, target, trial, scale):
    return float(np.linalg.norm((target - trial.force)[: model.unknowns.free]) / scale)


def newton(model: Model, state: State, target, move, scale, effort: Effort, theta=0.0, notify=None, tolerance=TOLERANCE) -> _Search:
    """Newton's method with the exact tangent and a monotone line search."""
    step = _first_step(model, state, target, move, effort, theta)
    trial = model.evaluate(state, step, theta)
    residual, history, fall_backs = _norm(model, target, trial, scale), [], 0
    while not residual < tolerance:
        history.append(residual)
        if len(history) > MOST_ITERATIONS or _hopeless(history) or not np.isfinite(residual):
            return _Search(step, trial, residual, False)
        effort.iterations += 1
        if notify:
            notify(len(history), residual)
        # where the exact direction has just failed it mostly fails again, so for some iterations the other one goes first
        exact_first = fall_backs % STUBBORN == 0
        found, exact = None, None
        for blend in (0.0, FALL_BACK) if exact_first else (FALL_BACK, 0.0):
            try:
                direction = _direction(model, state, step, trial, target, theta, blend, effort)
            except linear.Singular:
                continue
            exact = exact if blend else direction
            found = _line_search(model, state, step, direction, target, scale, residual, theta)
            if found:
                fall_backs = fall_backs + 1 if blend else 0
                break
        if not found and exact is not None:
            found = _line_search(model, state, step, exact, target, scale, residual, theta, CREEP)
        if not found:
            return _Search(step, trial, residual, False)
        step, trial, residual = found
    return _Search(step, trial, residual, True)


def _hopeless(history):
    """Whether the last ten iterations brought too little: the best of them above 0.7 of the best before."""
    return len(history) >= PATIENCE and min(history[-10:]) > 0.7 * min(history[:-10])


def _first_step(model, state, target, move, effort, theta):
    """Increments to begin with: prescribed movement taken up by the tangent at the start, else nothing.

    Without this predictor the elements beside a prescribed boundary would turn plastic at once.
    """
    step = np.zeros(model.unknowns.zero + 1)
    if not np.any(move):
        return step
    free = model.unknowns.free
    step[free:-1] = move
    start = model.evaluate(state, np.zeros_like(step), theta)
    rhs = (target - start.force - model.times(start, step))[:free]
    effort.factorisations += 1
    try:
        step[:free] = linear.solve(model.matrix(start), rhs)
    except linear.Singular:
        pass
    return step


def _direction(model, state, step, trial, target, theta, blend, effort):
    """Newton direction with a share ``blend`` of elastic stiffness in the ground's tangent."""
    tangent = None
    if blend:
        strain = (model.strain @ step).reshape(-1, 4)
        tangent = model.ground.update(strain, state.stress[model.points], theta + blend * (1 - theta)).tangent
    effort.factorisations += 1
    free = model.unknowns.free
    direction = np.zeros_like(step)
    direction[:free] = linear.solve(model.matrix(trial, tangent), (target - trial.force)[:free])
    return direction


def _line_search(model, state, step, direction, target, scale, residual, theta, shares=SEARCH):
    """First share of the direction that reduces the residual enough: (step, trial, residual), or None."""
    kinks = [k for k in model.kinks(state, step, direction) if 0.002 < k < 1] if shares is SEARCH else []
    for eta in sorted({*shares, *kinks}, reverse=True):
        tried = step + eta * direction
        trial = model.evaluate(state, tried, theta, tangent=eta == 1.0)
        norm = _norm(model, target, trial, scale)
        if norm < (1 - 0.1 * eta) * residual:
            return tried, trial if eta == 1.0 else model.evaluate(state, tried, theta), norm
    return None
