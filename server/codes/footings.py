"""How large a footing is, by what it carries and the soil below."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, lru_cache
from math import pi, sqrt

from server.codes.answers import Source
from server.codes.inches import nearest, up
from server.codes.tables import EDITIONS, TABLE_LIVE, Row, known, positive, rows
from server.codes.wood import dead_load

__all__ = ["Footing", "size"]

IN_EDITIONS = ("IRC 2018", "IRC 2021")
# The least the table prints from 20 sq ft up, inches.
LEAST_SQUARE, LEAST_ROUND, LEAST_THICK = 12.0, 14.0, 6.0

Sizes = tuple[float, float, float]


@dataclass(frozen=True)
class Footing:
    """Side of a square one, diameter of a round one, thickness, inches: the cell's if there is one; the sums beside."""

    square: float
    round: float
    thickness: float
    source: Source | None
    computed_square: float
    computed_round: float
    computed_thickness: float


@lru_cache(maxsize=1 << 16)
def size(area: float, soil: float, edition: str, live: float = TABLE_LIVE) -> Footing:
    """The footing under `area` sq ft of deck on soil that bears `soil` psf, live psf. IRC 2018 Table R507.3.1.

    Taken from the next larger area and load and the next poorer soil of the table; beyond it, or in an edition without
    it, computed, up to the whole inch, and never smaller than the nearest cell. Raises NotInTables.
    """
    known("edition", edition, EDITIONS)
    for what, given in (("area", area), ("soil bearing", soil), ("live load", live)):
        positive(what, given)
    safe = _whole(up, _needed(area, soil, live))
    if edition not in IN_EDITIONS:
        return Footing(*safe, None, *safe)
    row, inside = _cell(area, soil, live)
    cell = (float(row["square_side_in"]), float(row["round_diameter_in"]), float(row["thickness_in"]))
    if inside:
        return Footing(*cell, _source(row, edition), *computed(area, soil, live))
    square, diameter, thickness = (max(pair) for pair in zip(cell, safe, strict=True))
    return Footing(square, diameter, thickness, None, *safe)


def computed(area: float, soil: float, live: float) -> tuple[float, float, float]:
    """Side, diameter, thickness, inches: area (live + 10) / soil in sq ft, nearest inch; thickness (side - 6) / 2."""
    return _whole(nearest, _needed(area, soil, live))


def _needed(area: float, soil: float, live: float) -> Sizes:
    """Side, diameter, thickness as the sums give them, inches."""
    bearing = 144 * area * (live + dead_load()) / soil
    side = sqrt(bearing)
    return side, sqrt(4 * bearing / pi), (side - 6) / 2


def _whole(rounded: Callable[[float], float], sizes: Sizes) -> Sizes:
    """Side, diameter, thickness in whole inches, none under the least."""
    side, diameter, thickness = (rounded(each) for each in sizes)
    return max(LEAST_SQUARE, side), max(LEAST_ROUND, diameter), max(LEAST_THICK, thickness)


@cache
def _cells() -> dict[tuple[float, float, float], Row]:
    return {
        (float(row["live_or_snow_psf"]), float(row["tributary_sqft"]), float(row["soil_psf"])): row
        for row in rows("footings")
    }


@cache
def _axes() -> tuple[list[float], list[float], list[float]]:
    """The loads, areas and soils of the table, each from low to high."""
    loads, areas, soils = (sorted(set(axis)) for axis in zip(*_cells(), strict=True))
    return loads, areas, soils


def _cell(area: float, soil: float, live: float) -> tuple[Row, bool]:
    """The cell that serves, and whether the table reaches so far; beyond it, the nearest cell."""
    loads, areas, soils = _axes()
    load = next((each for each in loads if each >= live), loads[-1])
    room = next((each for each in areas if each >= area), areas[-1])
    ground = next((each for each in reversed(soils) if each <= soil), soils[0])
    return _cells()[load, room, ground], live <= load and area <= room and soil >= ground


def _source(row: Row, edition: str) -> Source:
    where = f"{row['live_or_snow_psf']} psf; {row['tributary_sqft']} sq ft; soil {row['soil_psf']} psf"
    return Source(edition, row["table"], where, row["confidence"])
