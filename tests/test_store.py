"""What is kept on disk: a run that is killed goes on with the same digits, nothing of another run is touched, damage is told and not hidden."""

import json
import shutil
import signal
import subprocess
import sys
import time

import numpy as np
import pytest
from build import DRIVE, SAND, build, table, toml

import fesoil
from fesoil import ResultError, case_from, read_result
from fesoil.cli import main
from fesoil.result.store import atomic, hashes
from fesoil.solve.analyse import analyse

FRAME = {"name": "frame", "between": ["wall", "axis"], "level": -0.5, "stiffness": 2e4}


def job(preload=20.0, last=-3.5):
    stages = [DRIVE, {"name": "first", "dig": {"wall": -1.0}}, {"name": "press", "fit": ["frame"], "pressurise": {"frame": preload}},
              {"name": "lock", "lock": ["frame"], "dig": {"wall": -2.0}}, {"name": "deep", "dig": {"wall": last}}]  # fmt: skip
    return table(stages, soils=[SAND], frames=[FRAME], section={"element_size": 0.5})


def same(one, other):
    """Whether two results hold the same digits."""
    return len(one.states) == len(other.states) and all(
        np.array_equal(getattr(a, name), getattr(b, name)) for a, b in zip(one.states, other.states) for name in ("u", "w", "stress", "section", "gap", "traction")
    ) and [a.springs for a in one.states] == [b.springs for b in other.states]  # fmt: skip


def content(directory):
    """Every file of a directory with its bytes."""
    return {p.relative_to(directory): p.read_bytes() for p in directory.rglob("*") if p.is_file()}


@pytest.fixture(scope="module")
def case_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("case") / "case.toml"
    path.write_text(toml(job()))
    return path


@pytest.fixture(scope="module")
def finished(case_file, tmp_path_factory):
    """Directory of an uninterrupted run by the command line."""
    out = tmp_path_factory.mktemp("finished") / "out"
    assert main(["run", str(case_file), "--out", str(out), "--no-pictures", "--quiet"]) == 0
    return out


class Stop(KeyboardInterrupt):
    pass


def stopped_in(case, out, stage, text=""):
    """Run until a stage has begun, then interrupt as the keyboard does."""
    def report(number, **_):
        if number == stage:
            raise Stop
    with pytest.raises(Stop):
        analyse(case, out, report, text)


def test_a_killed_run_goes_on_with_the_same_digits(case_file, finished, tmp_path):
    out = tmp_path / "out"
    command = [sys.executable, "-m", "fesoil", "run", str(case_file), "--out", str(out), "--no-pictures", "--quiet"]
    run = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    until = time.monotonic() + 60
    while not (out / "states" / "01.json").exists() and run.poll() is None and time.monotonic() < until:
        time.sleep(0.002)
    run.send_signal(signal.SIGKILL)
    assert run.wait() == -signal.SIGKILL  # it had not finished by itself
    kept = {p.name: p.stat().st_mtime_ns for p in (out / "states").glob("0[01].npz")}
    assert len(kept) == 2 and not (out / "summary.json").exists()
    assert main(command[3:]) == 0
    assert {p.name: p.stat().st_mtime_ns for p in (out / "states").glob("0[01].npz")} == kept  # not computed again
    assert same(read_result(out), read_result(finished))
    plain = {"wall_seconds": 0}
    assert json.loads((out / "summary.json").read_text()) | plain == json.loads((finished / "summary.json").read_text()) | plain


@pytest.mark.parametrize("stage", [0, 2, 4, 5])
def test_an_interrupted_run_goes_on_with_the_same_digits(stage, finished, tmp_path):
    """Interrupted in any stage: in the start there is nothing to keep (its search reports only where it has to search)."""
    case = case_from(job())
    if stage == 0:
        (tmp_path / "states").mkdir()
        shutil.rmtree(tmp_path / "states")
    else:
        stopped_in(case, tmp_path, stage)
        assert len(list((tmp_path / "states").glob("*.json"))) == stage
    assert same(analyse(case, tmp_path), read_result(finished))


def test_a_finished_run_is_read_again_and_not_computed(case_file, finished):
    before = {p: p.stat().st_mtime_ns for p in finished.glob("states/*.npz")}
    assert main(["run", str(case_file), "--out", str(finished), "--no-pictures", "--quiet"]) == 0
    assert {p: p.stat().st_mtime_ns for p in finished.glob("states/*.npz")} == before


def test_a_changed_later_stage_keeps_what_came_before(tmp_path):
    stopped_in(case_from(job(preload=20.0)), tmp_path, 5)
    before = {p.name: p.stat().st_mtime_ns for p in tmp_path.glob("states/*.npz")}
    changed = case_from(job(preload=35.0))
    result = analyse(changed, tmp_path)
    after = {p.name: p.stat().st_mtime_ns for p in tmp_path.glob("states/*.npz")}
    assert [name for name in sorted(before) if after[name] == before[name]] == ["00.npz", "01.npz", "02.npz"]
    assert same(result, analyse(changed))
    assert result.frames["frame"][2] == 35.0


