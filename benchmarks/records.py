"""Published records of braced pits beside automatic models of them: reports, no gates.

    python -m benchmarks.records --page FILE [--json FILE] [--only NAME ...]

No record is complete in open text. What a source does not state is assumed (`record_models`) and never adjusted to what was measured; where an
assumption can go either way both ways are run, and what is shown is the range. Both laws of the ground are run: one stiffness, and ground that is
stiff at small strain. The records:

- ``cuts``: nine cuts with sheet piles in soft clay (`CUTS`);
- ``pit-9.7``: a pit 9.7 m deep in Shanghai, bored piles and two levels of concrete struts (`SHANGHAI`);
- ``pit-11.6``: a pit of 8.6 and 11.6 m in Shanghai, wall movement by stage (`GROWTH`);
- ``struts``: force, temperature and preload of nine steel struts (`STRUTS`).

Lengths in m, forces in kN, pressures in kPa; depths positive down.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

import numpy as np

from benchmarks.record_models import RECORDS, Run
from fesoil import read_result, read_text
from fesoil.case.sequence import ground_level
from fesoil.solve.analyse import analyse
from fesoil.solve.companions import cores


class Stage(NamedTuple):
    """A stage in equilibrium: depth of the dig [m]; levels (k,) [m] and deflections (k,) [m] of the wall, and greatest settlement [m], counted from
    the last stage before the dig began."""

    depth: float
    level: np.ndarray
    deflection: np.ndarray
    settlement: float

    @property
    def wall(self) -> float:
        """Greatest movement of the wall towards the dig [m]."""
        return float(self.deflection.max())

    @property
    def deepest(self) -> float:
        """Depth of the greatest movement below the top of the wall [m]."""
        return float(self.level[0] - self.level[np.argmax(self.deflection)])


class Found(NamedTuple):
    """What a run gave: stages in equilibrium; ``lost`` depth of the dig for which none was found, None where all were; triangles; seconds."""

    stages: tuple[Stage, ...]
    lost: float | None
    triangles: int
    seconds: float

    @property
    def end(self) -> Stage | None:
        """The last stage of a run that found all of them, else None."""
        return self.stages[-1] if self.lost is None else None


MOST_ITERATIONS = 400
"""Iterations in one stage after which the search is given up: collapse is an answer here, and must not cost more than the rest."""


class GivenUp(Exception):
    """A stage has used up its iterations."""


def watch():
    """A report for ``analyse`` that gives a stage up after ``MOST_ITERATIONS``."""
    counts: dict[int, int] = {}

    def report(number, **_):
        counts[number] = counts.get(number, 0) + 1
        if counts[number] > MOST_ITERATIONS:
            raise GivenUp

    return report


def solve(text: str) -> Found:
    """Run a case text as far as it finds equilibrium, with its first rigid base only."""
    case, began = read_text(text), time.perf_counter()
    case = replace(case, section=replace(case.section, deeper_bottom_level=None))
    with TemporaryDirectory() as directory:
        try:
            result = analyse(case, out=directory, report=watch())
        except GivenUp:
            result = read_result(directory)
    depths = [-float(ground_level(case, s, np.array([0.1]))[0]) for s in result.situations]
    done = sum(r.converged for r in result.stages)
    lost = None if done == len(case.stages) else depths[done + 1]
    return Found(tuple(stages_of(result, depths, done)), lost, len(result.mesh.triangles), time.perf_counter() - began)


def stages_of(result, depths, done):
    """Stages of a result, the first ``done`` of them, from the last one before the dig began."""
    lines, ground = result.wall("wall").lines, result.settlement()
    before = max(i for i in range(done) if depths[i + 1] < 1e-6)
    for i in range(before, done):
        settled = ground.settlement[i] - ground.settlement[before]
        yield Stage(depths[i + 1], lines[i].level, lines[i].deflection - lines[before].deflection, float(settled.max()))


def solve_all(runs):
    """What each run gave, in order, from as many processes as there are cores."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # processes, not threads, share the cores
    with ProcessPoolExecutor(min(cores(), len(runs)), mp_context=multiprocessing.get_context("spawn")) as pool:
        yield from pool.map(solve, [run.text for run in runs])


def line(run: Run, found: Found) -> str:
    """A run on one line."""
    end = found.end
    moved = f"wall {1e3 * end.wall:6.1f} mm, settlement {1e3 * end.settlement:6.1f} mm" if end else f"no equilibrium found at {found.lost:g} m"
    return f"{run.place:<20} {run.law:<22} {run.assumed:<52} {moved:<46} {found.triangles:>6,} {found.seconds:6.1f} s"


def as_data(run: Run, found: Found) -> dict:
    """A run as plain data, movements in mm."""
    stages = [{"dig_m": s.depth, "wall_mm": 1e3 * s.wall, "depth_of_it_m": s.deepest, "settlement_mm": 1e3 * s.settlement} for s in found.stages]
    head = {"record": run.record, "place": run.place, "law": run.law, "assumed": run.assumed}
    return head | {"stages": stages, "no_equilibrium_at_m": found.lost, "triangles": found.triangles, "seconds": found.seconds}


def main(arguments=None) -> None:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.records", description="Models of published records beside what was measured.")
    parser.add_argument("--page", required=True, type=Path, metavar="FILE", help="file to write, HTML")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write all runs to a file")
    names = list(RECORDS)
    parser.add_argument("--only", nargs="+", choices=names, default=names, metavar="NAME", help="records to run: " + ", ".join(names))
    chosen = parser.parse_args(arguments)
    runs = [run for name in chosen.only for run in RECORDS[name]()]
    solved = []
    for run, found in zip(runs, solve_all(runs)):
        print(line(run, found), flush=True)
        solved.append((run, found))
    if chosen.json:
        chosen.json.write_text(json.dumps([as_data(*pair) for pair in solved], indent=1), encoding="utf-8")
    from benchmarks.records_page import page

    chosen.page.write_text(page(solved), encoding="utf-8")


if __name__ == "__main__":
    main()
