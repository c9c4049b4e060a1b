"""The nearest change that would make a failing member hold, found by trying: each is put into the job and checked."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import ceil, floor

from server.codes import joists as joist_tables
from server.codes import rules
from server.codes.tables import POSTS, SIZES, SPACINGS
from server.framing import windows
from server.framing.checks import failing
from server.framing.girders import beam_text
from server.framing.joists import spacing_text
from server.framing.levels import FAILS, Member
from server.framing.placing import APART, SLACK, bays, even_posts, place
from server.model import BeamOrder, Job, Message, Slot

MOST_PLIES, MOST_POSTS, MOST_BEAMS = 3, 24, 4
SMALL_MOVE = 6.0  # a string moved less than this is a nearer change than other lumber, inches
STEPS = {"inch": 1 / 16, "millimetre": 1 / 25.4}

Change = tuple[Job, Message]


def with_fix(job: Job, member: Member, before: frozenset[str]) -> Member:
    """The member with the first change that makes it hold and nothing else fail, if one is found."""
    if member.level != FAILS:
        return member
    for changed, say in _changes(job, member):
        if _mends(member, job, changed, before):
            return replace(member, fix=say)
    return member


def _mends(member: Member, job: Job, changed: Job, before: frozenset[str]) -> bool:
    """Whether the member holds in the changed job and nothing fails that held; with a beam more, fewer fail in all."""
    if not _stands(changed):
        return False
    after = failing(changed)
    fewer = len(changed.beams) > len(job.beams) and len(after) < len(before)
    return member.id not in after and (after <= before or fewer)


def _stands(job: Job) -> bool:
    """Whether a job file may ask for it: beams on the deck, they and their posts a foot apart at least."""
    setbacks = [order.setback for order in job.beams]
    gaps = [far - near for near, far in zip(setbacks, setbacks[1:], strict=False)]
    gaps += [bay for beam in place(job) for bay in bays(beam)]
    return min(setbacks) > SLACK and max(setbacks) <= job.out + SLACK and min(gaps, default=APART) >= APART - SLACK


def _changes(job: Job, member: Member) -> Iterator[Change]:
    """Changes worth a try for a member, nearest first."""
    under_patch = member.id.startswith("patch")
    if member.kind in ("joist-span", "joist-cantilever"):
        strings = [] if under_patch else list(_strings(job, member))
        yield from (change for way, change in strings if way <= SMALL_MOVE)
        yield from _lumber(job)
        yield from (change for way, change in strings if way > SMALL_MOVE)
        yield from _one_beam_more(job, member)
    elif member.kind == "spacing":
        yield from _lumber(job)
    elif member.kind == "post":
        yield from _stouter_posts(job)
        yield from _higher(job, member)
        yield from _more_posts(job, member.beam)
    elif member.kind == "beam-cantilever":
        yield from _shorter_end(job, member)
        yield from _more_posts(job, member.beam)
    elif member.kind == "footing":
        yield from _fewer_posts(job, member.beam)
    else:
        if member.kind == "beam-span":
            yield from _stouter_beam(job, member.beam)
        yield from _more_posts(job, member.beam)


def _order(job: Job, number: int, order: BeamOrder) -> Job:
    return replace(job, beams=(*job.beams[: number - 1], order, *job.beams[number:]))


def _strings(job: Job, member: Member) -> Iterator[tuple[float, Change]]:
    """A beam's string moved into its window: how far it goes, and the change; this beam first, then its neighbours."""
    numbers = [n for n in (member.beam, member.beam - 1, member.beam + 1) if 1 <= n <= len(job.beams)]
    step = STEPS[job.units]
    for number in numbers:
        order = job.beams[number - 1]
        near, far = windows.joist_window(job, place(job), number - 1)
        if far[0] < order.setback - SLACK:
            target, key = floor(far[0] / step + SLACK) * step, "setback-most"
        elif near[0] > order.setback + SLACK:
            target, key = ceil(near[0] / step - SLACK) * step, "setback-least"
        else:
            continue
        if not SLACK < target <= job.out:
            continue
        say = Message(f"walk.frame.fix.{key}", {"beam": str(number), "setback": target})
        yield abs(target - order.setback), (_order(job, number, replace(order, setback=target)), say)


def _lumber(job: Job) -> Iterator[Change]:
    """Other joists: closer first, then larger, then both."""
    larger = SIZES[SIZES.index(job.joist_size) :]
    closer = [spacing for spacing in reversed(SPACINGS) if spacing <= job.joist_spacing]
    for size in larger:
        for spacing in closer:
            if (size, spacing) == (job.joist_size, job.joist_spacing):
                continue
            slots = {"size": size, "spacing": spacing_text(spacing, job.units)}
            key = "spacing" if size == job.joist_size else "joist"
            key = "size" if spacing == job.joist_spacing else key
            yield replace(job, joist_size=size, joist_spacing=spacing), Message(f"walk.frame.fix.{key}", slots)


