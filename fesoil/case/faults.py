"""What is wrong with a case (faults, which stop the work) and what is unusual in it (doubts, which do not)."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches


@dataclass(frozen=True)
class Fault:
    """A mistake: path of the key, what was found, what was expected, and how to mend it."""

    path: str
    found: str
    expected: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.path}: found {self.found}; expected {self.expected}. {self.remedy}"


@dataclass(frozen=True)
class Doubt:
    """Something unusual to look at; ``is_note`` for a piece of information that asks for nothing."""

    path: str
    message: str
    is_note: bool = False

    def __str__(self) -> str:
        return f"{self.path}: {self.message}"


def item_path(table: str, index: int, name) -> str:
    """Path of one table in a list of tables: ``soils[0] "alluvium"``."""
    return f'{table}[{index}] "{name}"' if isinstance(name, str) else f"{table}[{index}]"


def nearest(name: str, known) -> str:
    """A sentence that names the nearest known word, or all of them."""
    known = list(known)
    near = get_close_matches(name, known, 1) or [k for k in known if k.lower() == name.lower()]
    if near:
        return f"Did you mean '{near[0]}'?"
    return f"Known: {', '.join(known)}." if known else "None is defined."
