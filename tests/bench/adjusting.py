"""The field math on a slow phone: a yard of twelve stakes after some forty pulls, adjusted and judged. For information."""
from __future__ import annotations

from typing import Any

from playwright.sync_api import BrowserContext

from tests.bench.phone import SLOWDOWN, slow_page
from tests.bench.table import Row, spread
from tests.demo import Memory
from tests.virtual_crew import Crew, walk_with

ROUNDS = 15
TIMES = """async ([field, document, entries, rounds]) => {
  const { network, walk } = await import(field);
  const state = walk.fold(document, entries);
  const readings = entries.filter((entry) => entry.kind === "reading" && entry.inches !== undefined);
  const marks = Object.keys(document.yard.points).filter((name) => document.yard.points[name].kind === "ground");
  const timed = (work) => Array.from({ length: rounds }, () => {
    const start = performance.now();
    work();
    return performance.now() - start;
  });
  return {
    readings: readings.length, marks: marks.length,
    adjust: timed(() => network.adjust(document.yard, readings, marks, [])),
    truth: timed(() => walk.truth(document, state)),
    fold: timed(() => walk.fold(document, entries)),
  };
}"""


def measure(context: BrowserContext, address: str, document: dict[str, Any]) -> list[Row]:
    """One adjustment, the whole of "how true", and a fold of the book, in the phone's own page."""
    book = Memory()
    walk_with(document, Crew(5), book)
    field = f"{address}/phone/field/{document['field']['digest']}/{document['field']['modules'][0]}"
    with slow_page(context) as page:
        page.goto(f"{address}/phone/#/job/{document['job']['id']}")
        page.wait_for_selector("#main")
        found = page.evaluate(TIMES, [field, document, book.entries, ROUNDS])
    note = f"{found['readings']} pulls, {found['marks']} stakes, {SLOWDOWN}x slowdown"
    names = {"adjust": "One adjustment of the yard", "truth": "How true, every point", "fold": "The book folded anew"}
    return [Row(what, sorted(found[key])[ROUNDS // 2], "ms", None, f"{note}: {spread(found[key])}")
            for key, what in names.items()]
