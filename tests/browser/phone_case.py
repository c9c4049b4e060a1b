"""What the tests of the phone share: a server that can be killed, a phone, and how a thumb walks the screens."""
from __future__ import annotations

import json
import math
import shutil
import socket
import time
import urllib.parse
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing.context import ForkServerProcess
from pathlib import Path
from typing import Any

from axe_core_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, expect

from server.field import tape, walk
from server.places import PWA
from tests.browser import phone_server
from tests.entered import KEY, let_in
from tests.forks import fork

PHONE: dict[str, Any] = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
DECK, PLATFORM = "Long side deck", "Pear tree platform"
READY = "ready without signal"
PATIENCE = 30.0


class Server:
    """A server process on a port of its own; the same address and database each time it is started."""

    def __init__(self, folder: Path) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = int(probe.getsockname()[1])
        self.address = f"http://127.0.0.1:{self.port}"
        self.phone = f"{self.address}/phone/"
        self.database = f"sqlite:///{folder / 'jobs.sqlite3'}"
        self.process: ForkServerProcess | None = None
        self.opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())

    def start(self, pwa: Path = PWA, broken: str = "") -> None:
        """Start it and wait until it answers. Raises TimeoutError."""
        self.process = fork(phone_server.serve, self.port, self.database, str(pwa), broken)
        end = time.monotonic() + PATIENCE
        while not self.answers():
            if time.monotonic() > end:
                raise TimeoutError(self.address)
            time.sleep(0.1)

    def answers(self) -> bool:
        with socket.socket() as probe:
            return probe.connect_ex(("127.0.0.1", self.port)) == 0

    def enter(self, visitor: Page | BrowserContext) -> None:
        """Let a browser's context in at the desk, without a page of its own. The server has to answer."""
        let_in(visitor if isinstance(visitor, BrowserContext) else visitor.context, self.address)

    def fetched(self, path: str) -> Any:
        """What the server gives a program at the desk, as JSON."""
        self.opener.open(f"{self.address}/enter", urllib.parse.urlencode({"key": KEY}).encode()).close()
        with self.opener.open(self.address + path) as answer:
            return json.load(answer)

    def kill(self) -> None:
        if self.process:
            self.process.kill()
            self.process.join()
            self.process = None
        assert not self.answers()


@contextmanager
def serving(folder: Path) -> Iterator[Server]:
    """A server that has been started; dead at the end."""
    server = Server(folder)
    server.start()
    try:
        yield server
    finally:
        server.kill()


@contextmanager
def phone(browser: Browser, **options: Any) -> Iterator[BrowserContext]:
    """A phone with nothing on it yet; a fault on any of its pages fails the test."""
    context = browser.new_context(**{**PHONE, **options})
    faults: list[str] = []
    context.on("page", lambda page: page.on("pageerror", lambda fault: faults.append(str(fault))))
    yield context
    context.close()
    assert faults == [], faults


def document_of(server: Server, job: str) -> dict[str, Any]:
    """A job's document as the server gives it."""
    jobs = server.fetched("/phone/jobs/index.json")["jobs"]
    path = next(one["files"][0] for one in jobs if one["id"] == job)
    found: dict[str, Any] = server.fetched(f"/phone/{path}")
    return found


def field_book(document: dict[str, Any], stop: str) -> dict[str, Any]:
    """The field book of another phone that did and read all as asked, up to the first ask of this kind."""
    state, kept = walk.fold(document, []), []
    ask = walk.next_ask(document, state)
    while ask["ask"] != stop:
        given = {"inches": ask["target"]} if ask["ask"] == "pull" else {"done": True}
        entry = walk.answer(document, state, ask, given)["entry"] | {
            "id": f"other-{len(kept)}", "n": len(kept) + 1, "device": "other", "at": "2026-05-04T08:00:00.000Z",
            "revision": document["digest"], "job": document["job"]["id"],
        }
        kept.append(entry)
        walk.apply(document, state, entry)
        ask = walk.next_ask(document, state)
    job = document["job"]
    return {"schema": 1, "kind": "yardtrue field book", "job": job["id"], "name": job["name"], "document": document, "entries": kept}


