"""The questions about spans and their fields: what was typed, read whole, with every fault at its field.

Lengths become inches, areas square feet, loads and soil pounds a square foot.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from server.codes import tables
from server.errors import Fault, Faults
from server.field import tape
from server.job_fields import choices_text, shown
from server.model import Plain, Slot
from server.words import sentence

BEAMS = tuple(f"{plies}-{size}" for plies in (1, 2, 3) for size in tables.SIZES)
NUMBER = re.compile(r"(?P<number>[0-9]{1,7}|[0-9]{1,3}(?:,[0-9]{3})+|[0-9]{1,7}\.[0-9]{1,4})\s*(?P<unit>[a-z .]*)")


class SpanFaults(Faults):
    """A question that cannot be answered as asked."""

    name = "span-faults"


@dataclass(frozen=True)
class Field:
    """What one field of a question takes; `usual` stands in when it is left empty, "" for none."""

    name: str
    usual: str = ""

    def fault(self, code: str, **slots: Slot) -> SpanFaults:
        return SpanFaults([Fault(self.name, code, slots)])

    def missing(self) -> SpanFaults:
        return self.fault("span-missing", example={"word": f"cli.span.example.{self.name}"})


@dataclass(frozen=True)
class Choice(Field):
    """One of a few names; capitals, spaces and × are forgiven, nothing else."""

    names: tuple[str, ...] = ()

    def missing(self) -> SpanFaults:
        return self.fault("span-missing-choice", choices=", ".join(self.names))

    def read(self, text: str) -> str:
        """The name as it is written here. Raises SpanFaults listing every choice."""
        for name in self.names:
            if plain_name(name) == plain_name(text):
                return name
        raise self.fault("not-a-choice", given=shown(text), choices=", ".join(self.names))


@dataclass(frozen=True)
class Number(Field):
    """A plain number of one unit between two limits; the unit may be written behind it."""

    least: float = 0.0
    most: float = 0.0
    units: tuple[str, ...] = ()

    def read(self, text: str) -> float:
        """The number. Raises SpanFaults when it is none, carries another unit, or lies outside."""
        limits = {"least": f"{self.least:,.0f}", "most": f"{self.most:,.0f}", "unit": self.units[0]}
        found = NUMBER.fullmatch(text.strip().lower())
        if not found or " ".join(found["unit"].split()) not in ("", *self.units):
            raise self.fault("span-number", given=shown(text), **limits)
        value = float(found["number"].replace(",", ""))
        if not self.least <= value <= self.most:
            raise self.fault("span-range", given=f"{value:,g}", **limits)
        return value


@dataclass(frozen=True)
class Length(Field):
    """Tape text between two limits, inches; a bare number is a question."""

    least: float = 0.0
    most: float = 0.0

    def read(self, text: str) -> float:
        """Inches. Raises SpanFaults saying what the text may have meant, or where it cannot be read."""
        answer = tape.parse(text, "inch")
        if answer["status"] == "ask":
            raise self.fault("length-unclear", given=shown(text), choices=choices_text(answer))
        if answer["status"] == "bad":
            slots = {name: shown(slot) for name, slot in answer["say"]["slots"].items()}
            raise self.fault("length-bad", why=sentence(answer["say"]["key"], slots))
        inches = float(answer["inches"])
        if inches < self.least:
            raise self.fault("length-short", given=inches, least=self.least)
        if inches > self.most:
            raise self.fault("length-long", given=inches, most=self.most)
        return inches


SPECIES = Choice("species", names=tables.SPECIES)
SIZE = Choice("size", names=tables.SIZES)
SPACING = Choice("spacing", names=tuple(str(one) for one in tables.SPACINGS))
JOIST_SPAN = Length("joist_span", least=24.0, most=360.0)
AREA = Number("area", least=1.0, most=2000.0, units=("sq ft", "square feet", "sqft"))
LIVE = Number("live", usual="40", least=10.0, most=1000.0, units=("psf", "lb/sq ft"))
SOIL = Number("soil", usual="1500", least=250.0, most=12000.0, units=("psf", "lb/sq ft"))


def edition(usual: str) -> Choice:
    """The edition of the code, with the one taken when none is said."""
    return Choice("edition", usual, tables.EDITIONS)


# Footings and posts have tables only in later editions, so another one is usual there.
QUESTIONS: dict[str, tuple[Choice | Number | Length, ...]] = {
    "joist": (SPECIES, SIZE, SPACING, edition("IRC 2015"), LIVE),
    "beam": (SPECIES, Choice("beam", names=BEAMS), JOIST_SPAN, edition("IRC 2015"), LIVE),
    "footing": (AREA, SOIL, edition("IRC 2021"), LIVE),
    "post": (SPECIES, Choice("post", names=tables.POSTS), AREA, edition("IRC 2021"), LIVE),
    "ledger": (Choice("fastener", names=tables.FASTENERS), JOIST_SPAN, edition("IRC 2015"), LIVE),
}


def plain_name(text: str) -> str:
    """A name without what fingers vary: capitals, × for x, spaces around either, an inch mark behind."""
    text = re.sub(r"\s+", " ", text.strip().lower().replace("×", "x"))
    return re.sub(r"(?<=\d)\s*(x|-)\s*(?=\d)", r"\1", re.sub(r'(?<=\d)\s*(?:"|in\.?)$', "", text))


def read(question: str, typed: Mapping[str, str]) -> Plain:
    """Every field of a question as its value. Raises SpanFaults with all that is wrong at once."""
    values: Plain = {}
    faults: list[Fault] = []
    for field in QUESTIONS[question]:
        text = typed.get(field.name, "").strip() or field.usual
        try:
            if not text:
                raise field.missing()
            values[field.name] = field.read(text)
        except SpanFaults as error:
            faults += error.faults
    if faults:
        raise SpanFaults(faults)
    return values
