"""The sequence as a numbered step table, to be held against the drawing and the method statement; no analysis, no pictures."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass

import numpy as np

from fesoil.case.frames import preload
from fesoil.case.model import Case, Stage
from fesoil.case.sequence import Situation, cofferdams, dug_side, ground_level, situations, zones

DEFAULT_MARK = "*"
NOTE = f"{DEFAULT_MARK} the program's default, not given by the case file.  > changed in this step.  - none."
GROUPS = {"dig": "Dig level [m]", "toe": "Toe level (sheet below dig) [m]", "water": "Water level [m]"}
WIDEST = {"Stage": 30, "state, preload at lock [kN/m]": 32, "Slabs": 18, "level kept [m]": 22, "[kPa], [kN/m]": 22}
CLEAR = 1e-6  # [m] beside a wall, so that a level is read on one side of it


@dataclass(frozen=True)
class Entry:
    """One line of a cell: its text, whether the step changed it, whether it is a default of the program."""

    text: str
    changed: bool = False
    default: bool = False


def step_table(case: Case) -> list[dict]:
    """One row for the start and for each stage, in order.

    Returns
    -------
    list of dict
        ``step`` (0 is the start), ``name``, ``actions`` (in words), ``dig`` [m] (lowest ground level by cofferdam, in its own strips),
        ``toe`` [m] and ``below_dig`` [m] (length of sheet below the ground on the dug side) by standing wall, ``water`` [m] by strip
        (None: dry), ``frames`` by name: (state, preload [kN/m] or None), ``slabs`` (names), ``wells`` by name: level kept [m], ``seepage`` (whether
        pore pressure is of steady seepage), ``loads`` by name: kPa or kN/m,
        ``defaults``: the (column, key) pairs whose value is the program's default.
    """
    rows = []
    for situation in situations(case):
        stage = case.stages[situation.index - 1] if situation.index else None
        rows.append(
            {
                "step": situation.index,
                "name": situation.name,
                "actions": actions(case, stage) if stage else [],
                "dig": dig_levels(case, situation),
                "toe": dict(situation.toes),
                "below_dig": lengths_below_dig(case, situation),
                "water": water_levels(case, situation),
                "frames": {f.name: (situation.frames[f.name], situation.preload.get(f.name)) for f in case.frames if f.name in situation.frames},
                "slabs": [s.name for s in case.slabs if s.name in situation.slabs],
                "wells": {w.name: situation.wells[w.name] for w in case.wells if w.name in situation.wells},
                "seepage": situation.seepage,
                "loads": {load.name: load.amount for load in case.loads if load.name in situation.loads},
                "defaults": _defaults(case),
            }
        )
    return rows


def dig_levels(case: Case, situation: Situation) -> dict[str, float]:
    """Lowest ground level [m] of each cofferdam, in the strips that belong to no cofferdam within it."""
    found: dict[str, float] = {}
    spans = cofferdams(case)
    for zone in zones(case):
        if zone.name in spans:
            x = np.linspace(zone.x0 + CLEAR, zone.x1 - CLEAR, 101)
            found[zone.name] = min(found.get(zone.name, np.inf), float(np.min(ground_level(case, situation, x))))
    return found


def lengths_below_dig(case: Case, situation: Situation) -> dict[str, float]:
    """Length of sheet [m] below the ground beside it on the dug side, by standing wall."""
    at = {w.name: w.x + dug_side(case, w.name) * CLEAR for w in case.walls}
    return {name: float(ground_level(case, situation, at[name])) - toe for name, toe in situation.toes.items()}


def water_levels(case: Case, situation: Situation) -> dict[str, float | None]:
    """Water level [m] by strip; strips of one name are told apart as 'name (left)' and 'name (right)' only where they differ."""
    found: dict[str, list] = {}
    for zone, water in zip(zones(case), situation.water):
        found.setdefault(strip_name(case, zone.name), []).append(water)
    levels: dict[str, float | None] = {}
    for name, values in found.items():
        sides = ("",) if len(set(values)) == 1 else (" (left)", *("" for _ in values[2:]), " (right)")
        levels.update({name + side: value for side, value in zip(sides, values)})
    return levels


def strip_name(case: Case, name: str) -> str:
    """A strip's name in words: the cofferdam, or 'outside', with its side in a full section."""
    if name in cofferdams(case):
        return name
    return "outside" if case.section.half else f"outside {name}"


