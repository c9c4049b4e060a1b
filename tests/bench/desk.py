"""`python -m tests.bench.desk PORT DATABASE FOLDER`: Yardtrue with one static folder more, to compare with."""
from __future__ import annotations

import sys

import waitress
from flask import send_from_directory

from server import create_app
from server.web import bundles


def main(port: str, database: str, folder: str) -> None:
    """Serve until killed: the same app, the same waitress, Flask's own static files at /still/."""
    app = create_app(database)
    app.add_url_rule("/still/<path:path>", "still", lambda path: send_from_directory(folder, path))
    with app.app_context():
        bundles.store().seed_demo(bundles.digest_of)
    waitress.serve(app, host="127.0.0.1", port=int(port), threads=8, ident=None)


if __name__ == "__main__":
    main(*sys.argv[1:])
