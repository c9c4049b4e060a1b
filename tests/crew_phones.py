"""Several phones of one crew on one document: each with a book of its own, exchanged now and then."""

from __future__ import annotations

import copy
import random
from typing import Any

from server.field import walk

Entry = dict[str, Any]


class Phone:
    """One phone: it asks as its own book has it, and signs what it is told."""

    def __init__(self, document: Entry, device: str) -> None:
        self.document, self.device = document, device
        self.book: dict[str, Entry] = {}
        self.kept: Entry | None = None  # the state folded last, as a phone keeps it

    @property
    def state(self) -> Entry:
        """The state of the book, gone on with from the one kept where that holds."""
        book = sorted(self.book.values(), key=walk.order)
        state = walk.resume(self.document, self.kept, copy.deepcopy(book))
        self.kept = {"ids": [entry["id"] for entry in book], "state": state}
        return copy.deepcopy(dict(state))

    def sign(self, part: Entry, seen: bool = True) -> Entry:
        """Write an entry into the book, as a phone does."""
        n = 1 + max((entry["n"] for entry in self.book.values()), default=0)
        entry = {"step": "", "act": -1, **part, "id": f"{self.device}-{n}", "n": n, "device": self.device}
        entry |= {"revision": self.document["digest"], "job": self.document["job"]["id"]}
        if seen:
            highest: dict[str, int] = {}
            for one in self.book.values():
                if one["device"] != self.device:
                    highest[one["device"]] = max(highest.get(one["device"], 0), one["n"])
            entry["seen"] = highest
        self.book[entry["id"]] = entry
        return entry

    def give(self, ask: Entry, given: Entry) -> Entry:
        """Answer an ask."""
        state = self.state
        answered = walk.answer(self.document, state, ask, given)
        assert answered["status"] == "ok", answered
        return self.sign(answered["entry"])

    def until(self, kind: str, step: str) -> Entry:
        """Answer as planned until an ask of this kind in this step stands; the ask."""
        state = self.state
        while (ask := walk.next_ask(self.document, state))["ask"] != kind or ask["step"] != step:
            assert ask["ask"] != "end", f"no {kind} in {step}"
            given = {"inches": ask["target"]} if ask["ask"] in ("pull", "again") else {"done": True}
            walk.apply(self.document, state, self.give(ask, given))
        return dict(ask)

    def hear(self, *others: Phone) -> None:
        """Take the other phones' books in."""
        for other in others:
            self.book |= copy.deepcopy(other.book)

    def ask(self, step: str = "") -> Entry:
        """What is asked next, or in a step."""
        state = self.state
        return dict(walk.step_ask(self.document, state, step) if step else walk.next_ask(self.document, state))


def meet(*phones: Phone) -> None:
    """Every phone takes in what every other has."""
    for one in phones:
        one.hear(*phones)


def roam(document: Entry, chance: random.Random, count: int, turns: int, start: Phone | None = None) -> list[Phone]:
    """So many phones that do what is asked, or go ahead to another step, slip, take back, choose ways, and meet at times."""
    crew = [Phone(document, device) for device in ("kestrel", "otter", "wren")[:count]]
    for one in crew:
        if start:
            one.hear(start)
    for _ in range(turns):
        one = chance.choice(crew)
        act(one, chance)
        if chance.random() < 0.08:
            meet(*chance.sample(crew, 2))
    return crew


def act(one: Phone, chance: random.Random) -> None:
    """One thing that somebody does on a phone."""
    document, state = one.document, one.state
    roll = chance.random()
    mine = [entry for entry in one.book.values() if entry["kind"] not in ("strike", "note")]
    if roll < 0.06 and mine:
        struck = chance.choice(mine)
        one.sign({"kind": "strike", "step": struck["step"], "strikes": struck["id"]})
    elif roll < 0.08:
        one.sign({"kind": "way", "way": chance.choice(document["job"]["ways"])})
    elif roll < 0.10:
        one.sign({"kind": "after", "what": chance.choice(("strings", "marks"))})
    else:
        listed = [step["id"] for step in walk.step_list(document, state) if step["state"] == "open"]
        step = chance.choice(listed) if listed and roll > 0.8 else ""
        ask = walk.step_ask(document, state, step) if step else walk.next_ask(document, state)
        if ask["ask"] not in ("end", "nothing"):
            one.sign(walk.answer(document, state, ask, said(ask, chance))["entry"])


def said(ask: Entry, chance: random.Random) -> Entry:
    """What a crew answers: mostly as planned, at times a slip, a refusal, a stake off its mark."""
    if ask["ask"] in ("pull", "again"):
        if chance.random() < 0.06:
            return {"cannot": "blocked"}
        return {"inches": max(ask["target"] + chance.choice((0, 0, 0, 0.06, -0.1, 0.5, -1.0, 12.0)), 1.0)}
    if ask["ask"] == "stake" and chance.random() < 0.3:
        return {"off": [chance.uniform(-2, 2), chance.uniform(-2, 2)]}
    return {"done": True}
