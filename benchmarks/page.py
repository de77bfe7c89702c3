"""One page, a single HTML file, of problems solved: sketch, comparison, error against mesh size, and the table."""

from __future__ import annotations

import io
import re
from html import escape

import matplotlib
import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, NullFormatter

from benchmarks.problem import Graph, Outcome, Problem, mesh_label, order, refinement
from benchmarks.sketch import finish
from fesoil.show import style

PLAIN = FuncFormatter(lambda value, _: f"{value:g}")
"""Numbers on logarithmic axes as they are written in tables."""

MOST_CURVES, MOST_WITHIN = 5, 3
"""Curves drawn by mesh size; and curves whose names find room within a picture of comparison."""

STYLE = """
body { font: 10.5pt/1.45 Georgia, "DejaVu Serif", serif; color: #222; max-width: 58em; margin: 2.2em auto; padding: 0 1.2em }
h1 { font-size: 1.45em; font-weight: normal; margin: 0 0 .6em }
h2 { font-size: 1.05em; font-weight: normal; font-style: italic; margin: 1.7em 0 .4em }
table { border-collapse: collapse; width: 100%; font-size: .86em; margin: .6em 0; font-variant-numeric: tabular-nums }
th, td { text-align: left; vertical-align: top; padding: .2em .8em .2em 0; border-bottom: 1px solid #e4e4e4 }
th { font-weight: normal; color: #6b6b6b; border-bottom-color: #999 }
td.n, th.n { text-align: right; white-space: nowrap }
.miss { font-weight: bold }
figure { margin: 1em 0 }
svg { width: 100%; height: auto }
figcaption, .note { color: #555; font-size: .86em }
@page { size: A4; margin: 16mm }
@media print {
  body { margin: 0; max-width: none; padding: 0; font-size: 9.5pt }
  figure, tr { break-inside: avoid } h2, h2 + p { break-after: avoid }
}
"""


def html(title, *parts) -> str:
    """A whole page of parts that are HTML already."""
    head = f'<meta charset="utf-8"><title>{escape(title)}</title><style>{STYLE}</style>'
    return f'<!DOCTYPE html>\n<html lang="en"><head>{head}</head><body>{"".join(parts)}</body></html>\n'


def picture(name, draw, what, n=2, height=3.2, width=7.2) -> str:
    """An inline SVG whose ids are set apart by ``name``, so that several can stand on one page; letters are outlines and look the same everywhere."""
    text = io.StringIO()
    with style.quiet(), matplotlib.rc_context({"svg.fonttype": "path", "svg.hashsalt": name}):
        figure = Figure(figsize=(width, height), layout="constrained")
        draw(figure.subplots(1, n), what)
        figure.savefig(text, format="svg", metadata={"Date": None, "Creator": None})
    svg = re.sub(r"<metadata>.*?</metadata>", "", text.getvalue(), flags=re.DOTALL)
    return re.sub(r'(\bid="|href="#|url\(#)', rf"\g<1>{name}-", svg[svg.index("<svg") :])


def table(head, rows) -> str:
    """An HTML table of texts; numbers, and columns with a unit, stand on the right."""
    rows = [[str(text) for text in row] for row in rows]
    numeric = [all(re.fullmatch(r"[-+\u2212]?[\d.,eE+\u2212-]*|nan", row[i]) for row in rows) for i in range(len(head))]
    kind = lambda i: ' class="n"' if numeric[i] or "[" in head[i] else ""  # noqa: E731
    cell = lambda tag, row: "".join(f"<{tag}{kind(i)}>{escape(text)}</{tag}>" for i, text in enumerate(row))  # noqa: E731
    mark = lambda row: ' class="miss"' if "misses" in row else ""  # noqa: E731
    return f"<table><thead><tr>{cell('th', head)}</tr></thead><tbody>" + "".join(f"<tr{mark(r)}>{cell('td', r)}</tr>" for r in rows) + "</tbody></table>"


def compare(ax, graph: Graph | None, rows):
    """Known answers as lines, ours as markers; without a graph computed over expected, which should lie on the line."""
    if graph is None:
        known, ours = np.array([[abs(row.expected), abs(row.computed)] for row in rows if row.expected and row.computed] or [[1.0, np.nan]]).T
        ends = np.array([known.min() / 1.5, known.max() * 1.5])
        graph = Graph("Expected (size)", "Computed (size)", (("computed = expected", ends, ends),), (("fesoil", known, ours),))
        ax.set(xscale="log", yscale="log")
        ax.xaxis.set_major_formatter(PLAIN), ax.yaxis.set_major_formatter(PLAIN)
    for i, (name, x, y) in enumerate(graph.lines):
        ax.plot(x, y, color=style.INK, linestyle=style.DASHES[i % len(style.DASHES)], linewidth=1.0, label=name)
    for i, (name, x, y) in enumerate(graph.marks):
        ax.plot(x, y, style.MARKERS[i % len(style.MARKERS)], color=style.WALLS[i % len(style.WALLS)], markersize=3.2, fillstyle="none", label=name)
    ax.set(xlabel=graph.x, ylabel=graph.y)
    low, high = ax.get_ylim()
    if high - low < 0.02 * max(abs(low), abs(high)):  # all the same: a scale on which that shows
        ax.set_ylim(0.9 * low, 1.1 * high)
    many = len(graph.lines) + len(graph.marks) > MOST_WITHIN
    ax.legend(fontsize=5.5, loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=2, borderaxespad=0.2, columnspacing=1.0) if many else ax.legend(fontsize=6.5)


