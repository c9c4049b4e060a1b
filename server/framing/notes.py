"""What a builder is told beside the members: what was not said, what is not checked, what the ground asks."""

from __future__ import annotations

from collections.abc import Iterator

from server.codes import rules, wood
from server.framing.joists import decking
from server.model import Beam, Job, Message, Slot


def notes(job: Job, beams: tuple[Beam, ...]) -> Iterator[Message]:
    """Cautions for a checked frame, in the order of the work."""
    yield from _ground(job, beams)
    yield from _height(job)
    if decking(job) > 1:
        yield Message("walk.frame.note.decking")
    yield Message("walk.frame.note.alone" if not job.attached else "walk.frame.note.ledger")
    if job.attached and depth(job.joist_size) < depth(rules.rule("ledger_min_size").value):
        slots: dict[str, Slot] = {"joist": job.joist_size, "least": rules.rule("ledger_min_size").value}
        yield Message("walk.frame.note.ledger-size", slots)
    yield Message("walk.frame.note.beyond", {"edition": job.edition})


def depth(size: str) -> float:
    """How deep a board of a nominal size is, inches."""
    return wood.section(size).d


def _ground(job: Job, beams: tuple[Beam, ...]) -> Iterator[Message]:
    least = rules.rule("footing_min_depth").number
    if not job.frost:
        yield Message("walk.frame.note.frost", {"least": least})
    near = 12 * rules.rule("footing_near_house").number
    if beams and beams[0].setback < near:
        yield Message("walk.frame.note.near-house", {"beam": "1", "near": near})


def _height(job: Job) -> Iterator[Message]:
    rule, tall = rules.rule("guard_trigger"), rules.rule("guard_height").number
    if not job.height:
        yield Message("walk.frame.note.height", {"most": rule.number})
    elif job.height > rule.number:
        yield Message("walk.frame.note.guard", {"actual": job.height, "most": rule.number, "guard": tall})
