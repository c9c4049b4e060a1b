"""Footings under each post: how large, how deep, how much concrete."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import hypot, pi

from server.codes import footings as tables
from server.codes import rules, stock, wood
from server.codes.answers import Source
from server.framing import patch
from server.framing.areas import post_areas
from server.framing.levels import ENGINEER, level, source_plain
from server.framing.placing import SLACK
from server.model import Beam, Job, Message, Plain

CUBIC_FOOT = 1728.0
# Deck on one post that is still reckoned where statics lift it, square feet: a post is never left without a footing.
LEAST_AREA = 1.0
AROUND = 1.0  # room around a post on its shaft, each side, inches; common practice, no source


@dataclass(frozen=True)
class Hole:
    """One footing: deck on it (sq ft) and load (lb); side or diameter, thickness, depth of its bottom, shaft, inches.

    `as_area` is the deck that would load it as much: more than `area` where a heavier patch rests on it too.
    """

    point: str
    area: float
    as_area: float
    load: float
    shape: str
    side: float
    thickness: float
    depth: float
    shaft: float
    concrete: float
    level: str
    source: Source | None

    def plain(self) -> Plain:
        bags = stock.bags(self.concrete)
        return {
            "point": self.point,
            "area": self.area,
            "load": self.load,
            "shape": self.shape,
            "side": self.side,
            "thickness": self.thickness,
            "depth": self.depth,
            "shaft": self.shaft,
            "concrete": self.concrete,
            "bags60": bags["60"],
            "bags80": bags["80"],
            "level": self.level,
            "source": source_plain(self.source),
        }


def holes(job: Job, beams: tuple[Beam, ...]) -> tuple[tuple[Hole, ...], ...]:
    """The footings of each beam, left to right."""
    areas, added = post_areas(job, beams), patch.on_posts(job, beams)
    return tuple(
        tuple(
            _hole(job, f"G{beam.number}-{number}", area, more)
            for number, (area, more) in enumerate(zip(areas[index], added[index], strict=True), 1)
        )
        for index, beam in enumerate(beams)
    )


def _hole(job: Job, point: str, area: float, added: float) -> Hole:
    """A footing by the deck on it and the pounds a patch adds to it."""
    held = max(area, LEAST_AREA)
    load = held * (job.live + patch.DEAD) + added
    as_area = load / (job.live + patch.DEAD) if added > 0 else held
    found = tables.size(round(as_area, 6), job.soil, job.edition, job.live)
    side = found.round if job.footing == "round" else found.square
    depth = max(rules.rule("footing_min_depth").number, job.frost, found.thickness)
    shaft = shaft_of(job.post, side, found.thickness) if job.footing == "round" else 0.0
    source = None if added > 0 else found.source
    stands = ENGINEER if source is None else level(side, side, source)
    volume = concrete(job.footing, side, found.thickness, depth, shaft)
    return Hole(point, area, as_area, load, job.footing, side, found.thickness, depth, shaft, volume, stands, source)


@cache
def shaft_of(post: str, side: float, thickness: float) -> float:
    """The shaft from a round pad up to the ground, inches across.

    The smallest form tube with an inch around the post's corners, and so wide that the pad reaches past it by no more
    than it is thick; a pad that would not reach 2 in. past it (IRC R403.1.1) is poured straight up.
    """
    section = wood.section(post)
    least = max(hypot(section.b, section.d) + 2 * AROUND, side - 2 * thickness)
    tube = next((float(tube) for tube in stock.tubes() if tube >= least - SLACK), side)
    return tube if tube + 2 * rules.rule("footing_projection_min").number <= side + SLACK else side


def concrete(shape: str, side: float, thickness: float, depth: float, shaft: float) -> float:
    """Concrete in place, cubic feet: the pad, and for a round footing the shaft from it to the ground."""
    if shape != "round":
        return side**2 * thickness / CUBIC_FOOT
    return pi / 4 * (side**2 * thickness + shaft**2 * (depth - thickness)) / CUBIC_FOOT


def counted(job: Job) -> Message:
    """In words, what the concrete is counted for."""
    return Message(f"walk.frame.concrete.{job.footing}", {"waste": f"{stock.waste() * 100:g} %"})
