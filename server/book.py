"""Field books: append-only entries, kept in a file line by line, merged by union, checked against their job.

The file of `yardtrue walk --book`: a header line, then one entry a line, each written to the disk before the walk goes
on. The phone's export is one JSON object with its document and entries.
"""
from __future__ import annotations

import json
import os
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from marshmallow import INCLUDE, Schema, ValidationError, fields, validate

from server import book_quick as quick
from server.errors import BookFault, Fault
from server.field import after
from server.model import WAYS, Plain, Slot

KIND = "yardtrue field book"
SCHEMA_NUMBER = 1
DEVICE = "terminal"  # of a book whose header names none
MOVABLE = ("nail", "wall", "flag")


def finite(value: Any) -> None:
    if not quick.is_number(value):
        raise ValidationError("number")


class Pair(fields.Field[list[float]]):
    """Two finite numbers [dx, dy]."""

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **rest: Any) -> list[float]:
        if not quick.is_pair(value):
            raise ValidationError("pair")
        pair: list[float] = value
        return pair


class EntrySchema(Schema):
    """What every entry carries; keys this version does not know are kept."""

    class Meta:
        unknown = INCLUDE

    id = fields.String(required=True, validate=validate.Length(min=1, max=quick.LONGEST_NAME))
    n = fields.Integer(required=True, strict=True, validate=validate.Range(min=1, max=quick.MOST_N))
    device = fields.String(required=True, validate=validate.Length(min=1, max=quick.LONGEST_NAME))
    at = fields.String(required=True, validate=validate.Length(max=quick.LONGEST_TIME))
    revision = fields.String(required=True)
    job = fields.String(required=True)
    step = fields.String(required=True)
    act = fields.Integer(strict=True, validate=validate.Range(min=quick.FIRST_ACT, max=quick.LAST_ACT))
    kind = fields.String(required=True)
    seen = fields.Dict(
        keys=fields.String(validate=validate.Length(min=1, max=quick.LONGEST_NAME)),
        values=fields.Integer(strict=True, validate=validate.Range(min=1, max=quick.MOST_N)),
        validate=validate.Length(max=quick.MOST_SEEN),
    )


class SetSchema(EntrySchema):
    point = fields.String(required=True)


class ReadingSchema(EntrySchema):
    from_ = fields.String(required=True, data_key="from")
    to = fields.String(required=True)
    inches = fields.Raw(validate=finite)
    cannot = fields.String(validate=validate.OneOf(quick.CANNOT))


class MoveSchema(EntrySchema):
    point = fields.String(required=True)
    by = Pair(required=True)


class StakeSchema(EntrySchema):
    point = fields.String(required=True)
    off = Pair(allow_none=True)


class WaySchema(EntrySchema):
    way = fields.String(required=True, validate=validate.OneOf(WAYS))


class AfterSchema(EntrySchema):
    what = fields.String(required=True, validate=validate.OneOf(after.KINDS))


class StrikeSchema(EntrySchema):
    strikes = fields.String(required=True)


# One of each, made once: making one costs as much as checking an entry by it.
SCHEMAS: dict[str, EntrySchema] = {
    "heed": EntrySchema(), "set": SetSchema(), "reading": ReadingSchema(), "move": MoveSchema(), "stake": StakeSchema(),
    "strike": StrikeSchema(), "note": EntrySchema(), "way": WaySchema(), "after": AfterSchema(),
}


@dataclass
class Book:
    """An open field book file; `torn` is the text of a last line that was cut off and dropped, else ""."""

    path: Path
    document: Plain
    entries: list[Plain] = field(default_factory=list)
    torn: str = ""
    device: str = DEVICE

    def append(self, entry: Plain) -> None:
        """Keep an entry: checked, on the disk, then in memory. Raises BookFault; OSError when the disk refuses."""
        check_entry(entry, self.document, str(len(self.entries) + 1))
        write_line(self.path, entry)
        self.entries.append(entry)


