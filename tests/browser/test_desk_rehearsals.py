"""A rehearsal in a browser: readable by everyone, no wider than the screen, asked for and shown without a script."""
import json
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_core_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from server.places import SEED
from server.web import bundles
from tests.browser.desk_case import SIZES, served
from tests.entered import desk_app, let_in

LOW = """() => [...document.querySelectorAll('button, select, input:not([type=checkbox]), .ways label, .key, nav a, summary')]
    .filter((it) => it.offsetParent && it.getBoundingClientRect().height < 47.5)
    .map((it) => it.outerHTML.slice(0, 90))"""
SMALL_TEXT = """() => [...document.querySelectorAll('.pictures text')]
    .filter((it) => it.getBoundingClientRect().height < 12).map((it) => it.textContent)"""
OUTSIDE = """() => [...document.querySelectorAll('.pictures text, .pictures circle')].filter((it) => {
    const own = it.getBoundingClientRect(), whole = it.closest('svg').getBoundingClientRect();
    return own.left < whole.left || own.right > whole.right || own.top < whole.top || own.bottom > whole.bottom;
}).map((it) => it.outerHTML.slice(0, 120))"""


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A desk with one deck, served by waitress."""
    app = desk_app(tmp_path_factory.mktemp("desk"))
    with app.app_context():
        job_id = bundles.store().add_job(json.loads((SEED / "jobs/bench-16x12.json").read_text(encoding="utf-8")), bundles.digest_of)
    with served(app) as address:
        yield f"{address}/jobs/{job_id}/rehearse"


def shot(page: Page, name: str) -> None:
    if "SCREENSHOTS" in os.environ:
        page.screenshot(path=Path(os.environ["SCREENSHOTS"]) / f"{name}-{page.viewport_size['width']}.png", full_page=True)


@pytest.mark.parametrize("size", SIZES)
def test_a_rehearsal_is_asked_for_read_by_everyone_and_printed_without_a_script(address: str, chromium: Browser, size: str) -> None:
    context = chromium.new_context(viewport=SIZES[size], has_touch=size == "phone", java_script_enabled=True)
    let_in(context, address.partition("/jobs/")[0])
    context.route("**/*.js", lambda route: route.abort())
    page = context.new_page()
    page.set_default_timeout(60_000)
    page.goto(address)
    page.get_by_label("Yards").fill("7")
    page.get_by_label("Way through the yard").select_option("Both ways")
    page.get_by_label("Beside tapes").check()
    page.get_by_role("button", name="Walk the yards").click()
    expect(page.locator(".pictures svg")).to_have_count(2)
    expect(page.get_by_label("Yards", exact=True)).to_have_value("7")
    expect(page.get_by_role("heading", name="Tape by tape")).to_be_visible()
    page.locator("summary").click()
    assert [f"{one['id']}: {node['html'][:120]}" for one in Axe().run(page)["violations"] for node in one["nodes"]] == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert page.evaluate(LOW) == []
    assert page.evaluate(SMALL_TEXT) == []
    assert page.evaluate(OUTSIDE) == []
    shot(page, "rehearsal")
    page.emulate_media(media="print")
    expect(page.locator("form")).to_be_hidden()
    expect(page.locator(".pictures svg").first).to_be_visible()
    shot(page, "rehearsal-paper")
    page.emulate_media(media="screen")
    page.get_by_label("Slips").fill("many")
    page.get_by_role("button", name="Walk the yards").click()
    expect(page.locator("#slips-fault")).to_contain_text("not a share")
    expect(page.get_by_label("Slips")).to_have_value("many")
    assert [one["id"] for one in Axe().run(page)["violations"]] == []
    context.close()
