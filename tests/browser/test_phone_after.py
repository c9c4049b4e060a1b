"""After digging or pouring: strings back up, anchors tied, marks looked at again; begun on the phone, with the server dead."""
from __future__ import annotations

import math
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Error, Page, expect

from server.field import say, tape, walk
from server.words import words
from tests.browser.own_browser import kill_all_of, launched, own_browser
from tests.browser.phone_case import (
    READY,
    Server,
    document_of,
    entries,
    main_key,
    read,
    serving,
    tap_main,
    violations,
    wanted,
)
from tests.browser.test_phone_ways import WATCH_WRITES, WHOLE, at_stake, never, of_kind, opened, walked

DECK, PLATFORM = "long-side-deck", "pear-tree-platform"
RINGS = "() => [...document.querySelectorAll('#rings > g')].map((ring) => ring.id.slice(5))"
Ask = dict[str, Any]


@pytest.fixture(scope="module")
def deck(server: Server) -> dict[str, Any]:
    return document_of(server, DECK)


def begun(what: str) -> dict[str, Any]:
    return {"kind": "after", "what": what, "step": "", "act": -1}


def with_after(document: dict[str, Any], what: str) -> dict[str, Any]:
    """A field book walked to its end, and this begun after it."""
    book = walked(document, never, WHOLE)
    last = book["entries"][-1]
    book["entries"].append({key: last[key] for key in ("device", "at", "revision", "job")} | {"id": "begun", "n": last["n"] + 1} | begun(what))
    return book


def ask_of(document: dict[str, Any], page: Page) -> Ask:
    """What the walk asks after the phone's entries, by Python's own fold."""
    found: Ask = walk.next_ask(document, walk.fold(document, entries(page)))
    return found


def text_of(document: dict[str, Any], message: Any) -> str:
    text = str(say.sentence(words(), message, document["job"]["units"]))
    return text[:1].upper() + text[1:]


def go_on(page: Page, document: dict[str, Any], stop: Callable[[Ask], bool], off: float = 0.0) -> Ask:
    """Do what is asked until `stop`; every reading to the mark G1-2 is off by this much. The ask it stopped at."""
    for _ in range(60):
        ask = ask_of(document, page)
        if stop(ask):
            return ask
        if main_key(page).inner_text().startswith("Next"):
            main_key(page).click()
        count = len(entries(page))
        expect(page.locator(".task h2")).to_have_text(text_of(document, ask["say"]))
        if ask["ask"] in ("pull", "again"):
            read(page, wanted(page) + (off if ask["to"] == "G1-2" else 0.0))
        else:
            main_key(page).click()
        expect_entries(page, count + 1)
    raise AssertionError("never came to it")


def expect_entries(page: Page, count: int) -> None:
    """Wait until so many entries are written. Raises TimeoutError."""
    for _ in range(100):
        if len(entries(page)) == count:
            return
        page.wait_for_timeout(50)
    raise TimeoutError(count)


def test_both_keys_say_what_they_are_for_at_the_end_and_in_the_list(page: Page, server: Server, deck: dict[str, Any]) -> None:
    opened(page, server, walked(deck, never, WHOLE))
    expect(page.locator(".task h2")).to_have_text("Every step is done.")
    for place in (".task .afters", ".steps + .afters"):
        keys = page.locator(place).get_by_role("button")
        expect(keys).to_have_text([
            "Strings back upHang them again, pull a few tapes, then set the anchors.",
            "Check the marksTwo ties to each staked mark: is any knocked?",
        ])  # fmt: skip
        assert all(key.bounding_box()["height"] >= 64 for key in keys.all())  # type: ignore[index]
        expect(keys.first).to_be_in_viewport(ratio=1)
        assert violations(page) == []
        if place.startswith(".task"):
            page.locator(".here").click()
    expect(page.locator(".steps li")).to_have_count(sum(not step.get("after") and WHOLE in step.get("ways", [WHOLE]) for step in deck["steps"]))


@pytest.mark.parametrize(("staked", "offered"), [(0, []), (1, ["marks"])])
def test_nothing_is_offered_before_a_footing_is_staked(page: Page, server: Server, deck: dict[str, Any], staked: int, offered: list[str]) -> None:
    count = iter(range(9))
    opened(page, server, walked(deck, lambda ask: at_stake(ask) and next(count) == staked, WHOLE))
    expect(page.locator(".afters")).to_have_count(0)
    page.locator(".here").click()
    expect(page.locator(".steps")).to_be_visible()
    assert page.locator(".afters button").evaluate_all("(keys) => keys.map((key) => key.id)") == offered


