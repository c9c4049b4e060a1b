"""Beams and posts of a job, put in their places; what practice says about them."""

from __future__ import annotations

from collections.abc import Iterator

from server.model import Beam, BeamOrder, Frame, Job, Message, Slot

PLY = 1.5
CANTILEVER_SHARE = 0.25


def frame(job: Job) -> Frame:
    """The frame a job asks for: every beam with its posts, nearest the house first."""
    beams = tuple(_beam(number, order, job) for number, order in enumerate(job.beams, 1))
    findings = [finding for beam in beams for finding in _cantilevers(beam, job.width)]
    return Frame(beams, (*findings, Message("walk.finding.tables")))


def _beam(number: int, order: BeamOrder, job: Job) -> Beam:
    return Beam(number, order.setback, order.plies * PLY, order.at or even_posts(order, job.width))


def even_posts(order: BeamOrder, width: float) -> tuple[float, ...]:
    """Equal bays between end cantilevers: `count` positions from the left edge, inches; count >= 2."""
    bay = (width - 2 * order.cantilever) / (order.count - 1)
    return tuple(order.cantilever + bay * post for post in range(order.count))


def _cantilevers(beam: Beam, width: float) -> Iterator[Message]:
    """A beam end runs past its last post by at most a quarter of the span beside it.

    IRC 2015 R507.5 (from memory), each end on its own actual span.
    """
    ends = (
        ("left", beam.posts[0], beam.posts[1] - beam.posts[0]),
        ("right", width - beam.posts[-1], beam.posts[-1] - beam.posts[-2]),
    )
    for side, past, span in ends:
        if past > CANTILEVER_SHARE * span + 1e-9:
            slots: dict[str, Slot] = {
                "beam": str(beam.number),
                "side": {"word": f"walk.side.{side}"},
                "past": past,
                "most": CANTILEVER_SHARE * span,
            }
            yield Message("walk.finding.cantilever", slots)
