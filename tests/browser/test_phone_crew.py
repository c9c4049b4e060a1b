"""Two phones, one job: a crew link, entries that go up and come down, a server killed in between, a screen that follows only between taps."""
from __future__ import annotations

import functools
import http.server
import json
import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from server import plan
from server.field import after, walk
from server.shell_tree import whole_tree
from server.store import open_store
from tests.browser.phone_case import (
    DECK,
    READY,
    Server,
    document_of,
    entries,
    field_book,
    go_until,
    keep,
    main_key,
    open_book,
    open_job,
    phone,
    read,
    row_of,
    serving,
    tap_main,
    violations,
    wanted,
)
from tests.demo import spec

JOB = "long-side-deck"
SIGNAL = "() => window.dispatchEvent(new Event('online'))"
TOO_WIDE = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
BOXES = """() => Object.fromEntries([...document.querySelectorAll('.head, .back, .place, .task, .task h2, .foot button, svg.plan')]
    .map((it, index) => [`${index} ${it.tagName} ${it.id}`, JSON.stringify(it.getBoundingClientRect())]))"""
SYNC = """() => new Promise((resolve) => {
    const opening = indexedDB.open("yardtrue");
    opening.onsuccess = () => {
        const asked = opening.result.transaction(["unsent", "refused", "syncs"]);
        const [unsent, refused, syncs] = ["unsent", "refused", "syncs"].map((name) => asked.objectStore(name).getAll());
        asked.oncomplete = () => { opening.result.close(); resolve({ unsent: unsent.result, refused: refused.result, syncs: syncs.result }); };
    };
})"""


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    with serving(tmp_path) as server:
        yield server


def link_of(server: Server, job: str = JOB) -> str:
    """A new crew link of a job; the one before opens nothing from now on."""
    return open_store(server.database).new_link(job)


@contextmanager
def two_phones(browser: Browser, server: Server, **second: Any) -> Iterator[tuple[Page, Page]]:
    """Two phones that opened the job's crew link, each in step with the server."""
    link = link_of(server)
    with phone(browser) as one, phone(browser, **second) as two:
        pages = one.new_page(), two.new_page()
        for page in pages:
            joined(page, server, link)
        yield pages


def joined(page: Page, server: Server, link: str) -> None:
    page.goto(f"{server.phone}#/crew/{link}")
    expect(main_key(page)).to_be_visible()
    expect(sent_line(page)).to_have_text("all sent")


def sent_line(page: Page) -> Any:
    return page.locator(".head .both > :last-child")


def in_step(*pages: Page) -> None:
    """Have every phone ask the server now, one after the other, until what one holds the other holds."""
    for page in (*pages, *pages):
        page.evaluate(SIGNAL)
        expect(sent_line(page)).to_have_text("all sent")
        page.wait_for_timeout(300)


def until(page: Page, holds: Callable[[], bool]) -> None:
    """Wait for what no screen tells. Raises TimeoutError."""
    for _ in range(100):
        if holds():
            return
        page.wait_for_timeout(100)
    raise TimeoutError


def ids(page: Page) -> set[str]:
    return {entry["id"] for entry in entries(page)}


def folded(page: Page) -> Any:
    """The state this phone walks by, kept after a while: {"ids", "state"}, without the empty records that asking makes."""
    found: dict[str, Any] = page.evaluate(STATE)
    return found | {"state": begun(found["state"])} if found["ids"] else found


def begun(state: dict[str, Any]) -> dict[str, Any]:
    return state | {"acts": {key: act for key, act in state["acts"].items() if act != after.blank()}}


STATE = """() => new Promise((resolve) => {
    const opening = indexedDB.open("yardtrue");
    opening.onsuccess = () => {
        const asked = opening.result.transaction("states").objectStore("states").get("long-side-deck");
        asked.onsuccess = () => { opening.result.close(); resolve(asked.result ?? { ids: [] }); };
    };
})"""


def news(page: Page) -> Any:
    return page.locator(".news button")


