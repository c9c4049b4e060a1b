"""`python -m tests.bench`: every measurement in one run, one table; exit 1 when a limit is missed."""
from __future__ import annotations

import http.client
import json
import os
import sys
import tempfile
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext

from tests.bench import adjusting, choosing, documents, download, readings, start
from tests.bench.phone import SIZE, SLOWDOWN, keep_jobs, slowdown
from tests.bench.standing import Server, standing, yardtrue
from tests.bench.table import Row, lines
from tests.browser_finder import open_browser
from tests.demo import spec

DEMO = "long-side-deck"
NOT_BEGUN = "pear-tree-platform"
ROWS_OF_POSTS = ("4' 6\"", "7' 6\"", "10'", "12' 6\"")


def twelve_stakes() -> dict[str, Any]:
    """The demo deck on four beams of three posts."""
    posts = {"count": 3, "cantilever": "1' 4\""}
    beams = [{"setback": setback, "plies": 2, "size": "2x10", "posts": posts} for setback in ROWS_OF_POSTS]
    return spec(DEMO, name="Twelve stakes", out="14'", beams=beams)


def add_job(connection: http.client.HTTPConnection, job: dict[str, Any]) -> str:
    """Save a job at the desk; its id."""
    headers = {"Content-Type": "application/json", "Cookie": documents.session_of(connection)}
    connection.request("POST", "/api/jobs", json.dumps(job), headers)
    answer = connection.getresponse()
    saved = json.loads(answer.read())
    if answer.status != 201:
        raise RuntimeError(saved)
    return str(saved["id"])


def documents_of(server: Server) -> dict[str, dict[str, Any]]:
    """Every job's document as the server gives it, by job id."""
    connection = server.connection()
    session = documents.session_of(connection)
    jobs = json.loads(documents.fetch(connection, "/phone/jobs/index.json", session))["jobs"]
    return {job["id"]: json.loads(documents.fetch(connection, f"/phone/{job['files'][0]}", session)) for job in jobs}


def on_the_phone(browser: Browser, folder: Path) -> list[Row]:
    """The rows of the phone: jobs kept, then both servers killed, then everything measured without them."""
    (folder / "twin").mkdir()
    start.write_twin(folder / "twin")
    twin_command = ("http.server", "{port}", "--bind", "127.0.0.1", "--directory", str(folder / "twin"))
    context = browser.new_context(viewport=SIZE, has_touch=True, is_mobile=True)
    with standing(*yardtrue(folder)) as server, standing(*twin_command) as twin:
        big = add_job(server.connection(), twelve_stakes())
        found = documents_of(server)
        page = context.new_page()
        keep_jobs(page, server.address, len(found))
        page.close()
        start.prime_twin(context, twin.address)
        server.kill()
        twin.kill()
    return without_server(context, server.address, twin.address, found, big)


def without_server(
    context: BrowserContext, address: str, twin: str, found: dict[str, dict[str, Any]], big: str
) -> list[Row]:
    """Two jobs walked to their ends first, so that the start is measured with a long book too."""
    tell("readings")
    rows = [Row("Slowdown in effect, the same loop", slowdown(context), "x", None, f"{SLOWDOWN}x asked for")]
    rows += readings.measure(context, address, [found[big], found[DEMO]])
    tell("start")
    new, walked = (f"{address}/phone/#/job/{job}" for job in (NOT_BEGUN, big))
    starts = {
        "Start, job not begun, nothing remembered": (new, True),
        "Start, job not begun": (new, False),
        "Start, job walked to its end": (walked, False),
    }
    rows += start.measure(context, starts, f"{twin}/")
    tell("field math")
    return rows + adjusting.measure(context, address, found[big])


def tell(what: str) -> None:
    """What is being measured, for whoever waits."""
    print(f"measuring: {what}", file=sys.stderr, flush=True)


def main() -> int:
    with tempfile.TemporaryDirectory() as work, open_browser() as browser:
        rows = [*on_the_phone(browser, Path(work)), download.measure()]
        tell("documents")
        rows += documents.measure(Path(work))
        tell("frames")
        rows += choosing.measure()
    print(f"{os.cpu_count()} processors, {os.getloadavg()[1]:.1f} processes wanting them; more of them than processors slows all")
    print("\n".join(lines(rows)))
    return 0 if all(row.holds for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
