"""The case file: TOML text to a ``Case``, driven by the type and the metadata of every field in ``model``.

All faults are collected and raised together, each with the path of its key and the remedy.
"""

from __future__ import annotations

import hashlib
import tomllib
from dataclasses import MISSING, fields, is_dataclass, replace
from functools import lru_cache
from pathlib import Path
from types import UnionType
from typing import get_args, get_origin, get_type_hints

from fesoil import units
from fesoil.case.faults import Fault, item_path, nearest
from fesoil.case.keys import Line
from fesoil.case.model import Case, Drive, Pressurise, StrengthReduction, Water
from fesoil.case.soil import Permeability, Stiffness
from fesoil.case.validate import faults_of
from fesoil.errors import CaseError

SYNONYMS = {"K0": "at_rest", "phi": "friction_angle", "psi": "dilation_angle", "c": "effective_cohesion", "su": "undrained_strength", "cu": "undrained_strength",
            "gamma": "unit_weight", "nu": "poisson_ratio", "youngs_modulus": "E"}  # what an engineer may write for a key
SHORT_FOR = {Drive: "toe", Permeability: "horizontal", Pressurise: "mean_load", Stiffness: "E"}  # a number alone stands for this key of the table
_BAD = object()  # value that could not be read; the fault has been noted


def read_case(path) -> Case:
    """Read and check a case file.

    Parameters
    ----------
    path : str or Path
        TOML file, UTF-8.

    Returns
    -------
    Case
        In internal units.

    Raises
    ------
    CaseError
        All faults of the file together, or the reason why it cannot be read.
    """
    try:
        text = Path(path).read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise CaseError([Fault(str(path), f"a byte that is not UTF-8 (byte {error.start})", "UTF-8 text", "Save the file as UTF-8.")]) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise CaseError([Fault(str(path), f"no readable file ({reason})", "a case file", "Check the path.")]) from None
    return read_text(text, str(path))


def read_text(text: str, name: str = "case") -> Case:
    """Read and check the text of a case file; ``name`` is what messages call it. Raises CaseError as ``read_case``."""
    try:
        table = tomllib.loads(text.replace("\r\n", "\n"))
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise CaseError([Fault(name, f"text that is not TOML: {error}", "TOML",
                               "Mend that line; a string wants quotes, a table [brackets].")]) from None
    return case_from(table)


def case_from(table: dict) -> Case:
    """Read and check the tables of a case file (as ``tomllib`` gives them). Raises CaseError as ``read_case``."""
    reader = _Reader()
    case = reader.table(Case, table, "")
    if case is not _BAD:
        reader.faults += faults_of(case)
    if reader.faults:
        raise CaseError(reader.faults)
    return ordered(case)


def ordered(case: Case) -> Case:
    """The case with its tables in an order of their own (layers, blocks and stages, whose order means something, stay): the order in
    which an engineer lists soils or frames then changes no digit of the result."""
    return replace(
        case, soils=tuple(sorted(case.soils, key=lambda s: s.name)), walls=tuple(sorted(case.walls, key=lambda w: (w.x, w.name))),
        wells=tuple(sorted(case.wells, key=lambda w: (w.x, w.name))), frames=tuple(sorted(case.frames, key=lambda f: (-f.level, f.name))), slabs=tuple(sorted(case.slabs, key=lambda s: (-s.top_level, s.name))),
        loads=tuple(sorted(case.loads, key=lambda l: l.name)),
    )  # fmt: skip


def case_sha256(path) -> str:
    """Fingerprint of the bytes of a case file, for the record of a result."""
    return hashlib.sha256(Path(path).read_bytes()).hexdigest()


@lru_cache(maxsize=None)
def keys_of(cls) -> dict:
    """Keys of a table: name in the case file to (field, type)."""
    kinds = get_type_hints(cls)
    return {f.metadata["name"] or f.name: (f, kinds[f.name]) for f in fields(cls)}


def without_none(kind):
    """The type X of ``X | None``; of ``X | Y`` the first; any other type as it is."""
    return alternatives(kind)[0]


