"""The pieces of a section: ground, water, walls, wells, frames, slabs, loads of one situation, each drawn on an ``Axes`` within a window.

Everything is drawn through a ``Pen``, which may mirror the drawing about x = 0 for the other half of a symmetric section.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from matplotlib.patches import Polygon, Rectangle
from matplotlib.path import Path

from fesoil.case import sequence
from fesoil.show import style

CLEAR = 1e-6
LEVEL_MARK = Path(
    [(0, 0), (-1, 1.7), (1, 1.7), (0, 0), (-0.75, -0.55), (0.75, -0.55), (-0.35, -1.1), (0.35, -1.1)],
    [Path.MOVETO, Path.LINETO, Path.LINETO, Path.CLOSEPOLY, Path.MOVETO, Path.LINETO, Path.MOVETO, Path.LINETO],
)


@dataclass(frozen=True)
class Pen:
    """Draws on an ``Axes`` as it is (sign 1) or mirrored about x = 0 (sign -1)."""

    ax: object
    sign: int = 1

    def polygon(self, x, y, **kw):
        return self.ax.add_patch(Polygon(np.column_stack([self.sign * np.asarray(x, float), y]), closed=True, **kw))

    def line(self, x, y, **kw):
        return self.ax.plot(self.sign * np.asarray(x, float), y, **kw)[0]


@dataclass(frozen=True)
class Window:
    """The part of the section that is seen [m]; the ground is drawn down to ``y0``, air up to ``y1``."""

    x0: float
    x1: float
    y0: float
    y1: float


def pit_window(case) -> Window:
    """The section zoomed to the walls and the ground about as far away as the pit is deep; x0 = 0 in a half section."""
    walk = sequence.situations(case)
    levels = [y for _, y in sequence.surface(case)] + [w.top_level for w in case.walls]
    low = min([t for s in walk for t in s.toes.values()] + [y for s in walk for w in s.earthworks for _, y in w.line], default=min(levels) - 10.0)
    depth = max(levels) - low
    xs = [w.x for w in case.walls] or [0.0]
    margin = max(0.75 * depth, 0.35 * (max(xs) - min(xs)), 3.0)
    left, right, bottom = sequence.extent(case)
    x0 = 0.0 if case.section.half else max(left, _reach(case, min(xs), -1, margin))
    x1 = min(right, _reach(case, max(xs), 1, margin))
    near = sequence.level_at(sequence.surface(case), np.linspace(x0, x1, 50))
    top = max([*near, *(w.top_level for w in case.walls)])
    return Window(x0, x1, max(bottom, low - 0.17 * depth), top + 0.12 * depth)


def _reach(case, wall_x, side, margin):
    """Edge of the window: a margin beside the outermost wall, further where the near end of a load lies not much beyond."""
    edge = wall_x + side * margin
    for load in case.loads:
        ends = [e for e in (load.start, load.end, load.x) if e is not None]
        near = min(ends, key=lambda e: abs(e - wall_x))
        if side * (near - wall_x) > 0 and abs(near - wall_x) < 1.4 * margin:
            far = max(abs(e - wall_x) for e in ends)
            seen = far + 0.12 * margin if far < 1.6 * margin else abs(near - wall_x) + 0.45 * margin
            edge = side * max(side * edge, side * wall_x + seen)
    return edge


def draw_ground(pen: Pen, case, situation, window: Window) -> None:
    """Soils by layers and blocks, what is dug and filled painted over them in the order of the work, and the ground surface."""
    index = {soil.name: i for i, soil in enumerate(case.soils)}
    for layer in case.layers:
        _paint_below(pen, layer.top, window.x0, window.x1, window.y0, **style.soil_style(case, index[layer.soil]))
        pen.line(*_clip(layer.top, window.x0, window.x1), color="#a3977f", linewidth=0.5, zorder=1)
    _paint_air(pen, sequence.surface(case), window.x0, window.x1, window.y1)
    for block in case.blocks:
        pen.polygon(*np.transpose(block.outline), **{**style.soil_style(case, index[block.soil]), "linewidth": 0.6, "edgecolor": "#888888"}, zorder=1)
    for i, work in enumerate(situation.earthworks):
        _paint_work(pen, case, work, replace(situation, earthworks=situation.earthworks[:i]), window)
    pen.line(*ground_line(case, situation, window.x0, window.x1), color="#4d4433", linewidth=1.1, zorder=2)


def ground_line(case, situation, x0: float, x1: float):
    """Ground surface as arrays x, level [m], with its steps at walls and corners upright."""
    lines = [sequence.surface(case), *(w.line for w in situation.earthworks)]
    corners = [x for line in lines for x, _ in line] + [w.x for w in case.walls] + [e for w in situation.earthworks for e in (w.x0, w.x1)]
    at = np.array([c for c in corners if x0 < c < x1] or [x0])
    x = np.unique(np.clip(np.concatenate([np.linspace(x0 + CLEAR, x1, 200), at - CLEAR, at + CLEAR]), x0, x1))
    return x, sequence.ground_level(case, situation, x)


def _clip(line, x0, x1):
    inner = [(x, y) for x, y in line if x0 < x < x1]
    ends = (x0, float(sequence.level_at(line, x0))), (x1, float(sequence.level_at(line, x1)))
    return np.transpose([ends[0], *inner, ends[1]])


def _paint_below(pen, line, x0, x1, bottom, **kw):
    x, y = _clip(line, x0, x1)
    if np.max(y) > bottom:
        pen.polygon([*x, x1, x0], [*np.maximum(y, bottom), bottom, bottom], **{"zorder": 1, **kw})


def _paint_air(pen, line, x0, x1, top):
    x, y = _clip(line, x0, x1)
    pen.polygon([*x, x1, x0], [*y, top + 1e3, top + 1e3], facecolor="white", edgecolor="none", zorder=1)


def _paint_work(pen, case, work, before, window):
    if work.is_outline:
        pen.polygon(*np.transpose(work.line), **{**style.soil_style(case, work.soil), "linewidth": 0.6}, zorder=1)
        return
    x0, x1 = max(work.x0, window.x0), min(work.x1, window.x1)
    if x0 >= x1:
        return
    if work.soil is None:
        _paint_air(pen, work.line, x0, x1, window.y1)
        return
    x, y = ground_line(case, before, x0 + CLEAR, x1 - CLEAR)
    top = sequence.level_at(work.line, x)
    pen.polygon([*x, *x[::-1]], [*np.maximum(top, y), *y[::-1]], zorder=1, **style.soil_style(case, work.soil))


def draw_water(pen: Pen, case, situation, window: Window, mark: float = 9.0) -> None:
    """Free water, and the water level of each strip: dashed in the ground, with the usual mark on it."""
    for zone, water in zip(sequence.zones(case), situation.water):
        x0, x1 = max(zone.x0, window.x0), min(zone.x1, window.x1)
        if water is None or x0 >= x1:
            continue
        x, y = ground_line(case, situation, x0 + CLEAR, x1 - CLEAR)
        pen.ax.fill_between(pen.sign * x, y, water, where=y < water, facecolor=style.WATER, linewidth=0, zorder=1.4, interpolate=True)
        pen.line([x0, x1], [water, water], color=style.WATER_LINE, linewidth=0.8, linestyle=(0, (5, 3)), zorder=2.2)
        if mark:
            water_mark(pen.ax, pen.sign * water_place(case, zone, window), water, mark)


def with_held_water(case, situation, window: Window):
    """The situation with the levels of free water and those that drains hold in the pit, without the others: by seepage they are not level."""
    held, levels = {i for i, _ in sequence.drained_zones(case, situation)}, list(situation.water)
    for i, zone in enumerate(sequence.zones(case)):
        x0, x1 = max(zone.x0, window.x0), min(zone.x1, window.x1)
        lowest = np.min(ground_line(case, situation, x0 + CLEAR, x1 - CLEAR)[1]) if x0 < x1 else np.inf
        if levels[i] is not None and i not in held and levels[i] < lowest - CLEAR:
            levels[i] = None
    return replace(situation, water=tuple(levels))


def water_place(case, zone, window: Window) -> float:
    """Where in a strip its water level is marked (x, m): near the end away from the frames' names, outside beside the wall and clear of loads."""
    x0, x1 = max(zone.x0, window.x0), min(zone.x1, window.x1)
    if np.isfinite(zone.x0) and np.isfinite(zone.x1):
        inset = min(0.2 * (x1 - x0), 0.03 * (window.x1 - window.x0))
        a, b = sequence.cofferdams(case)[zone.name]
        middle = 0.0 if case.section.half else (a + b) / 2
        return x1 - inset if x0 > middle + CLEAR else x0 + inset
    shares = np.linspace(0.1, 0.6, 11)
    places = x0 + (x1 - x0) * (shares if np.isinf(zone.x1) else 1 - shares - 0.25)
    taken = [(load.x, load.x) if load.force is not None else (load.start, load.end) for load in case.loads]
    gaps = [min((max(a - x, x - b, 0.0) for a, b in taken), default=np.inf) for x in places]
    return float(next((x for x, gap in zip(places, gaps) if gap > 0.03 * (window.x1 - window.x0)), places[int(np.argmax(gaps))]))


