"""What tests share: one Chromium for the whole run, and a fresh page for each test."""
from collections.abc import Iterator

import pytest
from hypothesis import settings
from playwright.sync_api import Browser, Page

from tests.browser_finder import open_browser

# Machines are shared: how long an example takes says nothing about it.
settings.register_profile("shared", deadline=None)
settings.load_profile("shared")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One Chromium for the whole run."""
    with open_browser() as browser:
        yield browser


@pytest.fixture
def chromium_page(chromium: Browser) -> Iterator[Page]:
    """A page in a context of its own: no store, cache or worker left by another test."""
    context = chromium.new_context()
    yield context.new_page()
    context.close()
