"""The ledger: how far apart its fasteners, how far from its edges, and what ties it to the house."""

from __future__ import annotations

from server.codes import ledger as tables
from server.codes import rules
from server.codes.answers import Answer
from server.codes.tables import Row
from server.framing import patch
from server.framing.areas import SQUARE_FOOT, reactions
from server.framing.levels import source_plain
from server.framing.placing import SLACK, supports
from server.model import Beam, Job, Plain


def answer(job: Job, beams: tuple[Beam, ...]) -> tuple[Answer, bool]:
    """The widest spacing of the fasteners, inches; and whether a heavier patch leans on the ledger.

    The table takes half the joists' span as the deck on the ledger; a patch counts as so much more live load on it.
    """
    span = beams[0].setback
    added = sum(max(0.0, load) for _, _, load in patch.on_supports(job, beams)[0])
    live = job.live + added * SQUARE_FOOT / (span / 2)
    return tables.spacing(job.fastener, round(span, 6), job.edition, live), added > 0


def lifted(job: Job, beams: tuple[Beam, ...]) -> bool:
    """Whether a load on the joists past the outer beam lifts them at the house: IRC R507.8.

    Live load lies beyond that beam only, dead load everywhere; looked at on every strip of deck between two sides of
    patches.
    """
    stands = supports(job, beams)
    dead = patch.DEAD * reactions(stands, 0.0, job.out)[0]
    spread = job.live * reactions(stands, stands[-1], job.out)[0]
    areas = [(patch.rectangle(job, heavy), patch.extra(job, heavy)) for heavy in patch.heavy(job)]
    sides = sorted({0.0, job.width, *(side for (left, right, _, _), _ in areas for side in (left, right))})
    for middle in ((left + right) / 2 for left, right in zip(sides, sides[1:], strict=False)):
        over = [(area, load) for area, load in areas if area[0] < middle < area[1] and area[3] > stands[-1]]
        on_end = sum(load * reactions(stands, max(near, stands[-1]), far)[0] for (_, _, near, far), load in over)
        if dead + spread + on_end < -SLACK:
            return True
    return False


def sheet(job: Job, beams: tuple[Beam, ...]) -> Plain | None:
    """Fasteners, edge distances and lateral ties of an attached deck; None for one that stands alone."""
    if not job.attached or not beams:
        return None
    (found, patched), held = answer(job, beams), lifted(job, beams)
    return {
        "fastener": job.fastener,
        "spacing": found.most,
        "computed": found.computed,
        "source": None if patched or held else source_plain(found.source),
        "lifted": held,
        "edges": [_edge(row) for row in tables.edges()],
        "ties": _ties(),
    }


def _edge(row: Row) -> Plain:
    """Distances from fasteners to the edges and end of one member, inches."""
    numbers = {
        key.removesuffix("_in"): float(row[key])
        for key in ("top_edge_in", "bottom_edge_in", "end_in", "row_spacing_min_in", "row_spacing_max_in")
    }
    return {"member": row["member"], **numbers, "notes": row["notes"], "confidence": row["confidence"]}


def _ties() -> Plain:
    """Devices that keep the deck from pulling away from the house: IRC R507.9.2, two of 1,500 lb or four of 750 lb."""
    rule = rules.rule("lateral_tension_devices")
    ways = [part.removesuffix(" lb").split(" x ") for part in rule.value.split(" or ")]
    return {
        "ways": [{"count": int(count), "pounds": int(pounds)} for count, pounds in ways],
        "source": source_plain(rule.source),
    }
