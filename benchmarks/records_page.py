"""The page of the published records: what was measured, what models of it give, what was assumed, and what may explain the difference."""

from __future__ import annotations

from html import escape

import numpy as np

from benchmarks.page import PLAIN, html, picture, table
from benchmarks.record_models import (
    COLDEST, CUTS, CUTS_TOLD, EXPANSION, GAMMA, GROWTH, GROWTH_DIGS, GROWTH_RATIO, GROWTH_TOLD, LAWS, NEAR_FAILURE, ONE, PRELOAD, PRELOAD_LEVEL,
    PRELOADED, RETAINED, SHANGHAI_TOLD, SHANGHAI_WALL, SMALL, STEEL_EA, STRUT_LENGTH, STRUT_SPACINGS, STRUTS, STRUTS_TOLD,
)  # fmt: skip

COLOURS = {ONE: "#d55e00", SMALL: "#0072b2"}
DASHES = ("-", (0, (6, 2)), (0, (1, 1.5)), (0, (4, 1, 1, 1)))
MEASURED = dict(color="#222222", linestyle="none", marker="D", markersize=3.6)
WIDENED = 2.0
"""Factor either way by which a computed range is widened before the measured value is looked for in it; set before the runs."""

# ------------------------------------------------------------------------------------------------------------------- reading the runs


def of(solved, **wanted):
    """Runs, with what they gave, whose fields are the wanted ones."""
    return [(run, found) for run, found in solved if all(getattr(run, name) == value for name, value in wanted.items())]


def ends(pairs, quantity) -> np.ndarray:
    """A quantity [mm] at the end of all runs that found equilibrium to the end."""
    return np.array([1e3 * getattr(found.end, quantity) for _, found in pairs if found.end])


def spans(values, measured) -> bool:
    """Whether a measured value lies in the range of computed ones, widened."""
    return bool(len(values) and values.min() / WIDENED <= measured <= values.max() * WIDENED)


def span(values, digits=0) -> str:
    """A range as text."""
    if not len(values):
        return "\u2013"
    low, high = f"{values.min():.{digits}f}", f"{values.max():.{digits}f}"
    return low if low == high else f"{low} to {high}"


def over_middle(values, measured) -> str:
    """Measured over the middle, by its factor, of a computed range."""
    return f"{measured / np.sqrt(values.min() * values.max()):.1f}" if len(values) else "\u2013"


# ------------------------------------------------------------------------------------------------------------------------ the cuts


def strip_factor(cut, width) -> float:
    """Bearing factor of the base of a long cut: 5 (1 + 0.2 H / B), at most 7.5 (Skempton 1951, read at second hand)."""
    return min(5 * (1 + 0.2 * cut.H / width), 7.5)


def bars(ax, solved, quantity):
    """Ranges of both laws by cut, thin where widened, and what was measured."""
    for y, (name, cut) in enumerate(CUTS.items()):
        measured = getattr(cut, quantity)
        for shift, law in zip((0.16, -0.16), LAWS):
            values = ends(of(solved, place=name, law=law), quantity)
            if len(values):
                ax.plot([values.min() / WIDENED, values.max() * WIDENED], [y - shift] * 2, color=COLOURS[law], linewidth=0.8)
                ax.plot([values.min(), values.max()], [y - shift] * 2, color=COLOURS[law], linewidth=4.0, solid_capstyle="butt", label=law)
        if measured is not None:
            ax.plot(measured, y, **MEASURED, label="measured")
    ax.set(xscale="log", yticks=range(len(CUTS)), yticklabels=list(CUTS), ylim=(len(CUTS) - 0.5, -0.5))
    ax.xaxis.set_major_formatter(PLAIN)
    ax.axhline(len(CUTS) - 1.5, color="#999999", linewidth=0.5)


def cuts_picture(axes, solved):
    bars(axes[0], solved, "wall")
    bars(axes[1], solved, "settlement")
    axes[0].set_xlabel("Greatest wall movement [mm]")
    axes[1].set(xlabel="Greatest settlement [mm]", yticklabels=[])
    handles = dict(zip(*reversed(axes[0].get_legend_handles_labels())))
    axes[1].legend(handles.values(), handles.keys(), loc="lower right", bbox_to_anchor=(1.0, 0.13), fontsize=6)


