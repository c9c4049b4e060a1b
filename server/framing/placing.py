"""Beams and posts put in their places, and what carries the joists."""

from __future__ import annotations

from server.model import Beam, BeamOrder, Job, Slot

PLY = 1.5
SLACK = 1e-9
APART = 12.0  # beams, and posts along a beam, stand a foot apart at least: what a job file asks


def place(job: Job) -> tuple[Beam, ...]:
    """Every beam of a job with its posts, nearest the house first."""
    return tuple(_beam(number, order, job) for number, order in enumerate(job.beams, 1))


def _beam(number: int, order: BeamOrder, job: Job) -> Beam:
    return Beam(number, order.setback, order.plies * PLY, order.at or even_posts(order, job.width))


def even_posts(order: BeamOrder, width: float) -> tuple[float, ...]:
    """Equal bays between end cantilevers: `count` positions from the left edge, inches; count >= 2."""
    bay = (width - 2 * order.cantilever) / (order.count - 1)
    return tuple(order.cantilever + bay * post for post in range(order.count))


def supports(job: Job, beams: tuple[Beam, ...]) -> tuple[float, ...]:
    """Where joists bear, inches from the wall: the ledger when there is one, then each beam's centre line.

    Joist spans are taken between these lines. The tables mean clear spans, face of bearing to face of bearing, so a
    span taken here is longer than the tables ask by the ledger's thickness and half a beam: on the safe side.
    """
    return (*((0.0,) if job.attached else ()), *(beam.setback for beam in beams))


def support_name(job: Job, index: int) -> Slot:
    """What people call a support: the house, or a beam by its number."""
    number = index if job.attached else index + 1
    if number == 0:
        return {"word": "walk.frame.at.house"}
    return {"word": f"walk.frame.at.beam-{number}"}


def bays(beam: Beam) -> tuple[float, ...]:
    """Post centre to post centre along a beam, left to right, inches."""
    return tuple(right - left for left, right in zip(beam.posts, beam.posts[1:], strict=False))


def ends(beam: Beam, width: float) -> tuple[tuple[str, float, float], ...]:
    """Both ends of a beam: side, how far it runs past its last post, and the bay beside it, inches."""
    between = bays(beam)
    return ("left", beam.posts[0], between[0]), ("right", width - beam.posts[-1], between[-1])
