"""How a key of the case file is described: as the metadata of a field of a dataclass."""

from __future__ import annotations

from dataclasses import MISSING, field

Line = tuple[tuple[float, float], ...]
"""A polyline ``((x, y), ...)`` with x not decreasing; it goes on level beyond both ends, so a single point is a level."""


def key(doc, unit=None, default=MISSING, *, name=None, above=None, least=None, most=None, usual=None, choices=None):
    """Describe one key of the case file.

    Parameters
    ----------
    doc : str
        Meaning, in one sentence of the trade, with the sign where there is one and the default where it is worked out.
    unit : str or None
        Unit of a bare number in the case file; None for a pure number, a name or a table.
    default : object
        Value in internal units when the key is left out (``dict`` for an empty table); required when not given.
    name : str or None
        Key in the case file where it differs from the field's name (``from`` is a Python word).
    above, least, most : float or None
        Hard limits in the unit of the case file: value > above, >= least, <= most.
    usual : (float, float) or None
        Range of the trade in the unit of the case file; outside it the reader warns.
    choices : tuple of str or None
        Accepted words.
    """
    meta = dict(doc=doc, unit=unit, name=name, above=above, least=least, most=most, usual=usual, choices=choices)
    if default is dict:
        return field(default_factory=dict, metadata=meta, kw_only=True)
    return field(default=default, metadata=meta, kw_only=True)
