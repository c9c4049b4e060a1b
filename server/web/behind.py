"""Behind one proxy on this machine that speaks TLS itself: it says for whom, by which scheme and which host it asks."""
from __future__ import annotations

from flask import Flask, current_app, request
from werkzeug.middleware.proxy_fix import ProxyFix

from server.errors import Refused

FORWARDED = ("X-Forwarded-For", "X-Forwarded-Proto", "X-Forwarded-Host")


def init(app: Flask) -> None:
    app.before_request(check_forwarded)
    app.wsgi_app = ProxyFix(app.wsgi_app, x_for=1, x_proto=1, x_host=1)  # type: ignore[method-assign]


def check_forwarded() -> None:
    """A proxy that sets some of the headers and not all would have cookies go out bare, or links go astray."""
    given = {name: request.headers.get(name) for name in FORWARDED}
    missing = ", ".join(name for name, value in given.items() if not value)
    if missing and any(given.values()):
        current_app.logger.error("the proxy in front does not set %s", missing)
        raise Refused("proxy-headers", slots={"missing": missing})
