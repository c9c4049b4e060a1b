"""The yard as the desk sees it: every point, every footing mark against the plan, what is unfinished, who did what.

A document and the entries of its job in, plain data out; messages are keys with slots. Lengths are inches in the wall
frame; every radius is a 95 % radius rounded up to what a tape shows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from server import report_log
from server.field import points, readings, tape, together, walk
from server.model import Message, Plain
from server.report_fold import Told, fold

MADE = ("set", "true", "staked", "off", "twice")


def report(document: Plain, entries: Sequence[Plain], others: Mapping[str, Plain] | None = None) -> Plain:
    """The whole report; `others` are documents of other revisions by digest, to name what their entries name."""
    told = fold(document, entries)
    truth = walk.truth(document, told.state)
    book = report_log.log(document, told, entries, others or {})
    rows = [point_row(document, told.state, truth, name) for name in document["yard"]["points"]]
    marks = [mark_row(document, told, truth, book, row) for row in rows if row["kind"] == "ground"]
    report = {
        "digest": document["digest"], "tolerance": document["yard"]["tolerance"], "true": truth["true"],
        "way": truth["way"], "points": rows, "marks": [mark for mark in marks if not mark["anchor"]],
        "anchors": [mark for mark in marks if mark["anchor"] and mark["state"] != "open"],
        "strings": string_rows(document, rows), "steps": walk.step_list(document, told.state),
        "together": [*doubtful(document, told.state), *truth["together"]],
        "now": now(document, told.state, len(told.counted)), "counts": counts(told, book), **book,
    }
    return report | {"unfinished": [message.plain() for message in unfinished(document, report)]}


def point_row(document: Plain, state: Plain, truth: Plain, name: str) -> Plain:
    """One point: its state, its plan, and where it stands when it was made."""
    yard = document["yard"]
    point, here = yard["points"][name], truth["points"].get(name)
    now = point_state(yard, state, truth, name)
    row = {
        "point": name, "name": said_name(point), "kind": point["kind"], "state": now, "plan": [point["x"], point["y"]],
        "found": None, "off": None, "within": None, "doubt": None, "inside": False,
        "knocked": name in state["knocked"] or name in state["loose"],
    }
    if now not in MADE:
        return row
    units = document["job"]["units"]
    return row | {
        "found": [here["x"], here["y"]], "off": [here["x"] - point["x"], here["y"] - point["y"]],
        "within": tape.at_least(here["within"], units), "doubt": tape.at_least(here["doubt"], units),
        "inside": here["within"] <= yard["tolerance"],
    }


def said_name(point: Plain) -> Plain:
    return {"key": point["name"]["word"], "slots": point["name"].get("slots", {})}


def point_state(yard: Plain, state: Plain, truth: Plain, name: str) -> str:
    """open: not made; gone: went down with its string; set; true: set and inside the tolerance; staked; off: staked
    off its mark by so much; twice: staked by two phones that did not know of each other."""
    if name in state["gone"]:
        return "gone"
    crossing = yard["points"][name]["kind"] == "crossing"
    if name not in (truth["corners"] if crossing else state["born"]):
        return "open"
    mark = state["marks"].get(name)
    if mark is not None and mark["staked"]:
        if not together.is_staked_once(state, name):
            return "twice"
        return "staked" if mark["off"] is None else "off"
    return "true" if truth["points"][name]["within"] <= yard["tolerance"] else "set"


def mark_row(document: Plain, told: Told, truth: Plain, book: Plain, row: Plain) -> Plain:
    """A footing mark or an anchor: how it stands, what its numbers are reckoned from, who made it and when."""
    name, state = row["point"], told.state
    mark = state["marks"].get(name)
    mine = [one for one in book["log"] if one["counts"] and one["point"] == name and one["kind"] in ("set", "stake")]
    bearing = [one for one in readings.live_readings(state) if bears_on(document["yard"], one, name)]
    flag = document["yard"]["points"][name]["under"]
    made = {one["point"] for one in book["log"] if one["counts"] and one["kind"] == "set"}
    return row | {
        "anchor": bool(document["yard"]["points"][name].get("after")),
        "flagged": row["state"] == "open" and (flag in made or flag in truth["corners"]),
        "staked_off": mark["off"] if mark else None,
        "pulls": len(bearing), "ties": sum(name in (one["from"], one["to"]) for one in bearing),
        "phone": mine[-1]["phone"] if mine else 0, "at": mine[-1]["at"] if mine else "",
    }


def bears_on(yard: Plain, reading: Plain, name: str) -> bool:
    """True when a reading tells of something that a point hangs on."""
    if name in (reading["from"], reading["to"]):
        return True
    mine = set(points.hangs_on(yard, name))
    return any(mine & set(points.hangs_on(yard, end)) for end in (reading["from"], reading["to"]))


def string_rows(document: Plain, rows: Sequence[Plain]) -> list[Plain]:
    """Each string: open until both its ends are set, true when both stand inside the tolerance."""
    by_name = {row["point"]: row for row in rows}
    found = []
    for name, string in document["yard"]["strings"].items():
        ends = [by_name[string["from"]], by_name[string["to"]]]
        up = all(end["state"] in MADE for end in ends)
        inside = all(end["inside"] for end in ends)
        found.append({"string": name, "state": "open" if not up else "true" if inside else "set"})
    return found


def now(document: Plain, state: Plain, counted: int) -> Plain:
    """What is asked next in the yard, and the parts of the drawing it is about; nothing before the first entry."""
    ask = walk.next_ask(document, state)
    if counted == 0 or ask["ask"] == "end":
        return {"say": None, "step": "", "lit": []}
    return {"say": ask["say"], "step": ask["step"], "lit": ask["lit"]}


def counts(told: Told, book: Plain) -> Plain:
    """Readings kept and what became of them, and moves."""
    status = [one["status"] for one in told.state["readings"]]
    taken_back = [one for one in book["log"] if one["kind"] == "reading" and one["struck"] and one["mine"]]
    return {
        "readings": len(status), "live": status.count("live"), "struck": status.count("struck"),
        "aside": status.count("aside"), "apart": status.count("apart"), "past": status.count("past"),
        "back": len(taken_back), "cannot": sum(1 for why in told.state["cannot"].values() if why),
        "moves": told.state["moves"],
    }


def doubtful(document: Plain, state: Plain) -> list[Plain]:
    """Points that are to be set again, since another phone upset meanwhile what they hang on; each says which."""
    found = []
    for name in sorted(state["doubtful"]):
        point = report_log.word(said_name(document["yard"]["points"][name]))
        slots = {"point": point, "why": report_log.word(state["doubtful"][name])}
        found.append({"key": "report.open.again", "slots": slots})
    return found


def unfinished(document: Plain, report: Plain) -> list[Message]:
    """What is not done or not true, the gravest first; nothing when all of it is."""
    if not any(one["counts"] for one in report["log"]):
        return [Message("report.open.nothing"), *uncounted(report)]
    marks, tolerance = report["marks"], document["yard"]["tolerance"]
    total = str(len(marks))
    unset = [mark for mark in marks if mark["state"] == "open"]
    unstaked = [mark for mark in marks if mark["state"] in ("set", "true")]
    over = [mark for mark in marks if mark["state"] in MADE and not mark["inside"]]
    found = [Message(one["key"], one["slots"]) for one in report["together"]]
    if unset:
        found.append(Message("report.open.unset", {"count": str(len(unset)), "of": total}))
    if unstaked:
        found.append(Message("report.open.unstaked", {"count": str(len(unstaked)), "of": total}))
    for mark in over:
        slots = {"point": report_log.word(mark["name"]), "within": mark["within"], "tolerance": tolerance}
        found.append(Message("report.open.over", slots))
    knocked = [report_log.word(mark["name"]) for mark in marks if mark["knocked"]]
    found += [Message("report.open.knocked", {"point": name}) for name in knocked]
    return [*found, *open_steps(report), *uncounted(report)]


def open_steps(report: Plain) -> list[Message]:
    """Steps not done, counted; steps closed without every check, each named."""
    waiting = [step for step in report["steps"] if step["state"] == "open"]
    unsure = [step for step in report["steps"] if step["state"] == "unsure"]
    slots = {"count": str(len(waiting)), "of": str(len(report["steps"]))}
    found = [Message("report.open.steps", slots)] if waiting else []
    return found + [Message("report.open.unsure", {"step": report_log.word(step["title"])}) for step in unsure]


def uncounted(report: Plain) -> list[Message]:
    """Entries that are kept but not reckoned with here."""
    found = []
    other = sum(1 for one in report["log"] if one["why"] == "revision")
    odd = sum(1 for one in report["log"] if one["why"] == "odd")
    if other:
        found.append(Message("report.open.revision", {"count": str(other)}))
    if odd:
        found.append(Message("report.open.odd", {"count": str(odd)}))
    return found

