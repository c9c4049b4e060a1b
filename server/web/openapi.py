"""The API described as OpenAPI 3.1: made from its routes, what each says of itself, and the schemas of its bodies."""
from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any, TypeVar

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from flask import Blueprint, Response, current_app, jsonify
from werkzeug.routing import Rule

from server.api_schema import Content
from server.job_schema import json_schema
from server.model import Plain
from server.web import access
from server.words import sentence

blueprint = Blueprint("openapi", __name__)
View = TypeVar("View", bound=Callable[..., Any])
VERSION = "1"
PREFIX = "/api/"
JOB = "JobFile"
ALWAYS = (400, 403, 503)  # a broken request, another site's, a database that is busy


@dataclass(frozen=True)
class Described:
    """What an address of the API takes, gives, and may refuse."""

    key: str
    answers: Mapping[int, Content | None]
    body: Content | None = None
    refuses: tuple[int, ...] = ()


def described(
    key: str, answers: Mapping[int, Content | None], body: Content | None = None, refuses: tuple[int, ...] = ()
) -> Callable[[View], View]:
    """Say of a view what it takes and gives; its sentence is `api.KEY`."""
    def say(view: View) -> View:
        view.described = Described(key, answers, body, refuses)  # type: ignore[attr-defined]
        return view
    return say


@blueprint.get("/api/openapi.json")
@access.anyone
@described("document", {200: "Document"})
def document() -> Response:
    """This description itself."""
    return jsonify(description())


def description() -> Plain:
    """The whole OpenAPI document. Raises AttributeError for an address of the API that says nothing of itself."""
    spec = APISpec(
        title=sentence("api.title"), version=VERSION, openapi_version="3.1.0", plugins=[MarshmallowPlugin()],
        info={"description": sentence("api.about")},
    )
    spec.components.security_scheme("session", {"type": "apiKey", "in": "cookie", "name": "yardtrue"})
    spec.components.schema(JOB, {key: value for key, value in json_schema().items() if key != "$schema"})
    spec.components.schema("Document", {"type": "object", "required": ["openapi", "paths"]})
    for rule in current_app.url_map.iter_rules():
        if rule.rule.startswith(PREFIX):
            spec.path(path=re.sub(r"<(\w+)>", r"{\1}", rule.rule), operations=operations(rule))
    made: Plain = spec.to_dict()
    return made


def operations(rule: Rule) -> Plain:
    """The methods of an address, but those that Flask adds to each."""
    methods = sorted((rule.methods or set()) - {"HEAD", "OPTIONS"})
    return {method.lower(): operation(rule, current_app.view_functions[rule.endpoint]) for method in methods}


def operation(rule: Rule, view: Any) -> Plain:
    about: Described = view.described
    refused = {*about.refuses, *ALWAYS, *((413, 415) if about.body else ()), *shut_by(view)}
    made: Plain = {
        "operationId": rule.endpoint.replace(".", "_"),
        "summary": sentence(f"api.{about.key}"),
        "responses": {str(status): answer(status, content) for status, content in about.answers.items()}
        | {str(status): answer(status, "Error") for status in sorted(refused)},
    }
    if about.body:
        made["requestBody"] = {"required": True, "content": {"application/json": {"schema": about.body}}}
    if rule.arguments:
        named = {"in": "path", "required": True, "schema": {"type": "string"}}
        made["parameters"] = [{"name": name, **named} for name in sorted(rule.arguments)]
    return made | ({} if access.open_to(view) == "anyone" else {"security": [{"session": []}]})


def shut_by(view: Any) -> tuple[int, ...]:
    """What a visitor without leave is told."""
    return {"anyone": (), "crew": (401, 404), "desk": (401,)}[access.open_to(view)]


def answer(status: int, content: Content | None) -> Plain:
    """A status with what comes along."""
    made: Plain = {"description": HTTPStatus(status).phrase}
    return made | ({"content": {"application/json": {"schema": content}}} if content else {})
