"""The yard of a job: wall marks, nails, strings, boards, crossings, flags and footing marks in the wall frame.

A string is a line between two nails or wall marks; a corner is where two strings cross; a mark hangs on a string.
Nothing here asks that the strings make a rectangle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from server.field import square, tape
from server.model import Beam, Frame, Job, Message, Plain, Yard

# Common practice, no source: what a tape and a hand can do (inches, one standard deviation).
SIGMA, SIGMA_PER_10_FT, SET = 1 / 16, 1 / 32, 1 / 32
BY_EYE = 12.0  # next to nothing is taken for granted of a nail set by eye
# Boards stand 2 to 4 ft beyond the deck's outer line, wide enough for a nail to slide 6 in. and more each way.
STAND_OFF, BOARD, LEAST_FRAME = 3.0, 2.0, 4.0  # feet, or lengths of 300 mm in a metric job
FACE = {"centre": 0.0, "house-face": -0.5, "yard-face": 0.5}


@dataclass
class Ground:
    """A yard while it is laid out; `foot` is 12 in. or 300 mm, `leg` the step of a triangle's legs."""

    job: Job
    foot: float
    leg: float
    points: dict[str, Plain] = field(default_factory=dict)
    strings: dict[str, Plain] = field(default_factory=dict)
    boards: dict[str, Plain] = field(default_factory=dict)
    findings: list[Message] = field(default_factory=list)

    def add(self, name: str, kind: str, x: float, y: float, **rest: Any) -> None:
        """A point: `word` and `slots` make its name when there is more than one of its sort; the rest is its own."""
        word, slots = rest.pop("word", name), rest.pop("slots", {})
        named = {"word": f"walk.name.{word}", "slots": slots}
        self.points[name] = {"kind": kind, "x": x, "y": y, "name": named, **rest}

    def nail(self, name: str, x: float, y: float, board: list[float], at: str, **rest: Any) -> None:
        """A nail and the board it slides along."""
        self.add(name, "nail", x, y, board=board, **rest)
        self.boards[at] = {"nail": name, "x": x, "y": y, "along": board, "length": BOARD * self.foot}


def yard(job: Job, frame: Frame) -> Yard:
    """Every point, string and board of a job; findings name each check the tape is too short for."""
    ground = Ground(job, tape.foot(job.units), tape.leg(job.units))
    lay_wall(ground)
    lay_sides(ground)
    triangles = lay_triangles(ground)
    beams = tuple(beam_plan(beam, job) for beam in frame.beams)
    check = lay_frame_check(ground, beams[-1]["line"])
    for beam, plan in zip(frame.beams, beams, strict=True):
        lay_beam(ground, beam, plan["line"])
    limits: Plain = {"length": job.tape, "sigma": SIGMA, "sigma_per_10_ft": SIGMA_PER_10_FT, "set": SET, "eye": BY_EYE}
    return Yard(
        ground.points,
        ground.strings,
        ground.boards,
        triangles,
        check,
        beams,
        limits,
        job.tolerance,
        tuple(ground.findings),
    )


def outline(job: Job) -> list[list[float]]:
    """The deck's corners in order, seen facing the house from the left wall mark."""
    return [[0.0, 0.0], [job.width, 0.0], [job.width, job.out], [0.0, job.out]]


def plain(yard: Yard) -> Plain:
    """The part of a yard that the field math reads, as a document carries it."""
    return {
        "tolerance": yard.tolerance,
        "tape": dict(yard.tape),
        "points": {name: dict(point) for name, point in yard.points.items()},
        "strings": {name: dict(string) for name, string in yard.strings.items()},
        "boards": {name: dict(board) for name, board in yard.boards.items()},
    }


def beam_plan(beam: Beam, job: Job) -> Plain:
    """Where a beam's string runs: on its centre line or on one of its faces."""
    line = beam.setback + FACE[job.string_face] * beam.thickness
    return {
        "number": beam.number,
        "setback": beam.setback,
        "line": line,
        "thickness": beam.thickness,
        "posts": list(beam.posts),
    }


def lay_wall(ground: Ground) -> None:
    """The deck's ends on the wall; a middle mark where the tape is shorter than the deck is wide."""
    job = ground.job
    ground.add("WL", "wall", 0.0, 0.0, **{"from": None, "reading": 0.0})
    if job.width > job.tape:
        half = math.floor(job.width / 2 / ground.leg) * ground.leg
        ground.add("WM", "wall", half, 0.0, **{"from": "WL", "reading": half})
    wall_mark(ground, "WR", job.width)


def wall_mark(ground: Ground, name: str, x: float) -> None:
    """A wall mark by a running dimension from the left mark, or from the middle mark where the tape ends."""
    start = "WM" if x > ground.job.tape else "WL"
    ground.add(name, "wall", x, 0.0, **{"from": start, "reading": x - ground.points[start]["x"]})


def lay_sides(ground: Ground) -> None:
    """The side strings, from each wall mark out past the deck."""
    far = ground.job.out + STAND_OFF * ground.foot
    for name, corner, nail, x in (("left", "WL", "NL", 0.0), ("right", "WR", "NR", ground.job.width)):
        ground.nail(nail, x, far, [1.0, 0.0], at=name)
        ground.strings[name] = {"from": corner, "to": nail}


