"""How much deck each post carries: joists to beams by statics, beams to posts by halves of their bays.

Joists are taken as simple spans between supports; past an outer support they run on as a lever. A deck's load is even,
so a reaction divided by the load is a width of deck, inches.
"""

from __future__ import annotations

from collections.abc import Sequence

from server.framing.placing import supports
from server.model import Beam, Job

SQUARE_FOOT = 144.0


def reactions(stands: Sequence[float], low: float, high: float) -> tuple[float, ...]:
    """What each support carries of an even load of one a running inch, from `low` to `high`, inches of load.

    `stands` rise. Statics of simple spans: the share of a support falls in a straight line from one at itself to
    nothing at the next; beyond an outer support it goes on in the same line, so the inner one is lifted.
    """
    if len(stands) == 1:
        return (high - low,)
    carried = [0.0] * len(stands)
    last = len(stands) - 2
    for index in range(last + 1):
        left, right = stands[index], stands[index + 1]
        start = low if index == 0 else max(low, left)
        end = high if index == last else min(high, right)
        if end > start:
            share = ((start + end) / 2 - left) / (right - left)
            carried[index] += (end - start) * (1 - share)
            carried[index + 1] += (end - start) * share
    return tuple(carried)


def strips(job: Job, beams: tuple[Beam, ...]) -> tuple[float, tuple[float, ...]]:
    """The width of deck the ledger carries (0 without one) and the one each beam carries, inches."""
    carried = reactions(supports(job, beams), 0.0, job.out)
    return (carried[0], carried[1:]) if job.attached else (0.0, carried)


def lengths(posts: Sequence[float], width: float) -> tuple[float, ...]:
    """The length of beam on each post: half the bay each side, the whole cantilever at an end, inches."""
    middles = [(left + right) / 2 for left, right in zip(posts, posts[1:], strict=False)]
    cuts = [0.0, *middles, width]
    return tuple(right - left for left, right in zip(cuts, cuts[1:], strict=False))


def post_areas(job: Job, beams: tuple[Beam, ...]) -> tuple[tuple[float, ...], ...]:
    """The deck on each post of each beam, square feet."""
    _, widths = strips(job, beams)
    return tuple(
        tuple(length * strip / SQUARE_FOOT for length in lengths(beam.posts, job.width))
        for beam, strip in zip(beams, widths, strict=True)
    )


def ledger_area(job: Job, beams: tuple[Beam, ...]) -> float:
    """The deck on the ledger, square feet."""
    return strips(job, beams)[0] * job.width / SQUARE_FOOT
