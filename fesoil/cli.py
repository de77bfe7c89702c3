"""The command line: arguments to calls to exit codes; no engineering."""

from __future__ import annotations

import argparse
import os
import sys
import time
from pathlib import Path

from fesoil.errors import FesoilError

DONE, BAD_INPUT, NO_EQUILIBRIUM, INTERRUPTED = 0, 2, 3, 130

CAUTION = (
    "A calculation aid for competent engineers. It does not replace judgement, site investigation or checking; local codes and licensed "
    "practice govern, and what is built is monitored on site."
)


def main(argv=None) -> int:
    """Run the command line and give its exit code: 0 done, 2 bad input, 3 no equilibrium (collapse), 130 interrupted."""
    arguments = _parser().parse_args(argv)
    try:
        return arguments.run(arguments)
    except FesoilError as fault:
        if arguments.debug:
            raise
        print(f"fesoil: {fault}", file=sys.stderr)
        return BAD_INPUT
    except KeyboardInterrupt:
        print("\nfesoil: interrupted; what was finished is kept, and the same command goes on from there", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except OSError as fault:
        if arguments.debug:
            raise
        place = f"{fault.filename}: " if fault.filename else ""
        print(f"fesoil: {place}{fault.strerror}; make room or choose another place with --out (what was finished is kept)", file=sys.stderr)
        return BAD_INPUT


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="fesoil", description="Plane-strain finite-element analysis of braced excavations, stage by stage.", epilog=CAUTION)
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name, what, run in (
        ("check", "read a case file, say what is wrong or unusual, and show its steps", _check),
        ("draw", "draw a case before any analysis: section, plan, each stage, step table", _draw),
        ("run", "analyse a case and write tables, fields and pictures", _run),
        ("schema", "print the JSON Schema of case files, for editors", _schema),
    ):
        command = commands.add_parser(name, help=what, description=what[0].upper() + what[1:] + ".", epilog=CAUTION)
        if name != "schema":
            command.add_argument("case", metavar="CASE", help="case file (TOML)")
        if name in ("draw", "run"):
            command.add_argument("--out", metavar="DIR", required=True, help="directory for what is written")
        if name == "run":
            command.add_argument("--no-pictures", action="store_true", help="leave the pictures out")
            command.add_argument("--quiet", action="store_true", help="no progress line")
        command.add_argument("--debug", action="store_true", help="show the traceback of an error")
        command.set_defaults(run=run)
    return parser


def _read(path):
    """The case of a path; what is unusual in it is said on standard error."""
    from fesoil.case import read_case, warnings_of

    case = read_case(path)
    for doubt in warnings_of(case):
        if not doubt.is_note:
            print(_wrapped(f"Look at {doubt}"), file=sys.stderr)
    return case


def _check(arguments) -> int:
    from fesoil.case import read_case, warnings_of
    from fesoil.case.steps import step_text

    case = read_case(arguments.case)
    doubts = sorted(warnings_of(case), key=lambda doubt: doubt.is_note)
    print(step_text(case, max(_width(), 80)), end="\n\n")
    for doubt in doubts:
        print(_wrapped(f"{'Note:' if doubt.is_note else 'Look at'} {doubt}"))
    notes = sum(doubt.is_note for doubt in doubts)
    print(f"{len(case.stages)} stages, no faults, {len(doubts) - notes} to look at, {notes} notes.", _wrapped(CAUTION), sep="\n")
    return DONE


def _wrapped(text) -> str:
    """Text within the width of the terminal, further lines set in."""
    import textwrap

    return textwrap.fill(text, min(max(_width(), 60), 120), subsequent_indent="  ", break_on_hyphens=False)


def _schema(arguments) -> int:
    import json

    from fesoil.case import schema

    print(json.dumps(schema(), indent=2))
    return DONE


def _draw(arguments) -> int:
    case = _read(arguments.case)
    out = _directory(arguments.out)
    from fesoil.show.drawing import draw_case

    for path in draw_case(case, out):
        print(path)
    return DONE


def _directory(path) -> Path:
    """A directory that exists and can be written.

    Raises
    ------
    ResultError
    """
    from fesoil.errors import ResultError

    path = Path(path)
    if path.exists() and not path.is_dir():
        raise ResultError(f"{path}: is a file, not a directory; choose another place with --out")
    if (path / "manifest.json").exists():
        raise ResultError(f"{path}: holds a result; give the drawings a directory of their own with --out")
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise ResultError(f"{path}: cannot be made ({fault.strerror}); choose another place with --out") from fault
    if not os.access(path, os.W_OK):
        raise ResultError(f"{path}: cannot be written; choose another place with --out")
    return path


def _run(arguments) -> int:
    began = time.perf_counter()
    case = _read(arguments.case)
    from fesoil.case import case_sha256
    from fesoil.result.export import export
    from fesoil.solve.analyse import analyse

    progress = Progress(began) if sys.stderr.isatty() and not arguments.quiet else None
    try:
        result = analyse(case, arguments.out, progress, Path(arguments.case).read_text(encoding="utf-8-sig"))
    finally:
        if progress:
            progress.end()
    export(result, arguments.out, case_sha256(arguments.case), time.perf_counter() - began)
    if not arguments.no_pictures:
        from fesoil.show.results import draw_result

        draw_result(result, Path(arguments.out) / "pictures")
    print(report_text(result, arguments.out))
    return DONE if result.complete and (result.deeper is None or result.deeper.complete) else NO_EQUILIBRIUM


