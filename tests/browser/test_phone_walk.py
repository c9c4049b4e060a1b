"""The phone walks a job: from the list of jobs over a wrong reading to a staked footing, each screen fit for a gloved thumb."""
import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

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
    tap_part,
    violations,
    wanted,
)

SMALL = """() => {
    const least = (it) => {
        if (it.matches('.key.main')) return [64, 64];
        return it.matches('.key.tape') ? [56, 80] : [48, 48];
    };
    const drawn = [...document.querySelectorAll('button, a, input:not([type=file]), label.key')].filter((it) => it.offsetParent);
    return drawn.map((it) => [it, it.getBoundingClientRect(), least(it)])
        .filter(([, box, [tall, wide]]) => box.height < tall - 0.5 || box.width < wide - 0.5)
        .map(([it, box]) => `${it.outerHTML.slice(0, 90)} ${box.width} x ${box.height}`);
}"""
TOO_WIDE = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture
def at_pull(page: Page, server: Server) -> Page:
    """A phone at the first square check of the deck, come there by another phone's field book."""
    return opened(page, server, "pull")


def opened(page: Page, server: Server, stop: str, job: str = "long-side-deck") -> Page:
    page.goto(server.phone)
    open_book(page, field_book(document_of(server, job), stop))
    expect(main_key(page)).to_be_visible()
    return page


def test_from_a_wrong_reading_to_a_staked_footing(page: Page, server: Server) -> None:
    keep(page, server)
    open_job(page)
    go_until(page, "Enter reading")
    target = wanted(page)
    read(page, target + 5 / 16)
    verdict = page.locator(".verdict")
    expect(verdict).to_contain_text("long by 5/16")
    expect(verdict).to_contain_text("give or take")
    expect(page.locator(".task h2")).to_have_text(re.compile(r"^Move the left string's nail .* to the right\.$"))
    expect(page.locator(".plan .pointer")).to_have_count(1)
    tap_main(page, "Moved it")
    expect(page.locator(".tries li")).to_have_text(re.compile("long by 5/16"))
    expect(verdict).to_have_count(0)
    read(page, target)
    expect(verdict).to_have_text("It holds.")
    tap_main(page, "Next: Right string")
    go_until(page, "Staked")
    tap_main(page, "Staked")
    kinds = [entry["kind"] for entry in entries(page)]
    assert kinds.count("stake") == 1
    assert kinds[: kinds.index("move") + 2].count("reading") == 2
    page.get_by_role("link", name="How true").click()
    expect(page.locator(".marks li").first).to_contain_text("staked")
    expect(page.locator(".marks li").first).to_contain_text("within")
    expect(page.get_by_role("heading", name="Not true yet")).to_be_visible()


def test_the_whole_deck_ends_with_every_mark_staked(page: Page, server: Server) -> None:
    opened(page, server, "end")
    tap_main(page, "How true it is")
    marks = page.locator(".marks li")
    expect(marks).to_have_count(5)
    expect(marks.filter(has_text=re.compile("staked.*within"))).to_have_count(5)
    expect(page.locator(".ring.staked")).to_have_count(5)


def test_a_metric_job_is_read_in_millimetres(page: Page, server: Server) -> None:
    opened(page, server, "pull", "pear-tree-platform")
    target = wanted(page)
    main_key(page).click()
    page.locator("#held").click()
    tap_length(page, target + 104 / 25.4)
    expect(page.locator(".line")).to_contain_text("long by 4 mm")
    tap_main(page, "Use reading")
    expect(page.locator(".task")).to_contain_text("long by 4 mm")


def test_a_bare_number_is_a_question_with_keys(at_pull: Page) -> None:
    page = at_pull
    main_key(page).click()
    page.locator("#way-text").click()
    page.locator("#typed").fill("113")
    main_key(page).click()
    expect(page.locator(".line")).to_have_text("“113” has no unit. Which is it?")
    choices = page.locator(".choices .key")
    expect(choices).to_have_text(["11' 3\"", "9' 5\""])
    assert not any(entry["kind"] == "reading" for entry in entries(page))
    choices.first.click()
    expect(page.locator(".task")).to_be_visible()
    assert entries(page)[-1]["inches"] == 135


