"""`python -m tests.browser.phone_server PORT DATABASE PWA [BROKEN]`: Yardtrue with its shell from a folder, to be killed.

BROKEN is one path under /phone/ that this server fails to give.
"""
from __future__ import annotations

import sys

import waitress
from flask import abort, request

from server import create_app
from server.web import bundles


def main(port: str, database: str, pwa: str, broken: str = "") -> None:
    """Serve until killed."""
    app = create_app(database, {"PWA": pwa})

    @app.before_request
    def fail() -> None:
        if broken and request.path == f"/phone/{broken}":
            abort(500)

    with app.app_context():
        bundles.store().seed_demo(bundles.digest_of)
    waitress.serve(app, host="127.0.0.1", port=int(port), threads=8, ident=None)


if __name__ == "__main__":
    main(*sys.argv[1:])
