"""What a result says on the terminal: the table of its stages, its headline numbers with what is stated of their capacity, errors and doubts."""

from __future__ import annotations

import shutil
import textwrap

UNDECIDED = "the search came to no end; that the ground fails was not seen"


def width() -> int:
    """Width of the terminal in characters."""
    return shutil.get_terminal_size().columns


def wrapped(text) -> str:
    """Text within the width of the terminal, further lines set in."""
    return textwrap.fill(text, min(max(width(), 60), 120), subsequent_indent="  ", break_on_hyphens=False)


def report_text(result) -> str:
    """The headline numbers of a result as a table for the terminal, with their error bars where the result has companions on other meshes."""
    from fesoil.result.doubts import doubts
    from fesoil.result.records import beside_records, ground_texts
    from fesoil.result.terms import term_texts
    from fesoil.result.trust import trust_texts
    from fesoil.result.water_stage import water_texts

    stages, more = result.summary()["stages"], 0 if result.trust is None else 5
    names, units = ("deflection", "moment", "settlement", "heave"), ("[mm]", "[kN m/m]", "[mm]", "[mm]")
    widths = [w + more for w in (11, 9, 11, 7)]
    head = [f"{first:<34}{''.join(f'{t:>{w}}' for t, w in zip(texts, widths))}  {last}" for first, texts, last in (("stage", names, "frames"), ("", units, "[kN/m]"))]
    table = [_stage_line(result, i, stage, widths) for i, stage in enumerate(stages, 1)]
    ending, lost = [_ending(result)], not result.complete or (result.deeper is not None and not result.deeper.complete)
    said = [*_worst(result, stages), *water_texts(result.records, result.water, lambda i, *path: result.plus_minus(i, "water", "places", *path)), *term_texts(result), *ground_texts(result), *beside_records(result), *trust_texts(result)]
    said = [*(ending if lost else []), *said, *([] if lost else ending), *(f"- {doubt}" for doubt in doubts(result))]
    return "\n".join([result.case.title, "", *head, *table, *_errors(result, stages), "", *map(wrapped, said)])


def _stage_line(result, i, stage, widths) -> str:
    from fesoil.result.records import value_at

    name = f"{i:2d} {stage['name']}"
    name = f"{name if len(name) <= 33 else name[:30] + '...':<34}"
    if not stage["converged"]:
        return f"{name}NO EQUILIBRIUM beyond {100 * stage['share_of_load']:.0f} % of what the stage changes"

    def cell(*path, decimals=1):
        value = value_at(stage, path)
        return "-" if value is None else _rounded(value, decimals) + _short(result.plus_minus(i, *path))

    def most(key):
        wall = max(stage["walls"], key=lambda name: abs(stage["walls"][name][key]), default=None)
        return "-" if wall is None else cell("walls", wall, key)

    numbers = [most("max_deflection_mm"), most("max_moment_kNm_per_m"), cell("ground", "max_settlement_mm"), cell("ground", "base_heave_mm")]
    frames = ", ".join(f"{n} {cell('frames', n, 'load_kN_per_m', decimals=0)}" for n in stage["frames"])
    return f"{name}{''.join(f'{text:>{w}}' for text, w in zip(numbers, widths))}  {frames}{_factor(result, i, stage)}".rstrip()


def _short(bar) -> str:
    """An error bar for a table; what has none although companions were run is marked."""
    return bar.replace(" ", "") if "\u00b1" in bar else "\u00b1?" if bar else ""


def _rounded(value, decimals=1) -> str:
    """A number, no minus sign before nothing."""
    return f"{round(value, decimals) + 0.0:.{decimals}f}"


def _factor(result, i, stage) -> str:
    if "safety_factor" not in stage:
        return ""
    factor = stage["safety_factor"]
    return "  safety factor below 1" if factor is None else f"  safety factor {factor:.2f}{_short(result.plus_minus(i, 'safety_factor'))}"


