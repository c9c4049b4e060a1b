"""What must agree between the parts of a job: setbacks inside the deck, posts on their beam, a tape that reaches.

Each check takes what could be read (a part that could not is simply absent) and gives faults. Lengths are inches.
"""
from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Set
from typing import Any

from server.errors import Fault
from server.model import Plain

CHOOSE = "choose"
MOST_BEAMS = 4
MOST_PATCHES = 12
MOST_POSTS = 24
APART = 12.0
PLY = 1.5  # dressed thickness of one ply; a string on the yard face runs half the beam farther out
NAME_LENGTH = 80
INVISIBLE = {"Cf", "Zs", "Mn", "Me"}
UNPRINTABLE = {"Cc", "Cs", "Zl", "Zp"}
SLACK = 1e-9
SUM_SLACK = 2e-6  # a written job keeps lengths to a millionth of an inch; an edge is the sum of two


def name_fault(name: str) -> str:
    """The code of what is wrong with a name, or ""."""
    kinds = [unicodedata.category(char) for char in name]
    if any(kind in UNPRINTABLE for kind in kinds):
        return "name-control"
    if all(kind in INVISIBLE for kind in kinds):
        return "name-empty"
    return "name-long" if len(name) > NAME_LENGTH else ""


def check(data: Plain, known: Set[str]) -> Iterator[Fault]:
    """Every disagreement; `known` are the places that already have a fault."""
    if data.get("beams") == CHOOSE:
        yield from check_choose(data, known)
    elif "beams" in data and "beams" not in known:
        yield from check_beam_count(data)
        for index, beam in enumerate(data["beams"]):
            yield from check_setback(data, f"beams.{index}", beam)
            yield from check_posts(data, f"beams.{index}.posts", beam.get("posts"), known)
        yield from check_beams_apart(data)
    if "tape" in data:
        yield from check_tape(data)
    if "patches" in data and "patches" not in known:
        yield from check_patches(data)


def check_choose(data: Plain, known: Set[str]) -> Iterator[Fault]:
    """Frames are found for lumber of a known strength only."""
    if not data.get("species") and "species" not in known:
        yield Fault("species", "choose-needs-species")


def check_beam_count(data: Plain) -> Iterator[Fault]:
    count = len(data["beams"])
    if count == 0:
        yield Fault("beams", "beams-none")
    elif count > MOST_BEAMS:
        yield Fault("beams", "beams-many", {"count": str(count), "most": str(MOST_BEAMS)})
    elif count == 1 and data.get("attached") is False:
        yield Fault("beams", "free-standing-beams")


def check_setback(data: Plain, place: str, beam: Plain) -> Iterator[Fault]:
    """A beam's centre line lies beyond the wall and not beyond the deck: 0 < setback <= out."""
    setback, out = beam.get("setback"), data.get("out")
    if setback is None:
        return
    if setback <= 0:
        yield Fault(f"{place}.setback", "setback-zero", {"given": setback})
    elif out is not None and setback > out + SLACK:
        yield Fault(f"{place}.setback", "setback-outside", {"given": setback, "out": out})


def check_beams_apart(data: Plain) -> Iterator[Fault]:
    """Beams stand at least a foot apart, in whatever order they are given."""
    placed = sorted((beam["setback"], index) for index, beam in enumerate(data["beams"]) if "setback" in beam)
    for (near, first), (far, second) in zip(placed, placed[1:], strict=False):
        if far - near < APART - SLACK:
            slots = {"given": far, "near": near, "other": str(first + 1), "apart": APART}
            yield Fault(f"beams.{second}.setback", "beams-close", slots)


def check_posts(data: Plain, place: str, posts: Any, known: Set[str]) -> Iterator[Fault]:
    """Posts are given one way, by position or by count, and stand on the beam."""
    if not isinstance(posts, dict) or place in known:
        return
    given = {key for key in ("at", "count", "cantilever") if key in posts or f"{place}.{key}" in known}
    if any(key.startswith(f"{place}.at") for key in known):
        given.add("at")
    if "at" in given and len(given) > 1:
        yield Fault(place, "posts-two-ways")
    elif "at" in posts:
        yield from check_positions(data, f"{place}.at", posts["at"], known)
    elif not given:
        yield Fault(place, "posts-missing")
    else:
        yield from check_even(data, place, posts, given)