def actions(case: Case, stage: Stage) -> list[str]:
    """What is done in a stage, in words, in the order of the verbs."""
    said = _together("drive", {n: _m(d.toe) + (f", stopped short ({d.stopped_short})" if d.stopped_short else "") for n, d in stage.drive.items()})
    said += [f"extract {name}" for name in stage.extract]
    said += _together("dig", {name: _line(line) for name, line in stage.dig.items()})
    said += [f"place {p.soil}" for p in stage.place]
    said += [f"backfill {name} with {b.soil} to {_line(b.to)}" for name, b in stage.backfill.items()]
    said += [f"fit {name}" for name in stage.fit]
    by_name = {frame.name: frame for frame in case.frames}
    said += [f"pressurise {name} to {preload(by_name[name], p):.0f} kN/m" for name, p in stage.pressurise.items()]
    said += [f"lock {name}" for name in stage.lock] + [f"cast {name}" for name in stage.cast] + [f"{name} has cured" for name in stage.cure]
    said += [f"remove {name}" for name in stage.remove]
    said += [f"water {name} to {_m(v)}" for name, v in stage.water.items()] + [f"flood {name} to {_m(v)}" for name, v in stage.flood.items()]
    said += [f"ground water outside{'' if name == 'outside' else ' on the ' + name} to {_m(v)}" for name, v in stage.ground_water.items()]
    said += [f"water in {name} kept at {_m(v)}" for name, v in stage.pump.items()] + [f"shut {name}" for name in stage.shut]
    said += [] if stage.seepage is None else [f"pore pressure by {'steady seepage' if stage.seepage else 'levels'} from now on"]
    said += [f"excess pore pressure in {name} has gone" for name in stage.dissipate]
    said += [f"put on {name} ({_load_words(case, name)})" for name in stage.load] + [f"take off {name}" for name in stage.unload]
    return said + (["safety factor by strength reduction"] if stage.strength_reduction else [])


def _together(verb, targets):
    """Things done to the same level said in one phrase."""
    names: dict[str, list[str]] = {}
    for name, to in targets.items():
        names.setdefault(to, []).append(name)
    return [f"{verb} {' and '.join(group)} to {to}" for to, group in names.items()]


def step_grid(case: Case) -> tuple[list[tuple[str, str]], list[list[list[Entry]]]]:
    """Headings (group with unit, column), and for each step its cells, each a list of entries, as a table on paper has them."""
    rows = step_table(case)
    columns = [(column, key) for column in GROUPS for key in dict.fromkeys(k for r in rows for k in r[column])]
    heads = [("", "Step"), ("", "Stage"), *((GROUPS[c], key) for c, key in columns), ("Frames", "state, preload at lock [kN/m]")]
    flows = any(row["seepage"] for row in rows)
    heads += ([("", "Slabs")] if case.slabs else []) + ([("Wells", "level kept [m]")] if case.wells else []) + ([("Pore pressure", "by")] if flows else [])
    heads += [("Surcharge", "[kPa], [kN/m]")] if case.loads else []
    grid = []
    for before, row in zip([rows[0], *rows], rows):
        cells = [[Entry(str(row["step"]))], [Entry(row["name"])]]
        cells += [[_level_entry(before, row, column, key)] for column, key in columns] + [_frame_entries(before, row)]
        cells += [_names(before["slabs"], row["slabs"])] if case.slabs else []
        cells += [_well_entries(before["wells"], row["wells"])] if case.wells else []
        cells += [[Entry("seepage" if row["seepage"] else "levels", row["seepage"] != before["seepage"])]] if flows else []
        grid.append(cells + ([_load_entries(case, before, row)] if case.loads else []))
    return heads, grid


def step_text(case: Case, width: int = 130) -> str:
    """The step table for the terminal, in two parts where it is wider than ``width`` characters; ``NOTE`` explains the marks."""
    heads, grid = step_grid(case)
    n_levels = sum(group in GROUPS.values() for group, _ in heads) + 2
    whole = _table(heads, grid)
    if max(map(len, whole)) > width:
        rest = [0, 1, *range(n_levels, len(heads))]
        whole = _table(heads[:n_levels], [row[:n_levels] for row in grid]) + [""]
        whole += _table([heads[j] for j in rest], [[row[j] for j in rest] for row in grid])
    return "\n".join([f"{case.title}   {case.drawing}".rstrip(), "", *whole, "", NOTE])


