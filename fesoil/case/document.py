"""The reference part of ``cases/README.md``: every key of the case file, made from the same dataclasses as the reader."""

from __future__ import annotations

from dataclasses import is_dataclass
from typing import get_args, get_origin

from fesoil.case.keys import Line
from fesoil.case.model import Case, StrengthReduction
from fesoil.case.read import SHORT_FOR, alternatives, is_required, keys_of, limits_in_words, without_none
from fesoil.case.schema import default_of, summary

HEADING = "## Every key"


def markdown() -> str:
    """All keys, table by table: what a value is and its unit, default, and meaning with limits. Begins with ``HEADING``."""
    return "\n\n".join([HEADING, *_tables(Case, "The file itself")]) + "\n"


def _tables(cls, title: str):
    """The section of a table, then those of the tables within it."""
    rows = [_row("SIDE" if name == "levels" else name, field, kind) for name, (field, kind) in keys_of(cls).items()]
    yield "\n".join([f"### {title}", "", summary(cls), "", "| key | value | default | meaning |", "| --- | --- | --- | --- |", *rows])
    parent = "" if cls is Case else title.strip("`[]") + "."
    for name, (_, kind) in keys_of(cls).items():
        for i, choice in enumerate(alternatives(kind)):
            inner, form = _inner(choice)
            if is_dataclass(inner):
                yield from _tables(inner, form.format(parent + name) + " instead" * (i > 0))


def _inner(kind):
    """The table within a key, and how its heading is written."""
    if get_origin(kind) is dict:
        return get_args(kind)[1], "`{}.NAME`"
    if get_origin(kind) is tuple and kind != Line:
        return get_args(kind)[0], "`[[{}]]`"
    return kind, "`[{}]`"


def _row(name: str, field, kind) -> str:
    meta = field.metadata
    limits, usual = limits_in_words(meta), meta["usual"]
    said = [meta["doc"]]
    if meta["choices"]:
        said.append("One of " + ", ".join(f'`"{c}"`' for c in meta["choices"]) + ".")
    if limits:
        said.append(f"Limits: {limits}.")
    if usual:
        said.append(f"Warned outside {usual[0]:g} to {usual[1]:g}.")
    return f"| `{name}` | {_form(without_none(kind), meta['unit'])} | {_default(field)} | {' '.join(said)} |"


def _form(kind, unit: str | None) -> str:
    """What a value is, in words, with its unit."""
    number = unit or "number"
    if kind in (float, str, bool):
        return {float: number, str: "text", bool: "true or false"}[kind]
    if kind == Line:
        return f"{number}, or points [x, level]"
    if is_dataclass(kind):
        short = keys_of(kind)[SHORT_FOR[kind]][0].metadata["unit"] + ", or a " if kind in SHORT_FOR else ""
        return "true, or a table" if kind is StrengthReduction else f"{short}table"
    inner, *others = get_args(kind)
    if get_origin(kind) is dict:
        return f"by name: {_form(others[0], unit)}"
    if others == [...]:
        return "list of tables" if is_dataclass(inner) else "list of texts"
    return f"{1 + len(others)} of: {_form(inner, unit)}"


def _default(field) -> str:
    if is_required(field):
        return "**required**"
    default = default_of(field)
    if default is None or default in ({}, [], ""):
        return "none"
    if isinstance(default, bool):
        return str(default).lower()
    return f"{default:g}" if isinstance(default, float) else f"`{default}`"