def cut_rows(solved, quantity):
    """Rows of a table of one quantity by cut."""
    rows = []
    for name, cut in CUTS.items():
        measured = getattr(cut, quantity)
        if measured is None:
            continue
        row = [name, f"{measured:g}"]
        for law in LAWS:
            runs = of(solved, place=name, law=law)
            values = ends(runs, quantity)
            verdict = "not counted" if name == NEAR_FAILURE else "yes" if spans(values, measured) else "no"
            row += [f"{span(values)} ({len(values)} of {len(runs)})", over_middle(values, measured), verdict]
        rows.append(row)
    return rows


HEAD = ["Cut", "Measured", *(words for law in LAWS for words in (law.capitalize(), "Factor", "Within"))]
HEAD_NOTE = "In mm: range of each law (runs that stood); measured over the middle of the range; whether within the range widened by 2."


def stability_rows(solved):
    """Rows on the base: what is tabled, and which runs found no equilibrium."""
    rows = []
    for name, cut in CUTS.items():
        lost = {word: [found for run, found in of(solved, place=name) if word in run.assumed and found.lost] for word in ("constant", "rising")}
        total = sum("constant" in run.assumed for run, _ in of(solved, place=name))
        depths = np.array([found.lost for found in lost["constant"] + lost["rising"]])
        factors = np.array([strip_factor(cut, width) for width in (10, 20)])
        tabled = [f"{cut.H:g}", f"{GAMMA * cut.H / cut.su:.1f}", span(factors, 1), f"{cut.safety:.2f}"]
        rows.append([name, *tabled, *(f"{len(found)} of {total}" for found in lost.values()), span(depths, 1)])
    return rows


BASE_HEAD = ["Cut", "Depth [m]", "\u03b3 H / su", "Strip factor", "Tabled safety", "Lost, su constant", "Lost, su rising", "Lost at a dig of [m]"]

BASE_NOTE = (
    "Strip factor: 5 (1 + 0.2 H / B), at most 7.5 (Skempton 1951, read at second hand), for widths B of 20 and 10 m; the wall's toe and adhesion "
    "add to it."
)


def count(solved, quantity, laws) -> str:
    """In how many of the cuts that count the measured value lies in the widened range of some laws."""
    known = {name: getattr(cut, quantity) for name, cut in CUTS.items() if name != NEAR_FAILURE and getattr(cut, quantity) is not None}
    computed = {name: ends([pair for law in laws for pair in of(solved, place=name, law=law)], quantity) for name in known}
    return f"{sum(spans(computed[name], measured) for name, measured in known.items())} of {len(known)}"


def outlived(solved, lost_run, lost) -> bool:
    """Whether another run of the same cut, strength and width, which carries as much, got deeper than one that was lost."""
    same = [found for run, found in of(solved, place=lost_run.place) if run.assumed.split(", su")[1] == lost_run.assumed.split(", su")[1]]
    return any(found.lost is None or found.lost > lost.lost for found in same)


def cuts_said(solved) -> list[str]:
    """What the cuts show, in words."""
    told = [f"{law}, {count(solved, 'wall', [law])} for the wall and {count(solved, 'settlement', [law])} for the settlement" for law in LAWS]
    both = f"both laws together, {count(solved, 'wall', LAWS)} and {count(solved, 'settlement', LAWS)}"
    ratio = ends(solved, "settlement") / ends(solved, "wall")
    measured = np.array([cut.settlement / cut.wall for name, cut in CUTS.items() if cut.settlement and name != NEAR_FAILURE])
    lost = [(run, found) for run, found in solved if found.lost]
    constant, doubtful = sum("constant" in run.assumed for run, _ in lost), sum(outlived(solved, *pair) for pair in lost)
    return [
        f"Measured within the computed range widened by {WIDENED:g}: {'; '.join(told)}; {both}. {NEAR_FAILURE}, near failure, is not counted, and a "
        "run without equilibrium does not widen a range. A range that reaches some hundred millimetres ends at the brink of failure and says "
        "little.",
        f"{len(lost)} of {len(solved)} runs found no equilibrium, {constant} of them with constant su: an answer too. These cuts stood, so where "
        "\u03b3 H / su passes the strip factor the tabled su cannot be all the strength there was: deeper clay is stronger, and a short cut has "
        f"ends. {doubtful} of them were lost at a dig that another run of the same strength and width passed; there our search, cut short in these "
        "runs, gave up, not the ground.",
        f"Settlement over wall movement is {span(ratio, 2)} computed and {span(measured, 2)} measured. Undrained ground keeps its volume and "
        "settles wide and shallow; what was measured also has in it what no such model has: driving and pulling of sheets, water lost from the "
        f"clay, late props, digging too deep. For as much movement of the wall such ground settled {measured.min() / ratio.max():.1f} to "
        f"{measured.max() / ratio.min():.1f} times as much as the model says.",
    ]


