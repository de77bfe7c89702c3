"""Safety factor by strength reduction, judged by the movement that relaxation leaves: that Newton did not converge decides nothing.

c, tan(phi), su, the friction and adhesion of joints and the tension limit are divided by F; water is never touched; steel yields where the case states
its capacity. At each F the reduced ground is relaxed at constant load (``newton.relaxation``): below the safety factor the movement of a
relaxation step dies away, above it the step settles at a constant rate. The state at one F is where the next begins.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from fesoil.case.frames import frame_resistance
from fesoil.case.model import Case
from fesoil.result.state import State
from fesoil.solve.actions import Step
from fesoil.solve.newton import RELAXED_TOLERANCE, Effort, goes_on, newton, relaxation
from fesoil.solve.system import Model

FIRST_STEP = 0.1


@dataclass(frozen=True)
class Reduction:
    """Result of a strength reduction.

    ``factor`` largest F found stable, None where not even F = 1 with the members' capacities in force is; ``failed`` smallest F that was not (infinite where
    the search ended at its limit first); ``decided`` whether that was seen by movement that goes on, rather than by a search that came to no end;
    ``mechanism`` (n, 2) movement of the last unstable relaxation step, its greatest 1; ``reached`` first F at which each member was found at its
    capacity; ``trials`` (F, stable or None for undecided, relaxation steps) in the order tried.
    """

    factor: float | None
    failed: float
    decided: bool
    mechanism: np.ndarray
    reached: dict[str, float]
    trials: tuple[tuple[float, bool | None, int], ...]


class Verdict(NamedTuple):
    """Whether movement dies away (None: undecided), the state found, the last increments (zero + 1,), and the relaxation steps."""

    stable: bool | None
    state: State
    step: np.ndarray
    steps: int


def reduced_model(model: Model, factor) -> Model:
    """The model with the strength of ground and joints divided by a factor."""
    joints = replace(model.joints, adhesion=model.joints.adhesion / factor, tan_friction=model.joints.tan_friction / factor)
    return replace(model, ground=model.ground.reduced(factor), joints=joints)


def is_stable(model: Model, state: State, first: State, load, scale, effort: Effort) -> Verdict:
    """Whether a model finds equilibrium: by Newton's method from ``state`` or from the ``first`` one of the search, or by relaxation at constant load until movement dies
    away or is seen to go on. Just below collapse movement dies away so slowly that it seems to go on, and Newton's method may get there from one state and not from another."""
    still = np.zeros(model.unknowns.zero - model.unknowns.free)
    for begin in (state,) if first is state else (state, first):
        plain = newton(model, begin, load, still, scale, effort)
        if plain.converged:
            return Verdict(True, model.accept(begin, plain.step, plain.trial), plain.step, 0)
    moved, step = [], plain.step
    for relaxed, residual, step, _ in relaxation(model, state, load, still, scale, effort):
        moved.append(float(np.abs(step).max()))
        if residual < RELAXED_TOLERANCE:
            return Verdict(True, relaxed, step, len(moved))
        if goes_on(moved):
            return Verdict(False, state, step, len(moved))
    return Verdict(None, state, step, len(moved))


def safety_factor(model: Model, state: State, load, scale, largest=3.0, tolerance=0.01, members=None, report=None) -> Reduction:
    """Search the safety factor of a model in equilibrium; F = 1 comes first, since the members' capacities may be new to it.

    Parameters
    ----------
    largest, tolerance : float
        End of the search, and width of the last bracket.
    members : callable or None
        From (model, state) to the names of members at their capacity.
    report : callable or None
        Called as report(share=F / largest, iteration=..., residual=...).
    """
    low, high, size, current, trial = None, np.inf, FIRST_STEP, state, 1.0
    trials, reached, mechanism, decided = [], {}, np.zeros_like(state.u), True
    while True:
        reduced = reduced_model(model, trial)
        verdict = is_stable(reduced, current, state, load, scale, Effort())
        trials.append((trial, verdict.stable, verdict.steps))
        if verdict.stable:
            low, current = trial, verdict.state
            for name in members(reduced, current) if members else ():
                reached.setdefault(name, trial)
            size *= 1.5 if verdict.steps == 0 and trial > 1 else 1.0
        else:
            high, decided, mechanism = trial, verdict.stable is False, verdict.step[model.unknowns.soil]
        if report:
            report(share=trial / largest, iteration=len(trials), residual=high - (low or 0.0))
        if low is None or high - low <= tolerance or low >= largest:
            return Reduction(low, high, decided, mechanism / (np.abs(mechanism).max() or 1.0), reached, tuple(trials))
        trial = min(low + size, largest) if np.isinf(high) else (low + high) / 2


def _has_strength(step: Step, slab) -> bool:
    return slab.name in step.situation.slabs and step.situation.slabs[slab.name].strength is not None


def with_capacities(case: Case, step: Step) -> tuple[Model, list[str]]:
    """The model of a stage with walls, frames and slabs yielding at their stated capacities, and the names of those that do not yield."""
    model, mesh = step.model, step.model.base.mesh
    moments = np.array([w.sheet.moment_capacity or np.inf for w in case.walls])
    beams = replace(model.beams, capacity=moments[mesh.segment_wall[model.standing]])
    by_name = {f"frame:{f.name}": frame_resistance(f) for f in case.frames}
    by_name |= {f"slab:{s.name}": s.thickness * step.situation.slabs[s.name].strength for s in case.slabs if _has_strength(step, s)}
    limits = np.array([by_name.get(name) or np.inf for name in model.spring_names])
    unlimited = [w.name for w in case.walls if w.name in step.situation.toes and not w.sheet.moment_capacity]
    unlimited += [name.partition(":")[2] for name in model.spring_names if not name.startswith("toe:") and by_name.get(name) is None]
    unlimited += list(step.pushed)  # a load held constant does not yield
    return replace(model, beams=beams, springs=replace(model.springs, limit=np.minimum(model.springs.limit, limits))), unlimited


def members_at_capacity(case: Case, step: Step):
    """From (model, state) to the names of walls with a hinge and of props at their limit."""
    names = np.array([w.name for w in case.walls])[step.model.base.mesh.segment_wall[step.model.standing]]

    def found(model: Model, state: State) -> list[str]:
        hinged = np.any(np.abs(state.section[model.standing][..., 1]) >= 0.999 * model.beams.capacity[:, None], axis=1)
        full = [n for n, limit in zip(model.spring_names, model.springs.limit) if state.springs[n] >= 0.999 * limit]
        return sorted(set(names[hinged].tolist())) + [n.partition(":")[2] for n in full]

    return found
