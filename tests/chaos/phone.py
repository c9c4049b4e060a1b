"""A phone of the chaos run: a book, what of it waits for the server, a cursor; it asks and settles as pwa/data does."""
from __future__ import annotations

import copy
import json
import random
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

from server.field import walk
from tests.chaos.wire import request
from tests.crew_phones import said

Plain = dict[str, Any]
MOST = 500  # entries in one asking
NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)


class Phone:
    """One phone; `days` is how far its clock is off."""

    def __init__(self, document: Plain, device: str, cookie: str, days: int, chance: random.Random) -> None:
        self.document, self.device, self.cookie, self.days, self.chance = document, device, cookie, days, chance
        self.entries: dict[str, Plain] = {}
        self.highest: dict[str, int] = {}  # the highest n of each phone
        self.unsent: dict[str, None] = {}
        self.refused: list[Plain] = []
        self.since = 0
        self.reached = False
        self.kept: Plain | None = None  # the state folded last, as a phone keeps it

    @property
    def book(self) -> list[Plain]:
        return sorted(self.entries.values(), key=walk.order)

    def folded(self) -> Plain:
        """The state of the book as this phone has it, gone on with from the one it kept where that holds."""
        book = self.book
        state = walk.resume(self.document, self.kept, copy.deepcopy(book))
        self.kept = {"ids": [entry["id"] for entry in book], "state": state}
        return dict(state)

    def work(self) -> None:
        """Do one thing: mostly what is asked next, or a step ahead; at times a way, a strike, words."""
        roll = self.chance.random()
        mine = [one for one in self.entries.values() if one["device"] == self.device and one["kind"] not in ("strike", "note")]
        if roll < 0.04 and mine:
            struck = self.chance.choice(mine)
            self.sign({"kind": "strike", "step": struck["step"], "strikes": struck["id"]})
        elif roll < 0.06:
            self.sign({"kind": "way", "way": self.chance.choice(self.document["job"]["ways"])})
        else:
            self.obey()

    def obey(self) -> None:
        """Answer what is asked next; a word about the yard where nothing is."""
        state = self.folded()
        ask = walk.next_ask(self.document, state)
        listed = [step["id"] for step in walk.step_list(self.document, state) if step["state"] == "open"]
        if listed and self.chance.random() < 0.3:
            ask = walk.step_ask(self.document, state, self.chance.choice(listed))
        if ask["ask"] in ("end", "nothing"):
            self.note()
        else:
            self.sign(walk.answer(self.document, state, ask, said(ask, self.chance))["entry"])

    def note(self) -> None:
        """Words: nothing has to be folded for them."""
        words = self.chance.choice(("The gate is on the left.", "Tape hangs, 2\" at the end.", "Noël's stake \u2014 red"))
        self.sign({"kind": "note", "step": "heed", "act": 0, "text": words * self.chance.randrange(1, 5)})

    def sign(self, part: Plain) -> None:
        n = 1 + max(self.highest.values(), default=0)
        entry = {"step": "", "act": -1, **part, "id": f"{self.device}-{self.chance.getrandbits(64):016x}", "n": n}
        clock = NOON + timedelta(days=self.days, seconds=n)
        seen = {device: n for device, n in self.highest.items() if device != self.device}
        entry |= {"device": self.device, "at": clock.isoformat(), "seen": seen}
        entry |= {"revision": self.document["digest"], "job": self.document["job"]["id"]}
        self.enter(entry)
        self.unsent[entry["id"]] = None

    def enter(self, entry: Plain) -> None:
        """An entry that is here stays as it is."""
        self.entries.setdefault(entry["id"], entry)
        self.highest[entry["device"]] = max(self.highest.get(entry["device"], 0), entry["n"])

    def sync(self, carry: Callable[[bytes], Any], rounds: int = 20) -> bool:
        """Part after part until nothing waits here or there; False when the signal went."""
        most = MOST if self.reached else 0
        for _ in range(rounds):
            sent = sorted(self.unsent, key=lambda one: (self.entries[one]["n"], one))[:most]
            answer = carry(self.asking(sent))
            if answer is None:
                self.reached = False
                return False
            self.reached = True
            if not self.settle(sent, answer) and most:
                return True
            most = most or MOST
        return True

    def asking(self, sent: list[str], **more: str) -> bytes:
        """What goes over the wire for these entries."""
        body = json.dumps({"entries": [self.entries[one] for one in sent], "since": self.since}).encode()
        path = f"/api/jobs/{self.document['job']['id']}/entries"
        return request(path, body, "application/json", self.cookie, **more)

    def settle(self, sent: list[str], answer: Plain) -> bool:
        """Take an answer in; True while there is more to say or to hear."""
        if answer["since"] < self.since:
            self.since = 0
            self.unsent = dict.fromkeys(self.entries)
            return True
        before = self.since
        self.refused += answer["refused"]
        for one in sent:
            if one in answer["kept"]:
                self.unsent.pop(one, None)
        for entry in answer["entries"]:
            self.unsent.pop(entry["id"], None)
            self.enter(entry)
        self.since = answer["since"]
        moved = bool(set(sent) & set(answer["kept"])) or self.since > before
        return moved and (answer["more"] or bool(self.unsent))
