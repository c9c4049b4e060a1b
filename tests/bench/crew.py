"""`python -m tests.bench.crew`: field books into the server, against bare inserts; and fifty phones at once. Exit 1 when a limit is missed."""
from __future__ import annotations

import os
import random
import re
import sqlite3
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from server.store import open_store
from server.store.entries import entry_text
from tests.bench.standing import Server, standing, yardtrue
from tests.bench.table import Row, lines, percentile
from tests.chaos.phone import MOST, Phone, Plain
from tests.chaos.run import JOB, crew_link, in_crew
from tests.chaos.wire import exchange, read
from tests.demo import document
from tests.entered import KEY

OTHER = "pear-tree-platform"  # the job whose book takes the bare inserts
BATCHES = 40
LEAST_SHARE = 0.3
PHONES, UNSENT, KNOWN = 50, 20, 1000
LONGEST = 2.0
HEAD = re.compile(rb'"since": (\d+), "more": (true|false)')


def walked(phone: Phone, count: int) -> None:
    """So many entries in a phone's book, of the kinds and sizes that a walk makes."""
    for number in range(count):
        place = {"step": "stakes", "act": number % 7}
        reading = {"kind": "reading", "from": "WL", "to": "WR", "inches": 312.0625, "text": "26' 0 1/16\"", "held": "end"}
        phone.sign({**place, **(reading if number % 3 else {"kind": "note", "text": "The gate is on the left."})})


def asking(phone: Phone) -> bytes:
    """What a phone sends that sends all it has."""
    return phone.asking(list(phone.unsent))


def batches(phone: Phone) -> Iterator[list[Plain]]:
    """A long book in parts as a phone sends it."""
    walked(phone, BATCHES * MOST)
    book = phone.book
    for start in range(0, len(book), MOST):
        yield book[start : start + MOST]


def synced(port: int, sent: bytes) -> float:
    """Seconds until a part is taken and answered. Raises RuntimeError when it is not taken whole."""
    start = time.perf_counter()
    answer = exchange(port, sent)
    took = time.perf_counter() - start
    found = read(answer)
    if found is None or found[0] != 200 or b'"refused": []' not in found[2]:
        raise RuntimeError(answer[:300])
    return took


def bare(connection: sqlite3.Connection, part: list[Plain], first: int) -> float:
    """Seconds that a program takes which only writes the same entries as JSON and inserts them, in a transaction of their own."""
    start = time.perf_counter()
    inserted(connection, [(OTHER, entry["id"], number, entry_text(entry)) for number, entry in enumerate(part, first)])
    return time.perf_counter() - start


def ready(connection: sqlite3.Connection, part: list[Plain], first: int) -> float:
    """Seconds that the database alone takes, its rows given."""
    rows = [(OTHER, f"{entry['id']} again", number, entry_text(entry)) for number, entry in enumerate(part, first)]
    start = time.perf_counter()
    inserted(connection, rows)
    return time.perf_counter() - start


def inserted(connection: sqlite3.Connection, rows: list[tuple[str, str, int, str]]) -> None:
    with connection:
        connection.executemany("INSERT INTO entries (job_id, id, arrival, body) VALUES (?, ?, ?, ?)", rows)


def against_inserts(server: Server, folder: Path, phone: Phone) -> list[Row]:
    """Parts of a long book in turn: through the API, and into the same file by hand."""
    connection = sqlite3.connect(folder / "bench.sqlite3")
    for pragma in ("journal_mode=WAL", "busy_timeout=5000", "foreign_keys=ON", "synchronous=FULL"):
        connection.execute(f"PRAGMA {pragma}")
    ours, theirs, alone = [], [], []
    for number, part in enumerate(batches(phone)):
        phone.since = number * MOST
        ours.append(synced(server.port, phone.asking([entry["id"] for entry in part])))
        theirs.append(bare(connection, part, 1 + number * MOST))
        alone.append(ready(connection, part, 1 + (BATCHES + number) * MOST))
    singles = [bare(connection, [entry | {"id": f"single {at}"}], 2 * BATCHES * MOST + 1 + at) for at, entry in enumerate(part[:200])]
    connection.close()
    rate, bare_rate, alone_rate, single = (MOST / statistics.median(times) for times in (ours, theirs, alone, [MOST * one for one in singles]))
    note = f"{rate:,.0f} entries/s against {bare_rate:,.0f}: a share of {rate / bare_rate:.2f}, at least {LEAST_SHARE}; parts of {MOST}"
    return [
        Row("Entries synced by the API, time against bare inserts", bare_rate / rate, "x", 1 / LEAST_SHARE, note),
        Row("  against the database alone, its rows given", alone_rate / rate, "x", None, f"{alone_rate:,.0f} entries/s"),
        Row("  against bare inserts one at a time, each on the disk", single / rate, "x", None, f"{single:,.0f} entries/s"),
    ]


