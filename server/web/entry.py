"""The way in for the desk: its key, typed or brought in the address's fragment; guessing is slowed down."""
from __future__ import annotations

import time

from flask import Blueprint, make_response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from server.errors import YardtrueError
from server.web import access, bundles

blueprint = Blueprint("entry", __name__)
FREE_GUESSES = 3
LONGEST_PAUSE = 60.0
FORGOTTEN = 3600


@blueprint.get("/enter")
@access.anyone
def page() -> str:
    return render_template("enter.html", error=None)


@blueprint.post("/enter")
@access.anyone
def enter() -> AnyResponse:
    """A desk session for who has the key; a wrong one is told, and a pause after a few of them."""
    guesses, until = guessed()
    left = until - time.time()
    if left > 0:
        return refused(YardtrueError("desk-key-wait", slots={"seconds": f"{left + 1:.0f}"}), 429, left)
    if not bundles.store().is_desk_key(request.form.get("key", "")):
        pause = min(2.0 ** (guesses - FREE_GUESSES), LONGEST_PAUSE) if guesses >= FREE_GUESSES else 0.0
        bundles.cache.set(guess_key(), (guesses + 1, time.time() + pause), timeout=FORGOTTEN)
        return refused(YardtrueError("desk-key-wrong"), 403)
    bundles.cache.delete(guess_key())
    access.enter_desk()
    return redirect(url_for("desk.jobs"), 303)


def refused(error: YardtrueError, status: int, wait: float = 0.0) -> AnyResponse:
    response = make_response(render_template("enter.html", error=error.plain()["error"]), status)
    if wait > 0:
        response.headers["Retry-After"] = f"{wait + 1:.0f}"
    return response


def guessed() -> tuple[int, float]:
    """Wrong keys lately from this address, and until when it has to wait (seconds since 1970)."""
    found: tuple[int, float] | None = bundles.cache.get(guess_key())
    return found or (0, 0.0)


def guess_key() -> str:
    return f"guesses {request.remote_addr}"
