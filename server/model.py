"""The nouns of a job, frozen. Lengths are inches (float) in the wall frame.

You stand in the yard and face the house. The origin is the wall mark at the left end of the deck; x runs right along
the wall, y out from the wall into the yard. Left, right, toward the house and away from it are the only directions.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

Slot = str | float | Mapping[str, str]
Plain = dict[str, Any]


STRING_BY_STRING, WHOLE_FRAME = WAYS = ("string by string", "whole frame")


@dataclass(frozen=True)
class Message:
    """A sentence by its key, with the values of its named slots (text, inches, or {"word": key})."""

    key: str
    slots: Mapping[str, Slot] = field(default_factory=dict)

    def plain(self) -> Plain:
        return {"key": self.key, "slots": dict(self.slots)}


@dataclass(frozen=True)
class BeamOrder:
    """A beam as the builder asks for it: posts by position, or by count and end cantilever."""

    setback: float
    plies: int
    size: str
    at: tuple[float, ...] = ()
    count: int = 0
    cantilever: float = 0.0


@dataclass(frozen=True)
class Patch:
    """A part of the deck that carries more than the rest: a rectangle from the left edge and the wall, psf live."""

    name: str
    x: float
    y: float
    width: float
    out: float
    load: int


@dataclass(frozen=True)
class Job:
    """What the builder wants, typed and checked.

    species "": not said, so that the frame is not checked; joist_size "", joist_spacing 0: not said. live: psf on the
    whole deck; soil: psf it bears; frost: how deep it reaches; height: deck surface above the ground (0: not said).
    """

    name: str
    units: str
    width: float
    out: float
    attached: bool
    beams: tuple[BeamOrder, ...]
    string_face: str
    tape: float
    crew: int
    room_left: float
    room_right: float
    tolerance: float
    species: str = ""
    edition: str = "IRC 2015"
    joist_size: str = ""
    joist_spacing: int = 0
    live: int = 40
    soil: int = 1500
    frost: float = 0.0
    height: float = 0.0
    post: str = "6x6"
    footing: str = "round"
    fastener: str = "lag screw"
    patches: tuple[Patch, ...] = ()
    way: str = STRING_BY_STRING

    @property
    def open(self) -> bool:
        """Whether frames are still to be found for it: a job without beams asks for them."""
        return not self.beams


@dataclass(frozen=True)
class Beam:
    """A beam in its place: centre line, thickness, and where its posts stand from the deck's left edge."""

    number: int
    setback: float
    thickness: float
    posts: tuple[float, ...]


@dataclass(frozen=True)
class Frame:
    """The beams and posts of a job, with what practice says about them."""

    beams: tuple[Beam, ...]
    findings: tuple[Message, ...] = ()


@dataclass(frozen=True)
class Yard:
    """Everything that stands or is pulled in the yard, as plain data the phone can carry.

    points: name -> {"x", "y", "kind": wall|nail|crossing|flag|ground, ...}; strings: name -> {"from", "to"};
    boards: name -> {"x", "y", "along": [ux, uy], "length"}; triangles, frame, beams: what the steps hang on.
    """

    points: Mapping[str, Plain]
    strings: Mapping[str, Plain]
    boards: Mapping[str, Plain]
    triangles: Mapping[str, Plain]
    frame_check: Plain
    beams: tuple[Plain, ...]
    tape: Plain
    tolerance: float
    findings: tuple[Message, ...] = ()


@dataclass(frozen=True)
class Step:
    """One line of the checklist: an id, what it is about, and its acts in order; `ways` only where not both walk it.

    `after` names what has to be begun first: "strings" that go back up, "marks" that are looked at again.
    """

    id: str
    kind: str
    title: Message
    acts: tuple[Plain, ...]
    ways: tuple[str, ...] = ()
    after: str = ""

    def plain(self) -> Plain:
        step = {"id": self.id, "kind": self.kind, "title": self.title.plain(), "acts": list(self.acts)}
        return step | ({"ways": list(self.ways)} if self.ways else {}) | ({"after": self.after} if self.after else {})


@dataclass(frozen=True)
class Bundle:
    """One offline document and everything a phone needs beside it."""

    document: Plain
    digest: str
    text: str
