"""A heavier load over a part of the deck (a spa, a planter), carried by calculation through joists, beams and posts.

What the patch adds is its load less the deck's own live load, at least 0. A partly loaded span is turned into the even
load that bends, shears or sags it just as much, the worst of the three; the calculation for even loads then says how
far such a span may go. Every member under a patch is an engineer's: no table has it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from server.codes import joists as joist_tables
from server.codes.answers import Answer
from server.framing import girders
from server.framing.areas import SQUARE_FOOT, reactions
from server.framing.levels import ENGINEER, FAILS, Limit, Member
from server.framing.placing import SLACK, support_name, supports
from server.framing.quantities import pounds, pressure
from server.model import Beam, Job, Message, Patch, Slot

DEAD = 10.0

# A part of a line that carries more: from, to (inches), pounds a running inch.
Load = tuple[float, float, float]


@dataclass(frozen=True)
class Even:
    """The even loads that ask as much of a span as its real ones: `total` for strength, `live` for sag, lb/in."""

    total: float
    live: float


def extra(job: Job, patch: Patch) -> float:
    """What a patch adds to the deck's own load, psf."""
    return max(0.0, float(patch.load - job.live))


def heavy(job: Job) -> tuple[Patch, ...]:
    """The patches that add something."""
    return tuple(patch for patch in job.patches if extra(job, patch) > 0)


def rectangle(job: Job, patch: Patch) -> tuple[float, float, float, float]:
    """The part of a patch that lies on the deck: left, right, near, far, inches."""
    right, far = min(patch.x + patch.width, job.width), min(patch.y + patch.out, job.out)
    return max(patch.x, 0.0), max(right, 0.0), max(patch.y, 0.0), max(far, 0.0)


def on_supports(job: Job, beams: tuple[Beam, ...]) -> tuple[tuple[Load, ...], ...]:
    """What patches lay along each support (the ledger first when there is one): loads of left, right, lb/in."""
    stands = supports(job, beams)
    laid: list[list[Load]] = [[] for _ in stands]
    for patch in heavy(job):
        left, right, near, far = rectangle(job, patch)
        if right <= left or far <= near:
            continue
        for loads, share in zip(laid, reactions(stands, near, far), strict=True):
            loads.append((left, right, extra(job, patch) * share / SQUARE_FOOT))
    return tuple(tuple(loads) for loads in laid)


def on_beams(job: Job, beams: tuple[Beam, ...]) -> tuple[tuple[Load, ...], ...]:
    """What patches lay along each beam, lb/in."""
    return on_supports(job, beams)[1 if job.attached else 0 :]


def on_posts(job: Job, beams: tuple[Beam, ...]) -> tuple[tuple[float, ...], ...]:
    """What patches add to each post, pounds; a post that is lifted counts as not helped."""
    return tuple(_on_posts(beam, loads) for beam, loads in zip(beams, on_beams(job, beams), strict=True))


def _on_posts(beam: Beam, loads: Sequence[Load]) -> tuple[float, ...]:
    added = [0.0] * len(beam.posts)
    for left, right, load in loads:
        for index, share in enumerate(reactions(beam.posts, left, right)):
            added[index] += max(0.0, load * share)
    return tuple(added)


def within(loads: Iterable[Load], start: float, end: float) -> tuple[Load, ...]:
    """The loads between two places, each cut to them and measured from the first; those that lift are left out."""
    cut = [(max(low, start) - start, min(high, end) - start, load) for low, high, load in loads]
    return tuple(one for one in cut if one[1] > one[0] and one[2] > 0)


def reaction(span: float, loads: Sequence[Load]) -> float:
    """The left reaction of a simple span, pounds: each load times its middle's distance from the right end / L."""
    return sum(load * (high - low) * (span - (low + high) / 2) / span for low, high, load in loads)


def shear_at(span: float, loads: Sequence[Load], x: float) -> float:
    """The shear of a simple span at x, pounds."""
    passed = sum(load * (min(x, high) - low) for low, high, load in loads if x > low)
    return reaction(span, loads) - passed


def moment_at(span: float, loads: Sequence[Load], x: float) -> float:
    """The moment of a simple span at x, pound-inches: R x less each load to the left times its arm."""
    behind = [(min(x, high) - low, x - (low + min(x, high)) / 2, load) for low, high, load in loads if x > low]
    return reaction(span, loads) * x - sum(load * length * arm for length, arm, load in behind)


def most_moment(span: float, loads: Sequence[Load]) -> float:
    """The greatest moment of a simple span, pound-inches: where the shear goes through 0.

    The shear is a straight line between the ends of the loads, so its zero lies in the stretch where it changes sign.
    """
    marks = sorted({0.0, span, *(end for load in loads for end in load[:2])})
    most = 0.0
    for low, high in zip(marks, marks[1:], strict=False):
        before, after = shear_at(span, loads, low), shear_at(span, loads, high)
        if before >= 0 >= after and before > after:
            most = max(most, moment_at(span, loads, low + (high - low) * before / (before - after)))
    return most


