"""A slow phone in Chromium: pages at a sixth of the speed, a job kept on it, times taken inside the page."""
from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import BrowserContext, Page, expect

from tests.entered import let_in

SLOWDOWN = 6
SIZE = {"width": 390, "height": 844}
READY = """async () => {
  await navigator.serviceWorker.ready;
  const active = (await navigator.serviceWorker.getRegistration()).active;
  return new Promise((resolve) => {
    if (active.state === "activated") resolve(true);
    active.addEventListener("statechange", () => active.state === "activated" && resolve(true));
  });
}"""
SPIN = """() => {
  const start = performance.now();
  let sum = 0;
  for (let i = 0; i < 2e7; i++) sum = (sum + i * 7) % 1000003;
  return performance.now() - start + (sum < 0 ? 1 : 0);
}"""


@contextmanager
def slow_page(context: BrowserContext, rate: int = SLOWDOWN) -> Iterator[Page]:
    """A new page whose processor is slowed down."""
    page = context.new_page()
    session = context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": rate})
    try:
        yield page
    finally:
        page.close()


def keep_jobs(page: Page, address: str, jobs: int) -> None:
    """Open the phone, keep every job on it, and wait until each is ready without signal."""
    let_in(page.context, address)
    page.goto(f"{address}/phone/")
    page.evaluate(READY)
    page.wait_for_selector("ul.jobs > li")
    while page.locator("ul.jobs button.main").count() > 0:
        left = page.locator("ul.jobs button.main").count()
        page.locator("ul.jobs button.main").first.click()
        expect(page.locator("ul.jobs button.main")).to_have_count(left - 1)
    page.reload()
    expect(page.locator("ul.jobs .shape.done")).to_have_count(jobs)


def slowdown(context: BrowserContext) -> float:
    """How much longer the same loop takes on the slow page."""
    times = []
    for rate in (1, SLOWDOWN):
        with slow_page(context, rate) as page:
            times.append(min(page.evaluate(SPIN) for _ in range(3)))
    return float(times[1] / times[0])