def test_nonsense_names_its_place_and_stays(at_pull: Page) -> None:
    page = at_pull
    main_key(page).click()
    page.locator("#way-text").click()
    page.locator("#typed").fill("12' 3 grbl")
    main_key(page).click()
    expect(page.locator(".line")).to_contain_text("cannot read on from place 7, “grbl”")
    expect(page.locator("#typed")).to_have_value("12' 3 grbl")
    assert page.evaluate("() => document.activeElement.selectionStart") == 6
    page.reload()
    expect(page.locator("#typed")).to_have_value("12' 3 grbl")
    assert not any(entry["kind"] == "reading" for entry in entries(page))


def test_long_by_and_the_one_inch_line(at_pull: Page) -> None:
    page = at_pull
    target = wanted(page)
    main_key(page).click()
    page.locator("#way-by").click()
    page.get_by_role("button", name="short by").click()
    tap_part(page, "sixteenth", 6)
    expect(page.locator(".line")).to_have_text("short by 3/8\"")
    page.locator("#way-keys").click()
    page.locator("#held").click()
    tap_length(page, target + 1)
    expect(page.locator(".line")).to_contain_text("on it")
    main_key(page).click()
    expect(page.locator(".task")).to_be_visible()
    last = entries(page)[-1]
    assert last["held"] is True
    assert abs(last["inches"] - target) < 1 / 32


def test_nothing_is_used_before_every_part_is_tapped(at_pull: Page) -> None:
    page = at_pull
    main_key(page).click()
    tap_part(page, "feet", int(page.locator('[data-stage="feet"]').first.get_attribute("data-value")))
    main_key(page).click()
    expect(page.locator(".line")).to_have_text("Now the inches.")
    assert not any(entry["kind"] == "reading" for entry in entries(page))


def test_undo_is_an_entry_and_reaches_over_the_end_of_a_step(at_pull: Page) -> None:
    page = at_pull
    read(page, wanted(page))
    tap_main(page, "Next: Right string")
    before = entries(page)
    page.locator("#undo").click()
    expect(main_key(page)).to_have_text("Enter reading")
    after = entries(page)
    assert after[:-1] == before
    assert after[-1]["kind"] == "strike"
    assert after[-1]["strikes"] == before[-1]["id"]


def test_what_cannot_be_pulled_is_said_why(at_pull: Page) -> None:
    page = at_pull
    page.locator("#cannot").click()
    page.get_by_role("button", name="Something is in the way").click()
    expect(page.locator(".verdict")).to_contain_text("Not checked")
    expect(page.locator("h2")).to_have_text("This step is closed, but not fully checked.")
    expect(page.locator(".verdict .shape")).to_have_class("shape unsure")
    assert entries(page)[-1]["cannot"] == "blocked"
    page.get_by_role("link", name=re.compile("^step 7 of")).click()
    expect(page.locator(".steps li").nth(6)).to_contain_text("not sure")


def test_a_stake_off_its_mark_says_which_way(page: Page, server: Server) -> None:
    opened(page, server, "stake")
    page.locator("#off").click()
    page.get_by_role("button", name="right", exact=True).click()
    tap_part(page, "sixteenth", 8)
    tap_main(page, "Next: toward or away")
    main_key(page).click()
    expect(page.locator(".sofar")).to_have_text("Which side?")
    page.get_by_role("button", name="toward", exact=True).click()
    tap_part(page, "sixteenth", 4)
    expect(page.locator(".sofar")).to_contain_text("1/4\" toward the house")
    tap_main(page, "Staked there")
    expect(main_key(page)).to_have_text("Done")
    assert entries(page)[-1]["off"] == [0.5, -0.25]
    page.get_by_role("link", name="How true").click()
    expect(page.locator(".marks li").first).to_contain_text("1/2\" right, 1/4\" toward the house")


def test_a_double_tap_answers_once(page: Page, server: Server) -> None:
    keep(page, server)
    open_job(page)
    main_key(page).dblclick()
    expect(page.locator(".here")).to_contain_text("step 2 of")
    assert len(entries(page)) == 1


