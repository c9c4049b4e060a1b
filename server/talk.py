"""The walk without a phone: JSON lines for programs, a plain conversation for people. Both run the field's own walk.

One object a line out (an ask), one in (the answer). Lengths are inches in the wall frame.
"""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable, Generator
from datetime import UTC, datetime
from typing import Any

from server.book import DEVICE, Book, order
from server.book_quick import MOST_SEEN
from server.errors import YardtrueError
from server.field import after, reply, say, tape, walk
from server.model import Plain

ASK_KEYS = {
    "heed": (),
    "set": ("point",),
    "pull": ("from", "to", "target"),
    "again": ("from", "to", "target"),
    "move": ("point", "by"),
    "stake": ("point", "within"),
}
POINT_KEYS = ("x", "y", "kind", "from", "reading", "board", "strings", "string", "under", "offset", "back")


class Walker:
    """A walk over one document and its open field book."""

    def __init__(self, document: Plain, book: Book) -> None:
        self.document, self.book = document, book
        self.state: Plain = walk.fold(document, book.entries)
        self.device = getattr(book, "device", DEVICE)
        self.highest: dict[str, int] = {}  # n of each device
        for entry in book.entries:
            self.count(entry)
        self.waiting = ""  # what comes after the walk, to be begun at its end

    def ask(self) -> Plain:
        """What is asked next; at the end of the walk, of what was to be begun there."""
        ask = walk.next_ask(self.document, self.state)
        if ask["ask"] == "end" and self.waiting:
            self.begin(self.waiting)
            ask = walk.next_ask(self.document, self.state)
        return dict(ask)

    def text(self, message: Plain | None) -> str:
        """A message as a sentence, in the job's units, with a capital where a name leads it; "" for none."""
        if message is None:
            return ""
        text = str(say.sentence(self.words(), message, self.document["job"]["units"]))
        return text[:1].upper() + text[1:]

    def words(self) -> dict[str, str]:
        """The document's words, in which this device is called so."""
        words: dict[str, str] = self.document["words"]
        phones = self.state["phones"]
        own = f"walk.phone.{phones.index(self.device) + 1}" if self.device in phones else ""
        return words | {own: words["walk.phone.this"]} if own in words else words

    def take(self, ask: Plain, given: Plain) -> Plain:
        """An answer into the book and the state; {"status": "ok"} or why it cannot be taken."""
        result: Plain = walk.answer(self.document, self.state, ask, given)
        if result["status"] == "ok":
            self.keep(result["entry"])
        return result

    def undo(self, step: str) -> bool:
        """Strike what was just begun, else the newest entry of a step; False when it has none."""
        newest = self.newest()
        if newest and newest["kind"] == "after":
            step, struck = "", newest["id"]
        else:
            struck = walk.undo(self.document, self.book.entries, step)
        if struck:
            self.keep({"kind": "strike", "step": step, "strikes": struck})
            self.state = walk.fold(self.document, self.book.entries)
        return bool(struck)

    def choose(self, way: str) -> None:
        """Walk the other way from here on; nothing is written where it is this one already. Raises YardtrueError."""
        if way not in self.document["job"]["ways"]:
            one, other = self.document["job"]["ways"]
            raise YardtrueError("walk-way", slots={"given": way, "one": one, "other": other})
        if way != walk.way_of(self.document, self.state):
            self.keep({"kind": "way", "way": way, "step": "", "act": -1})

    def after(self, what: str) -> None:
        """Begin what comes after digging or pouring, now where it is due, else at the end of the walk.

        What is begun and not at its end yet is gone on with: nothing is written. Raises YardtrueError.
        """
        if what not in after.KINDS:
            one, other = after.KINDS
            raise YardtrueError("walk-after", slots={"given": what, "one": one, "other": other})
        if self.is_under_way(what):
            return
        self.waiting = what
        if self.is_due(what):
            self.begin(what)

    def is_due(self, what: str) -> bool:
        """Strings go back up once every footing is staked; marks are looked at again once one is."""
        rows = walk.truth(self.document, self.state)["marks"]
        staked = [row["staked"] for row in rows]
        return all(staked) if what == "strings" else any(staked)

    def is_under_way(self, what: str) -> bool:
        """True when it was begun and a step of it is open."""
        mine = {step["id"] for step in self.document["steps"] if step.get("after") == what}
        rows = walk.step_list(self.document, self.state)
        return any(row["id"] in mine and row["state"] == "open" for row in rows)

    def begin(self, what: str) -> None:
        self.waiting = ""
        self.keep({"kind": "after", "what": what, "step": "", "act": -1})

    def newest(self) -> Plain | None:
        """The newest entry that counts, None before any."""
        entries = sorted(self.book.entries, key=order)
        struck = {entry["strikes"] for entry in entries if entry["kind"] == "strike"}
        kept = (one for one in reversed(entries) if one["kind"] not in ("strike", "note") and one["id"] not in struck)
        return next(kept, None)

    def last_step(self) -> str:
        """The step of the newest entry that has one, "" before any: a way is taken back by choosing the other."""
        return next((str(entry["step"]) for entry in reversed(self.book.entries) if entry["step"]), "")

    def keep(self, part: Plain) -> None:
        """Write an entry to the book, then take it into the state."""
        entry = {
            "id": str(uuid.uuid4()),
            "n": 1 + max(self.highest.values(), default=0),
            "device": self.device,
            "seen": self.seen(),
            "at": datetime.now(UTC).isoformat(timespec="seconds"),
            "revision": self.document["digest"],
            "job": self.document["job"]["id"],
            **part,
        }
        self.book.append(entry)
        self.count(entry)
        walk.apply(self.document, self.state, entry)

    def count(self, entry: Plain) -> None:
        self.highest[entry["device"]] = max(self.highest.get(entry["device"], 0), entry["n"])

    def seen(self) -> dict[str, int]:
        """The highest n of every other device that this book knows."""
        others = {device: n for device, n in self.highest.items() if device != self.device}
        return dict(sorted(others.items(), key=lambda pair: -pair[1])[:MOST_SEEN])


