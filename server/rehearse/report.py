"""A rehearsal from documents to one plain object for each: what `--json` writes, and what table and picture show."""

from __future__ import annotations

from collections.abc import Sequence

from server.model import Plain
from server.rehearse.crew import hands_of
from server.rehearse.tally import tally
from server.rehearse.wanted import Wanted
from server.rehearse.yards import Crews, Tell, walk_yards


def rehearse(documents: Sequence[Plain], wanted: Wanted, tell: Tell = lambda done, of: None) -> list[Plain]:
    """Every document walked by the ways wanted and by the plain crew, in the same yards."""
    crews = [
        Crews(one, wanted.ways, hands_of(one, wanted.slips, wanted.sigma), wanted.seed, wanted.blocked)
        for one in documents
    ]
    return [report(one, walks, wanted) for one, walks in zip(crews, walk_yards(crews, wanted.yards, tell), strict=True)]


def report(crews: Crews, walks: Plain, wanted: Wanted) -> Plain:
    """What was rehearsed, and the numbers of each crew by its name."""
    head, yard = crews.document["job"], crews.document["yard"]
    return {
        "job": head["id"],
        "name": head["name"],
        "units": head["units"],
        "tape_in": yard["tape"]["length"],
        "sigma_in": crews.hands.sigma,
        "tolerance_in": yard["tolerance"],
        "yards": wanted.yards,
        "seed": wanted.seed,
        "slips": wanted.slips,
        "blocked": wanted.blocked,
        "crews": {name: tally(yards, yard["tolerance"]) for name, yards in walks.items()},
    }
