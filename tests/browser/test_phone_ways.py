"""Either way through the yard, how sure it is in rings and words, and pulls between any two points; with the server dead."""
from __future__ import annotations

import math
import random
import re
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
    open_book,
    phone,
    read,
    serving,
    tap_main,
    violations,
    wanted,
)

DECK, PLATFORM = "long-side-deck", "pear-tree-platform"
WHOLE, STRINGS = "whole frame", "string by string"
TIMES = [1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 24, 30, 40, 50, 60]
Ask = dict[str, Any]

WATCH_WRITES = """() => {
    const began = IDBDatabase.prototype.transaction;
    globalThis.writes = [];
    IDBDatabase.prototype.transaction = function (stores, mode, options) {
        const transaction = began.call(this, stores, mode, options);
        if (options?.durability === 'strict') {
            const write = { before: location.hash };
            transaction.addEventListener('complete', () => (write.after = location.hash));
            globalThis.writes.push(write);
        }
        return transaction;
    };
}"""
STATUSES = """async () => {
    const { Walking } = await import('./data/walking.js');
    const own = Walking.prototype.tries;
    Walking.prototype.tries = function (step) {
        return own.call(this, step).map((kept, at) => ({ ...kept, status: ['struck', 'aside', 'live'][at] ?? 'live' }));
    };
}"""
RINGS = """() => Object.fromEntries([...document.querySelectorAll('#rings > g')].map((ring) => {
    const numbers = (part) => ['cx', 'cy', 'r'].map((name) => Number(part.getAttribute(name)));
    const [plan, stands] = ['.tolerance', '.doubt'].map((part) => ring.querySelector(part));
    const box = plan?.getBoundingClientRect();
    return [ring.id.slice(5), plan && { plan: numbers(plan), stands: numbers(stands), inside: ring.classList.contains('inside'), pixels: box.width }];
}))"""


def never(_: Ask) -> bool:
    return False


def walked(document: dict[str, Any], stop: Callable[[Ask], bool], way: str = "", spread: float = 0.0, slip: int = -1) -> dict[str, Any]:
    """A field book walked until `stop`: readings off by a spread (inches), the one numbered `slip` a foot too long."""
    state, kept, rolled, pulls = walk.fold(document, []), list[Ask](), random.Random(4), 0

    def add(part: dict[str, Any]) -> None:
        kept.append(part | {
            "id": f"other-{len(kept)}", "n": len(kept) + 1, "device": "other", "at": "2026-05-04T08:00:00.000Z",
            "revision": document["digest"], "job": document["job"]["id"],
        })  # fmt: skip
        walk.apply(document, state, kept[-1])

    if way:
        add({"kind": "way", "way": way, "step": "", "act": -1})
    while (ask := walk.next_ask(document, state))["ask"] != "end" and not stop(ask):
        given: dict[str, Any] = {"done": True}
        if ask["ask"] in ("pull", "again"):
            given = {"inches": round((ask["target"] + rolled.gauss(0, spread)) * 16) / 16 + (12 if pulls == slip else 0)}
            pulls += 1
        add(walk.answer(document, state, ask, given)["entry"])
    job = document["job"]
    return {"schema": 1, "kind": "yardtrue field book", "job": job["id"], "name": job["name"], "document": document, "entries": kept}


def opened(page: Page, server: Server, book: dict[str, Any]) -> None:
    server.enter(page)
    page.goto(server.phone)
    open_book(page, book)
    expect(main_key(page)).to_be_visible()


def is_pull(ask: Ask) -> bool:
    return bool(ask["ask"] == "pull")


@pytest.fixture(scope="module")
def deck(server: Server) -> dict[str, Any]:
    return document_of(server, DECK)


@pytest.fixture(scope="module")
def platform(server: Server) -> dict[str, Any]:
    return document_of(server, PLATFORM)


# The way


def choose(page: Page, name: str) -> None:
    page.locator(".here").click()
    page.locator("#way").click()
    page.get_by_role("dialog").get_by_role("button", name=name).click()


