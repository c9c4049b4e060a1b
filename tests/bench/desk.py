"""`python -m tests.bench.desk PORT DATABASE FOLDER`: Yardtrue with one static folder more, to compare with."""
from __future__ import annotations

import sys

from flask import send_from_directory

from server.web import access, prepare, serve_plain


def main(port: str, database: str, folder: str) -> None:
    """Serve until killed: the same app, the same waitress, Flask's own static files at /still/."""
    app, _ = prepare(database, {})
    app.add_url_rule("/still/<path:path>", "still", access.anyone(lambda path: send_from_directory(folder, path)))
    serve_plain(app, "127.0.0.1", int(port))


if __name__ == "__main__":
    main(*sys.argv[1:])
