"""Error bars by the mesh: the estimator on sequences whose limit is known, companions on other meshes, and what a reader is told."""

import contextlib
import json
import os
import shutil
import signal
import subprocess
import sys
import time
from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from build import BRACED, CLAY, DIG, FRAME, SAND, STIFF_SAND, build, soil, table, toml

import fesoil
from fesoil.cli import main
from fesoil.errors import ResultError
from fesoil.result.records import beside_records, formation
from fesoil.result.store import COARSER, FINER
from fesoil.result.trust import error_bar, is_prescribed, plus_minus_of, rounded, trust_texts, with_bar, without_limit
from fesoil.show.terminal import report_text
from fesoil.solve.analyse import analyse
from fesoil.solve.companions import COARSENESS, analyse_on_three_meshes

MESHES = (1000, 2300, 5000)
UNEVEN = (2009, 3006, 6527)
"""Triangles of meshes whose sizes fall by 1.22 and 1.47."""


@pytest.mark.parametrize("order", [0.5, 1.0, 1.5, 2.0])
@pytest.mark.parametrize("sign", [-1, 1])
@pytest.mark.parametrize("triangles", [MESHES, UNEVEN])
def test_estimate_of_a_power_law_is_its_limit_and_the_bar_covers_it(order, sign, triangles):
    size = np.array(triangles) ** -0.5 / triangles[1] ** -0.5
    difference, estimate, bar = error_bar(triangles, 10 + sign * 3 * size**order)
    assert estimate == pytest.approx(10, rel=1e-4)  # the order is read from a table with steps of 0.005
    assert difference == pytest.approx(sign * 3 * (size[2] ** order - 1))
    assert bar == pytest.approx(1.25 * 3, rel=1e-3)


@pytest.mark.parametrize("order", [0.8, 3.0])
@pytest.mark.parametrize("triangles", [MESHES, UNEVEN])
def test_higher_orders_are_not_believed(order, triangles):
    size = np.array(triangles) ** -0.5 / triangles[1] ** -0.5
    assert error_bar(triangles, 10 + 0.1 * size**order).bar > 0.1


def test_meshes_that_are_not_finer_give_no_bar():
    assert error_bar((1000, 1000, 2000), (1.0, 1.0, 1.1)).bar is None


def test_numbers_that_jump_to_and_fro_have_a_bar_as_wide_as_their_jumps():
    _, _, bar = error_bar(MESHES, (10.0, 10.4, 10.1))
    assert bar > 1.25 * 0.4


def test_a_number_that_runs_away_or_lies_in_ground_without_a_limit_has_no_bar():
    assert error_bar(MESHES, (10.0, 10.5, 11.5))[1:] == (None, None)
    assert error_bar(MESHES, (10.0, 10.1, 10.15), has_limit=False) == (pytest.approx(0.05), None, None)
    assert error_bar(MESHES, (10.0, 10.0001, 10.0003)).bar < 0.01  # ever more, but by nothing that matters


def test_a_number_that_is_prescribed_has_no_bar_whatever_the_ground():
    for has_limit in (True, False):
        assert is_prescribed(error_bar(MESHES, (30.0, 30.0, 30.0), has_limit)._asdict())
    assert not is_prescribed(error_bar(MESHES, (30.0, 30.1, 30.15))._asdict()) and not is_prescribed(error_bar(MESHES, (10.0, 10.5, 11.5))._asdict())


@pytest.mark.parametrize("bar, text", [(0.0, "0.00"), (0.0312, "0.04"), (0.5, "0.50"), (1.01, "1.1"), (12.2, "13")])
def test_bars_are_rounded_up(bar, text):
    assert rounded(bar) == text


def test_units_stand_behind_the_bar_and_before_words():
    assert with_bar("3.2", " \u00b1 0.1", "mm") == "3.2 \u00b1 0.1 mm"
    assert with_bar("3.2", " (no error bar)", "mm") == "3.2 mm (no error bar)"


# companions

JOB = table(BRACED, [STIFF_SAND], frames=[FRAME], section={"element_size": 1.2})
REDUCED = [*BRACED[:-1], BRACED[-1] | {"strength_reduction": True}]
LOOSE = table(REDUCED, [soil(SAND, strength={"effective_cohesion": 1.0, "friction_angle": 32, "dilation_angle": 0})], frames=[FRAME], section={"element_size": 1.2})


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    path = tmp_path_factory.mktemp("trust")
    (path / "case.toml").write_text(toml(JOB))
    return path, main(["run", str(path / "case.toml"), "--out", str(path / "out"), "--no-pictures", "--quiet", "--trust"])


@pytest.fixture(scope="module")
def result(kept):
    return fesoil.read_result(kept[0] / "out")


