"""Every member of a frame, checked one by one."""

from __future__ import annotations

from server.framing import girders, joists, patch, standing
from server.framing.levels import FAILS, Member
from server.framing.placing import place
from server.model import Beam, Job


def members(job: Job, beams: tuple[Beam, ...]) -> tuple[Member, ...]:
    """All checked members; () where the job says too little, or has no beams yet. Without `fix` (see fixes)."""
    if not joists.checked(job) or not beams:
        return ()
    return (
        *joists.members(job, beams),
        *girders.members(job, beams),
        *standing.members(job, beams),
        *patch.members(job, beams),
    )


def failing(job: Job) -> frozenset[str]:
    """The members of a job's own frame that fail, by id."""
    return frozenset(member.id for member in members(job, place(job)) if member.level == FAILS)