def converge(ax, found):
    """Errors by mesh size, log over log, with the order of each; of many quantities those with the greatest errors on the finest mesh."""
    if not found:
        ax.set_axis_off()
        return
    found = dict(sorted(found.items(), key=lambda item: -abs(item[1][2][-1]))[:MOST_CURVES])
    for i, (name, (sizes, _, errors)) in enumerate(found.items()):
        how = dict(marker=style.MARKERS[i % len(style.MARKERS)], color=style.WALLS[i % len(style.WALLS)], markersize=3.5, linewidth=0.9)
        ax.loglog(sizes, np.maximum(100 * np.abs(errors), 1e-8), label=f"{name}{_order(sizes, errors)}", **how)
    for axis in (ax.xaxis, ax.yaxis):
        axis.set_major_formatter(PLAIN)
        axis.set_minor_formatter(NullFormatter())
    seen = {size: label for sizes, labels, _ in found.values() for size, label in zip(sizes, labels)}
    ax.set(xlabel="Triangles, or size of the mesh", ylabel="Error, without its sign [%]", xticks=list(seen), xticklabels=list(seen.values()))
    ax.invert_xaxis()
    ax.legend(fontsize=5.5, loc="lower left", bbox_to_anchor=(0.0, 1.0), borderaxespad=0.2)


def _order(sizes, errors) -> str:
    value = order(sizes, errors)
    return f": order {value:.1f}" if np.isfinite(value) else ""


def _draw(axes, what):
    problem, outcome = what
    problem.sketch(axes[0])
    finish(axes[0])
    compare(axes[1], problem.graph(outcome.answers), outcome.rows)
    converge(axes[2], refinement(outcome))


def lines(outcome: Outcome) -> list[list[str]]:
    """Rows of a problem's table: mesh, quantity, expected, computed, difference, limits, verdict."""
    meshes = [mesh_label(h, a) for h, a in zip(outcome.sizes, outcome.answers) for _ in a.rows] + [""] * len(outcome.across)
    return [
        [
            mesh, row.quantity, f"{row.expected:.6g}", f"{row.computed:.6g}", f"{100 * row.difference:+.3f}",
            f"{100 * row.low:+.3g} to {100 * row.high:+.3g}", "within" if row.passes else "misses",
        ]
        for mesh, row in zip(meshes, outcome.rows)
    ]  # fmt: skip


HEAD = ["Mesh", "Quantity", "Expected", "Computed", "Difference [%]", "Tolerance [%]", "Verdict"]


def page(problems: list[Problem], outcomes: list[Outcome]) -> str:
    """The page as HTML."""
    solved = list(zip(problems, outcomes))
    held = sum(o.passes for o in outcomes)
    parts = [
        "<h1>Computed beside known answers</h1>",
        f"<p>{held} of {len(outcomes)} problems lie within their tolerances; why each has its size is said below its table. A line is the known answer, markers are ours.</p>",
        table(["Problem", "Rows", "Tolerance used, at most [%]", "Seconds", "Verdict"], [
            [o.name, len(o.rows), f"{100 * max(r.used for r in o.rows):.0f}", f"{o.seconds:.1f}", "within" if o.passes else "misses"]
            for o in outcomes
        ]),
    ]  # fmt: skip
    for k, (problem, outcome) in enumerate(solved):
        parts += [
            f"<h2>{escape(problem.name)}</h2><p>{escape(problem.statement)}. <span class='note'>Source: {escape(problem.source)}.</span></p>",
            f"<figure>{picture(f'p{k}', _draw, (problem, outcome), 3, 2.6, 9.6)}</figure>",
            table(HEAD, lines(outcome)),
            f"<p class='note'>Tolerances: {escape('; '.join(dict.fromkeys(row.reason for row in outcome.rows)))}.</p>",
        ]
    parts.append(f'<p class="note">{escape(style.CAUTION)}</p>')
    return html("fesoil: computed beside known answers", *parts)