def test_the_way_changes_mid_walk_and_nothing_set_is_lost(page: Page, server: Server, deck: dict[str, Any]) -> None:
    book = walked(deck, is_pull)
    opened(page, server, book)
    expect(page.locator(".here")).to_contain_text("Left string")
    page.locator(".here").click()
    expect(page.locator("#way")).to_have_text("Way: String by string")
    assert violations(page) == []
    page.locator("#way").click()
    dialog = page.get_by_role("dialog")
    expect(dialog.get_by_role("button")).to_contain_text(["String by string · now", "Whole frame", "Back, leave it"])
    expect(dialog).to_contain_text("Square each string as you go.")
    expect(dialog).to_contain_text("Set every string by eye, pull a few tapes, get all moves at once. Fewest pulls.")
    assert all(key.bounding_box()["height"] >= 64 for key in dialog.get_by_role("button").all())  # type: ignore[index]
    assert violations(page) == []
    page.evaluate(WATCH_WRITES)
    dialog.get_by_role("button", name="Whole frame").click()
    expect(page.locator(".here")).to_contain_text("All strings")
    assert page.evaluate("() => globalThis.writes") == [{"before": f"#/job/{DECK}/list", "after": f"#/job/{DECK}/list"}]
    expect(page.locator("h2")).to_contain_text("Set the right string's nail by eye")  # the left one is set already
    last = entries(page)[-1]
    assert {key: last[key] for key in ("kind", "way", "step", "act")} == {"kind": "way", "way": WHOLE, "step": "", "act": -1}
    assert (last["n"], last["revision"], last["job"]) == (len(book["entries"]) + 1, deck["digest"], DECK)
    page.locator(".here").click()
    expect(page.locator(".steps")).not_to_contain_text("Left string")
    choose_back(page)
    expect(page.locator(".here")).to_contain_text("Left string")
    expect(main_key(page)).to_have_text("Enter reading")


def choose_back(page: Page) -> None:
    """From the list of steps back to string by string."""
    expect(page.locator("#way")).to_have_text("Way: Whole frame")
    page.locator("#way").click()
    page.get_by_role("dialog").get_by_role("button", name="String by string").click()


@pytest.mark.parametrize("name", ["String by string · now", "Back, leave it"])
def test_the_way_that_stays_is_no_entry(page: Page, server: Server, deck: dict[str, Any], name: str) -> None:
    book = walked(deck, is_pull)
    opened(page, server, book)
    choose(page, name)
    expect(page.get_by_role("dialog")).to_have_count(0)
    expect(page.locator(".steps")).to_be_visible()
    assert len(entries(page)) == len(book["entries"])


def test_undo_takes_the_way_back(page: Page, server: Server, deck: dict[str, Any]) -> None:
    opened(page, server, walked(deck, is_pull))
    choose(page, "Whole frame")
    expect(page.locator(".here")).to_contain_text("All strings")
    page.locator("#undo").click()
    expect(page.locator(".here")).to_contain_text("Left string")
    chosen, struck = entries(page)[-2:]
    assert (struck["kind"], struck["strikes"]) == ("strike", chosen["id"])


def test_a_step_of_the_other_way_leads_to_the_next_ask(page: Page, server: Server, deck: dict[str, Any]) -> None:
    opened(page, server, walked(deck, is_pull, WHOLE))
    for step in ("left-string", "nowhere"):
        page.goto(f"{server.phone}#/job/{DECK}/step/{step}")
        expect(page.locator(".here")).to_contain_text("All strings")
        assert page.url.endswith(f"#/job/{DECK}")


