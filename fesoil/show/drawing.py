"""The job as a drawing, from the case alone: a dimensioned section, a plan, the stages as small pictures, the step table."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fesoil.case import sequence
from fesoil.show import style
from fesoil.show.plan import draw_plan
from fesoil.show.section import arrow, draw_situation, load_places, pit_window, section_axes, span, water_mark, water_place
from fesoil.show.sheets import stage_sheet, step_figure

__all__ = ["draw_case", "dimensioned_section", "whole_job", "draw_plan", "stage_sheet", "step_figure"]


def draw_case(case, out_dir) -> list:
    """Write the pictures that are held against the drawing before any solve; returns their paths, in the order in which they are read."""
    makers = {"section.png": section_figure, "plan.png": plan_figure, "stages.png": stage_sheet, "steps.png": step_figure}
    paths = []
    for name, make in makers.items():
        if name == "plan.png" and not case.walls:
            continue
        with style.quiet():
            paths.append(style.save(style.footer(make(case), case), f"{out_dir}/{name}"))
    return paths


def section_figure(case):
    """Figure with the dimensioned section."""
    figure = style.new_figure(style.PAGE, 7.4)
    ax = dimensioned_section(figure.add_subplot(), case)
    style.set_height(figure, float(np.clip(9.7 * np.ptp(ax.get_ylim()) / np.ptp(ax.get_xlim()) + 1.1, 4.0, 14.0)))
    return figure


def plan_figure(case):
    """Figure with the plan of the cofferdams."""
    figure = style.new_figure(9.0, 7.0)
    draw_plan(figure.add_subplot(), case)
    return figure


def whole_job(case):
    """All of the job in one situation: deepest toes and dig, every frame, slab and load; water at its lowest in each strip."""
    walk = sequence.situations(case)
    toes: dict[str, float] = {}
    for situation in walk:
        for name, toe in situation.toes.items():
            toes[name] = min(toe, toes.get(name, np.inf))
    stopped = {name: how for s in walk for name, how in s.stopped_short.items()}
    slabs = {name: cure for s in walk for name, cure in s.slabs.items()}
    water = tuple(min((level for level in levels if level is not None), default=None) for levels in zip(*(s.water for s in walk)))
    works = tuple(w for w in walk[-1].earthworks if w.soil is None or w.is_outline)
    loads = frozenset(name for s in walk for name in s.loads)
    frames = {name: "locked" for s in walk for name in s.frames}
    wells = {name: min(s.wells[name] for s in walk if name in s.wells) for s in walk for name in s.wells}
    return replace(
        walk[-1], name="The whole job", toes=toes, stopped_short=stopped, slabs=slabs, water=water, earthworks=works, loads=loads, frames=frames,
        wells=wells, seepage=any(s.seepage for s in walk),
    )  # fmt: skip


def dimensioned_section(ax, case):
    """The section with names, levels [m], loads and widths [m]; a half section has its other half beside it, lightly."""
    window, job, half = pit_window(case), whole_job(case), case.section.half
    height = 0.04 * (window.y1 - window.y0)
    draw_situation(ax, case, job, window, height, mirrored=half)
    _mark_scale(ax, window, half)
    _name_ground(ax, case, job, window)
    _name_walls(ax, case, job)
    _name_frames(ax, case, job, window)
    _name_digs(ax, case, job, window)
    _name_water(ax, case, job, window)
    _name_wells(ax, case, job)
    top = max(_name_loads(ax, case, job, window, height), max((w.top_level for w in case.walls), default=0.0) + 1.2 * height)
    top = _widths(ax, case, top, 1.5 * height, job)
    ax.set_ylim(window.y0, top)
    grey = dict(ha="left", color=style.GREY, style="italic", fontsize=style.SMALL)
    style.write(
        ax, ax.get_xlim()[0], top, "All stages together: toes and dig at their\ndeepest, water inside at its lowest.", (6, 0), va="top", **grey
    )
    if half:
        style.write(ax, 0, window.y1, "axis of symmetry", (4, -4), **grey)
        style.write(ax, -window.x1, window.y0, "other half, mirrored", (6, 7), **grey)
    return section_axes(ax)


def _mark_scale(ax, window, mirrored):
    """Keep the drawing's size in inches per metre for text that must fit; set before anything is written."""
    ax.set_xlim(-window.x1 if mirrored else window.x0, window.x1)


