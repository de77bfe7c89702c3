"""What the engineer wrote: the case file, read and checked."""

from fesoil.case.model import Case
from fesoil.case.plausible import warnings_of
from fesoil.case.read import case_from, case_sha256, read_case, read_text
from fesoil.case.schema import schema

__all__ = ["Case", "case_from", "case_sha256", "read_case", "read_text", "schema", "warnings_of"]
