"""Steady seepage after a stage: its flow net with what stands there, and what flows."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from matplotlib.patches import Rectangle
from matplotlib.path import Path
from matplotlib.ticker import MaxNLocator
from matplotlib.tri import Triangulation

from fesoil.case import sequence
from fesoil.result.water_stage import HOUR, governing
from fesoil.show import style
from fesoil.show.fields import corners, directions, seen
from fesoil.show.ground import heading
from fesoil.show.section import Pen, arrow, draw_frames, draw_ground, draw_slabs, draw_walls, draw_water, draw_wells, pit_window, section_axes, water_mark, water_place, with_held_water
from fesoil.show.sheets import name_layers
from fesoil.units import number

WET = 0.01
"""Pressure head [m] from which ground counts as wet: the free surface is drawn where it is reached."""

DROPS = 20
"""Most drops of head between neighbouring lines."""

CHANNELS = (2, 12)
"""Fewest and most flow channels: in layered ground squares may ask for hundreds in one layer and for none in another."""

BELOW = 0.5
"""Depth of ground shown below the lowest toe, over the height of the walls and the ground (a choice): water comes from there."""

LEFT, KEY, TOP, LOW = 0.62, 2.75, 0.34, 0.5  # [inch] round the picture: level axis, the key, title, x axis
CELL = 0.14, 0.44  # [inch] height and width of the label of a line
RAISED = str.maketrans("-0123456789", "\u207b\u2070\u00b9\u00b2\u00b3\u2074\u2075\u2076\u2077\u2078\u2079")
FREE = "free surface"
EQUAL = dict(color="#444444", linewidth=0.7)
FLOW = dict(color=style.WATER_LINE, linewidth=1.1)
SURFACE = dict(color=style.WATER_LINE, linewidth=1.6, linestyle=(0, (9, 2, 1.5, 2)))


@dataclass(frozen=True)
class Net:
    """Lines of a flow net.

    ``step`` [m] from one line of equal ``heads`` (a,) [m] to the next, and the ``drops`` of that size in all that is lost; ``stream`` function (n,) [m2/s] and its values ``flows`` (b,) on
    the lines between ``channels`` that each carry ``each`` [m2/s]; without such lines ``stream`` is None and ``channels`` 0.
    """

    heads: np.ndarray
    step: float
    drops: float
    stream: np.ndarray | None = None
    flows: np.ndarray = field(default_factory=lambda: np.zeros(0))
    channels: int = 0
    each: float = 0.0


def net_of(case, water) -> Net:
    """Lines of a flow net of steady seepage, as near to squares as whole channels and round heads allow in the ground in which most head is lost.

    In squares of a permeability k a channel carries k times a drop, so that q = k h (channels / drops); for k stands the median over what is lost, of speed over gradient.
    No flow lines where wells draw water from within the ground: it has no single stream function.
    """
    head, moves = water.head, water.flow.inflow[water.flow.leader] != 0
    told = (_pressure(water) > WET) | moves
    low, high = (float(head[told].min()), float(head[told].max())) if np.any(told) else (0.0, 0.0)
    if high - low < 2 * WET:
        return Net(np.zeros(0), 0.0, 0.0)
    heads = MaxNLocator(DROPS, steps=[1, 2, 2.5, 5, 10]).tick_values(low, high)
    step = float(heads[1] - heads[0])
    heads = heads[(heads > low + 1e-6) & (heads < high - 1e-6)]
    drops, passes = (high - low) / step, water.flow.enters
    if in_wells(case, water):
        return Net(heads, step, drops)
    stream, channels = water.stream_function(), int(np.clip(round(passes / (step * _permeability(water))), *CHANNELS))
    flows = np.linspace(np.nanmin(stream), np.nanmax(stream), channels + 1)[1:-1]
    return Net(heads, step, drops, stream, flows, channels, passes / channels)


def in_wells(case, water) -> bool:
    """Whether wells draw water."""
    return any(abs(water.out.get(well.name, 0.0)) > water.least for well in case.wells)


def _pressure(water):
    """Pressure head (n,) [m]; nan where there is none."""
    return water.head - water.mesh.points[:, 1] - water.mesh.origin[1]


def _permeability(water) -> float:
    """Speed over gradient [m/s], the median over the head that is lost."""
    flowing = water.flow.carries
    v, k = water.flow.velocity[flowing], water.k[flowing, None]
    lost = (v**2 / k).sum(axis=-1)
    ratio = (v**2).sum(axis=-1)[lost > 0] / lost[lost > 0]
    order = np.argsort(ratio)
    share = np.cumsum((water.triangles.weight[flowing] * lost)[lost > 0][order])
    return float(ratio[order][np.searchsorted(share, share[-1] / 2)])


def flow_window(case):
    """The pit with more of the ground below the toes than other pictures show."""
    window = pit_window(case)
    bottom, toes = sequence.extent(case)[2], [toe for now in sequence.situations(case) for toe in now.toes.values()]
    low = min(toes, default=window.y0)
    return replace(window, y0=max(bottom, min(window.y0, low - BELOW * (window.y1 - low))))


def flow_picture(result, i: int):
    """Figure of the flow net after stage i (1 is the first) with its key."""
    case, water, window = result.case, result.seepage[i], flow_window(result.case)
    figure, ax, beside = _sheet(window)
    net = flow_net(ax, case, result.situations[i], water, window)
    heading(ax, result, i)
    _key(beside, _entries(ax, case, net), [*_words(case, result.water[i]), _permeabilities(case, result.situations[i])])
    return figure


def _sheet(window):
    """Figure with the axes of the section and those of its key."""
    slender = (window.y1 - window.y0) / (window.x1 - window.x0)
    width = min(style.PAGE - LEFT - KEY, 7.6 / slender)
    tall = width * slender
    room = max(tall, 4.2)
    figure = style.new_figure(LEFT + width + KEY, room + TOP + LOW + style.FOOT)
    figure.set_layout_engine("none")
    w, h = figure.get_size_inches()
    ax = figure.add_axes((LEFT / w, (h - TOP - tall) / h, width / w, tall / h))
    beside = figure.add_axes(((LEFT + width + 0.2) / w, (h - TOP - room) / h, (KEY - 0.3) / w, room / h))
    return figure, ax, beside


def flow_net(ax, case, situation, water, window) -> Net:
    """Draw the net of steady seepage over the section, with what stands there, and how fast water leaves the floor."""
    net = net_of(case, water)
    shown = _held(case, situation, water, window)
    _stand(ax, case, shown, window)
    mesh, points = water.mesh, water.mesh.points + water.mesh.origin
    chosen = corners(mesh.triangles[water.flow.carries & seen(points, mesh.triangles, window)])
    pressure = _pressure(water)
    if len(chosen):
        _surface(ax, case, shown, Triangulation(*points.T, chosen), pressure, window)
    _exit_gradients(ax, case, situation, water)
    chosen = chosen[np.any(pressure[chosen] > WET, axis=1)]
    if len(chosen) and len(net.heads):
        _lines(ax, Triangulation(*points.T, chosen), net, water, pressure, window)
    ax.set_aspect("equal")
    section_axes(ax)
    return net


def _held(case, situation, water, window):
    """The situation with the levels of free water and of drains that water reaches: the rest of it is what the net shows."""
    shown, names = with_held_water(case, situation, window), [zone.name for zone in sequence.zones(case)]
    idle = {i for i, _ in sequence.drained_zones(case, situation) if water.out[names[i]] - water.through_walls[names[i]] <= water.least}
    return replace(shown, water=tuple(None if i in idle else level for i, level in enumerate(shown.water)))


def _stand(ax, case, situation, window):
    """Ground, paler than elsewhere, what stands in it, and the levels of water."""
    pen = Pen(ax)
    draw_ground(pen, case, situation, window)
    ax.add_patch(Rectangle((window.x0, window.y0), window.x1 - window.x0, window.y1 - window.y0, facecolor="white", alpha=0.55, linewidth=0, zorder=1.35))
    draw_water(pen, case, situation, window)
    draw_slabs(pen, case, situation)
    draw_wells(pen, case, situation)
    draw_walls(pen, case, situation, 3.0)
    draw_frames(pen, case, situation, 4.5)
    if case.section.half:
        ax.plot([0, 0], [window.y0, window.y1], color=style.GREY, linewidth=0.8, linestyle=(0, (12, 3, 2, 3)), zorder=6)
    ax.set(xlim=(window.x0, window.x1), ylim=(window.y0, window.y1))
    name_layers(ax, case, window)
    for zone, level in zip(sequence.zones(case), situation.water):
        if level is not None and zone.x0 < window.x1 and zone.x1 > window.x0:
            _name_level(ax, case, water_place(case, zone, window), level, window)
    for well in case.wells:
        if well.name in situation.wells:
            words = f"{style.shorten(well.name, 22)}\nwater {style.level(situation.wells[well.name])}"
            near = min((wall.x - well.x for wall in case.walls), key=abs, default=-1.0)
            away = dict(ha="right" if near > 0 else "left", color=style.WATER_LINE, bbox=style.LABEL, path_effects=[], zorder=7)
            style.write(ax, well.x, (well.top + well.bottom) / 2, words, (-4 if near > 0 else 4, 0), **away)


def _name_level(ax, case, x, level, window):
    """The level at a mark of water, on the side of it where there is more room in its strip."""
    zone = sequence.zones(case)[int(sequence.zone_of(case, x))]
    left = x - max(zone.x0, window.x0) > min(zone.x1, window.x1) - x
    style.write(ax, x, level, style.level(level), (-7 if left else 7, -6), ha="right" if left else "left", color=style.WATER_LINE, fontsize=style.SMALL)


def _surface(ax, case, situation, triangulation, pressure, window):
    """The free surface where it lies beneath the ground surface, with a mark and its level near the edges of the window."""
    for line in _polylines(ax, triangulation, pressure, [WET])[0]:
        x, y = line.T
        top = np.minimum(*(sequence.ground_level(case, situation, x + aside) for aside in (-1e-3, 1e-3)))
        beneath = y < top - 5 * WET
        if np.any(beneath & (x > window.x0) & (x < window.x1) & (y > window.y0)):
            ax.plot(x, np.where(beneath, y, np.nan), zorder=3, label=FREE, **SURFACE)
        for share in (0.05, 0.95):
            at = window.x0 + share * (window.x1 - window.x0)
            j = int(np.argmin(np.where(beneath, np.abs(x - at), np.inf)))
            marked = situation.water[int(sequence.zone_of(case, x[j]))] is not None
            if beneath[j] and abs(x[j] - at) < 0.04 * (window.x1 - window.x0) and not marked:
                water_mark(ax, x[j], y[j] + WET)
                _name_level(ax, case, x[j], y[j] + WET, window)


def _polylines(ax, triangulation, values, levels):
    """Lines (k, 2) of each level, as a list by level."""
    lines = ax.tricontour(triangulation, values, levels)
    lines.remove()
    return [[line for line in np.split(path.vertices, np.flatnonzero(path.codes == Path.MOVETO)) if len(line) > 1] for path in lines.get_paths()]


def _lines(ax, wet, net, water, pressure, window):
    """Lines of equal head and flow lines, within the wet ground."""
    region = ax.tricontourf(wet, pressure, [WET, float(pressure[wet.triangles].max()) + WET], colors=["none"], zorder=0).get_paths()[0]
    heads, flows = _polylines(ax, wet, water.head, net.heads), []
    if net.stream is None:
        _arrows(ax, water, window)
    else:
        flows = [line for lines in _polylines(ax, wet, net.stream, net.flows) for line in lines]
    for look, drawn in ((EQUAL, [line for lines in heads for line in lines]), (FLOW, flows)):
        for line in drawn:
            ax.plot(*line.T, zorder=2.6, **look)[0].set_clip_path(region, ax.transData)
    for line in flows:
        _head_of_arrow(ax, line, water, window)
    _label_heads(ax, heads, net.heads, window)


def _head_of_arrow(ax, line, water, window):
    """The way that water takes, at the middle of what is seen of a flow line."""
    x, y = line.T
    line = line[(x > window.x0) & (x < window.x1) & (y > window.y0) & (y < window.y1)]
    gone = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))]) if len(line) > 2 else np.zeros(1)
    if gone[-1] < 0.08 * (window.y1 - window.y0):
        return
    a, b = (np.array([np.interp(share * gone[-1], gone, line[:, k]) for k in (0, 1)]) for share in (0.48, 0.52))
    places = water.mesh.centroids[water.flow.carries] + water.mesh.origin
    nearest = np.argmin(np.hypot(*(places - (a + b) / 2).T))
    if water.flow.velocity[water.flow.carries][nearest].mean(axis=0) @ (b - a) < 0:
        a, b = b, a
    arrow(ax, a, b, FLOW["color"], width=FLOW["linewidth"], zorder=3.2)


def _label_heads(ax, lines, levels, window):
    """The head on each line that is seen, where most room is left by other lines; none where there is no room beside other words."""
    metre = ax.figure.get_figwidth() * ax.get_position().width / (window.x1 - window.x0)
    parts = [(level, _seen_of(line, level, window, CELL[1] / metre)) for level, branches in zip(levels, lines) for line in branches]
    parts = [(level, part) for level, part in parts if len(part)]
    written = [_covered(ax, note) for note in ax.texts if note.get_text()]
    written += [np.column_stack([np.full(50, wall[0]), np.linspace(*wall[1:], 50)]) for wall in _uprights(ax)]
    for j, (level, part) in enumerate(parts):
        lines_off = _distance(part, [other for k, (_, other) in enumerate(parts) if k != j])
        words_off = _distance(part, written)
        place = int(np.argmax(np.minimum(lines_off, 2 * CELL[0] / metre) + np.minimum(words_off, 4 * CELL[0] / metre)))
        if words_off[place] > 0.9 * CELL[0] / metre:
            look = dict(color=EQUAL["color"], fontsize=style.SMALL, bbox=dict(style.LABEL, pad=0.6), path_effects=[], zorder=7)
            written.append(_covered(ax, style.write(ax, *part[place], style.level(level), **look)))


def _uprights(ax):
    """(x, lower, upper end) of the upright lines in the axes: walls and wells."""
    found = ((line.get_xdata(), line.get_ydata()) for line in ax.lines)
    return [(x[0], *sorted(y)) for x, y in found if len(x) == 2 and x[0] == x[1]]


def _covered(ax, note):
    """Points (k, 2) all over what is written, in data."""
    box = note.get_window_extent().transformed(ax.transData.inverted())
    x, y = np.meshgrid(np.linspace(box.x0, box.x1, 7), [box.y0, box.y1])
    return np.column_stack([x.ravel(), y.ravel()])


def _distance(places, others):
    """Distance (k,) from places (k, 2) to the nearest of others, each (n, 2); half of it across, since labels are wide."""
    apart = (places[:, None] - np.concatenate([np.full((1, 2), np.inf), *others])[None]) * (0.5, 1.0)
    return np.hypot(*apart.transpose(2, 0, 1)).min(axis=1)


def _seen_of(line, head, window, margin):
    """Vertices (k, 2) of a line of equal head in the window, off its edges, and beneath the free surface."""
    x, y = line.T
    inside = (x > window.x0 + 0.7 * margin) & (x < window.x1 - 0.7 * margin) & (y > window.y0 + 0.4 * margin) & (y < min(head, window.y1) - WET)
    return line[inside]


def _arrows(ax, water, window):
    """Directions in which water flows, where it is no slower than a hundredth of the fastest."""
    velocity = water.flow.velocity.mean(axis=1)
    speed = np.hypot(*velocity.T)
    moves = speed > 0.01 * np.max(speed)
    directions(ax, (water.mesh.centroids + water.mesh.origin)[moves], velocity[moves] / speed[moves, None], window, 14)


def _exit_gradients(ax, case, situation, water):
    """Gradient with which water leaves the floor of each strip between walls: at its walls and in its middle."""
    (x, y), pits = (water.mesh.points + water.mesh.origin).T, sequence.cofferdams(case)
    for zone in sequence.zones(case):
        if zone.name not in pits:
            continue
        gradient = water.exit_gradient(zone.name)
        on = np.flatnonzero((gradient > 1e-3) & (x > zone.x0 - 1e-6) & (x < zone.x1 + 1e-6))
        ends = [zone.x1] if case.section.half and zone.x0 == 0.0 else [zone.x0, zone.x1]
        middle = 0.0 if len(ends) == 1 else (zone.x0 + zone.x1) / 2
        for at in dict.fromkeys([*ends, middle]) if len(on) else ():
            j = on[np.argmin(np.abs(x[on] - at))]
            aside = {zone.x0: 1, zone.x1: -1}.get(at, 0) if at != 0.0 or len(ends) == 2 else 1
            ha = {1: "left", -1: "right", 0: "center"}[aside]
            style.write(ax, at, y[j], f"i = {gradient[j]:.2f}", (5 * aside, 9), ha=ha, fontsize=style.SMALL, weight="bold", zorder=9)


def _words(case, told):
    """What flows, and the exit gradient, as paragraphs for the key."""
    run = "m\u00b3/h for each metre run" + (" of the whole section" if case.section.half else "")
    said = []
    for pit, q in ((pit, q) for pit, q in told.inflow.items() if q != 0):
        plan = told.in_plan[pit]
        said.append(f"Flow into {style.shorten(pit, 24)}: {number(HOUR * q, 3)} {run}" + (f"; {number(HOUR * plan, 3)} m\u00b3/h for its plan" if plan is not None else ""))
    said += [f"Into {style.shorten(name, 24)}: {number(HOUR * q, 3)} {run}" for name, q in told.wells.items()]
    for found in governing(told):
        if found.check.name == "exit gradient":
            scope, beyond = ("; with the plan of the pit", "") if found.is_whole else (",", "; in a pit that is small in plan it is greater")
            said.append(f"i: exit gradient of the section{scope} up to {found.check.action:.2f} ({found.place}). Critical {found.check.resistance:.2f}{beyond}")
    return said


def _entries(ax, case, net):
    """Lines of the picture as (look, words); look None for words alone."""
    surface = [(SURFACE, "free surface: no pressure")] if any(line.get_label() == FREE for line in ax.lines) else []
    if not len(net.heads):
        return [(None, "No flow: one head everywhere"), *surface]
    found = [(EQUAL, f"equal head, every {net.step:g} m, with its level; {net.drops:.1f} drops".replace(".0 drops", " drops"))]
    if net.channels:
        run = "metre run of this half" if case.section.half else "metre run"
        found.append((FLOW, f"flow lines: {net.channels} channels, each {number(HOUR * net.each, 3)} m\u00b3/h for each {run}"))
    else:
        found.append((None, "Arrows: the way that water takes. There are no flow lines: wells draw water from within the ground."))
    return found + surface


def _key(ax, entries, paragraphs):
    """Lines with their words, then paragraphs, down one column."""
    ax.set_axis_off()
    across, down = ax.get_position().size * ax.figure.get_size_inches()
    ax.set(xlim=(0, across), ylim=(down, 0))
    y = 0.1
    for look, text in [*entries, *((None, text) for text in paragraphs)]:
        lines = "\n".join(style.wrap(line, 34 if look else 42) for line in text.split("\n"))
        if look:
            ax.plot([0.0, 0.3], [y, y], **look)
        style.write(ax, 0.4 if look else 0.0, y - 0.055, lines, ha="left", va="top", linespacing=1.25)
        y += 0.128 * (lines.count("\n") + 1) + 0.09


def _permeabilities(case, situation):
    """The permeability of each soil, a line each."""
    rows = [f"{style.shorten(s.name, 22)}  {_both(s.permeability.both) if s.permeability and sequence.drains(s, situation) else 'no flow'}" for s in case.soils]
    return "Permeability, level / upright [m/s]:\n" + "\n".join(rows)


def _both(k) -> str:
    return " / ".join(dict.fromkeys(map(_power, k)))


def _power(value) -> str:
    """A number as 2·10⁻⁴."""
    digits, power = f"{value:.1e}".split("e")
    return f"{digits.removesuffix('.0')}\u00b710{str(int(power)).translate(RAISED)}"
