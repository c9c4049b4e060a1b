"""Decks to check frames on: southern pine joists and beams of our own making, every part of them to be changed."""

from __future__ import annotations

from typing import Any

from server.framing import checks
from server.framing.levels import Member
from server.framing.placing import place
from server.framing.sheet import fixed
from server.model import BeamOrder, Job

BEAM = BeamOrder(setback=138.0, plies=2, size="2x10", count=5, cantilever=12.0)
DECK: dict[str, Any] = {
    "name": "Terrace behind the boathouse",
    "units": "inch",
    "width": 312.0,
    "out": 156.0,
    "attached": True,
    "beams": (BEAM,),
    "string_face": "centre",
    "tape": 1200.0,
    "crew": 2,
    "room_left": 48.0,
    "room_right": 48.0,
    "tolerance": 0.25,
    "species": "southern pine",
    "joist_size": "2x8",
    "joist_spacing": 16,
}


def deck(**changes: Any) -> Job:
    return Job(**{**DECK, **changes})


def beam(setback: float, *at: float, plies: int = 2, size: str = "2x10") -> BeamOrder:
    """A beam by its posts, or on five posts with ends of a foot."""
    if at:
        return BeamOrder(setback, plies, size, at=at)
    return BeamOrder(setback, plies, size, count=5, cantilever=12.0)


def checked(job: Job) -> dict[str, Member]:
    """The members of a job by id, without fixes."""
    return {member.id: member for member in checks.members(job, place(job))}


def mended(job: Job, name: str) -> Member:
    """One member, with the change that would make it hold."""
    return next(member for member in fixed(job, place(job)) if member.id == name)
