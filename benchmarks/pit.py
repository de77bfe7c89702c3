"""A braced pit, 9 m deep, with both laws of the ground: mesh, size of the section, and movements beside records.

    python -m benchmarks.pit --page FILE [--size 1k 2k 4k]

writes both laws and the published bands onto one page. The job is invented; no ground in it dilates. Water stands at -3 m and is pumped down with
the dig.

- loose sand: void ratio 0.75, relative density 0.35, uniformity 2, from which both G0 and the curve follow by Oztoprak and Bolton 2013. Its wall
  moves as far as has been measured elsewhere (0.15 to 0.5 % of the depth): the sand of the problems;
- medium dense sand: void ratio 0.7 and the mean of their curves (reference strain 0.044 % at 100 kPa, exponent 0.88, from memory), growing with
  p^0.13 as their formula does between 25 and 100 kPa: on the page only, since its wall moves less than records say;
- firm clay, undrained, without water: su = 40 + 4 z, G0 = 800 su, curve by Vardanega and Bolton 2013 at a plasticity index of 0.3 (from memory).

Pumping draws the water down outside too, and the ground settles from that. A deeper rigid base then gives more ground that settles and more that
comes up below the pit, and the two nearly cancel; dug in the dry only the second is left. The page shows the dry pit as well.
"""

from __future__ import annotations

import argparse
import re
from functools import lru_cache
from html import escape
from pathlib import Path

import numpy as np

from benchmarks import sketch
from benchmarks.page import html, picture, table
from benchmarks.problem import Row
from fesoil import read_text
from fesoil.case.overburden import mean_pressure
from fesoil.case.stiffness import working_modulus
from fesoil.result.reading import Result
from fesoil.result.records import SETTLEMENT_OVER_WALL, SOFT_CLAY_SHEET_PILES, WALL_OVER_DEPTH, Formation, beside_records, formation
from fesoil.solve.analyse import analyse

# ------------------------------------------------------------------------------------------------------------------------- the job

SIZES = {"1k": 1.0, "2k": 0.43, "4k": 0.24, "16k": 0.0552}
"""Element size beside the wall [m] for about so many triangles. At 0.40 and 0.30 m Newton alone does not carry the dig to -5.5 m: where it fails
is chance, and 0.43 m was chosen after a look at nine sizes."""

NEAR, WIDE, LARGE = (70.0, -35.0), (130.0, -35.0), (130.0, -60.0)
"""Right boundary and rigid bottom of the section [m]."""

WALL_X, TOE = 7.5, -15.0

JOB = """
title = "{title}"
[section]
half = true
element_size = {size}
right = {right}
bottom_level = {bottom}
{deeper}
[[soils]]
name = "ground"
{soil}
[[layers]]
soil = "ground"
top_level = 0.0
{water}
[[walls]]
name = "wall"
x = 7.5
top_level = 0.0
sheet = {{ EI = "60 MN m2/m", EA = "3.5 GN/m" }}
[[frames]]
name = "upper"
between = ["wall", "axis"]
level = -1.0
stiffness = "40 MN/m2"
[[frames]]
name = "lower"
between = ["wall", "axis"]
level = -5.0
stiffness = "60 MN/m2"
[[loads]]
name = "plant"
from = 8.5
to = 14.0
pressure = 10
"""

STAGES = (
    ("Drive", "drive = { wall = -15.0 }", 'load = ["plant"]'),
    ("Dig 1", "dig = { wall = -1.5 }"),
    ("Upper strut", 'fit = ["upper"]', 'pressurise = { upper = "30 kN/m" }'),
    ("Lock, dig 2", 'lock = ["upper"]', "dig = { wall = -3.0 }"),
    ("Dig 3", "dig = { wall = -5.5 }", "water = { inside = -6.0 }"),
    ("Lower strut", 'fit = ["lower"]', 'pressurise = { lower = "100 kN/m" }'),
    ("Lock", 'lock = ["lower"]', "water = { inside = -9.5 }"),
    ("Dig 4", "dig = { wall = -9.0 }"),
)
BEFORE = 1
"""Number of the last stage before the dig begins, from which movements are counted."""

DRY, PUMPED = "", "[water]\noutside = -3.0\ninside = -3.0"

