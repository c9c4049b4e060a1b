"""The catalogue: every frame that may be chosen, so that "each frame that fits was looked at" has a meaning.

A frame is a joist (size, spacing), 1 to 3 beams (free-standing 2 to 4) and for each beam plies, size,
posts, bay, and the pieces of a ply. Beams and posts stand on grids:
- setbacks are multiples of one step, the smallest of 1, 3, 6, 12, 24 whose grid has at most `most_setbacks` ways to
  place so many beams; bays of joists are 3 ft at least;
- free-standing, the first beam stands 6 in. to 2 ft from the wall;
- the bay of a number of posts is a multiple of one step, the smallest of 1, 3, 6, 12, 24 that leaves at most
  `most_bays` of them; bays of a beam are equal, both ends alike;
- beams and posts stand whole beneath the deck; an end that falls between sixteenths is made shorter to the next;
- a piece is bought in the shortest length the yard sells that it can be cut from, joints lie over supports inside;
  joists lie between ledger and rim (free-standing: from the deck's edge to the rim), and are bought in as few pieces
  as can be, then the least lumber; the pieces of a ply are a choice.
Steps are inches, or 25 mm in a metric job.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import combinations
from math import ceil, comb, floor

from server.model import Job

MM = 25.4
STEPS = (1, 3, 6, 12, 24)
LEAST_BAY = 36.0
NEAR_HOUSE = (6.0, 24.0)
PLY = 1.5  # ledger and rim, between which joists lie
HALF_BEAM = 2.25  # three plies of 1.5 in.
HALF_POST = {"4x4": 1.75, "4x6": 2.75, "6x6": 2.75, "8x8": 3.75}
SLACK = 1e-9


@dataclass(frozen=True)
class Catalogue:
    """What may be chosen from. `rows`: numbers of beams of an attached deck; a free-standing one has one more."""

    joist_sizes: tuple[str, ...] = ("2x6", "2x8", "2x10", "2x12")
    spacings: tuple[int, ...] = (12, 16, 24)
    rows: tuple[int, ...] = (1, 2, 3)
    plies: tuple[int, ...] = (2, 3)
    beam_sizes: tuple[str, ...] = ("2x6", "2x8", "2x10", "2x12")
    posts: tuple[int, ...] = (2, 3, 4, 5, 6, 7)
    most_setbacks: int = 2600
    most_bays: int = 12


FULL = Catalogue()


@dataclass(frozen=True)
class Layout:
    """Posts under a beam: how many, post to post, and past the last one, inches; pieces of a ply, every way to cut."""

    count: int
    bay: float
    end: float
    pieces: tuple[tuple[int, ...], ...]


def unit(job: Job) -> float:
    """The smallest step of a grid: an inch, or 25 mm. Inches."""
    return 25.0 / MM if job.units == "millimetre" else 1.0


def beam_counts(job: Job, catalogue: Catalogue) -> tuple[int, ...]:
    return tuple(count + (not job.attached) for count in catalogue.rows)


def grid(job: Job, count: int, catalogue: Catalogue) -> tuple[float, ...]:
    """Where `count` beams may stand, inches from the wall, the nearest first."""
    reach = job.out - HALF_BEAM + SLACK
    for step in STEPS:
        every = step * unit(job)
        places = floor(reach / every)
        if step == STEPS[-1] or comb(places, count) <= catalogue.most_setbacks:
            break
    return tuple(every * place for place in range(1, places + 1))


def setbacks(job: Job, count: int, catalogue: Catalogue) -> Iterator[tuple[float, ...]]:
    """Every way to place `count` beams, before any limit of a code. Inches."""
    for places in combinations(grid(job, count, catalogue), count):
        if stands(job, places):
            yield places


def stands(job: Job, places: tuple[float, ...]) -> bool:
    """Bays of 3 ft at least; free-standing, the first beam near the house."""
    lines = (0.0, *places) if job.attached else places
    apart = all(far - near >= LEAST_BAY - SLACK for near, far in zip(lines, lines[1:], strict=False))
    return apart and (job.attached or NEAR_HOUSE[0] - SLACK <= places[0] <= NEAR_HOUSE[1] + SLACK)


def layouts(job: Job, catalogue: Catalogue, lengths: tuple[int, ...], share: float) -> tuple[Layout, ...]:
    """Every way to put posts under a beam whose ends run past by at most `share` of a bay, the fewest posts first."""
    found = []
    for count in catalogue.posts:
        for end in ends(job, count, catalogue, share):
            bay = (job.width - 2 * end) / (count - 1)
            pieces = pieces_of((end, *[bay] * (count - 1), end), lengths)
            if pieces:
                found.append(Layout(count, bay, end, pieces))
    return tuple(found)


def ends(job: Job, count: int, catalogue: Catalogue, share: float) -> tuple[float, ...]:
    """How far a beam may run past its outer posts so that its bays are on the grid, the longest first; inches."""
    low = job.width / (count - 1 + 2 * share)
    high = (job.width - 2 * HALF_POST[job.post]) / (count - 1)
    for step in STEPS:
        every = step * unit(job)
        first, last = ceil(low / every - SLACK), floor(high / every + SLACK)
        if step == STEPS[-1] or last - first < catalogue.most_bays:
            break
    return tuple(on_tape(job, (job.width - (count - 1) * every * times) / 2) for times in range(first, last + 1))


def on_tape(job: Job, inches: float) -> float:
    """The length at or next below that the tape shows exactly: a sixteenth, or a millimetre. Inches."""
    if job.units == "millimetre":
        return floor(inches * MM + SLACK) / MM
    return floor(inches * 16 + SLACK) / 16


@cache
def pieces_of(parts: tuple[float, ...], lengths: tuple[int, ...]) -> tuple[tuple[int, ...], ...]:
    """The lengths bought for a member, every way to joint it; () when no length sold is long enough.

    `parts` are the stretches between its ends and its supports: the first and the last are never jointed to their
    neighbours, since a joint over the last support would leave the end loose. Inches.
    """
    stretches = [parts[0] + parts[1], *parts[2:-2], parts[-2] + parts[-1]] if len(parts) > 3 else [sum(parts)]
    found = set()
    for joints in range(2 ** (len(stretches) - 1)):
        cut = _cut(stretches, joints)
        bought = [next((length for length in lengths if length >= piece - SLACK), 0) for piece in cut]
        if all(bought):
            found.add(tuple(sorted(bought, reverse=True)))
    return tuple(sorted(found))


def joist_pieces(job: Job, parts: tuple[float, ...], lengths: tuple[int, ...]) -> tuple[int, ...]:
    """The lengths a joist is bought in: the fewest pieces, then the least lumber, then the evenest; () where none do.

    `parts` of the deck: before the first support, each bay, past the last one, inches.
    """
    start = PLY if job.attached else 0.0
    ways = pieces_of((parts[0] - start, *parts[1:-1], parts[-1] - PLY), lengths)
    return min(ways, key=lambda way: (len(way), sum(way), way), default=())


def _cut(stretches: list[float], joints: int) -> list[float]:
    """Stretches put together between joints; bit i of `joints` is a joint after stretch i."""
    cut = [0.0]
    for index, stretch in enumerate(stretches):
        cut[-1] += stretch
        if joints >> index & 1:
            cut.append(0.0)
    return cut if cut[-1] else cut[:-1]
