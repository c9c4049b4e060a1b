"""What many yards came to, as numbers: one plain object for each crew, lengths in inches."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from server.model import Plain
from server.rehearse.walked import Walked


def tally(walks: Sequence[Walked], tolerance: float) -> Plain:
    """How true the yards of one crew are, and what that cost.

    `worst_in`: each yard's worst mark, in the order of the yards. `rms_in`: of all marks' errors; `ratio`: to the
    Cramér-Rao bound (`bound_in`: the root of its mean trace). `after_pulls`: the share of yards that would be true had
    the crew stopped after 0, 1, 2 … pulls and moved everything by what was known. None where a crew has no such number.
    """
    worst = [max(walk.offs) for walk in walks]
    true = [one <= tolerance for one in worst]
    claims = [walk.claimed for walk in walks]
    claiming = None not in claims
    wrong = [claim and not held for claim, held in zip(claims, true, strict=True)]
    rms = math.sqrt(mean(off * off for walk in walks for off in walk.offs))
    return {
        "true": mean(true),
        "worst_in": worst,
        "worst_95_in": percentile(worst, 0.95),
        "pulls": {"mean": mean(walk.pulls for walk in walks), "most": max(walk.pulls for walk in walks)},
        "moves": {"mean": mean(walk.moves for walk in walks), "most": max(walk.moves for walk in walks)},
        "slips": slips(walks, claiming),
        "claimed": mean(map(bool, claims)) if claiming else None,
        "wrongly_claimed": mean(map(bool, wrong)) if claiming else None,
        "rms_in": rms,
        **against_bound(walks, rms),
        "after_pulls": after_pulls(walks, tolerance),
    }


def slips(walks: Sequence[Walked], questioning: bool) -> Plain:
    """Slips in all yards together; what a crew without a network questions is not a number."""
    made = {"made": sum(walk.slips.made for walk in walks)}
    names = ("questioned", "false", "believed", "large", "large_questioned")
    return made | {name: sum(getattr(walk.slips, name) for walk in walks) if questioning else None for name in names}


def against_bound(walks: Sequence[Walked], rms: float) -> Plain:
    traces = [walk.trace for walk in walks if walk.trace is not None]
    if not traces:
        return {"bound_in": None, "ratio": None}
    bound = math.sqrt(mean(traces))
    return {"bound_in": bound, "ratio": rms / bound}


def after_pulls(walks: Sequence[Walked], tolerance: float) -> list[float] | None:
    """A yard that took fewer pulls counts on with what it had at its last one."""
    if not all(walk.after for walk in walks):
        return None
    most = max(len(walk.after) for walk in walks)
    return [mean(walk.after[min(k, len(walk.after) - 1)] <= tolerance for walk in walks) for k in range(most)]


def mean(values: Iterable[float]) -> float:
    found = list(values)
    return sum(found) / len(found)


def percentile(values: Sequence[float], share: float) -> float:
    """The value that a share of the values stay at or below, on the straight line between the two nearest ranks."""
    ranked = sorted(values)
    rank = share * (len(ranked) - 1)
    low = math.floor(rank)
    high = min(low + 1, len(ranked) - 1)
    return ranked[low] + (rank - low) * (ranked[high] - ranked[low])
