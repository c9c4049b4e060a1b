"""The desk's page for bringing a phone in, and the picture that only a phone which trusts the desk can load."""
from __future__ import annotations

from flask import Blueprint, Response, current_app, make_response, render_template

from server.lan.keeper import Keeper
from server.lan.told import SEEN, trust
from server.web import access
from server.web.crew import picture

blueprint = Blueprint("trust", __name__)
PICTURE = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 48 48" width="48" height="48">'
    '<circle cx="24" cy="24" r="22" fill="#14181b"/>'
    '<path d="M13 25l8 8 15-17" fill="none" stroke="#fff" stroke-width="5"/></svg>'
)


@blueprint.get(SEEN)
@access.anyone
def seen() -> Response:
    """Loaded from the trust page, which is another origin: this picture alone may be."""
    response = make_response(PICTURE)
    response.content_type = "image/svg+xml"
    response.headers["Cross-Origin-Resource-Policy"] = "cross-origin"
    response.headers["Cache-Control"] = "no-store"
    return response


@blueprint.get("/phones")
def phones() -> str:
    """How a phone comes in: the way this server was started, or the ways there are."""
    keeper: Keeper | None = current_app.extensions.get("lan")
    told = trust(keeper) if keeper else None
    return render_template("phones.html", told=told, code=picture(told["page"]) if told else "")
