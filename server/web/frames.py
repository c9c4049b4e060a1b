"""A job whose frame is open: the frames that fit it as a table to sort, and one taken into the job."""
from __future__ import annotations

from flask import Blueprint, abort, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from server import plan
from server.job import read
from server.offer import COLUMNS, row
from server.web import bundles

blueprint = Blueprint("frames", __name__)


@blueprint.get("/jobs/<job_id>/frames")
def table(job_id: str, changed: bool = False) -> str | AnyResponse:
    """Every frame worth choosing, by the column asked for; a job whose frame is not open has no such table."""
    saved = bundles.store().job(job_id)
    job = read(saved.spec)
    if not job.open:
        return redirect(url_for("desk.job", job_id=job_id))
    choice = bundles.choice_of(saved.id, saved.spec)
    by = request.args.get("by", COLUMNS[0])
    rows = [row(number, option) for number, option in enumerate(choice.frames, 1)]
    if by in COLUMNS:
        rows.sort(key=lambda row: (row["values"][by], row["number"]))
    return render_template(
        "choose.html", id=job_id, saved=saved, name=job.name, units=job.units, frames=rows, tried=choice.tried,
        blocked=[message.plain() for message in choice.blocked], columns=COLUMNS, by=by, changed=changed,
    )


@blueprint.post("/jobs/<job_id>/frames")
def pick(job_id: str) -> str | AnyResponse:
    """Put a frame into the job as its next revision; the number counts only for the revision it was shown for."""
    saved = bundles.store().job(job_id)
    number = request.form.get("frame", "")
    if not number.isascii() or not number.isdigit():
        abort(400)
    if request.form.get("revision") != str(saved.number) or not read(saved.spec).open:
        return table(job_id, changed=True)
    spec = plan.pick(saved.spec, bundles.choice_of(saved.id, saved.spec), int(number))
    bundles.store().save_revision(job_id, spec, bundles.digest_of)
    return redirect(url_for("desk.job", job_id=job_id), 303)