def yard_line(document: Plain) -> Plain:
    """The first line: tolerance, tape, points and strings."""
    yard = document["yard"]
    points = {name: plain_point(point) for name, point in yard["points"].items() if not point.get("after")}
    strings = {name: dict(string) for name, string in yard["strings"].items()}
    return {"yard": {"tolerance": yard["tolerance"], "tape": yard["tape"], "points": points, "strings": strings}}


def plain_point(point: Plain) -> Plain:
    """A point as a program needs it: its place on the plan and how a crew makes it."""
    return {key: point[key] for key in POINT_KEYS if key in point}


def ask_line(walker: Walker, ask: Plain) -> Plain:
    """An ask as one line: its kind, step, sentence, and the keys of its kind."""
    line: Plain = {"ask": ask["ask"], "step": ask["step"], "say": walker.text(ask["say"])}
    line |= {key: ask[key] for key in ASK_KEYS[ask["ask"]]}
    if ask["ask"] == "heed":
        line["text"] = f"{line['say']} {walker.text(ask['more'])}".strip()
    elif ask["ask"] == "pull":
        line["why"] = walker.text(ask["why"])
    elif ask["ask"] == "again":
        line["suspect"] = walker.text(ask["suspect"])
    elif ask["ask"] == "set" and walker.document["yard"]["points"][ask["point"]].get("after"):
        line["new"] = plain_point(walker.document["yard"]["points"][ask["point"]])
    return line


def end_line(walker: Walker) -> Plain:
    """The last line: how true the yard is, and where every point stands."""
    truth = walk.truth(walker.document, walker.state)
    return {"end": {key: truth[key] for key in ("true", "pulls", "moves", "staked", "points")}}


def error_line(code: str, message: str) -> Plain:
    """The project's error shape for an answer that cannot be taken."""
    return {"error": {"code": code, "message": message, "fix": "", "faults": []}}


def converse(walker: Walker) -> Generator[Plain, str]:
    """Lines out; each answer is sent in as text. One that cannot be taken gets its error and the same ask again."""
    yield yard_line(walker.document)
    while (ask := walker.ask())["ask"] != "end":
        problem = take_text(walker, ask, (yield ask_line(walker, ask)))
        if problem:
            yield problem
    yield end_line(walker)


def take_text(walker: Walker, ask: Plain, text: str) -> Plain | None:
    """Take one answer's text; the error line when it cannot be taken."""
    try:
        given = json.loads(text)
    except (ValueError, RecursionError):
        return error_line("answer-not-json", walker.text({"key": "walk.answer.json", "slots": {}}))
    if not isinstance(given, dict):
        return error_line("answer-not-json", walker.text({"key": "walk.answer.json", "slots": {}}))
    if given.get("undo") is True:
        if walker.undo(walker.last_step()):
            return None
        return error_line("answer-no-undo", walker.text({"key": "walk.answer.undo", "slots": {}}))
    try:
        result = walker.take(ask, given)
    except YardtrueError as error:
        return dict(error.plain(walker.document["job"]["units"]))
    if result["status"] == "ok":
        return None
    return error_line(f"answer-{result['status']}", sentence_of(walker, result))


def sentence_of(walker: Walker, result: Plain) -> str:
    """A refusal or a question as text; the choices of a question in brackets."""
    choices = ", ".join(choice["text"] for choice in result.get("choices", []))
    text = walker.text(result["say"])
    return f"{text} ({choices})" if choices else text


def speak(walker: Walker, read: Callable[[str], str], write: Callable[[str], None]) -> None:
    """Walk a job with a person at a terminal: `read(prompt)` gives a line, or raises EOFError to stop."""
    while (ask := walker.ask())["ask"] != "end":
        write("\n".join(line for line in card(walker, ask) if line))
        given = hear(walker, ask, read(walker.text({"key": f"walk.prompt.{ask['ask']}", "slots": {}}) + " ").strip())
        if given is None:
            continue
        result = walker.take(ask, given)
        if result["status"] != "ok":
            write(sentence_of(walker, result))
    truth = walk.truth(walker.document, walker.state)
    write("\n".join(line for line in (walker.text(ask["verdict"]), walker.text(ask["say"])) if line))
    verdict = "walk.true" if truth["true"] else "walk.not-true"
    write(walker.text({"key": verdict, "slots": {"tolerance": walker.document["yard"]["tolerance"]}}))


def card(walker: Walker, ask: Plain) -> list[str]:
    """What a person reads for one ask: verdict, step, sentence, the reading, the smaller lines."""
    units = walker.document["job"]["units"]
    steps = {step["id"]: step["title"] for step in walker.document["steps"]}
    inches = ask["inches"]
    reading = "" if inches is None else f"    {tape.show(inches, units)}   ({tape.total(inches, units)})"
    return [
        walker.text(ask["verdict"]),
        "",
        f"[{walker.text(steps[ask['step']])}]",
        walker.text(ask["say"]),
        reading,
        walker.text(ask["doubt"]),
        walker.text(ask["more"]),
    ]


def hear(walker: Walker, ask: Plain, typed: str) -> dict[str, Any] | None:
    """What a person typed as an answer; None when it was `undo`, which is done at once."""
    if typed == "undo":
        walker.undo(walker.last_step())
        return None
    if ask["ask"] not in ("pull", "again"):
        return {"done": typed in ("", "done")}
    if typed in reply.REASONS:
        return {"cannot": typed}
    return {"reading": typed}
