"""A case as plain tables in internal units, and back without the loss of a digit; for keeping beside a result."""

from __future__ import annotations

from dataclasses import asdict, fields, is_dataclass
from typing import get_args, get_origin, get_type_hints

from fesoil.case.model import Case
from fesoil.case.read import alternatives


def to_plain(case: Case) -> dict:
    """Nested dicts and tuples with the names of the fields; JSON carries them."""
    return asdict(case)


def from_plain(table: dict) -> Case:
    """The case of ``to_plain``, lists in the place of tuples allowed.

    Raises
    ------
    KeyError, TypeError
        Where the table is no case of this version.
    """
    return _made(Case, table)


def _made(kind, value):
    if value is None:
        return None
    kinds = alternatives(kind)
    kind = kinds[0] if len(kinds) == 1 else next((k for k in kinds if {f.name for f in fields(k)} == value.keys()), kinds[0])
    if is_dataclass(kind):
        kinds = get_type_hints(kind)
        return kind(**{f.name: _made(kinds[f.name], value[f.name]) for f in fields(kind)})
    inner = get_args(kind)
    if get_origin(kind) is dict:
        return {name: _made(inner[1], v) for name, v in value.items()}
    if get_origin(kind) is tuple:
        each = [inner[0]] * len(value) if inner[1:] == (...,) else inner
        return tuple(_made(k, v) for k, v in zip(each, value))
    return value