def test_stages_of_a_case_before_the_change_are_not_mixed_in(tmp_path):
    """A changed dig level changes the mesh, so nothing of the old states may be read, though their files are there."""
    stopped_in(case_from(job(last=-3.5)), tmp_path, 5, toml(job(last=-3.5)))
    changed = case_from(job(last=-3.2))
    stopped_in(changed, tmp_path, 2, toml(job(last=-3.2)))
    part = read_result(tmp_path)
    assert len(part.records) == 2 and not part.complete
    assert same(analyse(changed, tmp_path), analyse(changed))


def test_a_part_of_a_result_can_be_read(tmp_path):
    stopped_in(case_from(job()), tmp_path, 3, toml(job()))
    part = read_result(tmp_path)
    assert not part.complete and part.stage_names == ("drive", "first")
    assert part.wall("wall").lines[1].deflection.max() > 0


def test_the_hash_of_a_stage_knows_what_it_depends_on():
    case, other = case_from(job()), case_from(job(preload=21.0))
    mesh = analyse(build([])).mesh
    a, b = hashes(case, mesh, "1"), hashes(other, mesh, "1")
    assert a[:3] == b[:3] and all(x != y for x, y in zip(a[3:], b[3:])) and len(set(a)) == len(a)
    assert all(x != y for x, y in zip(a, hashes(case, mesh, "2")))
    titled = case_from(job() | {"title": "another", "drawing": "another"})
    assert hashes(titled, mesh, "1") == a


def test_a_finished_run_of_another_case_is_refused_and_untouched(finished, tmp_path, capsys):
    shutil.copytree(finished, tmp_path / "out")
    before = content(tmp_path / "out")
    other = tmp_path / "other.toml"
    other.write_text(toml(job(preload=35.0)))
    assert main(["run", str(other), "--out", str(tmp_path / "out"), "--no-pictures"]) == 2
    assert "another case" in capsys.readouterr().err
    assert content(tmp_path / "out") == before


def test_a_directory_with_other_files_is_refused_and_untouched(tmp_path):
    (tmp_path / "drawing.txt").write_text("mine")
    with pytest.raises(ResultError, match="not a result"):
        analyse(case_from(job()), tmp_path)
    assert content(tmp_path) == {p: b"mine" for p in content(tmp_path)} and len(content(tmp_path)) == 1


def test_a_file_in_the_place_of_the_directory_is_refused(tmp_path):
    (tmp_path / "out").write_text("mine")
    with pytest.raises(ResultError):
        analyse(case_from(job()), tmp_path / "out")
    assert (tmp_path / "out").read_text() == "mine"


@pytest.mark.parametrize("name", ["manifest.json", "case.json", "mesh.npz", "states/02.npz", "states/02.json"])
@pytest.mark.parametrize("damage", ["half", "empty", "rubbish", "another thing"])
def test_damage_is_told(name, damage, finished, tmp_path):
    """Reading or resuming a damaged directory gives a ResultError that names the file, or computes the stage anew; never another exception."""
    out = tmp_path / "out"
    shutil.copytree(finished, out)
    path = out / name
    whole = path.read_bytes()
    path.write_bytes({"half": whole[: len(whole) // 2], "empty": b"", "rubbish": b"\x00\xff" * 40, "another thing": b"[1, 2]"}[damage])
    with pytest.raises(ResultError, match=path.name):
        read_result(out)
    try:
        again = analyse(case_from(job()), out, text=toml(job()))
    except ResultError as error:
        assert path.name in str(error)
    else:
        assert same(again, read_result(finished))


@pytest.mark.parametrize("name", ["mesh.npz", "states/02.npz", "case.json"])
def test_a_missing_file_is_told(name, finished, tmp_path):
    shutil.copytree(finished, tmp_path / "out")
    (tmp_path / "out" / name).unlink()
    with pytest.raises(fesoil.FesoilError, match=name.split("/")[-1]):
        read_result(tmp_path / "out")


def test_what_is_read_is_what_was_computed(finished):
    result, read = analyse(case_from(job())), read_result(finished)
    assert same(result, read) and result.case == read.case and result.complete and read.complete
    assert np.array_equal(result.mesh.points, read.mesh.points) and result.mesh.box == read.mesh.box
    assert result.summary() == read.summary()
    assert np.array_equal(result.wall("wall").lines[-1].moment, read.wall("wall").lines[-1].moment)


def test_a_result_kept_by_the_python_call_can_be_read(tmp_path):
    """`fesoil.analyse(case, out)` and `fesoil.read_result(out)` are the two halves of the public face."""
    case = case_from(job())
    result = fesoil.analyse(case, tmp_path)
    assert same(result, fesoil.read_result(tmp_path)) and fesoil.read_result(tmp_path).case == case


def test_nothing_half_written_is_left(finished, tmp_path):
    assert not [p for p in finished.rglob("*") if p.name.startswith(".")]
    for target in (tmp_path / "new.json", tmp_path / "old.json"):
        (tmp_path / "old.json").write_text("old")
        with pytest.raises(RuntimeError):
            with atomic(target) as temporary:
                temporary.write_text("half")
                raise RuntimeError
    assert {p.name: p.read_text() for p in tmp_path.iterdir()} == {"old.json": "old"}


def test_a_directory_without_a_result_is_told(tmp_path):
    with pytest.raises(ResultError, match="no result"):
        read_result(tmp_path)
