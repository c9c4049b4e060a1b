"""Who may what: the desk everything, a crew link its job, nobody the shell and the way in; shut unless opened here."""
from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from flask import Flask, abort, current_app, g, redirect, request, session, url_for
from flask.sessions import SecureCookieSessionInterface

from server.errors import NoSession, NotFound
from server.web import bundles

View = TypeVar("View", bound=Callable[..., Any])
DAYS = 400  # the longest a browser keeps a cookie
MOST_LINKS = 50  # jobs that one phone is in the crew of; the oldest goes
PROGRAMS = ("/api/", "/phone/jobs/")  # whoever asks here reads JSON, not a page


class Sessions(SecureCookieSessionInterface):
    """Flask's signed cookie, told only over TLS once it was given over TLS."""

    def get_cookie_secure(self, app: Flask) -> bool:
        return request.is_secure


def init(app: Flask) -> None:
    app.secret_key = app.extensions["store"].secret()
    app.session_interface = Sessions()
    app.before_request(check_access)


def anyone(view: View) -> View:
    """A view open to everybody: it tells nothing of any job."""
    view.open_to = "anyone"  # type: ignore[attr-defined]
    return view


def crew(view: View) -> View:
    """A view of one job (`job_id`), open to the desk and to who holds that job's link."""
    view.open_to = "crew"  # type: ignore[attr-defined]
    return view


def open_to(view: object) -> str:
    """Whom a view lets in: "anyone", "crew" or "desk"."""
    return str(getattr(view, "open_to", "desk"))


def check_access() -> None:
    """Let nobody past without leave. Raises NoSession, NotFound; sends a page's reader to the way in."""
    view = current_app.view_functions.get(request.endpoint or "")
    if view is None or request.endpoint == "static":
        return
    wanted = open_to(view)
    if wanted == "anyone" or is_desk():
        return
    if wanted == "crew" and (request.view_args or {}).get("job_id") in crew_jobs():
        return
    refuse(wanted)


def refuse(wanted: str) -> None:
    """The same answer whether there is such a job or not."""
    if request.path.startswith("/phone/jobs/"):
        raise NotFound("no-such-document")
    if not is_program():
        abort(redirect(url_for("entry.page"), 303))
    if wanted == "crew" and crew_jobs():
        raise NotFound("no-such-job")
    raise NoSession("no-session")


def is_program() -> bool:
    return request.path.startswith(PROGRAMS)


def is_desk() -> bool:
    """Whether this request comes from the desk."""
    if "desk" not in g:
        held = session.get("desk")
        g.desk = bool(held) and held == bundles.store().desk_generation()
    return bool(g.desk)


def crew_jobs() -> set[str]:
    """The jobs whose live links this session holds."""
    if "crew_jobs" not in g:
        g.crew_jobs = set(bundles.store().live_links(session.get("links", [])).values())
    found: set[str] = g.crew_jobs
    return found


def may_see(job_id: str) -> bool:
    return is_desk() or job_id in crew_jobs()


def enter_desk() -> None:
    """From now on this session is the desk's, as long as the key stays."""
    session.permanent = True
    session["desk"] = bundles.store().desk_generation()


def join_crew(link_id: str) -> None:
    """This session holds one link more; those that opened nothing any longer go."""
    held = bundles.store().live_links(session.get("links", []))
    kept = [one for one in session.get("links", []) if one in held and one != link_id]
    session.permanent = True
    session["links"] = [*kept, link_id][-MOST_LINKS:]
