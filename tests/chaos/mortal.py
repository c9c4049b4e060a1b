"""A server that dies where it is told to.

A request may say where in its handling the server is to die (header Die-At, one of PLACES).
"""
from __future__ import annotations

import os
import signal
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from typing import Any

import waitress
from flask import Flask
from sqlalchemy import event

from server.web import prepare

PLACES = ("heard", "writing", "written", "kept", "answering")


class Here(threading.local):
    """The request of this thread: where it is to die, and whether it has written an entry."""

    place = ""
    wrote = False


here = Here()


def die_at(place: str) -> None:
    if here.place == place:
        os.kill(os.getpid(), signal.SIGKILL)


class Mortal:
    """A WSGI app that dies where it is told to."""

    def __init__(self, app: Callable[..., Iterable[bytes]]) -> None:
        self.app = app

    def __call__(self, environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        here.place, here.wrote = environ.get("HTTP_DIE_AT", ""), False
        die_at("heard")
        answer = self.app(environ, start_response)
        die_at("kept")
        return halves(answer) if here.place == "answering" else answer


def halves(answer: Iterable[bytes]) -> Iterator[bytes]:
    """The first half of an answer, time to send it, and death."""
    whole = b"".join(answer)
    yield whole[: len(whole) // 2]
    time.sleep(0.03)
    die_at("answering")


def watch(app: Flask) -> None:
    """Be able to die between the statements of a transaction, and before it is committed."""
    engine = app.extensions["store"].engine

    def statement(_connection: Any, _cursor: Any, said: str, *_rest: Any) -> None:
        if said.startswith("INSERT INTO entries"):
            die_at("writing")
            here.wrote = True

    def commit(_connection: Any) -> None:
        if here.wrote:
            die_at("written")

    event.listen(engine, "before_cursor_execute", statement)
    event.listen(engine, "commit", commit)


def live(port: int, database: str, cache: str) -> None:
    """Serve until killed, the database opened anew."""
    app, _ = prepare(database, {"CACHE_TYPE": "FileSystemCache", "CACHE_DIR": cache})
    watch(app)
    app.wsgi_app = Mortal(app.wsgi_app)  # type: ignore[method-assign]
    waitress.serve(app, host="127.0.0.1", port=port, threads=8, ident=None)
