"""JSON Schema of the case file, for editors that complete and check TOML; made from the same dataclasses as the reader."""

from __future__ import annotations

import re
from dataclasses import MISSING, is_dataclass
from typing import get_args, get_origin

from fesoil import units
from fesoil.case.keys import Line
from fesoil.case.model import Case, StrengthReduction, Water
from fesoil.case.read import SHORT_FOR, alternatives, is_required, keys_of, limits_in_words

WITH_UNIT = r"^\s*[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?\s*[A-Za-z°].*$"


def schema() -> dict:
    """The case file as JSON Schema (draft 2020-12); limits of bare numbers are in the documented unit of the key."""
    tables: dict[str, dict] = {}
    _table(Case, tables)
    root = tables.pop("Case")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "fesoil case", **root, "$defs": tables}


def _table(cls, tables: dict) -> dict:
    """Reference to the schema of a dataclass, which is added to ``tables``."""
    if cls.__name__ not in tables:
        tables[cls.__name__] = {}  # taken, should a table ever hold itself
        known = {name: (f, kind) for name, (f, kind) in keys_of(cls).items() if not (cls is Water and name == "levels")}
        levels = _value(float, keys_of(Water)["levels"][0].metadata, tables) if cls is Water else False
        tables[cls.__name__] = {
            "type": "object", "description": summary(cls),
            "properties": {name: _key(f, kind, tables) for name, (f, kind) in known.items()},
            "required": [name for name, (f, _) in known.items() if is_required(f)], "additionalProperties": levels,
        }
    return {"$ref": f"#/$defs/{cls.__name__}"}


def summary(cls) -> str:
    """What a table is, from its docstring."""
    return re.sub(r"\s+", " ", cls.__doc__.strip())


def _key(field, kind, tables: dict) -> dict:
    meta = field.metadata
    facts = [meta["doc"]]
    if meta["unit"]:
        facts.append(f"Unit: {meta['unit']}.")
    limits = limits_in_words(meta)
    if limits:
        facts.append(f"Limits: {limits}.")
    if meta["usual"]:
        facts.append(f"Usual: {meta['usual'][0]:g} to {meta['usual'][1]:g}.")
    described = {"description": " ".join(facts), **_value(kind, meta, tables)}
    default = default_of(field)
    return described if default is None else {**described, "default": default}


def default_of(field):
    """Default of a key as the case file would say it (numbers in the documented unit); None where there is none or it is a table."""
    if field.default_factory is not MISSING:
        return {}
    default = field.default
    if default is MISSING or default is None or is_dataclass(default):
        return None
    if isinstance(default, float):
        return float(f"{units.from_internal(default, field.metadata['unit']):.12g}")
    return list(default) if isinstance(default, tuple) else default


def _value(kind, meta, tables: dict) -> dict:
    kinds = alternatives(kind)
    if len(kinds) > 1:
        return {"anyOf": [_value(k, meta, tables) for k in kinds]}
    kind = kinds[0]
    if kind is float:
        return _number(meta)
    if kind is str:
        return {"enum": list(meta["choices"])} if meta["choices"] else {"type": "string"}
    if kind is bool:
        return {"type": "boolean"}
    if kind == Line:
        point = {"type": "array", "items": _number(meta), "minItems": 2, "maxItems": 2}
        return {"anyOf": [*_number(meta)["anyOf"], {"type": "array", "items": point, "minItems": 1}]}
    if is_dataclass(kind):
        return _short_or_table(kind, meta, tables)
    if get_origin(kind) is dict:
        return {"type": "object", "additionalProperties": _value(get_args(kind)[1], meta, tables)}
    return _row(kind, meta, tables)


def _short_or_table(cls, meta, tables: dict) -> dict:
    table = _table(cls, tables)
    if cls is StrengthReduction:
        return {"anyOf": [{"type": "boolean"}, table]}
    if cls in SHORT_FOR:
        return {"anyOf": [*_number(keys_of(cls)[SHORT_FOR[cls]][0].metadata)["anyOf"], table]}
    return table


def _row(kind, meta, tables: dict) -> dict:
    inner, *others = get_args(kind)
    items = _value(inner, meta, tables)
    if others != [...]:
        return {"type": "array", "items": items, "minItems": 1 + len(others), "maxItems": 1 + len(others)}
    row = {"type": "array", "items": items}
    return {"anyOf": [{"type": "string"}, row]} if inner is str else row


def _number(meta) -> dict:
    words = {"above": "exclusiveMinimum", "least": "minimum", "most": "maximum"}
    number = {"type": "number", **{word: meta[key] for key, word in words.items() if meta[key] is not None}}
    return {"anyOf": [number, {"type": "string", "pattern": WITH_UNIT}]} if meta["unit"] else number
