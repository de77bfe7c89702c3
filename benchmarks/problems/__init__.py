"""One file a problem, each with its ``PROBLEM``."""

import importlib
import pkgutil

from benchmarks.problem import Problem


def problems() -> list[Problem]:
    """The problem of each file, by the files' names."""
    names = sorted(module.name for module in pkgutil.iter_modules(__path__))
    return [importlib.import_module(f"{__name__}.{name}").PROBLEM for name in names]
