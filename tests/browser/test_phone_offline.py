"""No signal is the normal state: the server dead, the browser killed, a newer shell or plan declined and taken, a fill that broke."""
import os
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Error, Locator, Page, expect

from server.phone import FILE, field_digest
from tests.browser.own_browser import kill_all_of, launched, own_browser
from tests.browser.phone_case import (
    DECK,
    PLATFORM,
    READY,
    Server,
    copy_of_shell,
    document_of,
    entries,
    field_book,
    keep,
    main_key,
    open_book,
    open_job,
    phone,
    read,
    row_of,
    serving,
    tap_main,
    wanted,
)

KILLS = int(os.environ.get("YARDTRUE_KILLS", "8"))  # an even number; 50 take some two minutes
OPENINGS = 5
LOOKED = 20_000  # ms; a browser takes its time to look for a newer worker
OLD_PAPER, NEW_PAPER = "rgb(251, 250, 245)", "rgb(250, 250, 245)"
CACHES = """async () => {
    const found = {};
    for (const name of await caches.keys()) {
        const requests = await (await caches.open(name)).keys();
        found[name] = requests.map((request) => request.url);
    }
    return found;
}"""


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    with serving(tmp_path) as server:
        yield server


def test_the_walk_goes_on_with_the_server_dead(chromium: Browser, server: Server, tmp_path: Path) -> None:
    with own_browser(chromium, tmp_path / "profile") as context:
        page = context.new_page()
        keep(page, server)
        server.kill()
        open_job(page)
        tap_main(page, "Understood")
        page.reload()
        expect(page.locator(".head")).to_contain_text(READY)
        tap_main(page, "Understood")
        expect(page.locator(".here")).to_contain_text("step 3 of")
    with own_browser(chromium, tmp_path / "profile") as context:
        page = context.new_page()
        page.goto(server.phone)
        expect(row_of(page, DECK)).to_contain_text(READY)
        expect(page.locator(".head")).to_contain_text("no signal")
        open_job(page)
        expect(page.locator(".here")).to_contain_text("step 3 of")
        tap_main(page, "Understood")
        expect(page.locator(".here")).to_contain_text("step 4 of")
        assert [entry["n"] for entry in entries(page)] == [1, 2, 3]