def _worst(result, stages):
    """The greatest deflection and moment of each wall, and the greatest load of each frame, with what is stated of their capacity."""
    from fesoil.case.frames import frame_resistance
    from fesoil.result.records import governing
    from fesoil.result.trust import with_bar

    for wall in result.case.walls:
        moved, bent = ("walls", wall.name, "max_deflection_mm"), ("walls", wall.name, "max_moment_kNm_per_m")
        if found := governing(stages, *moved):
            (i, deflection), (j, moment) = found, governing(stages, *bent)
            said = _against(moment, result.plus_minus(j, *bent), wall.sheet.moment_capacity, "kN m/m")
            yield f"Wall {wall.name}: deflection {with_bar(_rounded(deflection), result.plus_minus(i, *moved), 'mm')} in stage {i} (+ towards the dig), moment {said} in stage {j}."
    resistance = {frame.name: (frame_resistance(frame), frame.capacity) for frame in result.case.frames}
    for name in result.frames.names:
        path = ("frames", name, "load_kN_per_m")
        if found := governing(stages, *path):
            i, load = found
            capacity, stated = resistance.get(name, (None, None))
            kind = "Frame" if name in resistance else "Slab"
            said = _against(load, result.plus_minus(i, *path), capacity, "kN/m", f", {stated.basis}" if stated else "")
            yield f"{kind} {name}: load {said} in stage {i}."


def _against(value, bar, capacity, unit, basis="") -> str:
    from fesoil.result.trust import with_bar

    unit = f"of {capacity:.0f} {unit} ({100 * value / capacity:.0f} %{basis})" if capacity else unit
    return with_bar(f"{value:.0f}", bar, unit)


def _errors(result, stages) -> list[str]:
    """Table of the headline numbers, each at its worst stage: what a finer mesh changes, what ever finer ones lead to, and the bar; none without companions."""
    from fesoil.result.records import governing, value_at
    from fesoil.result.trust import is_prescribed

    if result.trust is None:
        return []
    paths = [("walls", w.name, key) for w in result.case.walls for key in ("max_deflection_mm", "max_moment_kNm_per_m")]
    paths += [("frames", name, "load_kN_per_m") for name in result.frames.names]
    paths += [("ground", "max_settlement_mm"), ("ground", "base_heave_mm"), ("safety_factor",)]
    rows = [f"{'error by the mesh':<44}{'stage':>6}{'this mesh':>12}{'change on a finer':>19}{'estimate':>11}{'error bar':>11}"]
    for path in paths:
        if found := governing(stages, *path):
            i, value = found
            error = value_at(result.trust["stages"][i - 1], path) or {}
            if is_prescribed(error):
                continue
            numbers = "".join(f"{_hundredth(v):>{w}}" for v, w in zip((value, *map(error.get, ("difference", "estimate", "bar"))), (12, 19, 11, 11)))
            rows.append(f"{_label(path)[:43]:<44}{i:>6}{numbers}")
    return ["", *rows]


def _label(path) -> str:
    words = {"max_deflection_mm": "deflection [mm]", "max_moment_kNm_per_m": "moment [kN m/m]", "load_kN_per_m": "load [kN/m]"}
    words |= {"max_settlement_mm": "settlement [mm]", "base_heave_mm": "heave [mm]", "safety_factor": "safety factor"}
    return f"{path[1]}, {words[path[-1]]}" if len(path) == 3 else words[path[-1]]


def _hundredth(value) -> str:
    return "none" if value is None else f"{value:.2f}"


def _ending(result) -> str:
    from fesoil.result.doubts import seen_to_fail

    if result.complete and result.deeper is not None and not result.deeper.complete:
        return f"All {len(result.stages)} stages in equilibrium; but with the DEEPER RIGID BASE: {_ending(result.deeper)}"
    if result.complete:
        worst = max(r.equilibrium_error for r in result.records)
        return f"All {len(result.stages)} stages in equilibrium (largest error of the sums of force and moment {worst:.0e} of the weight)."
    why = ("the ground or its support fails" if result.stages else "the ground as described does not stand") if seen_to_fail(result.records[-1]) else UNDECIDED
    if not result.stages:
        return f"NO EQUILIBRIUM at the start: {why}. There are no results."
    number, missing = len(result.stages), len(result.case.stages) - len(result.stages)
    left = f"; stage {number + 1} was not analysed" if missing == 1 else f"; stages {number + 1} to {number + missing} were not analysed" if missing else ""
    return (
        f'NO EQUILIBRIUM in stage {number} "{result.stages[-1].name}": {why}. '
        f"Results end with {f'stage {number - 1}' if number > 1 else 'the start'}{left}."
    )
