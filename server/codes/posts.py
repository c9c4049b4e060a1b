"""How tall a post may stand under what it carries."""

from __future__ import annotations

from functools import cache, lru_cache

from server.codes import wood
from server.codes.answers import Answer, Check, Source
from server.codes.inches import down
from server.codes.rules import rule
from server.codes.tables import EDITIONS, POSTS, TABLE_LIVE, Row, known, positive, rows, wood_group

__all__ = ["height"]

IN_EDITIONS = ("IRC 2021",)
# Fitted: the table's heights are the column's less 1 in., then down to the inch (every southern pine cell).
LESS = 1.0


@lru_cache(maxsize=1 << 16)
def height(species: str, post: str, area: float, edition: str, live: float = TABLE_LIVE) -> Answer:
    """The most a post may stand, inches, under `area` sq ft of deck, live psf. IRC 2021 Table R507.4.

    Taken from the next larger area of the table; beyond it computed, and never above the nearest cell. The calculation
    gives southern pine's cells; it does not give those of the fir group, whose weakest species it takes.
    Raises NotInTables.
    """
    known("post", post, POSTS)
    known("edition", edition, EDITIONS)
    positive("area", area)
    positive("live load", live)
    group = wood_group(species)
    checks = _checks(group, post, area * (max(live, TABLE_LIVE) + wood.dead_load()))
    least = min(checks, key=lambda check: check.most)
    reckoned = down(least.most)
    row = _cells().get((group, post, min(160, max(20, 20 * -int(-area // 20)))))
    if row is None:
        return Answer(reckoned, None, reckoned, least.name, checks)
    cell = float(row["max_height_in"])
    if edition not in IN_EDITIONS or live > TABLE_LIVE or area > 160:
        if cell < reckoned:
            where = f"{row['edition']} {row['table']}, {row['tributary_sqft']} sq ft"
            return Answer(cell, None, reckoned, "nearest", (*checks, Check("nearest", cell, where, {})))
        return Answer(reckoned, None, reckoned, least.name, checks)
    return Answer(cell, _source(row), reckoned, least.name, checks)


@cache
def _cells() -> dict[tuple[str, str, int], Row]:
    return {(row["species_group"], row["post"], int(row["tributary_sqft"])): row for row in rows("posts")}


@lru_cache(maxsize=1 << 16)
def _checks(group: str, post: str, pounds: float) -> tuple[Check, ...]:
    """The column of the weakest species of the group, and the 14 ft no post may pass."""
    columns = [_column(species, post, pounds) for species in wood.members(group)]
    cap = 12 * rule("post_max_height").number
    return min(columns, key=lambda check: check.most), Check("cap", cap, "14 ft", {})


def _column(species: str, post: str, pounds: float) -> Check:
    """A post loaded in its middle, pinned at both ends. NDS 3.7."""
    section, stresses = wood.section(post), wood.post_stresses(species, post)
    stress = pounds / section.area
    most = max(0.0, wood.column_height(stress, stresses.fc, stresses.emin, section.b) - LESS)
    numbers = {"P": pounds, "A": section.area, "Fc*": stresses.fc, "Emin'": stresses.emin, "d": section.b, "less": LESS}
    formula = "d sqrt(0.822 Emin' / (r Fc*)) - less, r = x (1 - 0.8 x) / (1 - x), x = P / (A Fc*)"
    return Check("column", most, formula, numbers)


def _source(row: Row) -> Source:
    where = f"{row['species_group']}; {row['post']}; {row['tributary_sqft']} sq ft"
    return Source(row["edition"], row["table"], where, row["confidence"])
