"""A job file, read whole: every fault at once, each with its place; and the same job written back as a file.

Lengths in a file are tape text ("11' 6\\"", "3180 mm"); inside, they are inches.
"""
from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from marshmallow import Schema, ValidationError, fields
from marshmallow.experimental.context import Context

from server import job_checks
from server.errors import Fault, JobFaults
from server.field import tape
from server.model import BeamOrder, Job, Plain, Slot
from server.words import sentence

UNITS = ("inch", "millimetre")
SIZES = ("2x6", "2x8", "2x10", "2x12")
STRING_FACES = ("centre", "house-face", "yard-face")
SCHEMA_NUMBER = 1
FOOT = 12.0
MOST_POSTS = 24
Messages = dict[str, str | list[Any] | dict[Any, Any]]
MISSING: Messages = {"required": "missing", "null": "missing"}
NOT_LIST: Messages = MISSING | {"invalid": "not-list"}
NOT_WHOLE: Messages = MISSING | {"invalid": "not-whole", "too_large": "not-whole"}
NOT_TEXT: Messages = MISSING | {"invalid": "not-text", "invalid_utf8": "not-text"}


@dataclass(frozen=True)
class Wrong:
    """A fault that does not know its place yet."""

    code: str
    slots: Mapping[str, Slot] = field(default_factory=dict)


def wrong(code: str, **slots: Slot) -> ValidationError:
    return ValidationError([Wrong(code, slots)])


def shown(value: object) -> str:
    """What was given, short enough for a sentence and fit to be written as UTF-8."""
    text = value if isinstance(value, str) else json.dumps(value, default=str)
    text = text.encode("utf-8", "replace").decode("utf-8")
    return text if len(text) <= 40 else text[:39] + "…"


class Length(fields.Field[float]):
    """Tape text to inches, between two limits; a bare number asks what was meant."""

    def __init__(self, least: float = 0.0, most: float = 100 * FOOT, short: str = "length-short", **rest: Any) -> None:
        super().__init__(error_messages=MISSING, **rest)
        self.least, self.most, self.short = least, most, short

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **rest: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            raise wrong("length-type", given=shown(value))
        if not isinstance(value, str):
            raise wrong("bare-number", given=shown(value), choices=choices_text(tape.parse(shown(value), units_now())))
        inches = self._inches(value)
        if inches < self.least:
            raise wrong(self.short, given=inches, least=self.least)
        if inches > self.most:
            raise wrong("length-long", given=inches, most=self.most)
        return inches

    @staticmethod
    def _inches(text: str) -> float:
        answer = tape.parse(text, units_now())
        if answer["status"] == "ask":
            raise wrong("length-unclear", given=shown(text), choices=choices_text(answer))
        if answer["status"] == "bad":
            say = answer["say"]
            why = sentence(say["key"], {name: shown(slot) for name, slot in say["slots"].items()})
            raise wrong("length-bad", why=why, place=str(answer["at"] + 1))
        return float(answer["inches"])


def units_now() -> str:
    """The units of the job being read."""
    return str(Context.get("inch"))


def choices_text(answer: Plain) -> str:
    """The things a bare number may have meant, as one text."""
    default = [{"text": tape.show(126, units_now())}]
    return ", ".join(choice["text"] for choice in answer.get("choices", default))


class Truth(fields.Field[bool]):
    """true or false and nothing else."""

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **rest: Any) -> bool:
        if not isinstance(value, bool):
            raise wrong("not-true-false", given=shown(value))
        return value


def one_of(*allowed: str) -> Callable[[str], None]:
    def check(value: str) -> None:
        if value not in allowed:
            raise wrong("not-a-choice", given=shown(value), choices=", ".join(allowed))
    return check


def between(least: int, most: int, code: str = "whole-range") -> Callable[[int], None]:
    def check(value: int) -> None:
        if not least <= value <= most:
            raise wrong(code, given=shown(value), least=str(least), most=str(most))
    return check


def readable_name(value: str) -> None:
    """A name a person can see: 1 to 80 characters, nothing that breaks a line or a terminal."""
    fault = job_checks.name_fault(value)
    if fault:
        raise wrong(fault, given=shown(value), length=str(len(value)))


def whole(check: Callable[[int], None], required: bool = True) -> fields.Integer:
    return fields.Integer(strict=True, required=required, validate=check, error_messages=NOT_WHOLE)


def text(check: Callable[[str], None], **rest: Any) -> fields.String:
    return fields.String(validate=check, error_messages=NOT_TEXT, **rest)


class Strict(Schema):
    """Unknown keys are named; what is not an object says so."""

    error_messages = {"unknown": "unknown-key", "type": "not-object"}


class PostsSchema(Strict):
    """Posts by position from the left edge, or by count and end cantilever."""

    at = fields.List(Length(most=100 * FOOT), error_messages=NOT_LIST)
    count = whole(between(2, MOST_POSTS, "post-count"), required=False)
    cantilever = Length(most=50 * FOOT)


class BeamSchema(Strict):
    """One beam: house wall to its centre line, its plies and size, its posts."""

    setback = Length(required=True)
    plies = whole(between(1, 3))
    size = text(one_of(*SIZES), required=True)
    posts = fields.Nested(PostsSchema, required=True, error_messages=MISSING)


