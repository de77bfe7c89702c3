"""Error bars by the mesh: the estimator on sequences whose limit is known, companions on other meshes, and what a reader is told."""

import json
import shutil
from dataclasses import replace

import numpy as np
import pytest
from build import BRACED, FRAME, SAND, STIFF_SAND, build, soil, table, toml

import fesoil
from fesoil.cli import main
from fesoil.result.reading import Result
from fesoil.result.trust import error_bar, rounded, trust_texts, with_bar, without_limit
from fesoil.show.terminal import report_text
from fesoil.solve.analyse import analyse
from fesoil.solve.companions import COARSENESS

MESHES = (1000, 2300, 5000)


@pytest.mark.parametrize("order", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("sign", [-1, 1])
def test_estimate_of_a_power_law_is_its_limit_and_the_bar_covers_it(order, sign):
    size = np.array([4.0, 2.0, 1.0])  # halved twice, so that the order shows exactly
    difference, estimate, bar = error_bar(1 / size**2, 10 + sign * 0.1 * size**order)
    assert estimate == pytest.approx(10, rel=1e-12)
    assert difference == pytest.approx(-sign * 0.1 * (2**order - 1))
    assert 0.1 * 2**order < bar == pytest.approx(1.25 * 0.1 * 2**order)


@pytest.mark.parametrize("order", [0.8, 3.0])
def test_other_orders_are_taken_as_the_nearest_believed(order):
    size = np.array([4.0, 2.0, 1.0])
    _, _, bar = error_bar(1 / size**2, 10 + 0.1 * size**order)
    assert bar > 0.1 * 2**order


def test_numbers_that_jump_to_and_fro_have_a_bar_as_wide_as_their_jumps():
    _, _, bar = error_bar(MESHES, (10.0, 10.4, 10.1))
    assert bar > 1.25 * 0.4


def test_a_number_that_runs_away_or_lies_in_ground_without_a_limit_has_no_bar():
    assert error_bar(MESHES, (10.0, 10.5, 11.5))[1:] == (None, None)
    assert error_bar(MESHES, (10.0, 10.1, 10.15), has_limit=False) == (pytest.approx(0.05), None, None)
    assert error_bar(MESHES, (10.0, 10.0001, 10.0003)).bar < 0.01  # ever more, but by nothing that matters


@pytest.mark.parametrize("bar, text", [(0.0, "0.00"), (0.0312, "0.04"), (0.5, "0.50"), (1.01, "1.1"), (12.2, "13")])
def test_bars_are_rounded_up(bar, text):
    assert rounded(bar) == text


def test_units_stand_behind_the_bar_and_before_words():
    assert with_bar("3.2", " \u00b1 0.1", "mm") == "3.2 \u00b1 0.1 mm"
    assert with_bar("3.2", " (no error bar)", "mm") == "3.2 mm (no error bar)"


# companions

JOB = table(BRACED, [STIFF_SAND], frames=[FRAME], section={"element_size": 1.2})
LOOSE = table(BRACED, [soil(SAND, strength={"effective_cohesion": 1.0, "friction_angle": 32, "dilation_angle": 0})], frames=[FRAME], section={"element_size": 1.2})


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


def test_every_headline_number_on_the_terminal_has_its_bar(result):
    said = report_text(result)
    wall = next(line for line in said.splitlines() if line.startswith("Wall wall"))
    assert wall.count("\u00b1") == 2 and "error by the mesh" in said and "Behind \u00b1 stand the same analysis" in said
    assert "\u00b1" not in report_text(replace(result, finer=None))


def test_ground_without_a_limit_says_so_instead_of_a_bar():
    case = build(LOOSE["stages"], LOOSE["soils"], frames=[FRAME], section=LOOSE["section"])
    finer, coarser = (analyse(case, coarseness=c) for c in COARSENESS.values())
    result = replace(analyse(case), coarser=coarser, finer=finer)
    assert without_limit(result, len(result.stages)) == ["sand"]
    assert result.plus_minus(len(result.stages), "walls", "wall", "max_deflection_mm") == " (does not converge with the mesh)"
    assert any("DO NOT CONVERGE" in text for text in trust_texts(result))
    dilating = replace(case.soils[0], strength=replace(case.soils[0].strength, dilation_angle=0.1))
    assert without_limit(replace(result, case=replace(case, soils=(dilating,))), len(result.stages)) == []


def test_a_companion_without_equilibrium_is_said_and_gives_no_bar(result):
    failed = replace(result.finer.records[-1], converged=False)
    lost = replace(result, finer=replace(result.finer, records=(*result.finer.records[:-1], failed)))
    assert lost.plus_minus(len(lost.stages), "walls", "wall", "max_deflection_mm") == " (no error bar)"
    assert any("NO EQUILIBRIUM on the finer mesh" in text for text in trust_texts(lost))
    assert "\u00b1?" in report_text(lost)


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


def test_the_directory_of_another_case_is_refused_before_anything_is_put_there(kept, tmp_path, capsys):
    (tmp_path / "case.toml").write_text(toml(JOB | {"title": "another", "section": JOB["section"] | {"element_size": 1.1}}))
    before = sorted(p.name for p in (kept[0] / "out").rglob("*"))
    assert main(["run", str(tmp_path / "case.toml"), "--out", str(kept[0] / "out"), "--trust", "--quiet"]) == 2
    assert "not overwritten" in capsys.readouterr().err and sorted(p.name for p in (kept[0] / "out").rglob("*")) == before
