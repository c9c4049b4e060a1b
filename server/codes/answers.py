"""What a rule answers: the number that rules, the table cell it stands in, and the calculation beside it.

Lengths are inches, areas square feet, loads pounds a square foot, stresses pounds a square inch.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Source:
    """A cell of a published table, and how sure we are of it: read, excerpt, memory, "memory, reproduced", derived."""

    edition: str
    table: str
    cell: str
    confidence: str


@dataclass(frozen=True)
class Check:
    """One limit by calculation: its name (bending, shear, deflection, tip ...), inches it allows, formula, numbers."""

    name: str
    most: float
    formula: str
    numbers: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Answer:
    """The most a member may span, stand or run past. `most` is the cell's where there is one, else the calculation's.

    `source` is None where the edition has no such cell: then an engineer decides. `computed` is the nearest inch beside
    a cell, as the tables round; where none stands it is the whole inch that holds. `governs` names the check behind it.
    """

    most: float
    source: Source | None
    computed: float
    governs: str
    checks: tuple[Check, ...] = ()
