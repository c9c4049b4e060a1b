"""document["frame"]: the whole frame as plain data, for phone, desk and terminal."""

from __future__ import annotations

from functools import lru_cache

from server.codes import stock
from server.framing import footings, ledger, lengths, windows
from server.framing.checks import members
from server.framing.fixes import with_fix
from server.framing.joists import checked
from server.framing.levels import FAILS, Member
from server.model import Beam, Frame, Job, Plain


def sheet(job: Job, frame: Frame) -> Plain:
    """Members, footings, concrete, ledger, boards and windows; without a species only boards and the plain limits."""
    known = checked(job) and bool(frame.beams)
    holes = [hole for beam in footings.holes(job, frame.beams) for hole in beam] if known else []
    concrete = sum(hole.concrete for hole in holes)
    bags = stock.bags(concrete)
    return {
        "checked": known,
        "members": [member.plain() for member in fixed(job, frame.beams)],
        "footings": [hole.plain() for hole in holes],
        "concrete": concrete,
        "bags60": bags["60"],
        "bags80": bags["80"],
        "concrete_say": footings.counted(job).plain(),
        "ledger": ledger.sheet(job, frame.beams) if known else None,
        "stock": lengths.sheet(job, frame.beams),
        "limits": windows.limits(job, frame.beams),
    }


@lru_cache(maxsize=1 << 6)
def fixed(job: Job, beams: tuple[Beam, ...]) -> tuple[Member, ...]:
    """Every member, and for each that fails the nearest change that would hold."""
    found = members(job, beams)
    before = frozenset(member.id for member in found if member.level == FAILS)
    return tuple(with_fix(job, member, before) for member in found)