def lay_triangles(ground: Ground) -> dict[str, Plain]:
    """For each side string: nail, corner, the mark on the wall, the flag on the string, legs and closing side."""
    job = ground.job
    string = ground.points["NL"]["y"] - BOARD * ground.foot / 4
    legs = square.triangle(job.width, string, job.tape, ground.leg)
    whole = abs(legs["a"] - job.width) < 1e-6
    if not whole:
        wall_mark(ground, "TL", legs["a"])
        wall_mark(ground, "TR", job.width - legs["a"])
    for flag, side, corner, x in (("SL", "left", "WL", 0.0), ("SR", "right", "WR", job.width)):
        ground.add(flag, "flag", x, legs["b"], string=side, **{"from": corner, "reading": legs["b"]})
    return {
        "left": {**legs, "corner": "WL", "mark": "WR" if whole else "TL", "flag": "SL", "nail": "NL"},
        "right": {**legs, "corner": "WR", "mark": "WL" if whole else "TR", "flag": "SR", "nail": "NR"},
    }


def lay_frame_check(ground: Ground, outer: float) -> Plain:
    """Far width and both diagonals between a flag on each side string, as far out as beams and tape let them be.

    {"left", "right": flags, "at": distance from the wall, "pulls": [(from, to)], "diagonal": inches or 0}, or {} when
    the tape is shorter than the deck is wide.
    """
    job = ground.job
    if job.width > job.tape:
        ground.findings.append(Message("walk.finding.no-width", {"width": job.width, "tape": job.tape}))
        return {}
    at = outer
    if square.length(job.width, at) > job.tape:
        at = math.floor(math.sqrt(job.tape**2 - job.width**2) / ground.leg) * ground.leg
    diagonal = square.length(job.width, at)
    if at < min(LEAST_FRAME * ground.foot, outer):
        at, diagonal = outer, 0.0
        ground.findings.append(Message("walk.finding.no-diagonals", {"tape": job.tape}))
    left, right = far_flag(ground, "left", "L", 0.0, at), far_flag(ground, "right", "R", job.width, at)
    diagonals = [("WL", right), ("WR", left)] if diagonal else []
    return {"left": left, "right": right, "at": at, "pulls": [(left, right), *diagonals], "diagonal": diagonal}


def far_flag(ground: Ground, side: str, letter: str, x: float, at: float) -> str:
    """The flag's name; the triangle's own flag serves where it hangs at the same place."""
    if abs(ground.points[f"S{letter}"]["reading"] - at) < 1e-6:
        return f"S{letter}"
    ground.add(f"F{letter}", "flag", x, at, string=side, **{"from": f"W{letter}", "reading": at})
    return f"F{letter}"


def lay_beam(ground: Ground, beam: Beam, line: float) -> None:
    """Nails, boards, string, corners and footing marks of one beam."""
    n, job, off = beam.number, ground.job, STAND_OFF * ground.foot
    slots = {"n": str(n)}
    for side, x in (("L", -min(off, job.room_left)), ("R", job.width + min(off, job.room_right))):
        ground.nail(f"B{n}{side}", x, line, [0.0, 1.0], at=f"B{n}{side}", word=f"B{side}", slots=slots)
    ground.strings[f"beam{n}"] = {"from": f"B{n}L", "to": f"B{n}R"}
    for side, string, x in (("L", "left", 0.0), ("R", "right", job.width)):
        ground.add(f"X{n}{side}", "crossing", x, line, word=f"X{side}", slots=slots, strings=[string, f"beam{n}"])
    for m, x in enumerate(beam.posts, 1):
        lay_footing(ground, beam, line, m, x)


def lay_footing(ground: Ground, beam: Beam, line: float, m: int, x: float) -> None:
    """A flag at its running dimension from the left string (from the right one where the tape ends), and the mark
    on the ground under it; a string on the beam's face has the footing's centre half the beam away. The same again for
    the anchor that is set when the strings are back."""
    n = beam.number
    slots = {"n": str(n), "m": str(m)}
    if x > ground.job.tape:
        read: Plain = {"from": f"X{n}R", "reading": ground.job.width - x, "back": True}
    else:
        read = {"from": f"X{n}L", "reading": x}
    ground.add(f"P{n}-{m}", "flag", x, line, word="P", slots=slots, string=f"beam{n}", **read)
    aside = beam.setback - line
    offset = {"offset": [0.0, aside]} if aside else {}
    ground.add(f"G{n}-{m}", "ground", x, beam.setback, word="G", slots=slots, under=f"P{n}-{m}", **offset)
    again: Plain = {"after": "strings", "slots": slots}
    ground.add(f"R{n}-{m}", "flag", x, line, word="P", string=f"beam{n}", **read, **again, **{"as": f"P{n}-{m}"})
    under = f"R{n}-{m}"
    ground.add(f"A{n}-{m}", "ground", x, beam.setback, word="A", under=under, **offset, **again, **{"as": f"G{n}-{m}"})
