"""The table of a run: what was measured, what it is held to, and whether it holds."""
from __future__ import annotations

import math
import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """One line: `value` in `unit`, held to `limit` in the same unit; None is for information only."""

    what: str
    value: float
    unit: str
    limit: float | None = None
    note: str = ""

    @property
    def holds(self) -> bool:
        return self.limit is None or self.value <= self.limit

    @property
    def verdict(self) -> str:
        if self.limit is None:
            return ""
        return "holds" if self.holds else "MISSED"


def ratio(ours: Sequence[float], theirs: Sequence[float]) -> float:
    """Median against median, of samples taken in turn."""
    return statistics.median(ours) / statistics.median(theirs)


def percentile(values: Iterable[float], share: float) -> float:
    """The smallest value that at least `share` (0 to 1) of the values do not exceed (nearest rank)."""
    ranked = sorted(values)
    return ranked[max(math.ceil(share * len(ranked)), 1) - 1]


def spread(values: Sequence[float]) -> str:
    """Median and range of times in milliseconds, as a note."""
    return f"{statistics.median(values):.0f} ms ({min(values):.0f} to {max(values):.0f})"


def amount(value: float, unit: str) -> str:
    return f"{value:.2f} {unit}" if value < 10 else f"{value:.0f} {unit}"


def lines(rows: Iterable[Row]) -> list[str]:
    """The rows as aligned text under a heading."""
    cells = [("measured", "value", "limit", "", "from")]
    for row in rows:
        limit = "" if row.limit is None else amount(row.limit, row.unit)
        cells.append((row.what, amount(row.value, row.unit), limit, row.verdict, row.note))
    widths = [max(len(line[column]) for line in cells) for column in range(4)]
    return [
        f"{what:<{widths[0]}}  {value:>{widths[1]}}  {limit:>{widths[2]}}  {verdict:<{widths[3]}}  {note}".rstrip()
        for what, value, limit, verdict, note in cells
    ]