def test_an_entry_outlives_a_killed_browser(chromium: Browser, server: Server, tmp_path: Path) -> None:
    """Killed right after an entry, again and again: each start finds the entry before, makes one more, and is killed at once."""
    profile = tmp_path / "profile"
    with own_browser(chromium, profile) as context:
        page = context.new_page()
        page.goto(server.phone)
        open_book(page, field_book(document_of(server, "long-side-deck"), "pull"))
        expect(page.locator(".head")).to_contain_text(READY)
        there = [entry["id"] for entry in entries(page)]
    server.kill()
    for made in range(KILLS):
        there = killed_after_an_entry(chromium, profile, server, there, made)
    with own_browser(chromium, profile) as context:
        page = job_on(context, server)
        kept = entries(page)
    assert [entry["id"] for entry in kept][:-1] == there
    assert [entry["kind"] for entry in kept][-KILLS:] == ["reading", "strike"] * (KILLS // 2)


def killed_after_an_entry(chromium: Browser, profile: Path, server: Server, there: list[str], made: int) -> list[str]:
    """Enter a wrong reading, or take the one before back; kill the browser the moment the screen shows it. Ids that were there before it."""
    context = launched(chromium, profile)
    page = job_on(context, server)
    kept = [entry["id"] for entry in entries(page)]
    assert len(kept) == len(there) + min(made, 1)
    assert kept[:len(there)] == there
    if made % 2:
        page.locator("#undo").click()
        expect(main_key(page)).to_have_text("Enter reading")
    else:
        read(page, wanted(page) + 1)
    kill_all_of(profile)
    with suppress(Error):
        context.close()
    return kept


def job_on(context: BrowserContext, server: Server) -> Page:
    page = context.pages[0] if context.pages else context.new_page()
    page.goto(f"{server.phone}#/job/long-side-deck")
    expect(main_key(page)).to_be_visible()
    return page


def newer_shell(server: Server, folder: Path) -> None:
    """The same server, its shell changed by one word."""
    server.kill()
    server.start(copy_of_shell(folder, "app.css", "--paper: #fbfaf5", "--paper: #fafaf5"))


def expect_paper(page: Page, colour: str) -> None:
    expect(page.locator("html")).to_have_css("background-color", colour)


def opened_until(page: Page, offer: Locator) -> None:
    """Open the page anew until the offer is there: a browser may put one look for an update off, not every one."""
    for _ in range(OPENINGS):
        page.reload()
        with suppress(AssertionError):
            expect(offer).to_have_count(1, timeout=LOOKED / OPENINGS)
            return
    expect(offer).to_have_count(1)


def test_a_newer_shell_is_offered_declined_and_taken(chromium: Browser, server: Server, tmp_path: Path) -> None:
    with phone(chromium) as context:
        page = context.new_page()
        keep(page, server)
        newer_shell(server, tmp_path / "newer")
        offer = page.locator(".offer")
        opened_until(page, offer)
        expect(offer).to_contain_text("A newer Yardtrue is ready.")
        page.get_by_role("button", name="Later").click()
        expect(offer).to_have_count(0)
        page.reload()
        expect_paper(page, OLD_PAPER)
        opened_until(page, offer)
        page.get_by_role("button", name="Use it").click()
        expect_paper(page, NEW_PAPER)
        expect(row_of(page, DECK)).to_contain_text(READY)
        shells = [name for name in page.evaluate(CACHES) if "shell" in name]
        assert len(shells) == 1
        server.kill()
        page.reload()
        expect(row_of(page, DECK)).to_contain_text(READY)
        expect_paper(page, NEW_PAPER)


def test_a_newer_shell_is_offered_between_steps_only(chromium: Browser, server: Server, tmp_path: Path) -> None:
    with phone(chromium) as context:
        page = context.new_page()
        server.enter(page)
        page.goto(server.phone)
        open_book(page, field_book(document_of(server, "long-side-deck"), "pull"))
        expect(page.locator(".head")).to_contain_text(READY)
        newer_shell(server, tmp_path / "newer")
        opened_until(page, page.locator(".offer"))
        expect(page.locator(".offer")).to_be_hidden()
        read(page, wanted(page))
        expect(page.locator(".offer")).to_be_visible()


def test_a_fill_that_breaks_is_not_called_ready(chromium: Browser, tmp_path: Path) -> None:
    server = Server(tmp_path)
    server.start(broken="ui/off.js")
    try:
        with phone(chromium) as context:
            page = context.new_page()
            server.enter(page)
            page.goto(server.phone)
            page.get_by_role("button", name=f"Keep on this phone: {DECK}").click()
            expect(row_of(page, DECK)).to_contain_text("needs signal")
            page.wait_for_timeout(500)
            assert not any("shell" in name for name in page.evaluate(CACHES))
            server.kill()
            server.start()
            page.reload()
            expect(row_of(page, DECK)).to_contain_text(READY)
    finally:
        server.kill()


def test_a_job_with_a_file_missing_is_not_kept(chromium: Browser, tmp_path: Path) -> None:
    server = Server(tmp_path)
    server.start(broken=f"field/{field_digest()}/{FILE}")
    with phone(chromium) as context:
        page = context.new_page()
        server.enter(page)
        page.goto(server.phone)
        page.get_by_role("button", name=f"Keep on this phone: {DECK}").click()
        expect(page.get_by_role("dialog")).to_contain_text("The job could not be kept.")
        page.get_by_role("button", name="Understood").click()
        expect(row_of(page, DECK)).to_contain_text("not on this phone yet")
        server.kill()
        server.start()
        page.reload()
        page.get_by_role("button", name=f"Keep on this phone: {DECK}").click()
        expect(row_of(page, DECK)).to_contain_text(READY)
    server.kill()


SLOW_CACHES = """
    const open = CacheStorage.prototype.open;
    CacheStorage.prototype.open = async function (name) {
        await new Promise((go) => setTimeout(go, 1500));
        return open.call(this, name);
    };
"""
ANOTHER_SENTENCE = """() => {
    const [place] = Object.keys(localStorage);
    const seen = JSON.parse(localStorage[place]);
    seen.view.say = 'Something else.';
    localStorage[place] = JSON.stringify(seen);
}"""


SEEN = "() => JSON.parse(localStorage.getItem('glimpse/long-side-deck') ?? '{}').view?.index"


def await_glimpse(page: Page, step: int) -> None:
    """Wait until the screen of a step is remembered. Raises TimeoutError."""
    for _ in range(100):
        if page.evaluate(SEEN) == step:
            return
        page.wait_for_timeout(50)
    raise TimeoutError(step)


@pytest.mark.parametrize(("stale", "steps"), [(False, 2), (True, 1)])
def test_a_tap_on_the_screen_last_seen_counts_when_the_job_asks_the_same(
    chromium: Browser, server: Server, stale: bool, steps: int
) -> None:
    with phone(chromium) as context:
        page = context.new_page()
        keep(page, server)
        open_job(page)
        tap_main(page, "Understood")
        expect(page.locator(".here")).to_contain_text("step 2 of")
        await_glimpse(page, 2)
        if stale:
            page.evaluate(ANOTHER_SENTENCE)
        page.add_init_script(SLOW_CACHES)
        page.reload()
        if stale:
            expect(page.locator(".task h2")).to_have_text("Something else.")
        expect(page.locator(".head")).to_contain_text("checking this phone")
        tap_main(page, "Understood")
        expect(page.locator(".head")).to_contain_text(READY)
        expect(page.locator(".here")).to_contain_text(f"step {steps + 1} of")
        assert len(entries(page)) == steps


def test_a_list_shown_anew_leaves_the_keys_under_the_finger(chromium: Browser, server: Server) -> None:
    """A row that says the same is not made again: a tap under way while the worker becomes ready is not lost."""
    with phone(chromium) as context:
        page = context.new_page()
        server.enter(page)
        page.goto(server.phone)
        other = page.get_by_role("button", name=f"Keep on this phone: {PLATFORM}").element_handle()
        page.get_by_role("button", name=f"Keep on this phone: {DECK}").click()
        expect(row_of(page, DECK)).to_contain_text(READY)
        assert other.evaluate("it => it.isConnected") is True
