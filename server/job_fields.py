"""The fields of a job file: tape text, whole numbers, choices; each refuses what it would half-read and says why."""
from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from marshmallow import Schema, ValidationError, fields
from marshmallow.experimental.context import Context

from server import job_checks
from server.field import tape
from server.model import Plain, Slot
from server.words import sentence

FOOT = 12.0
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


def one_of(*allowed: object) -> Callable[[object], None]:
    def check(value: object) -> None:
        if value not in allowed:
            raise wrong("not-a-choice", given=shown(value), choices=", ".join(map(str, allowed)))
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


def whole(check: Callable[[int], None], required: bool = True, **rest: Any) -> fields.Integer:
    """A whole number; one with a default (`load_default`) may be left out."""
    required = required and "load_default" not in rest
    return fields.Integer(strict=True, required=required, validate=check, error_messages=NOT_WHOLE, **rest)


def text(check: Callable[[str], None], **rest: Any) -> fields.String:
    return fields.String(validate=check, error_messages=NOT_TEXT, **rest)


class Rows(fields.List[Any]):
    """A list whose rows keep their places: one given as null stays as an empty row beside its fault."""

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **rest: Any) -> Any:
        try:
            return super()._deserialize(value, attr, data, **rest)
        except ValidationError as error:
            if isinstance(error.valid_data, list):
                read = iter(error.valid_data)
                error.valid_data = [{} if row is None else next(read, {}) for row in value]
            raise


class Beams(Rows):
    """The beams as a list, or the text "choose": frames are to be found."""

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **rest: Any) -> Any:
        if isinstance(value, str):
            if value != job_checks.CHOOSE:
                raise wrong("beams-text", given=shown(value), choose=job_checks.CHOOSE)
            return value
        return super()._deserialize(value, attr, data, **rest)


class Strict(Schema):
    """Unknown keys are named; what is not an object says so."""

    error_messages = {"unknown": "unknown-key", "type": "not-object"}
