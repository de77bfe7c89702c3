"""One wall by stage: deflection, bending moment and shear against level, beside the ground that it stands in."""

from __future__ import annotations

import numpy as np

from fesoil.case import sequence
from fesoil.result.trust import with_bar
from fesoil.show import style
from fesoil.show.labels import write_free
from fesoil.show.section import Pen, Window, draw_ground, draw_water, span, water_mark

QUANTITIES = (
    ("Deflection [mm]\n+ towards the dig", "mm", 1),
    ("Bending moment [kN m/m]\n{moment_sign}", "kN m/m", 0),
    ("Shear force [kN/m]", "kN/m", 0),
)
MOMENT_SIGN = "+ tension on the dig face"


def wall_lines(axes, lines, *, failed=(), moment_sign: str = MOMENT_SIGN, shown=None, bars=None):
    """Deflection, bending moment and shear of one wall by stage, on three axes that share the level.

    Parameters
    ----------
    axes : three Axes
    lines : list of (stage name, level (n,) [m], deflection (n,) [mm, positive towards the dig], moment (n,) [kN m/m], shear (n,) [kN/m]) or None
        None where the wall does not stand.
    failed : indices in ``lines`` of the stages without equilibrium; drawn dashed and said so, and never called the greatest.
    moment_sign : str
        The sign of a moment in words.
    shown : number written before the stage's name; the index in ``lines`` when left out.
    bars : function from an index in ``lines`` and an axis (0 to 2) to the text of the error bar of the greatest value there.

    Returns
    -------
    axes
    """
    colours = style.stage_colours(len(lines))
    standing = [i for i, line in enumerate(lines) if line is not None]
    governing = governing_stages(lines, failed)
    for column, (ax, (label, unit, decimals)) in enumerate(zip(axes, QUANTITIES), start=2):
        ax.axvline(0, color=style.FAINT, linewidth=0.6, zorder=1)
        worst = governing[column - 2] if governing else None
        for i in standing:
            ax.plot(lines[i][column], lines[i][1], **style.stage_line(colours[i], 2 if i == worst else i in governing, i in failed))
        ax.set_xlabel(label.format(moment_sign=moment_sign))
        ax.margins(x=0.12)
        ax.grid(axis="y", color="#ececec", linewidth=0.5)
        if worst is not None:
            bar = bars(worst, column - 2) if bars else ""
            _label_worst(ax, lines, worst, column, unit, decimals, worst if shown is None else shown[worst], bar)
        fallen = ", ".join(str(i if shown is None else shown[i]) for i in standing if i in failed)
        if fallen:
            ax.text(0, 1.01, f"dashed: stage {fallen}, {style.NO_EQUILIBRIUM}", transform=ax.transAxes, va="bottom", fontsize=style.SMALL, weight="bold")
    axes[0].set_ylabel("Level [m]")
    style.level_ticks(axes[0].yaxis)
    return axes


def governing_stages(lines, failed=()) -> list[int]:
    """Stages with the greatest deflection, moment and shear, of those in equilibrium where there are any; empty where the wall never stands."""
    standing = [i for i, line in enumerate(lines) if line is not None]
    among = [i for i in standing if i not in failed] or standing
    return [max(among, key=lambda i: np.max(np.abs(lines[i][column]))) for column in (2, 3, 4)] if among else []


def _label_worst(ax, lines, worst, column, unit, decimals, number, bar):
    """Value with its error bar, level and stage of the greatest value, near its point and clear of the curves."""
    values, levels = np.asarray(lines[worst][column]), np.asarray(lines[worst][1])
    at = int(np.argmax(np.abs(values)))
    ax.plot([values[at]], [levels[at]], "o", color=style.INK, markersize=4, zorder=6)
    text = f"{with_bar(style.number(values[at], decimals), bar, unit)}\nat {style.level(levels[at])} m\nstage {number}"
    write_free(ax, values[at], levels[at], text, [(line[column], line[1]) for line in lines if line is not None], main=(values, levels))


def stage_key(ax, names, *, failed=(), shown=None, missing=(), strong=()):
    """A list of the stages with their colours, in the place of a legend; ``missing`` are greyed, ``strong`` (the governing ones) drawn strongly."""
    ax.set_axis_off()
    ax.set(xlim=(0, 1), ylim=(len(names) - 0.3, -1.4))
    colours = style.stage_colours(len(names))
    style.write(ax, 0, -0.9, "Stage", ha="left", color=style.GREY)
    for i, name in enumerate(names):
        number = i if shown is None else shown[i]
        words = style.wrap(f"{number}  {name}", 26 if i in failed else 30, 2) + (f"\n{style.NO_EQUILIBRIUM}" if i in failed else "")
        if i not in missing:
            ax.plot([0, 0.13], [i, i], clip_on=False, **style.stage_line(colours[i], 2 if i in strong else 0, i in failed))
        style.write(
            ax,
            0.17,
            i,
            words,
            ha="left",
            fontsize=style.SMALL,
            color=style.GREY if i in missing else style.INK,
            style="italic" if i in missing else "normal",
            weight="bold" if i in failed else "normal",
            linespacing=1.1,
        )
    return ax


