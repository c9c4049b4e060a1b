"""A desk to test on: its key fixed, and clients that have entered with it."""
from __future__ import annotations

from pathlib import Path
from typing import Any

from flask import Flask
from flask.testing import FlaskClient
from playwright.sync_api import BrowserContext

from server import create_app
from server.web import bundles

KEY = "TESTERS-HAVE-ONE-DESKKEY-TOO2"


def desk_app(folder: Path, demo: bool = False, **config: Any) -> Flask:
    """An app on a new database in a folder, with the demo jobs if wanted."""
    app = create_app(f"sqlite:///{folder / 'jobs.sqlite3'}", {"DESK_KEY": KEY, **config})
    if demo:
        with app.app_context():
            bundles.store().seed_demo(bundles.digest_of)
    return app


def entered(app: Flask) -> FlaskClient:
    """A client that has entered the desk."""
    client = app.test_client()
    assert client.post("/enter", data={"key": KEY}).status_code == 303
    return client


def let_in(context: BrowserContext, address: str) -> None:
    """Let a browser in at the desk of the server at this address, without a page of its own."""
    answer = context.request.post(f"{address}/enter", form={"key": KEY}, max_redirects=0)
    assert answer.status == 303, answer.text()


def in_crew(app: Flask, job_id: str) -> FlaskClient:
    """A client that holds a new link of a job and nothing else."""
    client = app.test_client()
    with app.app_context():
        token = bundles.store().new_link(job_id)
    assert client.post("/api/crew", json={"link": token}).status_code == 200
    return client
