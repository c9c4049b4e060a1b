"""The checklist: what is set, squared, marked and staked, in the order of the work.

Which pull comes next is not known at the desk; the walk asks for it. An act is plain data: heed (read and do), set
(make a point), check (pulls, then moves until they hold), stake.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from server.field import network, points, square, tape
from server.model import STRING_BY_STRING, WHOLE_FRAME, Job, Message, Plain, Step, Yard

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
        _strings(job, yard),
        *(_marks(job, yard, beam) for beam in yard.beams),
        _sure(yard),
        *(_footing(job, yard, beam, m) for beam in yard.beams for m in range(1, len(beam["posts"]) + 1)),
        Step("keep", "keep", Message("walk.step.keep"), (_heed("keep"), _heed("holes"))),
        *(_tied_marks(job, yard, beam) for beam in yard.beams),
        _back(job, yard),
        *(_anchors(job, yard, beam) for beam in yard.beams),
    )


def readings(all_steps: tuple[Step, ...], way: str) -> list[Plain]:
    """Every reading of a way for the table on paper: what, inches, and the step it belongs to.

    What comes after digging is left out: but for the ties its readings are those the sheet has already.
    """
    table = []
    for step in all_steps:
        if step.after or (step.ways and way not in step.ways):
            continue
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
        "lit": [f"point-{it.get('as', point)}", *lit],
    }


def _pull(job: Job, yard: Yard, start: str, end: str, more: Plain | None = None) -> Plain:
    """One tape distance, with the length it has on the plan."""
    named = {"from": yard.points[start]["name"], "to": yard.points[end]["name"]}
    alone = _say("pull.alone") if job.crew == 1 else None
    return {
        "from": start,
        "to": end,
        "inches": points.planned(_plain(yard), start, end),
        "say": _say("pull", **named),
        "more": more or alone,
    }


def _plain(yard: Yard) -> Plain:
    return {"points": yard.points, "strings": yard.strings}


def _check(
    pulls: list[Plain], moves: list[str], about: str, shape: Plain | None = None, confirm: bool = True
) -> Plain:
    """Pulls that must hold; `moves` names the nails and marks that make them hold; `confirm`: again after a move."""
    return {
        "act": "check",
        "pulls": pulls,
        "moves": moves,
        "say": _say(f"check.{about}"),
        "shape": shape,
        "confirm": confirm,
        "lit": [],
    }


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
    return Step(f"{side}-string", "string", Message(f"walk.step.{side}-string"), tuple(acts), (STRING_BY_STRING,))


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
    yield Step("frame", "frame", Message("walk.step.frame"), tuple(acts), (STRING_BY_STRING,))


def _beam_string(job: Job, yard: Yard, beam: Plain) -> Step:
    """Stretch a beam's string between its boards, read the setback on both side strings, move until both hold."""
    n = beam["number"]
    acts = _beam_nails(yard, beam)
    pulls = [_pull(job, yard, "WL", f"X{n}L"), _pull(job, yard, "WR", f"X{n}R")]
    acts.append(_check(pulls, [f"B{n}L", f"B{n}R"], "beam"))
    return Step(f"beam-{n}", "beam", Message("walk.step.beam", {"n": str(n)}), tuple(acts), (STRING_BY_STRING,))


def _beam_nails(yard: Yard, beam: Plain) -> list[Plain]:
    n = beam["number"]
    return [
        _set(
            yard,
            f"B{n}{side}",
            f"beam-nail{_face(beam)}",
            reading=False,
            lit=(f"string-beam{n}",),
            line=beam["line"],
        )
        for side in ("L", "R")
    ]


def _face(beam: Plain) -> str:
    if beam["line"] == beam["setback"]:
        return ""
    return "-house-face" if beam["line"] < beam["setback"] else "-yard-face"


def _strings(job: Job, yard: Yard) -> Step:
    """Whole frame: every string by eye, the few pulls that tell where they all stand, all moves at once."""
    acts = [
        _set(yard, nail, "side-nail", reading=False, lit=(f"string-{side}",), corner=yard.points[corner]["name"])
        for nail, side, corner in (("NL", "left", "WL"), ("NR", "right", "WR"))
    ]
    for beam in yard.beams:
        acts += _beam_nails(yard, beam)
    pulls = []
    for beam in yard.beams:
        n = beam["number"]
        pulls += [("WL", f"X{n}L"), ("WR", f"X{n}R")]
    n = yard.beams[-1]["number"]
    if job.crew > 1:  # one alone hooks the tape on a nail: no nail is where two strings cross
        pulls.append((f"X{n}L", f"X{n}R"))
    pulls += [("WL", f"X{n}R"), ("WR", f"X{n}L")]
    fits = [pull for pull in pulls if points.planned(_plain(yard), *pull) <= job.tape]
    acts += [_set(yard, mark, "leg-on-wall") for mark in ("TL", "TR") if mark in yard.points]
    acts.append(_check([_pull(job, yard, *pull) for pull in fits], _nails(yard), "strings", confirm=False))
    return Step("strings", "string", Message("walk.step.strings"), tuple(acts), (WHOLE_FRAME,))