def test_the_way_back_leads_from_the_pad_to_the_step_and_to_the_jobs(at_pull: Page) -> None:
    page = at_pull
    main_key(page).click()
    expect(page.locator(".tapepad")).to_be_visible()
    page.go_back()
    expect(main_key(page)).to_have_text("Enter reading")
    read(page, wanted(page) + 1)
    expect(main_key(page)).to_have_text("Moved it")
    page.go_back()
    expect(row_of(page, DECK)).to_contain_text(READY)


def screens(page: Page, server: Server) -> Iterator[str]:
    """Every screen of a walk in turn, by name; starts at the list of jobs with the deck kept."""
    yield "jobs"
    open_job(page)
    yield "caution"
    page.locator(".here").click()
    expect(page.locator(".steps")).to_be_visible()
    yield "list"
    page.locator("#way").click()
    expect(page.locator("dialog")).to_be_visible()
    yield "way"
    page.keyboard.press("Escape")
    page.get_by_role("link", name="Step").click()
    page.get_by_role("link", name="Jobs").click()
    opened(page, server, "pull")
    yield "pull"
    page.locator("#cannot").click()
    expect(page.locator("dialog")).to_be_visible()
    yield "question"
    page.keyboard.press("Escape")
    target = wanted(page)
    main_key(page).click()
    expect(page.locator(".tapepad")).to_be_visible()
    for way in ("keys", "text", "by"):
        if way != "keys":
            page.locator(f"#way-{way}").click()
        if way == "text":
            page.locator("#typed").fill("113")
        if way == "by":
            page.get_by_role("button", name="long by").click()
        yield f"pad by {way}"
    page.locator("#way-keys").click()
    tap_length(page, target + 1)
    main_key(page).click()
    expect(main_key(page)).to_have_text("Moved it")
    yield "move"
    page.locator("#undo").click()
    expect(main_key(page)).to_have_text("Enter reading")
    read(page, target)
    yield "verdict"
    main_key(page).click()
    yield "set"
    page.goto("about:blank")
    opened(page, server, "stake")
    yield "stake"
    page.locator("#off").click()
    page.get_by_role("button", name="left", exact=True).click()
    yield "off"
    page.go_back()
    page.get_by_role("link", name="How true").click()
    expect(page.locator(".marks")).to_be_visible()
    yield "truth"


def test_every_screen_is_readable_by_everyone(page: Page, server: Server) -> None:
    keep(page, server)
    assert {name: violations(page) for name in screens(page, server)} == dict.fromkeys(SCREENS, [])


SCREENS = ["jobs", "caution", "list", "way", "pull", "question", "pad by keys", "pad by text", "pad by by", "move", "verdict", "set", "stake", "off",
           "truth"]


@pytest.mark.parametrize("width", [320, 360, 430, 1280])
def test_every_screen_fits_and_every_key_is_large(chromium: Browser, server: Server, width: int) -> None:
    wrong: dict[str, object] = {}
    with phone(chromium, viewport={"width": width, "height": 640}) as context:
        page = context.new_page()
        keep(page, server)
        for name in screens(page, server):
            if found := page.evaluate(SMALL):
                wrong[f"{name}: small"] = found
            if over := page.evaluate(TOO_WIDE):
                wrong[f"{name}: wide"] = over
    assert wrong == {}


def test_every_pull_shows_on_the_plan_when_it_is_lit(at_pull: Page) -> None:
    """Setbacks and the far width too, which the drawing hides on paper."""
    shown = at_pull.evaluate(
        """() => [...document.querySelectorAll('.plan .pull')].map((pull) => {
            pull.classList.add('lit');
            return [pull.id, getComputedStyle(pull).display];
        })"""
    )
    assert len(shown) == 2 + 2 + 1 + 2  # triangles, diagonals, far width, setbacks
    assert [name for name, display in shown if display == "none"] == []


def test_a_part_that_was_lit_goes_back_to_where_it_was_drawn(at_pull: Page) -> None:
    """What lies over what on the plan does not hang on what was done before it was looked at."""
    go_until(at_pull, "Staked")
    order = "() => [...document.querySelectorAll('.plan .point:not(.lit)')].map((part) => part.id)"
    walked = at_pull.evaluate(order)
    at_pull.evaluate("localStorage.clear()")
    at_pull.reload()
    expect(main_key(at_pull)).to_have_text("Staked")
    expect(at_pull.locator(".plan .point.lit").first).to_be_attached()
    assert at_pull.evaluate(order) == walked