def _points_per_metre(ax):
    left, right = ax.get_xlim()
    return ax.figure.get_figwidth() * 72 * 0.9 / (right - left)


def _fits(ax, text, metres, size=7.0):
    return len(text) * 0.58 * size < metres * _points_per_metre(ax)


def _name_ground(ax, case, job, window):
    """Name and top level of each layer below its top at the edges, of each block in the middle of what the dig leaves of it."""
    sides = [(window.x1, "right", -4)] + ([] if case.section.half else [(window.x0, "left", 4)])
    scale = _points_per_metre(ax)
    for x, ha, offset in sides:
        surface = float(sequence.level_at(sequence.surface(case), x))
        tops = [(min(float(sequence.level_at(layer.top, x)), surface), layer.soil) for layer in case.layers]
        shown = [(y, soil) for i, (y, soil) in enumerate(tops) if y > window.y0 + 12 / scale and not any(below >= y for below, _ in tops[i + 1 :])]
        places = style.spread([-y for y, _ in shown], 11 / scale)
        for (y, soil), place in zip(shown, places):
            style.write(ax, x, -place, f"{style.shorten(soil, 34)}   {style.level(y)}", (offset, -7.5), ha=ha, bbox=style.LABEL, path_effects=[])
    for block in case.blocks:
        (x0, y0), (x1, y1) = np.min(block.outline, axis=0), np.max(block.outline, axis=0)
        x, y = (a.ravel() for a in np.meshgrid(np.linspace(max(x0, window.x0), min(x1, window.x1), 42)[1:-1], np.linspace(y0, y1, 42)[1:-1]))
        left = sequence.in_outline(block.outline, x, y) & (sequence.material_at(case, job, x, y) == [s.name for s in case.soils].index(block.soil))
        if left.any() and x0 < window.x1 and x1 > window.x0:
            x, y = x[left].mean(), y[left].mean()
            style.write(ax, x, y, style.shorten(block.name, 24), bbox=style.LABEL, path_effects=[])


def _name_walls(ax, case, job):
    """Below each toe, or above it on the retained side where it stands on a block: the wall's name, its levels from top to toe, its length."""
    reach = {w.name: job.toes.get(w.name) for w in case.walls}
    order = sorted((w for w in case.walls if reach[w.name] is not None), key=lambda w: w.x)
    for i, wall in enumerate(order):
        colour, toe = style.wall_colour(case, wall.name), reach[wall.name]
        aside = _aside(ax, order, i)
        words = f"{style.shorten(wall.name, 22)}\n{style.level(wall.top_level)} to {style.level(toe)}\n{wall.top_level - toe:.2f} m"
        if _on_something(case, wall.x, toe):
            outward = -sequence.dug_side(case, wall.name)
            beside = dict(va="bottom", ha="left" if outward > 0 else "right", bbox=style.LABEL, path_effects=[])
            style.write(ax, wall.x, toe, words, (7 * outward, 4), color=colour, **beside)
        else:
            style.write(ax, wall.x, toe, words, (0, -3), va="top", color=colour, ha=aside)


def _on_something(case, x, toe, depth=0.3):
    """Whether a toe stands in or on a block, which has a name of its own."""
    return any(np.any(sequence.in_outline(block.outline, x + np.array([-0.01, 0.01]), toe - depth)) for block in case.blocks)


def _aside(ax, order, i, width=16):
    """Text centred on a wall, or turned away from a neighbour that is too near."""
    x, room = order[i].x, width * 4.0 / _points_per_metre(ax)
    if i + 1 < len(order) and order[i + 1].x - x < room:
        return "right"
    return "left" if i and x - order[i - 1].x < room else "center"


def _own_room(case, between, level, job):
    """Widest piece of a frame's or slab's span that no standing wall cuts, rather outside the inner cofferdams (x0, x1)."""
    a, b = span(case, between)
    cuts = sorted({a, b, *(w.x for w in case.walls if a < w.x < b and w.name in job.toes and w.top_level > level - 0.1)})
    inner = [s for s in sequence.cofferdams(case).values() if a <= s[0] and s[1] <= b and (s[0], s[1]) != (a, b)]
    pieces = list(zip(cuts[:-1], cuts[1:]))
    own = [p for p in pieces if not any(c <= p[0] and p[1] <= d for c, d in inner)]
    return max(own or pieces, key=lambda p: (round(p[1] - p[0], 6), p[1]))


