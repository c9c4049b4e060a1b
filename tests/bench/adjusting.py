"""The field math on a slow phone: one reading to its verdict and the next pull, in yards of 12, 20 and 40 stakes."""
from __future__ import annotations

import copy
import json
from typing import Any

from playwright.sync_api import BrowserContext

from server import plan
from server.talk import Walker
from tests.bench.phone import SLOWDOWN, slow_page
from tests.bench.table import Row, spread
from tests.demo import Memory, bare
from tests.virtual_crew import Crew, walk_with

ROUNDS = 15
LIMIT = 50.0  # ms from a reading to its verdict and the next pull, 12 stakes and 30 pulls
FOUR = ("4' 6\"", "7' 6\"", "10'", "12' 6\"")
# Setbacks of the beams, posts on each, pulls already read, and a tolerance at which another pull is still sought.
YARDS = {
    "12 stakes, 30 pulls": (("4' 6\"", "8' 6\"", "12' 6\""), 4, 30, '1/4"', LIMIT),
    "20 stakes, 60 pulls": (FOUR, 5, 60, '1/16"', None),
    "40 stakes, 120 pulls": (FOUR, 10, 120, '1/16"', None),
}
TIMES = """async ([field, document, entries, rounds]) => {
  const { readings, walk } = await import(field);
  const state = walk.fold(document, entries);
  const marks = Object.keys(document.yard.points).filter((name) => name.startsWith("G"));
  const timed = (work) => Array.from({ length: rounds }, () => {
    const start = performance.now();
    work();
    return performance.now() - start;
  });
  return {
    readings: readings.live_readings(state).length, marks: marks.length,
    adjust: timed(() => readings.weigh(document, state, marks)),
    truth: timed(() => walk.truth(document, state)),
    fold: timed(() => walk.fold(document, entries)),
  };
}"""
VERDICT = """async ([field, document, state, entry, rounds]) => {
  const { walk } = await import(field);
  const times = [];
  for (let k = 0; k < rounds; k++) {
    const now = structuredClone(state);
    const start = performance.now();
    walk.apply(document, now, entry);
    walk.next_ask(document, now);
    times.push(performance.now() - start);
  }
  return times;
}"""


def measure(context: BrowserContext, address: str, document: dict[str, Any]) -> list[Row]:
    """One adjustment, the whole of "how true" and a fold of the book; then the step from a reading to the next pull."""
    book = Memory()
    walk_with(document, Crew(5), book)
    field = f"{address}/phone/field/{document['field']['digest']}/{document['field']['modules'][0]}"
    with slow_page(context) as page:
        page.goto(f"{address}/phone/#/job/{document['job']['id']}")
        page.wait_for_selector("#main")
        found = page.evaluate(TIMES, [field, document, book.entries, ROUNDS])
        rows = [verdict(page, field, what) for what in YARDS]
    note = f"{found['readings']} pulls, {found['marks']} stakes, {SLOWDOWN}x slowdown"
    names = {"adjust": "One adjustment of the yard", "truth": "How true, every point", "fold": "The book folded anew"}
    return rows + [Row(what, median(found[key]), "ms", None, f"{note}: {spread(found[key])}") for key, what in names.items()]


def median(times: list[float]) -> float:
    return sorted(times)[len(times) // 2]


def verdict(page: Any, field: str, what: str) -> Row:
    """One yard's row: a reading taken while pulls are sought, judged, and the next pull found."""
    setbacks, posts, pulls, tolerance, limit = YARDS[what]
    document, state, entry = seeking(setbacks, posts, pulls, tolerance)
    times = page.evaluate(VERDICT, [field, document, state, entry, ROUNDS])
    note = f"{len(state['readings'])} pulls, {len(state['shifts'])} moves, {SLOWDOWN}x slowdown: {spread(times)}"
    return Row(f"Reading to verdict and what is asked next, {what}", median(times), "ms", limit, note)


def seeking(
    setbacks: tuple[str, ...], posts: int, pulls: int, tolerance: str
) -> tuple[dict[str, Any], dict[str, Any], dict[str, Any]]:
    """A yard in the step that makes its marks sure, one short of so many pulls: document, state, the next reading's entry.

    The walk's own pulls up to the first that is sought; then every flag from both wall marks in turn, as often as it takes.
    """
    grid = {"count": posts, "cantilever": "1' 4\""}
    beams = [{"setback": at, "plies": 2, "size": "2x10", "posts": grid} for at in setbacks]
    document: dict[str, Any] = json.loads(plan.plan("stakes", bare(out="14'", beams=beams, tolerance=tolerance)).text)
    walker, crew = Walker(document, Memory()), Crew(5)  # type: ignore[arg-type]
    crew.begin(document["yard"])
    while (ask := walker.ask())["step"] != "sure" or ask["ask"] == "heed":
        given(walker, crew, ask)
    act = ask["act"]
    while len(walker.state["readings"]) < pulls - 1:
        given(walker, crew, {"ask": "pull", "step": "sure", "act": act, **pair(walker, len(walker.state["readings"]))})
        walker.state["acts"][f"sure/{act}"] |= {"done": False, "again": None, "moves": [], "rounds": 0}
    entry = reading(walker, crew, ask) | {"id": "next", "n": 10**6, "device": "bench"}
    return document, copy.deepcopy(walker.state), entry


def pair(walker: Walker, k: int) -> dict[str, Any]:
    """A pull to a flag from a wall mark, another one each time."""
    points = walker.document["yard"]["points"]
    flags = [name for name in points if name.startswith("P")]
    start, end = ("WL", "WR")[k // len(flags) % 2], flags[k % len(flags)]
    return {"from": start, "to": end, "target": 0.0}


def given(walker: Walker, crew: Crew, ask: dict[str, Any]) -> None:
    """The crew's answer to one ask, taken."""
    part = reading(walker, crew, ask) if ask["ask"] in ("pull", "again") else None
    if part is not None:
        walker.keep(part)
    else:
        walker.take(ask, crew.answer(ask))


def reading(walker: Walker, crew: Crew, ask: dict[str, Any]) -> dict[str, Any]:
    """A reading of the crew's as an entry, whatever its length."""
    return {"kind": "reading", "step": ask["step"], "act": ask["act"], "from": ask["from"], "to": ask["to"],
            "inches": crew.pull(ask["from"], ask["to"])}
