"""The field book at the desk: a log to read, a file to keep, a phone's file taken in."""
from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from flask import Blueprint, Response, redirect, render_template, request, url_for
from werkzeug.exceptions import RequestEntityTooLarge
from werkzeug.wrappers import Response as AnyResponse

from server import book
from server.errors import BookFault, YardtrueError
from server.model import Plain
from server.web import bundles, pages, sync, yards

blueprint = Blueprint("books", __name__)
PAGE = 200  # entries on one page
LARGEST = 16 * 1024 * 1024  # bytes of a field book file: some 30,000 entries


@blueprint.get("/jobs/<job_id>/book")
def page(job_id: str) -> str:
    """The log, all of it or of one step or one phone."""
    return log_page(job_id)


def log_page(job_id: str, error: Plain | None = None) -> str:
    seen = yards.look(job_id)
    step, phone = request.args.get("step", ""), request.args.get("phone", "")
    rows = [row for row in seen.report["log"] if step in ("", row["step"]) and phone in ("", str(row["phone"]))]
    number = page_number(request.args.get("page", ""), len(rows))
    shown = rows[(number - 1) * PAGE : number * PAGE]
    return render_template(
        "book.html", **yards.common(seen), groups=grouped(shown), found=len(rows), step=step, phone=phone,
        number=number, pages=pages_of(len(rows)), titles=titles(seen.report["log"]), error=error, taken=taken(),
    )


def grouped(rows: Sequence[Plain]) -> list[tuple[Plain | None, list[Plain]]]:
    """Entries that follow one another in one step, under its title."""
    return [(run[0]["title"], run) for run in (list(one) for _, one in groupby(rows, key=step_of))]


def step_of(row: Plain) -> str:
    return str(row["step"])


def titles(rows: Sequence[Plain]) -> dict[str, Plain]:
    """Titles of the steps that have entries, in the order of their first."""
    found: dict[str, Plain] = {}
    for row in rows:
        if row["step"] and row["title"]:
            found.setdefault(row["step"], row["title"])
    return found


def pages_of(count: int) -> int:
    return max(1, -(-count // PAGE))


def page_number(text: str, count: int) -> int:
    """The page asked for, the nearest there is, the first for anything that is no number."""
    wanted = int(text) if text.isascii() and text.isdigit() and len(text) < 8 else 1
    return min(max(wanted, 1), pages_of(count))


def taken() -> tuple[int, int] | None:
    """How many entries of a file were new, and how many it held, as the address says after one was taken in."""
    fresh, count = request.args.get("fresh", ""), request.args.get("count", "")
    if all(text.isascii() and text.isdigit() and len(text) < 8 for text in (fresh, count)):
        return int(fresh), int(count)
    return None


@blueprint.get("/jobs/<job_id>/book/file")
def file(job_id: str) -> Response:
    """The field book as a phone saves it: the newest plan and every entry."""
    saved, bundle = yards.standing(job_id)
    text = book.write_export(bundle.document, bundles.store().entries(saved.id))
    return pages.download(text.encode(), "application/json", f"field-book-{job_id}.json")


@blueprint.post("/jobs/<job_id>/book")
def take_in(job_id: str) -> tuple[str, int] | AnyResponse:
    """Take in a phone's field book file, all of it or, with its reason, nothing."""
    request.max_content_length = LARGEST
    yards.standing(job_id)
    try:
        entries = read(job_id)
        before = {entry["id"] for entry in bundles.store().entries(job_id)}
        clashing = bundles.store().add_entries(job_id, entries).clashing
        if clashing:
            raise BookFault("book-clash", slots={"entry": clashing[0][:80]})
    except RequestEntityTooLarge:
        error: YardtrueError = BookFault("book-large", slots={"most": str(LARGEST // 1024 // 1024)})
    except YardtrueError as fault:
        error = fault
    else:
        fresh = sum(entry["id"] not in before for entry in entries)
        return redirect(url_for("books.page", job_id=job_id, fresh=fresh, count=len(entries)), 303)
    return log_page(job_id, error.plain()["error"]), error.status


def read(job_id: str) -> list[Plain]:
    """The entries of the chosen file, fit to be held beside those that are here. Raises BookFault."""
    chosen = request.files.get("file")
    content = chosen.read() if chosen else b""
    if not content:
        raise BookFault("book-none")
    try:
        document, entries = book.read_export(content.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        raise BookFault("not-a-book") from error
    wanted = yards.standing(job_id)[1].document["job"]
    if document["job"]["id"] != wanted["id"]:
        slots = {"found": str(document["job"]["name"])[:80], "wanted": wanted["name"]}
        raise BookFault("book-other-job", slots=slots)
    found = sync.sorted_out(job_id, entries)
    if found.refused:
        raise BookFault("book-entry", slots={"why": found.refused[0]["error"]["message"]})
    book.merge(bundles.store().entries(job_id), entries)
    return list(found.good.values())
