"""The load a deck with heavier patches is chosen for: what patches add where most of them bear on one joist."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from server.model import Job


@dataclass(frozen=True)
class Spot:
    """The part of a patch that lies on the deck, inches, and what it adds to the deck's live load, psf."""

    left: float
    right: float
    near: float
    far: float
    extra: float

    def beside(self, other: Spot) -> bool:
        """Whether some joist runs under both."""
        return min(self.right, other.right) > max(self.left, other.left)


def heaviest(job: Job) -> float:
    """The heaviest load anywhere, psf: a deck with heavier patches is chosen as if it all carried it.

    Patches add up where they overlap, each with what it has beyond the deck's live load. The joists under a patch are
    checked under every patch that shares its width, so those add up too, in width side by side or not.
    """
    spots = list(_spots(job))
    return job.live + max((_most_with(spot, spots) for spot in spots), default=0.0)


def _spots(job: Job) -> Iterator[Spot]:
    for patch in job.patches:
        right, far = min(patch.x + patch.width, job.width), min(patch.y + patch.out, job.out)
        spot = Spot(max(patch.x, 0.0), right, max(patch.y, 0.0), far, float(patch.load - job.live))
        if spot.extra > 0 and spot.right > spot.left and spot.far > spot.near:
            yield spot


def _most_with(spot: Spot, spots: list[Spot]) -> float:
    """The most that patches which share a patch's width add at one distance from the wall, psf."""
    beside = [other for other in spots if spot.beside(other)]
    # The sum only ever rises where a patch begins.
    return max(sum(other.extra for other in beside if other.near <= at.near < other.far) for at in beside)
