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


def volume(cubic_feet: float, units: str) -> str:
    """A volume as a person of that job says it: "1.6 cu ft" or "0.05 m³"."""
    if units == "millimetre":
        return f"{convert(cubic_feet, 'foot ** 3', 'metre ** 3'):.2f} m³"
    return f"{cubic_feet:.1f} cu ft"


def floor(square_feet: float, units: str) -> str:
    """An area given in square feet, as a person of that job says it."""
    return area(convert(square_feet, "foot ** 2", "inch ** 2"), units)


def area(square_inches: float, units: str) -> str:
    """An area as a person of that job says it: "338 sq ft" or "31.4 m²"."""
    if units == "millimetre":
        return f"{convert(square_inches, 'inch ** 2', 'metre ** 2'):.1f} m²"
    return f"{convert(square_inches, 'inch ** 2', 'foot ** 2'):.0f} sq ft"
