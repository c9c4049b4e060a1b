"""What tests share: one Chromium for the whole run, and a fresh page for each test."""
import gc
import sys
import threading
from collections.abc import Generator, Iterator
from contextlib import AbstractContextManager, ExitStack, contextmanager
from typing import TypeVar

import pytest
from hypothesis import settings
from playwright.sync_api import Browser, Page

from tests import throwaway
from tests.browser_finder import open_browser

T = TypeVar("T")

# Files whose tests do one thing many times over, and a folder: tracing each line makes them three times as long, and others run the same lines.
UNTRACED = {
    "browser",
    "test_carry", "test_chaos", "test_choosing", "test_hostile", "test_naming", "test_naming_properties", "test_outgrown", "test_outgrown_store",
    "test_outgrown_sync", "test_plan", "test_rehearse", "test_report", "test_seek", "test_slips", "test_tape_network", "test_together",
    "test_vectors", "test_walk",
}

# Files that take long, the longest first: begun last, they would keep one process at work and the others waiting.
LONG = (
    "test_chaos", "test_phone_crew", "test_phone_offline", "test_desk_yards", "test_phone_ways", "test_phone_lan", "test_outgrown",
    "test_phone_after", "test_phone_walk", "test_choosing", "test_hostile", "test_plan", "test_vectors",
)

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


@pytest.fixture(scope="session")
def postgresql() -> Iterator[throwaway.PostgreSQL]:
    """One PostgreSQL for the whole run; its databases are emptied by nobody, each test takes a new one."""
    with here_or_skipped(throwaway.postgresql("fsync=off", "full_page_writes=off")) as cluster:
        yield cluster


@pytest.fixture(scope="session")
def redis_address() -> Iterator[str]:
    """One Redis for the whole run."""
    with here_or_skipped(throwaway.redis()) as address:
        yield address


@contextmanager
def here_or_skipped(server: AbstractContextManager[T]) -> Iterator[T]:
    """A server, or the test skipped with what lacks on this machine."""
    with ExitStack() as stack:
        try:
            found = stack.enter_context(server)
        except throwaway.NotHere as lacks:
            pytest.skip(str(lacks))
        yield found


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    items.sort(key=lambda item: LONG.index(item.path.stem) if item.path.stem in LONG else len(LONG))


def pytest_collection_finish() -> None:
    """What is loaded by now stays: the garbage collector need not look through it again and again."""
    gc.freeze()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Generator[None, object, object]:
    """Coverage traces nothing of `UNTRACED`; pytest-cov's own mark leaves a tracer at work in the processes of xdist."""
    if UNTRACED.isdisjoint((item.path.stem, item.path.parent.name)):
        return (yield)
    here, in_threads = sys.gettrace(), threading.gettrace()
    sys.settrace(None)
    threading.settrace(None)  # type: ignore[arg-type]
    try:
        return (yield)
    finally:
        sys.settrace(here)
        threading.settrace(in_threads)  # type: ignore[arg-type]
