"""The desk: list, new, job, edit, delete, print; forms work without a script."""
from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Sequence
from itertools import groupby
from typing import Any

from flask import Blueprint, Response, make_response, redirect, render_template, request, url_for
from markupsafe import Markup
from werkzeug.wrappers import Response as AnyResponse

from server import units
from server.errors import Fault, JobFaults
from server.field import square
from server.job import parse_text, read, units_of
from server.model import Bundle, Plain
from server.shell_tree import whole_tree
from server.store import Saved
from server.web import bundles, forms, lumber_form
from server.web.thumb import thumb

blueprint = Blueprint("desk", __name__)
FAILS = "walk.frame.level.fails"  # and fails-none, where no change near would hold
UNSURE = ("walk.frame.level.engineer", "walk.frame.level.memory")
ZIP_DATE = (2020, 1, 1, 0, 0, 0)  # the same bundle is the same bytes, whenever it is packed


@blueprint.get("/")
def jobs() -> str:
    """The register: every job with its size and its way to the phone."""
    rows = [row(saved) for saved in bundles.store().jobs()]
    return render_template("jobs.html", rows=rows)


def row(saved: Saved) -> Plain:
    """A line of the register; a job saved under older rules that no longer reads keeps its line and says so."""
    try:
        job = read(saved.spec)
    except JobFaults:
        return {"id": saved.id, "name": str(saved.spec.get("name", saved.id)), "job": None}
    area = units.area(job.width * job.out, job.units)
    line = {"id": saved.id, "name": job.name, "job": job, "area": area}
    return line if job.open else line | {"thumb": thumb(bundles.bundle_of_revision(saved).document["drawing"])}


@blueprint.get("/jobs/new")
def new() -> str:
    return form_page(forms.fresh())


@blueprint.post("/jobs/new")
def add() -> tuple[str, int] | AnyResponse:
    """Save the form as a new job, or show every fault at its field."""
    typed = forms.with_rows(forms.typed_of(request.form))
    return save(forms.spec_of(typed), typed)


@blueprint.post("/jobs/file")
def add_file() -> tuple[str, int] | AnyResponse:
    """Save a pasted or chosen job file; with faults, the file's text stays and the form above shows what it says."""
    content = request.form.get("text", "")
    try:
        content = chosen_text() or content
        spec = parse_text(content)
    except JobFaults as error:
        return form_page(forms.fresh(), error.plain()["error"]["faults"], content=content, at_file=True), 400
    return save(spec, forms.typed_from(spec), content=content)


def chosen_text() -> str:
    """The text of an uploaded file, "" when none was chosen. Raises JobFaults when it is not UTF-8."""
    chosen = request.files.get("file")
    try:
        return chosen.read().decode("utf-8-sig") if chosen else ""
    except UnicodeDecodeError as error:
        raise JobFaults([Fault("", "not-utf8")]) from error


def save(spec: Any, typed: forms.Typed, content: str = "") -> tuple[str, int] | AnyResponse:
    try:
        job_id = bundles.store().add_job(spec, bundles.digest_of)
    except JobFaults as error:
        faults = error.plain(units_of(spec))["error"]["faults"]
        return form_page(typed, faults, content=content, at_file=bool(content)), 400
    return redirect(url_for("desk.job", job_id=job_id), 303)


def form_page(typed: forms.Typed, faults: Sequence[Plain] = (), **slots: Any) -> str:
    """The form with what was typed, its faults at their fields and listed on top."""
    placed = forms.by_field(faults, forms.all_fields())
    order = ["", *forms.all_fields()]
    listed = [(name, fault) for name in order for fault in placed.get(name, [])]
    return render_template(
        "form.html", typed=typed, faults=placed, listed=listed, choices=forms.CHOICES, rows=forms.ROWS,
        more=len(lumber_form.more_of(typed)), **slots,
    )


@blueprint.get("/jobs/<job_id>")
def job(job_id: str) -> str:
    saved, bundle = bundles.planned(job_id)
    return render_template("job.html", **sheet(saved, bundle), link=bundles.store().link(job_id))


@blueprint.get("/jobs/<job_id>/print")
def paper(job_id: str) -> str:
    """One sheet with the plan, every reading and the cautions."""
    shown = sheet(*bundles.newest(job_id))
    return render_template("print.html", **shown | on_paper(shown["findings"]))


