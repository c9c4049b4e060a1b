"""What the desk's browser tests start from: an app served by waitress, and a page of a desk's or a phone's size."""
from __future__ import annotations

import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager

from flask import Flask
from playwright.sync_api import Browser, Page
from waitress.server import create_server

from tests.entered import let_in

SIZES = {"desk": {"width": 1280, "height": 900}, "phone": {"width": 390, "height": 844}}
SMALL = """() => [...document.querySelectorAll('button, .key, select, input:not([type=radio]), nav a, summary')]
    .filter((it) => it.offsetParent && it.getBoundingClientRect().height < 47.5)
    .map((it) => it.outerHTML.slice(0, 90))"""
HARMLESS = re.compile(r"status of 4\d\d")


@contextmanager
def served(app: Flask) -> Iterator[str]:
    """The address of an app that waitress serves."""
    server = create_server(app, host="127.0.0.1", port=0, threads=4)
    threading.Thread(target=server.run, daemon=True).start()
    yield f"http://127.0.0.1:{server.effective_port}"
    server.close()


@contextmanager
def page_of(browser: Browser, size: str, entered: str = "") -> Iterator[Page]:
    """A page of one of `SIZES`, entered at a desk's address if one is given; anything but refusals in its console is a failure."""
    context = browser.new_context(viewport=SIZES[size], has_touch=size == "phone")
    if entered:
        let_in(context, entered)
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    yield page
    context.close()
    assert [text for text in said if not HARMLESS.search(text)] == []


def assert_fits(page: Page) -> None:
    """No side scroll; everything tapped is 48 px tall, but links inside a sentence or a list."""
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert page.evaluate(SMALL) == []