def test_a_way_chosen_outlives_a_killed_browser(chromium: Browser, server: Server, deck: dict[str, Any], tmp_path: Path) -> None:
    book = walked(deck, is_pull)
    context = launched(chromium, tmp_path / "profile")
    page = context.new_page()
    opened(page, server, book)
    choose(page, "Whole frame")
    expect(page.locator(".here")).to_contain_text("All strings")
    kill_all_of(tmp_path / "profile")
    with suppress(Error):
        context.close()
    with own_browser(chromium, tmp_path / "profile") as again:
        page = again.new_page()
        page.goto(f"{server.phone}#/job/{DECK}")
        expect(page.locator(".here")).to_contain_text("All strings")
        assert [entry["kind"] for entry in entries(page)[len(book["entries"]) :]] == ["way"]


def test_a_way_that_cannot_be_written_is_not_walked(page: Page, server: Server, deck: dict[str, Any]) -> None:
    opened(page, server, walked(deck, is_pull))
    page.evaluate("() => { IDBObjectStore.prototype.add = () => { throw new DOMException('full', 'QuotaExceededError'); }; }")
    choose(page, "Whole frame")
    expect(page.get_by_role("dialog")).to_contain_text("This could not be written down.")
    page.get_by_role("button", name="Understood").click()
    expect(page.locator("#way")).to_have_text("Way: String by string")
    expect(page.locator(".steps .now")).to_contain_text("Left string")


# How sure


def to_truth(page: Page) -> None:
    if main_key(page).inner_text() == "How true it is":
        main_key(page).click()
    else:
        page.get_by_role("link", name="How true").click()
    expect(page.locator("#rings")).to_be_attached()


def truth_of(document: dict[str, Any], page: Page) -> dict[str, Any]:
    """What Python's own fold of the phone's entries says."""
    found: dict[str, Any] = walk.truth(document, walk.fold(document, entries(page)))
    return found


def of_kind(document: dict[str, Any], kind: str) -> list[str]:
    """The points of a kind that the walk itself sets, by name; not what comes after it."""
    return sorted(name for name, point in document["yard"]["points"].items() if point["kind"] == kind and not point.get("after"))


def set_points(document: dict[str, Any], page: Page) -> set[str]:
    """The corners that are hung, and the marks whose flag is pinned."""
    pinned = {entry["point"] for entry in entries(page) if entry["kind"] == "set"}
    points = document["yard"]["points"]
    marks = {name for name in of_kind(document, "ground") if points[name]["under"] in pinned}
    return marks | set(truth_of(document, page)["corners"])


def check_rings(document: dict[str, Any], page: Page) -> float:
    """Every ring is where and as large as the scale on the screen makes it; the scale."""
    truth, points = truth_of(document, page), document["yard"]["points"]
    ringed = set_points(document, page)
    shown = page.evaluate(RINGS)
    assert set(shown) == {*of_kind(document, "ground"), *of_kind(document, "crossing")}
    assert {name for name, ring in shown.items() if ring} == ringed
    text = page.locator("#scale").inner_text()
    times = float(re.search(r"Rings drawn (\d+) times as large", text)[1]) if "times as large" in text else 1.0  # type: ignore[index]
    tolerance = document["yard"]["tolerance"]
    for name in ringed:
        plan, here, ring = points[name], truth["points"][name], shown[name]
        assert ring["plan"] == pytest.approx([plan["x"], plan["y"], times * tolerance], abs=1e-6)
        stands = [plan[axis] + times * (here[axis] - plan[axis]) for axis in "xy"]
        assert ring["stands"] == pytest.approx([*stands, times * here["doubt"]], abs=1e-6)
        assert ring["inside"] == (here["within"] <= tolerance)
    assert not ringed or times == best_times(document, truth, ringed)
    return times


def best_times(document: dict[str, Any], truth: dict[str, Any], ringed: set[str]) -> int:
    """The largest nice number by which the farthest reach of a ring still fills no more than a third of the room between marks."""
    points = document["yard"]["points"]
    marks = [complex(points[name]["x"], points[name]["y"]) for name in of_kind(document, "ground")]
    room = min(abs(a - b) for i, a in enumerate(marks) for b in marks[:i])
    reach = [document["yard"]["tolerance"]]
    for name in ringed:
        here = truth["points"][name]
        reach.append(math.hypot(here["x"] - points[name]["x"], here["y"] - points[name]["y"]) + here["doubt"])
    return max([times for times in TIMES if times * max(reach) <= room / 3], default=1)


