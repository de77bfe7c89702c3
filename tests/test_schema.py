"""The JSON Schema and the reference page agree with the reader."""

import re
import tomllib

import pytest

from fesoil.case import schema
from fesoil.case.document import HEADING, markdown
from sample import NESTED, README, SAMPLE


def accepts(part, value, whole):
    """Whether a value keeps the part of JSON Schema that the package writes."""
    if part is False:
        return False
    if "$ref" in part:
        return accepts(whole["$defs"][part["$ref"].rsplit("/", 1)[1]], value, whole)
    if "anyOf" in part:
        return any(accepts(p, value, whole) for p in part["anyOf"])
    if "enum" in part:
        return value in part["enum"]
    if part["type"] == "object":
        known = part.get("properties", {})
        return isinstance(value, dict) and set(part.get("required", ())) <= value.keys() and all(
            accepts(known.get(k, part["additionalProperties"]), v, whole) for k, v in value.items())
    if part["type"] == "array":
        return isinstance(value, list) and part.get("minItems", 0) <= len(value) <= part.get("maxItems", 1e9) and all(
            accepts(part["items"], v, whole) for v in value)
    if part["type"] == "string":
        return isinstance(value, str) and re.search(part.get("pattern", ""), value) is not None
    if part["type"] == "boolean":
        return isinstance(value, bool)
    return (isinstance(value, (int, float)) and not isinstance(value, bool) and value > part.get("exclusiveMinimum", -1e99)
            and part.get("minimum", -1e99) <= value <= part.get("maximum", 1e99))


@pytest.mark.parametrize("text", [SAMPLE, NESTED])
def test_the_schema_accepts_what_the_reader_accepts(text):
    assert accepts(schema(), tomllib.loads(text), schema())


@pytest.mark.parametrize("old, new", [
    ("half = true", "half = 1"), ("title = ", "titel = "), ("friction_angle = 27", "friction_angle = 55"), ("x = 2.3 ", 'x = "2.3" '),
    ('corners = "pinned"', 'corners = "hinged"'), ("[[frames]]", "[frames]"), ("strength_reduction = true", "strength_reduction = 2"),
    ("outside = -1.8", 'outside = "high"'), ('between = ["chamber", "axis"]', 'between = ["chamber"]'),
])
def test_the_schema_refuses_what_the_reader_refuses(old, new):
    assert old in SAMPLE
    assert not accepts(schema(), tomllib.loads(SAMPLE.replace(old, new)), schema())


def test_defaults_and_limits_are_in_the_unit_of_the_case_file():
    defs = schema()["$defs"]
    assert defs["Slab"]["properties"]["unit_weight"]["default"] == 24.0
    assert defs["Strength"]["properties"]["friction_angle"]["anyOf"][0] == {"type": "number", "minimum": 0, "maximum": 50}
    assert defs["Water"]["properties"]["unit_weight"]["default"] == 9.81
    assert "deg" in defs["WallFriction"]["properties"]["angle"]["description"]


def test_every_key_is_described():
    for table in (schema(), *schema()["$defs"].values()):
        assert all(len(key["description"]) > 5 for key in table["properties"].values())


def test_the_page_lists_every_key():
    page = README.read_text(encoding="utf-8")
    written = page[page.index(HEADING):]
    assert written == markdown(), f"replace all from {HEADING!r} on by fesoil.case.document.markdown()"
    for table in (schema(), *schema()["$defs"].values()):
        assert all(f"| `{key}` |" in written for key in table["properties"])
