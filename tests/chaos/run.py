"""One chaos run, told in order: enter, work under faults and kills, a storm of all phones at once, signal back, compare."""
from __future__ import annotations

import random
import re
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from server.field import walk
from server.store import open_store
from tests.chaos.host import Host
from tests.chaos.mortal import PLACES
from tests.chaos.phone import Phone, Plain
from tests.chaos.wire import Wire, exchange, read, request
from tests.demo import document
from tests.entered import KEY

JOB = "long-side-deck"
DAYS = (0, -3, 400, 11, -9000)  # how far each phone's clock is off
DEVICES = ("kestrel", "otter", "wren", "heron", "stoat")
BETWEEN = ("between", "body")  # killed with no request there, or with half of one


@dataclass(frozen=True)
class Size:
    """How much of everything: deliveries and kills of the work, deliveries and kills of the storm, entries."""

    deliveries: int = 7000
    kills: int = 80
    storm: int = 3000
    storm_kills: int = 20
    asks: int = 200
    notes: int = 500

    @property
    def all_deliveries(self) -> int:
        return self.deliveries + self.storm

    @property
    def all_kills(self) -> int:
        return self.kills + self.storm_kills


@dataclass
class Run:
    """A run under way. Everything drawn comes from the seed; what a kill of the storm hits is up to the machine."""

    seed: int
    size: Size
    host: Host
    wire: Wire
    phones: list[Phone]
    chance: random.Random
    places: Counter[str] = field(default_factory=Counter)
    down: int = 0  # askings before a killed server is started again


def chaos(folder: Path, seed: int, size: Size) -> Run:
    """The whole run; its server still stands at the end."""
    chance = random.Random(seed)
    host = Host(folder)
    try:
        host.serve()
        deck = document(JOB)
        cookies = [in_crew(host.port, link) for link in [crew_link(host.port)] for _ in DEVICES]
        phones = [
            Phone(deck, device, cookie, days, random.Random(f"{seed} {device}"))
            for device, cookie, days in zip(DEVICES, cookies, DAYS, strict=True)
        ]
        run = Run(seed, size, host, Wire(host.port, chance), phones, chance)
        work(run)
        storm(run)
        signal_back(run)
    except BaseException:
        host.end()
        raise
    return run


def crew_link(port: int) -> str:
    """A new crew link, made at the desk."""
    form = "application/x-www-form-urlencoded"
    entered = read(exchange(port, request("/enter", urlencode({"key": KEY}).encode(), form)))
    assert entered
    assert entered[0] == 303, entered
    page = read(exchange(port, request(f"/jobs/{JOB}/link", b"", form, cookie_of(entered[1]))))
    assert page
    return re.findall(r"#/crew/([\w-]+)", page[2].decode())[0]


def in_crew(port: int, link: str) -> str:
    """The cookie of a phone that has opened a crew link."""
    joined = read(exchange(port, request("/api/crew", f'{{"link": "{link}"}}'.encode(), "application/json")))
    assert joined
    assert joined[0] == 200, joined
    return cookie_of(joined[1])


def cookie_of(headers: dict[str, str]) -> str:
    return headers["set-cookie"].partition(";")[0]


