"""The desk in a browser: readable by everyone, no wider than the screen, one sheet of paper, script or no script."""
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.desk_case import SIZES, assert_fits, page_of, served
from tests.browser.phone_case import violations
from tests.entered import desk_app, let_in

PAGES = ["/", "/jobs/new", "/jobs/long-side-deck", "/jobs/pear-tree-platform", "/jobs/long-side-deck/print",
         "/jobs/long-side-deck/edit", "/jobs/long-side-deck/delete", "/nope"]
HOSTILE = "<img src=x onerror=document.title='broken'> \u202eback"
BREAK_IN = """() => {
    const script = document.createElement('script');
    script.textContent = "document.title = 'broken'";
    document.body.append(script);
    const styled = "<p id=odd style='position: fixed' onclick=\\"document.title='broken'\\">x</p>";
    document.body.insertAdjacentHTML('beforeend', styled);
    document.getElementById('odd').click();
}"""


@pytest.fixture(scope="module")
def address(tmp_path_factory) -> Iterator[str]:
    """A desk with the demo jobs, served by waitress."""
    app = desk_app(tmp_path_factory.mktemp("desk"), demo=True)
    with served(app) as address:
        yield address


@pytest.fixture(params=SIZES)
def page(request, chromium: Browser, address: str) -> Iterator[Page]:
    """A page of a desk's or a phone's size; anything in its console is a failure."""
    with page_of(chromium, request.param, address) as page:
        yield page


@pytest.mark.parametrize("path", PAGES)
def test_every_page_is_readable_by_everyone_and_fits(address, page, path):
    page.goto(address + path)
    assert violations(page) == []
    assert_fits(page)


def fill(page: Page, **fields: str) -> None:
    for name, value in fields.items():
        page.fill(f"[id='{name.replace('__', '.')}']", value)


def test_faults_are_all_shown_with_everything_typed_still_there(address, page):
    page.goto(f"{address}/jobs/new")
    fill(page, name=HOSTILE, width="113", beams__0__setback="14x", tape="9'")
    page.get_by_role("button", name="Make the plan", exact=True).click()
    summary = page.locator(".faults")
    expect(summary).to_contain_text("things to mend")
    expect(summary).to_be_focused()
    assert violations(page) == []
    assert_fits(page)
    for name, value in {"name": HOSTILE, "width": "113", "beams.0.setback": "14x", "tape": "9'"}.items():
        assert page.input_value(f"[id='{name}']") == value
    described = page.get_attribute("#width", "aria-describedby").split()[-1]
    expect(page.locator(f"#{described}")).to_contain_text("11' 3\"")
    summary.get_by_role("link", name="Tape length").click()
    expect(page.locator("#tape")).to_be_focused()
    assert page.title() != "broken"


def test_a_job_is_made_with_a_beam_added_and_one_taken_out(address, page):
    page.goto(f"{address}/jobs/new")
    expect(page.locator("fieldset.beam:visible")).to_have_count(1)
    fill(page, name=HOSTILE, width="16'", out="12'", tape="25'", beams__0__setback="10' 6\"",
         beams__0__posts__count="3", beams__0__posts__cantilever="1'")
    for row in (1, 2):
        page.get_by_role("button", name="Add a beam").click()
        expect(page.locator(f"[id='beams.{row}.setback']")).to_be_focused()
    fill(page, beams__1__setback="5'", beams__2__setback="2'")
    page.get_by_role("button", name="Take beam 2 out").click()
    page.locator("fieldset.beam").nth(2).get_by_text("Each by its position").click()
    fill(page, beams__2__posts__at="1'; 8'; 15'")
    page.get_by_role("button", name="Make the plan", exact=True).click()
    expect(page.locator("h1")).to_have_text(HOSTILE)
    expect(page.locator(".point-ground")).to_have_count(6)
    assert violations(page) == []
    assert_fits(page)


def test_beams_step_back_while_frames_are_found_and_come_back_as_typed(address, page):
    page.goto(f"{address}/jobs/new")
    fill(page, beams__0__setback="10' 6\"", live="30", patches__0__name="Hot tub")
    page.get_by_text("Let Yardtrue find frames").click()
    expect(page.locator("fieldset.beam:visible")).to_have_count(0)
    expect(page.get_by_role("button", name="Add a beam")).to_be_hidden()
    page.get_by_role("button", name="Make the plan", exact=True).click()
    expect(page.locator(".faults")).to_contain_text("Frames can be found only for lumber of a known species")
    expect(page.get_by_label("Let Yardtrue find frames")).to_be_checked()
    assert violations(page) == []
    assert_fits(page)
    page.locator(".faults").get_by_role("link", name="Species of joists and beams").click()
    expect(page.locator("#species")).to_be_focused()
    page.get_by_text("As given below").click()
    expect(page.locator("[id='beams.0.setback']")).to_be_visible()
    assert page.input_value("[id='beams.0.setback']") == "10' 6\""
    assert page.input_value("[id='patches.0.name']") == "Hot tub"


def test_the_form_works_without_a_script(address, chromium):
    context = chromium.new_context(java_script_enabled=False)
    let_in(context, address)
    page = context.new_page()
    page.goto(f"{address}/jobs/new")
    expect(page.locator("fieldset.beam:visible")).to_have_count(4)
    fill(page, name="No script", width="16'", out="12'", tape="25'", beams__2__setback="10' 6\"",
         beams__2__posts__count="3", beams__2__posts__cantilever="1'")
    page.get_by_role("button", name="Make the plan", exact=True).click()
    expect(page.locator("h1")).to_have_text("No script")
    context.close()


@pytest.mark.parametrize("job", ["long-side-deck", "pear-tree-platform"])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_demo_job_prints_on_one_sheet(address, chromium_page, job, paper):
    let_in(chromium_page.context, address)
    chromium_page.goto(f"{address}/jobs/{job}/print")
    pdf = chromium_page.pdf(format=paper)
    assert pdf.count(b"/Type /Page") - pdf.count(b"/Type /Pages") == 1
    chromium_page.emulate_media(media="print")
    for part in ("svg.plan", ".flow", ".cautions"):
        expect(chromium_page.locator(part)).to_be_visible()
    for part in (".head", ".foot", ".aside"):
        expect(chromium_page.locator(part)).to_be_hidden()


def test_the_policy_stops_what_gets_in(address, chromium_page):
    """A script or style put into the page by other means does not run."""
    chromium_page.goto(address)
    chromium_page.evaluate(BREAK_IN)
    assert chromium_page.title() != "broken"
    assert chromium_page.evaluate("getComputedStyle(document.getElementById('odd')).position") == "static"
