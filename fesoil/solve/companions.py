"""An analysis with its companions: the same case on a coarser and on a finer mesh, which show how far the mesh puts its numbers off."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Callable

from fesoil.case.model import Case
from fesoil.errors import CompanionLost
from fesoil.result.reading import Result
from fesoil.result.store import COARSER, FINER, read_result
from fesoil.solve.analyse import analyse

COARSENESS = {COARSER: 1.5, FINER: 1 / 1.5}
"""Factor on the size of all triangles: about half and twice as many triangles."""


def analyse_on_three_meshes(case: Case, out=None, report: Callable | None = None, text: str = "") -> Result:
    """As `analyse`; the result has a ``coarser`` and a ``finer`` companion, and so error bars (``Result.trust``), and likewise that for a deeper rigid base.

    The companions run in processes of their own as far as there are cores, which in a script wants the usual ``if __name__ == "__main__":``. They are kept in directories
    within ``out``, and go on from where they were when the run is repeated.

    Raises
    ------
    CompanionLost
        Where a companion was ended from outside; the analysis itself is kept.
    """
    if out is None:
        with TemporaryDirectory() as place:
            return analyse_on_three_meshes(case, Path(place) / "result", report, text)
    jobs = {name: (case, Path(out) / name, None, text, COARSENESS[name], True) for name in (FINER, COARSER)}
    elsewhere = list(jobs)[: cores() - 1]  # the longer one first
    started: dict = {}

    def start() -> None:
        with _one_thread():
            for name in elsewhere:
                if name not in started:
                    started[name] = multiprocessing.get_context("spawn").Process(target=_companion, args=jobs[name], daemon=True)
                    started[name].start()

    def notify(**what) -> None:
        start()  # not before the first news, when it is known that the directory may be written
        if report:
            report(**what)

    try:
        analyse(case, out, notify, text)
        start()
        for name in jobs:
            if name not in started:
                analyse(*jobs[name][:2], report, *jobs[name][3:])
        if report and started:
            report(stage="waiting for the finer mesh", number=len(case.stages), of=len(case.stages), share=1.0, iteration=0, residual=0.0)
        for process in started.values():
            process.join()
    finally:
        for process in started.values():
            process.terminate()
            process.join()
    lost = [name.replace("_", " ") for name, process in started.items() if process.exitcode]
    if lost:
        raise CompanionLost(f"the analysis on the {' and '.join(lost)} ended early (not enough memory?): there are no error bars. Run it again, it goes on from there; without --trust it gives the rest")
    return read_result(out)


def _companion(*job) -> None:
    """What another process does: an analysis that ends with the process that asked for it, and leaves an interruption from the keyboard to that."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    analyse(*job)


def _end_with_parent() -> None:
    multiprocessing.parent_process().join()
    os._exit(1)


@contextmanager
def _one_thread():
    """New processes share the cores: one thread each for linear algebra, unless the environment says otherwise."""
    name = "OPENBLAS_NUM_THREADS"
    before = os.environ.get(name)
    os.environ.setdefault(name, "1")
    try:
        yield
    finally:
        if before is None:
            os.environ.pop(name, None)


def cores() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
