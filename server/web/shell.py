"""The phone at /phone/: the shell from memory, the worker's script, documents and field math by digest."""
from __future__ import annotations

from pathlib import Path, PurePosixPath

from flask import Blueprint, Flask, Response, current_app, make_response, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from server.errors import FrameOpen, JobFaults, NotFound
from server.model import Bundle
from server.shell_tree import INDEX, TYPES, WORKER, field_files, index_file, shell_files, worker
from server.store import Saved
from server.web import access, bundles

blueprint = Blueprint("shell", __name__, url_prefix="/phone")
FOREVER = "max-age=31536000, immutable"


def init(app: Flask) -> None:
    """Read the shell once: what this process ships does not change while it runs."""
    pwa = Path(app.config["PWA"])
    files = shell_files(pwa)
    app.extensions["shell"] = files | {WORKER: worker(files, pwa)}
    app.extensions["field"] = field_files()


@blueprint.get("")
@access.anyone
def home_without_slash() -> AnyResponse:
    return redirect("/phone/", 308)


@blueprint.get("/")
@access.anyone
def home() -> Response:
    return served("index.html", current_app.extensions["shell"]["index.html"])


@blueprint.get(f"/{INDEX}")
@access.anyone
def index() -> Response:
    """The jobs this phone may take with it; one that does not read, or whose frame is open, is left out until then."""
    seen = access.is_desk() or access.crew_jobs()
    found = [readable(saved) for saved in bundles.store().jobs() if access.may_see(saved.id)] if seen else []
    return served(INDEX, index_file(bundle for bundle in found if bundle))


def readable(saved: Saved) -> Bundle | None:
    try:
        return bundles.bundle_of_revision(saved)
    except (JobFaults, FrameOpen):
        return None


@blueprint.get("/jobs/<job_id>/<digest>.json")
@access.crew
def document(job_id: str, digest: str) -> Response:
    return kept(f"{digest}.json", bundles.document(job_id, digest), "private")


@blueprint.get("/<path:path>")
@access.anyone
def file(path: str) -> Response:
    """A file of the shell, or a module of the field math."""
    if path in current_app.extensions["shell"]:
        return served(path, current_app.extensions["shell"][path])
    if path in current_app.extensions["field"]:
        return kept(path, current_app.extensions["field"][path])
    raise NotFound("not-found")


def served(path: str, content: bytes) -> Response:
    """Bytes that may change: asked for again each time, sent again only when they did."""
    response = typed(path, content)
    response.headers["Cache-Control"] = "no-cache"
    response.add_etag()
    return make_response(response.make_conditional(request))


def kept(path: str, content: bytes, whose: str = "public") -> Response:
    """Bytes named by their digest: never asked for again."""
    response = typed(path, content)
    response.headers["Cache-Control"] = f"{whose}, {FOREVER}"
    return response


def typed(path: str, content: bytes) -> Response:
    response = make_response(content)
    response.content_type = TYPES[PurePosixPath(path).suffix]
    return response
