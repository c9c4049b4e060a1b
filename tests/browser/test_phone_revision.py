"""A newer plan in the middle of a walk: offered between steps, what changes shown before, what still holds carried over."""
from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from server import plan
from server.store import open_store
from tests.browser.phone_case import (
    DECK,
    READY,
    Server,
    document_of,
    entries,
    field_book,
    keep,
    main_key,
    open_book,
    open_job,
    phone,
    serving,
    tap_main,
    violations,
)

JOB = "long-side-deck"
POSTS = ["1' 4\"", "7' 2\"", "13'", "18' 10\"", "24' 8\""]
LEFT = ["1' 4\"", "7' 2\"", "12' 9 5/8\"", "18' 10\"", "24' 8\""]


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    with serving(tmp_path) as server:
        yield server


def revise(server: Server, **changes: Any) -> None:
    """A newer revision of the deck in the server's database."""
    store = open_store(server.database)
    before = [(saved.digest, saved.spec) for saved in store.revisions(JOB)]
    store.save_revision(JOB, before[0][1] | changes, lambda job, spec: plan.plan(job, spec, before).digest)


def beams(*posts: str) -> list[dict[str, Any]]:
    return [{"setback": "11' 6\"", "plies": 2, "size": "2x10", "posts": {"at": list(posts)}}]


def look(page: Page) -> Any:
    """The newer plan's changes, on their sheet."""
    expect(page.locator(".offer")).to_contain_text("newer plan")
    page.get_by_role("button", name="See what changes").click()
    return page.get_by_role("dialog")


def walked(page: Page, server: Server, stop: str) -> list[dict[str, Any]]:
    """A phone that has kept the deck and taken in a walk up to the first ask of a kind; its entries."""
    keep(page, server)
    open_book(page, field_book(document_of(server, JOB), stop))
    expect(page.locator(".head")).to_contain_text(READY)
    expect(main_key(page)).to_be_visible()
    return entries(page)


def test_a_footing_that_moved_is_shown_and_all_else_counts_on(chromium: Browser, server: Server) -> None:
    revise(server, beams=beams(*POSTS))
    with phone(chromium) as context:
        page = context.new_page()
        before = walked(page, server, "end")
        revise(server, beams=beams(*LEFT))
        page.reload()
        sheet = look(page)
        expect(sheet.locator("li")).to_have_count(1)
        expect(sheet.locator("li")).to_contain_text("Footing 3 of beam 1: 2 3/8\" to the left")
        expect(sheet.locator("li")).to_contain_text("Its stake stands at the old place: pull it out.")
        expect(sheet).to_contain_text("To be done again: Footing marks on beam string 1 · Make the marks sure · Beam 1, footing 3")
        assert violations(page) == []
        sheet.get_by_role("button", name="Later").click()
        assert entries(page) == before
        page.reload()
        look(page).get_by_role("button", name="Take it").click()
        expect(page.get_by_role("status").filter(has_text="taken")).to_be_visible()
        expect(page.locator(".task h2")).to_contain_text("flag 3 on beam 1's string")
        server.kill()
        tap_main(page, "Done")
        after = entries(page)
        assert after[:-1] == before
        assert after[-1]["revision"] != before[-1]["revision"]
        assert after[-1]["seen"] == {"other": before[-1]["n"]}
        page.reload()
        expect(page.locator(".here")).to_contain_text("Make the marks sure")


def test_marks_that_went_and_came_are_shown(chromium: Browser, server: Server) -> None:
    revise(server, beams=beams(*POSTS))
    with phone(chromium) as context:
        page = context.new_page()
        walked(page, server, "end")
        revise(server, beams=beams("1' 4\"", "6' 2\"", "10'", "14'", "19' 10\"", "24' 8\""))
        page.reload()
        sheet = look(page)
        expect(sheet.locator("li").filter(has_text="Footing 6 of beam 1: new")).to_be_visible()
        expect(sheet.locator("li")).to_have_count(5)
        assert violations(page) == []
        main = sheet.get_by_role("button", name="Take it").bounding_box()
        assert main is not None
        assert main["y"] + main["height"] <= 844
        page.get_by_role("button", name="Later").click()
        revise(server, beams=beams(*POSTS[:4]))
        page.reload()
        gone = look(page).locator("li")
        expect(gone).to_have_count(1)
        expect(gone).to_contain_text("Footing 5 of beam 1: no longer on the plan")
        expect(gone).to_contain_text("pull it out")


def test_a_plan_of_the_same_yard_is_taken_without_a_word_more(chromium: Browser, server: Server) -> None:
    with phone(chromium) as context:
        page = context.new_page()
        keep(page, server)
        open_job(page)
        tap_main(page, "Understood")
        tap_main(page, "Understood")
        before = entries(page)
        revise(server, name="Long side deck, again")
        page.reload()
        expect(page.locator(".offer")).to_contain_text("every reading counts on")
        expect(page.locator(".here")).to_contain_text("step 3 of")
        page.get_by_role("button", name="Later").click()
        page.reload()
        page.get_by_role("button", name="Take it").click()
        expect(page.get_by_role("status").filter(has_text="taken")).to_be_visible()
        expect(page.locator(".here")).to_contain_text("step 3 of")
        expect(page.locator("h1")).to_have_text("Long side deck, again")
        tap_main(page, "Understood")
        expect(page.locator(".offer")).to_have_count(0)
        after = entries(page)
        assert after[:-1] == before
        assert after[-1]["revision"] != before[-1]["revision"]


def test_a_newer_plan_waits_until_the_step_is_done(chromium: Browser, server: Server) -> None:
    with phone(chromium) as context:
        page = context.new_page()
        walked(page, server, "pull")
        revise(server, beams=beams(*LEFT))
        page.reload()
        expect(page.locator(".head")).to_contain_text(READY)
        page.wait_for_timeout(1500)
        expect(page.locator(".offer")).to_be_hidden()
        assert DECK in page.locator("h1").inner_text()


FORGETFUL = """(digest) => {
    const json = Response.prototype.json;
    Response.prototype.json = async function () {
        const found = await json.call(this);
        if (found?.digest && found.digest !== digest) delete found.carries[digest];
        return found;
    };
}"""


def test_the_phone_carries_over_by_itself_where_the_plan_does_not_know_of_the_one_it_walked(chromium: Browser, server: Server) -> None:
    """A folder of bundles has no history, and another version of Yardtrue makes another document of the same job."""
    revise(server, beams=beams(*POSTS))
    with phone(chromium) as context:
        page = context.new_page()
        before = walked(page, server, "end")
        revise(server, beams=beams(*LEFT))
        page.add_init_script(f"({FORGETFUL})('{before[0]['revision']}')")
        page.reload()
        look(page).get_by_role("button", name="Take it").click()
        expect(page.get_by_role("status").filter(has_text="taken")).to_be_visible()
        expect(page.locator(".task h2")).to_contain_text("flag 3 on beam 1's string")
