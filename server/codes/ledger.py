"""How the ledger is held to the house: fastener spacing and edge distances."""

from __future__ import annotations

from functools import cache, lru_cache
from math import ceil

from server.codes.answers import Answer, Check, Source
from server.codes.inches import down, nearest
from server.codes.tables import EDITIONS, FASTENERS, TABLE_LIVE, Row, known, positive, rows
from server.codes.wood import dead_load

__all__ = ["FASTENERS", "edges", "spacing"]


@lru_cache(maxsize=1 << 16)
def spacing(fastener: str, joist_span: float, edition: str, live: float = TABLE_LIVE) -> Answer:
    """The widest spacing of ledger fasteners, inches, for joists that span `joist_span` inches; live psf.

    IRC 2009 to 2021, Table R507.9.1.3(1) in 2018; DCA 6-2012 is served by the same rows. Taken from the next longer
    joist span; beyond 18 ft or 40 psf computed, and never above the nearest cell. Raises NotInTables.
    """
    known("fastener", fastener, FASTENERS)
    known("edition", edition, EDITIONS)
    positive("joist span", joist_span)
    positive("live load", live)
    check = _check(fastener, joist_span, max(live, TABLE_LIVE))
    cap = float(_loads()[fastener]["most_in"])
    governs = "fastener" if nearest(check.most) <= cap else "cap"
    checks = (check, Check("cap", cap, "widest in the table", {}))
    row = _cells()[fastener, min(18, max(6, 2 * ceil(joist_span / 24)))]
    cell = float(row["spacing_oc_in"])
    if live > TABLE_LIVE or joist_span > 216:
        safe = min(cap, down(check.most))
        return Answer(min(cell, safe), None, safe, governs, checks)
    return Answer(cell, _source(row, edition), min(cap, nearest(check.most)), governs, checks)


def edges() -> tuple[Row, ...]:
    """Distances from fastener to edge and end, inches, for the ledger and the band joist behind it."""
    return rows("ledger_edges")


def _check(fastener: str, joist_span: float, live: float) -> Check:
    """One fastener carries the joist ends of so many inches of ledger: P / (psf joist span / 2)."""
    pounds = float(_loads()[fastener]["load_lb"])
    load = (live + dead_load()) / 144 * joist_span / 2
    return Check("fastener", pounds / load, "P / w", {"P": pounds, "w": load})


@cache
def _loads() -> dict[str, Row]:
    return {row["fastener"]: row for row in rows("ledger_loads")}


@cache
def _cells() -> dict[tuple[str, int], Row]:
    return {(row["fastener"], int(row["joist_span_max_ft"])): row for row in rows("ledger")}


def _source(row: Row, edition: str) -> Source:
    also = "; the rows of the IRC, which serve DCA 6-2012 too" if edition == "DCA 6-2012" else ""
    where = f"{row['meaning']}; joists to {row['joist_span_max_ft']} ft{also}"
    return Source(edition, row["table"], where, row["confidence"])