def test_companions_have_the_same_stages_on_half_and_twice_the_triangles(kept, result):
    n = result.trust["triangles"]
    assert kept[1] == 0 and n == sorted(n) and n[0] < 0.75 * n[1] and n[2] > 1.5 * n[1]
    assert result.coarser.case == result.finer.case == result.case
    assert [r.name for r in result.finer.records] == [r.name for r in result.records]


def test_companions_change_no_number(kept, result):
    alone = analyse(result.case)
    assert alone.trust is None and "trust" not in alone.summary()
    assert np.array_equal(alone.states[-1].u, result.states[-1].u)


def test_errors_stand_in_the_summary_where_the_numbers_stand(kept, result):
    summary = json.loads((kept[0] / "out" / "summary.json").read_text())
    stage, error = summary["stages"][-1], summary["trust"]["stages"][-1]
    values = [r.summary()["stages"][-1]["walls"]["wall"]["max_deflection_mm"] for r in (result.coarser, result, result.finer)]
    assert error["walls"]["wall"]["max_deflection_mm"] == pytest.approx(error_bar(summary["trust"]["triangles"], values)._asdict())
    assert set(error["frames"]) == set(stage["frames"]) and "base_heave_mm" in error["ground"]
    assert not any(key.endswith("level_m") for key in error["walls"]["wall"])
    rows = (kept[0] / "out" / "frames.csv").read_text().splitlines()
    assert rows[0].endswith("error by the mesh [kN/m]") and all(len(row.split(",")) == 4 for row in rows)


@pytest.mark.parametrize("path, words", [
    (("walls", "wal", "max_moment_kNm_per_m"), "no 'wal' in stage \"dig on\", 'walls'; it has wall"),
    (("walls", "wall", "max_moment"), "no 'max_moment' in .*max_moment_kNm_per_m"),
    (("ground", "base_heave_mm", "bar"), "it has no keys"),
    (("walls",), "is no number; it has wall"),
])  # fmt: skip
def test_a_bar_of_a_number_that_is_not_there_is_refused(path, words, result):
    for run in (result, replace(result, finer=None)):
        with pytest.raises(ResultError, match=words):
            run.plus_minus(4, *path)


@pytest.mark.parametrize("number", [5, -1])
@pytest.mark.parametrize("reading", ["field", "heave", "mechanism", "plus_minus", "shear_strain", "stage_summary"])
def test_readings_of_a_stage_that_was_not_reached_are_refused(reading, number, result):
    with pytest.raises(ResultError, match=f"no stage {number}; the result has .*1 to 4"):
        getattr(result, reading)(number)


def test_movements_beside_records_have_their_bars(result):
    found = formation(result)
    values = [1e3 * formation(r, found.stage).wall for r in (result.coarser, result, result.finer)]
    bar = rounded(error_bar(result.trust["triangles"], values).bar)
    wall, settlement = beside_records(result)[:2]
    assert f"wall {values[1]:.1f} \u00b1 {bar} mm" in wall
    assert settlement.split("records")[0].count("(does not converge with the mesh)") == 2  # as it and its share of the wall's movement do here
    assert "\u00b1" not in " ".join(beside_records(replace(result, finer=None)))
    assert plus_minus_of(result, found.stage, lambda r: 30.0) == "" and "\u00b1 0.00" not in report_text(result)


def test_a_floor_that_settles_has_a_negative_heave(result):
    down = replace(result.states[-1], u=np.full_like(result.states[-1].u, -0.004))
    settled = replace(result, states=(*result.states[:-1], down))
    assert settled.heave(4) == pytest.approx(-0.004) and settled.stage_summary(4)["ground"]["base_heave_mm"] == pytest.approx(-4)


def test_without_a_cofferdam_there_is_no_heave():
    open_dig = analyse(build([{"name": "dig", "dig": {"everywhere": [[3.0, -0.5], [5.0, 0.0]]}}], [STIFF_SAND], walls=[], section={"element_size": 2.0}))
    assert np.isnan(open_dig.heave(1)) and open_dig.stage_summary(1)["ground"]["base_heave_mm"] is None
    assert next(line for line in report_text(open_dig).splitlines() if line.startswith(" 1 dig")).split()[-1] == "-"


