"""The field book: on the disk before the screen moves on, saved as a file, opened on another phone, refused in plain words."""
import json
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from server.field import walk
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
    tap_length,
    tap_main,
    wanted,
)

WATCH_WRITES = """() => {
    const began = IDBDatabase.prototype.transaction;
    globalThis.writes = [];
    IDBDatabase.prototype.transaction = function (stores, mode, options) {
        if (mode === 'readwrite') {
            const write = { durability: options?.durability, before: document.querySelector('main').innerText };
            const transaction = began.call(this, stores, mode, options);
            transaction.addEventListener('complete', () => (write.shown = document.querySelector('main').innerText));
            globalThis.writes.push(write);
            return transaction;
        }
        return began.call(this, stores, mode, options);
    };
}"""
FULL = """() => {
    globalThis.added = IDBObjectStore.prototype.add;
    IDBObjectStore.prototype.add = () => { throw new DOMException('full', 'QuotaExceededError'); };
}"""
EMPTIED = "() => { IDBObjectStore.prototype.add = globalThis.added; }"


@pytest.fixture(scope="module")
def book(server: Server) -> dict[str, Any]:
    """Another phone's field book of the deck, up to the first square check."""
    return field_book(document_of(server, "long-side-deck"), "pull")


def test_a_reading_is_on_the_disk_before_the_screen_moves_on(page: Page, server: Server, book: dict[str, Any]) -> None:
    page.goto(server.phone)
    open_book(page, book)
    expect(main_key(page)).to_have_text("Enter reading")
    page.evaluate(WATCH_WRITES)
    read(page, wanted(page))
    writes = page.evaluate("() => globalThis.writes")
    strict = [write for write in writes if write["durability"] == "strict"]
    assert len(strict) == 1
    assert strict[0]["shown"] == strict[0]["before"]


def test_a_reading_that_cannot_be_written_stays_on_the_screen(page: Page, server: Server, book: dict[str, Any]) -> None:
    page.goto(server.phone)
    open_book(page, book)
    expect(main_key(page)).to_have_text("Enter reading")
    page.evaluate(FULL)
    main_key(page).click()
    tap_length(page, 349.875)
    tap_main(page, "Use reading")
    expect(page.get_by_role("dialog")).to_contain_text("This could not be written down.")
    page.get_by_role("button", name="Understood").click()
    expect(page.locator(".shown")).to_have_text("29' 1 7/8\"")
    assert len(entries(page)) == len(book["entries"])
    page.evaluate(EMPTIED)
    tap_main(page, "Use reading")
    expect(page.locator(".verdict")).to_contain_text("It holds.")
    assert len(entries(page)) == len(book["entries"]) + 1


def test_a_saved_book_goes_on_on_another_phone(chromium: Browser, page: Page, server: Server, tmp_path: Path) -> None:
    keep(page, server)
    open_job(page)
    tap_main(page, "Understood")
    expect(page.locator(".here")).to_contain_text("step 2 of")
    first = entries(page)
    saved = save(page, tmp_path)
    assert json.loads(saved)["entries"] == first
    with phone(chromium) as context:
        other = context.new_page()
        other.goto(server.phone)
        open_book(other, saved)
        expect(other.locator(".here")).to_contain_text("step 2 of")
        expect(other.locator(".head")).to_contain_text(READY)
        tap_main(other, "Understood")
        expect(other.locator(".here")).to_contain_text("step 3 of")
        both = entries(other)
        assert both[0] == first[0]
        assert both[1]["n"] == 2
        assert both[1]["device"] != first[0]["device"]
        back = save(other, tmp_path)
    page.goto(server.phone)
    open_book(page, back)
    expect(page.locator(".here")).to_contain_text("step 3 of")
    assert entries(page) == both
    page.goto(server.phone)
    open_book(page, back)
    expect(page.get_by_role("status").filter(has_text="0 new of 2")).to_be_visible()
    assert entries(page) == both


def save(page: Page, folder: Path) -> bytes:
    """Save the field book on the screen of how true; the file's bytes."""
    page.get_by_role("link", name="How true").click()
    with page.expect_download() as download:
        page.locator("#save").click()
    file = folder / download.value.suggested_filename
    assert file.name.startswith("field-book-long-side-deck-")
    download.value.save_as(file)
    return file.read_bytes()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda book: b"{ cut off", "cannot be read as a field book"),
        (lambda book: [], "is not a field book"),
        (lambda book: book | {"kind": "other"}, "is not a field book"),
        (lambda book: book | {"schema": 2}, "written by another version"),
        (lambda book: book | {"document": {}}, "carries no plan"),
        (lambda book: book | {"entries": [*book["entries"], {"id": "x"}]}, "an entry that cannot be read"),
        (lambda book: book | {"entries": [book["entries"][0] | {"job": "../x"}]}, "an entry that cannot be read"),
    ],
)
def test_a_file_that_is_no_field_book_is_refused_whole(
    page: Page, server: Server, book: dict[str, Any], change: Any, said: str
) -> None:
    page.goto(server.phone)
    expect(row_of(page, DECK)).to_be_visible()
    open_book(page, change(book))
    expect(page.get_by_role("dialog")).to_contain_text(said)
    expect(page.get_by_role("dialog")).to_contain_text("Nothing here has changed" if "version" not in said else "up to date")
    page.get_by_role("button", name="Understood").click()
    assert entries(page) == []


