"""Single rules of the codes (cantilever shares, depths, guards), one row each, with section and confidence."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from server.codes.answers import Source
from server.codes.tables import EDITIONS, Row, TablesError, known, rows

# A source begins with its document; what follows is the section.
DOCUMENT = re.compile(r"((?:AWC )?[A-Z]+(?: 6)?(?:[ -]20\d\d)?) ?(.*)")


@dataclass(frozen=True)
class Rule:
    """One rule: its value as the code words it ("0.25", "not allowed"), unit, meaning, section."""

    name: str
    value: str
    unit: str
    meaning: str
    source: Source

    @property
    def number(self) -> float:
        """The value as a number. Raises TablesError where the value is words."""
        try:
            return float(self.value)
        except ValueError:
            slots = {"table": "rules", "row": self.name, "column": "value"}
            raise TablesError("codes-table", slots=slots) from None


@cache
def _rules() -> dict[str, Rule]:
    return {
        row["rule"]: Rule(
            row["rule"],
            row["value"],
            row["unit"],
            row["meaning"],
            _source(row),
        )
        for row in rows("rules")
    }


def _source(row: Row) -> Source:
    """The document and the section of a rule: "IRC 2015", "R507.5; DCA 6-2012 T2 note 3". Raises TablesError."""
    found = DOCUMENT.match(row["source"])
    if found is None:
        raise TablesError("codes-table", slots={"table": "rules", "row": row["rule"], "column": "source"})
    return Source(found[1], found[2], row["rule"].replace("_", " "), row["confidence"])


def names() -> tuple[str, ...]:
    return tuple(_rules())


def rule(name: str) -> Rule:
    """A rule by its name in rules.csv. Raises NotInTables."""
    known("rule", name, _rules())
    return _rules()[name]


def joist_cantilever_share(edition: str) -> Rule:
    """Joists run past the beam at most this share of their actual span: IRC 2015 R507.5, DCA 6-2012 Table 2 note 3."""
    known("edition", edition, EDITIONS)
    return rule("joist_cantilever_max_ratio")


def beam_cantilever_share(edition: str) -> Rule:
    """Beams run past the last post at most this share of the actual span beside it: IRC R507.5."""
    known("edition", edition, EDITIONS)
    return rule("beam_cantilever_max_ratio")
