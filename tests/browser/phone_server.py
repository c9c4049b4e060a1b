"""Yardtrue with its shell from a folder, for a process of its own that is to be killed."""
from __future__ import annotations

from flask import abort, request

from server.web import prepare, serve_plain


def serve(port: int, database: str, pwa: str, broken: str = "") -> None:
    """Serve until killed. `broken` is one path under /phone/ that this server fails to give."""
    app, _ = prepare(database, {"PWA": pwa})

    @app.before_request
    def fail() -> None:
        if broken and request.path == f"/phone/{broken}":
            abort(500)

    serve_plain(app, "127.0.0.1", port)
