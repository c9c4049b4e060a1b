"""The small API: jobs as JSON, one error shape for everything that goes wrong (see `server.web.faults`)."""
from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, jsonify, make_response, request, url_for
from werkzeug.exceptions import UnsupportedMediaType

from server.api_schema import Checked, Jobs, SavedJob, Summary
from server.errors import Fault, JobFaults
from server.job import parse_text, units_of
from server.job_schema import json_schema
from server.model import Plain
from server.store import Saved
from server.web import bundles
from server.web.openapi import JOB, described
from server.web.speech import say

blueprint = Blueprint("api", __name__)


@blueprint.get("/api/jobs")
@described("jobs", {200: Jobs})
def jobs() -> Response:
    return jsonify({"jobs": [summary(saved) for saved in bundles.store().jobs()]})


@blueprint.post("/api/jobs")
@described("add", {201: Summary}, body=JOB)
def add() -> Response:
    """Save a job file: 201 with where it is, or every fault."""
    spec = posted_spec()
    try:
        job_id = bundles.store().add_job(spec, bundles.digest_of)
    except JobFaults as error:
        return make_response(jsonify(error.plain(units_of(spec))), error.status)
    response = make_response(jsonify(summary(bundles.store().job(job_id))), 201)
    response.headers["Location"] = url_for("api.job", job_id=job_id)
    return response


@blueprint.get("/api/jobs/<job_id>")
@described("job", {200: SavedJob}, refuses=(404,))
def job(job_id: str) -> Response:
    """One job: its summary and its job file as given."""
    saved = bundles.store().job(job_id)
    return jsonify(summary(saved) | {"spec": saved.spec})


@blueprint.post("/api/check")
@described("check", {200: Checked}, body=JOB)
def check() -> Response:
    """A job file's faults, and what practice says of it when it has none; nothing is saved."""
    spec = posted_spec()
    try:
        document = bundles.bundle_of("check", spec).document
    except JobFaults as error:
        return jsonify({"faults": error.plain(units_of(spec))["error"]["faults"], "findings": []})
    findings = [say(finding, document["job"]["units"]) for finding in document["findings"]]
    return jsonify({"faults": [], "findings": findings})


@blueprint.get("/job-schema.json")
def schema() -> Response:
    """The job file described as JSON Schema."""
    response = jsonify(json_schema())
    response.content_type = "application/schema+json"
    return response


def posted_spec() -> Any:
    """The parsed body. Raises UnsupportedMediaType, JobFaults."""
    if not request.is_json:
        raise UnsupportedMediaType
    try:
        return parse_text(request.get_data().decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        raise JobFaults([Fault("", "not-utf8")]) from error


def summary(saved: Saved) -> Plain:
    """What the list says of a job."""
    return {
        "id": saved.id, "name": saved.spec.get("name"), "revision": saved.number, "digest": saved.digest,
        "created": saved.created, "page": url_for("desk.job", job_id=saved.id),
        "phone": url_for("shell.home") + f"#/job/{saved.id}",
    }
