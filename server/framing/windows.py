"""How far each beam's string may stand from the house, and how far apart its posts, before a limit is passed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from server.codes import rules
from server.framing import footings, girders, joists, standing
from server.framing.levels import FAILS
from server.framing.placing import APART, SLACK, bays, supports
from server.model import Beam, Job, Plain

FINE = 1e-7

# A setback and the words key of what limits it.
End = tuple[float, str]


def limits(job: Job, beams: tuple[Beam, ...]) -> Plain:
    """The `limits` part of document["frame"]; spans and windows are 0 and None where nothing is checked.

    They are those of the deck's own even load: `patched` says that a patch asks for more, which they leave out.
    """
    known = joists.checked(job)
    rows = [_checked(job, beams, index) if known else _unchecked(beam) for index, beam in enumerate(beams)]
    share = rules.beam_cantilever_share(job.edition).number
    return {"width": job.width, "share": share, "patched": bool(job.patches), "beams": rows}


def _unchecked(beam: Beam) -> Plain:
    empty = {"near": None, "far": None, "near_key": "", "far_key": ""}
    return {"number": beam.number, "setback": beam.setback, "posts": list(beam.posts), "span": 0.0, **empty}


def _checked(job: Job, beams: tuple[Beam, ...], index: int) -> Plain:
    beam = beams[index]
    near, far = window(job, beams, index)
    return {
        "number": beam.number,
        "setback": beam.setback,
        "posts": list(beam.posts),
        "span": girders.most_bay(job, beams, index),
        "near": near[0],
        "far": far[0],
        "near_key": near[1],
        "far_key": far[1],
    }


def window(job: Job, beams: tuple[Beam, ...], index: int) -> tuple[End, End]:
    """Least and most setback of a beam, the others where they are; near > far where nothing holds.

    In between every joist span and joist cantilever holds, and so does each beam's own span that holds somewhere there:
    a string that moves out lengthens joists, and longer joists shorten what a beam may span.
    """
    near, far = joist_window(job, beams, index)
    if near[0] > far[0] + SLACK:
        return near, far
    return _narrowed(job, beams, index, near, far)


def joist_window(job: Job, beams: tuple[Beam, ...], index: int) -> tuple[End, End]:
    """The setbacks in which joist spans and joist cantilevers hold."""
    lows, highs = _stands(job, beams, index)
    for ends, found in zip(_spans(job, beams, index), (lows, highs), strict=True):
        found.extend(ends)
    for ends, found in zip(_cantilevers(job, beams, index), (lows, highs), strict=True):
        found.extend(ends)
    return max(lows), min(highs)


def _key(what: str) -> str:
    return f"walk.frame.limit.{what}"


def _stands(job: Job, beams: tuple[Beam, ...], index: int) -> tuple[list[End], list[End]]:
    """A beam stands between its neighbours, a foot from each, clear of the house and not beyond the deck."""
    clear = beams[index].thickness / 2
    low = (beams[index - 1].setback + APART, _key("beam-nearer")) if index else (clear, _key("house"))
    high = (
        (beams[index + 1].setback - APART, _key("beam-farther")) if index + 1 < len(beams) else (job.out, _key("edge"))
    )
    return [low], [high]


def _spans(job: Job, beams: tuple[Beam, ...], index: int) -> tuple[list[End], list[End]]:
    """Joists on either side span at most what their size may."""
    most = joists.span_answer(job, beams).most
    stands = supports(job, beams)
    here = index + 1 if job.attached else index
    highs = [(stands[here - 1] + most, _key("joist-span"))] if here > 0 else []
    lows = [(stands[here + 1] - most, _key("joist-span"))] if here + 1 < len(stands) else []
    return lows, highs


def _cantilevers(job: Job, beams: tuple[Beam, ...], index: int) -> tuple[list[End], list[End]]:
    """Joists run past the outer supports at most the table's length and a quarter of the span beside them.

    With a = out - s and a <= q (s - p): s >= (out + q p) / (1 + q), for a beam at s with a support at p before it.
    Another beam's cantilever that is beyond the table fails wherever this string stands, and does not bound it.
    """
    table, share = joists.cantilever_answer(job).most, joists.cantilever_share(job)
    stands = supports(job, beams)
    here, last = (index + 1 if job.attached else index), len(stands) - 1
    lows: list[End] = []
    highs: list[End] = []
    past = job.out - stands[last]
    if here == last and last > 0:
        lows += [(job.out - table, _key("joist-cantilever"))]
        lows += [((job.out + share * stands[last - 1]) / (1 + share), _key("joist-quarter"))]
    if here == last - 1 and SLACK < past <= table + SLACK:
        highs += [(stands[last] - past / share, _key("joist-quarter"))]
    if not job.attached and here == 0 and last > 0:
        highs += [(table, _key("house-cantilever")), (share * stands[1] / (1 + share), _key("house-quarter"))]
    if not job.attached and here == 1 and stands[0] <= table + SLACK:
        lows += [(stands[0] + stands[0] / share, _key("house-quarter"))]
    return lows, highs


def _narrowed(job: Job, beams: tuple[Beam, ...], index: int, near: End, far: End) -> tuple[End, End]:
    """The part of a window around the beam's place in which its own span and posts, and its neighbours', go on holding.

    A beam that fails there does not bound it: its own check says what is wrong.
    """
    start = min(max(beams[index].setback, near[0]), far[0])
    for at in range(max(index - 1, 0), min(index + 2, len(beams))):
        for holds, key in _WHAT_HOLDS:
            held = partial(holds, job, beams, index, at)
            if held(start):
                near, far = (_reach(held, start, end, key) for end in (near, far))
    return near, far


def _reach(holds: Callable[[float], bool], start: float, end: End, key: str) -> End:
    """How far from `start` toward `end` a beam or its posts go on holding; `key` says what ends it.

    What a beam is asked for falls, then rises, as one string moves out: where it holds is one interval, so halving
    finds its end.
    """
    if holds(end[0]):
        return end
    good, bad = start, end[0]
    while abs(bad - good) > FINE:
        middle = (good + bad) / 2
        good, bad = (middle, bad) if holds(middle) else (good, middle)
    return good, key


def _beam_holds(job: Job, beams: tuple[Beam, ...], index: int, at: int, setback: float) -> bool:
    """Whether the longest bay of the beam `at` holds with the string of the beam `index` moved to a setback."""
    if setback <= SLACK:
        return True  # against the house there are no joists between to speak of
    moved = _moved(beams, index, setback)
    return max(bays(moved[at])) <= girders.most_bay(job, moved, at) + SLACK


def _posts_hold(job: Job, beams: tuple[Beam, ...], index: int, at: int, setback: float) -> bool:
    """Whether the posts of the beam `at` do, where the deck's height is said: more deck on one leaves it shorter."""
    if setback <= SLACK or not job.height or standing.slim(job):
        return True
    moved = _moved(beams, index, setback)
    return standing.post(job, moved[at], job.beams[at].size, footings.holes(job, moved)[at]).level != FAILS


def _moved(beams: tuple[Beam, ...], index: int, setback: float) -> tuple[Beam, ...]:
    """The beams with one string at another setback."""
    return (*beams[:index], replace(beams[index], setback=setback), *beams[index + 1 :])


# What bounds a window beside the joists, and the words of the limit.
_WHAT_HOLDS = ((_beam_holds, _key("beam-span")), (_posts_hold, _key("post")))
