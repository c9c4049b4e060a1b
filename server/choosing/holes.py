"""A footing hole as the frame is checked: size, depth, shaft and concrete under so much deck."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from math import hypot, pi

from server.codes import footings, rules, stock
from server.codes.wood import dead_load, section
from server.model import Job

SQUARE_FOOT = 144.0
CUBIC_FOOT = 1728.0
LEAST_AREA = 1.0  # deck reckoned on a post that statics lift, square feet
AROUND = 1.0  # room around a post on its shaft, each side, inches; common practice, no source
SLACK = 1e-9


@dataclass(frozen=True)
class Hole:
    """Side or diameter, inches; concrete in cubic feet; `down` is how far a post goes into the ground, inches."""

    side: float
    concrete: float
    down: float
    engineer: int


def hole(job: Job, area: float, live: float) -> Hole:
    """The hole under `area` square feet of deck that carries `live` psf: more than the deck's own is an engineer's."""
    held = round(as_area(job, area, live), 6)
    found = _hole(held, job.soil, job.edition, float(job.live), job.footing, job.post, job.frost)
    return replace(found, engineer=1) if live > job.live else found


def as_area(job: Job, area: float, live: float) -> float:
    """The deck that loads a post as much at the job's own live load, square feet: the tables are entered with it."""
    return max(area, LEAST_AREA) * ((live + dead_load()) / (job.live + dead_load()) if live > job.live else 1.0)


@lru_cache(maxsize=1 << 16)
def _hole(area: float, soil: float, edition: str, live: float, shape: str, post: str, frost: float) -> Hole:
    found = footings.size(area, soil, edition, live)
    side = found.round if shape == "round" else found.square
    depth = max(rules.rule("footing_min_depth").number, frost, found.thickness)
    engineer = int(found.source is None)
    if shape != "round":
        return Hole(side, side**2 * found.thickness / CUBIC_FOOT, depth - found.thickness, engineer)
    shaft = _shaft(post, side, found.thickness)
    volume = pi / 4 * (side**2 * found.thickness + shaft**2 * (depth - found.thickness)) / CUBIC_FOOT
    return Hole(side, volume, 0.0, engineer)


def _shaft(post: str, side: float, thickness: float) -> float:
    """The shaft from a round pad to the ground, inches across: the smallest tube with room around the post's corners.

    The pad reaches past it by no more than it is thick, and by 2 in. at least (IRC R403.1.1), or is poured straight up.
    """
    cut = section(post)
    least = max(hypot(cut.b, cut.d) + 2 * AROUND, side - 2 * thickness)
    tube = next((float(tube) for tube in stock.tubes() if tube >= least - SLACK), side)
    return tube if tube + 2 * rules.rule("footing_projection_min").number <= side + SLACK else side
