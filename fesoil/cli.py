"""The command line: arguments to calls to exit codes; no engineering."""

from __future__ import annotations

import argparse
import os
import sys
import time
from pathlib import Path

from fesoil.errors import CompanionLost, FesoilError
from fesoil.show.terminal import report_text, width, wrapped

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
        ("compare", "set a finished run (it is run first where there is none) beside simple methods by hand", _compare),
        ("schema", "print the JSON Schema of case files, for editors", _schema),
    ):
        command = commands.add_parser(name, help=what, description=what[0].upper() + what[1:] + ".", epilog=CAUTION)
        if name != "schema":
            command.add_argument("case", metavar="CASE", help="case file (TOML)")
        if name in ("draw", "run", "compare"):
            command.add_argument("--out", metavar="DIR", required=True, help="directory for what is written")
        if name == "run":
            command.add_argument("--trust", action="store_true", help="analyse a coarser and a finer mesh too, and give each number its error bar")
        if name in ("run", "compare"):
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
            print(wrapped(f"Look at {doubt}"), file=sys.stderr)
    return case


def _check(arguments) -> int:
    from fesoil.case import read_case, warnings_of
    from fesoil.case.steps import step_text

    case = read_case(arguments.case)
    doubts = sorted(warnings_of(case), key=lambda doubt: doubt.is_note)
    print(step_text(case, max(width(), 80)), end="\n\n")
    for doubt in doubts:
        print(wrapped(f"{'Note:' if doubt.is_note else 'Look at'} {doubt}"))
    notes = sum(doubt.is_note for doubt in doubts)
    print(f"{len(case.stages)} stages, no faults, {len(doubts) - notes} to look at, {notes} notes.", wrapped(CAUTION), sep="\n")
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
    result, lost = _analysed(arguments, _read(arguments.case), arguments.trust)
    print(report_text(result), f"Written to {arguments.out}.", wrapped(CAUTION), sep="\n")
    if lost:
        raise lost
    return _ending(result)


def _analysed(arguments, case, trust: bool):
    """Analyse a case and write what ``run`` writes; the result, and the error of companions on other meshes that were lost, None where none were."""
    began = time.perf_counter()
    from fesoil.case import case_sha256
    from fesoil.result.export import export
    from fesoil.result.store import read_result
    from fesoil.solve.analyse import analyse
    from fesoil.solve.companions import analyse_on_three_meshes

    progress, lost = Progress(began) if sys.stderr.isatty() and not arguments.quiet else None, None
    try:
        run = analyse_on_three_meshes if trust else analyse
        run(case, arguments.out, progress, Path(arguments.case).read_text(encoding="utf-8-sig"))
    except CompanionLost as fault:
        lost = fault
    finally:
        if progress:
            progress.end()
    result = read_result(arguments.out)  # with what an earlier run left there on other meshes
    export(result, arguments.out, case_sha256(arguments.case), time.perf_counter() - began)
    if not arguments.no_pictures:
        from fesoil.show.results import draw_result

        draw_result(result, Path(arguments.out) / "pictures")
    return result, lost


def _ending(result) -> int:
    return DONE if result.complete and (result.deeper is None or result.deeper.complete) else NO_EQUILIBRIUM


def _compare(arguments) -> int:
    case = _read(arguments.case)
    from fesoil.result.beside_hand import beside_hand, write_table
    from fesoil.show.beside_text import beside_text

    result = _finished(case, Path(arguments.out)) or _analysed(arguments, case, False)[0]
    walls = beside_hand(result)
    write_table(walls, result.case, Path(arguments.out) / "compare.csv")
    if not arguments.no_pictures:
        from fesoil.show.beside_hand import draw_beside_hand

        draw_beside_hand(result, walls, Path(arguments.out) / "pictures")
    print(beside_text(result, walls), f"Written to {arguments.out}.", wrapped(CAUTION), sep="\n")
    return _ending(result)


def _finished(case, out: Path):
    """The finished run of a case by this version in a directory, None where there is none."""
    from importlib.metadata import version

    from fesoil.result.store import hashes, read_json, read_result

    if not (out / "manifest.json").exists():
        return None
    manifest = read_json(out / "manifest.json")
    if not manifest.get("finished"):
        return None
    found = read_result(out)
    return found if manifest.get("hashes") == hashes(case, found.mesh, version("fesoil")) else None


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
        sys.stderr.write(f"\r\033[K{line[: width() - 1]}")
        sys.stderr.flush()

    def end(self):
        """Clear the line."""
        sys.stderr.write("\r\033[K")
        sys.stderr.flush()
