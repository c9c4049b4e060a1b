"""Every check of the project in one command: a browser found or installed, then ruff, mypy and pytest with coverage."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

from tests.browser_finder import chromium_path

ROOT = Path(__file__).resolve().parent.parent
CHECKS = (
    ("ruff", "check", "."),
    ("mypy",),
    ("pytest", "-n", "3", "--dist", "loadfile", "--no-loadscope-reorder", "--cov=server", "--cov-report=term:skip-covered", "-q"),
)


def find_browser() -> None:
    """Make sure a Chromium is there: the machine's, else Playwright's download, else the distribution's package."""
    if chromium_path():
        return
    if subprocess.run([sys.executable, "-m", "playwright", "install", "--with-deps", "chromium"], check=False).returncode == 0:
        return
    if shutil.which("apt-get") and os.geteuid() == 0:
        subprocess.run(["apt-get", "update", "-qq"], check=False)
        for name in ("chromium-headless-shell", "chromium"):
            if subprocess.run(["apt-get", "install", "-y", "-qq", name], check=False).returncode == 0:
                break
    if not chromium_path():
        sys.exit("No Chromium was found or could be installed; install one and run this again.")


def main(arguments: list[str]) -> int:
    """Run every check in order; further arguments go to pytest. The first failure ends the run."""
    find_browser()
    for name, *rest in CHECKS:
        more = arguments if name == "pytest" else []
        done = subprocess.run([sys.executable, "-m", name, *rest, *more], cwd=ROOT, check=False)
        if done.returncode != 0:
            return done.returncode
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
