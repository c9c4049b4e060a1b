"""Lengths the yard sells: the boards a joist and a row of decking are cut from, and the waste of each."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations_with_replacement
from math import ceil

from server.codes import stock, wood
from server.framing.girders import feet_text
from server.framing.placing import PLY, SLACK
from server.model import Job, Message, Plain, Slot

# Common practice, no source: decking is kept to 16 ft; boards lie 1/8 in. apart.
DECKING_LONGEST, GAP = 192, 1 / 8
DECKING_BOARD = "2x6"  # 5/4 x 6 decking is as wide as a 2x6


def sheet(job: Job) -> list[Plain]:
    """Decking, and the joists once their spacing is said; each {"of", "length", "boards", "rows", ...}; inches."""
    rows = [_row("decking", job.width, decking_lengths(), decking_rows(job.out))]
    if job.joist_spacing:
        rows.insert(0, _row("joist", joist_length(job), stock.lengths(), joist_count(job)))
    return rows


def decking_lengths() -> tuple[int, ...]:
    return tuple(length for length in stock.lengths() if length <= DECKING_LONGEST)


def decking_rows(out: float) -> int:
    """Rows of decking from the wall to the edge; the last one is ripped."""
    return ceil((out + GAP) / (wood.section(DECKING_BOARD).d + GAP) - SLACK)


def joist_length(job: Job) -> float:
    """From the ledger, or the inner rim, to the outer rim, inches: the deck less two boards 1 1/2 in. thick."""
    return job.out - 2 * PLY


def joist_count(job: Job) -> int:
    """Joists at their spacing from one edge, and one along the other edge."""
    return ceil((job.width - PLY) / job.joist_spacing - SLACK) + 1


def cheapest(length: float, sold: Sequence[int]) -> tuple[int, ...]:
    """The boards a length is made of, longest first: as few as can be, then the least bought. Inches."""
    count = max(1, ceil(length / sold[-1] - SLACK))
    ways = [way for way in combinations_with_replacement(sold, count) if sum(way) >= length - SLACK]
    return tuple(sorted(min(ways, key=sum), reverse=True))


def _row(of: str, length: float, sold: Sequence[int], rows: int) -> Plain:
    """One sort of board: what each row takes, and the length up to which it would take a board less."""
    boards = cheapest(length, sold)
    waste = sum(boards) - length
    fewer = float(sold[-1] * (len(boards) - 1))
    slots: dict[str, Slot] = {"length": length, "boards": feet_text(boards), "waste": waste, "rows": str(rows)}
    slots |= {"least": fewer, "extra": ordinal(len(boards))}
    key = f"walk.frame.stock.{of}" if len(boards) == 1 else f"walk.frame.stock.{of}-more"
    return {
        "of": of,
        "length": length,
        "boards": list(boards),
        "rows": rows,
        "waste": waste,
        "waste_all": waste * rows,
        "one_board_less": fewer,
        "say": Message(key, slots).plain(),
    }


def ordinal(count: int) -> dict[str, str]:
    """The word for the last board of a row: a second, a third, one more."""
    return {"word": f"walk.frame.stock.board-{count if count in (2, 3) else 'more'}"}
