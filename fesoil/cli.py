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
    """The case of a path, its doubts printed to standard error."""
    from fesoil.case import read_case, warnings_of

    case = read_case(path)
    doubts = warnings_of(case)
    for doubt in doubts:
        print(doubt, file=sys.stderr)
    return case


def _check(arguments) -> int:
    from fesoil.case.steps import step_text

    case = _read(arguments.case)
    print(step_text(case))
    print(f"\n{arguments.case}: {len(case.stages)} stages, nothing wrong with the input. {CAUTION}")
    return DONE


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
    return DONE if result.complete else NO_EQUILIBRIUM


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

    lines = [result.case.title, ""]
    lines.append(f"{'stage':<42}{'wall':>10}{'moment':>10}{'settlement':>12}{'heave':>8}   frames")
    lines.append(f"{'':<42}{'[mm]':>10}{'[kN m/m]':>10}{'[mm]':>12}{'[mm]':>8}   [kN/m]")
    for i, stage in enumerate(result.summary()["stages"], 1):
        lines.append(_stage_line(i, stage))
    lines += ["", _ending(result), *(f"- {doubt}" for doubt in doubts(result)), f"Written to {out}.", CAUTION]
    return "\n".join(lines)


def _stage_line(i, stage) -> str:
    name = f"{i:2d} {stage['name']}"
    name = name if len(name) <= 41 else name[:38] + "..."
    if not stage["converged"]:
        return f"{name:<42}NO EQUILIBRIUM: {100 * stage['share_of_load']:.0f} % of the stage's load could be carried"
    walls = stage["walls"].values()
    wall, moment = (max((abs(w[k]) for w in walls), default=0.0) for k in ("max_deflection_mm", "max_moment_kNm_per_m"))
    ground = stage["ground"]
    frames = ", ".join(f"{n} {f['load_kN_per_m']:.0f}" for n, f in stage["frames"].items())
    factor = stage.get("safety_factor", "")
    safety = "   safety factor below 1" if factor is None else f"   safety factor {factor:.2f}" if factor else ""
    return f"{name:<42}{wall:10.1f}{moment:10.1f}{ground.get('max_settlement_mm', 0.0):12.1f}{ground['base_heave_mm']:8.1f}   {frames}{safety}"


def _ending(result) -> str:
    if result.complete:
        worst = max(r.equilibrium_error for r in result.records)
        return f"All {len(result.stages)} stages in equilibrium (largest error of global equilibrium {worst:.0e} of the weight)."
    if not result.stages:
        return "NO EQUILIBRIUM at the start: the ground as described does not stand. There are no results."
    missing = len(result.case.stages) - len(result.stages)
    return (
        f'NO EQUILIBRIUM in stage "{result.stages[-1].name}": the ground or its support fails, or the search for equilibrium did. '
        f"Results end with the stage before it; {missing} later stages were not analysed."
    )