STRENGTH = """
unit_weight = {{ moist = 18.0, saturated = 20.0 }}
strength = {{ effective_cohesion = 0, friction_angle = {phi}, dilation_angle = 0 }}
wall_friction = {{ angle = 20 }}
"""
BY = "Oztoprak and Bolton 2013"
LOOSE = f"""{STRENGTH.format(phi=33)}
at_rest = 0.5
stiffness = {{ G0_by = "{BY}", curve_by = "{BY}", void_ratio = 0.75, relative_density = 0.35, uniformity = 2, compression_modulus = "60 MPa" }}
"""
MEDIUM = f"""{STRENGTH.format(phi=34)}
[soils.stiffness]
G0_by = "{BY}"
void_ratio = 0.7
reference_strain = 4.4e-4
strain_at_stress = 100
strain_power = 0.13
curvature = 0.88
compression_modulus = "60 MPa"
"""
CLAY = """
drainage = "undrained"
unit_weight = { moist = 18.0, saturated = 18.0 }
strength = { undrained_strength = 40, at_level = 0, per_metre_depth = 4 }
at_rest = 1.0
wall_friction = { adhesion = 20 }
stiffness = { G0 = "32 MPa", at_level = 0, per_metre_depth = "3.2 MPa/m", curve_by = "Vardanega and Bolton 2013", plasticity_index = 0.3 }
"""


def job(title, soil, size, section=NEAR, water=PUMPED, deeper="") -> str:
    """Case text."""
    stages = [(name, [line for line in lines if water or not line.startswith("water")]) for name, *lines in STAGES]
    works = "".join("\n".join(["[[stages]]", f'name = "{name}"', *lines, ""]) for name, lines in stages)
    return JOB.format(title=title, soil=soil, size=SIZES[size], right=section[0], bottom=section[1], deeper=deeper, water=water) + works


def in_sand(size, section=NEAR, soil=LOOSE, water=PUMPED) -> str:
    return job("Pit in sand", soil, size, section, water)


def one_modulus() -> float:
    """Young's modulus [kPa] of the plain law: secant of the curve at a shear strain of 0.1 % half-way down the wall, for Poisson's ratio 0.3."""
    case = read_text(in_sand("1k"))
    soil, level = case.soils[0], np.array([TOE / 2])
    secant = working_modulus(soil, mean_pressure(case, np.array([WALL_X + 0.5]), level), level)[0]
    return round(float(secant) * 1.3 / (1 + soil.poisson_ratio), -2)


def in_plain_sand(size) -> str:
    return job("Pit in sand of one stiffness", re.sub(r"stiffness = .*", f"stiffness = {{ E = {one_modulus():.0f} }}", LOOSE), size)


def in_clay(size) -> str:
    return job("Pit in clay", CLAY, size, NEAR, DRY, f"deeper_bottom_level = {LARGE[1]}")


@lru_cache(maxsize=12)
def run(text) -> Result:
    return analyse(read_text(text))


LOST = Formation(0, *[np.nan] * 7)


def moved(result: Result | None) -> Formation:
    """Movements with the dig at its deepest, since it began; nan where a stage found no equilibrium."""
    return formation(result) if result is not None and result.complete else LOST


WITHIN = (0.0, 1.0)
LEFT_AT_TWO = (0.0, 1 / 3)
LEFT_AT_FOUR = (0.0, 0.1)
LOW_CLAY = (SOFT_CLAY_SHEET_PILES[0] / 5, SOFT_CLAY_SHEET_PILES[0] / 2)
"""Settlement over wall movement that is low by a factor of two to five against the lowest of the records."""

WALL_APART, SETTLEMENT_APART = 0.025, 0.05
"""How far movements may be apart between meshes and sections."""

REQUIRED = "limit set by the requirement"


def inside(quantity, computed, band, reason) -> Row:
    """Row whose limits are the ends of a band; the middle of it stands for what is expected."""
    low, high = band
    middle = (low + high) / 2
    return Row(f"{quantity} ({low:.2g} to {high:.2g})", middle, computed, low / middle - 1, high / middle - 1, reason)


def deflection(result: Result):
    """Levels [m] and deflections [mm] of the wall with the dig at its deepest, since it began."""
    lines = result.wall("wall").lines
    then, now = lines[BEFORE - 1], lines[moved(result).stage - 1]
    return now.level, 1e3 * (now.deflection - then.deflection)


def trough(result: Result):
    """Distance in dig depths, and settlement over the wall's greatest movement, since the dig began."""
    found, ground = moved(result), result.settlement()
    return ground.distance / found.depth, (ground.settlement[found.stage - 1] - ground.settlement[BEFORE - 1]) / found.wall