def alternatives(kind) -> tuple:
    """The types that a value may have, None left out: one, or several tables of which its keys choose."""
    return tuple(a for a in get_args(kind) if a is not type(None)) if get_origin(kind) is UnionType else (kind,)


def is_required(field) -> bool:
    """Whether a key must be given."""
    return field.default is MISSING and field.default_factory is MISSING


def within(value: float, meta) -> bool:
    """Whether a value in the unit of the case file keeps its hard limits (units changed to and fro may cost a last digit)."""
    slack = 1e-9 * abs(value)
    return ((meta["above"] is None or value > meta["above"]) and (meta["least"] is None or value >= meta["least"] - slack)
            and (meta["most"] is None or value <= meta["most"] + slack))


def limits_in_words(meta) -> str:
    """``'above 0 and at most 60 m'``, or nothing where there are no limits."""
    words = [f"{word} {units.number(meta[key])}" for key, word in (("above", "above"), ("least", "at least"), ("most", "at most")) if meta[key] is not None]
    return " and ".join(words) + (f" {meta['unit']}" if words and meta["unit"] else "")


class _Reader:
    """Turns tables into dataclasses and collects the faults on the way."""

    def __init__(self):
        self.faults: list[Fault] = []

    def fault(self, path, value, expected, remedy):
        self.faults.append(Fault(path, _in_words(value), expected, remedy))
        return _BAD

    def table(self, cls, table, path):
        """A dataclass from a table; _BAD when a value is missing or cannot be read (unknown keys do not matter)."""
        if cls in SHORT_FOR and _is_number_like(table):
            table = {SHORT_FOR[cls]: table}
        if not isinstance(table, dict):
            shape = ", ".join(f"{k} = ..." for k, (f, _) in keys_of(cls).items() if is_required(f)) or next(iter(keys_of(cls))) + " = ..."
            return self.fault(path, table, "a table", f"Write {{ {shape} }}.")
        known = keys_of(cls)
        if cls is Water:  # the level keys stand beside the others; their names are checked later, with the cofferdams
            levels = {k: v for k, v in table.items() if k not in known or k == "levels"}
            table = {**{k: table[k] for k in table.keys() - levels.keys()}, "levels": levels}
        start = f"{path}." if path else ""
        for name in (n for n in table if n not in known):
            self.fault(start + name, table[name], "a key that is known here", nearest(SYNONYMS.get(name, name), known))
        values = {}
        for name, (field, kind) in known.items():
            if name in table:
                values[field.name] = self.value(kind, table[name], path if field.name == "levels" else start + name, field.metadata)
            elif is_required(field):
                values[field.name] = self.missing(start + name, field.metadata)
        return _BAD if any(v is _BAD for v in values.values()) else cls(**values)

    def missing(self, path, meta):
        unit = f" [{meta['unit']}]" if meta["unit"] else ""
        self.faults.append(Fault(path, "nothing", f"a value{unit}", f"Add the key: {meta['doc']}"))
        return _BAD

    def value(self, kind, value, path, meta):
        """A value of any type of the model; of several tables the one that knows most of the keys written, and of equals the first."""
        keys = set(value) if isinstance(value, dict) else set()
        kind = max(alternatives(kind), key=lambda k: len(keys & set(keys_of(k))) if is_dataclass(k) else 0)
        if kind is StrengthReduction and isinstance(value, bool):
            return StrengthReduction() if value else None
        if is_dataclass(kind):
            return self.table(kind, value, path)
        if kind is float:
            return self.number(value, path, meta)
        if kind is str:
            return self.word(value, path, meta)
        if kind is bool:
            return value if isinstance(value, bool) else self.fault(path, value, "true or false", "Write true or false, without quotes.")
        if kind == Line:
            return self.line(value, path, meta)
        return self.mapping(kind, value, path, meta) if get_origin(kind) is dict else self.row(kind, value, path, meta)

    def number(self, value, path, meta):
        unit = meta["unit"]
        if path.endswith("per_metre_depth") and isinstance(value, str) and "/" not in value:
            value += "/m"  # the key says "per metre" already, so "1.5 MPa" is clear
        try:
            number = units.to_internal(value, unit)
        except ValueError as error:
            how = f'a number in {unit}, or a string with a unit such as "1.5 {unit}"' if unit else "a number"
            return self.fault(path, value, how, f"Mend the value: {error}.")
        shown = float(value) if not isinstance(value, str) else units.from_internal(number, unit)
        if not within(shown, meta):
            found = value if isinstance(value, str) else f"{units.number(value)} {unit or ''}".strip()
            self.faults.append(Fault(path, found, limits_in_words(meta), _slip(shown, meta)))
            return _BAD
        return number

    def word(self, value, path, meta):
        if not isinstance(value, str) or path.endswith("name") and not value.strip():
            return self.fault(path, value, "a text", "Write it in quotes.")
        if not value.isprintable():
            return self.fault(path, value, "plain text", "Take the line break or control character out.")
        if meta["choices"] and value not in meta["choices"]:
            return self.fault(path, value, " or ".join(f"'{c}'" for c in meta["choices"]), nearest(value, meta["choices"]))
        return value

    def line(self, value, path, meta):
        """A level, or a polyline with x not decreasing (any order for an outline, which has three corners or more)."""
        is_outline = path.endswith("outline")
        if not isinstance(value, list) and not is_outline:
            level = self.number(value, path, meta)
            return level if level is _BAD else ((0.0, level),)
        if not isinstance(value, list) or not value or not all(isinstance(p, list) and len(p) == 2 for p in value):
            return self.fault(path, value, "points [x, level]" if is_outline else "a level or points [x, level]",
                              "Write [[x1, level1], [x2, level2], ...].")
        points = tuple(tuple(self.number(v, f"{path}[{i}]", meta) for v in point) for i, point in enumerate(value))
        if any(v is _BAD for p in points for v in p):
            return _BAD
        if is_outline and len(set(points)) < 3:
            return self.fault(path, value, "three corners or more", "Give the corners in order around the outline.")
        if not is_outline and any(b[0] < a[0] for a, b in zip(points, points[1:])):
            return self.fault(path, value, "x not decreasing from point to point", "Order the points from left to right.")
        return points

    def mapping(self, kind, value, path, meta):
        if not isinstance(value, dict):
            return self.fault(path, value, "a table by name", "Write { name = value }.")
        inner = get_args(kind)[1]
        read = {name: self.value(inner, v, f"{path}.{name}", meta) for name, v in value.items()}
        return _BAD if any(v is _BAD for v in read.values()) else read

    def row(self, kind, value, path, meta):
        """A tuple: of tables, of words (a single one needs no brackets), or of a fixed number of values."""
        inner, *others = get_args(kind)
        if is_dataclass(inner) and isinstance(value, dict):
            return self.fault(path, value, "a list of tables", f"Write [[{path}]] with double brackets, once for each, with its name inside.")
        if inner is str and others == [...] and isinstance(value, str):
            value = [value]
        if not isinstance(value, list):
            return self.fault(path, value, "a list", "Write it in [brackets].")
        if others != [...] and len(value) != 1 + len(others):
            return self.fault(path, value, f"{1 + len(others)} values", "Give one for either side.")
        if is_dataclass(inner):
            paths = [item_path(path, i, v.get("name") if isinstance(v, dict) else None) for i, v in enumerate(value)]
        else:
            paths = [f"{path}[{i}]" for i in range(len(value))]
        read = tuple(self.value(inner, v, p, meta) for v, p in zip(value, paths))
        return _BAD if any(v is _BAD for v in read) else read


def _is_number_like(value) -> bool:
    return isinstance(value, (int, float, str)) and not isinstance(value, bool)


def _in_words(value) -> str:
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, bool):
        return str(value).lower()
    text = f"'{value}'" if isinstance(value, str) and not value.startswith("'") else str(value)
    return text if len(text) < 80 else text[:77] + "..."


def _slip(value: float, meta) -> str:
    """Remedy for a value out of its limits: the unit is the likeliest slip."""
    if not meta["unit"]:
        return "Check the value."
    return f"Check the value and its unit: a bare number is in {meta['unit']}, any other unit is written in quotes with the number."
