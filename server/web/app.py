"""The app: its parts wired over one store, and served."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import waitress
from flask import Flask

from server.places import PWA
from server.store import open_store
from server.web import api, bundles, faults, frames, guard, pages, rehearsals, shell, spans, speech

MEBIBYTE = 1024 * 1024
DEFAULTS: dict[str, Any] = {
    "MAX_CONTENT_LENGTH": MEBIBYTE,
    "MAX_FORM_MEMORY_SIZE": MEBIBYTE,
    "CACHE_TYPE": "SimpleCache",
    "CACHE_DEFAULT_TIMEOUT": 0,  # keys are digests of contents: nothing grows stale, the oldest goes when it is full
    "CACHE_THRESHOLD": 512,
    "ALLOWED_HOSTS": (),  # names beside loopback that this server answers to
    "PWA": PWA,
}


def build_app(database_url: str | None, config: Mapping[str, Any]) -> Flask:
    """The app with its parts wired; see `server.create_app`."""
    app = Flask("server.web")
    app.config.from_mapping(DEFAULTS)
    app.config.from_mapping(config)
    app.extensions["store"] = open_store(database_url)
    bundles.cache.init_app(app)
    guard.init(app)
    faults.init(app)
    speech.init(app)
    shell.init(app)
    for part in (pages, frames, rehearsals, spans, api, shell):
        app.register_blueprint(part.blueprint)
    return app


def serve(host: str, port: int, database: str | None = None, names: Sequence[str] = ()) -> None:
    """Serve until stopped, demo jobs added to a new database; `names` are further host names to answer to."""
    app = build_app(database, {"ALLOWED_HOSTS": (host, *names)})
    with app.app_context():
        bundles.store().seed_demo(bundles.digest_of)
    waitress.serve(app, host=host, port=port, threads=8, ident=None)
