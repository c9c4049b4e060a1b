"""Sentences, lengths and dates for templates; every word comes from the words file."""
from __future__ import annotations

from datetime import datetime
from typing import Any

from flask import Flask

from server import units
from server.field import tape
from server.model import Plain
from server.words import sentence

ROWS = {"beams": "beam", "patches": "patch"}  # what comes in rows, and what the words call one of them


def init(app: Flask) -> None:
    app.jinja_env.globals |= {"t": desk, "said": sentence, "field_name": field_name, "field_hint": field_hint}
    app.jinja_env.filters |= {"say": say, "length_text": length_text, "total_text": total_text, "day": day}
    app.jinja_env.filters |= {"area_text": units.floor, "volume_text": units.volume}
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True


def desk(key: str, **slots: Any) -> str:
    """A sentence of the desk."""
    return sentence(f"desk.{key}", {name: str(value) for name, value in slots.items()})


def field_name(name: str, short: bool = False, place: str = "") -> str:
    """What a field of the form is called: "Setback", or in a list of faults "Beam 2, setback".

    A patch without fields of its own is called by the `place` of its fault.
    """
    parts = (place if name == "patches" and place.count(".") > 1 else name).split(".")
    if parts[0] not in ROWS or len(parts) == 1:
        return desk(f"field.{name}")
    row = ROWS[parts[0]]
    name = desk(f"field.{row}." + ".".join(parts[2:]))
    return name if short else desk(f"field.of-{row}", number=int(parts[1]) + 1, name=name[:1].lower() + name[1:])


def field_hint(name: str) -> str:
    """The small line under a field's name."""
    parts = name.split(".")
    return desk(f"hint.{ROWS[parts[0]]}." + ".".join(parts[2:]) if parts[0] in ROWS else f"hint.{name}")


def say(message: Plain, units: str) -> str:
    return sentence(message["key"], message.get("slots"), units)


def length_text(inches: float, units: str) -> str:
    return str(tape.show(inches, units))


def total_text(inches: float, units: str) -> str:
    return str(tape.total(inches, units))


def day(moment: str) -> str:
    """An ISO time as its date in UTC: 2026-05-01."""
    return datetime.fromisoformat(moment).date().isoformat()
