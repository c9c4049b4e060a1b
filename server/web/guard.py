"""What every request and answer is held to: known host, same site for a change, headers that shut doors."""
from __future__ import annotations

from collections.abc import Collection
from ipaddress import ip_address
from urllib.parse import urlsplit

from flask import Flask, Response, current_app, request

from server.errors import Refused

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'self'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'; form-action 'self'"
    ),
    "X-Content-Type-Options": "nosniff",
    # Not no-referrer: browsers then send "Origin: null" with our own forms, the very mark of a foreign one.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
SAFE = {"GET", "HEAD", "OPTIONS"}


def init(app: Flask) -> None:
    app.before_request(check_host)
    app.before_request(check_site)
    app.after_request(add_headers)


def check_host() -> None:
    """Loopback names and configured ones only, so that a foreign name pointed at this machine reads nothing."""
    if not host_allowed(request.headers.get("Host", ""), current_app.config["ALLOWED_HOSTS"]):
        raise Refused("unknown-host")


def host_allowed(host: str, allowed: Collection[str]) -> bool:
    try:
        name = urlsplit(f"//{host}").hostname or ""
    except ValueError:
        return False
    if name == "localhost" or name.endswith(".localhost") or name in allowed:
        return True
    try:
        return ip_address(name).is_loopback
    except ValueError:
        return False


def check_site() -> None:
    """A change must come from a page of this server, or from a program that is no browser."""
    if request.method in SAFE:
        return
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None and site not in ("same-origin", "none"):
        raise Refused("other-site")
    origin = request.headers.get("Origin")
    if site is None and origin is not None and urlsplit(origin).netloc != request.host:
        raise Refused("other-site")


def add_headers(response: Response) -> Response:
    response.headers.update(HEADERS)
    response.headers.setdefault("Cache-Control", "no-cache")
    return response
