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
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
HALF_A_YEAR = 180 * 24 * 3600
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
    if not same_site(request.headers.get("Sec-Fetch-Site"), request.headers.get("Origin"), request.host):
        raise Refused("other-site")


def same_site(site: str | None, origin: str | None, host: str) -> bool:
    """Whether these headers say that a request was made here.

    Without a referrer browsers send "Origin: null" with our own forms: then only Sec-Fetch-Site counts.
    """
    if site == "same-origin":
        return True
    if site not in (None, "none"):
        return False
    return origin is None or origin_host(origin) == host


def origin_host(origin: str) -> str:
    try:
        return urlsplit(origin).netloc
    except ValueError:
        return ""


def add_headers(response: Response) -> Response:
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    if request.is_secure:
        response.headers["Strict-Transport-Security"] = f"max-age={HALF_A_YEAR}"
    response.headers.setdefault("Cache-Control", "no-cache")
    return response
