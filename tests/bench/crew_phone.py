"""`python -m tests.bench.crew_phone`: a phone with 20,000 entries against one with 200 and one with 10,000, in turn; exit 1 when a limit is missed.

What grows with the book may grow as fast as the book and no faster: what 20,000 entries take is held to 1.5 times the straight line through what 200 and
10,000 take (the square of the book's length would come to twice that line). The middle of the rounds counts: the least of a few is luck where it hangs on what
falls together.
"""
from __future__ import annotations

import os
import statistics
import sys
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.bench import readings, start
from tests.bench.phone import SIZE, SLOWDOWN, keep_jobs, slow_page
from tests.bench.standing import standing, yardtrue
from tests.bench.table import Row, lines, spread
from tests.browser.phone_case import field_book, inches_of
from tests.browser_finder import open_browser
from tests.entered import KEY, let_in

JOB = "long-side-deck"
SIZES = (200, 10_000, 20_000)
LIMIT = 1.5
ROUNDS = 3
PART = 1_000
STILL_FOR = 4_000  # milliseconds in which what the other phone wrote has come onto the screen
# Entries as the server's are: in the book, not waiting to be sent.
FILL = """(entries) => new Promise((resolve, reject) => {
  const opening = indexedDB.open("yardtrue");
  opening.onsuccess = () => {
    const writing = opening.result.transaction("entries", "readwrite");
    for (const entry of entries) writing.objectStore("entries").put(entry);
    writing.oncomplete = () => { opening.result.close(); resolve(); };
    writing.onabort = () => reject(writing.error);
  };
})"""
FOLD = """async (job) => {
  const [{ keptWhole }, { recall }] = await Promise.all([import("./data/kept.js"), import("./data/book.js")]);
  const [{ document, math }, { entries }] = await Promise.all([keptWhole(job), recall(job)]);
  const began = performance.now();
  math.walk.fold(document, entries);
  return performance.now() - began;
}"""
# The longest time in which the page could not have taken a tap.
STALL = """(wait) => new Promise((resolve) => {
  const end = performance.now() + wait;
  let [last, longest] = [performance.now(), 0];
  const { port1, port2 } = new MessageChannel();
  port1.onmessage = () => {
    const now = performance.now();
    longest = Math.max(longest, now - last);
    last = now;
    if (now < end) port2.postMessage(0);
    else resolve(longest);
  };
  port2.postMessage(0);
})"""
WRITE = "async (entry) => (await import('./data/book.js')).append(entry)"
REMEMBERED = "(job) => localStorage.getItem(`glimpse/${job}`) !== null"
# As `readings.KEPT` would ask: entries that the kept state was folded from.
FOLDED = """(job) => new Promise((resolve) => {
  const opening = indexedDB.open("yardtrue");
  opening.onsuccess = () => {
    const asked = opening.result.transaction("states").objectStore("states").get(job);
    asked.onsuccess = () => { opening.result.close(); resolve(asked.result?.ids.length ?? 0); };
  };
})"""


def book_of(document: dict[str, Any], size: int) -> list[dict[str, Any]]:
    """A book of so many entries that asks for a reading next: in turn a reading and its being taken back, a note, an entry of an older plan."""
    book = field_book(document, "pull")["entries"]
    last = book[-1]
    pull = {"step": "left-string", "act": 2, "kind": "reading", "from": "TL", "to": "SL", "inches": 349.875}
    for n in range(last["n"] + 1, size + 1):
        entry = last | {"id": f"more-{n}", "n": n, "device": f"phone-{n % 3}"}
        kinds = (pull, {"kind": "strike", "strikes": f"more-{n - 1}"}, {"kind": "note"}, {"revision": "0123456789abcdef"})
        entry |= kinds[n % 4]
        book.append(entry)
    return book if book[-1]["kind"] != "reading" else [*book[:-1], last | {"id": "more-last", "n": size, "kind": "note"}]


@contextmanager
def walked(browser: Browser, address: str, size: int) -> Iterator[BrowserContext]:
    """A phone with the job kept and a book of this size, opened once so that its state and last screen are kept."""
    context = browser.new_context(viewport=SIZE, has_touch=True, is_mobile=True)
    let_in(context, address)
    page = context.new_page()
    keep_jobs(page, address, 2)
    page.goto(f"{address}/phone/#/job/{JOB}")
    expect(page.locator("#main")).to_be_visible()
    document = page.evaluate("async (job) => (await (await import('./data/kept.js')).keptWhole(job)).document", JOB)
    book = book_of(document, size)
    for first in range(0, size, PART):
        page.evaluate(FILL, book[first:first + PART])
    page.reload()
    expect(page.locator("#main")).to_have_text("Enter reading")
    page.wait_for_function(REMEMBERED, arg=JOB)
    for _ in range(100):
        if page.evaluate(FOLDED, JOB) == size:
            break
        page.wait_for_timeout(100)
    else:
        raise TimeoutError("the state was not kept")
    page.close()
    yield context
    context.close()


