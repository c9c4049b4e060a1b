"""The story: a job file in, an offline bundle out. Each line is one stage; none knows another."""

from __future__ import annotations

from server import bundle as offline
from server import drawing, framing, job, phone, steps, yard
from server.model import Bundle, Frame, Job, Plain, Step, Yard
from server.words import section


def plan(job_id: str, spec: Plain) -> Bundle:
    """The bundle of a job file's contents. Raises JobFaults with every fault found."""
    return plan_job(job_id, job.read(spec))


def plan_job(job_id: str, wanted: Job) -> Bundle:
    """The bundle of a checked job."""
    frame, ground, walk = lay_out(wanted)
    return offline.bundle(
        job_id,
        wanted,
        yard.outline(wanted),
        yard.plain(ground),
        [step.plain() for step in walk],
        steps.readings(walk),
        drawing.draw(wanted, frame, ground),
        (*frame.findings, *ground.findings),
        field(),
        section("walk."),
    )


def lay_out(wanted: Job) -> tuple[Frame, Yard, tuple[Step, ...]]:
    """Frame, yard and steps of a checked job."""
    frame = framing.frame(wanted)
    ground = yard.yard(wanted, frame)
    return frame, ground, steps.steps(wanted, ground)


def field() -> Plain:
    """The field math a document is walked with: its digest and its modules."""
    return {"digest": phone.field_digest(), "modules": [phone.FILE]}
