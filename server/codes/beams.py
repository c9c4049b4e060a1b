"""How far deck beams span between posts."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache, lru_cache
from math import ceil

from server.codes import statics, wood
from server.codes.answers import Answer, Check, Source
from server.codes.inches import down, nearest
from server.codes.rules import beam_cantilever_share
from server.codes.tables import EDITIONS, PINE, SIZES, TABLE_LIVE, WESTERN, Row, beam_group, known, positive, rows

__all__ = ["cantilever_share", "computed", "span"]

PLIES = (1, 2, 3)
# The table takes joists that run a quarter of their span past the beam: it then carries (1.25)² / 2 of the joist span.
SHARE = 0.78125
# Sag by span / 360, under 1.125 times the live load: what gives the cells.
SAG = 360.0
SAG_LOAD = 1.125
# IRC 2018 repeats the table of 2015; DCA 6-2012 prints clear spans, 3 in. less in every cell.
LESS = {"IRC 2015": 0.0, "IRC 2018": 0.0, "DCA 6-2012": 3.0}
TABLES = {"IRC 2015": "Table R507.6", "IRC 2018": "Table R507.5", "DCA 6-2012": "Table 3"}


def cantilever_share(edition: str) -> float:
    """The share of the actual span beside it that a beam may run past its last post. IRC R507.5."""
    return beam_cantilever_share(edition).number


@lru_cache(maxsize=1 << 16)
def span(species: str, plies: int, size: str, joist_span: float, edition: str, live: float = TABLE_LIVE) -> Answer:
    """The most a beam may span between posts, inches, under joists that span `joist_span` inches on one side.

    IRC 2015 Table R507.6 (post centre to post centre), repeated by 2018; DCA 6-2012 Table 3 is the clear span. Taken
    from the next longer joist span of the table. One ply, joists beyond 18 ft, more than 40 psf and other editions are
    computed, and never above the nearest cell. Raises NotInTables.
    """
    group = _group(species, plies, size, joist_span, edition, live)
    less = LESS.get(edition, 0.0)
    checks = _checks(group, plies, size, joist_span, max(live, TABLE_LIVE))
    least = min(checks, key=_rounded_first)
    safe = down(min(check.most for check in checks) - less)
    # One ply has no cell; it spans no more than two.
    row = _cells()[group, f"{max(2, plies)}-{size}", min(18, max(6, 2 * ceil(joist_span / 24)))]
    cell = float(row["max_span_in"]) - less
    if plies == 1 or edition not in LESS or live > TABLE_LIVE or joist_span > 216:
        return Answer(min(cell, safe), None, safe, least.name, _shorter(checks, less))
    return Answer(cell, _source(row, edition), _rounded(least) - less, least.name, _shorter(_as_printed(checks), less))


def _shorter(checks: tuple[Check, ...], less: float) -> tuple[Check, ...]:
    """The checks of a clear span: what each allows from post centre to post centre, less 3 in."""
    if not less:
        return checks
    return tuple(
        Check(check.name, check.most - less, f"{check.formula} - less", {**check.numbers, "less": less})
        for check in checks
    )


def computed(group: str, beam: str, joist_span: float, live: float = TABLE_LIVE) -> tuple[Check, ...]:
    """Bending, deflection and shear of one beam ("2-2x8", "4x10", "3x6"), each as the inches it allows.

    Bending and deflection to the nearest inch, shear down to the inch, as the table has them.
    """
    return _as_printed(_exact(group, beam, joist_span, live))


def _exact(group: str, beam: str, joist_span: float, live: float) -> tuple[Check, ...]:
    """The checks before anything is rounded."""
    beam_has = _strength(group, beam)
    load = wood.line_load(live + wood.dead_load(), SHARE * joist_span)
    light = wood.line_load(SAG_LOAD * live, SHARE * joist_span)
    return _bending(beam_has, load), _deflection(beam_has, light), _shear(beam_has, load)


def _group(species: str, plies: int, size: str, joist_span: float, edition: str, live: float) -> str:
    """The group of species, once every argument is known to be one the tables have."""
    known("number of plies", plies, PLIES)
    known("size of beam", size, SIZES)
    known("edition", edition, EDITIONS)
    positive("joist span", joist_span)
    positive("live load", live)
    return beam_group(species)


def _members(group: str) -> tuple[str, ...]:
    """The species that govern a group: Northern Species in bending and shear, cedar in deflection, for all but pine."""
    return wood.members(PINE if group == PINE else WESTERN)


@dataclass(frozen=True)
class Strength:
    """What a beam has: adjusted Fb, E, Fv, psi; section modulus in³, inertia in⁴, area in², all plies together."""

    fb: float
    e: float
    fv: float
    modulus: float
    inertia: float
    area: float


@cache
def _strength(group: str, beam: str) -> Strength:
    """The least value of each kind among the species of a group: each rules its own check."""
    plies, size = (int(beam[0]), beam[2:]) if beam[1] == "-" else (1, beam)
    ply = wood.section(size)
    values = [wood.beam_stresses(species, size, plies) for species in _members(group)]
    return Strength(
        fb=min(value.fb for value in values),
        e=min(value.e for value in values),
        fv=min(value.fv for value in values),
        modulus=plies * ply.modulus,
        inertia=plies * ply.inertia,
        area=plies * ply.area,
    )


def _bending(beam: Strength, load: float) -> Check:
    """Live and dead load, lb/in, on a simple span, against Fb' S."""
    numbers = {"Fb'": beam.fb, "S": beam.modulus, "w": load}
    return Check("bending", statics.moment_span(load, beam.fb * beam.modulus), "sqrt(8 Fb' S / w)", numbers)