def opened(context: BrowserContext, address: str) -> float:
    """Milliseconds to the job's own key, no last screen before it: a state is kept."""
    return start.opened(context, f"{address}/phone/#/job/{JOB}", True)["there"]


def folds(context: BrowserContext, address: str) -> float:
    """Milliseconds to fold the whole book from nothing."""
    with slow_page(context) as page:
        page.goto(f"{address}/phone/")
        return float(page.evaluate(FOLD, JOB))


@contextmanager
def at_reading(context: BrowserContext, address: str) -> Iterator[Page]:
    with slow_page(context) as page:
        page.goto(f"{address}/phone/#/job/{JOB}")
        expect(page.locator("#main")).to_have_text("Enter reading")
        page.wait_for_timeout(3_000)
        yield page


def read(context: BrowserContext, address: str) -> float:
    """Milliseconds from a reading's tap to its verdict; the reading is taken back."""
    with at_reading(context, address) as page:
        page.evaluate(readings.INSTALL)
        wanted = page.locator(".task .reading").inner_text()
        readings.read_on(page, wanted if inches_of(wanted) else "")
        taken = float(page.evaluate("bench.taps[0].there"))
        page.locator("#undo").click()
        expect(page.locator("#main")).to_have_text("Enter reading")
        page.wait_for_timeout(readings.PUT_AWAY)
        return taken


def stalled(context: BrowserContext, address: str) -> float:
    """The longest a tap might have waited, milliseconds, while an entry of another phone came onto the screen."""
    with at_reading(context, address) as page:
        other = context.new_page()
        other.goto(f"{address}/phone/")
        newest = other.evaluate("async (job) => (await (await import('./data/book.js')).entriesOf(job)).at(-1)", JOB)
        stake = newest | {"id": f"{newest['id']}-more", "n": newest["n"] + 1, "kind": "note", "device": "another"}
        page.evaluate("(wait) => { globalThis.stall = (" + STALL + ")(wait); }", STILL_FOR)
        other.evaluate(WRITE, stake)
        longest = float(page.evaluate("globalThis.stall"))
        other.close()
        return longest


MEASURES = {
    "Start of a job, its own key laid out": opened,
    "The whole book folded from nothing": folds,
    "Reading tapped to its verdict": read,
    "Longest wait while another's entry comes in": stalled,
}


def measure(phones: dict[int, BrowserContext], address: str) -> list[Row]:
    """Every measure on every phone in turn, after a round that is not counted."""
    rows = []
    for what, times in MEASURES.items():
        print(f"measuring: {what}", file=sys.stderr, flush=True)
        rounds = [{size: times(phone, address) for size, phone in phones.items()} for _ in range(ROUNDS + 1)][1:]
        rows.append(row(what, {size: [one[size] for one in rounds] for size in phones}))
    return rows


def row(what: str, times: dict[int, list[float]]) -> Row:
    """The largest book against the straight line through the two smaller ones; a line never falls."""
    few, some, many = (statistics.median(times[size]) for size in SIZES)
    line = few + max(some - few, 0.0) * (SIZES[2] - SIZES[0]) / (SIZES[1] - SIZES[0])
    note = "; ".join(f"{size:,} entries {spread(times[size])}" for size in SIZES) + f"; the line says {line:.0f} ms; {SLOWDOWN}x slowdown"
    return Row(what, many / line, "x", LIMIT, note)


def main() -> int:
    os.environ["YARDTRUE_DESK_KEY"] = KEY
    with ExitStack() as stack:
        work, browser = (stack.enter_context(one) for one in (tempfile.TemporaryDirectory(), open_browser()))
        server = stack.enter_context(standing(*yardtrue(Path(work))))
        phones = {size: stack.enter_context(walked(browser, server.address, size)) for size in SIZES}
        server.kill()
        rows = measure(phones, server.address)
    print("\n".join(lines(rows)))
    return 0 if all(one.holds for one in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