class JobSchema(Strict):
    """The whole job file."""

    schema = whole(between(SCHEMA_NUMBER, SCHEMA_NUMBER, "schema-number"))
    name = text(readable_name, required=True)
    units = text(one_of(*UNITS), required=True)
    width = Length(least=4 * FOOT, required=True)
    out = Length(least=4 * FOOT, required=True)
    attached = Truth(required=True, error_messages=MISSING)
    beams = fields.List(fields.Nested(BeamSchema, error_messages=MISSING), required=True, error_messages=NOT_LIST)
    string_face = text(one_of(*STRING_FACES), load_default="centre")
    tape = Length(least=10 * FOOT, most=330 * FOOT, short="tape-short", required=True)
    crew = whole(between(1, 2))
    room_left = Length(least=2 * FOOT, short="room-short", load_default=4 * FOOT)
    room_right = Length(least=2 * FOOT, short="room-short", load_default=4 * FOOT)
    tolerance = Length(least=1 / 16, most=2.0, load_default=0.25)


def read(spec: object) -> Job:
    """A job from a parsed job file. Raises JobFaults with every fault."""
    units = units_of(spec)
    with Context(units):
        try:
            data, faults = JobSchema().load(spec), []  # type: ignore[arg-type]
        except ValidationError as error:
            data = error.valid_data if isinstance(error.valid_data, dict) else {}
            faults = list(flatten(error.messages))
    faults.extend(job_checks.check(data, {fault.place for fault in faults}))
    faults.sort(key=lambda fault: fault.place if fault.code == "unknown-key" else "")
    if faults:
        raise JobFaults(faults)
    return build(data)


def units_of(spec: object) -> str:
    """The units a job file names, "inch" when it names none; never raises."""
    named = spec.get("units") if isinstance(spec, dict) else None
    return named if named in UNITS else "inch"


def flatten(messages: Any, place: tuple[str, ...] = ()) -> Iterator[Fault]:
    """marshmallow's tree of messages as faults with dotted places, in the order found."""
    if isinstance(messages, dict):
        for key, below in messages.items():
            yield from flatten(below, place if key == "_schema" else (*place, shown(str(key))))
        return
    for message in messages if isinstance(messages, list) else [messages]:
        if isinstance(message, Wrong):
            yield Fault(".".join(place), message.code, message.slots)
        else:
            yield Fault(".".join(place), str(message), {"key": place[-1] if place else ""})


def build(data: Plain) -> Job:
    """The frozen job; beams from the house outward, posts from left to right."""
    beams = sorted((beam_order(beam) for beam in data["beams"]), key=lambda beam: beam.setback)
    rest = {key: value for key, value in data.items() if key not in ("schema", "beams")}
    return Job(beams=tuple(beams), **rest)


def beam_order(beam: Plain) -> BeamOrder:
    posts = beam["posts"]
    return BeamOrder(
        setback=beam["setback"], plies=beam["plies"], size=beam["size"], at=tuple(sorted(posts.get("at", ()))),
        count=posts.get("count", 0), cantilever=posts.get("cantilever", 0.0),
    )


def write(job: Job) -> Plain:
    """The job file of a job; `read` gives the same job back (lengths to a millionth of an inch)."""
    def length(inches: float) -> str:
        return length_text(inches, job.units)
    return {
        "schema": SCHEMA_NUMBER, "name": job.name, "units": job.units,
        "width": length(job.width), "out": length(job.out), "attached": job.attached,
        "beams": [beam_file(beam, length) for beam in job.beams],
        "string_face": job.string_face, "tape": length(job.tape), "crew": job.crew,
        "room_left": length(job.room_left), "room_right": length(job.room_right), "tolerance": length(job.tolerance),
    }


def beam_file(beam: BeamOrder, length: Callable[[float], str]) -> Plain:
    if beam.at:
        posts: Plain = {"at": [length(position) for position in beam.at]}
    else:
        posts = {"count": beam.count, "cantilever": length(beam.cantilever)}
    return {"setback": length(beam.setback), "plies": beam.plies, "size": beam.size, "posts": posts}


def length_text(inches: float, units: str) -> str:
    """As the tape shows it where that is exact, else decimal inches."""
    short: str = tape.show(inches, units)
    if abs(tape.parse(short, units)["inches"] - inches) < 1e-9:
        return short
    return f'{inches:.6f}"'


def read_text(content: str) -> Job:
    """A job from the text of a job file. Raises JobFaults, with line and column when the JSON itself is broken."""
    return read(parse_text(content))


def parse_text(content: str) -> Any:
    """The parsed JSON of a job file's text; keys given twice, NaN and broken JSON are JobFaults."""
    try:
        return json.loads(content, object_pairs_hook=unique_keys, parse_constant=no_constant)
    except json.JSONDecodeError as error:
        slots = {"line": str(error.lineno), "column": str(error.colno)}
        raise JobFaults([Fault("", "broken-json", slots)]) from error
    except (RecursionError, ValueError) as error:
        if isinstance(error, JobFaults):
            raise
        raise JobFaults([Fault("", "json-too-deep")]) from error


def unique_keys(pairs: list[tuple[str, Any]]) -> Plain:
    """An object whose keys each come once: a second value would silently win."""
    seen: Plain = {}
    for key, value in pairs:
        if key in seen:
            raise JobFaults([Fault(shown(key), "key-twice", {"key": shown(key)})])
        seen[key] = value
    return seen


def no_constant(name: str) -> Any:
    raise JobFaults([Fault("", "json-constant", {"given": name})])
