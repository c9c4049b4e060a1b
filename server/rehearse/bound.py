"""The Cramér-Rao bound of a yard: no reckoning could know its marks better from the readings that were taken.

Everything a hand did is an error with a sigma (a nail by eye, a mark by its reading, each move, plumbing down): that is
known before any pull, and counts in the Fisher information beside the pulls. Rows are taken at the true geometry, with
the crew's own sigmas; a slipped reading is left out, and so is the rounding of a reading. The field math has no part
in it. A mark's bound is the trace of its 2 × 2 block, plumbing included.

The information is added reading by reading (Kalman's form: the same inverse, kept up one rank at a time), and with each
the best estimate is carried along: so it is known where the marks would end if the crew had stopped there and moved
everything by what was known, moves costing nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

from server.rehearse.crew import Crew, Reading
from server.rehearse.ground import Drift, dot, mixed

Row = list[float]


@dataclass(frozen=True)
class Bound:
    """`trace`: mean of what each mark leaves unknown, in². `after`: the worst mark's error after each pull, in."""

    trace: float
    after: tuple[float, ...]


def row_of(crew: Crew, reading: Reading) -> dict[str, float]:
    """How a pull's length changes with each error, at the true geometry."""
    a, b = crew.ground.spot(reading.start, reading.time), crew.ground.spot(reading.end, reading.time)
    way = (b.at - a.at) / abs(b.at - a.at)
    return {name: dot(way, gap) for name, gap in mixed([(1, b.drift), (-1, a.drift)]).items()}


def bound(crew: Crew, marks: list[str]) -> Bound:
    """What the unslipped readings of a crew could tell of its marks."""
    good = [reading for reading in crew.readings if not reading.slip]
    rows = [row_of(crew, reading) for reading in good]
    drifts = [crew.ground.spot(mark).drift for mark in marks]
    names = sorted({name for row in rows for name in row} | {name for drift in drifts for name in drift})
    known = [[0.0] * len(names) for _ in names]
    for i, name in enumerate(names):
        known[i][i] = crew.ground.sigmas[name] ** 2
    miss = [-crew.ground.errors[name] for name in names]
    after = [worst(drifts, names, miss)]
    for reading, told in zip(good, rows, strict=True):
        row = [told.get(name, 0.0) for name in names]
        learn(known, miss, row, crew.hands.noise(reading.length) ** 2, reading.inches - reading.length)
        after.append(worst(drifts, names, miss))
    left = [variance(known, [drift.get(name, 0j) for name in names]) for drift in drifts]
    return Bound(sum(left) / len(left), tuple(after))


def learn(known: list[Row], miss: Row, row: Row, noise: float, error: float) -> None:
    """One reading into the covariance and into what the estimate misses by; `noise` in², `error` of the reading, in."""
    held = [i for i, value in enumerate(row) if value]
    shared = [sum(line[i] * row[i] for i in held) for line in known]
    spread = sum(shared[i] * row[i] for i in held) + noise
    surprise = (error - sum(row[i] * miss[i] for i in held)) / spread
    for i, part in enumerate(shared):
        if part:
            miss[i] += part * surprise
            line, share = known[i], part / spread
            known[i] = [value - share * other for value, other in zip(line, shared, strict=True)]


def worst(drifts: list[Drift], names: list[str], miss: Row) -> float:
    """How far the worst mark would lie off, once everything is moved by what is known."""
    at = dict(zip(names, miss, strict=True))
    return max(abs(sum((value * at[name] for name, value in drift.items()), 0j)) for drift in drifts)


def variance(known: list[Row], drift: list[complex]) -> float:
    """The trace of a mark's 2 × 2 block, in²."""
    held = [i for i, value in enumerate(drift) if value]
    return sum(known[i][j] * dot(drift[i], drift[j]) for i in held for j in held)
