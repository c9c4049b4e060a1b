"""What stands or hangs, checked: posts, footings, the ledger, and where a guard is required."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from server.codes import posts, rules, wood
from server.field import tape
from server.framing import footings, ledger
from server.framing.footings import Hole
from server.framing.joists import decking
from server.framing.levels import FAILS, WORST_FIRST, Limit, Member, level
from server.framing.placing import bays
from server.framing.quantities import deck_text, pounds, pressure
from server.model import Beam, Job, Message, Slot

DCA = "DCA 6-2012"


def members(job: Job, beams: tuple[Beam, ...]) -> Iterator[Member]:
    """For each beam its worst post (where the height is said) and largest footing; the ledger; the guard."""
    for index, (beam, holes) in enumerate(zip(beams, footings.holes(job, beams), strict=True)):
        if job.height or slim(job):
            yield post(job, beam, job.beams[index].size, holes)
        yield _footing(job, beam, holes)
    if job.attached and beams:
        yield _ledger(job, beams)
    if job.height:
        yield _guard(job)


def post_length(job: Job, size: str, hole: Hole) -> float:
    """From the footing to the beam, inches: the height less decking, joist and beam.

    A round footing comes up to the ground; a square pad lies at its depth and the post goes down to it.
    """
    above = job.height - decking(job) - wood.section(job.joist_size).d - wood.section(size).d
    return above + (hole.depth - hole.thickness if hole.shape == "square" else 0.0)


def least_post() -> rules.Rule:
    return rules.rule("post_min_size_dca6")


def slim(job: Job) -> bool:
    """Whether the posts are smaller than their edition asks: 6x6 at least by DCA 6-2012 Table 4 note 5."""
    return job.edition == DCA and wood.section(job.post).b < wood.section(least_post().value).b


def post(job: Job, beam: Beam, size: str, holes: Sequence[Hole]) -> Member:
    """The most loaded post of a beam: a post's height by the deck on it; 0 where the deck's height is not said."""
    hole = max(holes, key=lambda hole: hole.as_area)
    actual = post_length(job, size, hole) if job.height else 0.0
    answer = posts.height(job.species, job.post, round(hole.as_area, 6), job.edition, job.live)
    source = None if hole.as_area > max(hole.area, footings.LEAST_AREA) else answer.source
    slots: dict[str, Slot] = {"beam": str(beam.number), "size": job.post, "actual": actual, "most": answer.most}
    slots["area"] = deck_text(round(hole.area, 1), job.units)
    limit = Limit(answer.most, source, answer.governs, answer.computed)
    name, stands, key = f"post-{beam.number}", level(actual, answer.most, source), "walk.frame.say.post"
    if slim(job):
        slots |= {"least": least_post().value, "edition": job.edition}
        stands, key = FAILS, "walk.frame.say.post-slim"
    elif actual < 0:
        slots |= {"least": job.height - actual, "height": job.height}
        stands, key = FAILS, "walk.frame.say.post-low"
    return Member(name, "post", beam.number, actual, limit, stands, Message(key, slots))


def _footing(job: Job, beam: Beam, holes: Sequence[Hole]) -> Member:
    """The largest footing of a beam; it fails only where two would run into each other."""
    hole = max(holes, key=lambda hole: (hole.side, -WORST_FIRST.index(hole.level)))
    slots: dict[str, Slot] = {
        "beam": str(beam.number),
        "actual": hole.side,
        "thickness": hole.thickness,
        "area": deck_text(round(hole.area, 1), job.units),
        "load": pounds(round(hole.load), job.units),
        "soil": pressure(job.soil, job.units),
        "depth": hole.depth,
    }
    room = min(bays(beam))
    limit = Limit(room, hole.source, "room between posts", hole.side)
    worst = min((hole.level for hole in holes), key=WORST_FIRST.index)
    stands = FAILS if hole.side > room else worst
    say = Message(f"walk.frame.say.footing-{job.footing}", slots)
    return Member(f"footing-{beam.number}", "footing", beam.number, hole.side, limit, stands, say)


def _ledger(job: Job, beams: tuple[Beam, ...]) -> Member:
    (answer, patched), lifted = ledger.answer(job, beams), ledger.lifted(job, beams)
    source = None if patched or lifted else answer.source
    slots: dict[str, Slot] = {"fastener": {"word": f"walk.frame.fastener.{job.fastener.replace(' ', '-')}"}}
    slots["spacing"] = tape.show(answer.most, job.units)
    limit = Limit(answer.most, source, answer.governs, answer.computed)
    stands, key = level(answer.most, answer.most, source), "walk.frame.say.ledger"
    if lifted:
        slots["beam"] = str(beams[-1].number)
        key = "walk.frame.say.ledger-lifted"
    return Member("ledger", "ledger", 0, answer.most, limit, stands, Message(key, slots))


def _guard(job: Job) -> Member:
    """A guard is required where the deck stands more than 30 in. above the ground: IRC R312.1.1.

    To need one is no fault of the frame: the member holds, and what it says asks for the guard.
    """
    rule, tall = rules.rule("guard_trigger"), rules.rule("guard_height").number
    key = "walk.frame.say.guard" if job.height > rule.number else "walk.frame.say.guard-none"
    say = Message(key, {"actual": job.height, "most": rule.number, "guard": tall})
    limit = Limit(rule.number, rule.source, "height above the ground", rule.number)
    return Member("guard", "guard", 0, job.height, limit, level(0.0, rule.number, rule.source), say)
