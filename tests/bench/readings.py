"""From the tap on "Use reading" to the verdict, written to the disk in between, on a phone walked by the virtual crew."""
from __future__ import annotations

import json
import math
import statistics
from typing import Any

from playwright.sync_api import BrowserContext, Page

from server import talk
from server.field import tape
from tests.bench.phone import SLOWDOWN, slow_page
from tests.bench.table import Row, percentile, spread
from tests.demo import Memory
from tests.virtual_crew import Crew

LIMIT = 100.0
BARE_WRITES = 30
PUT_AWAY = 3000  # milliseconds before a page closes: what can wait has been done
MOMENTS = ("heard", "written", "there", "shown")
# `change(act)` resolves when the step's screen has changed after act(). Taps on the pad's key are timed from the
# event's own stamp to the end of the write (`written`), to the change of the document (`there`), and to the end of the
# frame that shows it (`shown`).
INSTALL = """() => {
  const bench = (globalThis.bench = { taps: [], start: null, written: null, wants: null, shown: null });
  const watch = () => {
    if (!document.querySelector("#app .task")) return;
    if (bench.start !== null) ended(performance.now());
    bench.wants?.();
    bench.wants = null;
  };
  const ended = (there) => {
    const tap = { there: there - bench.start, written: bench.written - bench.start, heard: bench.heard };
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
  const { transaction } = IDBDatabase.prototype;
  IDBDatabase.prototype.transaction = function (...given) {
    const opened = transaction.apply(this, given);
    if (opened.mode === "readwrite") opened.addEventListener("complete", () => (bench.written = performance.now()));
    return opened;
  };
  const onPad = () => location.hash.endsWith("/read");
  document.addEventListener("click", (event) => {
    if (!onPad() || !event.target.closest("#main")) return;
    bench.start = event.timeStamp;
    bench.heard = performance.now() - event.timeStamp;
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
# Whoever taps has read the line first: the page has nothing left to do by then.
REST = "() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 100))))"
MAIN = "() => bench.change(() => document.getElementById('main').click())"
KEY = "(key) => document.querySelector(key).click()"
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


# A strict write of one small entry and nothing else, the floor under every reading: milliseconds each.
BARE = """async (count) => {
  const database = await new Promise((resolve) => {
    const opening = indexedDB.open("bench", 1);
    opening.onupgradeneeded = () => opening.result.createObjectStore("entries", { keyPath: "id" });
    opening.onsuccess = () => resolve(opening.result);
  });
  const write = (id) => new Promise((resolve) => {
    const transaction = database.transaction("entries", "readwrite", { durability: "strict" });
    transaction.objectStore("entries").put({ id, kind: "reading", inches: 125.375 });
    transaction.oncomplete = resolve;
  });
  const times = [];
  for (let id = 0; id < count; id++) {
    const start = performance.now();
    await write(id);
    times.push(performance.now() - start);
    await new Promise((resolve) => setTimeout(resolve, 30));
  }
  database.close();
  return times;
}"""


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
    """Enter a reading on the tape pad and tap its key; back when the step shows again."""
    page.evaluate("() => document.getElementById('main').click()")
    page.wait_for_selector(".tapepad")
    sixteenths = math.floor(tape.parse(text, "inch")["inches"] * 16 + 0.5)
    for stage, value in (("feet", sixteenths // 192), ("inch", sixteenths % 192 // 16), ("sixteenth", sixteenths % 16)):
        page.evaluate(KEY, f'[data-stage="{stage}"][data-value="{value}"]')
    page.evaluate("() => bench.expect()")
    x, y = middle(page, "#main")
    page.evaluate(REST)
    page.touchscreen.tap(x, y)
    page.evaluate("bench.shown")


def middle(page: Page, selector: str) -> tuple[float, float]:
    """Where a finger meets a key, found before the page rests: what the driver does at the tap would be timed with it."""
    box = page.locator(selector).bounding_box()
    if box is None:
        raise RuntimeError(f"{selector} is not on the screen")
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def measure(context: BrowserContext, address: str, documents: list[dict[str, Any]]) -> list[Row]:
    """The readings of every walk together."""
    taps: list[dict[str, float]] = []
    bare: list[float] = []
    for seed, document in enumerate(documents):
        with slow_page(context) as page:
            page.goto(f"{address}/phone/#/job/{document['job']['id']}")
            page.wait_for_selector("#main")
            page.evaluate(INSTALL)
            taps += walk(page, document, seed)
            bare += page.evaluate(BARE, BARE_WRITES)
            page.wait_for_timeout(PUT_AWAY)
    return [
        row(taps, "there", "Reading tapped to its verdict", LIMIT),
        row(taps, "shown", "Reading tapped to the frame that shows it"),
        Row("A bare strict write, nothing else", percentile(bare, 0.95), "ms", None, f"{len(bare)} writes: {spread(bare)}"),
    ]


def row(taps: list[dict[str, float]], moment: str, what: str, limit: float | None = None) -> Row:
    """The 95th percentile of one moment of every tap."""
    times = [tap[moment] for tap in taps]
    parts = ", ".join(f"{name} {statistics.median(tap[name] for tap in taps):.0f}" for name in MOMENTS)
    note = f"95 in 100 of {len(times)} readings at {SLOWDOWN}x slowdown: {spread(times)}; medians: {parts}"
    return Row(what, percentile(times, 0.95), "ms", limit, note)
