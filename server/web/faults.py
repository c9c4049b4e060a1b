"""Errors as people and programs get them: one JSON shape for programs, the same words on a page elsewhere."""
from __future__ import annotations

from flask import Flask, Response, current_app, jsonify, make_response, render_template
from werkzeug.exceptions import HTTPException

from server.errors import YardtrueError
from server.web.access import is_program

CODES = {
    400: "bad-request", 404: "not-found", 405: "wrong-method", 413: "too-large", 415: "not-json", 500: "server-error",
}


def init(app: Flask) -> None:
    app.register_error_handler(YardtrueError, on_error)
    app.register_error_handler(HTTPException, on_http)
    app.register_error_handler(Exception, on_crash)


def on_error(error: YardtrueError) -> Response:
    return answer(error, error.status)


def on_http(error: HTTPException) -> Response:
    """404, 405, 413 and their like in our words; redirects pass."""
    status = error.code or 500
    if status < 400:
        return make_response(error.get_response())
    response = answer(YardtrueError(CODES.get(status, "bad-request" if status < 500 else "server-error")), status)
    allow = dict(error.get_headers()).get("Allow")
    if allow:
        response.headers["Allow"] = allow
    return response


def on_crash(error: Exception) -> Response:
    """Anything unforeseen: logged whole, said in a sentence."""
    current_app.logger.error("unforeseen", exc_info=error)
    return answer(YardtrueError("server-error"), 500)


def answer(error: YardtrueError, status: int) -> Response:
    plain = error.plain()
    if is_program():
        return make_response(jsonify(plain), status)
    if error.code == "unknown-host":  # no page of ours has an address under a name that is not ours
        inside = plain["error"]
        return Response(f"{inside['message']} {inside['fix']}\n", status, mimetype="text/plain")
    return make_response(render_template("error.html", error=plain["error"], status=status), status)