def work(run: Run) -> None:
    """One thing after another, so that the same seed does the same: phones walk, ask, and the server dies here and there."""
    size, chance = run.size, run.chance
    kills = iter(sorted(chance.sample(range(1, size.deliveries - 50), size.kills)))
    due = next(kills, None)
    todo = ["ask"] * (size.asks * 4 // 5) + ["note"] * (size.notes * 4 // 5)
    chance.shuffle(todo)
    pace = size.deliveries / max(len(todo), 1)
    made = len(todo)
    while run.wire.deliveries < size.deliveries:
        phone = chance.choice(run.phones)
        while todo and (made - len(todo)) * pace <= run.wire.deliveries:
            chance.choice(run.phones).work() if todo.pop() == "ask" else chance.choice(run.phones).note()
        if due is not None and run.wire.deliveries >= due and not run.down:
            strike_dead(run, phone)
            due = next(kills, None)
        phone.sync(lambda sent: carried(run, sent))
    raised(run)


def carried(run: Run, sent: bytes) -> Any:
    """Carry an asking; a dead server is started again once some have gone nowhere."""
    if run.down > 1:
        run.down -= 1
        run.wire.count("found nobody")
    else:
        raised(run)
    return run.wire.carry(sent)


def raised(run: Run) -> None:
    if run.down:
        run.down = 0
        run.host.start()


def strike_dead(run: Run, phone: Phone) -> None:
    """Kill the server: from outside, or at a place inside the handling of a phone's asking."""
    place = run.chance.choice((*BETWEEN, *PLACES)) if run.host.command is None else "between"
    if place in PLACES:
        phone.note()  # the server lacks it for certain, so that there is something to write
    run.places[place] += 1
    sent = sorted(phone.unsent, key=lambda one: (phone.entries[one]["n"], one))[:500]
    if place == "between":
        run.host.kill()
    elif place == "body":
        cut_and_kill(run, phone.asking(sent))
    else:
        run.wire.count("deliveries")
        answer = exchange(run.wire.port, phone.asking(sent, **{"Die-At": place}))
        assert read(answer) is None, f"the server lived on at {place}"
        run.host.died()
    run.down = run.chance.randrange(1, 4)


def cut_and_kill(run: Run, sent: bytes) -> None:
    """The server dies while it waits for the second half of a body."""
    run.wire.count("deliveries")
    killing = threading.Timer(0.004, run.host.kill)
    killing.start()
    exchange(run.wire.port, sent[: len(sent) - 10])
    killing.join()


def storm(run: Run) -> None:
    """All phones at once, each in a thread, and kills from outside in the middle of whatever goes on."""
    end = run.size.all_deliveries
    faults: list[BaseException] = []
    threads = [threading.Thread(target=stormy, args=(run, phone, end, faults)) for phone in run.phones]
    for thread in threads:
        thread.start()
    for number in range(1, run.size.storm_kills + 1):
        due = run.size.deliveries + number * (run.size.storm - 100) // run.size.storm_kills
        while run.wire.deliveries < due and not faults:
            time.sleep(0.001)
        time.sleep(run.chance.random() * 0.01)
        run.host.kill()
        run.places["storm"] += 1
        time.sleep(run.chance.random() * 0.02)
        run.host.start()
    for thread in threads:
        thread.join()
    if faults:
        raise faults[0]


def stormy(run: Run, phone: Phone, end: int, faults: list[BaseException]) -> None:
    """One phone in the storm: it works on and asks, without a pause."""
    share = run.size.storm / 5
    plan = ["ask"] * (run.size.asks // 25) + ["note"] * (run.size.notes // 25)
    phone.chance.shuffle(plan)
    asked = 0
    try:
        while run.wire.deliveries < end and not faults:
            if plan and asked * len(plan) >= share / 2:
                phone.work() if plan.pop() == "ask" else phone.note()
                asked = 0
            asked += 1
            phone.sync(run.wire.carry, rounds=3)
            time.sleep(0.002 * phone.chance.random())
    except BaseException as fault:
        faults.append(fault)


def signal_back(run: Run) -> None:
    """The server started by its command, no faults any more: everyone asks until nothing waits."""
    run.host.kill()
    run.host.serve()
    run.wire.faulty = False
    for _ in range(2):
        for phone in run.phones:
            assert phone.sync(run.wire.carry, rounds=100)


def held_by_server(run: Run) -> list[Plain]:
    """The book as the database has it, read by another process than the server."""
    return open_store(run.host.database).entries(JOB)


def state_of(run: Run, entries: list[Plain]) -> Plain:
    """A fold anew of a whole book."""
    return dict(walk.fold(run.phones[0].document, entries))


def told(run: Run, entries: list[Plain]) -> str:
    """What happened, in numbers."""
    counts = {**run.wire.counts, **{f"killed: {place}": count for place, count in sorted(run.places.items())}}
    lines = [f"seed {run.seed}: {len(entries)} entries of {len(run.phones)} phones, {run.host.kills} kills"]
    return "\n".join(lines + [f"{count:7,} {what}" for what, count in counts.items()])
