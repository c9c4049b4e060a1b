"""Field books in step: a phone sends the entries it has and gets those it lacks, as often as it likes."""
from __future__ import annotations

import json
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from flask import Blueprint, Response

from server import book
from server.api_schema import MOST_ENTRIES, SyncBody, Synced, read_body
from server.errors import BookFault, FrameOpen, JobFaults, NotFound, YardtrueError
from server.model import Plain
from server.store.entries import entry_text
from server.web import access, bundles
from server.web.bodies import json_body, parts
from server.web.openapi import described

blueprint = Blueprint("sync", __name__)
MOST_CHARACTERS = 16_000  # of one entry as JSON
LARGEST = 2**53
AS_TYPED = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode
HALF = "\\ud"  # how the escape of half a character begins; a whole one is written as two halves
NAMES = ("id", "device", "job", "revision", "step")  # what an entry is found by: on one line, seen whole


@blueprint.post("/api/jobs/<job_id>/entries")
@access.crew
@described("entries", {200: Synced}, body=SyncBody, refuses=(422,))
def entries(job_id: str) -> Response:
    """Keep what was sent, each entry once; say what was refused and why; give what came after the cursor.

    What was just kept is not given back: whoever sent it has it.
    """
    body = read_body(SyncBody, json_body())
    found = sorted_out(job_id, body["entries"])
    taken = bundles.store().add_entries(job_id, list(found.good.values()), found.texts)
    clashes = [
        refusal(entry, BookFault("entry-clash", slots={"line": str(place)}))
        for place, entry in found.good.items() if entry["id"] in taken.clashing
    ]
    answer = {"kept": taken.kept, "refused": found.refused + clashes}
    others = bundles.store().texts_since(job_id, body["since"], MOST_ENTRIES, but=frozenset(taken.kept))
    response = answered(answer, *others)
    response.headers["Cache-Control"] = "no-store"
    return response


def answered(answer: Plain, entries: list[str], cursor: int, more: bool) -> Response:
    """An answer with entries as the texts they are kept as: nothing in them is read and written again."""
    head = json.dumps({**answer, "since": cursor, "more": more})
    return Response(f'{head[:-1]}, "entries": [{",".join(entries)}]}}', mimetype="application/json")


@dataclass(frozen=True)
class SortedOut:
    """What can be kept, by its place counted from 1, and by id as it is kept; what is wrong with the rest."""

    good: dict[int, Plain] = field(default_factory=dict)
    texts: dict[str, str] = field(default_factory=dict)
    refused: list[Plain] = field(default_factory=list)


def sorted_out(job_id: str, sent: list[Any]) -> SortedOut:
    """Look every entry over."""
    outlines, found = Outlines(job_id), SortedOut()
    for place, entry in enumerate(sent, 1):
        text = entry_text(entry)
        try:
            check_text(entry, text, place)
            book.check_entry(entry, outlines.of(entry), str(place))
        except BookFault as error:
            found.refused.append(refusal(entry, error))
        else:
            found.texts.setdefault(entry["id"], text)
            found.good[place] = entry
    return found


def refusal(entry: Any, error: YardtrueError) -> Plain:
    """An entry's id, as far as it has one, and the inside of the one error shape."""
    given = entry.get("id") if isinstance(entry, dict) else None
    return {"id": given[:80] if isinstance(given, str) else None, "error": error.plain()["error"]}


def check_text(entry: Any, text: str, place: int) -> None:
    """No half characters or endless numbers, names that can be seen whole, not too long. Raises BookFault.

    `text` is the entry as kept, in ASCII: never shorter than as typed, and half a character is seen in it as an escape.
    """
    long = len(text) > MOST_CHARACTERS and len(AS_TYPED(entry)) > MOST_CHARACTERS
    if long or hidden(entry) or (HALF in text and has_half(AS_TYPED(entry))) or wild(entry):
        raise BookFault("entry-text", slots={"line": str(place), "most": f"{MOST_CHARACTERS:,}"})


def hidden(entry: Any) -> bool:
    """Whether a name in it cannot be seen whole, on one line."""
    if isinstance(entry, dict):
        for key in NAMES:
            name = entry.get(key)
            if type(name) is str and not name.isprintable():
                return True
    return False


def has_half(text: str) -> bool:
    """Whether a character is cut in half, as a text field may leave one."""
    try:
        text.encode()
    except UnicodeEncodeError:
        return True
    return False


def wild(value: Any) -> bool:
    """Whether a number in it is endless, or larger than a phone counts exactly."""
    if type(value) in (int, float):
        return not -LARGEST <= value <= LARGEST
    return any(wild(one) for one in parts(value) if type(one) is not str)


class Outlines:
    """What a job's entries are checked against (`book.outline`), each looked up once, when it is asked for."""

    def __init__(self, job_id: str) -> None:
        self.job_id = job_id
        self.known: dict[str, Plain] = {}

    @cached_property
    def digests(self) -> set[str]:
        return {saved.digest for saved in bundles.store().revisions(self.job_id)}

    @cached_property
    def newest(self) -> Plain:
        """Of a job without a document just now only its name: entries of older plans are kept. Raises NotFound."""
        try:
            return bundles.outline(self.job_id, bundles.newest(self.job_id)[1].document)
        except (JobFaults, FrameOpen):
            return {"job": {"id": self.job_id}, "digest": "", "yard": {"points": {}}}

    def of(self, entry: Any) -> Plain:
        """The outline of the entry's own revision where that can still be made, else of the newest. Raises NotFound."""
        revision = entry.get("revision") if isinstance(entry, dict) else None
        if not isinstance(revision, str):
            return self.newest
        if revision not in self.known:
            self.known[revision] = bundles.kept_outline(self.job_id, revision) or self._made(revision)
        return self.known[revision]

    def _made(self, digest: str) -> Plain:
        if digest not in self.digests:
            return self.newest
        try:
            return bundles.outline(self.job_id, bundles.built(self.job_id, digest).document)
        except (JobFaults, FrameOpen, NotFound):
            return self.newest