def row_text(document: dict[str, Any], here: dict[str, Any], plan: dict[str, Any]) -> str:
    """How a row says where a point stands; a radius is rounded up, so that one outside never reads like the tolerance."""
    def show(inches: float) -> str:
        return str(tape.show(inches, document["job"]["units"]))

    dx, dy = here["x"] - plan["x"], here["y"] - plan["y"]
    sides = [(dx, "left" if dx < 0 else "right"), (dy, "toward the house" if dy < 0 else "away from the house")]
    where = ", ".join(f"{show(abs(off))} {side}" for off, side in sides if show(abs(off)) != show(0))
    step = 1 / 16 if document["job"]["units"] == "inch" else 1 / 25.4
    inside, radius = here["within"] <= document["yard"]["tolerance"], show(math.ceil(here["within"] / step - 1e-9) * step)
    if where:
        return f"stands {where}, within {radius}"
    return f"stands in its place, within {radius}" if inside else f"may stand anywhere within {radius} of its place"


def check_rows(document: dict[str, Any], page: Page) -> list[str]:
    """Every row says by word and shape where its point stands; the rows."""
    truth, points = truth_of(document, page), document["yard"]["points"]
    ringed, said = set_points(document, page), words()
    names = [*of_kind(document, "ground"), *of_kind(document, "crossing")]
    rows = page.locator(".stands li")
    expect(rows).to_have_count(len(names))
    for row, name in zip(rows.all(), names, strict=True):
        called = points[name]["name"]
        expect(row.locator(".name")).to_have_text(say.sentence(said, {"key": called["word"], "slots": called.get("slots", {})}, "inch"))
        if name not in ringed:
            expect(row.locator(".word")).to_have_text("not set yet")
            expect(row.locator(".shape")).to_have_class("shape open")
            continue
        inside = truth["points"][name]["within"] <= document["yard"]["tolerance"]
        expect(row.locator(".where")).to_have_text(row_text(document, truth["points"][name], points[name]))
        expect(row.locator(".word")).to_contain_text("inside" if inside else "outside")
        expect(row.locator(".shape")).to_have_class("shape done" if inside else "shape over")
    return rows.all_inner_texts()


def at_seek(ask: Ask) -> bool:
    return bool(ask["ask"] == "pull" and ask["step"] == "sure")


def test_nothing_is_set_before_the_walk(page: Page, server: Server, deck: dict[str, Any]) -> None:
    opened(page, server, walked(deck, lambda _: True))
    to_truth(page)
    assert set(page.evaluate(RINGS).values()) == {None}
    expect(page.locator("#scale")).to_have_text("No ring yet: nothing is set.")
    expect(page.locator("h2")).to_have_text("Not true yet: 5 of 5 footing marks are not set.")
    assert all("not set yet" in row for row in check_rows(deck, page))
    assert violations(page) == []


def at_stake(ask: Ask) -> bool:
    return bool(ask["ask"] == "stake")


@pytest.mark.parametrize("stop", [is_pull, at_seek, at_stake])
@pytest.mark.parametrize("way", [STRINGS, WHOLE])
@pytest.mark.parametrize("job", [DECK, PLATFORM])
def test_rings_and_words_say_where_all_stands_during_the_walk(page: Page, server: Server, job: str, way: str, stop: Callable[[Ask], bool]) -> None:
    document = document_of(server, job)
    opened(page, server, walked(document, stop, way, 0.08))
    to_truth(page)
    check_rings(document, page)
    check_rows(document, page)
    expect(page.locator("h2")).to_contain_text("Not true yet")
    assert violations(page) == []


