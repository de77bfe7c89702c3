"""Ground that is stiff at small strain: the stiffness that is left after a stage, and its curves with the strains that the analysis reached."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from fesoil.case import sequence
from fesoil.case.overburden import mean_pressure
from fesoil.case.stiffness import curvature, is_small_strain, modulus_ratio, reference_strain, shear_strength, small_strain_modulus
from fesoil.show import style
from fesoil.show.fields import field
from fesoil.show.ground import heading, panels, room_for
from fesoil.show.section import pit_window
from fesoil.soils.small_strain import shares_at
from fesoil.units import number

PERCENT = 100.0
STRAINS = np.geomspace(1e-6, 1e-1, 400)
LEFT = (0, 0.02, 0.05, 0.1, 0.2, 0.5, 1)  # bounds of the colours: beside a pit most of the ground has less than a fifth left
BESIDE = 0.1  # [m] from the wall to the place whose stress is taken: clear of layers that step at the wall
HALF, MOST = 0.5, 0.95  # shares of the area between which the strains are drawn as a band
FLAGS = (1.09, 1.18, 1.27)  # heights of the notes, all above the curve, which is 1 at most
NARROW = 1e-5  # strain with no room for a note on its left
CURVE, PARTS, REACHED = "#a6a6a6", style.INK, style.WALLS[1]
BAND = dict(facecolor=REACHED, alpha=0.14, edgecolor="none")
MARK = dict(color=REACHED, linestyle="none", markeredgecolor="white", markeredgewidth=0.6, markersize=6)
SUM = dict(color=PARTS, linewidth=1.1)
DOT = dict(marker=".", markersize=4.5)
KEY, PANEL_WIDTH, PANEL_HEIGHT = 2.2, 3.3, 3.4  # [inch]


class Place(NamedTuple):
    """Where the curve of a soil is taken: index of the soil, ``x`` and ``level`` [m]."""

    soil: int
    x: float
    level: float


def stiffness_picture(result, i: int):
    """Figure of the share of the stiffness at very small strain that is left after stage i (1 is the first); soils of one stiffness are grey."""
    case, data = result.case, result.field(i)
    figure, ((ax, bar),) = panels(pit_window(case), 1)
    one = np.isin(data.material, [k for k, soil in enumerate(case.soils) if not is_small_strain(soil)])
    meaning = "G: tangent for shear that goes on as before (more where it turns round); G\u2080: at very small strain"
    field(
        ax, data.points, data.triangles, data.stiffness_left, label="Shear stiffness left, G / G\u2080", unit="\u2013", limits=LEFT, cmap="viridis_r",
        case=case, situation=result.situations[i], bar_axes=bar, blank=one, blank_note="grey: soil of one stiffness",
        remarks=[style.wrap(meaning, room_for(ax))],
    )  # fmt: skip
    heading(ax, result, i, room_for(ax))
    return figure


def curve_places(case, data) -> list[Place]:
    """Places for the curves of all small-strain soils that are in the ground before the works, from the top down.

    The middle of the soil's thickest layer beside the outermost wall, outside; for a soil that is not there, the triangle nearest to its middle.
    ``data``: the field before the first stage.
    """
    xs = [w.x for w in case.walls] or [0.0]
    beside, start = [max(xs) + BESIDE, *([] if case.section.half else [min(xs) - BESIDE])], sequence.start_of(case)
    middle, found = data.points[data.triangles[:, :3]].mean(axis=1), []
    for k in (k for k, soil in enumerate(case.soils) if is_small_strain(soil)):
        layers = [(top - bottom, x, 0.5 * (top + bottom)) for x in beside for top, bottom in _layers(case, k, x)]
        layers = [layer for layer in layers if sequence.material_at(case, start, *layer[1:]) == k]  # no block lies there
        mine = middle[data.material == k]
        if layers:
            found.append(Place(k, *max(layers)[1:]))
        elif len(mine):
            found.append(Place(k, *map(float, mine[np.argmin(np.hypot(*(mine - mine.mean(axis=0)).T))])))
    return sorted(found, key=lambda place: -place.level)


def _layers(case, k, x):
    """Top and bottom [m] of the layers of soil k at x, without those that are nothing there."""
    surface = float(sequence.level_at(sequence.surface(case), x))
    tops = [min(float(sequence.level_at(layer.top, x)), surface) for layer in case.layers] + [sequence.extent(case)[2]]
    spans = [(tops[i], max(tops[i + 1 :])) for i, layer in enumerate(case.layers) if layer.soil == case.soils[k].name]
    return [(top, bottom) for top, bottom in spans if top > bottom]


def curves_figure(result, places):
    """Figure with a panel for each of ``places``: curve, parts that follow it, and the shear strains reached by the last stage in equilibrium."""
    case, n = result.case, len(places)
    last = last_standing(result)
    columns = {1: 1, 2: 2, 4: 2}.get(n, 3)
    rows = -(-n // columns)
    width = min(style.PAGE, columns * PANEL_WIDTH + KEY)
    figure = style.new_figure(width, rows * PANEL_HEIGHT + style.FOOT)
    figure.get_layout_engine().set(hspace=0.04)
    grid = figure.add_gridspec(rows, columns + 1, width_ratios=[*[(width - KEY) / columns] * columns, KEY])
    data, strain = result.field(last), result.shear_strain(last)
    for i, place in enumerate(places):
        ax = figure.add_subplot(grid[i // columns, i % columns])
        reached = strains_reached(case, data, strain, place.soil) if last else None
        stiffness_curve(ax, case, place, reached)
        if last and reached is None:
            style.write(ax, 0.5, FLAGS[0], "none of it near the pit", xycoords=ax.get_yaxis_transform(), color=style.GREY)
        style.title(ax, style.shorten(case.soils[place.soil].name, 28), weight="bold", pad=36)
    _key(figure.add_subplot(grid[:, columns]), result, last)
    return figure


def last_standing(result) -> int:
    """Index of the last stage in equilibrium; 0 where no stage is."""
    return max(i for i, record in enumerate(result.records) if record.converged or i == 0)


def strains_reached(case, data, strain, soil: int):
    """Shear strain below which half and most of a soil's area lie, and the greatest; None where there is none of the soil. In the window of the
    pictures only: far from the pit the ground hardly strains, and how much of it there is hangs on the boundaries."""
    window = pit_window(case)
    corners = data.points[data.triangles[:, :3]]
    x, y = corners.mean(axis=1).T
    chosen = (data.material == soil) & np.isfinite(strain) & (x > window.x0) & (x < window.x1) & (y > window.y0)
    if not np.any(chosen):
        return None
    a, b = (corners[chosen, i] - corners[chosen, 0] for i in (1, 2))
    area, order = np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]), np.argsort(strain[chosen])
    below, values = np.cumsum(area[order]) / area.sum(), strain[chosen][order]
    half, most = values[np.minimum(np.searchsorted(below, (HALF, MOST)), len(values) - 1)]
    return float(half), float(most), float(values[-1])


def stiffness_curve(ax, case, place, reached=None):
    """Draw a soil's curve at a place, the secant modulus of its parts, and the strains ``reached`` (those of ``strains_reached``), with numbers."""
    soil, level = case.soils[place.soil], np.array([place.level])
    p = mean_pressure(case, np.array([place.x]), level)
    G0, strength, reference = (float(v[0]) for v in (small_strain_modulus(soil, p, level), shear_strength(soil, p, level), reference_strain(soil, p)))
    w, m = (np.ravel(v) for v in shares_at(soil, p, level)[:2])

    def secant(strain):
        return np.minimum(1.0, m * strength / (G0 * np.asarray(strain, float)[..., None])) @ w

    corners = m[w > 0] * strength / G0
    ax.plot(PERCENT * STRAINS, modulus_ratio(STRAINS, reference, curvature(soil)), color=CURVE, linewidth=3.2, zorder=2)
    ax.plot(PERCENT * STRAINS, secant(STRAINS), zorder=3, **SUM)
    ax.plot(PERCENT * corners, secant(corners), color=PARTS, linestyle="none", zorder=3.2, **DOT)
    ax.set(xscale="log", xlim=(PERCENT * STRAINS[0], PERCENT * STRAINS[-1]), ylim=(0, 1.34), yticks=np.linspace(0, 1, 6))
    ax.set(xticks=10.0 ** np.arange(-4, 2), xlabel="Shear strain [%]", ylabel="G / G\u2080, secant [\u2013]")
    ax.xaxis.set_major_formatter(lambda value, _: f"{value:g}")
    ax.grid(axis="y", color="#ececec", linewidth=0.5)
    ax.spines["left"].set_bounds(0, 1)  # above are notes
    symbol = "p" if soil.drainage == "undrained" else "p\u2032"
    where = [
        f"at {style.level(place.level)} m, mean stress {symbol} {p[0]:.0f} kPa",
        f"G\u2080 {style.number(G0 / 1e3, int(G0 < 1e5))} MPa, half of it at {number(PERCENT * reference, 2)} % strain",
        f"strength used up at {number(PERCENT * corners.max(), 2)} % strain",
    ]
    note = dict(transform=ax.transAxes, fontsize=style.SMALL, color=style.GREY, va="bottom", linespacing=1.25)
    ax.text(0, 1.02, "\n".join(where), parse_math=False, **note).set_in_layout(False)
    if reached is not None:
        _flags(ax, reached, secant)


