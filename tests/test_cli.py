"""The command line: exit codes, what is said where, and that a run without equilibrium never looks like one with it."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from build import DRIVE, SAND, soil, table, toml

import fesoil
from fesoil.cli import CAUTION, main

QUICK = table([DRIVE, {"name": "dig", "dig": {"wall": -2.0}}])
FALLS = table(
    [{"name": "drive", "drive": {"wall": -2.0}}, {"name": "too deep", "dig": {"wall": -1.9}}, {"name": "later"}],
    soils=[soil(SAND, strength={"effective_cohesion": 0.0, "friction_angle": 30, "dilation_angle": 0}, wall_friction=None)], section={"element_size": 2.0},
)  # fmt: skip
COMMANDS = ("check", "draw", "run", "compare", "schema")



def flat(text):
    """Text without its line breaks: the command wraps to the width of the terminal."""
    return " ".join(text.split())


def run(*arguments, **kwargs):
    """The command in a process of its own."""
    return subprocess.run([sys.executable, "-m", "fesoil", *map(str, arguments)], capture_output=True, text=True, timeout=120, **kwargs)


@pytest.fixture
def case(tmp_path):
    (tmp_path / "case.toml").write_text(toml(QUICK))
    return tmp_path / "case.toml"


def test_check(case, capsys):
    assert main(["check", str(case)]) == 0
    said = capsys.readouterr()
    assert "drive" in said.out and "2 stages" in said.out and CAUTION in flat(said.out)
    assert "Look at loads" in said.out  # the missing surcharge is a doubt
    assert list(case.parent.iterdir()) == [case]


def test_draw(case, capsys):
    assert main(["draw", str(case), "--out", str(case.parent / "drawings")]) == 0
    made = capsys.readouterr().out.split()
    assert made and all(Path(p).stat().st_size > 1000 for p in made)


def test_run(case, capsys):
    out = case.parent / "out"
    assert main(["run", str(case), "--out", str(out), "--no-pictures"]) == 0
    said = capsys.readouterr()
    assert "All 2 stages in equilibrium" in said.out and "NO EQUILIBRIUM" not in said.out and CAUTION in flat(said.out)
    assert {"case.toml", "manifest.json", "summary.json", "walls.csv", "frames.csv", "surface.csv", "fields"} <= {p.name for p in out.iterdir()}
    assert not (out / "pictures").exists()
    assert "\r" not in said.err  # no progress line where nobody watches


def test_run_draws_pictures_unless_told(case):
    assert main(["run", str(case), "--out", str(case.parent / "out")]) == 0
    assert list((case.parent / "out" / "pictures").iterdir())


def test_schema_is_json(capsys):
    assert main(["schema"]) == 0
    assert json.loads(capsys.readouterr().out) == fesoil.schema()


def test_module_and_command_are_the_same(case):
    """Output and code of ``python -m fesoil`` and of the installed ``fesoil``."""
    command = shutil.which("fesoil", path=os.pathsep.join([str(Path(sys.executable).parent), os.environ.get("PATH", "")]))
    assert command, "the console script is not installed"
    for arguments in (["check", str(case)], ["check", "nowhere.toml"]):
        one, two = run(*arguments), subprocess.run([command, *arguments], capture_output=True, text=True, timeout=60)
        assert (one.returncode, one.stdout, one.stderr) == (two.returncode, two.stdout, two.stderr)


BAD = {
    "no file": None,
    "not TOML": "title = ",
    "unknown key": toml(QUICK | {"titel": "x"}),
    "value out of range": toml(QUICK).replace('"x" = 2.0', '"x" = 99.0'),
    "not UTF-8": b"\xff\xfe",
    "empty": "",
}


@pytest.mark.parametrize("verb", ["check", "draw", "run"])
@pytest.mark.parametrize("fault", BAD)
def test_bad_input_is_told_without_a_traceback(verb, fault, tmp_path, capsys):
    path, content = tmp_path / "case.toml", BAD[fault]
    if content is not None:
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
    arguments = [verb, str(path)] + (["--out", str(tmp_path / "out")] if verb != "check" else [])
    assert main(arguments) == 2
    said = capsys.readouterr()
    assert said.err.startswith("fesoil: ") and "Traceback" not in said.err and said.out == ""
    assert not (tmp_path / "out").exists()


def test_a_directory_in_the_place_of_the_case(tmp_path, capsys):
    assert main(["check", str(tmp_path)]) == 2
    assert "fesoil: " in capsys.readouterr().err


@pytest.mark.parametrize("verb", ["draw", "run"])
def test_an_output_that_cannot_be_written(verb, case, capsys):
    """A file in the way stands for all of them: the tests may run as a user who may write anywhere."""
    (case.parent / "file").write_text("mine")
    for out in (case.parent / "file", case.parent / "file" / "below"):
        assert main([verb, str(case), "--out", str(out)]) == 2
        said = capsys.readouterr()
        assert "--out" in said.err and "Traceback" not in said.err
    assert (case.parent / "file").read_text() == "mine"


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
@pytest.mark.parametrize("verb", ["draw", "run"])
def test_a_read_only_place(verb, case, capsys):
    closed = case.parent / "closed"
    closed.mkdir(mode=0o500)
    assert main([verb, str(case), "--out", str(closed / "out")]) == 2
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize("arguments", [[], ["dig"], ["run", "case.toml"], ["check"]], ids=["nothing", "unknown command", "no --out", "no case"])
def test_wrong_arguments(arguments, capsys):
    with pytest.raises(SystemExit) as end:
        main(arguments)
    assert end.value.code == 2 and "usage" in capsys.readouterr().err


@pytest.mark.parametrize("arguments", [["--help"], *([c, "--help"] for c in COMMANDS)], ids=lambda a: a[0])
def test_help_carries_the_caution(arguments, capsys):
    with pytest.raises(SystemExit) as end:
        main(arguments)
    assert end.value.code == 0
    assert CAUTION in " ".join(capsys.readouterr().out.split())


def test_debug_shows_where_an_error_comes_from(tmp_path):
    with pytest.raises(fesoil.CaseError):
        main(["check", str(tmp_path / "none.toml"), "--debug"])


def test_an_interruption_says_how_to_go_on(case, capsys, monkeypatch):
    def stop(*_):
        raise KeyboardInterrupt
    monkeypatch.setattr("fesoil.solve.analyse.analyse", stop)
    assert main(["run", str(case), "--out", str(case.parent / "out"), "--no-pictures"]) == 130
    assert "interrupted" in capsys.readouterr().err


def test_a_closed_pipe_is_no_error(case):
    done = subprocess.run(f'"{sys.executable}" -m fesoil schema | head -c 10', shell=True, capture_output=True, text=True, timeout=60)
    assert done.stderr == "" and len(done.stdout) == 10


@pytest.fixture(scope="module")
def fallen(tmp_path_factory):
    """Output, directory and exit code of a run whose second stage collapses."""
    path = tmp_path_factory.mktemp("fallen")
    (path / "case.toml").write_text(toml(FALLS))
    return run("run", path / "case.toml", "--out", path / "out"), path / "out"


def test_a_collapse_has_its_own_exit_code_and_says_so_in_the_first_words(fallen):
    done, _ = fallen
    assert done.returncode == 3 and "Traceback" not in done.stderr
    assert 'NO EQUILIBRIUM in stage 2 "too deep"' in done.stdout and "stage 3 was not analysed" in flat(done.stdout)
    assert "in equilibrium (largest error" not in done.stdout


def test_a_collapse_never_looks_converged_in_what_is_written(fallen):
    _, out = fallen
    summary = json.loads((out / "summary.json").read_text())
    assert summary["complete"] is False and [s["converged"] for s in summary["stages"]] == [True, False]
    assert not json.loads((out / "manifest.json").read_text())["finished"]
    stages = {row.split(",")[0] for row in (out / "walls.csv").read_text().splitlines()[1:]}
    assert stages <= {"1 drive", "2 too deep (no equilibrium)"}
    result = fesoil.read_result(out)
    assert not result.complete and "1 of 3 stages" in repr(result)


def test_a_start_that_does_not_stand(tmp_path, capsys):
    """A slope far steeper than its friction: exit code 3, and no numbers."""
    steep = table([{"name": "later"}], walls=[], soils=[soil(SAND, strength={"effective_cohesion": 0.0, "friction_angle": 25})],
                  section={"surface": [[4.0, 0.0], [6.0, -5.0]], "element_size": 1.5, "bottom_level": -7.0, "right": 9.0})  # fmt: skip
    (tmp_path / "case.toml").write_text(toml(steep))
    assert main(["run", str(tmp_path / "case.toml"), "--out", str(tmp_path / "out")]) == 3
    assert "NO EQUILIBRIUM at the start" in capsys.readouterr().out


def test_a_full_disk_is_told_without_a_traceback(case):
    """A limit on the size of any file stands for the disk: the mesh alone is larger."""
    command = f"ulimit -f 4; {sys.executable} -m fesoil run {case} --out {case.parent / 'out'} --no-pictures"
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True)
    assert done.returncode == 2 and "Traceback" not in done.stderr and "--out" in done.stderr
    assert main(["run", str(case), "--out", str(case.parent / "out"), "--no-pictures"]) == 0  # with room again the same command goes on
