"""The Chromium that browser tests drive: the machine's own, or else the one Playwright brought."""
import shutil
from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import Browser, sync_playwright

# Without screen or windows it does the same work in two thirds of the time.
NAMES = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")
ARGUMENTS = ["--no-sandbox", "--disable-background-networking"]


def chromium_path() -> str | None:
    """Path of an installed Chromium; None leaves the choice to Playwright."""
    return next((path for path in map(shutil.which, NAMES) if path), None)


@contextmanager
def open_browser() -> Iterator[Browser]:
    """A running Chromium, closed again at the end."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=ARGUMENTS)
        try:
            yield browser
        finally:
            browser.close()
