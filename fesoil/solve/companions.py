"""An analysis with its companions: the same case on a coarser and on a finer mesh, which show how far the mesh puts its numbers off."""

from __future__ import annotations

import multiprocessing
import os
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from importlib.metadata import version
from pathlib import Path
from typing import Callable

from fesoil.case.model import Case
from fesoil.mesh import make_mesh
from fesoil.result.reading import Result
from fesoil.result.store import COARSER, FINER, Store, at_this_base
from fesoil.solve.analyse import analyse

COARSENESS = {FINER: 1 / 1.5, COARSER: 1.5}
"""Factor on the size of all triangles, the longer run first: about half and twice as many triangles."""


def analyse_on_three_meshes(case: Case, out=None, report: Callable | None = None, text: str = "") -> Result:
    """As `analyse`; the result has a ``coarser`` and a ``finer`` companion, and so error bars (``Result.trust``).

    The companions run in a process of their own where there is a second core. In a script this wants the usual ``if __name__ == "__main__":``.
    They are kept in directories within ``out``, and go on from where they were when the run is repeated.
    """
    jobs = {name: (at_this_base(case), None if out is None else Path(out) / name, None, text, factor) for name, factor in COARSENESS.items()}
    if _cores() == 1:
        result = analyse(case, out, report, text)
        finer, coarser = (analyse(*job) for job in jobs.values())
        return replace(result, coarser=coarser, finer=finer)
    if out is not None:
        Store(out, case, make_mesh(case), version("fesoil"), text)  # refuses what analyse would refuse, before anything is put into the directory
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # read by the new process: two of them share the cores
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as pool:
        pending = [pool.submit(analyse, *job) for job in jobs.values()]
        try:
            result = analyse(case, out, report, text)
            finer, coarser = (future.result() for future in pending)
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise
    return replace(result, coarser=coarser, finer=finer)


def _cores() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
