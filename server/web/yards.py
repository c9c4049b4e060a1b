"""The yard from the desk: its state on the plan, renewed while it is looked at, and the as-built report for paper."""
from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from flask import Blueprint, render_template
from markupsafe import Markup

from server import job as jobs
from server.errors import FrameOpen, JobFaults, NotFound
from server.model import Bundle, Plain
from server.report import report
from server.report_log import sides
from server.store import Saved
from server.web import bundles, pages, states

blueprint = Blueprint("yards", __name__)
AT_ONCE = 2000  # entries asked of the store in one go
LATEST = 8
MOST_SHOWN = 9  # phones and revisions on a page; the others are counted


@blueprint.app_template_filter("moment")
def moment(text: str) -> str:
    """When an entry was made by its phone's clock, in this machine's time: 2026-05-04 10:42; odd text as it is."""
    try:
        return datetime.fromisoformat(text).astimezone().strftime("%Y-%m-%d %H:%M")
    except (ValueError, OverflowError, OSError):
        return text


@blueprint.app_template_filter("lead")
def lead(text: str) -> str:
    """A sentence or a name with a capital first."""
    return text[:1].upper() + text[1:]


@dataclass(frozen=True)
class Seen:
    """A job as saved, its bundle, and the report of its yard."""

    saved: Saved
    bundle: Bundle
    report: Plain

    @property
    def document(self) -> Plain:
        return self.bundle.document

    @property
    def units(self) -> str:
        return str(self.document["job"]["units"])


@blueprint.get("/jobs/<job_id>/yard")
def page(job_id: str) -> str:
    """The live state; the script of the page asks for the part below, without it a reload does."""
    return render_template("yard.html", **live(job_id))


@blueprint.get("/jobs/<job_id>/yard/part")
def part(job_id: str) -> str:
    return render_template("yard_part.html", **live(job_id))


def live(job_id: str) -> Plain:
    """What the page and its part show."""
    seen = look(job_id)
    rows = [*seen.report["marks"], *seen.report["anchors"]]
    return common(seen) | {
        "plan": states.marked(seen.document["drawing"], seen.report), "marks": rows,
        "latest": seen.report["log"][: -LATEST - 1 : -1], "step_signs": states.STEP_SIGNS,
        "others": [row for row in seen.report["points"] if row["kind"] != "ground"],
    }


@blueprint.get("/jobs/<job_id>/report")
def as_built(job_id: str) -> str:
    """The as-built report: what is unfinished first, the marks as staked, every footing, the frame, a line to sign."""
    seen = look(job_id)
    wanted = jobs.read(seen.saved.spec)
    sheet = pages.sheet(seen.saved, seen.bundle)
    shown = sheet | pages.on_paper(sheet["findings"]) | common(seen)
    return render_template(
        "as_built.html", **shown | {"plan": plan_of(seen), "wanted": wanted, "members": members(seen.document)}
    )


def plan_of(seen: Seen) -> Markup:
    """The plan with the marks as they stand; nothing is asked on paper."""
    return states.marked(seen.document["drawing"], seen.report | {"now": {"lit": []}})


def members(document: Plain) -> Plain:
    """How many members of the frame are at each level: {level: count}, in the order they are first met."""
    found: dict[str, int] = {}
    for member in document["frame"].get("members", []):
        found[member["level"]] = found.get(member["level"], 0) + 1
    return found


def common(seen: Seen) -> Plain:
    """What every page of a yard needs."""
    return {
        "id": seen.saved.id, "saved": seen.saved, "head": seen.document["job"], "units": seen.units,
        "report": seen.report, "signs": states.SIGNS, "numbers": numbers(seen), "sides": sides,
        "newest": bundles.store().job(seen.saved.id).number, "most": MOST_SHOWN,
    }


def numbers(seen: Seen) -> dict[str, int]:
    """Revision numbers by digest."""
    found = {saved.digest: saved.number for saved in bundles.store().revisions(seen.saved.id) if saved.digest}
    return found | {seen.bundle.digest: seen.saved.number}


def look(job_id: str) -> Seen:
    """A job's yard, reckoned anew only when an entry came."""
    saved, bundle = standing(job_id)
    key = f"yard {job_id}/{bundle.digest}/{bundles.builder_digest()}"
    kept: tuple[int, str, Plain] | None = bundles.cache.get(key)
    if kept is not None and is_fresh(job_id, kept[0], kept[1]):
        return Seen(saved, bundle, kept[2])
    entries, cursor = all_entries(job_id)
    found = report(bundle.document, entries, others(job_id, bundle, entries))
    bundles.cache.set(key, (cursor, entries[-1]["id"] if entries else "", found))
    return Seen(saved, bundle, found)


def standing(job_id: str) -> tuple[Saved, Bundle]:
    """The newest revision that can be laid out: the yard stands on it while the desk has a newer one half done.

    A job that never could be laid out leads to its form, or to its frames.
    """
    bundles.store().job(job_id)
    for saved in bundles.store().revisions(job_id):
        try:
            return saved, bundles.bundle_of_revision(saved)
        except (JobFaults, FrameOpen):
            continue
    return bundles.planned(job_id)


def is_fresh(job_id: str, cursor: int, newest: str) -> bool:
    """True while the last entry that came is still the last: none came since, and the book is not another one."""
    found, _, more = bundles.store().entries_since(job_id, max(cursor - 1, 0), 1)
    return not more and (found[0]["id"] if found else "") == newest


def all_entries(job_id: str) -> tuple[list[Plain], int]:
    """Every entry of a job in order of arrival, and the number of the last."""
    entries: list[Plain] = []
    cursor, more = 0, True
    while more:
        found, cursor, more = bundles.store().entries_since(job_id, cursor, AT_ONCE)
        entries += found
    return entries, cursor


def others(job_id: str, bundle: Bundle, entries: list[Plain]) -> dict[str, Plain]:
    """Documents of other revisions that entries were made on, as far as they are still made here."""
    found = {}
    known = {saved.digest for saved in bundles.store().revisions(job_id)}
    for digest in {entry["revision"] for entry in entries} & known - {bundle.digest}:
        try:
            found[digest] = bundles.built(job_id, digest).document
        except (NotFound, JobFaults, FrameOpen):
            continue
    return found
