"""The field book as a log: every entry as a sentence in trade words, what was said of it, whether it still counts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from server.field import acts, asks, readings, square, walk
from server.model import Plain
from server.report_fold import Told, is_fit

LEAST = readings.LEAST / 2  # less is not seen on a tape


def log(document: Plain, told: Told, entries: Sequence[Plain], others: Mapping[str, Plain]) -> Plain:
    """{"log": rows in the order of the book, "phones", "revisions", "moves", "last": newest row or None}."""
    ordered = sorted(entries, key=walk.order)
    numbers = phone_numbers(ordered)
    titles = {step["id"]: step["title"] for step in document["steps"]}
    rows, by_id = [], {}
    for entry in ordered:
        home = document if entry["revision"] == document["digest"] else others.get(entry["revision"])
        row = entry_row(entry, home, told) | {"phone": numbers[entry["device"]], "mine": home is document}
        row["title"] = titles.get(entry["step"]) or step_title(home, entry["step"])
        row["back"] = None
        rows.append(row)
        by_id[row["id"]] = row
    for entry, row in zip(ordered, rows, strict=True):
        take_back(entry, row, by_id)
    return {
        "log": rows, "phones": phones(rows, numbers), "revisions": revisions(rows, document),
        "moves": [row for row in rows if row["kind"] == "move" and row["counts"]], "last": rows[-1] if rows else None,
    }


def phone_numbers(ordered: Iterable[Plain]) -> dict[str, int]:
    """Phones counted from 1 in the order of their first entries."""
    numbers: dict[str, int] = {}
    for entry in ordered:
        numbers.setdefault(entry["device"], len(numbers) + 1)
    return numbers


def step_title(home: Plain | None, step_id: str) -> Plain | None:
    """The title of a step of another revision, None when it has none."""
    step = acts.find_step(home, step_id) if home else None
    return dict(step["title"]) if step else None


def entry_row(entry: Plain, home: Plain | None, told: Told) -> Plain:
    """One entry: who, when, on which revision, what was done, what was said, and whether and why not it counts."""
    struck = entry["id"] in told.struck
    reading = told.readings.get(entry["id"])
    kept = told.state["readings"][reading] if reading is not None else None
    return {
        "id": entry["id"], "n": entry["n"], "device": entry["device"], "at": entry["at"],
        "revision": entry["revision"], "step": entry["step"], "kind": entry["kind"],
        "point": str(entry.get("point", "")), "say": sentence_of(entry, home), "said": told.said.get(entry["id"]),
        "struck": struck, "counts": entry["id"] in told.counted, "why": why_not(entry, told),
        "status": kept["status"] if kept else "",
        "doubt": doubt_of(told, reading), "strikes": str(entry.get("strikes", "")),
    }


def doubt_of(told: Told, reading: int | None) -> Plain | None:
    """Why a reading was doubted by a check, or not weighed since two phones did not know of each other."""
    if reading is None:
        return None
    return told.doubts.get(reading) or told.state["readings"][reading].get("why")


def why_not(entry: Plain, told: Told) -> str:
    """Why an entry does not count: taken back, of another revision, one no walk could have made; "" when it does."""
    if entry["id"] in told.counted:
        return ""
    if entry["id"] in told.struck:
        return "struck"
    return "odd" if entry["id"] in told.odd else "revision"


def take_back(entry: Plain, row: Plain, by_id: Mapping[str, Plain]) -> None:
    """A strike names the entry it takes back; that one knows who took it back."""
    if entry["kind"] != "strike":
        return
    gone = by_id.get(entry["strikes"])
    if gone is None:
        return
    row["say"] = {"key": "report.did.strike", "slots": {"what": word(gone["say"])}}
    gone["struck"] = True
    gone["back"] = {"phone": row["phone"], "at": row["at"]}


def phones(rows: Sequence[Plain], numbers: Mapping[str, int]) -> list[Plain]:
    """Every phone: its number, its entries, when its first and its last were made by its own clock."""
    found: dict[int, Plain] = {}
    for row in rows:
        mine = found.setdefault(row["phone"], {"phone": row["phone"], "count": 0, "first": row["at"], "last": ""})
        mine |= {"count": mine["count"] + 1, "last": row["at"]}
    return [found[number] for number in numbers.values()]


def revisions(rows: Sequence[Plain], document: Plain) -> list[Plain]:
    """Every revision that entries were taken on, and how many; whether it is the one reported on."""
    found: dict[str, int] = {}
    for row in rows:
        found[row["revision"]] = found.get(row["revision"], 0) + 1
    return [{"digest": one, "count": count, "mine": one == document["digest"]} for one, count in found.items()]


def word(message: Plain) -> Plain:
    """A message as a slot of another."""
    return {"word": message["key"], "slots": message.get("slots", {})}


def say(key: str, **slots: Any) -> Plain:
    return {"key": f"report.did.{key}", "slots": slots}


def sentence_of(entry: Plain, home: Plain | None) -> Plain:
    """What was done, as a message. Names come from the document the entry was made on; without it, as they stand."""
    kind = entry["kind"]
    if kind == "way":
        return say("way", way={"word": "report.way." + entry["way"].replace(" ", "-")})
    if kind == "after":
        return say(f"after.{entry['what']}")
    if kind == "note":
        return say("note", text=str(entry.get("text", ""))[:400])
    if kind == "strike":
        return say("strike-unknown")
    if kind == "heed":
        return heeded(entry, home)
    if kind == "reading":
        return pulled(entry, home)
    point = name_of(entry["point"], home)
    if kind == "move":
        return say("move." + asks.arrow_of(entry["by"]), point=point, amount=square.length(*entry["by"]))
    if kind == "stake":
        return staked(entry, point)
    return say("set", point=point)


def heeded(entry: Plain, home: Plain | None) -> Plain:
    """Something read and seen to: the sentence that was read."""
    act = acts.find_act(home, entry) if home is not None and is_fit(home, entry) else None
    if act is None:
        return say("heed-unknown")
    return say("heed", what=word(act["say"]))


def pulled(entry: Plain, home: Plain | None) -> Plain:
    """A pull and what it read, or why it could not be taken."""
    ends = {"from": name_of(entry["from"], home), "to": name_of(entry["to"], home)}
    if "cannot" in entry:
        return say("cannot." + entry["cannot"].replace(" ", "-"), **ends)
    key = "held" if entry.get("held") is True else "reading"
    return say(key, **ends, reading=float(entry["inches"]))


def staked(entry: Plain, point: Plain | str) -> Plain:
    """Staked on the mark, or off it to which sides."""
    off = entry.get("off")
    if off is None or max(abs(off[0]), abs(off[1])) < LEAST:
        return say("stake", point=point)
    return say("stake-off", point=point, off=word(sides(off)))


def sides(off: Sequence[float]) -> Plain:
    """How far off and to which sides, as a message; "in its place" where a tape would not show it."""
    parts = [side for side in (one_side(off[0], "left", "right"), one_side(off[1], "toward", "away")) if side]
    if not parts:
        return {"key": "report.side.none", "slots": {}}
    if len(parts) == 1:
        return parts[0]
    return {"key": "report.side.both", "slots": {"across": word(parts[0]), "out": word(parts[1])}}


def one_side(off: float, minus: str, plus: str) -> Plain | None:
    """One way, None below what a tape shows."""
    if abs(off) < LEAST:
        return None
    return {"key": f"report.side.{minus if off < 0 else plus}", "slots": {"amount": abs(off)}}


def name_of(name: str, home: Plain | None) -> Plain | str:
    """A point's name as a slot; the bare name where the document is not known or does not have it."""
    point = home["yard"]["points"].get(name) if home else None
    return {"word": point["name"]["word"], "slots": point["name"].get("slots", {})} if point else name
