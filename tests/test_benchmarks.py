"""The benchmark problems at their quick size: every row within its tolerance, which stands beside the row with its reason."""

import pytest

from benchmarks.__main__ import line, main, problems
from benchmarks.common import QUICK, Row


@pytest.mark.parametrize("problem", problems(), ids=lambda p: p.name)
def test_rows_lie_within_their_tolerance(problem):
    misses = [line(row) for row in problem.rows(QUICK) if not row.passes]
    assert not misses, "\n".join(misses)


@pytest.mark.parametrize("value, passes", [(10.0, True), (10.2, True), (10.3, False), (9.9, False), (float("nan"), False)])
def test_verdict_of_a_row(value, passes):
    assert Row("x", 10.0, value, -0.002, 0.02, "").passes is passes


def test_the_command_prints_a_table_and_its_verdict(capsys):
    assert main(["--quick", "cylinder, elastic"]) == 0
    assert "Lame" in capsys.readouterr().out
