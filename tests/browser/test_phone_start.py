"""The very first start of a job: the key does not wait for the drawing, and nothing under a thumb moves when it comes."""
from typing import Any

from playwright.sync_api import Browser, Page, expect

from server.field import walk
from tests.browser.phone_case import Server, document_of, field_book, keep, main_key, open_book, phone

JOB = "long-side-deck"
PARTS = "(parts) => parts.map((part) => part.id)"
HOLD_FRAMES = """(() => {
  const held = [];
  globalThis.requestAnimationFrame = (work) => held.push(work);
  globalThis.releaseFrames = () => {
    while (held.length > 0) held.shift()(performance.now());
  };
})();"""


def start(page: Page, server: Server, part: str = "") -> None:
    """Open the job by its address, every frame held back that a module asks for."""
    page.add_init_script(HOLD_FRAMES)
    page.goto(f"{server.phone}#/job/{JOB}{part}")
    expect(main_key(page)).to_be_visible()


def boxes(page: Page) -> list[dict[str, Any] | None]:
    """Where the drawing, what is to be done and the key are, CSS px."""
    return [page.locator(part).bounding_box() for part in ("div.plan", "svg.plan", ".task", "#main")]


def test_the_key_is_there_before_the_drawing_and_stays_where_it_is(chromium: Browser, server: Server) -> None:
    with phone(chromium) as context:
        keep(context.new_page(), server)
        page = context.new_page()
        start(page, server)
        expect(page.locator("svg.plan *")).to_have_count(0)
        before = boxes(page)
        name = page.locator("svg.plan").get_attribute("aria-label")
        page.evaluate("releaseFrames()")
        expect(page.locator("svg.plan #ground")).to_be_visible()
        assert boxes(page) == before
        assert name
        expect(page.get_by_role("img", name=name)).to_be_visible()


def test_the_drawing_comes_as_it_was_asked_to_look(chromium: Browser, server: Server) -> None:
    document = document_of(server, JOB)
    asks = [walk.step_ask(document, walk.fold(document, []), step["id"]) for step in document["steps"]]
    ask = next(one for one in asks if one["lit"])
    with phone(chromium) as context:
        keep(context.new_page(), server)
        page = context.new_page()
        start(page, server, f"/step/{ask['step']}")
        expect(page.locator(".lit")).to_have_count(0)
        page.evaluate("releaseFrames()")
        expect(page.locator("svg.plan .lit").first).to_be_attached()
        lit = page.locator("svg.plan .lit").evaluate_all(PARTS)
        assert sorted(lit) == sorted(set(ask["lit"]))


def test_a_job_never_kept_is_kept_when_its_address_is_opened(page: Page, server: Server) -> None:
    page.goto(f"{server.phone}#/job/{JOB}")
    expect(main_key(page)).to_be_visible()
    expect(page.locator("svg.plan #ground")).to_be_visible()
    assert page.evaluate("caches.open('yardtrue-kept').then((cache) => cache.keys()).then((keys) => keys.length)") == 3


def await_glimpse(page: Page) -> None:
    """Wait until what is on the screen is remembered. Raises TimeoutError."""
    for _ in range(100):
        if page.evaluate(f"localStorage.getItem('glimpse/{JOB}')"):
            return
        page.wait_for_timeout(50)
    raise TimeoutError


def test_a_job_seen_before_is_glimpsed_with_its_current_part_lit(chromium: Browser, server: Server) -> None:
    document = document_of(server, JOB)
    book = field_book(document, "set")
    with phone(chromium) as context:
        page = context.new_page()
        server.enter(page)
        page.goto(server.phone)
        open_book(page, book)
        expect(main_key(page)).to_be_visible()
        lit = page.locator("svg.plan .lit").evaluate_all(PARTS)
        assert lit
        await_glimpse(page)
        again = context.new_page()
        again.add_init_script("indexedDB.open = () => ({});")  # the book never opens: what is on the screen is the glimpse
        again.goto(f"{server.phone}#/job/{JOB}")
        expect(main_key(again)).to_be_visible()
        assert again.locator("svg.plan .lit").evaluate_all(PARTS) == lit
