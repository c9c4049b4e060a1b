"""A rehearsal as a table for people: a line for each number, a column for each crew; terminal and desk say it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from server.field import tape
from server.model import Plain
from server.words import sentence

KEYS = {"string by string": "string-by-string", "whole frame": "whole-frame", "3-4-5": "plain"}


def text(key: str, units: str = "inch", **slots: Any) -> str:
    return sentence(f"cli.rehearse.{key}", slots, units)


def crew_name(name: str) -> str:
    return text(f"crew.{KEYS[name]}")


def fine(inches: float, units: str, more: int = 0) -> str:
    """A length finer than a tape shows it: 0.26 in. or 6.6 mm, with so many digits `more`."""
    if units == "millimetre":
        return text("millimetres", amount=f"{inches * tape.MM:.{1 + more}f}")
    return text("inches", amount=f"{inches:.{2 + more}f}")


def share(value: float) -> str:
    return text("percent", amount=f"{value * 100:.1f}".removesuffix(".0"))


def counted(value: Plain) -> str:
    """A mean and the most of it."""
    return text("counted", mean=f"{value['mean']:.1f}", most=str(value["most"]))


def rows_of(report: Plain) -> list[tuple[str, list[str]]]:
    """Each line: what it is, and its cell for every crew; a dash where a crew has no such number."""
    units = report["units"]
    crews = list(report["crews"].values())

    def line(key: str, told: Callable[[Any], str], *path: str) -> tuple[str, list[str]]:
        values = [at(crew, path) for crew in crews]
        cells = [text("none") if value is None else told(value) for value in values]
        return text(f"row.{key}", units, tolerance=report["tolerance_in"]), cells

    def length(inches: float) -> str:
        return fine(inches, units)

    def finer(inches: float) -> str:
        return fine(inches, units, 1)

    return [
        line("true", share, "true"),
        line("worst", length, "worst_95_in"),
        line("pulls", counted, "pulls"),
        line("moves", counted, "moves"),
        line("claimed", share, "claimed"),
        line("wrongly", share, "wrongly_claimed"),
        line("slips", str, "slips", "made"),
        line("questioned", str, "slips", "questioned"),
        line("believed", str, "slips", "believed"),
        line("false", str, "slips", "false"),
        line("rms", finer, "rms_in"),
        line("bound", finer, "bound_in"),
        line("ratio", "{:.2f}".format, "ratio"),
    ]


def at(crew: Plain, path: tuple[str, ...]) -> Any:
    value: Any = crew
    for key in path:
        value = value[key]
    return value


def heading(report: Plain) -> str:
    """What was rehearsed, in one sentence."""
    slots = {"name": report["name"], "yards": str(report["yards"]), "tape": report["tape_in"]}
    slots |= {"slips": f"{report['slips'] * 100:g}", "seed": str(report["seed"])}
    return text("heading", report["units"], **slots)


def foot(report: Plain) -> list[str]:
    """What the numbers stand on."""
    blocked = [text("blocked", count=str(report["blocked"]))] if report["blocked"] else []
    units = report["units"]
    sigma = fine(report["sigma_in"], units, 1)
    return [*blocked, text("foot.plain"), text("foot.bound"), text(f"foot.hands.{units}", sigma=sigma)]


def lines(report: Plain) -> list[str]:
    """The table as lines of text, columns under the crews' names."""
    names = [crew_name(name) for name in report["crews"]]
    rows = rows_of(report)
    first = max(len(what) for what, _ in rows)
    widths = [max(len(name), *(len(cells[i]) for _, cells in rows)) for i, name in enumerate(names)]
    laid = [("", names), *rows]
    table = [
        "  ".join([what.ljust(first), *(cell.rjust(width) for cell, width in zip(cells, widths, strict=True))]).rstrip()
        for what, cells in laid
    ]
    return [heading(report), "", *table, "", *foot(report)]
