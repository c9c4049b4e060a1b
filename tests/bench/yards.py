"""`python -m tests.bench.yards [YARDS]`: how true yards end, walked by virtual crews; exit 1 when a limit is missed.

Three decks of seed_data/jobs, both ways, without slips and with 2 and 5 in 100; 3,000 yards each unless told otherwise:
a share of one in a hundred is then known to two in a thousand. It takes a quarter of an hour on two processors.
Beside the limits stands what a plain 3-4-5 crew makes of the same yards.
"""
from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from server import plan
from server.model import STRING_BY_STRING, WAYS, WHOLE_FRAME
from server.places import SEED
from server.rehearse import crew, tally, yards
from tests.bench.table import Row, lines

YARDS, SEED_OF_CHANCE = 3000, 26
DECKS = ("26x13", "16x12", "24x20")
NOT_TRUE = {"26x13": 3.0, "16x12": 1.0, "24x20": 2.0}  # of 100 yards, whole frame without slips
SLIPS = (0.0, 0.02, 0.05)


@dataclass(frozen=True)
class Limits:
    """The most that one crew may come to; None is for information."""

    not_true: float
    pulls: float | None
    moves: float | None


def limits(deck: str, way: str, slips: float) -> Limits:
    if slips:
        return Limits(3.0, None, None)
    if way == WHOLE_FRAME:
        return Limits(NOT_TRUE[deck], 15.0, 10.0)
    return Limits(5.0, 22.0, None)


def rows(deck: str, way: str, slips: float, found: dict[str, Any], count: int) -> Iterator[Row]:
    """What one crew came to, against its limits."""
    most, told = limits(deck, way, slips), f"{deck}, {way}" + (f", {100 * slips:.0f} % slips" if slips else "")
    worst = f"worst mark of 19 yards in 20 within {found['worst_95_in']:.2f} in."
    yield Row(f"{told}: yards not true", 100 * (1 - found["true"]), "%", most.not_true, worst)
    yield Row("  claimed true, and not", 100 * found["wrongly_claimed"], "%", 3.0)
    pulls = found["pulls"]
    yield Row("  pulls in a yard", pulls["mean"], "", most.pulls, f"at most {pulls['most']}")
    yield Row("  moves in a yard", found["moves"]["mean"], "", most.moves, f"at most {found['moves']['most']}")
    yield Row("  root mean square of the marks / Cramér-Rao", found["ratio"], "x", None if slips else 1.10)
    if slips:
        yield from slip_rows(found["slips"], count)


def slip_rows(slips: dict[str, int], count: int) -> Iterator[Row]:
    """Of the slips of an inch and more; false questions in a hundred yards."""
    missed = 100 * (1 - slips["large_questioned"] / slips["large"])
    yield Row("  slips of an inch and more not questioned", missed, "%", 5.0, f"of {slips['large']}")
    yield Row("  false questions in 100 yards", 100 * slips["false"] / count, "", 2.0, f"{slips['questioned']} right ones")


def measure(deck: str, count: int) -> Iterator[Row]:
    """Every row of one deck."""
    document = json.loads(plan.plan(deck, json.loads((SEED / "jobs" / f"bench-{deck}.json").read_text("utf-8"))).text)
    for slips in SLIPS:
        crews = yards.Crews(document, WAYS, crew.hands_of(document, slips), SEED_OF_CHANCE)
        (walks,) = yards.walk_yards([crews], count)
        for way in (WHOLE_FRAME, STRING_BY_STRING):
            found = tally.tally(walks[way], document["yard"]["tolerance"])
            yield from rows(deck, way, slips, found, count)
        if not slips:
            plain = tally.tally(walks[yards.PLAIN], document["yard"]["tolerance"])
            worst = f"worst mark of 19 yards in 20 within {plain['worst_95_in']:.2f} in."
            yield Row(f"{deck}, a plain 3-4-5 crew: yards not true", 100 * (1 - plain["true"]), "%", None, worst)


def main(count: int) -> int:
    found = []
    for deck in DECKS:
        print(f"walking {count} yards: {deck}", file=sys.stderr, flush=True)
        found += list(measure(deck, count))
    print("\n".join(lines(found)))
    return 0 if all(row.holds for row in found) else 1


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else YARDS))
