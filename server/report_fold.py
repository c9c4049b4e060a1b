"""The fold as the desk sees it: the state after every entry, and what each one said on the way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from server.field import acts, carry, walk
from server.field import entries as fitting
from server.model import Plain

NO_ACT = ("way", "after", "note", "strike")  # kinds that belong to no step


@dataclass
class Told:
    """A yard after its entries: `state` as the field has it; by entry id what was `said` (a message) and the number of
    its reading; by that number why it was doubted; ids `struck`, `counted`, and `odd`: no walk of this plan made them.
    """

    state: Plain
    said: dict[str, Plain] = field(default_factory=dict)
    readings: dict[str, int] = field(default_factory=dict)
    doubts: dict[int, Plain] = field(default_factory=dict)
    struck: set[str] = field(default_factory=set)
    counted: set[str] = field(default_factory=set)
    odd: set[str] = field(default_factory=set)


def fold(document: Plain, entries: Sequence[Plain]) -> Told:
    """Every entry taken in order by the field's own walk, each one heard."""
    ordered = sorted((entry for entry in entries if fitting.is_entry(entry)), key=walk.order)
    struck = walk.struck_ids(ordered)
    told = Told(walk.start(), struck={entry["id"] for entry in ordered if walk.id_key(entry["id"]) in struck})
    for place, entry in enumerate(ordered):
        before = len(told.state["readings"])
        walk.advance(document, told.state, ordered, struck, place)
        if walk.is_repeated(ordered, place):
            continue
        if entry["kind"] == "strike":
            told.counted.add(entry["id"])
        elif entry["id"] not in told.struck:
            note(document, told, entry, before)
    return told


def note(document: Plain, told: Told, entry: Plain, before: int) -> None:
    """What came of an entry just taken; `before`: how many readings there were."""
    taken = carry.taken_as(document, entry)
    if taken is None or not is_fit(document, taken):
        if entry["revision"] == document["digest"]:
            told.odd.add(entry["id"])
        return
    told.counted.add(entry["id"])
    if len(told.state["readings"]) > before:
        told.readings[entry["id"]] = before
    if taken["kind"] in ("reading", "move"):
        hear(told, entry, told.state["acts"][f"{taken['step']}/{fitting.act_number(taken)}"])


def is_fit(document: Plain, taken: Plain) -> bool:
    """True for an entry that a walk of this plan can have made: its act, its points, lengths a tape can show."""
    if taken["kind"] in NO_ACT:
        return True
    act = acts.find_act(document, taken)
    return act is not None and bool(fitting.is_fit(document, taken, act))


def hear(told: Told, entry: Plain, record: Plain) -> None:
    """What was said once an entry was taken; what is doubted may be a reading before it."""
    again, said = record["again"], told.state["last"]
    if again and again["number"] >= 0:
        told.doubts[again["number"]] = again["suspect"]
        said = record["said"]
    elif again:
        said = again["suspect"]
    repeated = entry["kind"] == "move" and said is record["said"]  # said of the reading before
    if said and not repeated:
        told.said[entry["id"]] = said