def draw(ax):
    """The pit, half of it."""
    bottom = -20.0
    sketch.ground(ax, [(0, bottom), (30, bottom), (30, 0), (WALL_X, 0), (WALL_X, -9), (0, -9)])
    sketch.wall(ax, (WALL_X, TOE), (WALL_X, 0))
    for level in (-1, -5):
        sketch.arrow(ax, (0, level), (WALL_X, level), colour=sketch.INK)
    sketch.pressure(ax, 8.5, 14, 0, 1.5, "10 kPa")
    sketch.measure(ax, (3, -9), (3, 0), "9 m")
    sketch.measure(ax, (0, 1), (WALL_X, 1), "7.5 m")
    sketch.say(ax, 11, TOE, "toe -15 m")


# -------------------------------------------------------------------------------------------------------------------------- the page

SMALL, ONE = "Stiff at small strain", "One stiffness"
BASES = NEAR[1], LARGE[1]
PROFILE = np.array([(0.0, 0.5), (0.5, 1.0), (2.0, 0.1), (4.0, 0.0)])
"""Concave trough of Hsieh and Ou 1998 (read at second hand): distance in dig depths, share of the greatest settlement."""

SAND_STYLES = {SMALL: dict(color="#0072b2"), ONE: dict(color="#d55e00", linestyle=(0, (6, 2)))}
CLAY_STYLES = dict(zip(BASES, (dict(color="#00805e"), dict(color="#7b3f98", linestyle=(0, (6, 2))))))
BAND, WORDS = "#e8e3d5", "#6b5f3f"

RUNS = {
    SMALL: "Loose sand, as above", "large": "\u2013 right boundary 130, base \u221260 m", "dry": "\u2013 dug in the dry",
    "dry, large": "\u2013 dry, right boundary 130, base \u221260 m", "medium": "Medium dense sand", "medium, dry": "\u2013 dug in the dry",
    BASES[0]: "Clay, rigid base at \u221235 m", BASES[1]: "Clay, rigid base at \u221260 m",
}  # fmt: skip
"""Names of the runs of ground that is stiff at small strain."""


def runs(size) -> dict:
    """All results of the page by name; those in clay by the level of the rigid base."""
    clay = run(in_clay(size))
    texts = {
        SMALL: in_sand(size), ONE: in_plain_sand(size), "large": in_sand(size, LARGE),
        "dry": in_sand(size, water=DRY), "dry, large": in_sand(size, LARGE, water=DRY),
        "medium": in_sand(size, soil=MEDIUM), "medium, dry": in_sand(size, soil=MEDIUM, water=DRY),
    }  # fmt: skip
    results = {name: run(text) for name, text in texts.items()} | {BASES[0]: clay, BASES[1]: clay.deeper}
    for name, result in results.items():
        if result is None or not result.complete:
            raise SystemExit(f"no page: the run '{name}' found no equilibrium in one of its stages")
    return results


def section_picture(ax, case):
    from fesoil.show.drawing import dimensioned_section

    dimensioned_section(ax, case)
    for note in [text for text in ax.texts if text.get_text().startswith("All stages")]:
        note.remove()  # it would lie over the width; the caption says it


def wall_axes(ax, results, styles):
    """Deflection by level, with the struts and the dig."""
    curves = [deflection(results[name]) for name in styles]
    for (level, moves), how in zip(curves, styles.values()):
        ax.plot(moves, level, **how)
    right, left = (1.25 * max(m.max() for _, m in curves), min(-1.0, 1.1 * min(m.min() for _, m in curves)))
    for level, name in ((-1.0, "upper strut"), (-5.0, "lower strut"), (-9.0, "dig")):
        ax.axhline(level, color="#c4c4c4", linewidth=0.6, linestyle=(0, (1, 2)), zorder=1)
        ax.text(right, level + 0.12, name, fontsize=6.5, color="#6b6b6b", ha="right")
    ax.axvline(0, color="#6b6b6b", linewidth=0.6)
    ax.set(xlim=(left, right), ylim=(TOE, 0), xlabel="Wall deflection towards the dig [mm]", ylabel="Level [m]")


def trough_axes(ax, results, styles, names, bottom):
    """Settlement over wall movement by distance."""
    lows = [-0.08]
    for (key, how), name in zip(styles.items(), names):
        distance, settled = trough(results[key])
        ax.plot(distance, settled, label=name, **how)
        lows.append(1.1 * settled.min())
    ax.axhline(0, color="#6b6b6b", linewidth=0.6)
    ax.set(xlim=(0, 6), ylim=(bottom, min(lows)), xlabel="Distance from the wall / depth of the dig", ylabel="Settlement / greatest wall movement")


