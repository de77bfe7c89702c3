"""The finite elements beside the simple method on the terminal: a block for each wall, at most 100 characters wide."""

from __future__ import annotations

import numpy as np

from fesoil.result.beside_hand import CLOSE, ENVELOPE, SLIGHT, Row, WallBesideHand, stage_label, stage_words
from fesoil.result.hand_methods import DEFLECTION, MOMENT_DUG, MOMENT_SOIL, SHEAR, TOE, unit_of
from fesoil.show.terminal import wrapped

MOST = 10.0
"""Ratio from which it is only said that it is more."""


def beside_text(result, walls: tuple[WallBesideHand, ...]) -> str:
    """Tables, reasons and what has no number, for all walls of a result."""
    lines = [f"{result.case.title}: finite elements beside the simple method"]
    if not result.complete:
        lines += ["", wrapped(f"NO EQUILIBRIUM in stage {len(result.stages)}: the analysis has no numbers from there on." if result.stages else "NO EQUILIBRIUM at the start: there are no numbers.")]
    for wall in walls:
        lines += ["", *_stages(result.case, wall), "", *_envelope(wall), *_bases(wall), *_reasons(wall), *_said(wall, "To bear in mind:", True), *_said(wall, "Without a number:", False)]
    if walls:
        lines += ["", *(wrapped(f"{method.short}: {method.words}.") for method in walls[0].methods)]
    return "\n".join(lines)


def _stages(case, wall: WallBesideHand):
    """A row for each moment and load of each stage; those that are slight in both are left out."""
    yield f"{_cut(f'Wall {wall.name}', 38):<40}{'':<28}{'FE':>9}{wall.methods[0].short:>12}{'ratio':>9}"
    most, said = {row.quantity: row.fe for row in wall.envelope}, None
    most[MOMENT_DUG] = most[MOMENT_SOIL] = max(most.get(MOMENT_DUG, 0.0), most.get(MOMENT_SOIL, 0.0))
    for row in wall.rows:
        if row.quantity in (SHEAR, DEFLECTION, TOE) or not _is_shown(row, most[row.quantity]):
            continue
        label = _cut(stage_label(case, row.stage), 38) if row.stage != said else ""
        said = row.stage
        yield f"{label:<40}{_cut(row.quantity, 27):<28}{_number(row.fe, row.words[0]):>9}{_number(row.hand[0], row.words[1]):>12}{_ratio(row.ratios[0]):>9}"


def _is_shown(row: Row, most) -> bool:
    """Whether there is a ratio, or something to be said of why there is none."""
    return not np.isnan(row.ratios[0]) or np.isnan(row.fe) or (np.isnan(row.hand[0]) and row.fe > SLIGHT * most)


def _envelope(wall: WallBesideHand):
    heads = "".join(f"{method.short:>13}" for method in wall.methods)
    yield f"{'Over all stages':<31}{'FE':>9}{'stage':>7}{heads}"
    for row in wall.envelope:
        name = f"{_cut(row.quantity, 22)} [{unit_of(row.quantity)}]" if row.quantity != TOE else "toe, driven | least [m]"
        cells = "".join(f"{_plain(h, row.quantity):>7}{_ratio(r):>6}" for h, r in zip(row.hand, row.ratios))
        yield f"{name:<31}{_plain(row.fe, row.quantity):>9}{row.at if row.quantity != TOE and row.at != ENVELOPE else '':>7}{cells}"


def _plain(value, quantity) -> str:
    return "-" if np.isnan(value) else f"{value:.2f}" if quantity == TOE else f"{value + 0.0:.1f}"


def _number(value, words) -> str:
    return f"{value + 0.0:.1f}" if not np.isnan(value) else "no number" if words else "-"


def _ratio(value) -> str:
    return "" if np.isnan(value) else f"> {MOST:g}" if value > MOST else f"{value:.2f}"


def _bases(wall: WallBesideHand):
    """The stage in which the base comes off worst, and each with strength reduction."""
    worst = min((b for b in wall.bases if b.checks), key=lambda b: min(c.factor for c in b.checks), default=None)
    for base in wall.bases:
        if base is worst or base.is_reduced:
            said = "; ".join(f"{c.name} {c.factor:.2f} ({c.words})" for c in base.checks or ()) or "no clay in total stress lies at the floor"
            factor = "below 1" if base.factor is None else f"{base.factor:.2f}"
            reduced = f"safety factor by strength reduction {factor}" if base.is_reduced else "no strength reduction was asked for"
            yield wrapped(f"Base in stage {base.stage}: {reduced}; {said}.")


def _reasons(wall: WallBesideHand):
    if wall.reasons:
        yield ""
        yield f"Outside {CLOSE[0]:g} to {CLOSE[1]:g}:"
    for quantity, stages, (low, high), text in wall.reasons:
        where = "over all stages" if stages == (ENVELOPE,) else stage_words(stages)
        ratios = _ratio(low) if _ratio(low) == _ratio(high) else f"{_ratio(low)} to {_ratio(high)}"
        yield wrapped(f"- {quantity}, {where} ({ratios}): {text}.")


def _said(wall: WallBesideHand, title: str, has_numbers: bool):
    """The words of the finite elements and of each method in stages with or without numbers, stages and methods of the same words together."""
    found: dict[tuple[str, tuple[int, ...]], list[str]] = {}
    for name, given in (("finite elements", wall.fe), *((m.short, h) for m, h in zip(wall.methods, wall.hand))):
        said = {i: g.words for i, g in given.items() if g.words and g.has_numbers == has_numbers}
        for words in dict.fromkeys(said.values()):
            found.setdefault((words, tuple(i for i in said if said[i] == words)), []).append(name)
    if found:
        yield ""
        yield title
    for (words, stages), names in found.items():
        yield wrapped(f"- {' and '.join(names)}, {stage_words(stages)}: {words}.")


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 3] + "..."
