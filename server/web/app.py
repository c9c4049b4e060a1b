"""The app: its parts wired over one store, and served."""
from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Flask

from server import settings
from server.places import PWA
from server.store import Store, open_store
from server.web import (
    access,
    api,
    behind,
    books,
    bundles,
    caching,
    crew,
    entry,
    faults,
    frames,
    guard,
    openapi,
    pages,
    rehearsals,
    shell,
    spans,
    speech,
    sync,
    trust,
    yards,
)

MEBIBYTE = 1024 * 1024
DEFAULTS: dict[str, Any] = {
    "MAX_CONTENT_LENGTH": MEBIBYTE,
    "MAX_FORM_MEMORY_SIZE": MEBIBYTE,
    "CACHE_TYPE": "SimpleCache",
    "CACHE_DEFAULT_TIMEOUT": 0,  # keys are digests of contents: nothing grows stale, the oldest goes when it is full
    "CACHE_THRESHOLD": 512,
    "ALLOWED_HOSTS": (),  # names beside loopback that this server answers to
    "BEHIND_PROXY": False,  # one proxy in front says where a request came from, by which name and whether over TLS
    "DESK_KEY": None,  # the desk's key, fixed; without it the store's own counts
    "PUBLIC_ORIGIN": "",  # such as https://192.168.1.20:8443, where links for phones lead elsewhere than here
    "PWA": PWA,
    "SESSION_COOKIE_NAME": "yardtrue",
    "SESSION_COOKIE_HTTPONLY": True,
    "SESSION_COOKIE_SAMESITE": "Strict",
    "SESSION_REFRESH_EACH_REQUEST": False,
    "PERMANENT_SESSION_LIFETIME": access.DAYS * 24 * 3600,
}
PARTS = (entry, pages, yards, books, frames, rehearsals, spans, api, crew, sync, openapi, shell, trust)


def build_app(database_url: str | None, config: Mapping[str, Any]) -> Flask:
    """The app with its parts wired; see `server.create_app`. Raises YardtrueError for its database."""
    app = Flask("server.web")
    app.config.from_mapping(DEFAULTS)
    app.config.from_mapping(caching.shared_cache())
    app.config.from_mapping(config)
    app.extensions["store"] = open_store(database_url)
    if app.config["DESK_KEY"]:
        store_of(app).fix_desk_key(app.config["DESK_KEY"])
    if app.config["BEHIND_PROXY"]:
        behind.init(app)
    caching.init(app, bundles.cache)
    for part in (guard, access, faults, speech, shell):
        part.init(app)
    for part in PARTS:
        app.register_blueprint(part.blueprint)
    return app


def store_of(app: Flask) -> Store:
    found: Store = app.extensions["store"]
    return found


def prepare(database: str | None, config: Mapping[str, Any]) -> tuple[Flask, str]:
    """An app ready to be served, demo jobs in a new database; and the desk's key if it was made just now, else ""."""
    app = build_app(database, {"DESK_KEY": settings.desk_key(), **config})
    with app.app_context():
        store_of(app).seed_demo(bundles.digest_of)
    return app, store_of(app).first_desk_key()