def test_strings_back_up_outlives_a_killed_browser_and_ties_an_anchor(chromium: Browser, tmp_path: Path) -> None:
    profile = tmp_path / "profile"
    with serving(tmp_path) as server:
        deck = document_of(server, DECK)
        context = launched(chromium, profile)
        page = context.new_page()
        opened(page, server, walked(deck, never, WHOLE))
        expect(page.locator(".head")).to_contain_text(READY)
        page.evaluate(WATCH_WRITES)
        page.locator("#strings").click()
        expect(page.locator(".here")).to_contain_text("Strings back up")
        assert [write["after"] for write in page.evaluate("() => globalThis.writes")] == [f"#/job/{DECK}"]
        kill_all_of(profile)
        with suppress(Error):
            context.close()
        server.kill()
        with own_browser(chromium, profile) as again:
            page = again.new_page()
            page.goto(f"{server.phone}#/job/{DECK}")
            expect(page.locator(".task h2")).to_have_text("Put every string back on its nail or kerf.")
            last = entries(page)[-1]
            assert {key: last[key] for key in begun("")} == begun("strings")
            back_and_tied(page, deck)


def back_and_tied(page: Page, deck: dict[str, Any]) -> None:
    """From the strings being put back to the first anchor's verdict, seen beside what is asked next."""
    count = len(entries(page))
    ask = go_on(page, deck, lambda ask: ask["step"].startswith("anchors"))
    assert [entry["kind"] for entry in entries(page)[count:]] == ["heed", "reading", "reading", "reading"]
    expect(page.locator(".verdict")).to_have_text(text_of(deck, ask["verdict"]), use_inner_text=True)
    expect(page.locator(".verdict")).to_contain_text("The strings are back where they were: 0\" off at most")
    expect(page.locator(".verdict .shape")).to_have_class("shape done")
    assert violations(page) == []
    ask = go_on(page, deck, lambda ask: ask["act"] == 3)
    assert (ask["ask"], ask["verdict"]["key"]) == ("set", "walk.stands.on")
    expect(page.locator(".task > :first-child")).to_have_text(text_of(deck, ask["verdict"]), use_inner_text=True)
    expect(page.locator(".verdict .amount")).to_be_in_viewport(ratio=1)
    expect(page.locator(".task h2")).to_have_text(text_of(deck, ask["say"]))
    assert violations(page) == []
    truth_with_an_anchor(page, deck)


def truth_with_an_anchor(page: Page, deck: dict[str, Any]) -> None:
    """The anchor is listed first, with a ring in the place of its mark's."""
    within = walk.truth(deck, walk.fold(deck, entries(page)))["anchors"][0]["within"]
    page.get_by_role("link", name="How true").click()
    expect(page.locator(".stands h3")).to_have_text(["Anchors", "Footing marks", "String corners"])
    row = page.locator(".anchors li")
    expect(row).to_have_count(1)
    expect(row.locator(".name")).to_have_text("anchor 1 on beam string 1")
    expect(row.locator(".where")).to_have_text(f"stands in its place, within {tape.show(math.ceil(within * 16) / 16, 'inch')}")
    expect(row.locator(".word")).to_have_text('inside 1/4"')
    expect(page.locator("#scale")).to_contain_text("Where an anchor is set, the ring is the anchor's.")
    marks = {name for name in of_kind(deck, "ground") if name != "G1-1"}
    assert set(page.evaluate(RINGS)) == {"A1-1", *marks, *of_kind(deck, "crossing")}
    expect(page.locator("#ring-A1-1 .doubt")).to_be_attached()
    assert violations(page) == []


def test_a_knocked_mark_is_found_by_its_ties_and_said_while_the_next_is_asked(page: Page, server: Server, deck: dict[str, Any]) -> None:
    opened(page, server, walked(deck, never, WHOLE))
    page.locator("#marks").click()
    expect(page.locator(".here")).to_contain_text("Ties to the marks of beam string 1")
    assert {key: entries(page)[-1][key] for key in begun("")} == begun("marks")
    ask = go_on(page, deck, lambda ask: ask["act"] == 1)
    expect(page.locator(".task > :first-child .amount")).to_have_text(text_of(deck, ask["verdict"]), use_inner_text=True)
    expect(page.locator(".verdict .shape")).to_have_class("shape done")
    ask = go_on(page, deck, lambda ask: ask["act"] == 2, off=1.5)
    assert ask["verdict"]["slots"]["within"] > 1.5
    expect(page.locator(".task > :first-child .amount")).to_have_text(text_of(deck, ask["verdict"]), use_inner_text=True)
    expect(page.locator(".verdict")).to_contain_text("Footing 2 of beam 1 stands", use_inner_text=True)
    expect(page.locator(".verdict .shape")).to_have_class("shape over")
    expect(page.locator(".verdict .amount")).to_be_in_viewport(ratio=1)
    expect(page.locator(".reading")).to_be_in_viewport(ratio=1)
    assert violations(page) == []
    go_on(page, deck, lambda ask: ask["ask"] == "end")
    expect(page.locator(".task h2")).to_have_text("This step is done.")
    expect(page.locator(".verdict")).to_contain_text("Footing 5 of beam 1 stands where the plan has it", use_inner_text=True)
    tap_main(page, "Next: How true")
    expect(page.locator(".task h2")).to_have_text("Every step is done.")


