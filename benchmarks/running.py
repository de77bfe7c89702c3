"""Problems solved side by side, in as many processes as there are cores."""

from __future__ import annotations

import multiprocessing
import os
import time
import traceback
from concurrent.futures import ProcessPoolExecutor

from benchmarks.problem import Answer, Outcome, Problem, Row, solve
from benchmarks.problems import problems
from fesoil.solve.companions import cores


def solve_named(name: str, size: str) -> Outcome:
    """Solve the problem of a name; what another process is asked to do. A problem that breaks off misses, and the others go on."""
    began = time.perf_counter()
    try:
        return solve(next(p for p in problems() if p.name == name), size)
    except Exception as fault:
        traceback.print_exc()
        row = Row(f"broke off: {type(fault).__name__}", 1.0, float("nan"), 0.0, 0.0, str(fault))
        return Outcome(name, (None,), [Answer([row])], [], time.perf_counter() - began)


def outcomes_of(wanted: list[Problem], size: str):
    """Outcomes in order, as they come, from as many processes as there are cores."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # processes, not threads, share the cores
    workers = min(cores(), len(wanted))
    if workers == 1:
        yield from (solve_named(p.name, size) for p in wanted)
        return
    with ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("spawn")) as pool:
        yield from pool.map(solve_named, [p.name for p in wanted], [size] * len(wanted))