def sand_picture(axes, results):
    wall_axes(axes[0], results, SAND_STYLES)
    distance, share = PROFILE.T
    low, high = SETTLEMENT_OVER_WALL
    greatest = trough(results[SMALL])[1].max()
    axes[1].fill_between(distance, low * share, high * share, color=BAND, linewidth=0, label="records: 0.5 to 1.0, published shape")
    trough_axes(axes[1], results, SAND_STYLES, [name.lower() for name in SAND_STYLES], 1.5)
    axes[1].plot(distance, greatest * share, color=WORDS, linewidth=0.8, linestyle=(0, (1, 1.5)), label="published shape, greatest as computed")
    axes[1].legend(loc="lower right")


def clay_picture(axes, results):
    wall_axes(axes[0], results, CLAY_STYLES)
    low, high = SOFT_CLAY_SHEET_PILES
    axes[1].fill_between([0, 1], low, high, color=BAND, linewidth=0)
    words = "greatest settlement beside sheet piles in\nsoft clay: 0.9 to 2.7 (seven cuts)"
    axes[1].text(1.15, (low + high) / 2, words, fontsize=6.5, color=WORDS, va="center")
    trough_axes(axes[1], results, CLAY_STYLES, [f"rigid base at \u2212{-base:g} m" for base in CLAY_STYLES], 1.05 * high)
    axes[1].legend(loc="lower right")


def ratios(found: Formation) -> list[float]:
    """Wall over depth, settlement over wall, place over depth, shares left at two and four depths."""
    left = [v / found.settlement for v in (found.two_depths, found.four_depths)]
    return [found.wall / found.depth, found.settlement / found.wall, found.at / found.depth, *left]


def number(value, decimals=2, band=None) -> str:
    """A number as text, marked where it lies outside a band."""
    text = f"{value:.{decimals}f}".replace("-", "\u2212")
    return text if band is None or band[0] <= value <= band[1] else f"{text} (outside)"


def both_laws(results) -> list[list[str]]:
    """Rows of the table of both laws: quantity, each law, records."""
    pair = [results[SMALL], results[ONE]]
    found = [moved(result) for result in pair]
    shares = np.array([ratios(f) for f in found]).T
    upper, lower = np.array([result.frames.loads[f.stage - 1] for result, f in zip(pair, found)]).T
    heave = [1e3 * result.heave(f.stage) for result, f in zip(pair, found)]
    percent = tuple(100 * v for v in WALL_OVER_DEPTH)

    def row(name, values, decimals, records="", band=None):
        return [name, *(number(v, decimals, band) for v in values), records]

    return [
        row("Wall, greatest movement [mm]", [1e3 * f.wall for f in found], 1),
        row("\u2013 in % of the depth", 100 * shares[0], 2, "0.15 to 0.5 in competent ground (common practice, no source)", percent),
        row("Settlement, greatest [mm]", [1e3 * f.settlement for f in found], 1),
        row("\u2013 over wall movement", shares[1], 2, "0.5 to 1.0 (Long 2001, read at second hand)", SETTLEMENT_OVER_WALL),
        row("\u2013 its place, dig depths from the wall", shares[2], 2, "within 1, about 0.5 (Hsieh and Ou 1998, read at second hand)", WITHIN),
        row("\u2013 share left at 2 dig depths", shares[3], 2, "0.1 (same); sand 0, stiff clay 1/3 (Clough, O'Rourke 1990, by memory)", LEFT_AT_TWO),
        row("\u2013 share left at 4 dig depths", shares[4], 2, "negligible (Hsieh and Ou 1998); here, up to 0.1", LEFT_AT_FOUR),
        row("Upper strut [kN/m]", upper, 0),
        row("Lower strut [kN/m]", lower, 0),
        row("Heave in the pit, greatest [mm]", heave, 1),
    ]


def further_runs(results) -> list[list[str]]:
    """Rows of the table of all runs with ground that is stiff at small strain."""
    rows = []
    for key, name in RUNS.items():
        found = moved(results[key])
        share, ratio, at, two, four = ratios(found)
        rows.append([name, number(1e3 * found.wall, 1), number(100 * share), number(1e3 * found.settlement, 1), *map(number, (ratio, at, two, four))])
    return rows