def test_the_deeper_base_has_bars_of_its_own(tmp_path):
    stiffness = {"G0": 3e4, "at_level": 0.0, "curve_by": "Vardanega and Bolton 2013", "plasticity_index": 0.3}
    case = build(DIG, [soil(CLAY, stiffness=stiffness)], section={"element_size": 1.5, "bottom_level": -11.0, "deeper_bottom_level": -15.0})
    run = analyse_on_three_meshes(case, tmp_path / "out")
    deeper = run.deeper
    assert deeper.trust["triangles"] == [len(r.mesh.triangles) for r in (run.coarser.deeper, deeper, run.finer.deeper)]
    band = next(text for text in beside_records(run) if text.startswith("Rigid base"))
    assert band.split("with")[0].count("\u00b1") == 6 and not any("NO ERROR BARS" in text for text in trust_texts(run))
    assert any("at -15 m there are NO ERROR BARS" in text for text in trust_texts(replace(run, deeper=replace(deeper, finer=None))))


def test_every_headline_number_on_the_terminal_has_its_bar(result):
    said = report_text(result)
    wall = next(line for line in said.splitlines() if line.startswith("Wall wall"))
    assert wall.count("\u00b1") == 2 and "error by the mesh" in said and "\u00b1 comes from the same analysis" in " ".join(said.split())
    assert "\u00b1" not in report_text(replace(result, finer=None))


def on_three_meshes(tables):
    case = fesoil.case_from(tables)
    return replace(analyse(case), coarser=analyse(case, coarseness=COARSENESS[COARSER]), finer=analyse(case, coarseness=COARSENESS[FINER]))


@pytest.fixture(scope="module")
def loose():
    return on_three_meshes(LOOSE)


def test_ground_without_a_limit_says_so_instead_of_a_bar(loose):
    last = len(loose.stages)
    assert without_limit(loose, last) == ["sand"]
    assert loose.plus_minus(last, "walls", "wall", "max_deflection_mm") == " (does not converge with the mesh)"
    assert loose.plus_minus(last, "safety_factor") == " (does not converge with the mesh)"
    assert any("DO NOT CONVERGE" in text for text in trust_texts(loose))
    said = report_text(loose)
    assert "none" in next(line for line in said.splitlines() if line.startswith("settlement [mm]")) and "(does not converge with the mesh)" in " ".join(said.split())


@pytest.mark.parametrize("dilation, names", [(0.3, ["sand"]), (8.0, [])])
def test_a_little_dilation_gives_no_limit_either(loose, dilation, names):
    soil = loose.case.soils[0]
    case = replace(loose.case, soils=(replace(soil, strength=replace(soil.strength, dilation_angle=np.radians(dilation))),))
    assert without_limit(replace(loose, case=case), len(loose.stages)) == names


def test_a_number_that_runs_away_is_said(result):
    run = replace(result, finer=replace(result.finer, states=tuple(replace(s, w=s.w * 1.5) for s in result.finer.states)))
    first = run.coarser.states
    run = replace(run, coarser=replace(run.coarser, states=tuple(replace(s, w=s.w * 0.9) for s in first)))
    (said,) = [text for text in trust_texts(run) if "DO NOT CONVERGE" in text]
    assert "wall deflection in stage 4" in said and "max_" not in said


def with_factor(result, factor, failed, decided=True):
    found = {"factor": factor, "failed": failed, "decided": decided, "unlimited_members": [], "mechanism": []}
    return replace(result, records=(*result.records[:-1], replace(result.records[-1], reduction=found)))


def test_bar_of_a_safety_factor_holds_the_bracket_of_its_search(result):
    last = len(result.stages)
    three = [with_factor(r, 1.5, 1.51) for r in (result.coarser, result, result.finer)]
    found = replace(three[1], coarser=three[0], finer=three[2]).trust["stages"][-1]["safety_factor"]
    assert found["bar"] is None or found["bar"] == pytest.approx(0.01)
    for lost in (with_factor(result.finer, None, 1.0), with_factor(result.finer, 1.5, None), with_factor(result.finer, 1.5, 1.51, decided=False)):
        unknown = replace(three[1], coarser=three[0], finer=lost)
        assert unknown.plus_minus(last, "safety_factor") == " (no error bar)" and any("safety factor of stage 4 has no bar" in said for said in trust_texts(unknown))


def test_a_companion_without_equilibrium_is_said_and_gives_no_bar(result):
    failed = replace(result.finer.records[-1], converged=False)
    lost = replace(result, finer=replace(result.finer, records=(*result.finer.records[:-1], failed)))
    assert lost.plus_minus(len(lost.stages), "walls", "wall", "max_deflection_mm") == " (no error bar)"
    assert any("NO EQUILIBRIUM on the finer mesh" in text for text in trust_texts(lost))
    assert "\u00b1?" in report_text(lost)