# ------------------------------------------------------------------------------------------------------------- the pits in Shanghai


def lines_of(ax, solved, x_of, y_of):
    """A line for each run, coloured by law, dashed by what else was assumed."""
    for law in LAWS:
        for (run, found), dash in zip(of(solved, law=law), DASHES):
            ax.plot(x_of(found), y_of(found), color=COLOURS[law], linestyle=dash, linewidth=1.1, label=f"{law}, {run.assumed}")


def shanghai_picture(axes, solved):
    stood = [pair for pair in solved if pair[1].end]
    lines_of(axes[0], stood, lambda f: 1e3 * f.end.deflection, lambda f: f.end.level)
    axes[0].axvline(SHANGHAI_WALL, color="#222222", linewidth=0.8, linestyle=(0, (1, 2)), label="measured, greatest")
    axes[0].set(xlabel="Wall deflection at 9.7 m [mm]", ylabel="Level [m]")
    lines_of(axes[1], solved, lambda f: [s.depth for s in f.stages], lambda f: [1e3 * s.wall for s in f.stages])
    axes[1].plot(9.7, SHANGHAI_WALL, **MEASURED, label="measured")
    axes[1].set(xlabel="Depth of the dig [m]", ylabel="Greatest wall movement [mm]")
    axes[1].legend(fontsize=6)


def shanghai_rows(solved):
    rows = []
    for run, found in [pair for pair in solved if pair[1].end]:
        wall, settlement = 1e3 * found.end.wall, 1e3 * found.end.settlement
        rows.append([run.law, run.assumed, f"{wall:.1f}", f"{settlement:.1f}", f"{found.end.deepest:.1f}", f"{SHANGHAI_WALL / wall:.2f}"])
    return rows



def shanghai_said(solved) -> list[str]:
    walls, settled = ends(solved, "wall"), ends(solved, "settlement")
    return [
        f"Measured at the end {SHANGHAI_WALL:g} mm, computed {span(walls)} mm; no agreement is claimed. The tabled E is of the size of "
        "one-dimensional compression, the only one that such a table gives, and far below what ground has at the strains of a wall that moves 9 "
        "mm. Wall, toe and levels of the struts are ours, and a plane has no corners. The published model itself gave 4.9 mm for the first dig and "
        "only 5.7 mm for the last, odd for that E: the one measured number is the only datum.",
        f"Settlement, computed {span(settled)} mm and not published, is in part of drawdown: water falls outside too by our straight-line rule, "
        "where the real pit has a curtain.",
    ]


def growth_picture(axes, solved):
    stood = [pair for pair in solved if pair[1].end]
    lines_of(axes[0], stood, lambda f: [s.depth for s in f.stages[1:]], lambda f: [s.deepest for s in f.stages[1:]])
    lines_of(axes[1], stood, lambda f: [s.depth for s in f.stages[1:]], grown)
    for name, stages in GROWTH.items():
        moved, depth = np.array(stages).T
        axes[0].plot(GROWTH_DIGS, depth, **MEASURED)
        axes[1].plot(GROWTH_DIGS, (moved - moved[0]) / (moved[2] - moved[0]), **MEASURED, label="measured, three tubes" if name == "CX2" else None)
    axes[0].invert_yaxis()
    axes[0].set(xlabel="Depth of the dig [m]", ylabel="Depth of the greatest movement [m]")
    axes[1].set(xlabel="Depth of the dig [m]", ylabel="Movement since the first dig, over that at 8.6 m")
    axes[1].legend(fontsize=5.5)


def grown(found) -> np.ndarray:
    """Movement since the first dig by stage, over that at the third."""
    moved = np.array([s.wall for s in found.stages[1:]])
    return (moved - moved[0]) / (moved[2] - moved[0])


def growth_rows(solved):
    """Greatest movement by dig, measured first."""
    rows = [["measured, tube " + name, "", *(f"{moved:.1f} ({depth:g})" for moved, depth in stages), ""] for name, stages in GROWTH.items()]
    for run, found in solved:
        cells = [f"{1e3 * s.wall:.1f} ({s.deepest:.1f})" for s in found.stages[1:]]
        ratio = f"{found.end.settlement / found.end.wall:.2f}" if found.end else ""
        rows.append([run.law, run.assumed, *cells, *["no equilibrium"] * (len(GROWTH_DIGS) - len(cells)), ratio])
    return rows