def test_a_crew_link_opens_its_job_and_stays_nowhere(chromium: Browser, server: Server) -> None:
    link = link_of(server)
    with phone(chromium) as context:
        page = context.new_page()
        page.goto(f"{server.phone}icons/icon.svg")
        joined(page, server, link)
        expect(page.locator(".head")).to_contain_text(READY)
        assert page.url == f"{server.phone}#/job/{JOB}"
        page.go_back()
        assert link not in page.url
        page.goto(server.phone)
        expect(row_of(page, DECK)).to_contain_text(READY)
        expect(page.locator(".jobs li")).to_have_count(1)
        stored = page.evaluate("() => JSON.stringify([{ ...localStorage }, { ...sessionStorage }])")
        assert link not in stored


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("deck", "This is no crew link."),
        ("x" * 32, "This crew link does not open any job."),
        ("withdrawn", "This crew link does not open any job."),
        ("no signal", "The desk does not answer."),
    ],
)
def test_a_link_that_opens_nothing_is_told_and_stays_as_typed(chromium: Browser, server: Server, given: str, said: str) -> None:
    link = link_of(server)
    with phone(chromium) as context:
        page = context.new_page()
        page.goto(server.phone)
        expect(page.locator(".jobs li")).to_contain_text("crew link")
        page.get_by_role("button", name="Open a crew link").click()
        if given == "withdrawn":
            open_store(server.database).withdraw_link(JOB)
        if given == "no signal":
            page.wait_for_function("navigator.serviceWorker.ready.then(({ active }) => active.state === 'activated')")
            server.kill()
        text = f"{server.phone}#/crew/{link if ' ' in given or given == 'withdrawn' else given}"
        page.get_by_label("The link you were sent").fill(text)
        page.get_by_role("button", name="Open the link").click()
        expect(page.get_by_role("dialog")).to_contain_text(said)
        assert violations(page) == []
        if given == "no signal":
            server.start()
            page.get_by_role("button", name="Try again").click()
            expect(main_key(page)).to_have_text("Understood")
            return
        page.get_by_role("button", name="Understood").click()
        expect(page.get_by_label("The link you were sent")).to_have_value(text)
        assert page.evaluate("caches.has('yardtrue-kept').then((has) => has && caches.match('jobs/kept.json'))") in (None, False)


def test_what_one_did_the_other_sees_and_nothing_moves_under_a_thumb(chromium: Browser, server: Server) -> None:
    with two_phones(chromium, server) as (one, two):
        go_until(one, "Staked")
        in_step(one, two)
        expect(news(two)).to_contain_text("What is asked here has changed.")
        expect(two.locator(".here")).to_contain_text("step 1 of")
        expect(main_key(two)).to_have_text("Understood")
        before = two.evaluate(BOXES)
        news(two).click()
        expect(main_key(two)).to_have_text("Staked")
        expect(news(two)).to_have_count(0)
        tap_main(one, "Staked")
        before = two.evaluate(BOXES)
        in_step(one, two)
        expect(news(two)).to_contain_text("Footing 1 of beam 1 staked on the first phone,", ignore_case=True)
        assert two.evaluate(BOXES) == before
        assert violations(two) == []
        assert two.evaluate(TOO_WIDE) == 0
        news(two).click()
        expect(main_key(two)).not_to_have_text("Staked")
        two.locator(".here").click()
        expect(two.locator(".crew")).to_contain_text("This phone: all its entries are with the desk.")
        expect(two.locator(".crew")).to_contain_text("the first phone:")
        expect(two.locator(".crew")).to_contain_text("footing 1 of beam 1 staked on the first phone")
        assert violations(two) == []


def test_what_changes_nothing_here_comes_in_without_a_word_to_tap(chromium: Browser, server: Server) -> None:
    """The other phone stakes another footing: the step on this screen stays as it is, the stake is told and drawn."""
    with two_phones(chromium, server) as (one, two):
        go_until(one, "Staked")
        in_step(one, two)
        news(two).click()
        expect(main_key(two)).to_have_text("Staked")
        one.get_by_role("link", name="The step after").click()
        expect(main_key(one)).not_to_have_text("Staked")
        go_until(one, "Staked")
        tap_main(one, "Staked")
        before = two.evaluate(BOXES)
        key = main_key(two).element_handle()
        in_step(one, two)
        expect(news(two)).to_contain_text("Footing 2 of beam 1 staked on the first phone", ignore_case=True)
        expect(news(two)).to_contain_text("Seen")
        expect(two.locator("#point-G1-2.done")).to_be_attached()
        assert two.evaluate(BOXES) == before
        assert key.evaluate("it => it.isConnected") is True
        two.reload()
        expect(news(two)).to_contain_text("Footing 2 of beam 1 staked", ignore_case=True)
        news(two).click()
        expect(news(two)).to_have_count(0)
        two.reload()
        expect(sent_line(two)).to_have_text("all sent")
        expect(news(two)).to_have_count(0)
        tap_main(two, "Staked")
        in_step(two, one)
        made = entries(two)
        assert made[-1]["n"] == max(entry["n"] for entry in made[:-1]) + 1


