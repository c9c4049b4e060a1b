"""Areas, loads and pressures as a person of a job says them. An inch job needs no conversion, and pint loads slowly."""

from __future__ import annotations

from functools import lru_cache

from server.units import convert, floor


@lru_cache(maxsize=1 << 12)
def deck_text(square_feet: float, units: str) -> str:
    """An area as a person of that job says it."""
    return floor(square_feet, units) if units == "millimetre" else f"{square_feet:.0f} sq ft"


@lru_cache(maxsize=1 << 12)
def pounds(load: float, units: str) -> str:
    """A load as a person of that job says it: "2,200 lb" or "9.8 kN"."""
    return f"{convert(load, 'pound_force', 'kilonewton'):.1f} kN" if units == "millimetre" else f"{load:,.0f} lb"


@lru_cache(maxsize=1 << 12)
def pressure(psf: float, units: str) -> str:
    """What soil or deck carries: "1,500 psf" or "71.8 kPa"."""
    if units == "millimetre":
        return f"{convert(psf, 'pound_force / foot ** 2', 'kilopascal'):.1f} kPa"
    return f"{psf:,.0f} psf"
