"""From the tap on "Use reading" to the verdict, written to the disk in between, on a phone walked by the virtual crew."""
from __future__ import annotations

import json
from typing import Any

from playwright.sync_api import BrowserContext, Page

from server import talk
from tests.bench.phone import SLOWDOWN, slow_page
from tests.bench.table import Row, percentile, spread
from tests.demo import Memory
from tests.virtual_crew import Crew

LIMIT = 100.0
# `change(act)` resolves when the step's screen has changed after act(). Taps on the pad's key are timed from the
# event's own stamp to the change of the document (`there`), and to the end of the frame that shows it (`shown`).
INSTALL = """() => {
  const bench = (globalThis.bench = { taps: [], start: null, wants: null, shown: null });
  const watch = () => {
    if (!document.querySelector("#app .task")) return;
    if (bench.start !== null) ended(performance.now());
    bench.wants?.();
    bench.wants = null;
  };
  const ended = (there) => {
    const tap = { there: there - bench.start };
    const { start } = bench;
    bench.start = null;
    bench.taps.push(tap);
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => {
      tap.shown = performance.now() - start;
      tellShown();
    };
    requestAnimationFrame(() => port2.postMessage(0));
  };
  new MutationObserver(watch).observe(document.getElementById("app"), { childList: true, subtree: true });
  const onPad = () => location.hash.endsWith("/read");
  document.addEventListener("click", (event) => {
    if (onPad() && event.target.closest("#main")) bench.start = event.timeStamp;
  }, { capture: true });
  let tellShown;
  bench.expect = () => {
    bench.shown = new Promise((resolve) => (tellShown = resolve));
  };
  bench.change = (act) => new Promise((resolve) => {
    bench.wants = resolve;
    act();
  });
}"""
MAIN = "() => bench.change(() => document.getElementById('main').click())"
ENTRIES = """(job) => new Promise((resolve, reject) => {
  const opening = indexedDB.open("yardtrue");
  opening.onerror = () => reject(opening.error);
  opening.onsuccess = () => {
    const asked = opening.result.transaction("entries").objectStore("entries").index("job").getAll(job);
    asked.onsuccess = () => {
      opening.result.close();
      resolve(asked.result.filter((entry) => entry.kind === "reading").length);
    };
  };
})"""


def walk(page: Page, document: dict[str, Any], seed: int) -> list[dict[str, float]]:
    """Walk a job to its end on the page, the terminal's own walk beside it. Raises AssertionError when they part."""
    walker = talk.Walker(document, Memory())
    crew = Crew(seed)
    talker = talk.converse(walker)
    crew.begin(next(talker)["yard"])
    line = next(talker)
    while "end" not in line:
        answer = crew.answer(line)
        answer_on(page, line, answer)
        line = talker.send(json.dumps(answer))
    taps: list[dict[str, float]] = page.evaluate("bench.taps")
    written = page.evaluate(ENTRIES, document["job"]["id"])
    assert len(taps) == written == line["end"]["pulls"], (len(taps), written, line["end"]["pulls"])
    return taps


def answer_on(page: Page, line: dict[str, Any], answer: dict[str, Any]) -> None:
    """One ask answered on the page, after the verdict of the check before it was seen."""
    if page.locator(".verdict.ended").count() > 0:
        page.evaluate(MAIN)
    seen = page.locator(".task h2").inner_text()
    assert seen == line["say"].split("\n")[0], (seen, line["say"])
    if "reading" in answer:
        read_on(page, answer["reading"])
    else:
        page.evaluate(MAIN)


def read_on(page: Page, text: str) -> None:
    """Type a reading on the pad and tap its key; back when the step shows again."""
    page.evaluate("() => document.getElementById('main').click()")
    page.wait_for_selector("#way-text")
    page.evaluate("() => document.getElementById('way-text').click()")
    page.fill("#typed", text)
    page.evaluate("() => bench.expect()")
    page.tap("#main")
    page.evaluate("bench.shown")


def measure(context: BrowserContext, address: str, documents: list[dict[str, Any]]) -> list[Row]:
    """The readings of every walk together."""
    taps: list[dict[str, float]] = []
    for seed, document in enumerate(documents):
        with slow_page(context) as page:
            page.goto(f"{address}/phone/#/job/{document['job']['id']}")
            page.wait_for_selector("#main")
            page.evaluate(INSTALL)
            taps += walk(page, document, seed)
    return [
        row(taps, "there", "Reading tapped to verdict in the document, 95 in 100"),
        row(taps, "shown", "Reading tapped to the frame that shows it, 95 in 100"),
    ]


def row(taps: list[dict[str, float]], moment: str, what: str) -> Row:
    times = [tap[moment] for tap in taps]
    note = f"{len(times)} readings at {SLOWDOWN}x slowdown, each on the disk first: {spread(times)}"
    return Row(what, percentile(times, 0.95), "ms", LIMIT, note)
