"""The story: a job file in, an offline bundle out. Each line is one stage; none knows another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from server import bundle as offline
from server import carry, choosing, drawing, framing, job, phone, steps, yard
from server.choosing import Choice, Option
from server.errors import FrameOpen, JobFaults, NotFound
from server.model import BeamOrder, Bundle, Frame, Job, Plain, Step, Yard
from server.words import section

Earlier = tuple[str, Plain]  # an earlier revision: its document's digest, its job file's contents


def plan(job_id: str, spec: Plain, earlier: Sequence[Earlier] = ()) -> Bundle:
    """The bundle of a job file's contents, after these revisions, the newest first. Raises JobFaults."""
    return plan_job(job_id, job.read(spec), earlier)


def plan_job(job_id: str, wanted: Job, earlier: Sequence[Earlier] = ()) -> Bundle:
    """The bundle of a checked job. Raises FrameOpen while its frame is to be chosen."""
    if wanted.open:
        raise FrameOpen
    frame, ground, walk = lay_out(wanted)
    acts = [step.plain() for step in walk]
    sheet = framing.sheet(wanted, frame)
    return offline.bundle(
        job_id,
        wanted,
        yard.outline(wanted),
        yard.plain(ground),
        acts,
        steps.readings(walk, wanted.way),
        drawing.draw(wanted, frame, ground, sheet["limits"] if sheet["checked"] else None),
        sheet,
        (*frame.findings, *ground.findings),
        field(),
        spoken(),
        carry.carries(yard.plain(ground), acts, laid_before(earlier)),
    )


def laid_before(earlier: Sequence[Earlier]) -> Iterator[tuple[str, Plain, list[Plain]]]:
    """Yard and steps of each earlier revision that can still be laid out; nobody walked one whose frame was open."""
    for digest, spec in earlier:
        try:
            wanted = job.read(spec)
        except JobFaults:
            continue
        if digest and not wanted.open:
            _, ground, walk = lay_out(wanted)
            yield digest, yard.plain(ground), [step.plain() for step in walk]


def choose(wanted: Job) -> Choice:
    """The frames that fit a job whose frame is open: found by the search, and passed by the frame's own checks.

    The checks know more than the search; where they pass none of its frames, the first one's faults say what blocks.
    """
    choice = choosing.frames(wanted)
    held = tuple(option for option in choice.frames if not framing.failing(with_frame(wanted, option)))
    if held or not choice.frames:
        return replace(choice, frames=held)
    return replace(choice, frames=(), blocked=framing.broken(with_frame(wanted, choice.frames[0])))


def with_frame(wanted: Job, option: Option) -> Job:
    """The job with a found frame in it."""
    orders = [BeamOrder(line.setback, line.plies, line.size, (), line.count, line.end) for line in option.beams]
    return replace(wanted, joist_size=option.joist_size, joist_spacing=option.joist_spacing, beams=tuple(orders))


def pick(spec: Plain, choice: Choice, number: int) -> Plain:
    """The job file with one of its frames put in, counted from 1. Raises NotFound."""
    if not 1 <= number <= len(choice.frames):
        raise NotFound("no-such-frame", slots={"given": str(number), "count": str(len(choice.frames))})
    return spec | choice.frames[number - 1].spec()


def lay_out(wanted: Job) -> tuple[Frame, Yard, tuple[Step, ...]]:
    """Frame, yard and steps of a checked job."""
    frame = framing.frame(wanted)
    ground = yard.yard(wanted, frame)
    return frame, ground, steps.steps(wanted, ground)


def spoken() -> dict[str, str]:
    """The sentences a phone says on a walk; of the frame only the names of its limits: the desk tells the rest."""
    told = section("walk.frame.").keys() - section("walk.frame.limit.").keys()
    return {key: text for key, text in section("walk.").items() if key not in told}


def field() -> Plain:
    """The field math a document is walked with: its digest and its modules."""
    return {"digest": phone.field_digest(), "modules": [phone.FILE]}
