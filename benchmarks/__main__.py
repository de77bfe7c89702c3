"""``python -m benchmarks [--quick] [--json FILE] [--page FILE] [names...]``: every problem, computed beside its known answer; ends with 1 if any row misses."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

import numpy as np

from benchmarks.problem import FULL, QUICK, Outcome, Problem, mesh_label, order, refinement
from benchmarks.problems import problems
from benchmarks.running import outcomes_of

def line(row, mesh="") -> str:
    """A row of the table."""
    limits = f"{100 * row.low:+.3g} .. {100 * row.high:+.3g}"
    verdict = "within" if row.passes else "MISSES"
    return f"  {row.quantity:<66} {mesh:>9} {row.expected:>12.6g} {row.computed:>12.6g} {100 * row.difference:>+9.3f}   {limits:<18} {verdict}"


def show(problem: Problem, outcome: Outcome) -> None:
    """Print the rows of a problem."""
    print(f"{problem.name}: {problem.statement}\n  source: {problem.source}")
    for h, answer in zip(outcome.sizes, outcome.answers):
        for row in answer.rows:
            print(line(row, mesh_label(h, answer)))
    for row in outcome.across:
        print(line(row))
    print(f"  {outcome.seconds:.1f} s\n", flush=True)


def record(problem: Problem, outcome: Outcome) -> dict:
    """A problem and its rows as plain data."""

    def rows(given):
        return [{k: _known(v) for k, v in row._asdict().items()} | {"difference": _known(row.difference), "within": row.passes} for row in given]

    runs = [{"size": h, "triangles": _known(a.triangles), "rows": rows(a.rows)} for h, a in zip(outcome.sizes, outcome.answers)]
    orders = {name: None if np.isnan(p := order(sizes, errors)) else p for name, (sizes, _, errors) in refinement(outcome).items()}
    head = {"name": problem.name, "statement": problem.statement, "source": problem.source}
    return head | {"runs": runs, "across": rows(outcome.across), "order": orders, "seconds": outcome.seconds, "within": outcome.passes}


def _known(value):
    """A value that JSON can carry: a plain number for one of numpy's, None for a number that is not known."""
    value = value.item() if isinstance(value, np.generic) else value
    return None if isinstance(value, float) and not np.isfinite(value) else value


def main(arguments=None) -> int:
    parser = argparse.ArgumentParser(prog="python -m benchmarks", description="Problems with known answers, computed beside expected.")
    parser.add_argument("names", nargs="*", help="problems to run (parts of names); all when left out")
    parser.add_argument("--quick", action="store_true", help="coarse meshes and the short problems only")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write all rows to a file")
    parser.add_argument("--page", type=Path, metavar="FILE", help="write sketches, comparisons and errors by mesh size onto one HTML page")
    chosen = parser.parse_args(arguments)
    size = QUICK if chosen.quick else FULL
    wanted = [p for p in problems() if p.sizes(size) and (not chosen.names or any(name in p.name for name in chosen.names))]
    unknown = [name for name in chosen.names if not any(name in p.name for p in problems())]
    if unknown or not wanted:
        parser.error(f"no problem is called {', '.join(unknown) or 'so in this set'}; there are:\n  " + "\n  ".join(p.name for p in problems()))
    print(f"  {'quantity':<66} {'mesh':>9} {'expected':>12} {'computed':>12} {'diff. %':>9}   {'tolerance %':<18} verdict\n", flush=True)
    outcomes = []
    for problem, outcome in zip(wanted, outcomes_of(wanted, size)):
        show(problem, outcome)
        outcomes.append(outcome)
    if chosen.json:
        chosen.json.write_text(json.dumps([record(p, o) for p, o in zip(wanted, outcomes)], indent=1, allow_nan=False), encoding="utf-8")
    if chosen.page:
        from benchmarks.page import page

        chosen.page.write_text(page(wanted, outcomes), encoding="utf-8")
    held = sum(o.passes for o in outcomes)
    print(f"{held} of {len(outcomes)} problems within tolerance")
    return 0 if held == len(outcomes) else 1


if __name__ == "__main__":
    sys.exit(main())
