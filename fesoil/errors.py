"""Every exception and warning class of the package, in one place.

    FesoilError
      CaseError          the case file says something that cannot be built
      MeshError          the section could not be meshed
      ResultError        a result directory cannot be read, written or resumed, or a result is asked for what it does not have
      NoFreeSurface      the flow of ground water came to no end
      CompanionLost      an analysis on another mesh was ended from outside
      MissingLibrary     a shared library that gmsh needs is not installed
    FesoilWarning

A stage that finds no equilibrium is not an exception: it is a result (see ``solve.stages``).
"""

from __future__ import annotations


class FesoilError(Exception):
    """Base of all errors that the package raises on purpose."""


class CaseError(FesoilError):
    """Faults of a case file, all of them together.

    Parameters
    ----------
    faults : list of Fault or str
        One entry a fault; the message prints one paragraph for each.
    """

    def __init__(self, faults):
        self.faults = [faults] if isinstance(faults, str) else list(faults)
        super().__init__("\n".join(str(f) for f in self.faults))


class MeshError(FesoilError):
    """The section could not be meshed; the message says where (coordinates in m)."""


class ResultError(FesoilError):
    """A result directory cannot be used (the message names the path and the remedy), or a result does not have what was asked for (it names what there is)."""


class NoFreeSurface(FesoilError):
    """The search for the free surface of the ground water came to no end."""


class CompanionLost(FesoilError):
    """An analysis on another mesh was ended from outside, so that there are no error bars; the analysis itself is kept."""


class MissingLibrary(FesoilError):
    """A shared library is missing; the message carries the line that installs it."""


class FesoilWarning(UserWarning):
    """Something unusual that the engineer should look at; the work goes on."""
