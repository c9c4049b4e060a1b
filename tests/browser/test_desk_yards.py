"""The yard in a desk's browser: readable by everyone, renewed while it is looked at, one sheet of paper for the inspector."""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.desk_case import SIZES, assert_fits, page_of, served
from tests.browser.phone_case import violations
from tests.entered import desk_app, let_in
from tests.yard_case import DECK, PLATFORM, second_phone, send, slipping, strike, walked

READING_ORDER = ".standing, .drawing.state, .built, .frame-short, .cautions, .sign-here"
FILLED = "() => getComputedStyle(document.querySelector('#point-{} circle')).fill"


@dataclass
class Desk:
    """A desk whose yards were walked, at its address."""

    app: Any
    address: str

    def at(self, job: str, path: str) -> str:
        return f"{self.address}/jobs/{job}/{path}"


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """The deck half done by two phones, with a slip, an entry taken back and a mark staked off; the platform done."""
    app = desk_app(tmp_path_factory.mktemp("yards"), demo=True)
    entries = second_phone(walked(app, crew=slipping()))
    cut = [entry["kind"] for entry in entries].index("stake")
    reading = [entry for entry in entries[:cut] if entry["kind"] == "reading"][-1]
    send(app, [*entries[:cut], entries[cut] | {"off": [0.5, -1.0]}, strike(reading, 900)])
    send(app, walked(app, PLATFORM, after=("strings",)), PLATFORM)
    with served(app) as address:
        yield Desk(app, address)


@pytest.fixture(params=SIZES)
def page(request: pytest.FixtureRequest, chromium: Browser, desk: Desk) -> Iterator[Page]:
    """A page that has entered, of a desk's or a phone's size; anything in its console is a failure."""
    with page_of(chromium, request.param, desk.address) as page:
        yield page


@pytest.fixture
def wide(chromium: Browser, desk: Desk) -> Iterator[Page]:
    """A page that may lose its desk: what its console says of that is no failure."""
    context = chromium.new_context(viewport=SIZES["desk"])
    let_in(context, desk.address)
    yield context.new_page()
    context.close()


@pytest.mark.parametrize("job", [DECK, PLATFORM])
@pytest.mark.parametrize("path", ["", "yard", "book", "book?step=frame&phone=1", "report"])
def test_every_page_is_readable_by_everyone_and_fits(desk: Desk, page: Page, job: str, path: str) -> None:
    page.goto(desk.at(job, path).rstrip("/"))
    page.evaluate("for (const it of document.querySelectorAll('main details')) it.open = true")
    assert violations(page) == []
    assert_fits(page)


def test_a_mark_is_told_by_shape_and_fill_as_the_legend_has_it(desk: Desk, wide: Page) -> None:
    wide.goto(desk.at(DECK, "yard"))
    shapes = {
        state: wide.locator(f".legend .is-{state}").evaluate(
            """(it) => { const [ring, cross] = [it.querySelector('circle'), it.querySelector('path')].map((one) => getComputedStyle(one));
                return [ring.fill, ring.strokeDasharray === 'none', cross.display].join(' '); }"""
        )
        for state in ("open", "set", "true", "staked", "off")
    }
    assert len(set(shapes.values())) == 5, shapes
    staked, not_set = (wide.evaluate(FILLED.format(name)) for name in ("G1-1", "G1-3"))
    assert (staked, not_set) == ("rgb(20, 24, 28)", "rgb(255, 255, 255)")
    expect(wide.locator(".state .is-now").first).to_be_visible()


def test_the_yard_renews_itself_and_says_when_it_cannot(desk: Desk, wide: Page) -> None:
    entries = walked(desk.app, DECK)
    wide.goto(desk.at(DECK, "yard"))
    status = wide.locator("#renewing")
    expect(status).to_have_text("This page renews itself.")
    wide.locator("#every-point > summary").click()
    wide.evaluate("window.stays = document.querySelector('.live')")
    wide.wait_for_timeout(5000)
    assert wide.evaluate("window.stays === document.querySelector('.live')"), "nothing came: nothing is put in its place"
    late = entries[0] | {"id": "late", "n": 950, "kind": "note", "text": "Rain stopped work", "device": "phone-b"}
    send(desk.app, [late])
    expect(wide.locator("#live")).to_contain_text("Note: Rain stopped work", timeout=10_000)
    expect(wide.locator("#every-point")).to_have_attribute("open", "")
    wide.context.clear_cookies()
    expect(status).to_contain_text("may be old", timeout=10_000)
    expect(wide.locator("#live")).to_contain_text("Note: Rain stopped work")


def test_a_page_that_nobody_looks_at_asks_for_nothing(desk: Desk, wide: Page) -> None:
    wide.add_init_script("Object.defineProperty(document, 'visibilityState', { get: () => 'hidden' })")
    asked: list[str] = []
    wide.on("request", lambda request: asked.append(request.url))
    wide.goto(desk.at(DECK, "yard"))
    wide.wait_for_timeout(5000)
    assert not [url for url in asked if url.endswith("/part")]


def test_without_a_script_a_reload_shows_what_came(desk: Desk, chromium: Browser) -> None:
    context = chromium.new_context(java_script_enabled=False)
    let_in(context, desk.address)
    page = context.new_page()
    page.goto(desk.at(PLATFORM, "yard"))
    expect(page.locator("#renewing")).to_have_text("Reload the page to see what came since.")
    send(desk.app, [walked(desk.app, PLATFORM)[0] | {"id": "n", "n": 990, "kind": "note", "text": "Concrete ordered"}], PLATFORM)
    page.reload()
    expect(page.locator("#live")).to_contain_text("Note: Concrete ordered")
    context.close()


def test_a_field_book_is_taken_in_from_a_file(desk: Desk, page: Page) -> None:
    page.goto(desk.at(DECK, "book"))
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_role("alert")).to_contain_text("No file was chosen.")
    assert violations(page) == []
    with page.expect_download() as saved:
        page.get_by_role("link", name="Field book file").click()
    assert saved.value.suggested_filename == f"field-book-{DECK}.json"
    page.get_by_label("Field book file").set_input_files(saved.value.path())
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_role("status")).to_contain_text("Field book taken in: 0 new of")
    assert violations(page) == []
    assert_fits(page)


@pytest.mark.parametrize("job", [DECK, PLATFORM])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_report_of_a_demo_job_prints_on_one_sheet(desk: Desk, wide: Page, job: str, paper: str) -> None:
    wide.goto(desk.at(job, "report"))
    pdf = wide.pdf(format=paper)
    assert pdf.count(b"/Type /Page") - pdf.count(b"/Type /Pages") == 1
    wide.emulate_media(media="print")
    for part in READING_ORDER.split(", "):
        expect(wide.locator(part)).to_be_visible()
    for part in (".head", ".foot", ".aside"):
        expect(wide.locator(part).first).to_be_hidden()
    tops = [wide.locator(part).bounding_box()["y"] for part in READING_ORDER.split(", ")]
    assert tops == sorted(tops), "what is not finished comes first, the line to sign last"
    widths = wide.evaluate("[...document.querySelectorAll('.built, .built tr')].map((it) => it.scrollWidth > it.closest('.page').clientWidth)")
    assert not any(widths)
