"""One yard walked by one crew through the field's own walk, and what came of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from random import Random

from server.errors import YardtrueError
from server.field import walk
from server.model import Plain
from server.rehearse.bound import bound
from server.rehearse.crew import Crew, Hands, Reading
from server.rehearse.ground import Ground

MOST_ASKS = 3000
LARGE = 1.0  # inches: a slip that no yard can bear
EARLY = 12  # the pulls that are blocked are among so many first ones


@dataclass(frozen=True)
class Slips:
    """Slipped readings: made, asked again for, and still believed at the end; and questions where none was.

    The large ones, of an inch and more, are counted for themselves too.
    """

    made: int = 0
    questioned: int = 0
    false: int = 0
    believed: int = 0
    large: int = 0
    large_questioned: int = 0


@dataclass(frozen=True)
class Walked:
    """One yard: how far each mark truly lies off (inches), what it cost, what was claimed (None: nothing was), the
    bound's mean trace (in²; None: no network) and the worst mark's error had the crew stopped after each pull."""

    offs: tuple[float, ...]
    pulls: int
    moves: int
    claimed: bool | None
    slips: Slips
    trace: float | None = None
    after: tuple[float, ...] = ()


def marks_of(document: Plain) -> list[str]:
    """Every footing mark: the marks that the walk stakes."""
    return [act["point"] for step in document["steps"] for act in step["acts"] if act["act"] == "stake"]


def walked(document: Plain, way: str, hands: Hands, seed: int, number: int, blocked: int) -> Walked:
    """Walk one yard from its first ask to its end."""
    yard = document["yard"]
    crew = Crew(hands, Ground(yard["points"], yard["strings"]), f"{seed} {number} {way}", f"{seed} {number}")
    walker = Walker(document, way, crew, blocked_pulls(crew, blocked))
    walker.go()
    told = walk.truth(document, walker.state)
    marks = marks_of(document)
    known = bound(crew, marks)
    offs = tuple(crew.ground.off(mark) for mark in marks)
    return Walked(offs, told["pulls"], told["moves"], told["true"], walker.slips(), known.trace, known.after)


def blocked_pulls(crew: Crew, count: int) -> set[int]:
    """Which of the different pulls asked for, counted from 0, cannot be taken."""
    return set(Random(f"{crew.yard} blocked").sample(range(EARLY), count))


class Walker:
    """The walk of one yard: the field's asks, the crew's answers, entries in between."""

    def __init__(self, document: Plain, way: str, crew: Crew, blocked: set[int]) -> None:
        self.document, self.crew, self.blocked = document, crew, blocked
        self.state: Plain = walk.start()
        self.entries = 0
        self.pairs: list[frozenset[str]] = []
        self.events: list[tuple[str, frozenset[str], Reading | None]] = []
        self.kept: list[Reading] = []
        self.keep({"kind": "way", "way": way, "step": "", "act": -1})

    def keep(self, part: Plain) -> None:
        """One more entry into the state."""
        self.entries += 1
        walk.apply(self.document, self.state, part | {"id": str(self.entries), "n": self.entries, "device": "crew"})

    def go(self) -> None:
        """Answer until nothing is asked. Raises YardtrueError when that never comes."""
        for _ in range(MOST_ASKS):
            ask = walk.next_ask(self.document, self.state)
            if ask["ask"] == "end":
                return
            self.take(ask)
        raise YardtrueError("rehearse-endless", slots={"count": str(MOST_ASKS)})

    def take(self, ask: Plain) -> None:
        """One ask answered; what the walk will not take (longer than the tape) is read again."""
        if ask["ask"] in ("pull", "again"):
            self.pull(ask)
            return
        if ask["ask"] == "set":
            self.crew.set(ask["point"])
        elif ask["ask"] == "move":
            self.crew.move(ask["point"], complex(*ask["by"]))
        self.keep(walk.answer(self.document, self.state, ask, {"done": True})["entry"])

    def pull(self, ask: Plain) -> None:
        pair = frozenset((ask["from"], ask["to"]))
        if self.is_blocked(pair):
            self.keep(walk.answer(self.document, self.state, ask, {"cannot": "blocked"})["entry"])
            return
        reading = self.crew.pull(ask["from"], ask["to"])
        taken = walk.answer(self.document, self.state, ask, {"inches": reading.inches})
        if taken["status"] != "ok":
            self.events.append(("refused", pair, reading))
            return
        self.events.append((ask["ask"], pair, reading))
        self.kept.append(reading)
        self.keep(taken["entry"])

    def is_blocked(self, pair: frozenset[str]) -> bool:
        if pair not in self.pairs:
            self.pairs.append(pair)
        return self.pairs.index(pair) in self.blocked

    def slips(self) -> Slips:
        """What became of every slip; the walk keeps its readings in the order they were taken."""
        live = [one["status"] == "live" for one in self.state["readings"]]
        believed = sum(1 for reading, is_live in zip(self.kept, live, strict=True) if reading.slip and is_live)
        return count_slips(self.events, believed)


def count_slips(events: Iterable[tuple[str, frozenset[str], Reading | None]], believed: int) -> Slips:
    """Events (pull, again or refused; the pull's ends; what was read) counted.

    A question ("again") of a pull with slips not yet questioned finds them; of any other pull it is a false one. A
    reading that the walk refuses (longer than the tape) is questioned on the spot.
    """
    open_slips: dict[frozenset[str], list[float]] = {}
    made: list[float] = []
    questioned: list[float] = []
    false = 0
    for kind, pair, reading in events:
        if kind == "again":
            found = open_slips.pop(pair, [])
            questioned += found
            false += not found
        if reading is not None and reading.slip:
            made.append(reading.slip)
            if kind == "refused":
                questioned.append(reading.slip)
            else:
                open_slips.setdefault(pair, []).append(reading.slip)
    large = [sum(abs(slip) >= LARGE for slip in slips) for slips in (made, questioned)]
    return Slips(len(made), len(questioned), false, believed, *large)
