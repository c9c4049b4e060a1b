"""A job's document over HTTP from the cache, against a static file of as many bytes; and what a cold one costs."""
from __future__ import annotations

import json
import subprocess
import sys
import time
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlencode

from tests.bench.standing import ROOT, standing
from tests.bench.table import Row, ratio, spread
from tests.entered import KEY

ROUNDS = 400
LIMIT = 1.5


def session_of(connection: HTTPConnection) -> str:
    """The cookie of a session at the desk."""
    connection.request("POST", "/enter", urlencode({"key": KEY}), {"Content-Type": "application/x-www-form-urlencoded"})
    answer = connection.getresponse()
    answer.read()
    return answer.headers["Set-Cookie"].partition(";")[0]


def fetch(connection: HTTPConnection, path: str, session: str) -> bytes:
    """The bytes at a path. Raises RuntimeError for any answer but 200."""
    connection.request("GET", path, headers={"Cookie": session})
    answer = connection.getresponse()
    content = answer.read()
    if answer.status != 200:
        raise RuntimeError(f"{path}: {answer.status}")
    return content


def timed(connection: HTTPConnection, path: str, session: str) -> float:
    """Milliseconds that one GET takes on a standing connection."""
    start = time.perf_counter()
    fetch(connection, path, session)
    return (time.perf_counter() - start) * 1000


def measure(folder: Path) -> list[Row]:
    """The document and the file in turn, from the same server."""
    still = folder / "still"
    still.mkdir()
    with standing("tests.bench.desk", "{port}", f"sqlite:///{folder / 'desk.sqlite3'}", str(still)) as server:
        connection = server.connection()
        session = session_of(connection)
        job = json.loads(fetch(connection, "/phone/jobs/index.json", session))["jobs"][0]
        path = "/phone/" + job["files"][0]
        content = fetch(connection, path, session)
        (still / "same.json").write_bytes(content)
        paths = (path, "/still/same.json")
        pairs = [tuple(timed(connection, each, session) for each in paths) for _ in range(ROUNDS)]
    ours, theirs = ([pair[side] for pair in pairs] for side in (0, 1))
    note = f"{len(content) / 1024:.0f} KiB, {ROUNDS} each in turn, {min(ours):.1f} ms at best against {min(theirs):.1f}"
    warm = Row("Document from the cache, against a static file", ratio(ours, theirs), "x", LIMIT, note)
    return [warm, *cold_rows(ours)]


def cold_rows(warm: list[float]) -> list[Row]:
    """What a document costs a process that has built none, and each part's share. For information."""
    command = [sys.executable, "-m", "tests.bench.cold"]
    runs = [json.loads(subprocess.check_output(command, cwd=ROOT)) for _ in range(3)]
    parts = {part: min(run[part] for run in runs) for part in runs[0]}
    whole = sum(parts.values())
    shares = ", ".join(f"{part} {100 * cost / whole:.0f} %" for part, cost in parts.items())
    again = whole - parts["compile the field math"]
    return [
        Row("Document cold, the first of a process, against a cached one", ratio([whole], warm), "x", None,
            f"{whole:.0f} ms: {shares}; cached {spread(warm)}"),
        Row("Document cold, field math compiled already, against a cached one", ratio([again], warm), "x", None,
            f"{again:.0f} ms"),
    ]
