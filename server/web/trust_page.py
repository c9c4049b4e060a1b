"""The page on plain HTTP that takes a phone through trusting the desk: it, its files and the certificate, no more."""
from __future__ import annotations

from ipaddress import ip_address
from urllib.parse import urlsplit

from flask import Blueprint, Flask, Response, current_app, make_response, render_template, request, send_from_directory
from werkzeug.exceptions import HTTPException

from server.lan.keeper import Keeper
from server.lan.told import trust
from server.model import Plain
from server.web import speech
from server.web.guard import HEADERS
from server.words import sentence

blueprint = Blueprint("trust_page", __name__)
CERTIFICATE = "yardtrue-authority.crt"
FILES = ("trust.css", "trust.js")
STEPS = {"iphone": ("get", "install", "accept", "full"), "android": ("get", "install", "compare")}


def build_trust_app(keeper: Keeper) -> Flask:
    """An app of its own, so that nothing of the desk can be reached without TLS."""
    app = Flask("server.web", static_folder=None)
    app.extensions["lan"] = keeper
    speech.init(app)
    app.register_blueprint(blueprint)
    app.after_request(add_headers)
    app.register_error_handler(HTTPException, on_http)
    return app


def told() -> Plain:
    return trust(current_app.extensions["lan"], asked_host())


def asked_host() -> str:
    """The host this phone came by, where it can be read."""
    try:
        name = urlsplit(f"//{request.host}").hostname or ""
        return str(ip_address(name)) if ":" in name else name
    except ValueError:
        return ""


@blueprint.get("/")
def page() -> str:
    return render_template("trust.html", told=told(), certificate=CERTIFICATE, steps=STEPS,
                           order=order(request.user_agent.string))


def order(agent: str) -> list[str]:
    """The kind of phone that asks first; both are shown, since a phone may call itself anything."""
    return ["android", "iphone"] if "Android" in agent else ["iphone", "android"]


@blueprint.get(f"/{CERTIFICATE}")
def certificate() -> Response:
    response = make_response(current_app.extensions["lan"].authority.root_der)
    response.content_type = "application/x-x509-ca-cert"
    response.headers["Content-Disposition"] = f"attachment; filename={CERTIFICATE}"
    return response


@blueprint.get("/<any({}):name>".format(", ".join(f'"{name}"' for name in FILES)))
def file(name: str) -> Response:
    return send_from_directory("static", name)


def add_headers(response: Response) -> Response:
    """The desk's doors; pictures may come from one more place, the desk's HTTPS address that is being tried."""
    response.headers.update(HEADERS)
    policy = HEADERS["Content-Security-Policy"]
    response.headers["Content-Security-Policy"] = f"{policy}; img-src 'self' {told()['origin']}"
    response.headers["Cache-Control"] = "no-store"
    return response


def on_http(error: HTTPException) -> Response:
    return Response(sentence("lan.only-trust"), error.code or 500, content_type="text/plain; charset=utf-8")