def on_paper(findings: list[Plain]) -> Plain:
    """Paper names what does not hold; members that are only reckoned, or from memory, are counted."""
    unsure = [finding for finding in findings if finding["key"] in UNSURE]
    return {"findings": [finding for finding in findings if finding not in unsure], "unsure": len(unsure)}


def holes(footings: list[Plain]) -> list[Plain]:
    """Footings of one size and depth together, each by its marks, beam and footing: 1-2."""
    alike: dict[tuple[float, ...], Plain] = {}
    for footing in footings:
        size = (footing["side"], footing["thickness"], footing["depth"])
        alike.setdefault(size, footing | {"marks": []})["marks"].append(footing["point"].removeprefix("G"))
    return list(alike.values())


def sheet(saved: Saved, bundle: Bundle) -> Plain:
    """What the job page and the printed sheet both show."""
    document = bundle.document
    head = document["job"]
    steps = document["steps"]
    by_id = {step["id"]: step for step in steps}
    return {
        "id": saved.id, "saved": saved, "document": document, "head": head, "units": head["units"],
        "area": units.area(square.area(head["outline"]), head["units"]),
        "plan": Markup(document["drawing"]),  # noqa: S704 (our own drawing: names in it are escaped by its maker)
        "groups": [(by_id[group], list(rows)) for group, rows in groupby(document["readings"], group_of)],
        "cautions": [act for step in steps if step["kind"] == "caution" for act in step["acts"]],
        "steps": steps, "beams": read(saved.spec).beams,
        "holes": holes(document["frame"]["footings"]),
        "findings": sorted(document["findings"], key=lambda finding: not finding["key"].startswith(FAILS)),
    }


def group_of(reading: Plain) -> str:
    return str(reading["group"])


@blueprint.get("/jobs/<job_id>/edit")
def edit(job_id: str) -> str:
    """The form with a job in it; a job saved under older rules shows its faults at once."""
    saved = bundles.store().job(job_id)
    try:
        read(saved.spec)
        faults = []
    except JobFaults as error:
        faults = error.plain(units_of(saved.spec))["error"]["faults"]
    return form_page(forms.typed_from(saved.spec), faults, job_id=job_id)


@blueprint.post("/jobs/<job_id>/edit")
def change(job_id: str) -> tuple[str, int] | AnyResponse:
    """Save a changed job as its next revision."""
    typed = forms.with_rows(forms.typed_of(request.form))
    spec = forms.spec_of(typed)
    try:
        bundles.store().save_revision(job_id, spec, bundles.digest_of)
    except JobFaults as error:
        return form_page(typed, error.plain(units_of(spec))["error"]["faults"], job_id=job_id), 400
    return redirect(url_for("desk.job", job_id=job_id), 303)


@blueprint.get("/jobs/<job_id>/delete")
def ask_delete(job_id: str) -> str:
    saved = bundles.store().job(job_id)
    entries = len(bundles.store().entries(job_id))
    name = saved.spec.get("name", job_id)
    return render_template("delete.html", id=job_id, name=name, saved=saved, entries=entries)


@blueprint.post("/jobs/<job_id>/delete")
def delete(job_id: str) -> AnyResponse:
    bundles.forget(job_id)
    bundles.store().delete(job_id)
    return redirect(url_for("desk.jobs"), 303)


@blueprint.get("/jobs/<job_id>/job.json")
def job_file(job_id: str) -> Response:
    """The job file as it was given."""
    text = json.dumps(bundles.store().job(job_id).spec, ensure_ascii=False, indent=2) + "\n"
    return download(text.encode(), "application/json", f"{job_id}.json")


@blueprint.get("/jobs/<job_id>/bundle.zip")
def bundle_file(job_id: str) -> Response:
    """The folder that any static host can serve, packed."""
    _, bundle = bundles.newest(job_id)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for path, content in sorted(whole_tree([bundle]).items()):
            archive.writestr(zipfile.ZipInfo(f"{job_id}/{path}", ZIP_DATE), content, zipfile.ZIP_DEFLATED)
    return download(packed.getvalue(), "application/zip", f"{job_id}.zip")


def download(content: bytes, kind: str, name: str) -> Response:
    response = make_response(content)
    response.content_type = kind
    response.headers.set("Content-Disposition", "attachment", filename=name)
    return response
