"""The checklist: what is set, squared, marked and staked, in the order of the work.

Which pull comes next is not known at the desk; the walk asks for it. An act is plain data: heed (read and do), set
(make a point), check (pulls, then moves until they hold), stake.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from server.field import network, square, tape
from server.model import Job, Message, Plain, Step, Yard

OFFSET_STAKE = 2.0  # feet, or lengths of 300 mm: two stakes this far either side of a footing outlive the hole


def steps(job: Job, yard: Yard) -> tuple[Step, ...]:
    """Every step of the walk, from the cautions before digging to keeping the marks."""
    return (
        *_cautions(job),
        _wall(yard),
        _boards(yard),
        _side_string(job, yard, "left"),
        _side_string(job, yard, "right"),
        *_frame(job, yard),
        *(_beam_string(job, yard, beam) for beam in yard.beams),
        *(_footing(job, yard, beam, m) for beam in yard.beams for m in range(1, len(beam["posts"]) + 1)),
        Step("keep", "keep", Message("walk.step.keep"), (_heed("keep"), _heed("holes"))),
    )


def readings(all_steps: tuple[Step, ...]) -> list[Plain]:
    """Every reading of the walk for the table on paper: what, inches, and the step it belongs to."""
    table = []
    for step in all_steps:
        for act in step.acts:
            rows = act.get("pulls", [act])
            table += [
                {"what": row["say"], "inches": row["inches"], "group": step.id}
                for row in rows
                if row.get("inches") is not None
            ]
    return table


def _say(key: str, **slots: Any) -> Plain:
    return {"key": f"walk.{key}", "slots": slots}


def _heed(key: str, lit: tuple[str, ...] = (), **slots: Any) -> Plain:
    return {
        "act": "heed",
        "say": _say(f"heed.{key}", **slots),
        "more": _say(f"heed.{key}.more", **slots),
        "lit": list(lit),
    }


def _cautions(job: Job) -> Iterator[Step]:
    wall = ("ledger",) if job.attached else ("standing",)
    for key in ("permit", "utilities", "overhead", *wall):
        yield Step(key, "caution", Message(f"walk.step.{key}"), (_heed(key),))


def _set(yard: Yard, point: str, key: str, reading: bool = True, lit: tuple[str, ...] = (), **slots: Any) -> Plain:
    """Make a point: by eye, or at the reading it carries from the point it is read from."""
    it = yard.points[point]
    named = {"point": it["name"], **slots}
    if reading and it.get("from"):
        named |= {"from": yard.points[it["from"]]["name"]}
    return {
        "act": "set",
        "point": point,
        "say": _say(f"set.{key}", **named),
        "more": _say(f"set.{key}.more", **named),
        "inches": it["reading"] if reading else None,
        "lit": [f"point-{point}", *lit],
    }


def _pull(job: Job, yard: Yard, start: str, end: str, more: Plain | None = None) -> Plain:
    """One tape distance, with the length it has on the plan."""
    named = {"from": yard.points[start]["name"], "to": yard.points[end]["name"]}
    data = {"points": yard.points, "strings": yard.strings}
    alone = _say("pull.alone") if job.crew == 1 else None
    return {
        "from": start,
        "to": end,
        "inches": network.distance(data, {}, start, end),
        "say": _say("pull", **named),
        "more": more or alone,
    }


def _check(pulls: list[Plain], moves: list[str], about: str, shape: Plain | None = None) -> Plain:
    """Pulls that must hold; `moves` names the nails and marks that make them hold."""
    return {"act": "check", "pulls": pulls, "moves": moves, "say": _say(f"check.{about}"), "shape": shape, "lit": []}


def _wall(yard: Yard) -> Step:
    marks = [_set(yard, name, "wall-mark") for name in ("WM", "WR") if name in yard.points]
    first = _set(yard, "WL", "first-mark", reading=False)
    return Step("wall", "wall", Message("walk.step.wall"), (first, *marks, _heed("straight", ("house",))))


def _boards(yard: Yard) -> Step:
    return Step("boards", "boards", Message("walk.step.boards"), tuple(_build(yard, name) for name in yard.boards))


def _build(yard: Yard, name: str) -> Plain:
    """Build one batter board: where its middle stands from a wall mark, and how long it is."""
    board, points = yard.boards[name], yard.points
    nail = points[board["nail"]]["name"]
    if board["along"][0]:
        corner = points[yard.strings[name]["from"]]["name"]
        return _heed("board-side", (f"board-{name}",), nail=nail, corner=corner, out=board["y"], length=board["length"])
    left = board["x"] < 0
    past = -board["x"] if left else board["x"] - points["WR"]["x"]
    return _heed(
        "board-beam",
        (f"board-{name}",),
        nail=nail,
        corner=points["WL" if left else "WR"]["name"],
        past=past,
        side={"word": "walk.side.left" if left else "walk.side.right"},
        out=board["y"],
        length=board["length"],
    )


def _side_string(job: Job, yard: Yard, side: str) -> Step:
    """Tie, set by eye, mark the legs, pull the closing side."""
    legs = yard.triangles[side]
    nail, flag, corner = legs["nail"], legs["flag"], legs["corner"]
    acts = [_set(yard, nail, "side-nail", reading=False, lit=(f"string-{side}",), corner=yard.points[corner]["name"])]
    if legs["mark"] not in ("WL", "WR"):
        acts.append(_set(yard, legs["mark"], "leg-on-wall"))
    acts.append(_set(yard, flag, "flag", lit=(f"string-{side}",)))
    doubt = network.SURE * yard.points[nail]["y"] * square.angle_sigma(legs["a"], legs["b"], dict(yard.tape))
    more = _say("pull.triangle", a=legs["a"], b=legs["b"], doubt=doubt)
    acts.append(_check([_pull(job, yard, legs["mark"], flag, more)], [nail], side))
    return Step(f"{side}-string", "string", Message(f"walk.step.{side}-string"), tuple(acts))


def _frame(job: Job, yard: Yard) -> Iterator[Step]:
    """Far width, then both diagonals; no step where the tape is too short for the width."""
    check = yard.frame_check
    if not check:
        return
    sides = (("left", check["left"]), ("right", check["right"]))
    acts = [_set(yard, flag, "flag", lit=(f"string-{side}",)) for side, flag in sides if flag.startswith("F")]
    shape = None
    if check["diagonal"]:
        two_readings = math.sqrt(2) * network.SURE * square.tape_sigma(check["diagonal"], dict(yard.tape))
        shape = {"near": job.width, "diagonal": check["diagonal"], "doubt": two_readings}
    pulls = [_pull(job, yard, start, end) for start, end in check["pulls"]]
    acts.append(_check(pulls, ["NL", "NR"], "frame", shape))
    yield Step("frame", "frame", Message("walk.step.frame"), tuple(acts))


def _beam_string(job: Job, yard: Yard, beam: Plain) -> Step:
    """Stretch a beam's string between its boards, read the setback on both side strings, move until both hold."""
    n = beam["number"]
    lit = (f"string-beam{n}",)
    face = _face(beam)
    acts = [
        _set(yard, f"B{n}{side}", f"beam-nail{face}", reading=False, lit=lit, line=beam["line"]) for side in ("L", "R")
    ]
    pulls = [_pull(job, yard, "WL", f"X{n}L"), _pull(job, yard, "WR", f"X{n}R")]
    acts.append(_check(pulls, [f"B{n}L", f"B{n}R"], "beam"))
    return Step(f"beam-{n}", "beam", Message("walk.step.beam", {"n": str(n)}), tuple(acts))


