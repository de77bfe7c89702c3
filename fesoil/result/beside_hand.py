"""The finite elements beside the simple method: rows by wall, stage and quantity, the envelope over the stages, and the reasons where the two are far apart."""

from __future__ import annotations

import csv
from dataclasses import dataclass

import numpy as np

from fesoil.case.model import Case
from fesoil.checks.check import Check
from fesoil.result.base_in_clay import base_in_clay
from fesoil.result.earth import earth_on
from fesoil.result.hand_methods import LOAD, METHODS, MOMENT_DUG, MOMENT_SOIL, TOE, Given, Method, by_finite_elements, stages_of, unit_of
from fesoil.result.hand_reasons import Reason, evidence, reason_for
from fesoil.result.reading import Result
from fesoil.result.store import atomic

CLOSE = (0.7, 1.4)
"""Ratios of finite elements to hand within which the two agree as well as they can be asked to (a choice of ours)."""

SLIGHT = 0.1
"""Share of the greatest value over the stages below which a number is too slight for a ratio."""

NOTHING = 1e-3
"""Share of the greatest value below which a number by hand is none."""

ENVELOPE = 0
"""Number of the stage that stands for all of them."""


@dataclass(frozen=True)
class Row:
    """A quantity of a wall after a stage, or over all of them (``ENVELOPE``): ``fe`` by the finite elements, found in stage ``at``; ``hand`` (m,) by each method; both nan where there is no number,
    and then ``words`` (m + 1,) say why; ``ratios`` (m,) of the two, nan where one has no number, where both are slight, and for levels; infinite where by hand there is nothing."""

    stage: int
    quantity: str
    fe: float
    at: int
    hand: tuple[float, ...]
    ratios: tuple[float, ...]
    words: tuple[str, ...]

    @property
    def is_far(self) -> bool:
        """Whether the first method lies outside ``CLOSE``."""
        return bool(self.ratios) and not np.isnan(self.ratios[0]) and not CLOSE[0] <= self.ratios[0] <= CLOSE[1]


@dataclass(frozen=True)
class Base:
    """The base of the cut before a wall after a stage: two checks by hand, None where no clay in total stress lies there; ``is_reduced`` whether strength reduction was asked for, and the safety factor
    by it, None where it is below 1."""

    stage: int
    checks: tuple[Check, Check] | None
    is_reduced: bool
    factor: float | None


@dataclass(frozen=True)
class WallBesideHand:
    """A wall: ``rows`` stage by stage, ``envelope`` over them, ``bases``, and ``reasons`` as (quantity, stages, least and greatest ratio, text). ``fe`` and ``hand`` (m,) hold the curves by stage."""

    name: str
    methods: tuple[Method, ...]
    rows: tuple[Row, ...]
    envelope: tuple[Row, ...]
    bases: tuple[Base, ...]
    reasons: tuple[tuple[str, tuple[int, ...], tuple[float, float], str], ...]
    fe: dict[int, Given]
    hand: tuple[dict[int, Given], ...]


def beside_hand(result: Result, methods: tuple[Method, ...] = METHODS) -> tuple[WallBesideHand, ...]:
    """Each wall of a result beside simple methods; the reasons are for the first of them and take the second to be the same in the water of the finite elements."""
    return tuple(_wall(result, wall.name, methods) for wall in result.case.walls if stages_of(result, wall.name))


def _wall(result: Result, name: str, methods) -> WallBesideHand:
    fe, hand = by_finite_elements(result, name), tuple(method.stages(result, name) for method in methods)
    names = list(dict.fromkeys(q for given in (*fe.values(), *(g for h in hand for g in h.values())) for q in given.numbers))
    most = {q: max(g.numbers.get(q, 0.0) for numbers in (fe, *hand) for g in numbers.values()) for q in names}
    most[MOMENT_DUG] = most[MOMENT_SOIL] = max(most.get(MOMENT_DUG, 0.0), most.get(MOMENT_SOIL, 0.0))
    rows = tuple(_row(i, q, fe[i], [h[i] for h in hand], most[q]) for i in fe for q in names if any(q in g.numbers for g in (fe[i], *(h[i] for h in hand))))
    envelope = tuple(_over_stages(q, fe, hand, most[q]) for q in names)
    bases = tuple(b for i in fe if (b := _base(result, name, i)) is not None)
    return WallBesideHand(name, tuple(methods), rows, envelope, bases, _reasons(result, name, rows, envelope, fe, hand), fe, hand)


def _row(stage, quantity, fe: Given, hand: list[Given], most) -> Row:
    by_fe, by_hand = fe.numbers.get(quantity, np.nan), tuple(g.numbers.get(quantity, np.nan) for g in hand)
    return Row(stage, quantity, by_fe, stage, by_hand, tuple(_ratio(quantity, by_fe, h, most) for h in by_hand), (fe.words, *(g.words for g in hand)))


def _ratio(quantity, fe, hand, most) -> float:
    if quantity == TOE or np.isnan(fe + hand) or max(fe, hand) <= SLIGHT * most:
        return np.nan
    return fe / hand if hand > NOTHING * most else np.inf


def _over_stages(quantity, fe, hand, most) -> Row:
    """Greatest over the stages in which the finite elements have numbers (deepest least toe); where a method has none in the stage that governs the finite elements, there is no ratio."""
    at, by_fe = _greatest(quantity, fe)
    found, ratios, words = [], [], [""]
    for everything in hand:
        given = {i: everything[i] for i in everything if fe[i].numbers}
        _, by_hand = _greatest(quantity, given)
        without = [i for i in given if quantity not in given[i].numbers and quantity in fe[i].numbers]
        found.append(by_hand)
        ratios.append(np.nan if at in without else _ratio(quantity, by_fe, by_hand, most))
        words.append(_without(given, without, by_hand))
    return Row(ENVELOPE, quantity, by_fe, at, tuple(found), tuple(ratios), tuple(words))


