"""A rock where a footing belongs: whether it may move, answered on the phone with the server dead."""
from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from server.field import say, window
from server.words import words
from tests.browser.phone_case import (
    READY,
    Server,
    document_of,
    entries,
    field_book,
    main_key,
    open_book,
    phone,
    serving,
    tap_length,
    tap_main,
    violations,
)

DEFER = "Local code and the permit decide."


def with_limits(document: dict[str, Any], span: float = 90.0, checked: bool = True) -> dict[str, Any]:
    """The document with a frame that says how far strings and posts may stand; ends as the tables have them."""
    posts: dict[int, list[float]] = {}
    for name, point in sorted(document["yard"]["points"].items()):
        if point["kind"] == "ground" and "as" not in point:
            posts.setdefault(int(name[1:].split("-")[0]), []).append(point["x"])
    line = {n: document["yard"]["points"][f"G{n}-1"]["y"] for n in posts}
    beams = [
        {
            "number": n, "setback": line[n], "posts": sorted(posts[n]), "span": span, "near": line[n] - 4, "far": line[n] + 2.5,
            "near_key": "walk.window.limit.bay", "far_key": "walk.window.limit.end",
        }
        for n in posts
    ]  # fmt: skip
    frame = {"checked": checked, "limits": {"width": document["job"]["width"], "share": 0.25, "beams": beams}}
    return copy.deepcopy(document) | {"frame": frame}


@pytest.fixture(scope="module")
def deck(server: Server) -> dict[str, Any]:
    return document_of(server, "long-side-deck")


@pytest.fixture(scope="module")
def book(deck: dict[str, Any]) -> dict[str, Any]:
    """Walked up to the first stake, in a document that knows its limits."""
    return field_book(with_limits(deck), "stake")


def at_the_stake(page: Page, server: Server, book: dict[str, Any]) -> None:
    server.enter(page)
    page.goto(server.phone)
    open_book(page, book)
    expect(main_key(page)).to_have_text("Staked")
    expect(page.locator(".head")).to_contain_text(READY)


def asked(page: Page, side: str, inches: float) -> None:
    page.locator(f'.side[data-side="{side}"]').click()
    tap_inches(page, inches)


def tap_inches(page: Page, inches: float) -> None:
    """Tap an amount under a foot: its inches, then its sixteenths."""
    page.locator(".stages .key").nth(1).click()
    whole, sixteenths = divmod(round(inches * 16), 16)
    page.locator(f'[data-stage="inch"][data-value="{whole}"]').click()
    page.locator(f'[data-stage="sixteenth"][data-value="{sixteenths}"]').click()


def answer(page: Page) -> Any:
    return page.locator(".mayit")


def sentences(document: dict[str, Any], m: int, dx: float, dy: float, across: bool = True) -> list[str]:
    """What the desk's own field math says of a footing of beam 1; of the room, that in the direction asked about."""
    found = window.move(document["frame"]["limits"], 1, m, dx, dy)
    other = ("toward", "away") if across else ("left", "right")
    lines = [line for line in found["lines"] if line["key"] not in [f"walk.window.room.{side}" for side in other]]
    return [say.sentence(words(), message, document["job"]["units"]) for message in (found["say"], *lines)]


def said(page: Page) -> list[str]:
    """Every line of the answer, once the screen is up."""
    expect(answer(page).locator("p, li").first).to_be_visible()
    return [line.strip() for line in answer(page).locator("p, li").all_inner_texts()]


def test_a_footing_may_move_or_a_limit_is_named_with_the_server_dead(chromium: Browser, tmp_path: Path) -> None:
    with serving(tmp_path) as server, phone(chromium) as context:
        page = context.new_page()
        document = with_limits(document_of(server, "long-side-deck"))
        at_the_stake(page, server, field_book(document, "stake"))
        before = entries(page)
        server.kill()
        page.get_by_role("button", name="May it move?").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("May it move?")
        assert page.url.endswith("/move")
        assert said(page) == sentences(document, 1, 0.0, 0.0)
        expect(page.locator("main")).to_contain_text(DEFER)
        assert violations(page) == []
        asked(page, "minus", 5.0)
        assert said(page) == sentences(document, 1, -5.0, 0.0)
        expect(answer(page)).to_contain_text('Yes: footing 1 of beam 1 may move 5" left.')
        assert violations(page) == []
        page.locator('.side[data-side="plus"]').click()
        assert said(page) == sentences(document, 1, 5.0, 0.0)
        expect(answer(page)).to_contain_text("No: ")
        expect(answer(page).locator(".shape.over")).to_be_visible()
        assert violations(page) == []
        page.locator("#out").click()
        asked(page, "minus", 3.5)
        assert said(page) == ["Ask one way at a time: set the other to “not at all”. Change the plan at the desk, then ask the other way."]
        expect(answer(page).locator(".shape.over")).to_be_visible()
        assert violations(page) == []
        page.locator("#across").click()
        page.locator('.side[data-side="none"]').click()
        page.locator("#out").click()
        assert said(page) == sentences(document, 1, 0.0, -3.5, across=False)
        assert any("toward the house" in line for line in said(page)[1:])
        expect(answer(page)).to_contain_text("This moves the whole string of beam 1")
        assert violations(page) == []
        page.locator("#main").click()
        expect(main_key(page)).to_have_text("Staked")
        assert entries(page) == before