class Asker:
    """One of many phones at once: how long it waited for each answer, and until it was in step."""

    def __init__(self, phone: Phone, port: int) -> None:
        self.phone, self.port = phone, port
        self.waits: list[float] = []
        self.whole = 0.0
        self.fault: BaseException | None = None

    def run(self, together: threading.Barrier) -> None:
        try:
            sent = asking(self.phone)
            together.wait()
            start = time.perf_counter()
            while self.ask(sent):
                sent = self.phone.asking([])
            self.whole = time.perf_counter() - start
        except BaseException as fault:
            self.fault = fault

    def ask(self, sent: bytes) -> bool:
        """True while there is more. The answer is looked at, not read whole: fifty phones share this process."""
        start = time.perf_counter()
        answer = exchange(self.port, sent)
        self.waits.append(time.perf_counter() - start)
        found = HEAD.search(answer)
        if found is None or read(answer) is None:
            raise RuntimeError(answer[:300])
        self.phone.since = int(found[1])
        return found[2] == b"true"


def at_once(server: Server, cookie: str, deck: Plain) -> list[Row]:
    """Fifty phones that come into range at the same moment, on one job, each with entries of its own."""
    start = BATCHES * MOST
    askers = []
    for number in range(PHONES):
        phone = Phone(deck, f"crew-{number}", cookie, 0, random.Random(number))
        walked(phone, UNSENT)
        phone.since = start - KNOWN
        askers.append(Asker(phone, server.port))
    together = threading.Barrier(PHONES)
    threads = [threading.Thread(target=one.run, args=(together,)) for one in askers]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    for one in askers:
        if one.fault:
            raise one.fault
    waits = [wait for one in askers for wait in one.waits]
    note = f"{len(waits)} askings, median {statistics.median(waits):.2f} s, 95 % within {percentile(waits, 0.95):.2f} s"
    whole = f"{UNSENT} entries up, some {KNOWN + PHONES * UNSENT:,} down"
    return [
        Row(f"{PHONES} phones at once: the longest wait for an answer", max(waits), "s", LONGEST, note),
        Row(f"{PHONES} phones at once: the last in step", max(one.whole for one in askers), "s", None, whole),
    ]


def check(folder: Path) -> None:
    """Nothing of what was measured is missing. Raises RuntimeError."""
    held: dict[str, Any] = {entry["id"]: entry for entry in open_store(f"sqlite:///{folder / 'bench.sqlite3'}").entries(JOB)}
    if len(held) != BATCHES * MOST + PHONES * UNSENT:
        raise RuntimeError(f"{len(held)} entries are held")


def main() -> int:
    os.environ["YARDTRUE_DESK_KEY"] = KEY
    with tempfile.TemporaryDirectory() as work:
        folder, deck = Path(work), document(JOB)
        with standing(*yardtrue(folder)) as server:
            cookie = in_crew(server.port, crew_link(server.port))
            rows = against_inserts(server, folder, Phone(deck, "long", cookie, 0, random.Random(1)))
            rows += at_once(server, cookie, deck)
        check(folder)
    print(f"{os.cpu_count()} processors, {os.getloadavg()[1]:.1f} processes wanting them; more of them than processors slows all")
    print("\n".join(lines(rows)))
    return 0 if all(row.holds for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