def _deflection(beam: Strength, load: float) -> Check:
    """The live load that sags it, lb/in, on a simple span, against span / 360."""
    numbers = {"E'": beam.e, "I": beam.inertia, "w": load}
    most = statics.deflection_span(load, beam.e * beam.inertia, SAG)
    return Check("deflection", most, "(384 E' I / (5 w 360))^(1/3)", numbers)


def _shear(beam: Strength, load: float) -> Check:
    """The whole reaction w L / 2, load in lb/in, against Fv' A / 1.5 (a rectangle's shear is 1.5 V / A)."""
    numbers = {"Fv'": beam.fv, "A": beam.area, "w": load}
    most = statics.shear_span(load, beam.fv * beam.area / 1.5)
    return Check("shear", most, "4 Fv' A / (3 w)", numbers)


@cache
def _cells() -> dict[tuple[str, str, int], Row]:
    """The table's rows by group, beam and joist span in feet; a row "3x6 or 2-2x6" stands under both beams."""
    return {
        (row["species_group"], beam, int(row["joist_span_ft"])): row
        for row in rows("beams")
        for beam in row["beam"].split(" or ")
    }


def _source(row: Row, edition: str) -> Source:
    clear = "; the clear span, 3 in. less than the IRC 2015 prints" if edition == "DCA 6-2012" else ""
    where = f"{row['species_group']}; {row['beam']}; joists to {row['joist_span_ft']} ft{clear}"
    return Source(edition, TABLES[edition], where, row["confidence"])


@lru_cache(maxsize=1 << 16)
def _checks(group: str, plies: int, size: str, joist_span: float, live: float) -> tuple[Check, ...]:
    """The checks of a built-up beam; but for pine one piece 3 in. thick shares the row of two plies and governs."""
    built = _exact(group, f"{plies}-{size}", joist_span, live)
    if plies != 2 or group == PINE:
        return built
    solid = _exact(group, f"3{size[1:]}", joist_span, live)
    return min(built, solid, key=lambda checks: min(_rounded_first(check) for check in checks))


def _as_printed(checks: tuple[Check, ...]) -> tuple[Check, ...]:
    return tuple(replace(check, most=_rounded(check)) for check in checks)


def _rounded(check: Check) -> float:
    """What a check allows as the table rounds it: shear down to the inch, all else to the nearest."""
    return down(check.most) if check.name == "shear" else nearest(check.most)


def _rounded_first(check: Check) -> tuple[float, float]:
    """Which check is the least: by the table's rounding, then before it; so the least of both kinds is taken."""
    return _rounded(check), check.most
