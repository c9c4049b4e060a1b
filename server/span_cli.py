"""`yardtrue span QUESTION`: one question about a span, one answer, for people or as JSON."""

from __future__ import annotations

import json
from functools import partial
from typing import Any

import click

from server import span_say, spans
from server.errors import YardtrueError
from server.field import tape
from server.model import Plain
from server.refusal import Refusal
from server.span_fields import QUESTIONS, Choice, Field
from server.words import sentence


class Questions(click.Group):
    """The questions there are; an unknown one is answered with all of them."""

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command:
        known = super().get_command(ctx, cmd_name)
        if known is None:
            slots = {"given": cmd_name, "choices": ", ".join(self.commands)}
            raise Refusal(YardtrueError("not-a-choice", slots=slots), as_json=False)
        return known


def option_name(place: str) -> str:
    return f"--{place.replace('_', '-')}"


def option(field: Field) -> click.Option:
    """A field as an option; it stays text here, so that every fault is found by one reader."""
    told = sentence(f"cli.span.option.{field.name}")
    if isinstance(field, Choice):
        told += " " + sentence("cli.span.option.choices", {"choices": ", ".join(field.names)})
    if field.usual:
        told += " " + sentence("cli.span.option.usual", {"usual": field.usual})
    return click.Option([option_name(field.name)], metavar="TEXT", help=told)


def answer(question: str, as_json: bool, **typed: str | None) -> None:
    """Print the answer. Raises Refusal."""
    try:
        found = spans.ask(question, {name: text for name, text in typed.items() if text is not None})
    except YardtrueError as error:
        raise Refusal(error, as_json, option_name) from error
    if as_json:
        click.echo(json.dumps(found, ensure_ascii=False))
        return
    for line in lines(span_say.report(found)):
        click.echo(line)


def lines(report: Plain) -> list[str]:
    """A report for people: each number in feet and inches and in inches, its cell, then the calculation."""
    out = [text(report["asked"])]
    for block in report["blocks"]:
        out += ["", *map(reading_line, block["readings"]), f"  {text(block['source'])}"]
        out += [f"  {text(note)}" for note in block["notes"]]
        out += [f"  {text(block['computed'])}"]
        out += [line for check in block["checks"] for line in check_lines(check)]
    return [*out, "", text(report["standing"])]


def reading_line(reading: Plain) -> str:
    told = sentence("cli.span.unknown") if reading["inches"] is None else length(reading["inches"])
    return f"{text(reading['what'])}: {told}"


def length(inches: float) -> str:
    """A length twice: as the tape shows it, and in inches alone."""
    return f"{tape.show(inches, 'inch')}  ({tape.total(inches, 'inch')})"


def check_lines(check: Plain) -> list[str]:
    mark = "*" if check["governs"] else " "
    first = f"  {mark} {text(check['what'])}: {length(check['inches'])}"
    return [first, f"      {check['formula']}", *([f"      {check['numbers']}"] if check["numbers"] else [])]


def text(message: Plain) -> str:
    return sentence(message["key"], message["slots"])


def command(question: str) -> click.Command:
    """The command of one question, made from its fields."""
    as_json = click.Option(["--json", "as_json"], is_flag=True, help=sentence("cli.json"))
    call: Any = partial(answer, question)
    told = sentence(f"cli.span.{question}")
    params: list[click.Parameter] = [*map(option, QUESTIONS[question]), as_json]
    return click.Command(question, params=params, callback=call, help=told)


span = Questions("span", commands=[command(question) for question in QUESTIONS], help=sentence("cli.span"))