def sag(span: float, low: float, high: float) -> float:
    """Sag in the middle of a simple span under one pound an inch from low to high, times EI, in.³·lb.

    The sag under a pound at x <= L/2 is x (3 L² - 4 x²) / 48 EI; summed over x: (3 L² x² / 2 - x⁴) / 48.
    """

    def half(start: float, end: float) -> float:
        return sum(sign * (1.5 * span**2 * x**2 - x**4) / 48 for sign, x in ((1, end), (-1, start)))

    middle = span / 2
    near = half(min(low, middle), min(high, middle))
    return near + half(span - max(high, middle), span - max(low, middle))


def overhang_moment(length: float, loads: Iterable[Load]) -> float:
    """The moment over a support that loads beyond it make, pound-inches; places measured from the support."""
    return sum(load * (high - low) * (high + low) / 2 for low, high, load in within(loads, 0.0, length))


def even(span: float, base: Even, loads: Sequence[Load], over: float = 0.0) -> Even:
    """The even loads of a span that carries `base` and `loads`; `over` is the moment of an overhang beside it."""
    whole = (0.0, span, base.total)
    moment = max(most_moment(span, (whole, *loads)), over)
    shear = max(shear_at(span, (whole, *loads), 0.0), -shear_at(span, (whole, *loads), span))
    added = sum(load * sag(span, low, high) for low, high, load in loads)
    live = base.live + added * 384 / (5 * span**4)
    return Even(max(8 * moment / span**2, 2 * shear / span), live)


def live_of(loads: Even, strip: float) -> float:
    """The even live load on a strip of deck (inches wide) that asks as much: the worse of strength and sag, psf."""
    return max(loads.total * SQUARE_FOOT / strip - DEAD, loads.live * SQUARE_FOOT / strip)


def base(job: Job, strip: float) -> Even:
    """The deck's own even load on a strip, lb/in."""
    return Even((job.live + DEAD) * strip / SQUARE_FOOT, job.live * strip / SQUARE_FOOT)


def overhang(loads: Iterable[Load], support: float, tip: float, own: float) -> float:
    """The moment over a support from its overhang to `tip`, left or right, with its own even load; pound-inches."""
    turn = 1.0 if tip >= support else -1.0
    seen = [(*sorted((turn * (low - support), turn * (high - support))), load) for low, high, load in loads]
    reach = abs(tip - support)
    return overhang_moment(reach, [(0.0, reach, own), *((low, high, load) for low, high, load in seen)])


def members(job: Job, beams: tuple[Beam, ...]) -> Iterator[Member]:
    """The joist spans under each patch, then each beam that carries some of one."""
    for number, patch in enumerate(heavy(job), 1):
        yield from _joists(job, beams, number, patch)
    for index, loads in enumerate(on_beams(job, beams)):
        if any(load > SLACK and high > low for low, high, load in loads):
            yield _sheared(job, beams, index, loads) or _beam(job, beams, index, loads)


def _joists(job: Job, beams: tuple[Beam, ...], number: int, patch: Patch) -> Iterator[Member]:
    """Joists carry every patch that stands over them, not only this one."""
    stands, loads = supports(job, beams), tuple(_along_joists(job, patch))
    for index, (start, end) in enumerate(zip(stands, stands[1:], strict=False)):
        reach = (0.0 if index == 0 else start, job.out if index == len(stands) - 2 else end)
        if not within(loads, *reach):
            continue
        live = joist_live(job, stands, index, loads)
        answer = joist_tables.span(job.species, job.joist_size, job.joist_spacing, job.edition, live)
        slots: dict[str, Slot] = {"patch": patch.name, "load": pressure(patch.load, job.units), "actual": end - start}
        slots |= {"from": support_name(job, index), "to": support_name(job, index + 1), "most": answer.computed}
        say = Message("walk.frame.say.patch-joist", slots)
        limit = Limit(answer.computed, None, answer.governs, answer.computed)
        beam = beams[index if job.attached else index + 1].number
        stand = FAILS if end - start > limit.most + SLACK else ENGINEER
        yield Member(f"patch-{number}-joist-{index + 1}", "joist-span", beam, end - start, limit, stand, say)


def _along_joists(job: Job, patch: Patch) -> Iterator[Load]:
    """Loads on one joist under a patch, from every patch whose width it shares; from the wall, lb/in."""
    left, right, _, _ = rectangle(job, patch)
    for other in heavy(job):
        low, high, near, far = rectangle(job, other)
        if min(right, high) > max(left, low):
            yield near, far, extra(job, other) * job.joist_spacing / SQUARE_FOOT


