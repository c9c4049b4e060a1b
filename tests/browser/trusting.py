"""A Chromium with a home of its own, in which a local authority is trusted, or is not."""
from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext

from tests.browser.phone_case import PHONE
from tests.browser_finder import ARGUMENTS, chromium_path
from tests.lan_case import HOST, NAME

FOUND = f"--host-resolver-rules=MAP {NAME} {HOST}"  # as the house's router would tell
MISSING = "certutil is not on this machine (Debian: libnss3-tools), so no Chromium can be told to trust an authority"


def need_certutil() -> str:
    """The path of certutil, or the test is skipped with a word."""
    found = shutil.which("certutil")
    if not found:
        pytest.skip(MISSING)
    return found


def trust(home: Path, root_pem: str, called: str = "yard") -> None:
    """Have the browser of this home trust an authority for servers."""
    certutil = need_certutil()
    database = home / ".pki" / "nssdb"
    (home / "root.pem").write_text(root_pem)
    if not database.is_dir():
        database.mkdir(parents=True)
        subprocess.run([certutil, "-N", "--empty-password", "-d", f"sql:{database}"], check=True)
    command = [certutil, "-A", "-d", f"sql:{database}", "-t", "C,,", "-n", called, "-i", str(home / "root.pem")]
    subprocess.run(command, check=True)


@contextmanager
def browser_at(chromium: Browser, home: Path, **options: object) -> Iterator[BrowserContext]:
    """A phone whose browser reads the trust of this home and keeps its profile there."""
    context = chromium.browser_type.launch_persistent_context(
        str(home / "profile"), executable_path=chromium_path(), args=[*ARGUMENTS, FOUND],
        env={**os.environ, "HOME": str(home)}, **{**PHONE, **options},  # type: ignore[arg-type]
    )
    try:
        yield context
    finally:
        context.close()