def test_beginning_again_is_asked_once_and_keeps_what_was_read(page: Page, server: Server, deck: dict[str, Any]) -> None:
    book = with_after(deck, "strings")
    opened(page, server, book)
    go_on(page, deck, lambda ask: ask["step"].startswith("anchors"))
    count = len(entries(page))
    page.locator(".here").click()
    page.locator("#strings").click()
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text("Begin again?")
    expect(dialog).to_contain_text("What was read for it before stays in the book.")
    expect(dialog.get_by_role("button")).to_have_text(["Begin again", "Back, leave it"])
    assert violations(page) == []
    dialog.get_by_role("button", name="Back, leave it").click()
    expect(dialog).to_have_count(0)
    assert len(entries(page)) == count
    page.locator("#strings").click()
    dialog.get_by_role("button", name="Begin again").click()
    expect(page.locator(".task h2")).to_have_text("Put every string back on its nail or kerf.")
    expect(page.locator(".verdict")).to_have_count(0)
    assert len(entries(page)) == count + 1
    ask = go_on(page, deck, lambda ask: ask["step"].startswith("anchors"))
    assert ask["verdict"]["key"] == "walk.back"
    assert [entry["kind"] for entry in entries(page)[count:]] == ["after", "heed", "reading", "reading", "reading"]


def test_undo_takes_back_what_was_begun_and_not_what_was_read_before_it(page: Page, server: Server, deck: dict[str, Any]) -> None:
    opened(page, server, with_after(deck, "strings"))
    go_on(page, deck, lambda ask: ask["step"].startswith("anchors"))
    page.locator(".here").click()
    page.locator("#strings").click()
    page.get_by_role("dialog").get_by_role("button", name="Begin again").click()
    expect(page.locator(".task h2")).to_have_text("Put every string back on its nail or kerf.")
    again = entries(page)[-1]
    tap_main(page, "Done")
    expect(main_key(page)).to_have_text("Enter reading")
    page.locator("#undo").click()
    expect(main_key(page)).to_have_text("Done")
    page.locator("#undo").click()
    expect(page.locator(".here")).to_contain_text("Anchors under beam string 1")
    assert (entries(page)[-1]["kind"], entries(page)[-1]["strikes"]) == ("strike", again["id"])
    page.goto(f"{server.phone}#/job/{DECK}/step/back")
    expect(page.locator(".task h2")).to_have_text("This step is done.")


def test_undo_at_the_end_takes_back_the_first_beginning(page: Page, server: Server, deck: dict[str, Any]) -> None:
    opened(page, server, walked(deck, never, WHOLE))
    page.locator("#marks").click()
    expect(page.locator(".here")).to_contain_text("Ties")
    page.locator("#undo").click()
    expect(page.locator(".task h2")).to_have_text("Every step is done.")
    page.locator("#marks").click()
    expect(page.locator(".here")).to_contain_text("Ties")
    assert [entry["kind"] for entry in entries(page)[-3:]] == ["after", "strike", "after"]


def test_begun_before_the_walk_has_ended_leads_to_its_own_step_and_can_be_undone(page: Page, server: Server, deck: dict[str, Any]) -> None:
    count = iter(range(9))
    opened(page, server, walked(deck, lambda ask: at_stake(ask) and next(count) == 1, WHOLE))
    page.locator(".here").click()
    page.locator("#marks").click()
    expect(page.locator(".here")).to_contain_text("Ties to the marks of beam string 1")
    assert page.url.endswith(f"#/job/{DECK}/step/ties-1")
    page.locator("#undo").click()
    expect(page.locator(".here")).to_contain_text("Beam 1, footing 2")
    assert page.url.endswith(f"#/job/{DECK}")


def test_what_cannot_be_written_is_not_begun(page: Page, server: Server, deck: dict[str, Any]) -> None:
    opened(page, server, walked(deck, never, WHOLE))
    page.evaluate("() => { IDBObjectStore.prototype.add = () => { throw new DOMException('full', 'QuotaExceededError'); }; }")
    page.locator("#marks").click()
    expect(page.get_by_role("dialog")).to_contain_text("This could not be written down.")
    page.get_by_role("button", name="Understood").click()
    expect(page.locator(".task h2")).to_have_text("Every step is done.")


def test_a_job_in_millimetres_ties_the_marks_of_both_beams(page: Page, server: Server) -> None:
    platform = document_of(server, PLATFORM)
    opened(page, server, with_after(platform, "marks"))
    ask = go_on(page, platform, lambda ask: ask["step"] == "ties-2")
    expect(page.locator(".verdict")).to_have_text(text_of(platform, ask["verdict"]), use_inner_text=True)
    tap_main(page, "Next: Ties to the marks of beam string 2")
    go_on(page, platform, lambda ask: ask["ask"] == "end")
    assert walk.truth(platform, walk.fold(platform, entries(page)))["true"] is True