def water_mark(ax, x: float, y: float, size: float = 9.0, colour: str = style.WATER_LINE):
    """The inverted triangle whose tip stands on a water level."""
    return ax.plot([x], [y], marker=LEVEL_MARK, markersize=size, color=colour, markeredgewidth=0.8, markerfacecolor="white", zorder=6)[0]


def draw_walls(pen: Pen, case, situation, width: float = 3.0) -> None:
    """Standing walls from the top of the sheets to the toe; a toe that rests or is pinned on something hard has a foot; where there is seepage, leaks are dotted."""
    for wall in case.walls:
        if wall.name not in situation.toes:
            continue
        toe, colour = situation.toes[wall.name], style.wall_colour(case, wall.name)
        pen.line([wall.x, wall.x], [wall.top_level, toe], color=colour, linewidth=width, solid_capstyle="butt", zorder=4)
        if wall.name in situation.stopped_short:
            pen.line([wall.x], [toe], color=colour, marker=6 if situation.stopped_short[wall.name] == "pinned" else "_", markersize=9, zorder=4)
        for leak in wall.leaks if situation.seepage else ():
            if leak.top > toe:
                pen.line([wall.x, wall.x], [leak.top, max(leak.bottom, toe)], color="white", linewidth=0.6 * width, linestyle=(0, (1, 1)), zorder=4.1)


