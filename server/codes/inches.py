"""Whole inches: the nearest, as the printed tables have it; up or down where a calculation answers alone."""

from __future__ import annotations

from math import ceil, floor

# What a chain of floating-point sums may be off by, inches: 12.000000000000002 is 12.
NOISE = 1e-9


def nearest(inches: float) -> float:
    """The nearest whole inch, a half going up."""
    return float(floor(inches + 0.5))


def down(inches: float) -> float:
    """The whole inch that is not more: the safe side of a span, an overhang, a spacing."""
    return float(floor(inches + NOISE))


def up(inches: float) -> float:
    """The whole inch that is not less: the safe side of a footing."""
    return float(ceil(inches - NOISE))
