"""An answer about a span as people read it: readings, where each stands in print, and the calculation beside it.

Sentences are messages {"key", "slots"}, so that the terminal and the desk say the same.
"""

from __future__ import annotations

from server.field import tape
from server.model import Plain, Slot

FOOTING_READINGS = ("square_in", "round_in", "thickness_in")


def message(key: str, **slots: Slot) -> Plain:
    return {"key": f"cli.span.{key}", "slots": slots}


def report(answer: Plain) -> Plain:
    """What is shown for an answer: what was asked, its blocks of readings, and the sentence that always stands."""
    return {
        "asked": message(f"asked.{answer['question']}", **asked_slots(answer["asked"])),
        "blocks": blocks(answer),
        "standing": {"key": "desk.standing", "slots": {}},
    }


def asked_slots(asked: Plain) -> dict[str, Slot]:
    """Values as they are said: a joist span as tape text, every other number plain."""
    return {name: value if name == "joist_span" else number(value) for name, value in asked.items()}


def blocks(answer: Plain) -> list[Plain]:
    """One block for each cell: a joist has one for its span and one for its cantilever."""
    question = answer["question"]
    if question == "footing":
        return [block(answer, [reading(f"footing.{name}", answer[name]) for name in FOOTING_READINGS])]
    found = [block(answer, [reading(question, answer["max_in"])])]
    if question == "joist":
        past = answer["cantilever"]
        found.append(block(past, [reading("cantilever", past["max_in"])]))
        found[1]["notes"].append(message("share", share=f"{past['share']:.0%}"))
    return found


def reading(name: str, inches: float | None) -> Plain:
    """A name with its inches; None where the load leaves nothing."""
    return {"what": message(f"reading.{name}"), "inches": inches or None}


def block(part: Plain, readings: list[Plain]) -> Plain:
    """Readings that stand on one cell, with the cell, how sure it is, and the checks by calculation."""
    source = part["source"]
    return {
        "readings": readings,
        "level": part["level"],
        "source": cell(source) if source else message("no-cell"),
        "notes": [message(f"confidence.{source['confidence'].replace(', ', '-')}")] if source else [],
        "computed": computed(part),
        "checks": [check(one, part["governs"]) for one in part["checks"]],
    }


def cell(source: Plain) -> Plain:
    return message("cell", edition=source["edition"], table=source["table"], cell=source["cell"])


def computed(part: Plain) -> Plain:
    """What the calculation alone gives, and which check rules it."""
    if "computed" in part:
        return message("computed.footing", **{name: part["computed"][name] for name in FOOTING_READINGS})
    governs = {"word": f"cli.span.check.{part['governs']}"}
    inches = part["computed_in"]
    return message("computed", inches=inches, total=tape.total(inches, "inch"), governs=governs)


def check(one: Plain, governs: str) -> Plain:
    """One limit: its name, the inches it allows, its formula and the numbers in it."""
    numbers = ", ".join(f"{name} = {number(value)}" for name, value in one["numbers"].items())
    return {
        "what": message(f"check.{one['name']}"),
        "inches": one["most_in"],
        "formula": one["formula"],
        "numbers": numbers,
        "governs": one["name"] == governs,
    }


def number(value: object) -> str:
    """A number short enough to read: at most four decimals, no needless zeros, thousands apart."""
    if not isinstance(value, int | float):
        return str(value)
    text = f"{value:,.4f}".rstrip("0").rstrip(".")
    return text if float(text.replace(",", "")) or not value else f"{value:.3g}"
