"""Many yards of one job, each its own chance: several processes share them where that pays. Same seed, same yards."""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing.context import BaseContext

from server.model import Plain
from server.rehearse.crew import Hands
from server.rehearse.plain import plain
from server.rehearse.walked import Walked, walked

PLAIN = "3-4-5"
PAYS = 12  # yards below which starting another process costs more than it saves
SHARE = 4  # yards walked before a process comes back for more

Tell = Callable[[int, int], None]


@dataclass(frozen=True)
class Crews:
    """Which crews walk a job's document: one for each way, beside the plain one; and their luck."""

    document: Plain
    ways: tuple[str, ...]
    hands: Hands
    seed: int
    blocked: int = 0


def walk_yards(crews: Sequence[Crews], yards: int, tell: Tell = lambda done, of: None) -> list[dict[str, list[Walked]]]:
    """For each of some jobs, the yards of every crew by its way. `tell(done, of)` hears how many yards are walked."""
    shares = [range(first, min(first + SHARE, yards)) for first in range(0, yards, SHARE)]
    work = [(one, way, share) for one in crews for way in one.ways for share in shares]
    found = in_turn(work, tell) if pool_size(work) < 2 else at_once(work, tell)
    parts = iter(found)
    out = []
    for one in crews:
        walks = {way: [yard for _ in shares for yard in next(parts)] for way in one.ways}
        walks[PLAIN] = [plain(one.document, one.hands, one.seed, number) for number in range(yards)]
        out.append(walks)
    return out


Work = tuple[Crews, str, range]


def walk_share(work: Work) -> list[Walked]:
    """Some yards of one crew."""
    crews, way, numbers = work
    return [walked(crews.document, way, crews.hands, crews.seed, number, crews.blocked) for number in numbers]


def pool_size(work: list[Work]) -> int:
    """How many processes are worth starting."""
    return 1 if yards_in(work) < PAYS else min(os.cpu_count() or 1, len(work))


def in_turn(work: list[Work], tell: Tell) -> list[list[Walked]]:
    total = yards_in(work)
    found: list[list[Walked]] = []
    for part in work:
        found.append(walk_share(part))
        tell(sum(map(len, found)), total)
    return found


def at_once(work: list[Work], tell: Tell) -> list[list[Walked]]:
    """The same in several processes, in the same order."""
    slim = [(slimmed(crews), way, numbers) for crews, way, numbers in work]
    total, done = yards_in(work), 0
    with ProcessPoolExecutor(pool_size(work), mp_context=process_start()) as pool:
        futures: list[Future[list[Walked]]] = [pool.submit(walk_share, part) for part in slim]
        found = []
        for future in futures:
            found.append(future.result())
            done += len(found[-1])
            tell(done, total)
    return found


def yards_in(work: Iterable[Work]) -> int:
    return sum(len(numbers) for _, _, numbers in work)


def slimmed(crews: Crews) -> Crews:
    """Only what a walk reads of a document: less to hand from process to process."""
    document = {key: crews.document[key] for key in ("job", "yard", "steps")}
    return Crews(document, crews.ways, crews.hands, crews.seed, crews.blocked)


def process_start() -> BaseContext:
    """A fork is quickest, and safe while this process has one thread; else from a process that never had more."""
    known = multiprocessing.get_all_start_methods()
    alone = threading.active_count() == 1
    wanted = [name for name in ("fork" if alone else "", "forkserver", "spawn") if name in known]
    return multiprocessing.get_context(wanted[0])
