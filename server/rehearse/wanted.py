"""What a rehearsal is asked for, read from text as it was typed: every fault at once, each at its place."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

from server.errors import Fault, Faults
from server.field import tape
from server.job import choices_text, shown
from server.model import WAYS, Plain
from server.rehearse.walked import EARLY
from server.words import sentence

BOTH = "both"
MOST_YARDS, MOST_SLIPS = 10_000, 0.5
LEAST_SIGMA, MOST_SIGMA = 1 / 64, 1.0
USUAL = {"yards": "100", "seed": "1", "way": BOTH, "slips": "0", "tape": "", "sigma": "", "blocked": "0"}


class RehearsalFaults(Faults):
    """A rehearsal that cannot be made as asked."""

    name = "rehearse-faults"


@dataclass(frozen=True)
class Wanted:
    """What to rehearse; `tape` is text for the job file ("": the job's own), `sigma` inches (None: the tape's own)."""

    yards: int
    seed: int
    ways: tuple[str, ...]
    slips: float
    tape: str
    sigma: float | None
    blocked: int


class Wrong(ValueError):
    """One fault while its place is not yet known."""

    def __init__(self, code: str, **slots: str | float) -> None:
        self.code, self.slots = code, slots
        super().__init__(code)


def read(typed: Mapping[str, str], units: str, most_yards: int = MOST_YARDS) -> Wanted:
    """What was typed as what is wanted; what is left out or empty is as usual. Raises RehearsalFaults."""
    readers: dict[str, Callable[[str], Any]] = {
        "yards": whole(1, most_yards),
        "seed": whole(0, 10**9),
        "way": ways,
        "slips": share,
        "tape": str,
        "sigma": partial(sigma, units=units),
        "blocked": whole(0, EARLY),
    }
    values: Plain = {}
    faults: list[Fault] = []
    for name, reader in readers.items():
        try:
            values[name] = reader(typed.get(name, "").strip() or USUAL[name])
        except Wrong as wrong:
            faults.append(Fault(name, wrong.code, wrong.slots))
    if faults:
        raise RehearsalFaults(faults)
    return Wanted(ways=values.pop("way"), **values)


def whole(least: int, most: int) -> Callable[[str], int]:
    """A reader of whole numbers between two limits."""

    def reader(text: str) -> int:
        if not re.fullmatch(r"-?[0-9]{1,12}", text):
            raise Wrong("rehearse-whole", given=shown(text))
        if not least <= int(text) <= most:
            raise Wrong("whole-range", given=str(int(text)), least=str(least), most=f"{most:,}")
        return int(text)

    return reader


def ways(text: str) -> tuple[str, ...]:
    """One way by its name, or both."""
    name = " ".join(text.lower().split())
    if name == BOTH:
        return WAYS
    if name not in WAYS:
        raise Wrong("not-a-choice", given=shown(text), choices=", ".join((*WAYS, BOTH)))
    return (name,)


def share(text: str) -> float:
    """A share of the readings: 0.02 or 2 %."""
    found = re.fullmatch(r"([0-9]{0,3}(?:\.[0-9]{0,6})?)\s*(%?)", text)
    if not found or not re.search("[0-9]", text):
        raise Wrong("rehearse-share", given=shown(text))
    value = float(found[1]) / (100 if found[2] else 1)
    if value > MOST_SLIPS:
        raise Wrong("rehearse-slips", given=shown(text))
    return value


def sigma(text: str, units: str) -> float | None:
    """Tape text for one sigma of a reading, inches; None when nothing was said."""
    if not text:
        return None
    answer = tape.parse(text, units)
    if answer["status"] == "ask":
        raise Wrong("length-unclear", given=shown(text), choices=choices_text(answer))
    if answer["status"] == "bad":
        slots = {name: shown(slot) for name, slot in answer["say"]["slots"].items()}
        raise Wrong("length-bad", why=sentence(answer["say"]["key"], slots))
    inches = float(answer["inches"])
    if not LEAST_SIGMA <= inches <= MOST_SIGMA:
        raise Wrong("rehearse-sigma", given=inches, least=LEAST_SIGMA, most=MOST_SIGMA)
    return inches
