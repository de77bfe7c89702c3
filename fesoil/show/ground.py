"""The ground after each stage of a result: movement, share of the strength used, and the mechanism of a stage that fails."""

from __future__ import annotations

import numpy as np

from fesoil.case.stiffness import is_small_strain
from fesoil.result.doubts import seen_to_fail
from fesoil.show import style
from fesoil.show.fields import directions, field, placed
from fesoil.show.section import pit_window

MM = 1e3  # mm in a metre
LEFT, RIGHT, BAR, TOP, LOW = 0.62, 0.62, 0.17, 0.4, 0.5  # [inch] round a picture: level axis, bar's words, the bar, title, x axis


def panels(window, n: int):
    """Figure with n equal pictures of a window, side by side or, where it is wide and low, over each other: (figure, [(axes, axes of the bar)]).

    Placed by hand: finding the places by trial takes longer than the drawing.
    """
    slender = (window.y1 - window.y0) / (window.x1 - window.x0)
    columns = n if slender >= 0.7 else 1
    rows, extra = n // columns, LEFT + RIGHT + BAR + 0.1
    width = min((style.PAGE - 0.1) / columns - extra, 6.6, 8.5 / slender)
    tall = width * slender
    figure = style.new_figure(columns * (width + extra) + 0.1, rows * (tall + TOP + LOW) + style.FOOT)
    figure.set_layout_engine("none")
    w, h = figure.get_size_inches()
    found = []
    for i in range(n):
        x, y = (i % columns) * (width + extra) + LEFT, h - (i // columns) * (tall + TOP + LOW) - TOP - tall
        ax = figure.add_axes((x / w, y / h, width / w, tall / h))
        found.append((ax, figure.add_axes(((x + width + 0.08) / w, (y + 0.1 * tall) / h, BAR / w, 0.8 * tall / h))))
    return figure, found


def stage_picture(result, i: int):
    """Figure of the displacement and the share of the strength used after stage i (1 is the first)."""
    case, data, situation = result.case, result.field(i), result.situations[i]
    figure, ((left, left_bar), (right, right_bar)) = panels(pit_window(case), 2)
    size = MM * np.hypot(*np.asarray(data.displacement).T)
    put = placed(case, result.situations[: i + 1], data.points, data.triangles)
    hard = np.isin(data.material, [k for k, soil in enumerate(case.soils) if soil.strength is None])
    field(
        left, data.points, data.triangles, size, label="Displacement since the start", unit="mm", displacement=data.displacement, case=case,
        situation=situation, bar_axes=left_bar, blank=put, blank_note="grey: placed material, not shown",
    )  # fmt: skip
    field(
        right, data.points, data.triangles, data.share_of_strength, label="Share of the strength used", unit="\u2013", limits=(0, 1),
        cmap="cividis", marked=np.asarray(data.yielded, float) >= 0.5, case=case, situation=situation, bar_axes=right_bar, blank=hard,
        blank_note="grey: never yields", remarks=_carried(case, data, right),
    )  # fmt: skip
    heading(left, result, i)
    return figure


def heading(ax, result, i: int, width: int = 80):
    """Number and name of stage i over a picture, in bold with what it reached where it found no equilibrium."""
    stage = result.stages[i - 1]
    words = f"{i}  {style.shorten(stage.name, width)}"
    style.title(ax, words if stage.converged else f"{words}: {_fallen(stage)}", weight="normal" if stage.converged else "bold")


def room_for(ax) -> int:
    """Characters of the smallest type that fit across a picture."""
    return int(16 * ax.get_position().width * ax.figure.get_figwidth())


def _carried(case, data, ax):
    """What the share of the strength is in ground that is stiff at small strain, as lines for the note; none where there is no such ground."""
    names = ", ".join(soil.name for k, soil in enumerate(case.soils) if is_small_strain(soil) and np.any(data.material == k))
    who, room = names if len(names) <= 36 else "ground stiff at small strain", room_for(ax)
    return [style.wrap(f"{who}: share of the strength carried by those of the model's parallel parts that yield", room)] if names else []


def _fallen(record):
    """How far a stage without equilibrium got, in words."""
    return f"{style.NO_EQUILIBRIUM} beyond {100 * record.share:.0f} % of its load"


def _factor(record, bar):
    """Safety factor of a stage, in words."""
    factor = record.reduction["factor"]
    return "no safety factor: not stable with the stated capacities" if factor is None else f"safety factor {factor:.2f}{bar} by strength reduction"


def mechanism_picture(result, i: int):
    """Figure of the relative movement, with its direction, with which stage i fails under reduced strength or under its own load."""
    data, movement, record = result.field(i), result.mechanism(i), result.records[i]
    found = _factor(record, result.plus_minus(i, "safety_factor")) if record.converged else f"{_fallen(record)}, {'the ground moves on' if seen_to_fail(record) else 'where the search ended'}"
    window = pit_window(result.case)
    figure, ((ax, bar),) = panels(window, 1)
    movement = movement / max(np.hypot(*movement[np.unique(data.triangles)].T).max(), 1e-12)
    size = np.hypot(*movement.T)
    field(
        ax, data.points, data.triangles, size, label="Movement of the mechanism, relative", unit="\u2013", limits=(0, 1), case=result.case,
        situation=result.situations[i], bar_axes=bar,
    )  # fmt: skip
    _arrows(ax, data, movement, size, window)
    style.title(ax, style.wrap(f"{i}  {style.shorten(record.name, 60)}: {found}", int(figure.get_figwidth() * 11), 2), fontsize=8)
    return figure


def _arrows(ax, data, movement, size, window):
    """Directions of movement where it is more than a tenth of the greatest."""
    nodes = np.unique(data.triangles)
    nodes = nodes[size[nodes] > 0.1]
    directions(ax, data.points[nodes], movement[nodes] / size[nodes, None], window)
