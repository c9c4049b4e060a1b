"""The page of spans in a browser: readable by everyone, no wider than the screen, asked and answered without a script."""
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.desk_case import SIZES, page_of, served
from tests.browser.phone_case import violations
from tests.entered import desk_app, let_in

LOW = """() => [...document.querySelectorAll('button, select, input:not([type=hidden]), nav a, summary')]
    .filter((it) => it.offsetParent && it.getBoundingClientRect().height < 47.5)
    .map((it) => it.outerHTML.slice(0, 90))"""
PAGES = {
    "plain": "/spans",
    "joist": "/spans?question=joist&species=southern+pine&size=2x8&spacing=16&edition=DCA+6-2012&live=40",
    "beam": "/spans?question=beam&species=hem-fir&beam=2-2x10&joist_span=12+ft&edition=IRC+2015&live=40",
    "footing": "/spans?question=footing&area=60&soil=1500&edition=IRC+2021&live=40",
    "post": "/spans?question=post&species=hem-fir&post=4x4&area=60&edition=IRC+2021&live=40",
    "engineer": "/spans?question=ledger&fastener=bolt&joist_span=12+ft&edition=IRC+2015&live=90",
    "faults": "/spans?question=beam&species=oak&beam=&joist_span=12&edition=IRC+2015&live=" + "many" * 14,
}


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A desk without jobs, served by waitress."""
    app = desk_app(tmp_path_factory.mktemp("desk"))
    with served(app) as address:
        yield address


@pytest.fixture(params=SIZES)
def page(request: pytest.FixtureRequest, chromium: Browser, address: str) -> Iterator[Page]:
    """A page of a desk's or a phone's size."""
    with page_of(chromium, request.param, address) as page:
        yield page


@pytest.mark.parametrize("name", PAGES)
def test_every_state_is_readable_by_everyone_and_fits(address: str, page: Page, name: str) -> None:
    page.goto(address + PAGES[name])
    if "SCREENSHOTS" in os.environ:
        page.screenshot(path=Path(os.environ["SCREENSHOTS"]) / f"{name}-{page.viewport_size['width']}.png", full_page=True)
    closed = page.locator("details:not([open]) > summary")
    while closed.count():
        closed.first.click()
    expect(page.locator("form:visible")).to_have_count(5)
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert page.evaluate(LOW) == []


def test_a_question_is_asked_and_answered_without_a_script(address: str, chromium: Browser) -> None:
    context = chromium.new_context(java_script_enabled=False)
    let_in(context, address)
    page = context.new_page()
    page.goto(address)
    page.get_by_role("link", name="Spans").click()
    form = page.locator("#joist")
    form.get_by_label("Species").select_option("southern pine")
    form.get_by_label("Joist size").select_option("2x8")
    form.get_by_label("Joist spacing").select_option("16")
    form.get_by_label("Edition").select_option("DCA 6-2012")
    form.get_by_role("button").click()
    expect(page.locator(".big dd").first).to_have_text("11' 10\"")
    expect(page.locator("#joist .level").first).to_have_text("Stands in the table")
    page.locator("#beam summary").click()
    form = page.locator("#beam")
    expect(form.get_by_label("Species")).to_have_value("southern pine")
    form.get_by_label("Joist span").fill("12")
    form.get_by_role("button").click()
    expect(page.locator("#beam-joist_span-fault")).to_contain_text("12' 0\"")
    expect(page.locator("#beam-joist_span")).to_have_value("12")
    context.close()