def open_book(page: Page, book: Any, name: str = "field-book.json") -> None:
    """Choose a field book file on the list of jobs."""
    content = book if isinstance(book, bytes) else json.dumps(book).encode()
    file = {"name": name, "mimeType": "application/json", "buffer": content}
    page.locator("input[type=file]").set_input_files(file)  # type: ignore[arg-type]


def copy_of_shell(folder: Path, path: str, old: str, new: str) -> Path:
    """The phone's shell in a folder, with one file changed."""
    shutil.copytree(PWA, folder, ignore=shutil.ignore_patterns("__pycache__"))
    file = folder / path
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new), encoding="utf-8")
    return folder


def keep(page: Page, server: Server, name: str = DECK) -> None:
    """From nothing to a job that is ready without signal."""
    server.enter(page)
    page.goto(server.phone)
    page.get_by_role("button", name=f"Keep on this phone: {name}").click()
    expect(row_of(page, name)).to_contain_text(READY)


def row_of(page: Page, name: str) -> Any:
    return page.locator(".jobs li").filter(has_text=name)


def open_job(page: Page, name: str = DECK) -> None:
    page.get_by_role("link", name=f"Open: {name}").click()
    expect(main_key(page)).to_be_visible()


def main_key(page: Page) -> Any:
    return page.locator("#main")


def tap_main(page: Page, text: str) -> None:
    """Tap the big key, which has to say this."""
    expect(main_key(page)).to_have_text(text)
    main_key(page).click()


def go_until(page: Page, text: str) -> None:
    """Do what is asked, reading exactly what is wanted, until the big key says this."""
    for _ in range(80):
        now = main_key(page).inner_text()
        if now == text:
            return
        before = page.locator("main").inner_text()
        if now.startswith("Enter reading"):
            read(page, wanted(page))
        else:
            main_key(page).click()
        expect(page.locator("main")).not_to_have_text(before, use_inner_text=True)
    raise AssertionError(f"never came to {text}")


def wanted(page: Page) -> float:
    """The reading that is asked for, in inches."""
    return inches_of(page.locator(".task .reading").inner_text())


def inches_of(text: str) -> float:
    read = tape.parse(text, "inch")
    assert read["status"] == "ok", text
    return float(read["inches"])


def read(page: Page, inches: float) -> None:
    """Enter a reading on the pad of its unit and use it."""
    main_key(page).click()
    tap_length(page, inches)
    tap_main(page, "Use reading")
    expect(page.locator(".task")).to_be_visible()


def tap_length(page: Page, inches: float) -> None:
    """Tap a length: feet, inch and sixteenth, or digits of millimetres."""
    expect(page.locator(".tapepad, .digitpad").first).to_be_visible()
    if page.locator(".digitpad").count():
        for digit in str(round(inches * tape.MM)):
            page.locator(".key.digit", has_text=digit).click()
        return
    sixteenths = math.floor(inches * 16 + 0.5)
    for stage, value in (("feet", sixteenths // 192), ("inch", sixteenths % 192 // 16), ("sixteenth", sixteenths % 16)):
        tap_part(page, stage, value)


def tap_part(page: Page, stage: str, value: int) -> None:
    page.locator(f'[data-stage="{stage}"][data-value="{value}"]').click()


def entries(page: Page) -> list[dict[str, Any]]:
    """Every entry in the phone's database, in the order of the book; none where no database was made yet."""
    found: list[dict[str, Any]] = page.evaluate(
        """() => new Promise((resolve, reject) => {
            const opening = indexedDB.open("yardtrue");
            let made = true;
            opening.onupgradeneeded = () => { made = false; opening.transaction.abort(); };
            opening.onerror = () => (made ? reject(opening.error) : resolve([]));
            opening.onsuccess = () => {
                const asked = opening.result.transaction("entries").objectStore("entries").getAll();
                asked.onsuccess = () => { opening.result.close(); resolve(asked.result); };
            };
        })"""
    )
    return sorted(found, key=lambda entry: entry["n"])


def violations(page: Page) -> list[str]:
    found = Axe().run(page)["violations"]
    return [f"{one['id']}: {node['html'][:120]}" for one in found for node in one["nodes"]]
