"""Lengths the yard sells: the boards a joist and a row of decking are cut from, and the waste of each."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations_with_replacement
from math import ceil

from server.codes import stock, wood
from server.framing.girders import feet_text, pieces, sold
from server.framing.placing import PLY, SLACK, supports
from server.model import Beam, Job, Message, Plain, Slot

# Common practice, no source: decking is kept to 16 ft; boards lie 1/8 in. apart.
DECKING_LONGEST, GAP = 192, 1 / 8
# How a row's boards are said: none fit, one, or (no entry) more.
PIECES = {0: "-none", 1: ""}
DECKING_BOARD = "2x6"  # 5/4 x 6 decking is as wide as a 2x6


def sheet(job: Job, beams: tuple[Beam, ...]) -> list[Plain]:
    """Decking, and the joists once their spacing is said; each {"of", "length", "boards", "rows", ...}; inches."""
    decking = cheapest(job.width, decking_lengths())
    rows = [_row("decking", job.width, decking, decking_rows(job.out))]
    if job.joist_spacing and beams:
        rows.insert(0, _row("joist", joist_length(job), joist_boards(job, beams), joist_count(job)))
    return rows


def decking_lengths() -> tuple[int, ...]:
    return tuple(length for length in stock.lengths() if length <= DECKING_LONGEST)


def decking_rows(out: float) -> int:
    """Rows of decking from the wall to the edge; the last one is ripped."""
    return ceil((out + GAP) / (wood.section(DECKING_BOARD).d + GAP) - SLACK)


def joist_length(job: Job) -> float:
    """From the ledger, or the inner edge of a deck that stands alone, to the rim, inches; each 1 1/2 in. thick."""
    return job.out - joist_start(job) - PLY


def joist_start(job: Job) -> float:
    """Where joists begin, inches from the wall."""
    return PLY if job.attached else 0.0


def joist_boards(job: Job, beams: tuple[Beam, ...]) -> tuple[int, ...]:
    """The boards of a joist, longest first, inches: as few as can be, then the least bought; () where none fit.

    Pieces meet only over a beam that has a support on either side: past an outer one a piece would hang loose.
    """
    start = joist_start(job)
    stands = tuple(stand - start for stand in supports(job, beams))
    return tuple(sorted(sold(pieces(stands, joist_length(job))), reverse=True))


def joist_count(job: Job) -> int:
    """Joists: one at each end, and one at every spacing between."""
    return ceil(job.width / job.joist_spacing - SLACK) + 1


def cheapest(length: float, lengths: Sequence[int]) -> tuple[int, ...]:
    """The boards a length is made of, longest first: as few as can be, then the least bought. Inches."""
    count = max(1, ceil(length / lengths[-1] - SLACK))
    ways = [way for way in combinations_with_replacement(lengths, count) if sum(way) >= length - SLACK]
    return tuple(sorted(min(ways, key=sum), reverse=True))


def _row(of: str, length: float, boards: tuple[int, ...], rows: int) -> Plain:
    """One sort of board: what each row takes, or that nothing sold fits (then no boards and no waste)."""
    waste = sum(boards) - length if boards else 0.0
    slots: dict[str, Slot] = {"length": length, "boards": feet_text(boards), "waste": waste, "rows": str(rows)}
    # Only decking that needs more than one board says how long a row would do with one less.
    slots |= {"least": float(DECKING_LONGEST * (len(boards) - 1)), "extra": ordinal(len(boards))}
    key = f"walk.frame.stock.{of}{PIECES.get(len(boards), '-more')}"
    return {
        "of": of,
        "length": length,
        "boards": list(boards),
        "rows": rows,
        "waste": waste,
        "waste_all": waste * rows,
        "say": Message(key, slots).plain(),
    }


def ordinal(count: int) -> dict[str, str]:
    """The word for the last board of a row: a second, a third, one more."""
    return {"word": f"walk.frame.stock.board-{count if count in (2, 3) else 'more'}"}