def test_two_windows_write_one_book(page: Page, server: Server) -> None:
    keep(page, server)
    open_job(page)
    other = page.context.new_page()
    other.goto(f"{server.phone}#/job/long-side-deck")
    tap_main(other, "Understood")
    expect(page.locator(".here")).to_contain_text("step 2 of")
    tap_main(page, "Understood")
    expect(other.locator(".here")).to_contain_text("step 3 of")
    assert [entry["n"] for entry in entries(page)] == [1, 2]


KEPT = """(pulls) => new Promise((resolve) => {
    const opening = indexedDB.open("yardtrue");
    opening.onsuccess = () => {
        const transaction = opening.result.transaction("states", "readwrite");
        const states = transaction.objectStore("states");
        const asked = states.get("long-side-deck");
        asked.onsuccess = () => {
            if (asked.result && pulls !== null) states.put({ ...asked.result, state: { ...asked.result.state, pulls } });
        };
        transaction.oncomplete = () => { opening.result.close(); resolve(asked.result?.ids.length ?? 0); };
    };
})"""


def await_kept(page: Page, count: int) -> None:
    """Wait until the state after so many entries is kept. Raises TimeoutError."""
    for _ in range(200):
        if page.evaluate(KEPT, None) == count:
            return
        page.wait_for_timeout(50)
    raise TimeoutError(count)


def test_a_start_goes_on_with_the_kept_state_and_undo_folds_anew(page: Page, server: Server) -> None:
    book = field_book(document_of(server, "long-side-deck"), "stake")
    pulls = sum(entry["kind"] == "reading" for entry in book["entries"])
    page.goto(server.phone)
    open_book(page, book)
    expect(main_key(page)).to_have_text("Staked")
    await_kept(page, len(book["entries"]))
    expect(page.locator(".head")).to_contain_text("all sent")
    page.evaluate(KEPT, pulls + 700)
    page.goto(f"{server.phone}#/job/long-side-deck/truth")
    page.reload()
    expect(page.locator("main")).to_contain_text(f"{pulls + 700} pulls")
    tap_main(page, "Go on")
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("status").filter(has_text="Taken back")).to_be_visible()
    page.get_by_role("link", name="How true").click()
    expect(page.locator("main")).to_contain_text(f"{pulls} pulls")


def test_an_entry_that_came_after_the_kept_state_counts(chromium: Browser, page: Page, server: Server) -> None:
    keep(page, server)
    open_job(page)
    tap_main(page, "Understood")
    expect(page.locator(".here")).to_contain_text("step 2 of")
    await_kept(page, 1)
    tap_main(page, "Understood")
    expect(page.locator(".here")).to_contain_text("step 3 of")
    page.reload()
    expect(page.locator(".here")).to_contain_text("step 3 of")


STATE = """() => new Promise((resolve) => {
    const opening = indexedDB.open("yardtrue");
    opening.onsuccess = () => {
        const asked = opening.result.transaction("states").objectStore("states").get("long-side-deck");
        asked.onsuccess = () => { opening.result.close(); resolve(asked.result?.state ?? null); };
    };
})"""


def test_the_state_kept_is_the_one_python_folds_from_the_same_entries(page: Page, server: Server, book: dict[str, Any]) -> None:
    """What was reckoned while a reading was typed, and while it was written, comes to the very same numbers."""
    page.goto(server.phone)
    open_book(page, book)
    expect(main_key(page)).to_have_text("Enter reading")
    for off in (0.5, 0.0):
        read(page, wanted(page) + off)
        expect(page.locator(".verdict")).to_be_visible()
        if off:
            tap_main(page, "Moved it")
            expect(main_key(page)).to_have_text("Enter reading")
    go_until(page, "Staked")
    done = entries(page)
    await_kept(page, len(done))
    kept, document = page.evaluate(STATE), book["document"]
    folded = walk.fold(document, done)
    walk.step_list(document, folded)  # asking makes an empty record of every act: the phone has asked
    assert kept == folded