def _table(heads, grid):
    """Lines of a table with columns as wide as their text, long text wrapped."""
    rows = [[[name] for _, name in heads]] + [[[_marked(e) for e in cell] for cell in row] for row in grid]
    widths = [min(max(len(text) for row in rows for text in row[j]), WIDEST.get(name, 16)) for j, (_, name) in enumerate(heads)]
    for group in dict.fromkeys(group for group, _ in heads if group):
        mine = [j for j, (g, _) in enumerate(heads) if g == group]
        widths[mine[-1]] += max(0, len(group) - sum(widths[j] + 2 for j in mine) + 2)
    lines = [_group_line(heads, widths)]
    for i, row in enumerate(rows):
        wrapped = [[part for text in cell for part in textwrap.wrap(text, width) or [""]] for cell, width in zip(row, widths)]
        for k in range(max(map(len, wrapped))):
            lines.append("  ".join((w[k] if k < len(w) else "").ljust(width) for w, width in zip(wrapped, widths)).rstrip())
        if i == 0:
            lines.append("  ".join("-" * width for width in widths))
    return lines


def _group_line(heads, widths):
    line, at, last = "", 0, None
    for (group, _), width in zip(heads, widths):
        if group and group != last:
            line = line.ljust(at) + group
        last, at = group, at + width + 2
    return line


def _marked(entry):
    return ("> " if entry.changed else "") + entry.text + (DEFAULT_MARK if entry.default else "")


def _level_entry(before, row, column, key):
    value, was = row[column].get(key), before[column].get(key)
    text = "-" if value is None else _m(value, unit="")
    changed = (value is None) != (was is None) or value is not None and abs(value - was) > CLEAR
    if column == "toe" and value is not None:
        text += f" ({row['below_dig'][key]:.2f})"
    return Entry(text, bool(changed), (column, key) in row["defaults"])


def _frame_entries(before, row):
    said = []
    for name, (state, load) in row["frames"].items():
        held = " 0" if load is None and state == "locked" else "" if load is None else f" {load:.0f}"
        said.append(Entry(f"{name} {state}{held}", before["frames"].get(name) != (state, load), load is None and state == "locked"))
    said += [Entry(f"{name} out", True) for name in before["frames"] if name not in row["frames"]]
    return said or [Entry("-")]


def _names(before, now):
    said = [Entry(name, name not in before) for name in now] + [Entry(f"{name} out", True) for name in before if name not in now]
    return said or [Entry("-")]


def _well_entries(before, now):
    said = [Entry(f"{name} {_m(level, unit='')}", before.get(name) != level) for name, level in now.items()]
    said += [Entry(f"{name} shut", True) for name in before if name not in now]
    return said or [Entry("-")]


def _load_entries(case, before, row):
    said = [Entry(f"{n} {v:g}", n not in before["loads"], ("loads", n) in row["defaults"]) for n, v in row["loads"].items()]
    said += [Entry(f"{n} off", True) for n in before["loads"] if n not in row["loads"]]
    return said or [Entry("-")]


def _defaults(case):
    """(column, key) of what the case file leaves to the program: surcharge pressure, water of strips that it does not name."""
    found = {("loads", load.name) for load in case.loads if load.force is None and load.pressure is None}
    named = set(case.water.levels if case.water else ()) | {name for s in case.stages for name in (*s.water, *s.flood)}
    inside = set(cofferdams(case))
    for zone in zones(case):
        general = "inside" if zone.name in inside else "outside"
        if case.water and zone.name not in named and general not in named:
            found |= {("water", strip_name(case, zone.name) + side) for side in ("", " (left)", " (right)")}
    return found


def _load_words(case, name):
    load = next(found for found in case.loads if found.name == name)
    return f"{load.amount:g} {'kN/m' if load.force is not None else 'kPa'}"


def _m(value, unit=" m"):
    return f"{0.0 if abs(value) < 0.005 else value:+.2f}{unit}" if abs(value) >= 0.005 else f"0.00{unit}"


def _line(line):
    levels = [y for _, y in line]
    return _m(levels[0]) if min(levels) == max(levels) else f"{_m(min(levels), '')} to {_m(max(levels))} (sloping)"