def _without(given: dict[int, Given], without: list[int], by_hand) -> str:
    """What is said of stages in which a method lacks a number that the finite elements have."""
    if not without or not np.isnan(by_hand):
        return f"no number in {stage_words(without)}" if without else ""
    said = list(dict.fromkeys("" if given[i].has_numbers else given[i].words for i in without))
    return said[0] if len(said) == 1 and said[0] else "the method does not give it"


def _greatest(quantity, given: dict[int, Given]) -> tuple[int, float]:
    sign = -1 if quantity == TOE else 1
    there = [i for i in given if quantity in given[i].numbers]
    if not there:
        return ENVELOPE, np.nan
    i = max(there, key=lambda k: sign * given[k].numbers[quantity])
    return i, given[i].numbers[quantity]


def stage_words(stages) -> str:
    """Numbers of stages in words, runs put together: ``stages 3, 5 to 7``."""
    runs: list[list[int]] = []
    for i in stages:
        if runs and i == runs[-1][-1] + 1:
            runs[-1].append(i)
        else:
            runs.append([i])
    words = ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs)
    return f"stage{'s' if len(stages) > 1 else ''} {words}"


def _base(result: Result, name: str, stage: int) -> Base | None:
    record = result.records[stage]
    checks = base_in_clay(result.case, result.situations[stage], name) if record.converged else None
    return Base(stage, checks, bool(record.reduction), record.reduction.get("factor")) if checks or record.reduction else None


def _reasons(result: Result, name: str, rows, envelope, fe, hand):
    """One line for each quantity and kind of reason, with the figures of the stage in which the two are farthest apart."""
    earth, found, own = earth_on(result, name), {}, hand[1] if len(hand) > 1 else hand[0]
    far = [r for r in rows if r.is_far and r.quantity.startswith((LOAD, MOMENT_DUG, MOMENT_SOIL))]
    seen = {i: evidence(result, name, i, earth[i - 1]) for i in {r.stage for r in far}}
    for row in far:
        setting = seen[row.stage]
        reason = Reason("none", "the ground beside the wall has no limits by hand") if setting is None else reason_for(row.quantity, row.stage, fe, hand[0], own, setting)
        found.setdefault((row.quantity, reason.kind, row.ratios[0] > 1), []).append((row, reason))
    lines = [_line(quantity, same) for (quantity, _, _), same in found.items()]
    told = {(r.quantity, r.stage) for r in far}
    return tuple(lines + [_shifted(r, hand[0]) for r in envelope if r.is_far and r.quantity.startswith((LOAD, MOMENT_DUG, MOMENT_SOIL)) and (r.quantity, r.at) not in told])


def _line(quantity, same):
    ratios = [row.ratios[0] for row, _ in same]
    worst = int(np.argmax(np.abs(np.log(np.maximum(ratios, 1e-9)))))
    row, reason = same[worst]
    text = reason.text + (f" (figures of stage {row.stage})" if len(same) > 1 else "")
    return quantity, tuple(r.stage for r, _ in same), (min(ratios), max(ratios)), text


def _shifted(row: Row, hand: dict[int, Given]):
    """An envelope far apart although in the stage that governs the analysis the two are not."""
    j, _ = _greatest(row.quantity, hand)
    return row.quantity, (ENVELOPE,), (row.ratios[0], row.ratios[0]), f"greatest in stage {row.at} by finite elements, in stage {j} by hand"


# ------------------------------------------------------------------------------------------------------------------------------------------ table


def write_table(walls: tuple[WallBesideHand, ...], case: Case, path) -> None:
    """All numbers as CSV, a row for each wall, stage, quantity and method, the unit beside them; empty where there is no number."""
    header = ["wall", "stage", "quantity", "unit", "method", "finite elements", "by hand", "finite elements / by hand", "words"]
    with atomic(path) as temporary, open(temporary, "w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(header)
        for wall in walls:
            writer.writerows(_number_rows(wall, case))
            writer.writerows(_base_rows(wall, case))


def _number_rows(wall: WallBesideHand, case: Case):
    for row in (*wall.rows, *wall.envelope):
        label = "envelope" if row.stage == ENVELOPE else stage_label(case, row.stage)
        for method, hand, ratio, words in zip(wall.methods, row.hand, row.ratios, row.words[1:]):
            said = "; ".join(w for w in (row.words[0], words) if w)
            yield wall.name, label, row.quantity, unit_of(row.quantity), method.short, *map(_cell, (row.fe, hand, ratio)), said


def _base_rows(wall: WallBesideHand, case: Case):
    for base in wall.bases:
        factor, below = np.nan if base.factor is None else base.factor, "below 1 by strength reduction; " if base.is_reduced and base.factor is None else ""
        start = wall.name, stage_label(case, base.stage), "safety factor", "-"
        for check in base.checks or ():
            yield *start, check.name, *map(_cell, (factor, check.factor, factor / check.factor)), below + check.words
        if not base.checks:
            yield *start, "", _cell(factor), "", "", below + "no clay in total stress at the floor"


def stage_label(case: Case, stage: int) -> str:
    """Number and name of a stage."""
    return f"{stage} {case.stages[stage - 1].name}"


def _cell(value) -> str:
    return "" if np.isnan(value) else f"{value:.6g}"
