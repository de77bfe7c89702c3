"""A wall by finite elements beside the simple method: pressures on both faces in the stage that governs, moments and, where a method gives them, deflections."""

from __future__ import annotations

import numpy as np

from fesoil.hand.pressures import WallPressures, wall_pressures
from fesoil.result.beside_hand import WallBesideHand
from fesoil.result.earth import EarthLine, earth_on
from fesoil.result.hand_methods import DEFLECTION, LOAD, MOMENT_DUG, MOMENT_SOIL, TOE, Given
from fesoil.show import style
from fesoil.show.profiles import MOMENT_SIGN, ground_strip
from fesoil.show.results import file_name

HAND = ("#d55e00", "#0072b2", "#00805e", "#7b3f98")  # colours of the methods
LIMITS = (("active", "active", "-"), ("at_rest", "at rest", (0, (5, 2))), ("passive", "passive", (0, (1, 1.5))))  # earth pressures by hand: name, words, dash
LINE = 0.0255  # height of a line of the key, of that of its axes
CURVES = (("moment", f"Bending moment [kN m/m]\n{MOMENT_SIGN}"), ("deflection", "Deflection [mm]\n+ towards the dig"))


def draw_beside_hand(result, walls: tuple[WallBesideHand, ...], out_dir) -> list:
    """Write a picture for each wall that has a number by finite elements; returns the paths."""
    order, paths = [w.name for w in result.case.walls], []
    for wall in walls:
        if any(given.numbers for given in wall.fe.values()):
            with style.quiet():
                figure = style.footer(beside_figure(result, wall), result.case, result.version)
                paths.append(style.save(figure, f"{out_dir}/compare-{file_name(wall.name, order.index(wall.name))}.png"))
    return paths


def governing_stage(wall: WallBesideHand) -> int:
    """Stage with the greatest moment by finite elements."""
    return max((i for i, given in wall.fe.items() if given.numbers), key=lambda i: max(wall.fe[i].numbers[q] for q in (MOMENT_DUG, MOMENT_SOIL)))


def beside_figure(result, wall: WallBesideHand):
    """Figure: ground, pressures, moments, deflections, and the frame loads as a list."""
    case, stage = result.case, governing_stage(wall)
    figure = style.new_figure(style.PAGE, 6.2)
    axes = figure.subplots(1, 5, width_ratios=(1.3, 2.4, 1.5, 1.5, 1.35))
    ground_strip(axes[0], case, wall.name, result.situations[stage])
    style.title(axes[0], f"Wall {style.shorten(wall.name, 24)}", color=style.wall_colour(case, wall.name), weight="bold")
    style.title(axes[1], style.wrap(f"{stage}  {result.records[stage].name}", 44, 2), fontsize=7.5)
    earth = earth_on(result, wall.name)[stage - 1]
    pressure_lines(axes[1], earth, _limits(case, result.situations[stage], wall.name, earth))
    for ax, (name, label) in zip(axes[2:4], CURVES):
        ax.axvline(0, color=style.FAINT, linewidth=0.6, zorder=1)
        overlaid(ax, name, wall, stage)
        ax.set_xlabel(label)
        ax.margins(x=0.12)
    for ax in axes[1:4]:
        ax.set_ylim(axes[0].get_ylim())
        ax.tick_params(labelleft=False)
        ax.grid(axis="y", color="#ececec", linewidth=0.5)
        style.level_ticks(ax.yaxis)
    _key(axes[4], wall, stage)
    return figure


def _limits(case, situation, name, earth: EarthLine) -> WallPressures | None:
    """Limits of the ground by hand, in the water of the finite elements; None where the ground has none."""
    try:
        return wall_pressures(case, situation, name, ((earth.level, earth.water[0]), (earth.level, earth.water[1])))
    except ValueError:
        return None