def test_a_side_without_its_amount_is_asked_for(page: Page, server: Server, book: dict[str, Any]) -> None:
    at_the_stake(page, server, book)
    page.get_by_role("button", name="May it move?").click()
    page.locator('.side[data-side="minus"]').click()
    assert said(page) == ["Now the sixteenths; 0 when it is even."]
    tap_inches(page, 3.25)
    assert said(page) == sentences(book["document"], 1, -3.25, 0.0)


def test_a_post_staked_off_its_mark_stands_where_it_was_staked(page: Page, server: Server, book: dict[str, Any]) -> None:
    at_the_stake(page, server, book)
    page.get_by_role("button", name="Staked, but off").click()
    page.locator('.side[data-side="minus"]').click()
    tap_inches(page, 2.0)
    tap_main(page, "Next: toward or away")
    page.locator('.side[data-side="none"]').click()
    tap_main(page, "Staked there")
    tap_main(page, "Done")
    page.get_by_role("button", name="May it move?").click()
    moved = copy.deepcopy(book["document"])
    moved["frame"]["limits"]["beams"][0]["posts"][0] -= 2.0
    assert said(page) == sentences(moved, 2, 0.0, 0.0)
    assert said(page) != sentences(book["document"], 2, 0.0, 0.0)
    page.locator("#out").click()
    asked(page, "plus", 1.0)
    expect(answer(page)).to_contain_text("Not reckoned here: a footing of beam 1 stands off its planned place")
    assert len(said(page)) == 1


def test_a_deck_with_a_heavier_patch_is_sent_to_the_desk(page: Page, server: Server, deck: dict[str, Any]) -> None:
    document = with_limits(deck)
    document["frame"]["limits"]["patched"] = True
    at_the_stake(page, server, field_book(document, "stake"))
    page.get_by_role("button", name="May it move?").click()
    assert len(said(page)) == 1
    expect(answer(page)).to_contain_text("Not reckoned here: this deck carries a heavier patch.")
    assert violations(page) == []


@pytest.mark.parametrize("frame", [None, {"checked": False}])
def test_a_plan_that_knows_no_limits_shows_no_key(page: Page, server: Server, deck: dict[str, Any], frame: dict[str, Any] | None) -> None:
    document = {key: value for key, value in deck.items() if key != "frame"}
    if frame is not None:
        document = with_limits(document, checked=False)
    at_the_stake(page, server, field_book(document, "stake"))
    expect(page.get_by_role("button", name="Staked, but off")).to_be_visible()
    expect(page.get_by_role("button", name="May it move?")).to_have_count(0)
    page.goto(f"{server.phone}#/job/long-side-deck/move")
    expect(main_key(page)).to_have_text("Staked")


def test_a_span_that_is_not_known_is_said_and_millimetres_are_asked_in(page: Page, server: Server) -> None:
    document = with_limits(document_of(server, "pear-tree-platform"), span=0.0)
    page.goto(server.phone)
    open_book(page, field_book(document, "stake"))
    expect(main_key(page)).to_have_text("Staked")
    page.get_by_role("button", name="May it move?").click()
    page.locator('.side[data-side="minus"]').click()
    tap_length(page, 50 / 25.4)
    expect(answer(page)).to_contain_text("Yes: footing 1 of beam 1 may move 50 mm left.")
    expect(answer(page)).to_contain_text("The span of beam 1 is not checked")


def test_the_screen_is_fetched_only_when_it_is_opened(chromium: Browser, server: Server, book: dict[str, Any]) -> None:
    with phone(chromium) as context:
        page = context.new_page()
        at_the_stake(page, server, book)
        page.reload()
        expect(main_key(page)).to_have_text("Staked")
        expect(page.locator(".head")).to_contain_text(READY)
        fetched = "() => performance.getEntriesByType('resource').some((one) => one.name.endsWith('/maymove.js'))"
        assert page.evaluate(fetched) is False
        page.get_by_role("button", name="May it move?").click()
        expect(answer(page)).to_be_visible()
        assert page.evaluate(fetched) is True
