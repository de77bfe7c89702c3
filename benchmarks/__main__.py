"""``python -m benchmarks [--quick] [names...]``: every problem, computed beside published; ends with 1 if any row misses its tolerance."""

from __future__ import annotations

import argparse
import importlib
import sys
import time

from benchmarks.common import FULL, QUICK, Problem

SUBJECTS = ("beams", "consistency", "cuts", "earth_pressure", "footing", "opening", "pit", "small_strain")


def problems() -> list[Problem]:
    """All problems, subject by subject."""
    return [p for subject in SUBJECTS for p in importlib.import_module(f"benchmarks.{subject}").PROBLEMS]


def line(row) -> str:
    """A row of the table."""
    limits = f"{100 * row.low:+.2f} .. {100 * row.high:+.2f}"
    verdict = "ok" if row.passes else "MISSES"
    return f"  {row.quantity:<70} {row.expected:>12.6g} {row.computed:>12.6g} {100 * row.difference:>+9.3f}   {limits:<18} {verdict}"


def show(problem: Problem, size: str) -> bool:
    """Run a problem and print its rows; whether all pass."""
    began = time.perf_counter()
    rows = problem.rows(size)
    print(f"{problem.name}: {problem.statement}\n  source: {problem.source}")
    for row in rows:
        print(line(row))
    print(f"  {time.perf_counter() - began:.1f} s\n", flush=True)
    return all(row.passes for row in rows)


def main(arguments=None) -> int:
    parser = argparse.ArgumentParser(prog="python -m benchmarks", description="Published problems, computed beside expected.")
    parser.add_argument("names", nargs="*", help="problems to run (parts of names); all when left out")
    parser.add_argument("--quick", action="store_true", help="coarse meshes and the short problems only")
    chosen = parser.parse_args(arguments)
    size = QUICK if chosen.quick else FULL
    wanted = [p for p in problems() if not chosen.names or any(name in p.name for name in chosen.names)]
    if not wanted:
        parser.error("no problem has such a name; there are: " + ", ".join(p.name for p in problems()))
    print(f"  {'quantity':<70} {'expected':>12} {'computed':>12} {'diff. %':>9}   {'tolerance %':<18} verdict\n")
    verdicts = [show(p, size) for p in wanted]
    print(f"{sum(verdicts)} of {len(verdicts)} problems within tolerance")
    return 0 if all(verdicts) else 1


if __name__ == "__main__":
    sys.exit(main())