def _one_beam_more(job: Job, member: Member) -> Iterator[Change]:
    """A beam like the outer one: in the middle of the long span, or as far out as joists may run past it."""
    if len(job.beams) >= MOST_BEAMS:
        return
    like = job.beams[member.beam - 1]
    before = job.beams[member.beam - 2].setback if member.beam > 1 else 0.0
    places = [floor((before + like.setback) / 2)]
    if member.kind == "joist-cantilever" and member.id.endswith("yard"):
        table = joist_tables.cantilever(job.species, job.joist_size, job.joist_spacing, job.edition, job.live).most
        places = [ceil(job.out - table), ceil((job.out + like.setback / 4) / 1.25), floor(job.out)]
    for setback in places:
        beams = sorted((*job.beams, replace(like, setback=float(setback))), key=lambda order: order.setback)
        say = Message("walk.frame.fix.beam-more", {"setback": float(setback)})
        yield replace(job, beams=tuple(beams)), say


def _stouter_beam(job: Job, number: int) -> Iterator[Change]:
    """The same beam of larger boards, then of more plies."""
    order = job.beams[number - 1]
    for plies in range(order.plies, MOST_PLIES + 1):
        for size in SIZES[SIZES.index(order.size) :]:
            stouter = replace(order, plies=plies, size=size)
            if stouter != order:
                say = Message("walk.frame.fix.beam", {"beam": str(number), "size": beam_text(stouter)})
                yield _order(job, number, stouter), say


def _more_posts(job: Job, number: int) -> Iterator[Change]:
    """One post more, or as many as it takes, in equal bays between ends as they are."""
    order = job.beams[number - 1]
    count = order.count or len(order.at)
    for more in range(1, MOST_POSTS - count + 1):
        key = "posts-one" if more == 1 else "posts"
        say = Message(f"walk.frame.fix.{key}", {"beam": str(number), "count": str(more)})
        spread = _spread(job, order, count + more)
        if spread:
            yield _order(job, number, spread), say


def _fewer_posts(job: Job, number: int) -> Iterator[Change]:
    """Posts so far apart that their footings stay clear of each other."""
    order = job.beams[number - 1]
    count = order.count or len(order.at)
    for fewer in range(1, count - 1):
        spread = _spread(job, order, count - fewer)
        if spread:
            key = "posts-one-fewer" if fewer == 1 else "posts-fewer"
            say = Message(f"walk.frame.fix.{key}", {"beam": str(number), "count": str(fewer)})
            yield _order(job, number, spread), say


def _spread(job: Job, order: BeamOrder, count: int) -> BeamOrder | None:
    """The beam on `count` posts in equal bays, its ends at most a quarter of one; None where a bay is under a foot."""
    end = order.cantilever if order.count else max(order.at[0], job.width - order.at[-1])
    share = rules.beam_cantilever_share(job.edition).number
    # An end c past n - 1 bays of (width - 2 c) / (n - 1) is a share of one: c = share width / (n - 1 + 2 share).
    end = min(end, floor(share * job.width / (count - 1 + 2 * share)))
    spread = replace(order, at=(), count=count, cantilever=float(end))
    posts = even_posts(spread, job.width)
    return spread if posts[1] - posts[0] >= APART else None


def _shorter_end(job: Job, member: Member) -> Iterator[Change]:
    """The end post set so far out that what runs past it holds."""
    order = job.beams[member.beam - 1]
    share, step = rules.beam_cantilever_share(job.edition).number, STEPS[job.units]
    if order.count:
        end = floor(share * job.width / (order.count - 1 + 2 * share) / step + SLACK) * step
        say = Message("walk.frame.fix.ends", {"beam": str(member.beam), "most": end})
        yield _order(job, member.beam, replace(order, cantilever=end)), say
        return
    left = member.id.endswith("left")
    beside = order.at[1] if left else job.width - order.at[-2]
    end = floor(share * beside / (1 + share) / step + SLACK) * step
    at = (end, *order.at[1:]) if left else (*order.at[:-1], job.width - end)
    slots: dict[str, Slot] = {"beam": str(member.beam), "most": end, "side": member.say.slots["side"]}
    yield _order(job, member.beam, replace(order, at=at)), Message("walk.frame.fix.end", slots)


def _stouter_posts(job: Job) -> Iterator[Change]:
    for post in POSTS[POSTS.index(job.post) + 1 :]:
        yield replace(job, post=post), Message("walk.frame.fix.post", {"size": post})


def _higher(job: Job, member: Member) -> Iterator[Change]:
    """A deck so low that joist and beam do not fit under it."""
    if member.actual < 0:
        height = float(ceil(job.height - member.actual))
        yield replace(job, height=height), Message("walk.frame.fix.height", {"height": height})
