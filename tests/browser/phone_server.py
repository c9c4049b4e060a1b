"""`python -m tests.browser.phone_server PORT DATABASE PWA [BROKEN]`: Yardtrue with its shell from a folder, to be killed.

BROKEN is one path under /phone/ that this server fails to give.
"""
from __future__ import annotations

import sys

from flask import abort, request

from server.web import prepare, serve_plain


def main(port: str, database: str, pwa: str, broken: str = "") -> None:
    """Serve until killed."""
    app, _ = prepare(database, {"PWA": pwa})

    @app.before_request
    def fail() -> None:
        if broken and request.path == f"/phone/{broken}":
            abort(500)

    serve_plain(app, "127.0.0.1", int(port))


if __name__ == "__main__":
    main(*sys.argv[1:])