def _face(beam: Plain) -> str:
    if beam["line"] == beam["setback"]:
        return ""
    return "-house-face" if beam["line"] < beam["setback"] else "-yard-face"


def _footing(job: Job, yard: Yard, beam: Plain, m: int) -> Step:
    """Flag by running dimension, read back from the far string, plumb down, X, stake, two offset stakes."""
    n = beam["number"]
    flag, mark = f"P{n}-{m}", f"G{n}-{m}"
    lit = (f"string-beam{n}",)
    acts = [_set(yard, flag, "running", lit=lit)]
    far = f"X{n}L" if yard.points[flag].get("back") else f"X{n}R"
    if network.distance({"points": yard.points, "strings": yard.strings}, {}, far, flag) <= job.tape:
        acts.append(_check([_pull(job, yard, far, flag)], [flag], "running"))
    plumb = _set(yard, mark, f"plumb{_face(beam)}", reading=False, lit=lit, half=beam["thickness"] / 2)
    acts.append(plumb | ({"inches": beam["thickness"] / 2} if _face(beam) else {}))
    acts.append(
        {
            "act": "stake",
            "point": mark,
            "say": _say("stake", point=yard.points[mark]["name"]),
            "more": _say("stake.more"),
            "lit": [f"point-{mark}"],
        }
    )
    away = OFFSET_STAKE * tape.foot(job.units)
    acts.append(_heed("offset-stakes", (f"point-{mark}",), point=yard.points[mark]["name"], away=away))
    slots = {"n": str(n), "m": str(m)}
    return Step(f"footing-{n}-{m}", "footing", Message("walk.step.footing", slots), tuple(acts))
