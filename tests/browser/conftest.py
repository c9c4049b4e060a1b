"""What the tests of the phone start from: a server for each file, and a phone for each test."""
import sqlite3
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.phone_case import Server, phone, serving


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("desk")) as server:
        yield server


@pytest.fixture
def page(chromium: Browser, server: Server) -> Iterator[Page]:
    with phone(chromium) as context:
        if server.answers():
            server.enter(context)
        yield context.new_page()


@pytest.fixture(autouse=True)
def no_books(request: pytest.FixtureRequest) -> None:
    """No test leaves a field book at the desk: the phones of the next one would be brought in step with it."""
    if "server" not in request.fixturenames:
        return
    server = request.getfixturevalue("server")
    if isinstance(server, Server):
        with sqlite3.connect(server.database.removeprefix("sqlite:///"), timeout=10) as database:
            database.execute("DELETE FROM entries")
