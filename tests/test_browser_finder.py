"""The browser that other tests lean on starts and runs script."""
from playwright.sync_api import Page


def test_the_browser_runs_script(chromium_page: Page) -> None:
    assert chromium_page.evaluate("'' + (6 * 7)") == "42"
