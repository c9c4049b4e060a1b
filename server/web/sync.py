"""Field books in step: a phone sends the entries it has and gets those it lacks, as often as it likes."""
from __future__ import annotations

import json
import re
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
AS_TYPED = json.JSONEncoder(ensure_ascii=False).encode
# Halves of characters, and numbers of many digits or with an exponent: they follow what stands before a number.
LOOKS_WILD = re.compile(r"\\ud[89a-f]|[:,\[]-?(?:[0-9.]{16}|[0-9.]+e|Infinity|NaN)")
NAMES = ("id", "device", "job", "revision", "step")  # what an entry is found by: on one line, seen whole


@blueprint.post("/api/jobs/<job_id>/entries")
@access.crew
@described("entries", {200: Synced}, body=SyncBody, refuses=(422,))
def entries(job_id: str) -> Response:
    """Keep what was sent, each entry once; say what was refused and why; give what came after the cursor."""
    body = read_body(SyncBody, json_body())
    found = sorted_out(job_id, body["entries"])
    taken = bundles.store().add_entries(job_id, list(found.good.values()), found.texts)
    clashes = [
        refusal(entry, BookFault("entry-clash", slots={"line": str(place)}))
        for place, entry in found.good.items() if entry["id"] in taken.clashing
    ]
    answer = {"kept": taken.kept, "refused": found.refused + clashes}
    response = answered(answer, *bundles.store().texts_since(job_id, body["since"], MOST_ENTRIES))
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
    documents, found = Documents(job_id), SortedOut()
    for place, entry in enumerate(sent, 1):
        text = entry_text(entry)
        try:
            check_text(entry, text, place)
            book.check_entry(entry, documents.of(entry), str(place))
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

    `text` is the entry as kept, in ASCII: what looks plain in it needs no second look.
    """
    names = [entry.get(key) for key in NAMES] if isinstance(entry, dict) else []
    strange = any(isinstance(name, str) and not name.isprintable() for name in names)
    if not strange and len(text) <= MOST_CHARACTERS and not LOOKS_WILD.search(text):
        return
    typed = AS_TYPED(entry)
    if strange or len(typed) > MOST_CHARACTERS or has_half(typed) or wild(entry):
        raise BookFault("entry-text", slots={"line": str(place), "most": f"{MOST_CHARACTERS:,}"})


def has_half(text: str) -> bool:
    """Whether a character is cut in half, as a text field may leave one."""
    try:
        text.encode()
    except UnicodeEncodeError:
        return True
    return False


def wild(value: Any) -> bool:
    """Whether a number in it is endless, or larger than a phone counts exactly."""
    inner = [value]
    while inner:
        one = inner.pop()
        if type(one) in (int, float):
            if not -LARGEST <= one <= LARGEST:
                return True
        elif type(one) is not str:
            inner.extend(parts(one))
    return False


class Documents:
    """The documents that a job's entries are checked against, each built once, when it is asked for."""

    def __init__(self, job_id: str) -> None:
        self.job_id = job_id
        self.older: dict[str, Plain] = {}

    @cached_property
    def digests(self) -> set[str]:
        return {saved.digest for saved in bundles.store().revisions(self.job_id)}

    @cached_property
    def newest(self) -> Plain:
        """Raises NotFound for no such job."""
        return newest_of(self.job_id)

    def of(self, entry: Any) -> Plain:
        """The document of the entry's own revision where it can still be made, else the newest."""
        revision = entry.get("revision") if isinstance(entry, dict) else None
        if not isinstance(revision, str) or revision == self.newest["digest"] or revision not in self.digests:
            return self.newest
        if revision not in self.older:
            self.older[revision] = self._made(revision)
        return self.older[revision]

    def _made(self, digest: str) -> Plain:
        try:
            return bundles.built(self.job_id, digest).document
        except (JobFaults, FrameOpen, NotFound):
            return self.newest


def newest_of(job_id: str) -> Plain:
    """The newest document; of a job that has none just now only its name: entries of older plans are still kept."""
    try:
        return bundles.newest(job_id)[1].document
    except (JobFaults, FrameOpen):
        return {"job": {"id": job_id}, "digest": "", "yard": {"points": {}}}
