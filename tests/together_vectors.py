"""Vectors of several phones and of several revisions: one fold of all their entries, odd ones among them, and what carries over."""

from __future__ import annotations

import copy
import importlib
import random
from collections.abc import Iterator
from typing import Any

from server.plan import plan
from tests.crew_phones import Phone, roam
from tests.module_page import Vector

Entry = dict[str, Any]
ODD: list[Any] = [None, True, -1, 0, 1.5, 10**12, "", "nowhere", [], [1], [1e9, 0.0], {}, {"x": 1}]
KEYS = ("act", "step", "kind", "point", "inches", "by", "off", "cannot", "seen", "strikes", "what", "way", "n", "revision", "text", "held")


def phones(rng: random.Random, name: str, document: Entry) -> Iterator[Vector]:
    """Two and three phones on one job, from its beginning or from the middle of a walk."""
    for number in range(4):
        start = Phone(document, "heron")
        if number:
            start.until("pull", rng.choice(("frame", "sure")))
        crew = roam(document, rng, rng.choice((2, 3)), 30, start)
        book = list({key: entry for one in crew for key, entry in one.book.items()}.values())
        yield from asked_of(rng, name, document, book, list(crew[0].book.values()))
        yield "walk", "fold", [{"shared": name}, book + [oddly(rng, entry) for entry in rng.sample(book, min(12, len(book)))]]


def oddly(rng: random.Random, entry: Entry) -> Entry:
    """An entry with a part that is missing, or not what it should be."""
    found = copy.deepcopy(entry) | {"id": entry["id"] + "-odd"}
    key = rng.choice(KEYS)
    found[key] = rng.choice(ODD)
    if rng.random() < 0.2:
        del found[key]
    return found


def asked_of(rng: random.Random, name: str, document: Entry, book: list[Entry], part: list[Entry]) -> Iterator[Vector]:
    """Everything that is asked of a book of several phones."""
    walk = importlib.import_module("server.field.walk")
    state = walk.fold(document, copy.deepcopy(book))
    kept = {"ids": [one["id"] for one in sorted(part, key=walk.order)], "state": walk.fold(document, copy.deepcopy(part))}
    named = {"shared": name}
    yield "walk", "fold", [named, rng.sample(book, len(book))]
    yield "walk", "resume", [named, kept, rng.sample(book, len(book))]
    for step in rng.sample(document["steps"], 4):
        yield "walk", "step_ask", [named, state, step["id"]]
    for function in ("next_ask", "truth", "step_list"):
        yield "walk", function, [named, state]
    ask = walk.next_ask(document, state)
    for message in [*walk.truth(document, copy.deepcopy(state))["together"], ask["say"]]:
        yield "say", "sentence", [{"shared": name + " words"}, message, document["job"]["units"]]


def revisions(rng: random.Random, name: str, job: Entry, document: Entry) -> Iterator[Vector]:
    """A job and jobs a little different: what carries over, and what the later one makes of the earlier one's entries."""
    walk = importlib.import_module("server.field.walk")
    earlier = Phone(document, "heron")
    earlier.until("heed", "keep")
    entries = list(earlier.book.values())
    for _ in range(3):
        changed = job | {"name": rng.choice((job["name"], "Another"))} | rng.choice(({}, different(rng, job)))
        newer = plan(name, changed, ((document["digest"], job),)).document
        yield "carry", "between", [{key: document[key] for key in ("yard", "steps")}, {key: newer[key] for key in ("yard", "steps")}]
        for entry in rng.sample(entries, 12):
            yield "carry", "taken_as", [{"digest": newer["digest"], "carries": newer["carries"]}, entry]
        state = walk.fold(newer, copy.deepcopy(entries))
        slim = {key: newer[key] for key in ("digest", "carries", "job", "yard", "steps")}
        yield "walk", "fold", [slim, rng.sample(entries, len(entries))]
        yield "walk", "next_ask", [slim, state]
        yield "walk", "undo", [slim, entries, rng.choice(newer["steps"])["id"]]


def different(rng: random.Random, job: Entry) -> Entry:
    """The first beam a little farther out, or its posts elsewhere."""
    beams = copy.deepcopy(job["beams"])
    if rng.random() < 0.5 and "count" in beams[0]["posts"]:
        beams[0]["posts"]["count"] += 1
    elif job["units"] == "inch":
        beams[0]["setback"] += " 1/2\""
    return {"beams": beams, "crew": rng.choice((1, 2))}
