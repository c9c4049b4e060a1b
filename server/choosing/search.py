"""The search: every way to place beams, the joists that span it, the beams that carry them, put together.

Nothing is left out that could be wanted: parts that are beaten by a part for the same place are dropped early, since
every column of a frame is a sum or a maximum over its parts, and what is worse there can nowhere become better.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import reduce

from server.choosing.catalogue import LEAST_BAY, NEAR_HOUSE, SLACK, beam_counts, grid
from server.choosing.fronts import Best, Cost, Found, Thing, both, front, least
from server.choosing.members import Joists, Members, Seat

# Share of its joists' span that the beam table takes as a beam's strip: joists that run on by a quarter, 1.25² / 2.
TABLE_STRIP = 0.78125
Row = tuple[Seat, ...]
Rows = list[Found[Row]]
Load = tuple[float, float]


@dataclass(frozen=True)
class Whole:
    """A frame put together: joists, beams on their posts, and the setbacks of these, inches."""

    joists: Joists
    seats: Row
    setbacks: tuple[float, ...]


@dataclass
class Search:
    """One search: frames found so far by their joist cantilever and columns, and how many were looked at."""

    members: Members
    tried: int = 0
    best: Best = field(default_factory=Best)
    found: dict[float, dict[Cost, Whole]] = field(default_factory=dict)

    def run(self) -> list[tuple[float, Cost, Whole]]:
        """Every frame that no other beats: its joist cantilever, inches, its other columns, and itself.

        The shortest cantilever first: what was found then beats all that is no better and runs past as far or further.
        """
        counts = beam_counts(self.members.job, self.members.catalogue)
        ways = [setbacks for count in counts for setbacks in arrangements(self.members, count)]
        for setbacks in sorted(ways, key=self.past):
            self.try_at(setbacks)
        return [(past, *one) for past, each in sorted(self.found.items()) for one in front(each.items())]

    def past(self, setbacks: tuple[float, ...]) -> float:
        """The longest joist cantilever, inches."""
        far = self.members.job.out - setbacks[-1]
        return round(far if self.members.job.attached else max(far, setbacks[0]), 6)

    def try_at(self, setbacks: tuple[float, ...]) -> None:
        """Put together all that holds with beams at these setbacks and is not beaten already."""
        job = self.members.job
        self.tried += 1
        near = 0.0 if job.attached else setbacks[0]
        joists = self.members.joists_over((near, *self.spans(setbacks), job.out - setbacks[-1]))
        loads = self.loads_at(setbacks) if joists else ()
        for stack, over in joists.items():
            self.try_under(over, [self.members.seats(self.members.carried(*load, stack)) for load in loads], setbacks)

    def try_under(
        self, joists: list[Found[Joists]], seats: list[list[Found[Seat]]], setbacks: tuple[float, ...]
    ) -> None:
        """Joists on every row of beams that carries them."""
        if not all(seats):
            return
        floors = [least(joists), *(least(each) for each in seats)]
        joists = self.hopeful(joists, floors, 0)
        each = [self.hopeful(seat, floors, at) for at, seat in enumerate(seats, 1)]
        rows: Rows = [((0, 0, 0, 0, 0, 0), ())]
        for last in each:
            self.tried += len(rows) * len(last)
            rows = front(together(rows, last).items())
        self.keep(joists, rows, setbacks)

    def hopeful(self, parts: list[Found[Thing]], floors: list[Cost], at: int) -> list[Found[Thing]]:
        """The parts that, with the best the others can be, are not beaten yet."""
        others = reduce(both, floors[:at] + floors[at + 1 :])
        return [part for part in parts if not self.best.beats(both(part[0], others))]

    def keep(self, joists: list[Found[Joists]], rows: Rows, setbacks: tuple[float, ...]) -> None:
        """Joists on rows of beams; of frames with equal columns the first is kept."""
        kept = self.found.setdefault(self.past(setbacks), {})
        self.tried += len(joists) * len(rows)
        fresh = []
        for over, joist in joists:
            for under, seats in rows:
                cost = both(over, under)
                if not self.best.beats(cost):
                    kept[cost] = Whole(joist, seats, setbacks)
                    fresh.append(cost)
        if fresh:
            self.best.add(fresh)

    def stands(self, setbacks: tuple[float, ...]) -> tuple[float, ...]:
        """What the joists stand on, inches from the wall: the ledger, where there is one, and the beams."""
        return (0.0, *setbacks) if self.members.job.attached else setbacks

    def spans(self, setbacks: tuple[float, ...]) -> tuple[float, ...]:
        stands = self.stands(setbacks)
        return tuple(far - near for near, far in zip(stands, stands[1:], strict=False))

    def loads_at(self, setbacks: tuple[float, ...]) -> tuple[Load, ...]:
        """What each beam is asked: the joist span its table is entered with, and the strip of deck on it, inches.

        The longer span beside it; or, with joists on both sides, the span for which the table means such a strip.
        """
        stands, spans = self.stands(setbacks), self.spans(setbacks)
        strips = reactions(stands, self.members.job.out)
        if self.members.heavy:  # a patch may spare a cantilever, which then lifts nothing off the beam behind it
            ways = [(low, high) for low in (0.0, stands[0]) for high in (stands[-1], self.members.job.out)]
            strips = tuple(map(max, *(reactions(stands, high, low) for low, high in ways)))
        return tuple(
            (max(*spans[max(at - 1, 0) : at + 1], strips[at] / TABLE_STRIP), strips[at])
            for at in range(len(stands) - len(setbacks), len(stands))
        )


def together(before: Rows, last: list[Found[Seat]]) -> dict[Cost, Row]:
    """Every row of beams with every last beam; `both`, written out: the search spends its time here."""
    met: dict[Cost, Row] = {}
    for (a, b, c, d, e, f), seats in before:
        for (u, v, w, x, y, z), seat in last:
            cost = (a + u, b + v, c + w, d if d > x else x, e if e > y else y, f if f > z else z)
            if cost not in met:
                met[cost] = (*seats, seat)
    return met


def arrangements(members: Members, count: int) -> Iterator[tuple[float, ...]]:
    """Setbacks of `count` beams that some joist of the catalogue may span; those no joist could are passed over."""
    return _further(members, grid(members.job, count, members.catalogue), (), count)


def _further(
    members: Members, places: tuple[float, ...], chosen: tuple[float, ...], count: int
) -> Iterator[tuple[float, ...]]:
    """`chosen` with each way to place the beams that are still wanted."""
    job = members.job
    if len(chosen) == count:
        if job.out - chosen[-1] <= members.longest_cantilever + SLACK:
            yield chosen
        return
    free_standing_first = not chosen and not job.attached
    behind = chosen[-1] if chosen else 0.0
    near, far = NEAR_HOUSE if free_standing_first else (behind + LEAST_BAY, behind + members.longest_bay)
    for place in places:
        if near - SLACK <= place <= far + SLACK:
            yield from _further(members, places, (*chosen, place), count)


def reactions(stands: tuple[float, ...], high: float, low: float = 0.0) -> tuple[float, ...]:
    """What each support carries of an even load from `low` to `high` from the wall, as inches of deck.

    Simple spans: a support's share falls in a straight line to nothing at the next, and goes on so past an outer one.
    """
    carried = [0.0] * len(stands)
    last = len(stands) - 2
    for index, (near, far) in enumerate(zip(stands, stands[1:], strict=False)):
        start, end = (low if index == 0 else near), (high if index == last else far)
        share = ((start + end) / 2 - near) / (far - near)
        carried[index] += (end - start) * (1 - share)
        carried[index + 1] += (end - start) * share
    return tuple(carried)