def test_a_server_killed_in_the_middle_loses_and_doubles_nothing(chromium: Browser, server: Server) -> None:
    with two_phones(chromium, server) as (one, two):
        tap_main(one, "Understood")
        in_step(one, two)
        news_or_step(two, "step 2 of")
        server.kill()
        tap_main(one, "Understood")
        expect(sent_line(one)).to_have_text("1 still to send")
        tap_main(one, "Understood")
        tap_main(two, "Understood")
        expect(sent_line(one)).to_have_text("2 still to send")
        expect(sent_line(two)).to_have_text("1 still to send")
        one.reload()
        expect(sent_line(one)).to_have_text("2 still to send")
        expect(one.locator(".here")).to_contain_text("step 4 of")
        server.start()
        in_step(one, two)
        until(one, lambda: ids(one) == ids(two))
        held = open_store(server.database).entries(JOB)
        assert {entry["id"] for entry in held} == ids(one)
        assert len(held) == 4
        until(one, lambda: len(folded(one)["ids"]) == len(folded(two)["ids"]) == 4)
        assert folded(one)["state"] == folded(two)["state"] == folded_by_python(server, held)


def test_a_desk_put_back_to_an_older_day_gets_everything_again(chromium: Browser, server: Server) -> None:
    """From a backup made before any entry came: the phones' cursors are ahead of it."""
    with two_phones(chromium, server) as (one, two):
        tap_main(one, "Understood")
        tap_main(one, "Understood")
        in_step(one, two)
        held = ids(one)
        assert len(held) == 2
        server.kill()
        with sqlite3.connect(server.database.removeprefix("sqlite:///")) as database:
            database.execute("DELETE FROM entries")
            database.execute("UPDATE jobs SET arrived = 0")
        server.start()
        one.evaluate(SIGNAL)
        until(one, lambda: {entry["id"] for entry in open_store(server.database).entries(JOB)} == held)
        expect(sent_line(one)).to_have_text("all sent")
        in_step(one, two)
        assert ids(one) == ids(two) == held


def folded_by_python(server: Server, held: list[dict[str, Any]]) -> Any:
    document = document_of(server, JOB)
    return begun(walk.fold(document, held))


def news_or_step(page: Page, step: str) -> None:
    """Go on where the screen says that there is something to go on to."""
    expect(news(page)).to_be_visible()
    news(page).click()
    expect(page.locator(".here")).to_contain_text(step)


def test_a_key_is_not_taken_from_under_a_finger(chromium: Browser, server: Server) -> None:
    """While a finger is down nothing is made anew, though another window of this phone went on."""
    with phone(chromium) as context:
        page, other = context.new_page(), context.new_page()
        joined(page, server, link_of(server))
        other.goto(f"{server.phone}#/job/{JOB}")
        expect(sent_line(other)).to_have_text("all sent")
        box = main_key(page).bounding_box()
        key = main_key(page).element_handle()
        finger = context.new_cdp_session(page)
        point = {"x": box["x"] + 50, "y": box["y"] + 30}
        finger.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [point]})
        tap_main(other, "Understood")
        other.wait_for_timeout(2500)
        expect(page.locator(".here")).to_contain_text("step 1 of")
        assert key.evaluate("it => it.isConnected") is True
        finger.send("Input.dispatchTouchEvent", {"type": "touchCancel", "touchPoints": []})
        expect(page.locator(".here")).to_contain_text("step 2 of")
        assert len(entries(page)) == 1


def posts_of(context: BrowserContext) -> list[dict[str, Any]]:
    """The bodies of all that a phone's windows send from now on."""
    found: list[dict[str, Any]] = []

    def note(request: Any) -> None:
        if request.method == "POST" and request.url.endswith("/entries"):
            found.append(json.loads(request.post_data))

    context.on("request", note)
    return found


def test_two_windows_of_a_phone_send_an_entry_once(chromium: Browser, server: Server) -> None:
    with phone(chromium) as context:
        page, other = context.new_page(), context.new_page()
        joined(page, server, link_of(server))
        other.goto(f"{server.phone}#/job/{JOB}")
        expect(sent_line(other)).to_have_text("all sent")
        posts = posts_of(context)
        for step in range(2, 6):
            main_key(page).click()
            expect(other.locator(".here")).to_contain_text(f"step {step} of")
        until(page, lambda: page.evaluate(SYNC)["unsent"] == [])
        expect(sent_line(other)).to_have_text("all sent")
        sent = [entry["id"] for post in posts for entry in post["entries"]]
        assert sorted(sent) == sorted(ids(page))
        assert len(sent) == 4


