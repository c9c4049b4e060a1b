"""The crew without a network: each side string squared with a 3-4-5 in feet from the wall, then running dimensions.

As a builder does it: 3 ft on the wall, 4 ft on the string, slide the nail until the closing side reads 5 ft as near as
can be seen; lay the setback off along both side strings, stretch the beam's string over those two marks, and read every
footing off it. Same yards, same tape, same hands as the crews that walk (`crew.py`). A slip in the closing side is
acted on like any reading, and mended by the next one. Common practice, no source.
"""

from __future__ import annotations

from server.field import tape
from server.model import Plain
from server.rehearse.crew import Crew, Hands
from server.rehearse.ground import Ground
from server.rehearse.walked import Slips, Walked, marks_of

THREE, FOUR, FIVE = 3.0, 4.0, 5.0  # feet, or lengths of 300 mm
SEEN = 1 / 32  # inches; closer than this the closing side reads right on a tape of sixteenths
MOST_TRIES = 20
SIDES = {"left": ("WL", "NL", 1.0), "right": ("WR", "NR", -1.0)}


def plain(document: Plain, hands: Hands, seed: int, number: int) -> Walked:
    """One yard laid out the plain way; it claims nothing, and nothing questions it."""
    foot = tape.foot(document["job"]["units"])
    crew = Crew(hands, plain_ground(document["yard"], foot), f"{seed} {number} plain", f"{seed} {number}")
    for name, point in document["yard"]["points"].items():
        if point["kind"] == "wall":
            crew.set(name)
    for side in SIDES:
        square_up(crew, side, foot)
    marks = marks_of(document)
    for name in (*setbacks(crew.ground), *flags_over(crew.ground, marks), *marks):
        crew.set(name)
    offs = tuple(crew.ground.off(mark) for mark in marks)
    made = sum(1 for reading in crew.readings if reading.slip)
    return Walked(offs, len(crew.readings), len(crew.ground.moves), None, Slips(made))


def plain_ground(yard: Plain, foot: float) -> Ground:
    """The yard with the legs of both 3-4-5s, and beam strings that run over a mark on each side string."""
    points, strings = dict(yard["points"]), dict(yard["strings"])
    for side, (corner, _, right) in SIDES.items():
        start = points[corner]["x"]
        points[f"wall leg {side}"] = wall_leg(corner, start, right * THREE * foot)
        points[f"string leg {side}"] = on_string(side, start, FOUR * foot)
        for name in [one for one in strings if one.startswith("beam")]:
            setback = points[f"X{name.removeprefix('beam')}L"]["y"]
            points[f"{name} {side}"] = on_string(side, start, setback)
    for name in [one for one in strings if one.startswith("beam")]:
        strings[name] = {"from": f"{name} left", "to": f"{name} right"}
    for name, point in yard["points"].items():
        if point["kind"] == "flag" and point["string"].startswith("beam"):
            points[name] = point | {"from": f"{point['string']} {'right' if point.get('back') else 'left'}"}
    return Ground(points, strings)


def wall_leg(corner: str, start: float, reading: float) -> Plain:
    return {"kind": "wall", "x": start + reading, "y": 0.0, "from": corner, "reading": reading}


def on_string(side: str, x: float, reading: float) -> Plain:
    """A mark on a side string, read from its wall mark."""
    return {"kind": "flag", "x": x, "y": reading, "string": side, "from": SIDES[side][0], "reading": reading}


def setbacks(ground: Ground) -> list[str]:
    """The marks on the side strings over which beam strings are stretched."""
    return [name for name, point in ground.points.items() if point["kind"] == "flag" and name.startswith("beam")]


def flags_over(ground: Ground, marks: list[str]) -> list[str]:
    """The flags that marks are plumbed down from."""
    return [ground.points[mark]["under"] for mark in marks]


def square_up(crew: Crew, side: str, foot: float) -> None:
    """Read the closing side, slide the nail, read again, until it is right as far as can be seen."""
    corner, nail, right = SIDES[side]
    leg, flag = f"wall leg {side}", f"string leg {side}"
    for name in (nail, leg, flag):
        crew.set(name)
    # A closing side that is long by 1 in. leans the string by 5/12 rad a foot: so far at the nail.
    lever = crew.ground.points[nail]["y"] * FIVE / (THREE * FOUR * foot)
    for _ in range(MOST_TRIES):
        long = crew.pull(leg, flag).inches - FIVE * foot
        if abs(long) <= SEEN:
            return
        crew.move(nail, complex(right * long * lever, 0))
