"""The one reader of the tables: rows of CSV data, each with the document it stands in and how sure we are of it."""

from __future__ import annotations

import csv
from collections.abc import Collection, Iterable, Mapping
from functools import cache
from importlib.resources import files

from server.errors import YardtrueError

EDITIONS = ("DCA 6-2012", "IRC 2015", "IRC 2018", "IRC 2021")
SPECIES = (
    "southern pine",
    "douglas fir-larch",
    "hem-fir",
    "spruce-pine-fir",
    "redwood",
    "western cedars",
    "ponderosa pine",
    "red pine",
)
SIZES = ("2x6", "2x8", "2x10", "2x12")
SPACINGS = (12, 16, 24)
POSTS = ("4x4", "4x6", "6x6", "8x8")
FASTENERS = ("lag screw", "bolt", "bolt with washers")
CONFIDENCES = ("read", "excerpt", "memory", "memory, reproduced", "derived")
# The live load of every table but the footings', pounds a square foot.
TABLE_LIVE = 40.0

PINE = "southern pine"
FIR = "douglas fir-larch, hem-fir, spruce-pine-fir"
WESTERN = "redwood, western cedars, ponderosa pine, red pine"
NOT_PINE = "western and northern species (all but southern pine)"

Row = Mapping[str, str]


class TablesError(YardtrueError, ValueError):
    """A row of a table without its source, its confidence, or a value that is needed."""


class NotInTables(YardtrueError, LookupError):
    """A name (species, size, edition ...) that no table knows."""


@cache
def rows(name: str) -> tuple[Row, ...]:
    """Every row of tables/NAME.csv, checked. Raises TablesError for a row without source or confidence."""
    text = files("server.codes").joinpath("tables", f"{name}.csv").read_text(encoding="utf-8")
    return checked(name, csv.DictReader(text.splitlines()))


def checked(name: str, found: Iterable[Row]) -> tuple[Row, ...]:
    """The rows as they are. Raises TablesError, naming table, row (1 is the first under the heading) and column."""
    kept = tuple(found)
    for number, row in enumerate(kept, 1):
        for column in ("source", "confidence"):
            if not row.get(column) or (column == "confidence" and row[column] not in CONFIDENCES):
                raise TablesError("codes-table", slots={"table": name, "row": str(number), "column": column})
    return kept


def known(what: str, given: object, names: Collection[object]) -> None:
    """Raises NotInTables when `given` is not one of the names; `what` says what it should be (a species, a size)."""
    if given not in names:
        listed = ", ".join(str(name) for name in names)
        raise NotInTables("codes-unknown", slots={"what": what, "given": f"“{given}”", "known": listed})


def wood_group(species: str) -> str:
    """The group of species that joist and post tables put together. Raises NotInTables."""
    known("species", species, SPECIES)
    if species == PINE:
        return PINE
    return FIR if species in FIR.split(", ") else WESTERN


def beam_group(species: str) -> str:
    """The group of species of the beam table. Raises NotInTables."""
    return PINE if wood_group(species) == PINE else NOT_PINE


def positive(what: str, given: float) -> None:
    """Raises NotInTables when a length, area or load is not more than zero (or not a number at all)."""
    if not 0 < given < float("inf"):
        raise NotInTables("codes-positive", slots={"what": what, "given": str(given)})