APPEND = """async (entry) => (await import("./data/book.js")).append(entry)"""


def other_entry(page: Page, **parts: Any) -> dict[str, Any]:
    """An entry like the newest one of this phone, of its own id."""
    newest = entries(page)[-1]
    return newest | {"id": f"made-{parts.get('kind')}", "n": newest["n"] + 1} | parts


def test_a_refused_entry_stays_and_is_told(chromium: Browser, server: Server) -> None:
    with phone(chromium) as context:
        page = context.new_page()
        joined(page, server, link_of(server))
        tap_main(page, "Understood")
        expect(page.locator(".here")).to_contain_text("step 2 of")
        page.evaluate(APPEND, other_entry(page, kind="strange"))
        tap_main(page, "Understood")
        expect(page.locator(".here")).to_contain_text("step 3 of")
        expect(sent_line(page)).to_have_text("1 not taken")
        assert len(entries(page)) == 3
        assert len(open_store(server.database).entries(JOB)) == 2
        page.locator(".here").click()
        expect(page.locator(".crew")).to_contain_text("The desk did not take 1 entry. It stays in this phone's field book.")
        expect(page.locator(".crew")).to_contain_text("kind")
        assert violations(page) == []
        page.reload()
        expect(page.locator(".crew")).to_contain_text("The desk did not take 1 entry.")


def test_a_link_made_anew_shuts_the_phone_out_until_it_opens_that(chromium: Browser, server: Server) -> None:
    with phone(chromium) as context:
        page = context.new_page()
        joined(page, server, link_of(server))
        newer = link_of(server)
        tap_main(page, "Understood")
        expect(sent_line(page)).to_have_text("1 wait: open crew link")
        page.locator(".here").click()
        expect(page.locator(".crew")).to_contain_text("Ask for the crew link of today")
        assert violations(page) == []
        joined(page, server, newer)
        assert ids(page) == {entry["id"] for entry in open_store(server.database).entries(JOB)}


def test_a_clock_that_is_off_by_hours_changes_a_text_and_nothing_else(chromium: Browser, server: Server) -> None:
    late = "(() => { const now = Date.now; Date.now = () => now() + 7 * 3600e3; const Real = Date; " \
        "globalThis.Date = class extends Real { constructor(...given) { super(...(given.length ? given : [Real.now()])); } }; })();"
    with two_phones(chromium, server) as (one, two):
        two.add_init_script(late)
        two.reload()
        expect(sent_line(two)).to_have_text("all sent")
        tap_main(two, "Understood")
        in_step(two, one)
        news_or_step(one, "step 2 of")
        tap_main(one, "Understood")
        in_step(one, two)
        expect(news(two)).to_be_visible()
        news_or_step(two, "step 3 of")
        until(one, lambda: len(folded(one)["ids"]) == len(folded(two)["ids"]) == 2)
        assert folded(one)["state"] == folded(two)["state"]
        made = entries(one)
        assert made[0]["at"] > made[1]["at"]
        assert [entry["n"] for entry in made] == [1, 2]


OLD = """(entries) => new Promise((resolve) => {
    const opening = indexedDB.open("yardtrue", 2);
    opening.onupgradeneeded = () => {
        opening.result.createObjectStore("entries", { keyPath: "id" }).createIndex("job", "job");
        opening.result.createObjectStore("self", { keyPath: "key" });
        opening.result.createObjectStore("states", { keyPath: "job" });
    };
    opening.onsuccess = () => {
        const writing = opening.result.transaction(["entries", "self"], "readwrite");
        for (const entry of entries) writing.objectStore("entries").add(entry);
        writing.objectStore("self").add({ key: "device", value: "older" });
        writing.oncomplete = () => { opening.result.close(); resolve(); };
    };
})"""


def test_a_book_written_before_there_was_a_crew_goes_up_whole(chromium: Browser, server: Server) -> None:
    book = field_book(document_of(server, JOB), "pull")
    with phone(chromium) as context:
        page = context.new_page()
        page.goto(f"{server.phone}icons/icon.svg")
        page.evaluate(OLD, book["entries"])
        joined(page, server, link_of(server))
        expect(main_key(page)).to_have_text("Enter reading")
        assert entries(page) == book["entries"]
        assert open_store(server.database).entries(JOB) == book["entries"]
        read(page, wanted(page))
        expect(sent_line(page)).to_have_text("all sent")
        assert entries(page)[-1]["device"] == "older"