def open_book(path: Path | str, document: Plain) -> Book:
    """The field book in a file, made when missing, for the job of a document. Raises BookFault."""
    book = Book(Path(path), document)
    if not book.path.exists() or book.path.stat().st_size == 0:
        book.device = f"{DEVICE}-{uuid.uuid4().hex[:12]}"
        write_line(book.path, header(document) | {"device": book.device})
        return book
    whole, book.torn = split_torn(end_last_line(book.path))
    if not whole:
        raise BookFault("book-unreadable", slots={"line": "1"})
    head = parse_line(whole[0], 1)
    check_header(head, document)
    if isinstance(head.get("device"), str) and 0 < len(head["device"]) <= 80:
        book.device = head["device"]
    for number, line in enumerate(whole[1:], 2):
        entry = parse_line(line, number)
        check_entry(entry, document, str(number))
        book.entries.append(entry)
    if book.torn:
        cut(book.path, sum(len(line) + 1 for line in whole))
    return book


def header(document: Plain) -> Plain:
    job = document["job"]
    return {
        "schema": SCHEMA_NUMBER, "kind": KIND, "job": job["id"], "name": job["name"], "revision": document["digest"],
    }


def write_line(path: Path, record: Plain) -> None:
    """Append one line and wait until it is on the disk."""
    line = json.dumps(record, ensure_ascii=False, separators=(",", ":")) + "\n"
    with path.open("ab") as file:
        file.write(line.encode("utf-8"))
        file.flush()
        os.fsync(file.fileno())


def end_last_line(path: Path) -> bytes:
    """The file's content; a last line that is whole but was never ended (a hand edit) is ended on the disk first."""
    content = path.read_bytes()
    try:
        parse_json(content.rpartition(b"\n")[2].decode("utf-8"))
    except (ValueError, RecursionError):
        return content
    with path.open("ab") as file:
        file.write(b"\n")
        os.fsync(file.fileno())
    return content + b"\n"


def split_torn(content: bytes) -> tuple[list[bytes], str]:
    """Whole lines, and the text of a last line that was never ended (a crash while writing)."""
    lines = content.split(b"\n")
    return lines[:-1], lines[-1].decode("utf-8", "replace")


def cut(path: Path, size: int) -> None:
    """Take a torn end off, so that the next line starts on its own."""
    with path.open("r+b") as file:
        file.truncate(size)
        file.flush()
        os.fsync(file.fileno())


def parse_line(line: bytes, number: int) -> Any:
    try:
        return parse_json(line.decode("utf-8"))
    except (ValueError, RecursionError) as error:
        raise BookFault("book-unreadable", slots={"line": str(number)}) from error


def parse_json(text: str) -> Any:
    """JSON without NaN or Infinity. Raises ValueError or RecursionError."""
    def refuse(name: str) -> Any:
        raise ValueError(name)
    return json.loads(text, parse_constant=refuse)


def check_header(found: Any, document: Plain) -> None:
    """A header of this job and this revision, or of one that carries over to it. Raises BookFault."""
    if not isinstance(found, dict) or found.get("kind") != KIND:
        raise BookFault("not-a-book")
    if found.get("schema") != SCHEMA_NUMBER:
        raise BookFault("book-schema", slots={"known": str(SCHEMA_NUMBER)})
    if "entries" in found:
        raise BookFault("book-is-export")
    job = document["job"]
    if found.get("job") != job["id"]:
        raise BookFault("book-other-job", slots={"found": str(found.get("name", ""))[:80], "wanted": job["name"]})
    if found.get("revision") not in (document["digest"], *document.get("carries", {})):
        raise BookFault("book-other-revision", slots={"wanted": job["name"]})


def outline(document: Plain) -> Plain:
    """As much of a document as its entries are checked against, in the document's own shape."""
    points = {name: {"kind": point["kind"]} for name, point in document["yard"]["points"].items()}
    return {"job": {"id": document["job"]["id"]}, "digest": document["digest"], "yard": {"points": points}}