def draw_wells(pen: Pen, case, situation, mark: float = 9.0) -> None:
    """Wells in use: a thin double line from the ground surface down, across which the open length has its slots; the usual mark on the level that is kept."""
    for well in case.wells:
        if well.name not in situation.wells:
            continue
        level = situation.wells[well.name]
        top = max(float(sequence.ground_level(case, situation, well.x)), level)
        for width, colour in ((3.2, style.INK), (1.8, "white")):
            pen.line([well.x, well.x], [top, well.bottom], color=colour, linewidth=width, solid_capstyle="butt", zorder=3.4)
        pen.line([well.x, well.x], [well.top, well.bottom], color=style.WATER_LINE, linewidth=3.2, linestyle=(0, (0.4, 0.7)), zorder=3.5)
        if mark:
            water_mark(pen.ax, pen.sign * well.x, level, mark)


def span(case, between) -> tuple[float, float]:
    """Left and right end of a frame or slab (x, m)."""
    at = {sequence.AXIS: 0.0, **{w.name: w.x for w in case.walls}}
    return tuple(sorted(at[name] for name in between))


def draw_frames(pen: Pen, case, situation, size: float = 4.5) -> None:
    """Frames: hollow and dashed when fitted, hollow with arrows when pressurised, solid when locked."""
    for frame in case.frames:
        state = situation.frames.get(frame.name)
        if state is None:
            continue
        a, b = span(case, frame.between)
        ends = [x for x in (a, b) if x != 0.0 or not case.section.half]
        fill = style.INK if state == "locked" else "white"
        pen.line(
            [a, b],
            [frame.level] * 2,
            color=style.INK,
            linewidth=1.8 if state == "locked" else 1.0,
            linestyle=(0, (4, 2)) if state == "fitted" else "-",
            zorder=4.5,
        )
        pen.line(
            ends,
            [frame.level] * len(ends),
            linestyle="none",
            marker="s",
            markersize=size,
            markerfacecolor=fill,
            markeredgecolor=style.INK,
            zorder=4.6,
        )
        if state == "pressurised":
            _thrust(pen, ends, frame.level, (a + b) / 2, size)


def _thrust(pen, ends, y, middle, size):
    """Arrow heads towards the walls: the rams push."""
    for x in ends:
        towards = pen.sign * (1 if x >= middle else -1)
        at = x - 0.12 * (x - middle)
        pen.line([at], [y], marker=9 if towards > 0 else 8, markersize=size + 1, color=style.INK, linestyle="none", zorder=4.7)


def draw_slabs(pen: Pen, case, situation, **kw) -> None:
    """Slabs between their walls."""
    for slab in case.slabs:
        if slab.name in situation.slabs:
            a, b = span(case, slab.between)
            pen.ax.add_patch(
                Rectangle(
                    (a if pen.sign > 0 else -b, slab.top_level - slab.thickness),
                    b - a,
                    slab.thickness,
                    **{"facecolor": "#a9a9a9", "edgecolor": "#444444", "linewidth": 0.8, "zorder": 3, **kw},
                )
            )


