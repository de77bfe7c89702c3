"""The benchmark problems at their quick size: every row within its tolerance, which stands beside the row with its reason."""

import json
import re

import numpy as np
import pytest

from benchmarks.__main__ import line, main, record
from benchmarks.problem import QUICK, Answer, Outcome, Problem, Row, order, refinement, solve
from benchmarks.problems import problems
from benchmarks.records import main as records


@pytest.mark.parametrize("problem", [p for p in problems() if p.quick], ids=lambda p: p.name)
def test_rows_lie_within_their_tolerance(problem):
    misses = [line(row) for row in solve(problem, QUICK).rows if not row.passes]
    assert not misses, "\n".join(misses)


def test_names_tell_the_problems_apart():
    names = [p.name for p in problems()]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("value, passes", [(10.0, True), (10.2, True), (10.3, False), (9.9, False), (float("nan"), False)])
def test_verdict_of_a_row(value, passes):
    assert Row("x", 10.0, value, -0.002, 0.02, "").passes is passes


def test_an_error_that_falls_with_the_square_of_the_size_is_of_order_two():
    answers = [Answer([Row("x", 1.0, 1 + 1.0 / n, 0, 1, "")], n) for n in (100, 400, 1600)]
    found = refinement(Outcome("p", (4, 2, 1), answers, [], 0.0))
    sizes, labels, errors = found["x"]
    assert labels == ("100", "400", "1,600") and order(sizes, errors) == pytest.approx(2.0)
    assert np.isnan(order([0.2, 0.1], [0.1, 0.0]))


def test_the_command_prints_a_table_its_verdict_a_file_and_a_page(capsys, tmp_path):
    rows, sheet = tmp_path / "rows.json", tmp_path / "page.html"
    assert main(["--quick", "cylinder, elastic", "--json", str(rows), "--page", str(sheet)]) == 0
    assert "Lame" in capsys.readouterr().out
    (told,) = json.loads(rows.read_text())
    assert told["within"] and told["runs"][0]["rows"]
    assert sheet.read_text().count("<svg") == 1


def test_lost_preload_moves_the_wall_more_and_the_page_of_records_says_so(tmp_path):
    """The trend of nine measured steel struts, of which ordinary ones lost up to 86.7 % of their preload (Di and others 2019)."""
    sheet, rows = tmp_path / "records.html", tmp_path / "records.json"
    records(["--page", str(sheet), "--json", str(rows), "--only", "struts"])
    kept, lost = ({r["law"]: r["stages"][-1]["wall_mm"] for r in json.loads(rows.read_text()) if r["assumed"].startswith(share)} for share in ("1 ", "0.13 "))
    assert len(kept) == 2 and all(lost[law] > kept[law] for law in kept)
    words = re.sub(r"<svg.*?</svg>|<[^>]*>", " ", sheet.read_text(), flags=re.DOTALL)
    assert "Di and others 2019" in words and "Assumed" in words and all(f"{v:.1f}" in words for v in (*kept.values(), *lost.values()))


def test_rows_of_numpy_numbers_are_kept_as_json():
    """Found when the whole set had run for half an hour and could not be written."""
    problem = Problem("p", "s", "s", lambda h: None, (None,), (None,), None)
    answer = Answer([Row("count", np.int64(3), np.int64(3), 0.0, 0.0, "r"), Row("lost", 1.0, np.float64(np.nan), 0.0, 0.0, "r")], np.int64(7), None)
    kept = json.loads(json.dumps(record(problem, Outcome("p", (None,), [answer], [], 0.1)), allow_nan=False))
    assert kept["runs"][0]["triangles"] == 7 and [row["computed"] for row in kept["runs"][0]["rows"]] == [3, None]
