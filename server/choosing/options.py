"""What the search hands back: frames with the columns they are compared by, and why there is none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from server.field import tape
from server.model import Message, Plain

# What a builder compares, less is better in each; a frame within the tables goes before one that asks for an engineer.
COLUMNS = ("holes", "concrete", "board_feet", "longest", "cantilever", "closest", "engineer")


@dataclass(frozen=True)
class Line:
    """A beam on its posts: `count` posts `bay` apart, `end` past the outer ones, inches; `pieces`: stock of each ply.

    most: the longest bay allowed. areas: deck on an end post and on one between, square feet.
    """

    setback: float
    plies: int
    size: str
    count: int
    bay: float
    end: float
    pieces: tuple[int, ...]
    most: float
    areas: tuple[float, float]
    concrete: float
    shares: Mapping[str, float]

    @property
    def posts(self) -> tuple[float, ...]:
        """Where the posts stand, inches from the left edge."""
        return tuple(self.end + self.bay * post for post in range(self.count))


@dataclass(frozen=True)
class Option:
    """A frame that fits. Concrete in cubic feet, rounded up to a tenth for each beam; longest piece in stock inches;
    board feet of joists and beams as bought.

    shares: how much of its limit each member uses, 0 to 1: joist, joist-cantilever, beam, beam-cantilever, footing (the
    deck on a post by what its footing would still carry). closest: the largest but the footing's, which is made to fit.
    engineer: something in it stands in no table of the edition.
    """

    joist_size: str
    joist_spacing: int
    joist_pieces: tuple[int, ...]
    beams: tuple[Line, ...]
    holes: int
    concrete: float
    board_feet: float
    longest: int
    cantilever: float
    closest: float
    engineer: bool
    shares: Mapping[str, float]
    units: str

    @property
    def columns(self) -> tuple[float, ...]:
        """The values of COLUMNS, in that order."""
        return tuple(float(getattr(self, name)) for name in COLUMNS)

    def spec(self) -> Plain:
        """The keys "joists" and "beams" of a job file, lengths as tape text in the job's units."""
        joists = {"size": self.joist_size, "spacing": self.joist_spacing}
        return {"joists": joists, "beams": [self._beam(line) for line in self.beams]}

    def _beam(self, line: Line) -> Plain:
        posts = {"count": line.count, "cantilever": length_text(line.end, self.units)}
        setback = length_text(line.setback, self.units)
        return {"setback": setback, "plies": line.plies, "size": line.size, "posts": posts}


@dataclass(frozen=True)
class Choice:
    """Frames that no other beats, fewest holes first; where there is none, the limits that block and what opens them.

    tried: how many frames, and rows of beams without their joists yet, were put together and weighed.
    """

    frames: tuple[Option, ...]
    tried: int
    blocked: tuple[Message, ...] = ()


def length_text(inches: float, units: str) -> str:
    """As the tape shows it where that is exact, else decimal inches: a rounded cantilever could pass its limit."""
    short: str = tape.show(inches, units)
    return short if abs(tape.parse(short, units)["inches"] - inches) < 1e-9 else f'{inches:.6f}"'