def load_places(case, situation, window: Window) -> list[tuple]:
    """Loads in the window: (load, left, right, level, lift) with ``lift`` the number of loads drawn below it."""
    found = []
    for load in case.loads:
        a, b = (load.x, load.x) if load.force is not None else (load.start, load.end)
        if load.name not in situation.loads or b < window.x0 or a > window.x1:
            continue
        a, b = max(a, window.x0), min(b, window.x1)
        x = np.linspace(a + CLEAR, b - CLEAR, 21) if b > a else np.array([a])
        y = load.level if load.level is not None else float(np.max(sequence.ground_level(case, situation, x)))
        gap = 0.05 * (window.x1 - window.x0)
        lift = sum(1 for _, c, d, at, _ in found if c < b + gap and a < d + gap and abs(at - y) < 2.0)
        found.append((load, a, b, y, lift))
    return found


def draw_loads(pen: Pen, case, situation, window: Window, height: float, head: float = 10.0) -> None:
    """Strips as a bar with arrows of ``height`` [m], line loads as one longer arrow."""
    for load, a, b, y, lift in load_places(case, situation, window):
        base = y + 2.1 * lift * height
        tail = base + height * (1.0 if load.force is None else 1.35)
        n = 1 if load.force is not None else int(np.clip(round((b - a) / (1.2 * height)), 2, 14)) + 1
        x = np.linspace(a, b, n)
        on_ground = load.level is None and lift == 0
        base = y if load.force is not None else base
        tips = sequence.ground_level(case, situation, np.clip(x, a + CLEAR, max(b - CLEAR, a + CLEAR))) if on_ground else np.full(n, base)
        if n > 1:
            pen.polygon([*x, b, a], [*tips, tail, tail], facecolor="#e9e9e9", edgecolor="none", alpha=0.75, zorder=2.5)
            pen.line([a, b], [tail, tail], color=style.INK, linewidth=0.9, zorder=4)
        for at, tip in zip(x, tips):
            if load.force is None and (at == window.x0 > load.start or at == window.x1 < load.end):
                continue  # the strip goes on beyond the picture
            arrow(pen.ax, (pen.sign * at, tail), (pen.sign * at, tip), head=head)


def loads_top(case, situation, window: Window, height: float) -> float:
    """Level [m] of the highest arrow's tail; that of the window when there is none higher."""
    tails = [y + (2.1 * lift + (1.0 if load.force is None else 1.35)) * height for load, _, _, y, lift in load_places(case, situation, window)]
    return max([window.y1, *tails])


def arrow(ax, tail, tip, colour: str = style.INK, kind: str = "-|>", width: float = 0.7, head: float = 10.0, zorder: float = 4.2):
    """A thin straight arrow from ``tail`` to ``tip`` in data coordinates."""
    arrows = dict(arrowstyle=f"{kind},head_length=0.35,head_width=0.16", color=colour, linewidth=width, shrinkA=0, shrinkB=0, mutation_scale=head)
    note = ax.annotate("", tip, xytext=tail, arrowprops=arrows, zorder=zorder, annotation_clip=False)
    note.set_in_layout(False)
    return note


def draw_situation(ax, case, situation, window: Window, load_height: float | None = None, mirrored: bool = False, small: bool = False):
    """All that stands after a stage, without words; ``mirrored`` adds the other half of a symmetric section, lightly."""
    height = load_height or (0.06 if small else 0.035) * (window.y1 - window.y0)
    for sign in (1, -1) if mirrored else (1,):
        pen = Pen(ax, sign)
        draw_ground(pen, case, situation, window)
        draw_water(pen, case, situation, window, mark=0 if sign < 0 else 6 if small else 9)
        draw_slabs(pen, case, situation)
        draw_wells(pen, case, situation, 0 if sign < 0 else 6 if small else 9)
        draw_walls(pen, case, situation, 2.2 if small else 3.0)
        draw_frames(pen, case, situation, 3.2 if small else 4.5)
        draw_loads(pen, case, situation, window, height, 5.5 if small else 10.0)
    if mirrored:
        ax.add_patch(Rectangle((-window.x1, window.y0), window.x1, window.y1 - window.y0 + 1e3, facecolor="white", alpha=0.55, linewidth=0, zorder=5))
    if case.section.half:
        ax.plot([0, 0], [window.y0, window.y1], color=style.GREY, linewidth=0.8, linestyle=(0, (12, 3, 2, 3)), zorder=6)
    ax.set_xlim(-window.x1 if mirrored else window.x0, window.x1)
    ax.set_ylim(window.y0, window.y1)
    ax.set_aspect("equal")
    return ax


def section_axes(ax):
    """Words and unit of the axes of a section."""
    ax.set_xlabel("x [m]")
    ax.set_ylabel("Level [m]")
    style.level_ticks(ax.xaxis)
    style.level_ticks(ax.yaxis)
    return ax
