"""What the yard sells: lengths of lumber and bags of concrete, as rows with sources."""

from __future__ import annotations

from functools import cache
from math import ceil

from server.codes.tables import Row, known, rows


@cache
def item(name: str) -> Row:
    """A row of stock.csv. Raises NotInTables."""
    found = {row["item"]: row for row in rows("stock")}
    known("stock", name, found)
    return found[name]


@cache
def lengths() -> tuple[int, ...]:
    """Lengths of lumber that are sold, inches, shortest first."""
    return tuple(12 * int(feet) for feet in item("lumber_lengths")["value"].split())


@cache
def tubes() -> tuple[int, ...]:
    """Diameters of form tubes, inches."""
    return tuple(int(inches) for inches in item("form_tube_diameters")["value"].split())


@cache
def waste() -> float:
    """The share of concrete that is lost; the upper end of the range."""
    return float(item("concrete_waste")["value"].split("-")[-1]) / 100


@cache
def bag_yield(pounds: int) -> float:
    """Cubic feet that one bag of so many pounds makes. Raises NotInTables."""
    return float(item(f"bag_yield_{pounds}lb")["value"])


def bags(cuft: float) -> dict[str, int]:
    """Whole bags for so many cubic feet in place, waste included: {"60": n, "80": n}."""
    return {str(pounds): ceil(cuft * (1 + waste()) / bag_yield(pounds) - 1e-9) for pounds in (60, 80)}