class Progress:
    """One line on a terminal: stage, share, iteration, residual, time gone and an estimate of what is left."""

    def __init__(self, began):
        self.began, self.shown = began, 0.0

    def __call__(self, stage, number, of, share, iteration, residual):
        now = time.perf_counter()
        if now - self.shown < 0.1:
            return
        self.shown = now
        gone, done = now - self.began, max(number - 1, 0)
        left = f", about {gone / done * (of - done):.0f} s left" if done else ""
        line = f"stage {number} of {of}: {stage[:40]} | {100 * share:.0f} % | iteration {iteration} | out of balance {residual:.1e} | {gone:.0f} s{left}"
        sys.stderr.write(f"\r\033[K{line[: _width() - 1]}")
        sys.stderr.flush()

    def end(self):
        """Clear the line."""
        sys.stderr.write("\r\033[K")
        sys.stderr.flush()


def _width() -> int:
    import shutil

    return shutil.get_terminal_size().columns


def report_text(result, out) -> str:
    """The headline numbers of a result as a table for the terminal."""
    from fesoil.result.doubts import doubts
    from fesoil.result.records import beside_records, ground_texts

    stages = result.summary()["stages"]
    lines = [result.case.title, ""]
    lines.append(f"{'stage':<34}{'deflection':>11}{'moment':>9}{'settlement':>11}{'heave':>7}  frames")
    lines.append(f"{'':<34}{'[mm]':>11}{'[kN m/m]':>9}{'[mm]':>11}{'[mm]':>7}  [kN/m]")
    lines += [_stage_line(i, stage) for i, stage in enumerate(stages, 1)]
    lines += ["", *map(_wrapped, _worst(result, stages)), *map(_wrapped, ground_texts(result)), *map(_wrapped, beside_records(result)), _wrapped(_ending(result)), *(_wrapped(f"- {doubt}") for doubt in doubts(result))]
    return "\n".join([*lines, f"Written to {out}.", _wrapped(CAUTION)])


def _stage_line(i, stage) -> str:
    name = f"{i:2d} {stage['name']}"
    name = f"{name if len(name) <= 33 else name[:30] + '...':<34}"
    if not stage["converged"]:
        return f"{name}NO EQUILIBRIUM beyond {100 * stage['share_of_load']:.0f} % of what the stage changes"
    walls, ground = stage["walls"].values(), stage["ground"]
    deflection = max((w["max_deflection_mm"] for w in walls), key=abs, default=None)
    moment = max((w["max_moment_kNm_per_m"] for w in walls), default=None)
    numbers = [(deflection, 11), (moment, 9), (ground.get("max_settlement_mm"), 11), (ground["base_heave_mm"], 7)]
    frames = ", ".join(f"{n} {f['load_kN_per_m']:.0f}" for n, f in stage["frames"].items())
    return f"{name}{''.join(f'{_tenth(v):>{w}}' for v, w in numbers)}  {frames}{_factor(stage)}".rstrip()


def _tenth(value) -> str:
    """A number with one decimal, no minus sign before nothing; a dash for none."""
    return "-" if value is None else f"{round(value, 1) + 0.0:.1f}"


def _factor(stage) -> str:
    if "safety_factor" not in stage:
        return ""
    factor = stage["safety_factor"]
    return "  safety factor below 1" if factor is None else f"  safety factor {factor:.2f}"


def _worst(result, stages):
    """The greatest deflection and moment of each wall, and the greatest load of each frame, with what is stated of their capacity."""
    from fesoil.case.frames import frame_resistance

    done = [(i, stage) for i, stage in enumerate(stages, 1) if stage["converged"]]
    for wall in result.case.walls:
        seen = [(i, stage["walls"][wall.name]) for i, stage in done if wall.name in stage["walls"]]
        if seen:
            i, moved = max(seen, key=lambda item: abs(item[1]["max_deflection_mm"]))
            j, bent = max(seen, key=lambda item: item[1]["max_moment_kNm_per_m"])
            moment = _against(bent["max_moment_kNm_per_m"], wall.sheet.moment_capacity, "kN m/m")
            yield f"Wall {wall.name}: deflection {_tenth(moved['max_deflection_mm'])} mm in stage {i} (+ towards the dig), moment {moment} in stage {j}."
    resistance = {frame.name: (frame_resistance(frame), frame.capacity) for frame in result.case.frames}
    for name in result.frames.names:
        seen = [(i, stage["frames"][name]["load_kN_per_m"]) for i, stage in done if name in stage["frames"]]
        if seen:
            i, load = max(seen, key=lambda item: item[1])
            capacity, stated = resistance.get(name, (None, None))
            kind = "Frame" if name in resistance else "Slab"
            yield f"{kind} {name}: load {_against(load, capacity, 'kN/m')}{f' ({stated.basis})' if stated else ''} in stage {i}."


def _against(value, capacity, unit) -> str:
    return f"{value:.0f} of {capacity:.0f} {unit} ({100 * value / capacity:.0f} %)" if capacity else f"{value:.0f} {unit}"


def _ending(result) -> str:
    if result.complete and result.deeper is not None and not result.deeper.complete:
        return f"All {len(result.stages)} stages in equilibrium; but with the DEEPER RIGID BASE: {_ending(result.deeper)}"
    if result.complete:
        worst = max(r.equilibrium_error for r in result.records)
        return f"All {len(result.stages)} stages in equilibrium (largest error of the sums of force and moment {worst:.0e} of the weight)."
    if not result.stages:
        return "NO EQUILIBRIUM at the start: the ground as described does not stand. There are no results."
    number, missing = len(result.stages), len(result.case.stages) - len(result.stages)
    left = f"; stage {number + 1} was not analysed" if missing == 1 else f"; stages {number + 1} to {number + missing} were not analysed" if missing else ""
    return (
        f'NO EQUILIBRIUM in stage {number} "{result.stages[-1].name}": the ground or its support fails, or the search for equilibrium did. '
        f"Results end with {f'stage {number - 1}' if number > 1 else 'the start'}{left}."
    )
