"""Unit conversions of one number with one unit: the only place that knows pint.

Tape text never comes here: pint misreads it (12' 3" becomes 36). See `server.field.tape`.
"""
from __future__ import annotations

from functools import cache

from pint import UnitRegistry


@cache
def registry() -> UnitRegistry[float]:
    """pint's units, loaded once."""
    return UnitRegistry()


def convert(value: float, unit: str, to: str) -> float:
    """A value in one unit as a number of another. Raises pint's DimensionalityError across dimensions."""
    return float(registry().Quantity(value, unit).to(to).magnitude)


def millimetres(inches: float) -> float:
    return convert(inches, "inch", "millimetre")


def area(square_inches: float, units: str) -> str:
    """An area as a person of that job says it: "338 sq ft" or "31.4 m²"."""
    if units == "millimetre":
        return f"{convert(square_inches, 'inch ** 2', 'metre ** 2'):.1f} m²"
    return f"{convert(square_inches, 'inch ** 2', 'foot ** 2'):.0f} sq ft"
