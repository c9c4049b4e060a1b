"""What the tests of the phone start from: a server for each file, and a phone for each test."""
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.phone_case import Server, phone, serving


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("desk")) as server:
        yield server


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    with phone(chromium) as context:
        yield context.new_page()
