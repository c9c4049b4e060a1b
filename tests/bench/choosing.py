"""The search for frames of a 26 x 13 ft deck over the whole catalogue, beside the same number of bare checks in a loop."""
from __future__ import annotations

import statistics
from collections.abc import Callable
from itertools import cycle, islice
from time import perf_counter

from server import choosing
from server.choosing import Line, Option
from server.codes import beams, footings, joists
from server.model import Job
from tests.bench.table import Row, ratio
from tests.framed import deck

ROUNDS = 5
LIMIT_SECONDS = 1.0
LIMIT_RATIO = 3.0


def open_deck() -> Job:
    """26 x 13 ft, southern pine, nothing of its frame said."""
    return deck(beams=(), joist_size="", joist_spacing=0)


def measure() -> list[Row]:
    """Search and loop in turn. The search is timed whole: choice, costs, what is beaten; only look-ups stay cached."""
    job = open_deck()
    choice = choosing.frames(job)
    frames = list(islice(cycle(choice.frames), choice.tried))
    searches, loops = [], []
    for _ in range(ROUNDS):
        searches.append(seconds(lambda: choosing.frames(job)))
        loops.append(seconds(lambda: check_all(job, frames)))
    note = f"{len(choice.frames)} frames of {choice.tried} tried, {min(searches):.2f} to {max(searches):.2f} s"
    rate = choice.tried / statistics.median(searches)
    return [
        Row("Frames for a 26 x 13 ft deck", statistics.median(searches), "s", LIMIT_SECONDS, note),
        Row("The same beside bare checks", ratio(searches, loops), "x", LIMIT_RATIO, f"loop {statistics.median(loops):.2f} s"),
        Row("Frames tried", rate / 1000, "thousand/s"),
    ]


def seconds(work: Callable[[], object]) -> float:
    start = perf_counter()
    work()
    return perf_counter() - start


def check_all(job: Job, frames: list[Option]) -> int:
    """How many hold, each checked from the codes and by itself; all do, so that none is given up half way."""
    return sum(holds(job, option) for option in frames)


def holds(job: Job, option: Option) -> bool:
    """Joists over each bay and past the last beam, then each beam on its posts and the footings under it."""
    asked = (job.species, option.joist_size, option.joist_spacing, job.edition, float(job.live))
    stands = (0.0, *(line.setback for line in option.beams), job.out)
    gaps = [far - near for near, far in zip(stands, stands[1:], strict=False)]
    most = joists.span(*asked).most
    good = all(gap <= most for gap in gaps[:-1])
    good = good and gaps[-1] <= min(joists.cantilever(*asked).most, gaps[-2] / 4)
    return good and all(beam_holds(job, line, max(gaps[at : at + 2])) for at, line in enumerate(option.beams))


def beam_holds(job: Job, line: Line, joist_span: float) -> bool:
    most = beams.span(job.species, line.plies, line.size, joist_span, job.edition, float(job.live)).most
    sized = all(footings.size(area, job.soil, job.edition, float(job.live)).round > 0 for area in line.areas)
    return line.bay <= most and line.end <= line.bay / 4 and sized
