"""The frame a job asks for, with what practice and the tables say about it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import cast

from server.framing.joists import checked
from server.framing.levels import FAILS, HOLDS, Member
from server.framing.notes import notes
from server.framing.placing import SLACK, ends, place
from server.framing.sheet import fixed
from server.model import Beam, Frame, Job, Message, Slot

CANTILEVER_SHARE = 0.25


def frame(job: Job) -> Frame:
    """The frame a job asks for: every beam with its posts, nearest the house first."""
    beams = place(job)
    if checked(job):
        members = fixed(job, beams)
        told = [finding(member) for member in members if member.level != HOLDS]
        return Frame(beams, (*told, *notes(job, beams)))
    findings = [finding for beam in beams for finding in _cantilevers(beam, job.width)]
    return Frame(beams, (*findings, Message("walk.finding.tables")))


def broken(job: Job) -> tuple[Message, ...]:
    """The members of a job's frame that do not hold, as sentences."""
    return tuple(finding(member) for member in fixed(job, place(job)) if member.level == FAILS)


def finding(member: Member) -> Message:
    """A member as a sentence for people: what it does, how it stands, and the change that would hold."""
    slots: dict[str, Slot] = {"member": _nested(member.say)}
    if member.level != FAILS:
        return Message(f"walk.frame.level.{member.level}", slots)
    if member.fix is None:
        return Message("walk.frame.level.fails-none", slots)
    return Message("walk.frame.level.fails", {**slots, "fix": _nested(member.fix)})


def _nested(message: Message) -> Slot:
    """A message as the slot of another."""
    return cast(Slot, {"word": message.key, "slots": dict(message.slots)})


def _cantilevers(beam: Beam, width: float) -> Iterator[Message]:
    """A beam end runs past its last post by at most a quarter of the span beside it.

    IRC 2015 R507.5 (from memory), each end on its own actual span.
    """
    for side, past, span in ends(beam, width):
        if past > CANTILEVER_SHARE * span + SLACK:
            slots: dict[str, Slot] = {
                "beam": str(beam.number),
                "side": {"word": f"walk.side.{side}"},
                "past": past,
                "most": CANTILEVER_SHARE * span,
            }
            yield Message("walk.finding.cantilever", slots)
