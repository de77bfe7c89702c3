"""Quantities with units, to the internal system and back."""

import math

import numpy as np
import pytest

from fesoil.units import from_internal, measure, number, text, to_internal


@pytest.mark.parametrize("value, unit, expected", [
    ("15 MPa", "kPa", 15000.0), ("21 MN m2/m", "kN m2/m", 21000.0), ("2.6 GN/m", "kN/m", 2.6e6), ("5 mm", "m", 0.005),
    ("1e-5 m/s", "m/s", 1e-5), ("240 kN m/m", "kN m/m", 240.0), ("100 bar", "kPa", 1e4), ("3 kN/m/m", "kN/m2", 3.0), ("7 kPa", "kN/m2", 7.0),
    ("2 MPa/m", "kN/m3", 2000.0), ("78.54 cm2", "m2", 0.007854), ("-4.5m", "m", -4.5), ("1 N/mm²", "kPa", 1000.0), ("24 MN·m^2", "kN m2", 24000.0),
    ("1 m/day", "m/s", 1 / 86400), (12.5, "kPa", 12.5), (3, None, 3.0), ("1 rad", "deg", 1.0),
])
def test_a_quantity_is_read(value, unit, expected):
    assert to_internal(value, unit) == pytest.approx(expected, rel=1e-14)


def test_a_bare_number_is_in_the_documented_unit():
    assert to_internal(30, "deg") == pytest.approx(math.pi / 6)
    assert to_internal("30 deg", "deg") == to_internal(30, "deg")


@pytest.mark.parametrize("value, unit, word", [
    ("15 mpa", "kPa", "MPa"), ("15 kN", "kPa", "same"), ("15", "kPa", "no unit"), ("1,5 MPa", "kPa", "point"), ("soft", "kPa", "number"),
    ("5 m", None, "pure number"), (True, "m", "number"), (float("nan"), "m", "finite"), (float("inf"), None, "finite"), (10**400, "m", "finite"),
    ("1e999 m", "m", "finite"), ("5 furlong", "m", "unknown"), ("5 m/", "m", "read"), ("240 kN m2", "kN m/m", "same"), ([1], "m", "number"),
    ("5 m 3", "m", "read"),
])
def test_what_cannot_be_read_says_why(value, unit, word):
    with pytest.raises(ValueError, match=word):
        to_internal(value, unit)


@pytest.mark.parametrize("unit", ["deg", "kPa", "MPa", "mm", "kN m2/m", None])
def test_there_and_back(unit):
    assert from_internal(to_internal(27.3, unit), unit) == pytest.approx(27.3, rel=1e-14)


def test_arrays_go_back_too():
    np.testing.assert_allclose(from_internal(np.array([0.001, 0.02]), "mm"), [1, 20])


def test_a_message_shows_few_digits_and_no_negative_zero():
    assert text(math.radians(32), "deg") == "32 deg"
    assert text(-0.0, "m") == "0 m"
    assert text(0.5, None) == "0.5"


@pytest.mark.parametrize("value, digits, said", [(4612.3, 3, "4610"), (2.6e6, 6, "2600000"), (32.25, 6, "32.25"), (1e-5, 6, "1e-05")])
def test_great_numbers_are_written_without_a_power_of_ten(value, digits, said):
    assert number(value, digits) == said and text(value, "kPa") == f"{number(value)} kPa"


def test_a_stroke_divides_by_one_unit_only():
    assert measure("kN/m m") == measure("kN")
