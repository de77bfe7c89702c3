"""Plane-strain finite-element analysis of braced excavations.

>>> import fesoil
>>> case = fesoil.read_case("cases/nested.toml")    # doctest: +SKIP
>>> result = fesoil.analyse(case)                   # doctest: +SKIP
>>> result.wall("inner").plot()                     # doctest: +SKIP

An aid for competent engineers: local codes and licensed practice govern, and what is dug is monitored on site.
"""

from fesoil.case import Case, case_from, read_case, read_text, schema, warnings_of
from fesoil.errors import CaseError, FesoilError, FesoilWarning, MeshError, MissingLibrary, ResultError

__all__ = [
    "Case", "CaseError", "FesoilError", "FesoilWarning", "MeshError", "MissingLibrary", "ResultError",
    "analyse", "analyse_on_three_meshes", "case_from", "read_case", "read_result", "read_text", "schema", "warnings_of",
]  # fmt: skip


def analyse(case, out=None, report=None):
    """Analyse a case; see ``fesoil.solve.analyse.analyse``."""
    from fesoil.solve.analyse import analyse as run

    return run(case, out, report)


def analyse_on_three_meshes(case, out=None, report=None):
    """Analyse a case on its own, a coarser and a finer mesh; see ``fesoil.solve.companions.analyse_on_three_meshes``."""
    from fesoil.solve.companions import analyse_on_three_meshes as run

    return run(case, out, report)


def read_result(directory):
    """Result kept in a directory; see ``fesoil.result.store.read_result``."""
    from fesoil.result.store import read_result as read

    return read(directory)
