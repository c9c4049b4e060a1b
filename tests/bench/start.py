"""The start with no server: a job's step on the screen, against a blank page behind the same worker."""
from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from playwright.sync_api import BrowserContext

from server.shell_tree import worker
from tests.bench.phone import READY, slow_page
from tests.bench.table import Row, ratio, spread

ROUNDS = 9
LIMIT = 2.5
MOMENTS = {"shown": "main key seen", "there": "main key laid out"}
BLANK = {
    "index.html": b"<!doctype html><meta charset=utf-8><title>Blank</title><script type=module src=empty.js></script>",
    "empty.js": b"",
}
# Times from the start of the navigation: `there` when the thing waited for is in the document and laid out, `shown`
# when the frame after it is done.
WATCH = """(() => {
  let tell;
  globalThis.benchTimes = new Promise((resolve) => (tell = resolve));
  const reached = () => {
    const there = performance.now();
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => tell({ there, shown: performance.now() });
    requestAnimationFrame(() => port2.postMessage(0));
  };
  const key = () => document.getElementById("main")?.getBoundingClientRect().height > 0;
  const look = (_, observer) => {
    if (!key()) return;
    observer.disconnect();
    reached();
  };
  if (location.pathname.startsWith("/phone/")) new MutationObserver(look).observe(document, { childList: true, subtree: true });
  else addEventListener("DOMContentLoaded", reached);
})();"""

# A page that remembers nothing of the last screen; what is kept for the next page stays.
FORGET = """(() => {
  const { getItem } = Storage.prototype;
  Storage.prototype.getItem = function (key) {
    return key.startsWith("glimpse/") ? null : getItem.call(this, key);
  };
})();"""


def write_twin(folder: Path) -> None:
    """The blank page, its one empty module, and the worker with the body that ships."""
    for path, content in BLANK.items():
        (folder / path).write_bytes(content)
    (folder / "sw.js").write_bytes(worker(BLANK))


def prime_twin(context: BrowserContext, address: str) -> None:
    page = context.new_page()
    page.goto(f"{address}/")
    page.evaluate("() => navigator.serviceWorker.register('sw.js').then(() => undefined)")
    page.evaluate(READY)
    page.close()


def opened(context: BrowserContext, address: str, forgetful: bool) -> dict[str, float]:
    """One new page at an address: {"there", "shown"} in milliseconds; a forgetful one has no last screen to show."""
    with slow_page(context) as page:
        page.add_init_script(WATCH)
        if forgetful:
            page.add_init_script(FORGET)
        page.goto(address, wait_until="commit")
        return dict(page.evaluate("benchTimes"))


def measure(context: BrowserContext, jobs: Mapping[str, tuple[str, bool]], blank: str) -> list[Row]:
    """Jobs {what: (address, forgetful)} and the blank page in turn, after one opening of each that is not counted."""
    places = {**jobs, "blank": (blank, False)}
    rounds = [{what: opened(context, *place) for what, place in places.items()} for _ in range(ROUNDS + 1)][1:]
    return [row(rounds, what, moment) for what in jobs for moment in MOMENTS]


def row(rounds: list[dict[str, dict[str, float]]], what: str, moment: str) -> Row:
    """`shown` is what a person sees and is held to the limit; `there` leaves out the screen's own turn."""
    ours, theirs = ([one[side][moment] for one in rounds] for side in (what, "blank"))
    note = f"{spread(ours)}, blank page {spread(theirs)}, {len(rounds)} each in turn"
    return Row(f"{what}, {MOMENTS[moment]}", ratio(ours, theirs), "x", LIMIT if moment == "shown" else None, note)
