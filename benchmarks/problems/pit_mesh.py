"""A pumped pit in ground that is stiff at small strain, without dilation: what the mesh changes."""

from __future__ import annotations

from benchmarks.pit import BY, REQUIRED, SETTLEMENT_APART, STAGES, WALL_APART, deflection, draw, in_sand, moved, run as analysed
from benchmarks.problem import Answer, Graph, Problem, Row

ONE_METHOD = ("1k", "2k", "4k")
"""Meshes that must be solved in one way. The finest, the measure of the others, is solved as it can be: two of its nine stages have needed relaxation."""


def run(h) -> Answer:
    """``h``: name of a mesh of pit.py."""
    result = analysed(in_sand(h))
    alone = sum(record.converged and not record.relaxations for record in result.records)
    rows = [Row("start and stages solved by Newton alone, no relaxation", 1 + len(STAGES), alone, 0.0, 0.0, "one solution method")] if h in ONE_METHOD else []
    return Answer(rows, len(result.mesh.triangles), found=result)


def across(answers) -> list[Row]:
    """Movements beside those on the finest mesh."""
    *coarser, finest = answers
    best, rows = moved(finest.found), []
    for answer in coarser:
        found, label = moved(answer.found), f"{answer.triangles} beside {finest.triangles} triangles"
        rows += [
            Row(f"wall [mm], {label}", 1e3 * best.wall, 1e3 * found.wall, -WALL_APART, WALL_APART, REQUIRED),
            Row(f"settlement [mm], {label}", 1e3 * best.settlement, 1e3 * found.settlement, -SETTLEMENT_APART, SETTLEMENT_APART, REQUIRED),
        ]
    return rows


def graph(answers) -> Graph:
    """Deflection of the wall on all meshes."""
    *coarser, finest = answers
    curves = [(f"{a.triangles} triangles", *deflection(a.found)[::-1]) for a in answers]
    return Graph("Wall deflection [mm]", "Level [m]", (curves[-1],), tuple((name, x[::2], y[::2]) for name, x, y in curves[:-1]))


PROBLEM = Problem(
    "pit, mesh sizes", "Pumped pit of 9 m in loose sand that is stiff at small strain, no dilation: movements beside those on the finest mesh",
    f"the computation itself; sand by {BY}", run, ("1k", "2k"), (*ONE_METHOD, "16k"), draw, across, graph,
)
