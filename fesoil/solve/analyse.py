"""A whole analysis: mesh, start, every stage, kept on disk as it goes."""

from __future__ import annotations

import time
from dataclasses import asdict, replace
from importlib.metadata import version
from pathlib import Path
from typing import Callable

import numpy as np

from fesoil.case.model import Case
from fesoil.case.sequence import situations
from fesoil.mesh import make_mesh
from fesoil.result.reading import Result
from fesoil.result.store import DEEPER, Store, at_deeper_base
from fesoil.soils.ground import merged
from fesoil.solve import stages
from fesoil.solve.strength import members_at_capacity, safety_factor, with_capacities
from fesoil.solve.system import Base, make_base


def analyse(case: Case, out=None, report: Callable | None = None, text: str = "", coarseness: float = 1.0, within: bool = False) -> Result:
    """Analyse a case.

    Parameters
    ----------
    case : Case
    out : path or None
        Directory in which every stage is kept as soon as it is finished; a run that was interrupted goes on there.
    report : callable or None
        Called as report(stage=name, number=k, of=n, share=..., iteration=..., residual=...).
    text : str
        The case file's text, kept beside the result.
    coarseness : float
        Factor on the size of all triangles.
    within : bool
        ``out`` lies within the directory of a result, to which it belongs: what another case left there is replaced.

    Returns
    -------
    Result
        With every stage that was reached. The analysis ends at the first stage that finds no equilibrium: its record says so, and
        its state is the last one in equilibrium on the way. Where the case states a deeper rigid base, ``deeper`` is the result for that one, kept in a directory within.

    Raises
    ------
    MeshError, MissingLibrary, ResultError
    """
    mesh, release = make_mesh(case, coarseness), version("fesoil")
    store = Store(out, case, mesh, release, text, within) if out is not None else None
    states, records = _walk(case, make_base(mesh), store, report)
    result, second = Result(case, mesh, tuple(states), tuple(records), release), at_deeper_base(case)
    if second is not None and result.complete:
        result = replace(result, deeper=analyse(second, None if out is None else Path(out) / DEEPER, report, text, coarseness, True))
    if store:
        store.mark(finished=result.complete and (second is None or result.deeper.complete))
    return result


def _walk(case: Case, base: Base, store: Store | None, report):
    """States and records of the start and of each stage that was reached, those that are kept already taken from the store."""
    walk, states, records, step = situations(case), [], [], None
    for index, situation in enumerate(walk):
        kept = store.load(index) if store else None
        if kept is None:
            began = time.perf_counter()
            notify = _notify(report, situation.name, index, len(walk) - 1)
            if index == 0:
                state, record, step = stages.start(case, base, report=notify)
            else:
                before = step or stages.prepare(case, base, walk[index - 1], states[-1])
                state, record, step = stages.run_stage(case, base, before, situation, states[-1], report=notify)
                record = replace(record, reduction=_reduction(case, index, step, state, record, notify))
            record = replace(record, seconds=time.perf_counter() - began, hash=store.hashes[index] if store else "")
            if store:
                store.save(index, state, record)
        else:
            (state, record), step = kept, None
        states.append(state)
        records.append(record)
        if not record.converged:
            break
    return states, records


def _notify(report, name, number, of):
    return (lambda **what: report(stage=name, number=number, of=of, **what)) if report else None


def _reduction(case: Case, index, step, state, record, notify) -> dict:
    """Strength reduction at the end of a stage that asks for it, as plain numbers.

    It is searched in ground of one stiffness: parts side by side have the same strength, but use it only after long movement.
    """
    wanted = case.stages[index - 1].strength_reduction
    if wanted is None or not record.converged:
        return {}
    model, unlimited = with_capacities(case, step)
    model, state = replace(model, ground=model.ground.whole()), replace(state, stress=merged(state.stress, case.soils))
    found = safety_factor(model, state, step.load, step.scale, wanted.largest, wanted.tolerance, members_at_capacity(case, step), notify)
    content = asdict(found)
    return content | {"failed": None if np.isinf(found.failed) else found.failed, "mechanism": found.mechanism.round(4).tolist(), "unlimited_members": unlimited}