def test_how_sure_it_is_needs_no_server(chromium: Browser, tmp_path: Path) -> None:
    with serving(tmp_path) as server, phone(chromium) as context:
        page = context.new_page()
        document = document_of(server, DECK)
        opened(page, server, walked(document, at_stake, WHOLE, 0.08))
        expect(page.locator(".head")).to_contain_text(READY)
        server.kill()
        page.reload()
        tap_main(page, "Staked")
        expect(main_key(page)).to_have_text("Done")
        to_truth(page)
        check_rings(document, page)
        check_rows(document, page)
        expect(page.locator(".ring.staked")).to_have_count(1)


def test_the_mark_least_sure_is_named_with_its_radius(page: Page, server: Server, deck: dict[str, Any]) -> None:
    opened(page, server, walked(deck, at_seek, WHOLE, 0.08))
    to_truth(page)
    truth = truth_of(deck, page)
    worst = max(truth["marks"], key=lambda mark: mark["within"])
    assert worst["within"] > 0.25 + 1 / 32
    number = worst["point"].split("-")[1]
    expect(page.locator("h2")).to_have_text(f"Not true yet: footing {number} of beam 1 within {tape.show(math.ceil(worst['within'] * 16) / 16, 'inch')}.")


def test_true_is_said_only_of_a_yard_that_is_true(page: Page, server: Server, deck: dict[str, Any]) -> None:
    opened(page, server, walked(deck, never, WHOLE))
    to_truth(page)
    assert truth_of(deck, page)["true"] is True
    expect(page.locator("h2")).to_have_text('True: every footing mark is within 1/4" with 95 % confidence.')
    assert 10 <= check_rings(deck, page) <= 60
    assert all(ring["pixels"] > 16 for ring in page.evaluate(RINGS).values())
    expect(page.locator(".ring.staked")).to_have_count(5)
    expect(page.locator(".marks li").filter(has_text='inside 1/4", staked')).to_have_count(5)
    assert violations(page) == []


def test_a_mark_staked_off_stands_outside_in_ring_and_words(page: Page, server: Server, deck: dict[str, Any]) -> None:
    book = walked(deck, never, WHOLE)
    book["entries"] = [entry | {"off": [0.5, -0.25]} if entry.get("point") == "G1-2" and entry["kind"] == "stake" else entry for entry in book["entries"]]
    opened(page, server, book)
    to_truth(page)
    row = page.locator(".marks li").nth(1)
    expect(row).to_contain_text('1/2" right, 1/4" toward the house, within')
    expect(row.locator(".word")).to_have_text('outside 1/4", staked')
    expect(row.locator(".shape")).to_have_class("shape over")
    expect(page.locator("h2")).to_contain_text("Not true yet: footing 2 of beam 1 within")
    expect(page.locator("#ring-G1-2")).to_have_class("ring outside staked")
    check_rings(deck, page)
    check_rows(deck, page)


def test_a_radius_outside_never_reads_like_the_tolerance(page: Page, server: Server, deck: dict[str, Any]) -> None:
    """0.27 in. is 1/4 in. to the nearest sixteenth; said so, a mark would be outside 1/4 in. and within it."""
    opened(page, server, walked(deck, never, WHOLE))
    page.evaluate("""async () => {
        const { Walking } = await import('./data/walking.js');
        const own = Walking.prototype.truth;
        Walking.prototype.truth = function () {
            const truth = own.call(this);
            truth.points['G1-3'].within = 0.27;
            return { ...truth, true: false };
        };
    }""")
    to_truth(page)
    expect(page.locator("h2")).to_have_text('Not true yet: footing 3 of beam 1 within 5/16".')
    expect(page.locator(".marks li").nth(2)).to_contain_text('within 5/16"')


def test_a_metric_job_tells_millimetres(page: Page, server: Server, platform: dict[str, Any]) -> None:
    opened(page, server, walked(platform, never, WHOLE, 0.08))
    to_truth(page)
    rows = check_rows(platform, page)
    assert len(rows) == 6 + 4
    assert all(re.search(r"within \d+ mm", row) and '"' not in row for row in rows)


