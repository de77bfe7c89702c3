"""The plan of the cofferdams: sheets, frames with their walings and legs or struts, dimensions."""

from __future__ import annotations

import numpy as np
from matplotlib.patches import Rectangle

from fesoil.case import sequence
from fesoil.show import style
from fesoil.show.section import arrow


def plan_sizes(case) -> dict[str, tuple[float, float, float | None]]:
    """Left side x, right side x and, where the case gives it, length along the walls [m] of each cofferdam in plan."""
    sizes = {}
    for name, (a, b) in sequence.cofferdams(case).items():
        lengths = [w.plan_length for w in case.walls if name in (w.name, w.cofferdam) and w.plan_length]
        sizes[name] = (-b if case.section.half else a, b, lengths[0] if lengths else None)
    return sizes


def draw_plan(ax, case):
    """Cofferdams seen from above, each centred on the section; sides along the wall are in the vertical direction of the picture [m]."""
    sizes = plan_sizes(case)
    widest = max(b - a for a, b, _ in sizes.values())
    rows = sorted(sizes, key=lambda name: sizes[name][0] - sizes[name][1])
    half = {name: (sizes[name][2] or max(_spans(case, name), default=1.5 * (sizes[name][1] - sizes[name][0]))) / 2 for name in rows}
    reach, left, right = max(half.values()), min(s[0] for s in sizes.values()), max(s[1] for s in sizes.values())
    step = 0.075 * max(widest, reach)
    for i, name in enumerate(rows):
        _sheets(ax, case, name, sizes[name], half[name])
        _frames(ax, case, name, sizes[name], half[name])
        _dimensions(ax, name, sizes[name], half[name], (len(rows) - i, reach, left, step))
    _frame_list(ax, case, rows, right + 0.06 * widest, reach)
    ax.plot([left - 0.6 * step, right + 0.6 * step], [0, 0], color=style.GREY, linewidth=0.8, linestyle=(0, (12, 3, 2, 3)), zorder=4)
    style.write(ax, right + 0.6 * step, 0, "section", (3, 0), ha="left", color=style.GREY, style="italic")
    ax.set_xlim(left - (len(rows) + 1.2) * step, right + 0.85 * widest)
    ax.set_ylim(-reach - 0.8 * step, reach + (len(rows) + 1.0) * step)
    ax.set_aspect("equal")
    ax.spines["bottom"].set_bounds(ax.get_xlim()[0], right + 0.6 * step)
    style.level_ticks(ax.xaxis)
    style.level_ticks(ax.yaxis)
    ax.set_xticks([x for x in ax.get_xticks() if ax.get_xlim()[0] <= x <= right + 0.6 * step])
    ax.set_xlabel("x [m]", x=((right + left) / 2 - ax.get_xlim()[0]) / np.ptp(ax.get_xlim()))
    ax.set_ylabel("Along the wall, from the section [m]")
    return ax


def _spans(case, name):
    """Waling spans of the cofferdam's frames, for a length that the case does not give."""
    mine = set(sequence.walls_of(case, name))
    return [f.members.waling_span for f in case.frames if f.members and mine & set(f.between)]


def _sheets(ax, case, name, size, half):
    a, b, length = size
    walls = {w.x: w.name for w in case.walls if name in (w.name, w.cofferdam)}
    for x in (a, b):
        wall = walls.get(x) or walls.get(-x) or next(iter(walls.values()))
        colour = style.wall_colour(case, wall)
        ax.plot([x, x], [-half, half], color=colour, linewidth=3, solid_capstyle="butt", zorder=3)
    for y in (-half, half):
        ax.plot([a, b], [y, y], color=colour, linewidth=3 if length else 1, linestyle="-" if length else (0, (4, 3)), zorder=3)
    if not length:
        style.write(
            ax,
            (a + b) / 2,
            -half,
            "length as the walings" if _spans(case, name) else "length not given",
            (0, -7),
            color=style.GREY,
            style="italic",
            fontsize=style.SMALL,
        )


def _frames(ax, case, name, size, half):
    """Closed rectangles of waling and legs, or rows of struts, drawn once where several frames lie over each other."""
    a, b, length = size
    mine = set(sequence.walls_of(case, name))
    drawn = set()
    for frame in case.frames:
        if not mine & set(frame.between) or (frame.members, frame.struts) in drawn:
            continue
        drawn.add((frame.members, frame.struts))
        inset = 0.035 * (b - a)
        if frame.struts:
            n = int((half - inset) // frame.struts.spacing)
            for y in np.arange(-n, n + 1) * frame.struts.spacing:
                ax.plot([a + inset, b - inset], [y, y], color=style.INK, linewidth=1.8, zorder=2.5)
            for x in (a + inset, b - inset):
                ax.plot([x, x], [-half + inset, half - inset], color=style.INK, linewidth=2.2, zorder=2.5)
        elif frame.members:
            along = min(frame.members.waling_span, 2 * half - 2 * inset)
            ax.add_patch(Rectangle((a + inset, -along / 2), b - a - 2 * inset, along, fill=False, edgecolor=style.INK, linewidth=2.2, zorder=2.5))


def _dimensions(ax, name, size, half, place):
    row, reach, left, step = place
    a, b, length = size
    y, x = reach + row * step, left - row * step
    arrow(ax, (a, y), (b, y), style.INK, "<|-|>", 0.6)
    style.write(ax, (a + b) / 2, y, f"{style.shorten(name, 26)}  {b - a:.2f} m", bbox=style.PATCH)
    for edge in (a, b):
        ax.plot([edge, edge], [half, y + 0.2 * step], color=style.FAINT, linewidth=0.5, zorder=1)
    if length:
        arrow(ax, (x, -half), (x, half), style.INK, "<|-|>", 0.6)
        style.write(ax, x, 0.25 * half, f"{length:.2f} m", rotation=90, bbox=style.PATCH)
        for edge in (-half, half):
            ax.plot([a, x - 0.2 * step], [edge, edge], color=style.FAINT, linewidth=0.5, zorder=1)


def _frame_list(ax, case, rows, x, reach):
    """Frames by cofferdam, with level and members, to the right of the plan."""
    lines = []
    for name in rows:
        mine = set(sequence.walls_of(case, name))
        frames = [f for f in case.frames if mine & set(f.between)]
        lines += (
            [style.shorten(name, 30)] + [_frame_words(f) for f in sorted(frames, key=lambda f: -f.level)] + ([] if frames else ["  no frames"]) + [""]
        )
    style.write(ax, x, reach, "\n".join(lines).rstrip(), ha="left", va="top", linespacing=1.5)


def _frame_words(frame):
    head = f"  {style.shorten(frame.name, 24)}  {style.level(frame.level)}"
    if frame.struts:
        return f"{head}\n      struts at {frame.struts.spacing:.2f} m, {frame.struts.length:.2f} m long"
    if frame.members:
        ram = "; rams" if frame.members.ram else ""
        return f"{head}\n      walings {frame.members.waling_span:.2f} m, legs {frame.members.leg_length:.2f} m{ram}"
    return f"{head}\n      stiffness given, members not"
