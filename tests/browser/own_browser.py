"""A browser with a profile of its own, that can be killed and started again on what it kept."""
from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from playwright.sync_api import Browser, BrowserContext

from tests.browser.phone_case import PATIENCE, PHONE
from tests.browser_finder import ARGUMENTS, chromium_path


@contextmanager
def own_browser(chromium: Browser, profile: Path) -> Iterator[BrowserContext]:
    """A browser with a profile of its own, which outlives it."""
    context = launched(chromium, profile)
    yield context
    context.close()


def launched(chromium: Browser, profile: Path) -> BrowserContext:
    options = {"executable_path": chromium_path(), "args": ARGUMENTS, **PHONE}
    return chromium.browser_type.launch_persistent_context(str(profile), **options)


def kill_all_of(profile: Path) -> None:
    """Kill until none is left, those too that were just being born. Raises TimeoutError."""
    end = time.monotonic() + PATIENCE
    while left := processes_of(profile):
        if time.monotonic() > end:
            raise TimeoutError(left)
        for process in left:
            with suppress(ProcessLookupError):
                os.kill(process, signal.SIGKILL)
        time.sleep(0.05)


def processes_of(profile: Path) -> list[int]:
    """Ids of the running processes that were started on this profile."""
    found = []
    for folder in Path("/proc").iterdir():
        if folder.name.isdigit() and started_on(folder, profile):
            found.append(int(folder.name))
    return found


def started_on(process: Path, profile: Path) -> bool:
    try:
        return f"--user-data-dir={profile}".encode() in (process / "cmdline").read_bytes().split(b"\0")
    except OSError:
        return False