def check_positions(data: Plain, place: str, at: list[float], known: Set[str]) -> Iterator[Fault]:
    """Positions from the left edge, between the deck's edges, a foot apart at least."""
    if any(key.startswith(place) for key in known):
        return
    if not 2 <= len(at) <= MOST_POSTS:
        yield Fault(place, "posts-number", {"count": str(len(at)), "most": str(MOST_POSTS)})
        return
    width = data.get("width")
    for index, position in enumerate(at):
        if width is not None and position > width + SLACK:
            yield Fault(f"{place}.{index}", "post-outside", {"given": position, "width": width})
    placed = sorted((position, index) for index, position in enumerate(at))
    for (left, _), (right, index) in zip(placed, placed[1:], strict=False):
        if right - left < APART - SLACK:
            yield Fault(f"{place}.{index}", "posts-close", {"given": right, "left": left, "apart": APART})


def check_even(data: Plain, place: str, posts: Plain, given: Set[str]) -> Iterator[Fault]:
    """Posts by count: count - 1 equal spans between the two cantilevers, a foot at least each."""
    for key in ("count", "cantilever"):
        if key not in given:
            yield Fault(f"{place}.{key}", "missing", {"key": key})
    width, count, cantilever = data.get("width"), posts.get("count"), posts.get("cantilever")
    if width is None or count is None or cantilever is None:
        return
    between = width - 2 * cantilever
    if between < APART * (count - 1) - SLACK:
        slots = {"count": str(count), "cantilever": cantilever, "width": width, "apart": APART}
        yield Fault(f"{place}.cantilever", "posts-do-not-fit", slots)


def check_tape(data: Plain) -> Iterator[Fault]:
    """The tape reaches half the width (the far half is read from the right) and the farthest beam."""
    tape, width = data["tape"], data.get("width")
    if width is not None and tape < width / 2 - SLACK:
        yield Fault("tape", "tape-half", {"given": tape, "least": width / 2})
    beams = data.get("beams", [])
    if beams == CHOOSE:
        return  # the tape is held against the beams once they are chosen
    farthest = max((beam.get("setback", 0.0) for beam in beams), default=0.0)
    if data.get("string_face") == "yard-face":
        farthest += max((beam.get("plies", 0) for beam in beams), default=0) * PLY / 2
    if tape < farthest - SLACK:
        yield Fault("tape", "tape-setback", {"given": tape, "least": farthest})


def check_patches(data: Plain) -> Iterator[Fault]:
    """Heavier patches lie on the deck and carry no less than the rest of it."""
    count = len(data["patches"])
    if count > MOST_PATCHES:
        yield Fault("patches", "patches-many", {"count": str(count), "most": str(MOST_PATCHES)})
        return
    for index, patch in enumerate(data["patches"]):
        place = f"patches.{index}"
        yield from check_edge(f"{place}.width", patch, "x", "width", data.get("width"))
        yield from check_edge(f"{place}.out", patch, "y", "out", data.get("out"))
        load, live = patch.get("load"), data.get("live")
        if load is not None and live is not None and load < live:
            yield Fault(f"{place}.load", "patch-lighter", {"given": str(load), "live": str(live)})


def check_edge(place: str, patch: Plain, start: str, reach: str, most: float | None) -> Iterator[Fault]:
    """A patch's far edge, right or away from the wall, is on the deck: start + reach <= the deck's."""
    if start not in patch or reach not in patch or most is None:
        return
    end = patch[start] + patch[reach]
    if end > most + SUM_SLACK:
        yield Fault(place, f"patch-outside-{reach}", {"start": patch[start], "end": end, "most": most})