def _name_frames(ax, case, job, window):
    """Name and level over each frame where it fits, else to the right of the frame; slabs likewise."""
    named = [(f.between, f.level, f"{style.shorten(f.name, 26)}  {style.level(f.level)}") for f in case.frames if f.name in job.frames]
    for between, y, text in named:
        _name_span(ax, case, between, job, y, text, 6)
    for slab in case.slabs:
        if slab.name in job.slabs:
            deep = slab.thickness * _points_per_metre(ax) > 10
            y = slab.top_level - slab.thickness / 2 if deep else slab.top_level
            _name_span(ax, case, slab.between, job, y, f"{style.shorten(slab.name, 26)}  top {style.level(slab.top_level)}", 0 if deep else 6)


def _name_span(ax, case, between, job, y, text, lift):
    a, b = _own_room(case, between, y, job)
    if _fits(ax, text, b - a):
        style.write(ax, (a + b) / 2, y, text, (0, lift))
    else:
        style.write(ax, span(case, between)[1], y, text, (7, 0), ha="left", bbox=style.LABEL, path_effects=[])


def _name_digs(ax, case, job, window):
    """Dig levels: the deepest of a cofferdam plainly, the levels on the way dashed with the number of their stage."""
    lowest = min((y for w in job.earthworks if w.soil is None for _, y in w.line), default=None)
    for number, stage in enumerate(case.stages, 1):
        levels = {}
        for name, line in stage.dig.items():
            if len({y for _, y in line}) == 1 and _strip(case, name):
                levels.setdefault(line[0][1], []).append(name)
        for y, names in levels.items():
            final = [n for n in names if y == lowest or abs(_final_level(case, job, n) - y) < 1e-3]
            way = [n for n in names if n not in final]
            if way and not final:
                _name_dig(
                    ax,
                    case,
                    max(_within(case, way), key=lambda z: (round(z.x1 - z.x0, 6), z.x0)),
                    y,
                    f"dug to {style.level(y)} (stage {number})",
                    False,
                    5,
                )
            for name in way:
                a, b = sequence.cofferdams(case)[name]
                ax.plot(
                    [-b if case.section.half else a, 0 if case.section.half else b],
                    [y, y],
                    color=style.GREY,
                    linewidth=0.6,
                    linestyle=(0, (3, 3)),
                    zorder=5.5,
                )
            if final:
                _name_dig(
                    ax,
                    case,
                    _strip(case, final[0]),
                    y,
                    ("formation " if y == lowest else "dig ") + style.level(y),
                    True,
                    -7 if _on_slab(case, y) else 6,
                )


def _within(case, names):
    """Strips that lie within any of the cofferdams named."""
    spans = [sequence.cofferdams(case)[name] for name in names]
    return [z for z in sequence.zones(case) if any(a <= z.x0 and z.x1 <= b for a, b in spans)]


def _final_level(case, job, name):
    zone = _strip(case, name)
    return float(sequence.ground_level(case, job, (zone.x0 + zone.x1) / 2))


def _on_slab(case, y):
    return any(slab.top_level - slab.thickness - 0.1 < y < slab.top_level for slab in case.slabs)


def _strip(case, name):
    """The cofferdam's last strip from the left, or None."""
    return next((z for z in reversed(sequence.zones(case)) if z.name == name), None)


def _name_dig(ax, case, zone, y, text, final, lift):
    """Write a dig level in a strip (in a half section in the mirrored one), or beside it where there is no room."""
    look = dict(color=style.INK, weight="bold") if final else dict(color=style.GREY, fontsize=style.SMALL)
    sign = -1 if case.section.half else 1
    if _fits(ax, text, 0.95 * (zone.x1 - zone.x0)):
        style.write(ax, sign * (zone.x0 + zone.x1) / 2, y, text, (0, lift), **look)
    else:
        style.write(ax, sign * zone.x1 if sign < 0 else zone.x0, y, text, (-7, 0), ha="right", **look)