def _marks(job: Job, yard: Yard, beam: Plain) -> Step:
    """Flags by running dimension."""
    n = beam["number"]
    acts = [
        _set(yard, f"P{n}-{m}", "running", lit=(f"string-beam{n}",)) for m in range(1, len(beam["posts"]) + 1)
    ]
    return Step(f"marks-{n}", "footing", Message("walk.step.marks", {"n": str(n)}), tuple(acts))


def _sure(yard: Yard) -> Step:
    """The pulls that make every mark sure, one after the other, and the moves they find."""
    beams = []
    for beam in yard.beams:
        n = beam["number"]
        flags = [f"P{n}-{m}" for m in range(1, len(beam["posts"]) + 1)]
        beams.append({"nails": [f"B{n}L", f"B{n}R"], "flags": flags})
    seek = {
        "act": "seek",
        "marks": [flag for beam in beams for flag in beam["flags"]],
        "beams": beams,
        "pulls": [],
        "moves": [],
        "say": _say("check.sure"),
        "lit": [],
    }
    return Step("sure", "sure", Message("walk.step.sure"), (_heed("sure"), seek))


def _footing(job: Job, yard: Yard, beam: Plain, m: int) -> Step:
    """Plumb down from the flag, X, stake, two offset stakes."""
    n = beam["number"]
    mark = f"G{n}-{m}"
    lit = (f"string-beam{n}",)
    acts = []
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


def _tied_marks(job: Job, yard: Yard, beam: Plain) -> Step:
    """After a night, or before the pour: every staked mark tied to two wall marks."""
    n = beam["number"]
    acts = [_ties(job, yard, f"G{n}-{m}") for m in range(1, len(beam["posts"]) + 1)]
    return Step(f"ties-{n}", "tie", Message("walk.step.ties", {"n": str(n)}), tuple(acts), after="marks")


def _ties(job: Job, yard: Yard, name: str) -> Plain:
    """Two tapes from two wall marks fix a mark with no string; of those in reach, the two that cross it best."""
    mark = yard.points[name]
    walls = [wall for wall, point in yard.points.items() if point["kind"] == "wall"]
    near = [wall for wall in walls if points.planned(_plain(yard), wall, name) <= job.tape]
    pairs = [(one, other) for one in near for other in near if yard.points[one]["x"] < yard.points[other]["x"]]
    best = max(pairs, key=lambda pair: _crossing(yard, pair, mark), default=None)
    pulls = [_pull(job, yard, wall, name) for wall in best or near[:1]]
    return _check(pulls, [], "ties", confirm=False) | {"stands": name}


def _crossing(yard: Yard, pair: tuple[str, str], mark: Plain) -> float:
    """Sine of the angle under which two ties cross at a mark: how well they fix it."""
    (ax, ay), (bx, by) = ((yard.points[wall]["x"] - mark["x"], yard.points[wall]["y"] - mark["y"]) for wall in pair)
    return float(abs(ax * by - ay * bx) / (math.hypot(ax, ay) * math.hypot(bx, by)))


def _back(job: Job, yard: Yard) -> Step:
    """Strings back on their kerfs: three quick pulls (two more for each further beam) tell whether they are back.

    A setback at each corner sees the beam string's nails; a diagonal to the corner that footings are read from sees
    the side string's.
    """
    pulls = []
    for beam in yard.beams:
        n = beam["number"]
        pulls += [("WL", f"X{n}L"), ("WR", f"X{n}R")]
    last = yard.beams[-1]["number"]
    pulls.append(("WR", f"X{last}L"))
    if any(point.get("back") for point in yard.points.values()):
        pulls.append(("WL", f"X{last}R"))
    fits = [_pull(job, yard, *pull) for pull in pulls if points.planned(_plain(yard), *pull) <= job.tape]
    check = _check(fits, _nails(yard), "back") | {"back": True}
    return Step("back", "string", Message("walk.step.back"), (_heed("restring"), check), after="strings")


def _nails(yard: Yard) -> list[str]:
    return [name for name, point in yard.points.items() if point["kind"] == "nail"]


def _anchors(job: Job, yard: Yard, beam: Plain) -> Step:
    """Flag, plumb and set each anchor under the strings that are back, then tie it."""
    n = beam["number"]
    acts = []
    for m in range(1, len(beam["posts"]) + 1):
        lit = (f"string-beam{n}", f"point-G{n}-{m}")
        acts.append(_set(yard, f"R{n}-{m}", "running", lit=lit))
        acts.append(_set(yard, f"A{n}-{m}", "anchor", reading=False, lit=lit))
        acts.append(_ties(job, yard, f"A{n}-{m}"))
    return Step(f"anchors-{n}", "tie", Message("walk.step.anchors", {"n": str(n)}), tuple(acts), after="strings")