def joist_live(job: Job, stands: Sequence[float], index: int, loads: Sequence[Load]) -> float:
    """The even live load that asks as much of the joists of one span, overhangs beside it counted, psf."""
    start, end = stands[index], stands[index + 1]
    own = base(job, job.joist_spacing)
    over = 0.0
    if index == 0 and not job.attached:
        over = overhang(loads, start, 0.0, own.total)
    if index == len(stands) - 2:
        over = max(over, overhang(loads, end, job.out, own.total))
    return live_of(even(end - start, own, within(loads, start, end), over), job.joist_spacing)


def _beam(job: Job, beams: tuple[Beam, ...], index: int, loads: Sequence[Load]) -> Member:
    """The bay of a beam that is worst off under the patches."""
    beam = beams[index]
    found = []
    for bay in range(len(beam.posts) - 1):
        answer = girders.bay_answer(job, beams, index, beam_live(job, beams, index, bay, loads))
        actual = beam.posts[bay + 1] - beam.posts[bay] - girders.clear(job)
        found.append((actual / max(answer.computed, SLACK), actual, answer.computed, answer.governs))
    _, actual, most, governs = max(found)
    slots: dict[str, Slot] = {"beam": str(beam.number), "actual": actual, "most": most}
    slots["size"] = girders.beam_text(job.beams[index])
    limit = Limit(most, None, governs, most)
    stands = FAILS if actual > most + SLACK else ENGINEER
    say = Message("walk.frame.say.patch-beam", slots)
    return Member(f"patch-beam-{beam.number}", "beam-span", beam.number, actual, limit, stands, say)


def beam_live(job: Job, beams: tuple[Beam, ...], index: int, bay: int, loads: Sequence[Load]) -> float:
    """The even live load that asks as much of one bay of a beam, ends that run past counted, psf."""
    posts = beams[index].posts
    start, end = posts[bay], posts[bay + 1]
    strip = girders.TABLE_SHARE * girders.joist_span(job, beams, index)
    own = base(job, strip)
    over = 0.0
    if bay == 0:
        over = overhang(loads, start, 0.0, own.total)
    if bay == len(posts) - 2:
        over = max(over, overhang(loads, end, job.width, own.total))
    return live_of(even(end - start, own, within(loads, start, end), over), strip)


def beam_shear(job: Job, beams: tuple[Beam, ...], index: int, bay: int, loads: Sequence[Load]) -> float:
    """The greatest shear of one bay of a beam and of the ends that run past it, pounds.

    In the bay: that of a simple span and M / L of the moment an end lays on it; beside it: all that lies on the end.
    """
    posts = beams[index].posts
    start, end = posts[bay], posts[bay + 1]
    own = base(job, girders.TABLE_SHARE * girders.joist_span(job, beams, index)).total
    on_bay = ((0.0, end - start, own), *within(loads, start, end))
    left, right = shear_at(end - start, on_bay, 0.0), -shear_at(end - start, on_bay, end - start)
    shears = [left, right]
    if bay == 0:
        shears += [left + overhang(loads, start, 0.0, own) / (end - start), weight(loads, 0.0, start, own)]
    if bay == len(posts) - 2:
        past = weight(loads, end, job.width, own)
        shears += [right + overhang(loads, end, job.width, own) / (end - start), past]
    return max(shears)


def weight(loads: Iterable[Load], low: float, high: float, own: float) -> float:
    """All that lies between two places, with its own even load; pounds."""
    return own * (high - low) + sum(load * (end - start) for start, end, load in within(loads, low, high))


def shear_most(answer: Answer) -> float:
    """The shear a beam bears, pounds: Fv' A / 1.5."""
    numbers = next(check.numbers for check in answer.checks if check.name == "shear")
    return numbers["Fv'"] * numbers["A"] / 1.5


def _sheared(job: Job, beams: tuple[Beam, ...], index: int, loads: Sequence[Load]) -> Member | None:
    """The beam where a post shears it: None while its shear holds everywhere."""
    beam, most = beams[index], shear_most(girders.bay_answer(job, beams, index))
    shear, bay = max((beam_shear(job, beams, index, bay, loads), bay) for bay in range(len(beam.posts) - 1))
    if shear <= most + SLACK:
        return None
    span = beam.posts[bay + 1] - beam.posts[bay] - girders.clear(job)
    slots: dict[str, Slot] = {"beam": str(beam.number), "size": girders.beam_text(job.beams[index])}
    slots |= {"shear": pounds(round(shear), job.units), "bears": pounds(int(most), job.units)}
    limit = Limit(span * most / shear, None, "shear", span * most / shear)
    say = Message("walk.frame.say.patch-shear", slots)
    return Member(f"patch-beam-{beam.number}", "beam-span", beam.number, span, limit, FAILS, say)