def check_entry(entry: Any, document: Plain, place: str) -> None:
    """An entry of a known kind, whole, of this job, naming points its document or outline has. Raises BookFault."""
    slots: dict[str, Slot] = {"line": place}
    kind = entry.get("kind") if isinstance(entry, dict) else None
    if not isinstance(kind, str) or kind not in SCHEMAS:
        raise BookFault("entry-kind", slots=slots)
    try:
        if not quick.plainly_whole(entry):
            SCHEMAS[kind].load(entry)
    except ValidationError as error:
        names = ", ".join(sorted(map(str, error.messages)))
        raise BookFault("entry-broken", [Fault(place, "entry-part", {"key": names})], slots) from error
    wrong = wrong_part(entry, document)
    if wrong:
        raise BookFault("entry-broken", [Fault(place, "entry-part", {"key": wrong})], slots)
    if entry["job"] != document["job"]["id"]:
        raise BookFault("entry-other-job", slots=slots)
    check_points(entry, document, slots)


def wrong_part(entry: Plain, document: Plain) -> str:
    """The part that cannot go with the others, "" when all do: what no walk writes, and no fold could take."""
    kind = entry["kind"]
    if kind == "reading" and ("inches" in entry) == ("cannot" in entry):
        return "inches"
    if kind == "reading" and entry["from"] == entry["to"]:
        return "to"
    if kind == "move" and entry["revision"] == document["digest"]:
        point = document["yard"]["points"].get(entry["point"])
        return "point" if point and point["kind"] not in MOVABLE else ""
    return ""


def check_points(entry: Plain, document: Plain, slots: Mapping[str, Slot]) -> None:
    """Entries of this revision name points of this yard; those of another are kept without a look."""
    if entry["revision"] != document["digest"]:
        return
    points = document["yard"]["points"]
    for key in ("point", "from", "to"):
        if key in entry and not (isinstance(entry[key], str) and entry[key] in points):
            raise BookFault("entry-point", slots={**slots, "point": str(entry[key])[:40]})


def order(entry: Plain) -> tuple[int, str]:
    return entry["n"], entry["device"]


def merge(first: Iterable[Plain], second: Iterable[Plain]) -> list[Plain]:
    """Both books' entries, each once, in order (n, device). Raises BookFault when one id holds two contents."""
    kept: dict[str, Plain] = {}
    for entry in [*first, *second]:
        if kept.setdefault(entry["id"], entry) != entry:
            raise BookFault("book-clash", slots={"entry": str(entry["id"])[:80]})
    return sorted(kept.values(), key=order)


def read_export(text: str) -> tuple[Plain, list[Plain]]:
    """The document and the entries of a phone's field book file. Raises BookFault."""
    try:
        found = parse_json(text)
    except (ValueError, RecursionError) as error:
        raise BookFault("not-a-book") from error
    if not isinstance(found, dict) or found.get("kind") != KIND:
        raise BookFault("not-a-book")
    if found.get("schema") != SCHEMA_NUMBER:
        raise BookFault("book-schema", slots={"known": str(SCHEMA_NUMBER)})
    document, entries = found.get("document"), found.get("entries")
    if not isinstance(document, dict) or not is_document(document) or not isinstance(entries, list):
        raise BookFault("not-a-book")
    job = document["job"]
    if found.get("job") != job["id"]:
        raise BookFault("book-other-job", slots={"found": str(found.get("name", ""))[:80], "wanted": job["name"]})
    for number, entry in enumerate(entries, 1):
        check_entry(entry, document, str(number))
    return document, merge(entries, [])


def is_document(document: Plain) -> bool:
    """True when the parts that entries are checked against are there."""
    if not isinstance(document.get("digest"), str):
        return False
    job, yard = document.get("job"), document.get("yard")
    named = isinstance(job, dict) and isinstance(job.get("id"), str) and isinstance(job.get("name"), str)
    return named and isinstance(yard, dict) and isinstance(yard.get("points"), dict)


def write_export(document: Plain, entries: Iterable[Plain]) -> str:
    """A field book file as the phone writes it: whole document, entries in order."""
    job = document["job"]
    book = {
        "schema": SCHEMA_NUMBER, "kind": KIND, "job": job["id"], "name": job["name"], "document": document,
        "entries": merge(entries, []),
    }
    return json.dumps(book, ensure_ascii=False, separators=(",", ":"))
