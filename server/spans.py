"""One question about a span, one answer: the codes are asked, and the answer is plain data for people and programs.

Lengths are inches, areas square feet, loads and soil pounds a square foot.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import sqrt

from server.codes import beams, footings, joists, ledger, posts, rules
from server.codes.answers import Answer, Check, Source
from server.codes.wood import dead_load
from server.model import Plain
from server.span_fields import read

FROM_MEMORY = "memory"


def ask(question: str, typed: Mapping[str, str]) -> Plain:
    """The answer to joist, beam, footing, post or ledger, from fields as typed. Raises SpanFaults."""
    asked = read(question, typed)
    return {"question": question, "asked": asked, **ANSWERS[question](asked)}


def joist(asked: Plain) -> Plain:
    """Joist span, and beside it how far the joist may run past its beam."""
    given = (asked["species"], asked["size"], int(asked["spacing"]), asked["edition"], asked["live"])
    past = plain(joists.cantilever(*given))
    share = rules.joist_cantilever_share(asked["edition"]).number
    return plain(joists.span(*given)) | {
        "max_cantilever_in": past["max_in"],
        "cantilever": past | {"share": share},
    }


def beam(asked: Plain) -> Plain:
    plies, size = asked["beam"].split("-")
    return plain(beams.span(asked["species"], int(plies), size, asked["joist_span"], asked["edition"], asked["live"]))


def post(asked: Plain) -> Plain:
    return plain(posts.height(asked["species"], asked["post"], asked["area"], asked["edition"], asked["live"]))


def ledger_spacing(asked: Plain) -> Plain:
    return plain(ledger.spacing(asked["fastener"], asked["joist_span"], asked["edition"], asked["live"]))


def footing(asked: Plain) -> Plain:
    """Footing size for an area carried: square side, round diameter, thickness."""
    size = footings.size(asked["area"], asked["soil"], asked["edition"], asked["live"])
    return {
        "max_in": None,
        "square_in": size.square,
        "round_in": size.round,
        "thickness_in": size.thickness,
        "governs": "soil",
        "source": cell(size.source),
        "computed_in": size.computed_square,
        "computed": {
            "square_in": size.computed_square,
            "round_in": size.computed_round,
            "thickness_in": size.computed_thickness,
        },
        "checks": [check(one) for one in footing_checks(asked, size)],
        "level": level(size.source),
    }


def footing_checks(asked: Plain, size: footings.Footing) -> tuple[Check, ...]:
    """How the calculation comes to each measure of a footing; here the inches are the least, not the most."""
    bears = {"A": asked["area"], "w": asked["live"], "d": dead_load(), "q": asked["soil"]}
    square, diameter, thick = footings.LEAST_SQUARE, footings.LEAST_ROUND, footings.LEAST_THICK
    side = sqrt(144 * bears["A"] * (bears["w"] + bears["d"]) / bears["q"])
    return (
        Check("square", size.computed_square, f"s = sqrt(144 A (w + d) / q), {square} in. or more", bears),
        Check("round", size.computed_round, f"s sqrt(4 / pi), {diameter} in. or more", {"s": side}),
        Check("thickness", size.computed_thickness, f"(s - 6) / 2, {thick} in. or more", {"s": side}),
    )


ANSWERS: dict[str, Callable[[Plain], Plain]] = {
    "joist": joist,
    "beam": beam,
    "footing": footing,
    "post": post,
    "ledger": ledger_spacing,
}


def plain(answer: Answer) -> Plain:
    """An answer of the codes as plain data; what a load leaves nothing of is 0, even less a bearing's 3 in."""
    return {
        "max_in": max(0.0, answer.most),
        "governs": answer.governs,
        "source": cell(answer.source),
        "computed_in": max(0.0, answer.computed),
        "checks": [check(one) for one in answer.checks],
        "level": level(answer.source),
    }


def check(one: Check) -> Plain:
    return {"name": one.name, "most_in": one.most, "formula": one.formula, "numbers": dict(one.numbers)}


def cell(source: Source | None) -> Plain | None:
    """Where a number stands in print, or None where the edition has no such cell."""
    if source is None:
        return None
    return {
        "edition": source.edition,
        "table": source.table,
        "cell": source.cell,
        "confidence": source.confidence,
    }


def level(source: Source | None) -> str:
    """`engineer` without a cell, `memory` where nothing but memory stands behind it, else `holds`."""
    if source is None:
        return "engineer"
    return "memory" if source.confidence == FROM_MEMORY else "holds"
