"""Ground that is stiff at small strain, in simple shear: its curve of stiffness, and Masing's rule on a loop."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.problem import Answer, Graph, Problem, Row
from benchmarks.small_strain import CLAY, SAND, P, by_points, clay, sand, sheared
from fesoil.soils.ground import law_of

LOOP = 1e-3
"""Shear strain at both ends of the loop."""

NOTHING_LEFT = 1e-6
"""What the tolerance of equilibrium may leave of a rule that the law keeps to the last digit."""

SOILS = (("sand", sand(30, 0, 1.0, 1.0), P, SAND, 0.072), ("clay", clay(), 0.0, CLAY, 0.059))
"""Name, soil, pressure all round [kPa], curve (G0, reference strain, exponent), and the error that fitting six parts to it leaves."""


def published(strain, curve):
    """G/G0 at shear strains."""
    _, reference, exponent = curve
    return 1 / (1 + (strain / reference) ** exponent)


def run(_) -> Answer:
    """No mesh: eight triangles that all strain alike."""
    rows, lines, marks, fine = [], [], [], np.geomspace(1e-6, 2e-2, 100)
    for name, soil, pressure, curve, error in SOILS:
        law, (G0, reference, _) = by_points(law_of, soil), curve
        strains = np.array(sorted([1e-5, 1e-4, reference, LOOP, 1e-2]))
        first = sheared(law, pressure, strains)
        reason = f"the least squares by which six parts follow this curve leave {100 * error:.1f} %, known before any element"
        known, left = published(strains, curve), first / strains / G0
        rows += [Row(f"{name}: G/G0 at a shear strain of {s:g}", e, found, -error, error, reason) for s, e, found in zip(strains, known, left)]
        once = strains <= LOOP
        rows += loop(name, law, pressure, strains[once], first[once])
        lines.append((f"{name}, published", np.log10(100 * fine), published(fine, curve)))
        marks.append((f"{name}, fesoil", np.log10(100 * strains), left))
    return Answer(rows, None, Graph("Shear strain [%], power of ten", "G / G0", tuple(lines), tuple(marks)))


def loop(name, law, pressure, strains, first):
    """Masing's rule (1926, from memory): after a turn the curve of first loading, ``first`` at ``strains``, twice as large; so the loop closes."""
    stress, k = sheared(law, pressure, [LOOP, *(LOOP - 2 * strains), *(2 * strains - LOOP)]), len(strains)
    expected, rows = first / strains, []
    for way, turn, found in (("unloading", stress[0], stress[1 : k + 1]), ("reloading", stress[k], stress[k + 1 :])):
        secants = np.abs(found - turn) / (2 * strains)
        worst = np.argmax(np.abs(secants / expected - 1))
        label = f"{name}: secant [kPa], {way} by {2 * strains[worst]:g}, worst of {k}"
        rows.append(Row(label, expected[worst], secants[worst], -NOTHING_LEFT, NOTHING_LEFT, "each part yields at one stress, both ways"))
    reason = "each part remembers only its own stress"
    return [*rows, Row(f"{name}: stress where the loop closes [kPa]", stress[0], stress[-1], -NOTHING_LEFT, NOTHING_LEFT, reason)]


def draw(ax):
    sketch.ground(ax, [(0, 0), (1, 0), (1.3, 1), (0.3, 1)])
    ax.plot([0, 0, 1, 1], [0, 1, 1, 0], color=sketch.INK, linewidth=0.6, linestyle=(0, (3, 2)))
    sketch.arrow(ax, (0.4, 1.12), (1.2, 1.12))


PROBLEM = Problem(
    "small strain, curve", "A square of sand (p = 100 kPa) or clay in simple shear at constant volume: first loading, then a loop of +-0.001",
    "G/G0 = 1 / (1 + (strain / reference)^exponent): Darendeli 2001; Oztoprak and Bolton 2013, Vardanega and Bolton 2013 (all from memory)",
    run, (None,), (None,), draw,
)  # fmt: skip
