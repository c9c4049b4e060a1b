"""Crew links: made, made anew and withdrawn on the job's page, opened on a phone."""
from __future__ import annotations

import segno
from flask import Blueprint, Response, current_app, jsonify, make_response, redirect, render_template, url_for
from markupsafe import Markup
from werkzeug.wrappers import Response as AnyResponse

from server.api_schema import CrewBody, Joined, read_body
from server.errors import FrameOpen, JobFaults
from server.model import Plain
from server.shell_tree import index_entry
from server.web import access, bundles
from server.web.bodies import json_body
from server.web.openapi import described

blueprint = Blueprint("crew", __name__)


@blueprint.post("/api/crew")
@access.anyone
@described("crew", {200: Joined}, body=CrewBody, refuses=(404, 422))
def join() -> Response:
    """The job of a crew link; this session is in its crew from now on. Raises NotFound for a wrong link."""
    body = read_body(CrewBody, json_body())
    link_id, job_id = bundles.store().job_of_link(body["link"])
    access.join_crew(link_id)
    response = jsonify({"job": offered(job_id)})
    response.headers["Cache-Control"] = "no-store"
    return response


def offered(job_id: str) -> Plain:
    """A job as the list of the phone has it; one that has no plan just now comes without files."""
    saved = bundles.store().job(job_id)
    try:
        return index_entry(bundles.bundle_of_revision(saved))
    except (JobFaults, FrameOpen):
        return {"id": saved.id, "name": str(saved.spec.get("name", saved.id)), "digest": "", "files": []}


@blueprint.post("/jobs/<job_id>/link")
def make(job_id: str) -> Response:
    """A new crew link, shown this once; an old one opens nothing from now on."""
    token = bundles.store().new_link(job_id)
    home = url_for("shell.home", _external=not current_app.config["PUBLIC_ORIGIN"])
    link = f"{current_app.config['PUBLIC_ORIGIN']}{home}#/crew/{token}"
    name = bundles.store().job(job_id).spec.get("name", job_id)
    response = make_response(render_template("link.html", id=job_id, name=name, link=link, code=picture(link)))
    response.headers["Cache-Control"] = "no-store"
    return response


@blueprint.post("/jobs/<job_id>/link/withdraw")
def withdraw(job_id: str) -> AnyResponse:
    bundles.store().withdraw_link(job_id)
    return redirect(url_for("desk.job", job_id=job_id, _anchor="crew"), 303)


def picture(link: str) -> Markup:
    """A link as a QR code, drawn as SVG without a style of its own."""
    drawn = segno.make(link, error="m", micro=False).svg_inline(omitsize=True, border=4, svgclass=None, lineclass=None)
    return Markup(drawn)  # noqa: S704 (squares only: nothing of the link is in it as text)
