"""Where the points of one yard truly stand, and how each place hangs on what hands and tapes did there.

Its geometry is its own (complex numbers, x + iy in the wall frame), so that the field math is judged by another.
Whatever went wrong by hand is one `slip of the hand` with a name: a nail's or mark's own ("NL", "P1-2"), a move's
("~3"), a mark's plumbing ("G1-1:x", "G1-1:y"). Inches; time is counted in moves made, as the field counts it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from server.model import Plain

Drift = dict[str, complex]  # how a place moves, inches for an inch of each error it hangs on


@dataclass(frozen=True)
class Spot:
    """A place, and how it drifts with each error that it hangs on."""

    at: complex
    drift: Drift


def mixed(parts: Iterable[tuple[float, Mapping[str, complex]]]) -> Drift:
    """The sum of drifts, each with its weight."""
    found: Drift = {}
    for weight, drift in parts:
        for name, value in drift.items():
            found[name] = found.get(name, 0j) + weight * value
    return found


def cross(a: complex, b: complex) -> float:
    """The cross product of two vectors."""
    return a.real * b.imag - a.imag * b.real


def dot(a: complex, b: complex) -> float:
    """The dot product of two vectors."""
    return a.real * b.real + a.imag * b.imag


@dataclass
class Ground:
    """One yard with its history: errors by name with the sigma they were drawn with, moves asked, and births."""

    points: dict[str, Plain]
    strings: dict[str, Plain]
    errors: dict[str, float] = field(default_factory=dict)
    sigmas: dict[str, float] = field(default_factory=dict)
    moves: list[tuple[str, float]] = field(default_factory=list)
    born: dict[str, int] = field(default_factory=dict)

    def put(self, name: str, error: float, sigma: float) -> None:
        self.errors[name], self.sigmas[name] = error, sigma

    def spot(self, name: str, time: int | None = None) -> Spot:
        """A point at a time; the present when none is given."""
        now = len(self.moves) if time is None else time
        point = self.points[name]
        if point["kind"] == "wall":
            return self._wall(name, point, now)
        if point["kind"] == "nail":
            off, drift = self._along(name, now, complex(*point["board"]))
            return Spot(complex(point["x"], point["y"]) + off, drift)
        if point["kind"] == "crossing":
            return self._crossing(point["strings"][0], point["strings"][1], now)
        if point["kind"] == "flag":
            return self._flag(name, point, now)
        return self._plumbed(name, point)

    def _along(self, name: str, now: int, way: complex) -> tuple[complex, Drift]:
        """How far a nail or mark stands off its plan along its way, and its own drift."""
        off, drift = self.errors[name], {name: way}
        for number, (moved, amount) in enumerate(self.moves[:now]):
            if moved == name:
                off += amount + self.errors[f"~{number}"]
                drift[f"~{number}"] = way
        return off * way, drift

    def _wall(self, name: str, point: Plain, now: int) -> Spot:
        if point["from"] is None:
            return Spot(complex(point["x"], point["y"]), {})
        start = self.spot(point["from"], now)
        off, drift = self._along(name, now, 1 + 0j)
        return Spot(start.at + point["reading"] + off, mixed([(1, start.drift), (1, drift)]))

    def ends(self, string: str, now: int) -> tuple[Spot, Spot]:
        ends = self.strings[string]
        return self.spot(ends["from"], now), self.spot(ends["to"], now)

    def _crossing(self, first: str, second: str, now: int) -> Spot:
        """Where two strings cross: it stays on both lines, however their ends drift."""
        (a, b), (c, d) = self.ends(first, now), self.ends(second, now)
        u, v = b.at - a.at, d.at - c.at
        share, other = cross(c.at - a.at, v) / cross(u, v), cross(c.at - a.at, u) / cross(u, v)
        own = mixed([(1 - share, a.drift), (share, b.drift)])
        apart = mixed([(1 - other, c.drift), (other, d.drift), (-1, own)])
        slid = {name: u * cross(v, gap) / cross(v, u) for name, gap in apart.items()}
        return Spot(a.at + share * u, mixed([(1, own), (1, slid)]))

    def _flag(self, name: str, point: Plain, now: int) -> Spot:
        """A flag is pinned where its reading ended when it was set, and keeps its distance from the string's start."""
        sign = -1 if point.get("back") else 1
        off, own = self._along(name, now, 1 + 0j)
        run, runs = self._reach(point, self.born.get(name, now))
        run += sign * (point["reading"] + off.real)
        runs = mixed([(1, runs), (sign, own)])
        a, b = self.ends(point["string"], now)
        length = abs(b.at - a.at)
        way = (b.at - a.at) / length
        turned = mixed([(1, b.drift), (-1, a.drift)])
        swung = {one: 1j * way * cross(way, value) for one, value in turned.items()}
        along = {one: value * way for one, value in runs.items()}
        return Spot(a.at + run * way, mixed([(1, a.drift), (1, along), (run / length, swung)]))

    def _reach(self, point: Plain, time: int) -> tuple[float, Drift]:
        """From a string's start to the point a flag was read from, when it was set."""
        first = self.strings[point["string"]]["from"]
        if point["from"] == first:
            return 0.0, {}
        a, b = self.spot(first, time), self.spot(point["from"], time)
        way = (b.at - a.at) / abs(b.at - a.at)
        apart = mixed([(1, b.drift), (-1, a.drift)])
        return abs(b.at - a.at), {name: complex(dot(way, gap)) for name, gap in apart.items()}

    def _plumbed(self, name: str, point: Plain) -> Spot:
        """A mark on the ground stays where its flag hung when it was plumbed down."""
        under = self.spot(point["under"], self.born[name])
        along, out = f"{name}:x", f"{name}:y"
        aside = complex(*point.get("offset", [0.0, 0.0])) + complex(self.errors[along], self.errors[out])
        return Spot(under.at + aside, mixed([(1, under.drift), (1, {along: 1 + 0j, out: 1j})]))

    def way(self, name: str) -> complex:
        """The unit vector along which a nail or mark is moved now."""
        point = self.points[name]
        if point["kind"] == "nail":
            return complex(*point["board"])
        if point["kind"] == "wall":
            return 1 + 0j
        a, b = self.ends(point["string"], len(self.moves))
        way = (b.at - a.at) / abs(b.at - a.at)
        return -way if point.get("back") else way

    def off(self, name: str) -> float:
        """How far a point lies from its plan, inches."""
        return abs(self.spot(name).at - complex(self.points[name]["x"], self.points[name]["y"]))
