"""The way into the desk and the crew link in a browser: the key in the fragment, the form, the code, readable by everyone."""
from collections.abc import Iterator

import pytest
from axe_core_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from tests.browser.desk_case import SIZES, assert_fits, page_of, served
from tests.browser.phone_case import violations
from tests.entered import KEY, desk_app, let_in

JOB = "long-side-deck"


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A desk with the demo jobs, served by waitress."""
    with served(desk_app(tmp_path_factory.mktemp("desk"), demo=True)) as address:
        yield address


@pytest.fixture(params=SIZES)
def page(request: pytest.FixtureRequest, chromium: Browser) -> Iterator[Page]:
    """A page of a desk's or a phone's size that nobody has entered on; nothing but refusals in its console."""
    with page_of(chromium, request.param) as page:
        yield page


def test_the_printed_address_enters_and_the_key_leaves_the_address(address: str, page: Page) -> None:
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(f"{address}/enter#{KEY}")
    expect(page.get_by_role("heading", level=1)).to_have_text("Jobs")
    assert page.url == f"{address}/"
    page.go_back()
    assert KEY not in page.url
    assert not [url for url in asked if KEY in url.partition("#")[0]]


def test_the_key_is_typed_with_a_wrong_one_told_first(address: str, page: Page) -> None:
    page.goto(address)
    expect(page.get_by_role("heading", level=1)).to_have_text("Enter the desk")
    expect(page.get_by_label("Desk key")).to_be_focused()
    assert violations(page) == []
    assert_fits(page)
    page.get_by_label("Desk key").fill("WRONG")
    page.get_by_role("button", name="Enter").click()
    expect(page.get_by_role("alert")).to_contain_text("This is not the desk's key.")
    assert violations(page) == []
    assert_fits(page)
    page.get_by_label("Desk key").fill(KEY.lower())
    page.get_by_role("button", name="Enter").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Jobs")


def test_the_form_is_enough_without_a_script(address: str, chromium: Browser) -> None:
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(address)
    page.get_by_label("Desk key").fill(KEY)
    page.get_by_role("button", name="Enter").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Jobs")
    context.close()


def test_a_crew_link_is_made_shown_once_made_anew_and_withdrawn(address: str, page: Page, chromium: Browser) -> None:
    let_in(page.context, address)
    page.goto(f"{address}/jobs/{JOB}")
    page.get_by_role("button", name="Make a crew link").click()
    link = page.get_by_label("The link", exact=True).input_value()
    expect(page.locator(".code svg")).to_be_visible()
    assert page.locator(".code svg").bounding_box()["width"] > 200
    assert violations(page) == []
    assert_fits(page)
    token = link.rpartition("/")[2]
    with_link = chromium.new_context()
    joined = with_link.request.post(f"{address}/api/crew", data={"link": token})
    assert joined.json()["job"]["id"] == JOB
    page.get_by_role("link", name="Back to the job").click()
    expect(page.locator("#crew")).to_contain_text("in use")
    assert token not in page.content()
    assert [one["id"] for one in Axe().run(page)["violations"]] == []
    assert_fits(page)
    page.get_by_role("button", name="Make it anew").click()
    assert page.get_by_label("The link", exact=True).input_value() != link
    page.get_by_role("link", name="Back to the job").click()
    assert with_link.request.post(f"{address}/api/crew", data={"link": token}).status == 404
    page.get_by_role("button", name="Withdraw it").click()
    expect(page.get_by_role("button", name="Make a crew link")).to_be_visible()
    with_link.close()