@pytest.mark.parametrize("stands, words", [(False, "the finer mesh finds none either (40 % of the load)"), (True, "the finer mesh FINDS equilibrium: doubt the collapse")])
def test_other_meshes_are_heard_on_a_collapse(result, stands, words):
    lost = lambda r, converged: replace(r, records=(*r.records[:-1], replace(r.records[-1], converged=converged, share=0.4)))  # noqa: E731
    run = replace(lost(result, False), coarser=lost(result.coarser, False), finer=lost(result.finer, stands))
    said = report_text(run)
    assert words in " ".join(said.split()) and said.index("NO EQUILIBRIUM in stage 4") < said.index("Wall wall")


def test_companions_cut_short_or_of_another_case_are_not_read(kept, tmp_path):
    copy = tmp_path / "out"
    shutil.copytree(kept[0] / "out", copy)
    last = sorted((copy / "finer_mesh" / "states").glob("*.json"))[-1]
    last.unlink()
    assert fesoil.read_result(copy).finer is None and fesoil.read_result(copy).trust is None
    assert main(["run", str(kept[0] / "case.toml"), "--out", str(copy), "--no-pictures", "--quiet", "--trust"]) == 0
    assert fesoil.read_result(copy).trust == fesoil.read_result(kept[0] / "out").trust
    other = json.loads((copy / "coarser_mesh" / "case.json").read_text())
    other["title"] = "another"
    (copy / "coarser_mesh" / "case.json").write_text(json.dumps(other))
    assert fesoil.read_result(copy).coarser is None


def test_companions_of_another_case_are_replaced(kept, tmp_path):
    copy = tmp_path / "out"
    shutil.copytree(kept[0] / "out", copy)
    manifest = json.loads((copy / "manifest.json").read_text())
    (copy / "manifest.json").write_text(json.dumps(manifest | {"finished": False}))
    (tmp_path / "case.toml").write_text(toml(JOB | {"title": "another", "section": JOB["section"] | {"right": 13.0}}))
    assert main(["run", str(tmp_path / "case.toml"), "--out", str(copy), "--no-pictures", "--quiet", "--trust"]) == 0
    assert fesoil.read_result(copy).trust["triangles"] != fesoil.read_result(kept[0] / "out").trust["triangles"]


def test_a_later_run_without_the_option_keeps_the_bars(kept, tmp_path, capsys):
    copy = tmp_path / "out"
    shutil.copytree(kept[0] / "out", copy)
    assert main(["run", str(kept[0] / "case.toml"), "--out", str(copy), "--no-pictures", "--quiet"]) == 0
    assert "\u00b1" in capsys.readouterr().out and "trust" in json.loads((copy / "summary.json").read_text())


@pytest.mark.parametrize("by, code", [(signal.SIGINT, 130), (signal.SIGKILL, -signal.SIGKILL)])
def test_a_run_that_is_cut_short_leaves_no_process_behind(by, code, kept, tmp_path):
    """In a group of its own; interrupted all together, as by Ctrl-C on a terminal, or killed alone."""
    (tmp_path / "case.toml").write_text(toml(JOB | {"section": JOB["section"] | {"element_size": 0.25}}))
    command = [sys.executable, "-m", "fesoil", "run", str(tmp_path / "case.toml"), "--out", str(tmp_path / "out"), "--no-pictures", "--quiet", "--trust"]
    listens = partial(signal.signal, signal.SIGINT, signal.SIG_DFL)  # what a shell starts in the background is deaf to it
    with subprocess.Popen(command, start_new_session=True, stderr=subprocess.DEVNULL, preexec_fn=listens) as run:
        assert within(60, (tmp_path / "out" / "finer_mesh" / "manifest.json").exists) and run.poll() is None
        (os.killpg if by == signal.SIGINT else os.kill)(run.pid, by)
        assert run.wait(timeout=60) == code
        try:
            assert within(30, lambda: not group_lives(run.pid))
        finally:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(run.pid, signal.SIGKILL)


def within(seconds, done) -> bool:
    """Whether something comes true in time."""
    end = time.monotonic() + seconds
    while not done() and time.monotonic() < end:
        time.sleep(0.1)
    return done()


def group_lives(number) -> bool:
    try:
        os.killpg(number, 0)
    except ProcessLookupError:
        return False
    return True


def test_the_directory_of_another_case_is_refused_before_anything_is_put_there(kept, tmp_path, capsys):
    (tmp_path / "case.toml").write_text(toml(JOB | {"title": "another", "section": JOB["section"] | {"element_size": 1.1}}))
    before = sorted(p.name for p in (kept[0] / "out").rglob("*"))
    assert main(["run", str(tmp_path / "case.toml"), "--out", str(kept[0] / "out"), "--trust", "--quiet"]) == 2
    assert "not overwritten" in capsys.readouterr().err and sorted(p.name for p in (kept[0] / "out").rglob("*")) == before
