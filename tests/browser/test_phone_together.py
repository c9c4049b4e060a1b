"""What two phones did without knowing of each other, on the screen: staked twice, moved and read, chosen two ways."""
from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.phone_case import (
    READY,
    Server,
    document_of,
    entries,
    field_book,
    keep,
    main_key,
    open_book,
    read,
    serving,
    tap_main,
    violations,
    wanted,
)

JOB = "long-side-deck"


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    """A server of its own for each test: phones send their books to it."""
    with serving(tmp_path) as server:
        yield server


def walked(page: Page, server: Server, stop: str) -> dict[str, Any]:
    """A phone with the walk of another one up to the first ask of a kind; that book."""
    book = field_book(document_of(server, JOB), stop)
    keep(page, server)
    open_book(page, book)
    expect(page.locator(".head")).to_contain_text(READY)
    expect(main_key(page)).to_be_visible()
    return book


def meanwhile(page: Page, server: Server, book: dict[str, Any], **part: Any) -> None:
    """The other phone did something more and knew nothing of this one; its book is opened here."""
    last = book["entries"][-1]
    entry = {key: last[key] for key in ("device", "at", "revision", "job")} | {"id": "meanwhile", "n": last["n"] + 1, "seen": {}} | part
    page.goto(server.phone)
    open_book(page, {**book, "entries": [*book["entries"], entry]})
    expect(main_key(page)).to_be_visible()


def test_a_mark_staked_on_both_phones_says_which_stake_to_leave(page: Page, server: Server) -> None:
    book = walked(page, server, "stake")
    tap_main(page, "Staked")
    expect(main_key(page)).not_to_have_text("Staked")
    mine = entries(page)[-1]
    assert mine["seen"] == {"other": book["entries"][-1]["n"]}
    meanwhile(page, server, book, kind="stake", step="footing-1-1", act=1, point="G1-1", off=[1.0, 0.0])
    expect(page.locator(".task h2")).to_have_text("footing 1 of beam 1 is staked twice: on this phone and on the first phone.")
    expect(page.locator(".verdict")).to_contain_text(
        "Leave the stake of the first phone, pull the other one out, and say how the one that is left stands."
    )
    expect(main_key(page)).to_have_text("Staked")
    assert violations(page) == []
    page.get_by_role("link", name="How true").click()
    expect(page.locator(".together li")).to_have_count(1)
    expect(page.locator(".together li")).to_contain_text("on this phone and on the first phone")
    assert violations(page) == []
    tap_main(page, "Go on")
    tap_main(page, "Staked")
    expect(page.locator(".task h2")).not_to_contain_text("twice")
    page.get_by_role("link", name="How true").click()
    expect(page.locator(".together")).to_have_count(0)
    assert entries(page)[-1]["seen"] == {"other": book["entries"][-1]["n"] + 1}


def test_a_reading_taken_while_the_other_phone_moved_the_nail_is_asked_again(page: Page, server: Server) -> None:
    book = walked(page, server, "pull")
    read(page, wanted(page))
    expect(page.locator(".verdict.ended")).to_be_visible()
    meanwhile(page, server, book, kind="move", step="left-string", act=book["entries"][-1]["act"] + 1, point="NL", by=[0.5, 0.0])
    expect(page.locator(".verdict")).to_contain_text(
        "This was pulled while the first phone moved the left string's nail. Nobody can say which came first. Pull it once more."
    )
    assert violations(page) == []
    read(page, wanted(page))
    expect(page.locator(".here")).to_contain_text("eft string")