def pressure_lines(ax, earth: EarthLine, limits: WallPressures | None):
    """Pressure of ground and water on the left face drawn to the left, on the right face to the right, over that of water alone; thin lines: limits by hand with the same water, the passive one only
    as far as it fits.

    Returns
    -------
    ax
    """
    most = 1.15 * max(float(earth.total.max()), 1.0)
    ax.plot([0, 0], [earth.level.max(), earth.level.min()], color=style.INK, linewidth=2.0, solid_capstyle="butt", zorder=5)
    for k, sign in enumerate((-1, 1)):
        ax.fill_betweenx(earth.level, 0, sign * earth.water[k], facecolor=style.WATER, linewidth=0, zorder=1, label="water, FE" if k else None)
        ax.plot(sign * earth.total[k], earth.level, color=style.INK, linewidth=1.8, zorder=4, label="ground and water, FE" if k else None)
        for n, (name, words, dash) in enumerate(LIMITS if limits is not None else ()):
            face = limits.right if k else limits.left
            pressed = np.where(face.water + getattr(face, name) <= most, face.water + getattr(face, name), np.nan)
            ax.plot(sign * pressed, face.level, color=HAND[n], linestyle=dash, linewidth=1.1, zorder=3, label=f"{words} by hand, same water" if k else None)
    ax.set(xlim=(-most, most))
    ax.set_xlabel("Pressure of ground and water [kPa]\nleft face | right face")
    ax.xaxis.set_major_formatter(lambda value, _: f"{abs(value):g}")
    return ax


def overlaid(ax, name: str, wall: WallBesideHand, stage: int):
    """A curve of the finite elements and of each method that has it in a stage; says so where none has."""
    level, values = wall.fe[stage].curves[name]
    ax.plot(values, level, color=style.INK, linewidth=1.8, zorder=4)
    drawn = 0
    for colour, dash, given in zip(HAND, style.DASHES[1:] + style.DASHES, wall.hand):
        if name in given[stage].curves:
            level, values = given[stage].curves[name]
            ax.plot(values, level, color=colour, linestyle=dash, linewidth=1.3, zorder=3)
            drawn += 1
    if not drawn:
        ax.text(0.5, 1.01, "none by hand", transform=ax.transAxes, ha="center", va="bottom", fontsize=style.SMALL, color=style.GREY)
    return ax


def _key(ax, wall: WallBesideHand, stage: int):
    """What the lines are, and the numbers of the stage in words."""
    ax.set_axis_off()
    ax.set(xlim=(0, 1), ylim=(0, 1))
    lines = [(style.INK, "-", "finite elements", wall.fe[stage])]
    lines += [(colour, dash, method.short, given[stage]) for colour, dash, method, given in zip(HAND, style.DASHES[1:] + style.DASHES, wall.methods, wall.hand)]
    y = 0.97
    for colour, dash, name, given in lines:
        if given.curves:
            ax.plot([0, 0.14], [y, y], color=colour, linestyle=dash, linewidth=1.6)
        text = style.wrap(name, 24) + "\n" + "\n".join(_numbers(given))
        style.write(ax, 0.18, y + 0.012, text, ha="left", va="top", fontsize=style.SMALL, linespacing=1.25)
        y -= LINE * (text.count("\n") + 1.8)
    ax.legend(*ax.figure.axes[1].get_legend_handles_labels(), loc="lower left", bbox_to_anchor=(-0.05, 0.0), fontsize=style.SMALL, title="Pressures", alignment="left", title_fontsize=style.SMALL)


def _numbers(given: Given):
    """Moments (tension on the dug face, on the soil face), deflection and loads, or why there are none."""
    if set(given.numbers) <= {TOE}:
        return style.wrap(f"no number: {given.words}", 30, 6).split("\n")
    lines = [f"moment {style.number(given.numbers[MOMENT_DUG])} / {style.number(-given.numbers[MOMENT_SOIL])}"] if MOMENT_DUG in given.numbers else []
    shown = {q: v for q, v in given.numbers.items() if q == DEFLECTION or q.startswith(LOAD)}
    return lines + [f"{style.shorten(q.removeprefix(LOAD), 22)} {style.number(v)}" for q, v in shown.items()]