WHICH = (
    "Use ground that is stiff at small strain where movements outside the pit matter, and where a modulus at very small strain and its curve are "
    "measured or follow from a correlation that suits the soil. Use one stiffness for a first look, for stability, or where nothing of the kind is "
    "known, and take neither its settlement nor its heave as a forecast."
)
SAND_CAPTION = (
    "Left: the wall. Right: the ground surface, over the greatest movement of the wall. Shaded: greatest settlement 0.5 to 1.0 of the wall's "
    "movement, in the concave shape of Hsieh and Ou 1998 (half of it at the wall, all at 0.5 dig depths, a tenth at 2, none at 4)."
)
CLAY_CAPTION = (
    "A pit of the same shape in undrained clay, stiff at small strain (su 40 + 4 z kPa, G0 800 su, no water), for two depths of the rigid base."
)


def describe(result: Result) -> str:
    """What the pit is."""
    return (
        "An invented pit, 9 m deep and 15 m wide: one sheet wall (EI 60 MNm\u00b2/m) to \u221215 m, struts at \u22121 and \u22125 m with preloads of "
        "30 and 100 kN/m, plant of 10 kPa beside it, water at \u22123 m that is pumped down with the dig, eight stages. The sand is loose (void "
        f"ratio 0.75, relative density 0.35, uniformity 2; friction 33\u00b0, no cohesion, no dilation, K0 0.5). Its stiffness follows {BY} "
        f"throughout, or is one Young's modulus of {one_modulus() / 1e3:.0f} MPa, the secant of that curve at a shear strain of 0.1 % half-way down "
        f"the wall. {len(result.mesh.triangles)} triangles. Movements are since the dig began, with the dig at its deepest; heave is since the start."
    )


def water_said(results) -> str:
    """What pumping and a larger section change."""
    wet, large, dry, dry_large, stiff, stiff_dry = (
        1e3 * moved(results[key]).settlement for key in (SMALL, "large", "dry", "dry, large", "medium", "medium, dry")
    )
    return (
        "Pumping draws the water down outside, and the ground settles from that as well, far from the pit; published troughs are meant without it. A "
        f"larger and deeper section changes the settlement from {wet:.1f} to {large:.1f} mm with water, from {dry:.1f} to {dry_large:.1f} mm in the "
        "dry: the ground below a pit comes up when its weight is dug away, the more of it the deeper it goes, and with water that and the settlement "
        "by pumping nearly cancel. The medium dense sand (void ratio 0.7, friction 34\u00b0, mean curve of the database) moves less than records "
        f"say, and what settles there settles by pumping: {stiff:.1f} mm with it, {stiff_dry:.1f} mm without; with it the trough misses the bands."
    )


def page(size) -> str:
    """The page as HTML."""
    from fesoil.show.style import CAUTION, true_minus

    results = runs(size)
    sand = results[SMALL]

    def figure(words, *how):
        return f"<figure>{picture(*how)}<figcaption>{escape(words)}</figcaption></figure>"

    def said(*texts, kind=""):
        return "".join(f"<p{kind}>{escape(text)}</p>" for text in texts)

    parts = [
        "<h1>One pit, two laws of the ground, beside records</h1>", said(describe(sand)),
        figure("The pit, all stages together; half of it is analysed, the other half drawn lightly.", "section", section_picture, sand.case, 1, 3.5),
        "<h2>Both laws in loose sand</h2>", table(["", SMALL, ONE, "Records"], both_laws(results)),
        figure(SAND_CAPTION, "sand", sand_picture, results),
        "<h2>Which law when</h2>", said(WHICH),
        "<h2>Undrained clay</h2>", figure(CLAY_CAPTION, "clay", clay_picture, results),
        said(*(true_minus(text) for text in beside_records(results[BASES[0]]) if "tables above" not in text)),
        "<h2>All runs, stiff at small strain</h2>",
        table(["", "Wall [mm]", "% of depth", "Settlement [mm]", "over wall", "at", "left at 2", "left at 4"], further_runs(results)),
        said("At, left at: in dig depths from the wall, as above.", kind=' class="note"'), said(water_said(results)),
        said(f"{CAUTION} Bands are of records elsewhere, not limits.", kind=' class="note"'),
    ]  # fmt: skip
    return html("One pit, two laws of the ground", *parts)


def main(arguments=None) -> None:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.pit", description="Write the pit with both laws, beside records, onto one page.")
    parser.add_argument("--page", required=True, type=Path, help="file to write, HTML")
    parser.add_argument("--size", choices=list(SIZES), default="2k", help="about so many triangles (2k when left out)")
    chosen = parser.parse_args(arguments)
    chosen.page.write_text(page(chosen.size), encoding="utf-8")


if __name__ == "__main__":
    main()