def growth_said(solved) -> list[str]:
    early, last = np.array([grown(f)[1] for _, f in solved]), np.array([grown(f)[3] for _, f in solved if f.end])
    moved = np.array(list(GROWTH.values()))[:, :, 0]
    seen = (moved - moved[:, :1]) / (moved[:, 2] - moved[:, 0])[:, None]
    deep = [span(np.array([f.stages[k].deepest for _, f in solved]), 1) for k in (2, 3)]
    lost = [run for run, found in solved if found.lost]
    return [
        f"Growth since the first dig, with that at 8.6 m as 1: at 5.2 m measured {span(seen[:, 1], 2)}, computed {span(early, 2)}; at 11.6 m "
        f"measured {span(seen[:, 3], 2)}, computed {span(last, 2)}. Depth of the greatest movement at 5.2 and 8.6 m: measured 7 and 7.5 m, computed "
        f"{deep[0]} and {deep[1]} m. Settlement over wall movement at the end was {GROWTH_RATIO[0]:g} to {GROWTH_RATIO[1]:g}.",
        f"{len(lost)} of {len(solved)} runs found no equilibrium at 11.6 m, {sum('to the wall' in run.assumed for run in lost)} of them those that "
        "dig the court to the wall: without slab and blocks the piles' toe does not hold there. The size of the movements, too, is that of "
        "borrowed moduli of one-dimensional compression. Measured 4 to 8 mm deep down after a dig of 1 m cannot come from the dig, but may from "
        "boring piles and mixing blocks; and that the greatest movement stays near 7 m, where ours goes down with the dig, suggests that something "
        "held the wall below the dig. The blocks would.",
    ]


# ----------------------------------------------------------------------------------------------------------------------- the struts


def restraint(found, spacing) -> float:
    """Share of the force of a fully held strut that a warmed one gets: 1 / (1 + strut's stiffness over the ground's), the latter from how far the "
    "preload pushes the wall back."""
    before, after = (np.interp(-PRELOAD_LEVEL, -s.level, s.deflection) for s in found.stages[PRELOADED - 2 : PRELOADED])
    ground = PRELOAD / (before - after)
    return 1 / (1 + STEEL_EA / (STRUT_LENGTH / 2) / spacing / ground)


def restraints(solved) -> dict:
    """Restraint by law for both spacings, from the runs that keep the whole preload."""
    whole = [(run, found) for run, found in solved if run.assumed.startswith(f"{RETAINED[0]:g} ") and found.end]
    return {run.law: np.array([restraint(found, spacing) for spacing in STRUT_SPACINGS]) for run, found in whole}


def struts_picture(axes, solved):
    full = STEEL_EA * EXPANSION
    axes[0].plot([s.set for s in STRUTS], [s.per_degree for s in STRUTS], **MEASURED, label="measured, nine struts")
    axes[0].axhline(full, color="#6b6b6b", linewidth=0.8, label="E A \u03b1, fully held (section assumed)")
    for law, shares in restraints(solved).items():
        axes[0].axhspan(full * shares.min(), full * shares.max(), color=COLOURS[law], alpha=0.25, linewidth=0, label=f"our restraint, {law}")
    axes[0].set(xlabel="Force set [kN]", ylabel="Force for each degree [kN]", ylim=(0, 1.6 * full))
    axes[0].legend(fontsize=6, loc="upper right")
    lines_of(axes[1], [p for p in solved if p[1].end], lambda f: 1e3 * f.end.deflection, lambda f: f.end.level)
    axes[1].set(xlabel="Wall deflection at 9 m [mm]", ylabel="Level [m]", ylim=(None, 4.5))
    axes[1].legend(fontsize=6)


def strut_rows(solved):
    full = STEEL_EA * EXPANSION
    rows = []
    for k, strut in enumerate(STRUTS):
        swing = strut.most - strut.least
        again = swing / (strut.warmest - COLDEST)
        measured = [f"{strut.set:g}", f"{swing:.0f}", f"{swing / strut.set:.2f}", f"{strut.per_degree:g}"]
        rows.append([k + 1, *measured, f"{again:.1f}", f"{strut.per_degree / full:.2f}"])
    return rows


def preload_rows(solved):
    return [[run.law, run.assumed, f"{1e3 * f.end.wall:.1f}", f"{1e3 * f.end.settlement:.1f}"] for run, f in solved if f.end]



