"""Frames that fit, as people read them: joists, beams, and the value in each column."""

from __future__ import annotations

from server import units
from server.choosing import Choice, Line, Option
from server.field import tape
from server.model import Message, Plain, Slot
from server.words import sentence

COLUMNS = ("holes", "concrete", "board_feet", "longest", "cantilever", "closest")


def row(number: int, option: Option) -> Plain:
    """A frame as a line of the table; its number is its place in the search's own order."""
    values = {name: getattr(option, name) for name in COLUMNS}
    joists = Message("offer.joists", {"size": option.joist_size, "spacing": float(option.joist_spacing)})
    return {
        "number": number, "values": values, "says": joists.plain(), "engineer": option.engineer,
        "beams": [beam_says(line).plain() for line in option.beams], "close": close_says(option).plain(),
        "shown": {name: shown(name, value, option.units) for name, value in values.items()},
    }


def beam_says(line: Line) -> Message:
    slots: dict[str, Slot] = {
        "plies": str(line.plies), "size": line.size, "setback": line.setback,
        "count": str(line.count), "bay": line.bay, "end": line.end,
    }
    return Message("offer.beam", slots)


def close_says(option: Option) -> Message:
    """How much of its limit each member uses, in hundredths."""
    return Message("offer.close", {name: f"{100 * share:.0f}" for name, share in option.shares.items()})


def shown(name: str, value: float, job_units: str) -> str:
    """A value of a column as a person reads it."""
    if name == "concrete":
        return units.volume(value, job_units)
    if name in ("longest", "cantilever"):
        return str(tape.show(value, job_units))
    return f"{100 * value:.0f} %" if name == "closest" else f"{value:.0f}"


def lines(choice: Choice, job_units: str) -> list[str]:
    """The whole choice as text: what blocks, then a line for each frame and each of its beams."""
    told = [sentence(message.key, message.slots, job_units) for message in choice.blocked]
    found_none = "offer.none" if not choice.frames else "offer.count"
    told.append(sentence(found_none, {"count": str(len(choice.frames)), "tried": f"{choice.tried:,}"}))
    for number, option in enumerate(choice.frames, 1):
        found = row(number, option)
        told += ["", f"{number:3}  {_said(found['says'], job_units)}"]
        told += [f"     {_said(beam, job_units)}" for beam in found["beams"]]
        told.append(f"     {_said(found['close'], job_units)}")
        values = [f"{sentence(f'offer.column.{name}')} {found['shown'][name]}" for name in COLUMNS]
        told.append("     " + ", ".join(values))
        told += [f"     {sentence('offer.engineer')}"] if option.engineer else []
    return [*told, "", sentence("offer.pick")] if choice.frames else told


def _said(message: Plain, job_units: str) -> str:
    return sentence(message["key"], message["slots"], job_units)
