"""What a benchmark problem is: a statement and its source, the run at a mesh size, rows of computed beside expected, and what the page draws of it."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Callable, NamedTuple

import numpy as np

QUICK, FULL = "quick", "full"


class Row(NamedTuple):
    """One quantity: expected and computed, the limits of (computed - expected) / |expected|, and why these limits."""

    quantity: str
    expected: float
    computed: float
    low: float
    high: float
    reason: str

    @property
    def difference(self) -> float:
        return (self.computed - self.expected) / abs(self.expected)

    @property
    def passes(self) -> bool:
        return bool(self.low <= self.difference <= self.high)

    @property
    def used(self) -> float:
        """How much of the tolerance is used: 1 at its limit."""
        limit = self.high if self.difference > 0 else self.low
        return 0.0 if self.difference == 0 else abs(self.difference / limit) if limit else float("inf")


class Graph(NamedTuple):
    """What the page draws to compare: ``lines`` of the known answer and ``marks`` of ours, each a tuple (name, x, y), and the words of the axes."""

    x: str
    y: str
    lines: tuple
    marks: tuple


class Answer(NamedTuple):
    """A run at one mesh size; ``triangles`` is None where there is no mesh, ``found`` what ``across`` needs besides. The same quantity has the same name at all sizes."""

    rows: list[Row]
    triangles: int | None = None
    graph: Graph | None = None
    found: object = None


@dataclass(frozen=True)
class Problem:
    """A problem with a known answer.

    Parameters
    ----------
    run : callable
        From a mesh size (of the problem's own measure; None where there is no mesh) to an Answer.
    quick, full : tuple
        Mesh sizes, coarse to fine, of the quick and of the full set; empty where the problem is left out.
    sketch : callable
        Draws the problem on given axes (see sketch.py).
    across : callable
        From the answers at all sizes to rows that set them beside each other.
    graph : callable
        From the answers at all sizes to what the page compares: that of the finest, when left out.
    """

    name: str
    statement: str
    source: str
    run: Callable[[float | None], Answer]
    quick: tuple
    full: tuple
    sketch: Callable
    across: Callable[[list[Answer]], list[Row]] = lambda answers: []
    graph: Callable[[list[Answer]], Graph | None] = lambda answers: answers[-1].graph

    def sizes(self, size: str) -> tuple:
        return self.quick if size == QUICK else self.full


class Outcome(NamedTuple):
    """A problem solved: mesh sizes, an Answer for each, rows across them, seconds."""

    name: str
    sizes: tuple
    answers: list[Answer]
    across: list[Row]
    seconds: float

    @property
    def rows(self) -> list[Row]:
        return [row for answer in self.answers for row in answer.rows] + self.across

    @property
    def passes(self) -> bool:
        return all(row.passes for row in self.rows)


def solve(problem: Problem, size: str) -> Outcome:
    """Run a problem at all its mesh sizes of the 'quick' or 'full' set."""
    began, sizes = time.perf_counter(), problem.sizes(size)
    answers = [problem.run(h) for h in sizes]
    return Outcome(problem.name, sizes, answers, problem.across(answers) if len(answers) > 1 else [], time.perf_counter() - began)


def refinement(outcome: Outcome) -> dict[str, tuple]:
    """By quantity that stands at two mesh sizes or more and is not exact at all of them: relative mesh sizes, labels and errors (share of the expected value), coarse to fine.

    The relative size is triangles^(-1/2), or the problem's own where there are none.
    """
    by_name: dict[str, list] = {}
    for h, answer in zip(outcome.sizes, outcome.answers):
        size = answer.triangles**-0.5 if answer.triangles else h
        for row in answer.rows if isinstance(size, float) else ():
            by_name.setdefault(row.quantity, []).append((size, mesh_label(h, answer), row.difference))
    several = {name: sorted(found, reverse=True) for name, found in by_name.items() if len({size for size, _, _ in found}) > 1}
    return {name: tuple(zip(*found)) for name, found in several.items() if any(error for _, _, error in found)}


def mesh_label(h, answer: Answer) -> str:
    """What tells a mesh from others in a table: its triangles, or its size; nothing where there is no mesh."""
    return f"{answer.triangles:,}" if answer.triangles else "" if h is None else f"{h:g}" if isinstance(h, float) else str(h)


def order(sizes, errors) -> float:
    """Order of convergence: the slope of log |error| over log of the mesh size by least squares; nan where an error is 0 or unknown, or their signs differ."""
    sizes, errors = np.asarray(sizes, float), np.asarray(errors, float)
    if not np.all(np.isfinite(errors)) or abs(np.sign(errors).sum()) < len(errors) or np.ptp(sizes) == 0:
        return float("nan")
    return float(np.polyfit(np.log(sizes), np.log(np.abs(errors)), 1)[0])