def struts_said(solved) -> list[str]:
    full = STEEL_EA * EXPANSION
    measured = np.array([s.per_degree for s in STRUTS])
    swing = np.array([(s.most - s.least) / s.set for s in STRUTS])
    ours = "; ".join(f"{span(shares, 2)} ({law})" for law, shares in restraints(solved).items())
    moved = {law: [1e3 * f.end.wall for _, f in of(solved, law=law) if f.end] for law in LAWS}
    grown_by = "; ".join(f"{walls[1]:.1f} instead of {walls[0]:.1f} mm ({law})" for law, walls in moved.items() if len(walls) == 2)
    return [
        f"A degree was worth {span(measured, 1)} kN, {span(measured / full, 2)} of the {full:.0f} kN of a fully held tube; the swing over one warm "
        f"period was {span(swing, 2)} of the force set. Our pit, by how far the preload pushes its wall back, restrains {ours}. A trend only: "
        "section, length and spacing are not read, and the ground is another.",
        f"With 0.13 of the preload left the wall moves {grown_by}: the right way, and little where the wall has moved most of its way before the "
        "strut is fitted.",
    ]  # fmt: skip


# ------------------------------------------------------------------------------------------------------------------------- the page


def said(*texts) -> str:
    return "".join(f"<p>{escape(text)}</p>" for text in texts)


def note(text) -> str:
    return f'<p class="note">{escape(text)}</p>'


def figure(name, draw, solved, words="") -> str:
    return f"<figure>{picture(name, draw, solved, height=3.9)}<figcaption>{escape(words)}</figcaption></figure>"


def cuts_section(solved):
    return [
        "<h2>Nine cuts with sheet piles in soft clay</h2>", note(CUTS_TOLD),
        figure("cuts", cuts_picture, solved, "Thick: range of the runs that stood; thin: widened by 2. Below the line: near failure, not counted."),
        said(*cuts_said(solved)),
        "<h2>The wall</h2>", table(HEAD, cut_rows(solved, "wall")),
        "<h2>The settlement</h2>", table(HEAD, cut_rows(solved, "settlement")), note(HEAD_NOTE),
        "<h2>The base</h2>", table(BASE_HEAD, stability_rows(solved)), note(BASE_NOTE),
    ]  # fmt: skip


def shanghai_section(solved):
    head = ["Law", "Stiffness", "Wall [mm]", "Settlement [mm]", "Greatest at [m]", "Measured / computed"]
    return [
        "<h2>A pit of 9.7 m in Shanghai</h2>", note(SHANGHAI_TOLD), figure("shanghai", shanghai_picture, solved),
        said(*shanghai_said(solved)), table(head, shanghai_rows(solved)),
    ]  # fmt: skip


def growth_section(solved):
    head = ["", "Assumed", *(f"Dig to {d:g} m: wall, mm (at, m)" for d in GROWTH_DIGS), "Settlement / wall"]
    return [
        "<h2>A pit of 8.6 and 11.6 m in Shanghai, by stage</h2>", note(GROWTH_TOLD),
        figure("growth", growth_picture, solved, "Lines: the runs that stood."),
        said(*growth_said(solved)), table(head, growth_rows(solved)),
    ]  # fmt: skip


def struts_section(solved):
    head = ["Strut", "Force set [kN]", "Swing [kN]", "Swing / set", "Tabled [kN/\u00b0C]", "Swing / range [kN/\u00b0C]", "Of fully held"]
    return [
        "<h2>Steel struts: temperature and lost preload</h2>", note(STRUTS_TOLD), figure("struts", struts_picture, solved),
        said(*struts_said(solved)),
        table(head, strut_rows(solved)), table(["Law", "Preload", "Wall [mm]", "Settlement [mm]"], preload_rows(solved)),
    ]  # fmt: skip


SECTIONS = {"cuts": cuts_section, "pit-9.7": shanghai_section, "pit-11.6": growth_section, "struts": struts_section}


def page(solved) -> str:
    """The page as HTML, from runs with what they gave."""
    from fesoil.show.style import CAUTION

    parts = [
        "<h1>Published records beside models of them</h1>",
        said("Reports, not gates. No record is complete in open text; what is missing is assumed, and never adjusted to what was measured."),
    ]  # fmt: skip
    for name, section in SECTIONS.items():
        parts += section(found) if (found := of(solved, record=name)) else []
    return html("Published records beside models", *parts, note(CAUTION))
