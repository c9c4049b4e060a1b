"""How far deck joists span, and how far they run past the beam."""

from __future__ import annotations

from functools import cache, lru_cache

from server.codes import statics, wood
from server.codes.answers import Answer, Check, Source
from server.codes.inches import down, nearest
from server.codes.rules import joist_cantilever_share, rule
from server.codes.tables import EDITIONS, SIZES, SPACINGS, TABLE_LIVE, Row, known, positive, rows, wood_group

__all__ = ["cantilever", "cantilever_share", "span"]

# Live load may sag a joist by span / 360, and a person of 220 lb its tip by overhang / 180. IRC 2015 R507.5.
SAG = 360.0
TIP_SHARE = 180.0
TIP_POUNDS = 220.0
# DCA 6-2012 prints its cantilevers 3 in. shorter than the calculation.
SHORTER = {"DCA 6-2012": 3.0}


def cantilever_share(edition: str) -> float:
    """The share of its actual span that a joist may run past the beam. IRC 2015 R507.5, DCA 6-2012 Table 2 note 3."""
    return joist_cantilever_share(edition).number


@lru_cache(maxsize=1 << 14)
def span(species: str, size: str, spacing: int, edition: str, live: float = TABLE_LIVE) -> Answer:
    """The most a joist may span, inches, face of bearing to face of bearing; spacing inches, live psf.

    DCA 6-2012 Table 2, IRC 2015 Table R507.5; a lighter load than 40 psf takes the cell, a heavier one is computed and
    never above it. Raises NotInTables.
    """
    group = _group(species, size, spacing, edition, live)
    checks = _span_checks(group, size, spacing, edition, max(live, TABLE_LIVE))
    return _answer(_cell(edition, group, size, spacing), "max_span_in", live, checks)


@lru_cache(maxsize=1 << 14)
def cantilever(species: str, size: str, spacing: int, edition: str, live: float = TABLE_LIVE) -> Answer:
    """The most a joist may run past the beam, inches, behind its longest span; spacing inches, live psf.

    DCA 6-2012 Table 2. A quarter of the actual span is a second limit (`cantilever_share`), the caller's.
    Raises NotInTables.
    """
    group = _group(species, size, spacing, edition, live)
    checks = _cantilever_checks(group, size, spacing, edition, max(live, TABLE_LIVE))
    return _answer(_cell(edition, group, size, spacing), "max_cantilever_in", live, checks)


def _group(species: str, size: str, spacing: int, edition: str, live: float) -> str:
    """The group of species, once every argument is known to be one the tables have."""
    known("size of joist", size, SIZES)
    known("spacing", spacing, SPACINGS)
    known("edition", edition, EDITIONS)
    positive("live load", live)
    return wood_group(species)


@cache
def _cells() -> dict[tuple[str, str, str, str], Row]:
    return {(row["edition"], row["species_group"], row["size"], row["spacing_in"]): row for row in rows("joists")}


def _cell(edition: str, group: str, size: str, spacing: int) -> Row | None:
    return _cells().get((edition, group, size, str(spacing)))


def _answer(row: Row | None, column: str, live: float, checks: tuple[Check, ...]) -> Answer:
    """The cell where there is one for the load, else the calculation, which no heavier load lifts above the cell."""
    least = min(checks, key=lambda check: check.most)
    safe = down(least.most)
    if row is None or not row[column]:
        return Answer(safe, None, safe, least.name, checks)
    cell = float(row[column])
    if live > TABLE_LIVE:
        return Answer(min(cell, safe), None, safe, least.name, checks)
    return Answer(cell, _source(row), nearest(least.most), least.name, checks)


def _source(row: Row) -> Source:
    where = f"{row['species_group']}; {row['size']}; {row['spacing_in']} in. on centre"
    return Source(row["edition"], row["table"], where, row["confidence"])


@cache
def _span_checks(group: str, size: str, spacing: int, edition: str, live: float) -> tuple[Check, ...]:
    """Bending and deflection of the species that spans least, and the cap of 18 ft."""
    each = [_species_span(name, size, spacing, edition, live) for name in wood.members(group)]
    return min(each, key=lambda checks: min(check.most for check in checks))


@cache
def _species_span(species: str, size: str, spacing: int, edition: str, live: float) -> tuple[Check, ...]:
    """A simple span: live and dead load against bending, live load against span / 360, at most 18 ft."""
    section, stresses = wood.section(size), wood.joist_stresses(species, size, edition)
    load, light = wood.line_load(live + wood.dead_load(), spacing), wood.line_load(live, spacing)
    bending = statics.moment_span(load, stresses.fb * section.modulus)
    sag = statics.deflection_span(light, stresses.e * section.inertia, SAG)
    cap = 12 * rule("joist_length_limit_dca6").number
    return (
        Check("bending", bending, "sqrt(8 Fb' S / w)", {"Fb'": stresses.fb, "S": section.modulus, "w": load}),
        Check("deflection", sag, "(384 E' I / (5 w 360))^(1/3)", {"E'": stresses.e, "I": section.inertia, "w": light}),
        Check("cap", cap, "18 ft", {}),
    )


@cache
def _cantilever_checks(group: str, size: str, spacing: int, edition: str, live: float) -> tuple[Check, ...]:
    """The tip load and a quarter of the span, each species behind its own span; the one that runs out least."""
    each = [_species_cantilever(name, size, spacing, edition, live) for name in wood.members(group)]
    return min(each, key=lambda checks: min(check.most for check in checks))


def _species_cantilever(species: str, size: str, spacing: int, edition: str, live: float) -> tuple[Check, ...]:
    """220 lb at the tip, sinking by overhang / 180; behind it the span of 40 psf, since a shorter one turns less.

    A quarter of the span under the live load asked for keeps bending and sag of a loaded overhang within their limits.
    """
    stiff = wood.joist_stresses(species, size, edition).e * wood.section(size).inertia
    behind = _least(_species_span(species, size, spacing, edition, TABLE_LIVE))
    loaded = _least(_species_span(species, size, spacing, edition, live))
    off = SHORTER.get(edition, 0.0)
    tip = statics.tip_overhang(TIP_POUNDS, behind, stiff, TIP_SHARE) - off
    numbers = {"P": TIP_POUNDS, "L": behind, "E' I": stiff, "less": off}
    return (
        Check("tip", tip, "(sqrt(L² + 12 E' I / (180 P)) - L) / 2 - less", numbers),
        Check("share", cantilever_share(edition) * loaded, "L / 4", {"L": loaded}),
    )


def _least(checks: tuple[Check, ...]) -> float:
    return min(check.most for check in checks)
