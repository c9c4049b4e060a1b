"""Readings that slipped, for tests: the documents they are taken in, and what is named of them."""

from __future__ import annotations

from typing import Any

from server.field import naming, say
from server.words import words
from tests.demo import document

MM = 25.4
DECK = document()  # 26 x 13 ft, beam string on the centre, beam of two boards (3 in.), posts 6x6, legs 25 and 15 ft
METRIC = document("pear-tree-platform")  # 4.8 x 3.6 m, legs 4.5 and 4 m, beams at 500 and 3100 mm
FACED = document(string_face="house-face")  # the string 1 1/2 in. nearer the house than the beam's centre
JOBS = {"deck": DECK, "metric": METRIC, "faced": FACED}


def named(doc: dict[str, Any], start: str, end: str, read: float, expected: float, **rest: Any) -> list[dict[str, Any]]:
    reading = {"from": start, "to": end, "inches": read, **rest.pop("more", {})}
    return naming.slips(doc, reading, expected, rest.pop("doubt", 0.05))


def texts(doc: dict[str, Any], found: list[dict[str, Any]]) -> list[str]:
    return [say.sentence(words(), message, doc["job"]["units"]) for message in found]


def kinds(found: list[dict[str, Any]]) -> list[str]:
    return [message["key"].removeprefix("walk.slip.") for message in found]