def _flags(ax, reached, secant):
    """The strains reached: a band, and marks on the curve of the parts, led to notes above it, one over the other so that no line meets a note."""
    at = np.clip(reached, STRAINS[0], STRAINS[-1])
    ax.fill_between(PERCENT * at[:2], 0, 1, zorder=1, **BAND)
    told = PERCENT * np.maximum(reached, STRAINS[0])
    words = [f"{said} {number(strain, 2)} %" for said, strain in zip(("half below", "95 % below", "greatest"), told)]
    side = -1 if at[0] >= NARROW else 1
    for x, y, height, mark, text in zip(PERCENT * at, secant(at), FLAGS[::-side], "osD", words):
        ax.plot([x, x], [y, height], color=REACHED, linewidth=0.6, zorder=2.5)
        ax.plot([x], [y], mark, zorder=5, clip_on=False, **MARK)
        style.write(ax, x, height, text, (3 * side, -1), color=REACHED, ha="right" if side < 0 else "left", fontsize=style.SMALL)


def _key(ax, result, last):
    """What the lines and marks of the panels are, in the place of a legend."""
    ax.set_axis_off()
    band = style.wrap(f"shear strain since the start, after stage {last}  {result.records[last].name}:", 34, 5)
    rows = [
        (Line2D([], [], color=CURVE, linewidth=3.2), "curve of the soil, at the mean\nstress before the works"),
        (Line2D([], [], **SUM, **DOT), "sum of the model's parallel parts;\nat each dot one of them yields"),
    ]
    marks = [
        (Patch(**BAND), band),
        (Line2D([], [], marker="o", **MARK), "half of the ground near the pit\nhas less"),
        (Line2D([], [], marker="s", **MARK), "95 % of it has less"),
        (Line2D([], [], marker="D", **MARK), "the greatest there"),
    ]
    fallen = [(Line2D([], [], linestyle="none"), f"stage {last + 1}: {style.NO_EQUILIBRIUM}")] if last + 1 < len(result.records) else []
    key = ax.legend(*zip(*rows, *(marks if last else []), *fallen), loc="upper left", borderaxespad=0, labelspacing=0.9, handlelength=2.2)
    if fallen:
        key.get_texts()[-1].set_weight("bold")