def _name_water(ax, case, job, window):
    """Level under each water mark, the lowest of all stages; outside also the highest where it differs, marked in grey."""
    walk = sequence.situations(case)
    for i, zone in enumerate(sequence.zones(case)):
        levels = [s.water[i] for s in walk if s.water[i] is not None]
        if not levels:
            continue
        x, low, high = water_place(case, zone, window), min(levels), max(levels)
        outside, varies = zone.name not in sequence.cofferdams(case), high - low > 0.01
        text = f"water {style.level(low)}" + (f" to {style.level(high)}" if varies else "") if outside else style.level(low)
        if outside and varies:
            water_mark(ax, x, high, colour=style.GREY)
        left = not outside and x > (zone.x0 + zone.x1) / 2
        style.write(ax, x, low, text, (-9 if left else 9, -7), ha="right" if left else "left", color=style.WATER_LINE)


def _name_wells(ax, case, job):
    """Name, open length and level under each well, in a half section in the mirrored half; beside each leak of a wall its extent."""
    sign = -1 if case.section.half else 1
    for well in case.wells:
        if well.name in job.wells:
            words = f"{style.shorten(well.name, 22)}\nopen {style.level(well.top)} to {style.level(well.bottom)}\nwater {style.level(job.wells[well.name])}"
            style.write(ax, sign * well.x, well.bottom, words, (0, -4), va="top", color=style.WATER_LINE, bbox=style.LABEL, path_effects=[])
    for wall in case.walls:
        inward = sequence.dug_side(case, wall.name)
        for leak in wall.leaks if job.seepage and wall.name in job.toes else ():
            words, ha = f"leak {style.level(leak.top)}\nto {style.level(leak.bottom)}", "left" if inward > 0 else "right"
            style.write(ax, wall.x, (leak.top + leak.bottom) / 2, words, (6 * inward, 0), ha=ha, fontsize=style.SMALL, bbox=style.LABEL, path_effects=[])


def _name_loads(ax, case, job, window, height):
    """Name, amount and extent over each load; returns the level above which there is room [m]."""
    top = window.y1
    for load, a, b, y, lift in load_places(case, job, window):
        tail = y + (2.1 * lift + (1.0 if load.force is None else 1.35)) * height
        tail = max(tail, float(np.max(sequence.ground_level(case, job, np.linspace(a, b, 9)))))
        amount = f"{load.amount:g} {'kN/m' if load.force is not None else 'kPa'}"
        where = (
            f"x = {style.number(load.x, 2)} m" if load.force is not None else f"x = {style.number(load.start, 2)} to {style.number(load.end, 2)} m"
        )
        cut = load.force is None and (load.end > window.x1 or load.start < window.x0)
        words = f"{style.shorten(load.name, 26)}  {amount}\n{where}" + (" (goes on)" if cut else "")
        ha = (
            "center"
            if _fits(ax, words.split("\n")[1], 2 * min((a + b) / 2 - window.x0, window.x1 - (a + b) / 2))
            else "right" if window.x1 - b < a - window.x0 else "left"
        )
        style.write(
            ax,
            {"center": (a + b) / 2, "right": b, "left": a}[ha],
            tail,
            words,
            ({"left": 4, "right": -4}.get(ha, 0), 3),
            va="bottom",
            linespacing=1.15,
            ha=ha,
        )
        top = max(top, tail + 1.5 * height)
    return top


def _widths(ax, case, base, step, job):
    """Dimension lines of the clear width between the sheets' centre lines, one row a cofferdam; returns the level above them [m]."""
    rows = sorted(
        ((2 * b if case.section.half else b - a), name, (-b if case.section.half else a), b) for name, (a, b) in sequence.cofferdams(case).items()
    )
    tops = {w.x: w.top_level for w in case.walls}
    for i, (width, name, a, b) in enumerate(rows):
        y = base + (i + 0.6) * step
        dimension(ax, a, b, y, f"{style.shorten(name, 26)}  {width:.2f} m")
        for x in (a, b):
            ax.plot(
                [x, x], [tops.get(abs(x) if case.section.half else x, y) + 0.2 * step, y + 0.15 * step], color=style.FAINT, linewidth=0.5, zorder=5.5
            )
    return base + (len(rows) + 0.4) * step


def dimension(ax, a: float, b: float, y: float, text: str):
    """A horizontal dimension line from a to b [m] at y with its text on it."""
    arrow(ax, (a, y), (b, y), style.INK, "<|-|>", 0.6, zorder=7)
    if not _fits(ax, text, 0.85 * (b - a)):
        return style.write(ax, b, y, text, (6, 0), ha="left", zorder=7.5)
    return style.write(ax, (a + b) / 2, y, text, (0, 0), bbox=style.PATCH, zorder=7.5)
