"""Base of a cut in clay: both forms against arithmetic by hand, their limits, and what is refused."""

from math import inf

import pytest

from fesoil.checks.base import bearing_factor, bjerrum_eide, reach, terzaghi


def test_terzaghi_by_hand():
    """Cut 10 m deep and 10 m wide, su 30 kPa, 16 kN/m3, surcharge 10 kPa: B1 = 7 m, 171 / (170 - 300 / 7) = 1197 / 890."""
    found = terzaghi(170.0, 10.0, 30.0, 30.0, 10.0)
    assert found.factor == pytest.approx(1197 / 890) and not found.holds and found.required == 1.5


def test_terzaghi_with_firm_ground_near():
    """Firm ground 3 m below the floor: 171 / (170 - 300 / 3) = 171 / 70. Firm ground deeper than 0.7 widths changes nothing."""
    assert terzaghi(170.0, 10.0, 30.0, 30.0, 10.0, firm_depth=3.0).factor == pytest.approx(171 / 70)
    assert terzaghi(170.0, 10.0, 30.0, 30.0, 10.0, firm_depth=7.1).factor == pytest.approx(1197 / 890)
    assert reach(10.0) == 7.0 and reach(10.0, 3.0) == 3.0


def test_a_cut_that_its_sides_hold_needs_no_base():
    """A stiff narrow cut: 100 x 5 / 1.4 exceeds the load of 90 kPa."""
    found = terzaghi(90.0, 5.0, 100.0, 100.0, 2.0)
    assert found.factor == inf and found.holds


@pytest.mark.parametrize("height, width, length, factor", [
    (0.0, 10.0, inf, 5.0),     # strip on the surface (exact 2 + pi)
    (0.0, 10.0, 10.0, 6.0),    # square on the surface
    (25.0, 10.0, inf, 7.5),    # deep strip
    (60.0, 10.0, inf, 7.5),    # grows no more
    (25.0, 10.0, 10.0, 9.0),   # deep square
    (10.0, 10.0, 20.0, 6.6),   # 5 x 1.2 x 1.1
    (10.0, 20.0, 10.0, 6.6),   # the narrower side counts as the width
])  # fmt: skip
def test_bearing_factor(height, width, length, factor):
    """Limits that Skempton 1951 gives for clay (from memory)."""
    assert bearing_factor(height, width, length) == pytest.approx(factor)


def test_bjerrum_and_eide_by_hand():
    """6.6 x 40 over 18 x 10 + 20: 264 / 200."""
    found = bjerrum_eide(200.0, 10.0, 40.0, 10.0, 20.0)
    assert found.factor == pytest.approx(1.32) and not found.holds and "6.60" in found.words
    assert bjerrum_eide(200.0, 10.0, 40.0, 10.0, 20.0, required=1.3).holds


@pytest.mark.parametrize("bad", [
    lambda: terzaghi(-1.0, 10, 30, 30, 10), lambda: terzaghi(100, 10, 30, float("nan"), 10), lambda: terzaghi(100, 10, 30, 30, 0.0), lambda: terzaghi(100, 10, 30, 30, 5, firm_depth=0.0),
    lambda: bearing_factor(-1.0, 5.0), lambda: bearing_factor(5.0, 5.0, 0.0), lambda: bjerrum_eide(100, 5, -3.0, 5.0),
])  # fmt: skip
def test_nonsense_is_refused(bad):
    with pytest.raises(ValueError):
        bad()
