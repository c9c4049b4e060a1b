"""The desk's page for one question about a span: a form for each question, its answer above the form."""
from __future__ import annotations

from flask import Blueprint, render_template, request

from server import span_say, spans
from server.errors import YardtrueError
from server.model import Plain
from server.span_fields import QUESTIONS, SpanFaults
from server.web import forms

blueprint = Blueprint("spans", __name__)
# What is said for one question stands in the others too; an edition does not, as its usual one differs.
OWN = {"edition"}


@blueprint.get("/spans")
def page() -> str | tuple[str, int]:
    """Every question as a form; the one that was asked with its answer, or its faults at their fields."""
    asked = request.args.get("question", "")
    if asked and asked not in QUESTIONS:
        raise YardtrueError("not-a-choice", slots={"given": asked, "choices": ", ".join(QUESTIONS)})
    if not asked:
        return show("", None, {})
    typed = request.args.to_dict()
    try:
        return show(asked, span_say.report(spans.ask(asked, typed)), {})
    except SpanFaults as error:
        faults = error.plain()["error"]["faults"]
        return show(asked, None, forms.by_field(faults, typed.keys() | {one["place"] for one in faults})), 400


def show(asked: str, report: Plain | None, faults: dict[str, list[Plain]]) -> str:
    typed = {question: typed_for(question, asked) for question in QUESTIONS}
    return render_template(
        "spans.html", questions=QUESTIONS, asked=asked, report=report, faults=faults, typed=typed,
    )


def typed_for(question: str, asked: str) -> dict[str, str]:
    """What each field of a question shows: what was typed here, or for the same field of the question asked."""
    given = request.args
    return {
        field.name: given[field.name]
        if field.name in given and (question == asked or field.name not in OWN) else field.usual
        for field in QUESTIONS[question]
    }