def test_a_long_book_goes_up_and_comes_down_in_parts(chromium: Browser, server: Server) -> None:
    book = field_book(document_of(server, JOB), "pull")
    last = book["entries"][-1]
    notes = [last | {"id": f"note-{n}", "kind": "note", "n": last["n"] + 1 + n} for n in range(1200)]
    link = link_of(server)
    with phone(chromium) as one, phone(chromium) as two:
        page, other = one.new_page(), two.new_page()
        posts = posts_of(one)
        page.goto(server.phone)
        open_book(page, book | {"entries": [*book["entries"], *notes]})
        expect(main_key(page)).to_have_text("Enter reading")
        expect(sent_line(page)).to_have_text(f"{len(book['entries']) + 1200} wait: open crew link")
        joined(page, server, link)
        assert [len(post["entries"]) for post in posts if post["entries"]] == [500, 500, len(book["entries"]) + 200]
        joined(other, server, link)
        until(other, lambda: ids(other) == ids(page))
        assert len(ids(other)) == len(book["entries"]) + 1200
        expect(news(other)).to_have_count(0 if main_key(other).inner_text() == "Enter reading" else 1)


def since_of(page: Page) -> int:
    return int(page.evaluate(SYNC)["syncs"][0]["since"])


FULL = """() => {
    globalThis.added = IDBObjectStore.prototype.add;
    IDBObjectStore.prototype.add = function () { this.transaction.abort(); };
}"""
EMPTIED = "() => { IDBObjectStore.prototype.add = globalThis.added; }"


def test_a_full_phone_keeps_what_it_has_and_takes_the_rest_later(chromium: Browser, server: Server) -> None:
    """What cannot be written down does not move the cursor on: it comes again."""
    with two_phones(chromium, server) as (one, two):
        tap_main(two, "Understood")
        until(two, lambda: since_of(two) == 1)
        held = ids(two)
        [worker] = two.workers
        worker.evaluate(FULL)
        main_key(one).click()
        until(one, lambda: len(open_store(server.database).entries(JOB)) == 2)
        two.evaluate(SIGNAL)
        two.wait_for_timeout(1500)
        assert ids(two) == held
        assert since_of(two) == 1
        worker.evaluate(EMPTIED)
        two.evaluate(SIGNAL)
        until(two, lambda: ids(two) == ids(one))


class Quiet(http.server.SimpleHTTPRequestHandler):
    """A host of files that tells nobody."""

    def log_message(self, format: str, *args: Any) -> None:
        return


@contextmanager
def static_host(folder: Path) -> Iterator[str]:
    """A plain host of files: it knows no POST."""
    host = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Quiet, directory=str(folder)))
    threading.Thread(target=host.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{host.server_address[1]}/phone/"
    finally:
        host.shutdown()
        host.server_close()


def test_on_a_host_of_files_it_stays_quiet(chromium: Browser, tmp_path: Path) -> None:
    for path, content in whole_tree([plan.plan(JOB, spec(JOB))]).items():
        file = tmp_path / "phone" / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content)
    with static_host(tmp_path) as address, phone(chromium) as context:
        page = context.new_page()
        posts = posts_of(context)
        page.goto(address)
        page.get_by_role("button", name=f"Keep on this phone: {DECK}").click()
        expect(row_of(page, DECK)).to_contain_text(READY)
        open_job(page)
        until(page, lambda: len(posts) == 1)
        tap_main(page, "Understood")
        expect(page.locator(".here")).to_contain_text("step 2 of")
        page.wait_for_timeout(2500)
        expect(sent_line(page)).to_have_text("")
        assert len(posts) == 1
        page.locator(".here").click()
        expect(page.locator(".steps")).to_be_visible()
        expect(page.locator(".crew")).to_have_count(0)


def test_the_desk_is_a_crew_of_one_without_a_link(chromium: Browser, server: Server) -> None:
    """Whoever entered the desk on this phone needs no link."""
    with phone(chromium) as context:
        page = context.new_page()
        keep(page, server)
        open_job(page)
        expect(sent_line(page)).to_have_text("all sent")
        tap_main(page, "Understood")
        until(page, lambda: len(open_store(server.database).entries(JOB)) == 1)