def ground_strip(ax, case, wall_name: str, situation=None):
    """The ground at a wall: retained side and dug side in one strip, with frames, the dig level and the water of a situation."""
    wall = next(w for w in case.walls if w.name == wall_name)
    walk = sequence.situations(case)
    situation = situation or min((s for s in walk if wall_name in s.toes), key=lambda s: _dig_at(case, s, wall), default=walk[-1])
    toe = min((s.toes[wall_name] for s in walk if wall_name in s.toes), default=wall.top_level - 10)
    side = sequence.dug_side(case, wall_name)
    high = max(wall.top_level, float(sequence.ground_level(case, situation, wall.x - 0.05 * side)))
    margin = 0.06 * (high - toe)
    window = Window(wall.x - 1.0, wall.x + 1.0, toe - margin, high + 2 * margin)
    pen = Pen(ax)
    draw_ground(pen, case, situation, window)
    draw_water(pen, case, situation, window, mark=0)
    ax.plot([wall.x, wall.x], [wall.top_level, toe], color=style.wall_colour(case, wall_name), linewidth=3, solid_capstyle="butt", zorder=4)
    ax.set(xlim=(window.x0, window.x1), ylim=(window.y0, window.y1), ylabel="Level [m]", xticks=[])
    ax.set_xlabel(f"Ground and frames\n{'dig to the left' if side < 0 else 'dig to the right'}")
    _name_strip(ax, case, wall, situation, window, side)
    style.level_ticks(ax.yaxis)
    return ax


def _dig_at(case, situation, wall):
    return float(sequence.ground_level(case, situation, wall.x + 0.05 * sequence.dug_side(case, wall.name)))


def _name_strip(ax, case, wall, situation, window, side):
    """Frames, dig level and water on the dug side, soils on the retained side."""
    outer, inner = wall.x - 0.5 * side, wall.x + 0.55 * side
    scale = ax.figure.get_figheight() * 72 * 0.8 / (window.y1 - window.y0)
    for frame in case.frames:
        if wall.name in frame.between:
            ax.plot([wall.x, wall.x + 0.97 * side], [frame.level] * 2, color=style.INK, linewidth=1.6, zorder=4.5)
            ax.plot([wall.x + 0.05 * side], [frame.level], "s", color=style.INK, markersize=4, zorder=4.6)
            words = f"{style.wrap(frame.name, 14, 2)}\n{style.level(frame.level)}"
            style.write(ax, wall.x + 0.5 * side, frame.level, words, (0, 3), va="bottom", fontsize=style.SMALL, linespacing=1.1)
    dig = _dig_at(case, situation, wall)
    style.write(ax, inner, dig, f"dig {style.level(dig)}", (0, -6), fontsize=style.SMALL, weight="bold", zorder=9)
    surface = float(sequence.ground_level(case, situation, outer))
    tops = [(min(float(sequence.level_at(layer.top, outer)), surface), layer.soil) for layer in case.layers]
    shown = [(y, soil) for i, (y, soil) in enumerate(tops) if y > window.y0 and not any(below >= y for below, _ in tops[i + 1 :])]
    for (y, soil), place in zip(shown, style.spread([-y for y, _ in shown], 16 / scale)):
        words = f"{style.wrap(soil, 14, 2)}\n{style.level(y)}"
        style.write(ax, outer, -place, words, (0, -10), fontsize=style.SMALL, bbox=style.LABEL, path_effects=[])
    for zone, water in zip(sequence.zones(case), situation.water):
        if water is not None and zone.x0 < outer < zone.x1:
            water_mark(ax, wall.x - 0.9 * side, water, 7).set_zorder(9)
        elif water is not None and zone.x0 < inner < zone.x1:
            water_mark(ax, wall.x + 0.85 * side, water, 7).set_zorder(9)


def wall_figure(case, wall_name: str, lines, *, failed=(), moment_sign: str = MOMENT_SIGN, shown=None, bars=None):
    """Figure: ground strip, deflection, moment, shear and the list of stages of one wall."""
    figure = style.new_figure(style.PAGE, 6.6)
    axes = figure.subplots(1, 5, sharey=False, width_ratios=(1.55, 1.5, 1.5, 1.5, 1.35))
    ground_strip(axes[0], case, wall_name)
    standing = [line for line in lines if line is not None]
    low, high = axes[0].get_ylim()
    if standing:
        low, high = min(low, *(np.min(line[1]) for line in standing)), max(high, *(np.max(line[1]) for line in standing))
    for ax in axes[:4]:
        ax.set_ylim(low, high)
    figure.get_layout_engine().execute(figure)  # the notes go by the places of the curves on the page
    wall_lines(axes[1:4], lines, failed=failed, moment_sign=moment_sign, shown=shown, bars=bars)
    for ax in axes[1:4]:
        ax.set_ylabel("")
        ax.tick_params(labelleft=False)
        _frame_levels(ax, case, wall_name)
    axes[0].set_ylabel("Level [m]")
    names = [line[0] if line else _stage_name(case, i, shown) for i, line in enumerate(lines)]
    missing = [i for i, line in enumerate(lines) if line is None]
    stage_key(axes[4], names, failed=failed, shown=shown, missing=missing, strong=governing_stages(lines, failed))
    style.title(axes[0], f"Wall {style.shorten(wall_name, 40)}", color=style.wall_colour(case, wall_name), weight="bold")
    return figure


def _stage_name(case, i, shown):
    index = i if shown is None else shown[i]
    return case.stages[index - 1].name if 0 < index <= len(case.stages) else "Before the works"


def _frame_levels(ax, case, wall_name):
    for frame in case.frames:
        if wall_name in frame.between and span(case, frame.between):
            ax.axhline(frame.level, color=style.FAINT, linewidth=0.6, linestyle=(0, (2, 2)), zorder=1)
