"""Frames that no other beats: columns are whole numbers, less is better, and equal columns count once."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar

# holes, concrete in tenths of a cubic foot, thirds of a board foot, longest piece in inches, closest in tenths of
# a limit, 1 when an engineer decides.
Cost = tuple[int, int, int, int, int, int]
Thing = TypeVar("Thing")
Found = tuple[Cost, Thing]


class Best:
    """Columns that nothing met so far beats; what beat last is asked first, for it is likely to beat the next."""

    def __init__(self) -> None:
        self.columns: list[Cost] = []

    def beats(self, cost: Cost) -> bool:
        """Whether something met is as good in every column."""
        a, b, c, d, e, f = cost
        columns = self.columns
        for at, (u, v, w, x, y, z) in enumerate(columns):
            if w <= c and v <= b and u <= a and y <= e and x <= d and z <= f:
                columns[at], columns[0] = columns[0], columns[at]
                return True
        return False

    def add(self, costs: Iterable[Cost]) -> None:
        """Meet more; what these beat is forgotten."""
        self.columns = [cost for cost, _ in front((cost, None) for cost in (*self.columns, *costs))]


def front(found: Iterable[Found[Thing]]) -> list[Found[Thing]]:
    """What nothing else beats, the first of equals kept, in the order of the columns."""
    kept: list[Found[Thing]] = []
    columns: list[Cost] = []  # what beat last comes first: it is likely to beat the next as well
    for one in sorted(found, key=_cost):
        if not _behind(one[0], columns):
            kept.append(one)
            columns.append(one[0])
    return kept


def _behind(cost: Cost, columns: list[Cost]) -> bool:
    """As `Best.beats`, where no one in `columns` has more holes; the one that beats changes places with their first."""
    _, b, c, d, e, f = cost
    for at, (_, v, w, x, y, z) in enumerate(columns):
        if w <= c and v <= b and y <= e and x <= d and z <= f:
            if at:
                columns[at], columns[0] = columns[0], columns[at]
            return True
    return False


def _cost(one: Found[Thing]) -> Cost:
    return one[0]


def least(found: Iterable[Found[Thing]]) -> Cost:
    """The least of each column."""
    a, b, c, d, e, f = (min(column) for column in zip(*(cost for cost, _ in found), strict=True))
    return a, b, c, d, e, f


def both(one: Cost, other: Cost) -> Cost:
    """The cost of two parts together: sums, and the longest, closest and least sure of the two."""
    a, b, c, d, e, f = one
    u, v, w, x, y, z = other
    return a + u, b + v, c + w, d if d > x else x, e if e > y else y, f if f > z else z