# A pull between any two points


def undrawn(document: dict[str, Any]) -> Callable[[Ask], bool]:
    """The first pull of the seek for which the drawing has no line."""
    def stop(ask: Ask) -> bool:
        return at_seek(ask) and f'id="pull-{ask["from"]}-{ask["to"]}"' not in document["drawing"]

    return stop


def test_a_pull_the_drawing_does_not_have_is_drawn_between_its_points(page: Page, server: Server, deck: dict[str, Any]) -> None:
    book = walked(deck, undrawn(deck), WHOLE, 0.08)
    state = walk.fold(deck, book["entries"])
    ask = walk.next_ask(deck, state)
    opened(page, server, book)
    line = page.locator(f"#pull-{ask['from']}-{ask['to']}.lit line")
    expect(line).to_be_visible()
    ends = [deck["yard"]["points"][ask[end]][axis] for end in ("from", "to") for axis in "xy"]
    assert [float(line.get_attribute(name) or "nan") for name in ("x1", "y1", "x2", "y2")] == pytest.approx(ends)
    expect(page.locator(".pull.drawn text")).to_have_text(tape.show(ask["target"], "inch"))
    expect(page.locator(".point.lit")).to_have_count(2)
    expect(page.locator(".why")).to_have_text(say.sentence(words(), ask["why"], "inch"))
    assert violations(page) == []
    read(page, wanted(page))
    after = walk.next_ask(deck, walk.fold(deck, entries(page)))
    assert (after.get("from"), after.get("to")) != (ask["from"], ask["to"])
    expect(page.locator(f"#pull-{ask['from']}-{ask['to']}")).to_have_count(0)


def test_a_pull_of_the_seek_that_cannot_be_pulled_says_why(page: Page, server: Server, deck: dict[str, Any]) -> None:
    book = walked(deck, at_seek, WHOLE, 0.08)
    opened(page, server, book)
    asked = page.locator("h2").inner_text()
    page.locator("#cannot").click()
    keys = page.get_by_role("dialog").get_by_role("button")
    expect(keys).to_have_text(["Something is in the way", "The tape is too short", "I am alone", "Back, I can pull it"])
    keys.first.click()
    expect(page.locator("h2")).not_to_have_text(asked)
    assert entries(page)[-1]["cannot"] == "blocked"


def test_a_pull_asked_again_says_what_is_suspected(page: Page, server: Server, deck: dict[str, Any]) -> None:
    book = walked(deck, lambda ask: ask["ask"] == "again", WHOLE, 0.0, slip=2)
    ask = walk.next_ask(deck, walk.fold(deck, book["entries"]))
    assert ask["ask"] == "again"
    opened(page, server, book)
    expect(main_key(page)).to_have_text("Enter reading again")
    expect(page.locator(".verdict")).to_have_text(say.sentence(words(), ask["suspect"], "inch"))
    expect(page.locator(".tries li")).to_have_count(sum(entry["kind"] == "reading" for entry in book["entries"]))
    expect(page.locator(".why")).to_have_count(0)
    assert violations(page) == []


def test_a_reading_that_is_not_believed_is_struck_through_and_says_so(page: Page, server: Server, deck: dict[str, Any]) -> None:
    opened(page, server, walked(deck, at_seek, WHOLE, 0.08))
    page.evaluate(STATUSES)
    page.goto(f"{server.phone}#/job/{DECK}/step/strings")
    rows = page.locator(".tries li")
    expect(rows.nth(0).locator("s")).to_contain_text("You read")
    expect(rows.nth(0)).to_have_text(re.compile(r"\. struck$"))
    expect(rows.nth(1).locator("s")).to_contain_text("You read")
    expect(rows.nth(1)).to_have_text(re.compile(r"\. set aside$"))
    expect(rows.nth(2).locator("s")).to_have_count(0)
    expect(rows.nth(2)).not_to_contain_text("struck")
    assert violations(page) == []
