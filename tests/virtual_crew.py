"""A crew that knows only the walk's JSON lines, in a yard that only it can see. Its geometry is its own (complex numbers).

Its tape and hands: one reading sigma = hypot(1/16 in., length/120 × 1/32 in.), read to a sixteenth; setting or moving
1/32 in.; nails set by eye 3 in. off, a string back on its nail 1/16 in. Common practice, no source.
"""

from __future__ import annotations

import json
import math
import random
from collections.abc import Callable, Sequence
from typing import Any

from server import talk

EYE, HAND, RESTRUNG = 3.0, 1 / 32, 1 / 16


class Crew:
    """One virtual crew in one yard; `slip(reading)` may change what it writes down."""

    def __init__(self, seed: int, slip: Callable[[float], float] = lambda reading: reading) -> None:
        self.random = random.Random(seed)
        self.slip = slip
        self.points: dict[str, Any] = {}
        self.strings: dict[str, Any] = {}
        self.walls: dict[str, float] = {}
        self.slides: dict[str, float] = {}
        self.runs: dict[str, float] = {}
        self.fixed: dict[str, complex] = {}

    def begin(self, yard: dict[str, Any]) -> None:
        self.points, self.strings = yard["points"], yard["strings"]

    def noise(self, length: float) -> float:
        return self.random.gauss(0, math.hypot(1 / 16, length / 120 / 32))

    def hand(self) -> float:
        return self.random.gauss(0, HAND)

    def at(self, name: str) -> complex:
        """Where a point truly is."""
        point = self.points[name]
        kind = point["kind"]
        if kind == "wall":
            return complex(self.walls.get(name, 0.0), 0.0)
        if kind == "nail":
            return complex(point["x"], point["y"]) + self.slides[name] * complex(*point["board"])
        if kind == "crossing":
            (a, b), (c, d) = (self.ends(string) for string in point["strings"])
            u, v = b - a, d - c
            t = ((c - a).conjugate() * v).imag / (u.conjugate() * v).imag
            return a + t * u
        if kind == "flag":
            a, b = self.ends(point["string"])
            return self.at(point["from"]) + self.runs[name] * (b - a) / abs(b - a)
        return self.fixed[name]

    def ends(self, string: str) -> tuple[complex, complex]:
        return self.at(self.strings[string]["from"]), self.at(self.strings[string]["to"])

    def make(self, name: str) -> None:
        """Set a point as its kind is set."""
        point = self.points[name]
        reading = point.get("reading", 0.0)
        if point["kind"] == "wall":
            start = self.walls[point["from"]] if point["from"] else 0.0
            self.walls[name] = start + reading + (self.noise(reading) + self.hand() if point["from"] else 0.0)
        elif point["kind"] == "nail":
            self.slides[name] = self.random.gauss(0, EYE)
        elif point["kind"] == "flag":
            sign = -1.0 if point.get("back") else 1.0
            self.runs[name] = sign * (reading + self.noise(reading) + self.hand())
        elif point["kind"] == "ground":
            offset = complex(*point.get("offset", [0.0, 0.0]))
            self.fixed[name] = self.at(point["under"]) + offset + complex(self.hand(), self.hand())

    def pull(self, start: str, end: str) -> float:
        length = abs(self.at(start) - self.at(end))
        return self.slip(round((length + self.noise(length)) * 16) / 16)

    def move(self, name: str, by: list[float]) -> None:
        point = self.points[name]
        if point["kind"] == "nail":
            self.slides[name] += (complex(*by) * complex(*point["board"]).conjugate()).real + self.hand()
        else:
            a, b = self.ends(point["string"])
            self.runs[name] += (complex(*by) * ((b - a) / abs(b - a)).conjugate()).real + self.hand()

    def restring(self) -> None:
        """Every string off its nails and on again, each nail's kerf a little elsewhere."""
        for name in self.slides:
            self.slides[name] += self.random.gauss(0, RESTRUNG)

    def answer(self, ask: dict[str, Any]) -> dict[str, Any]:
        if ask["ask"] in ("pull", "again"):
            return {"reading": f'{self.pull(ask["from"], ask["to"])}"'}
        if ask["ask"] == "set":
            if "new" in ask:
                self.points[ask["point"]] = ask["new"]
            self.make(ask["point"])
        if ask["ask"] == "move":
            self.move(ask["point"], ask["by"])
        return {"done": True}

    def off(self, name: str) -> float:
        """How far a mark lies from the plan."""
        return abs(self.at(name) - complex(self.points[name]["x"], self.points[name]["y"]))


class Steady(Crew):
    """A crew whose tape and hands make no error; nails stand on the plan until they are put elsewhere."""

    def noise(self, length: float) -> float:
        return 0.0

    def hand(self) -> float:
        return 0.0

    def make(self, name: str) -> None:
        super().make(name)
        if name in self.slides:
            self.slides[name] = 0.0


def walk_with(
    document: dict[str, Any], crew: Crew, book: Any, way: str = "", after: Sequence[str] = ()
) -> dict[str, Any]:
    """Walk one yard to its end line: {"end", "asks": the lines, "raw": the field's own asks}.

    `way` is chosen first where it is given; `after` is begun at the end, one kind after the other.
    """
    walker = talk.Walker(document, book)
    crew.begin(talk.yard_line(document)["yard"])
    if way:
        walker.keep({"kind": "way", "way": way, "step": "", "act": -1})
    told = walk_on(walker, crew)
    for what in after:
        walker.keep({"kind": "after", "what": what, "step": "", "act": -1})
        if what == "strings":
            crew.restring()
        more = walk_on(walker, crew)
        told = {"end": more["end"], "asks": told["asks"] + more["asks"], "raw": told["raw"] + more["raw"]}
    return told


def walk_on(walker: talk.Walker, crew: Crew) -> dict[str, Any]:
    """Answer until nothing is asked any more. Raises AssertionError when an answer is not taken."""
    talker = talk.converse(walker)
    next(talker)
    asks, raw = [], []
    line = next(talker)
    while "end" not in line:
        assert "error" not in line, line
        asks.append(line)
        raw.append(walker.ask())
        line = talker.send(json.dumps(crew.answer(line)))
    return {"end": line["end"], "asks": asks, "raw": raw}
