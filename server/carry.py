"""What of a plan's earlier revisions carries over to it: which acts are the same, which points stand, what moved."""

from __future__ import annotations

from collections.abc import Iterable

from server.field import carry
from server.model import Plain

MOST = 10  # earlier revisions that a document knows


def carries(ground: Plain, walk: list[Plain], earlier: Iterable[tuple[str, Plain, list[Plain]]]) -> Plain:
    """{digest: what carries over} for each earlier (digest, yard, steps), the newest first."""
    now = {"yard": ground, "steps": walk}
    found: Plain = {}
    for digest, before, steps in earlier:
        if len(found) < MOST and digest not in found:
            found[digest] = carry.between({"yard": before, "steps": steps}, now)
    return found
