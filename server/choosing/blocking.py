"""Why no frame fits: limits let go one at a time, and what is more than the catalogue holds tried after that."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from math import ceil

from server.choosing.catalogue import Catalogue, beam_counts
from server.choosing.fronts import Cost
from server.choosing.members import Members
from server.choosing.search import Search, Whole, arrangements
from server.codes import stock
from server.codes.tables import POSTS
from server.codes.wood import section
from server.model import Job, Message, Slot

MOST_POSTS = 12
MOST_ROWS = 4
HIGHER = 18  # steps of 2 in. above a deck that is too low
Slots = dict[str, Slot]


def blocked(job: Job, catalogue: Catalogue) -> tuple[Message, ...]:
    """Each limit that alone keeps every frame out, with the frame that comes nearest; then what would open it."""
    alone = tuple(_alone(job, catalogue))
    return (*(alone or (Message("choose.blocked.several"),)), *_openings(job, catalogue))


def _alone(job: Job, catalogue: Catalogue) -> Iterator[Message]:
    for name, told in TOLD.items():
        search = Search(Members(job, catalogue, frozenset({name})))
        whole = nearest(search, name)
        if whole:
            key, slots = told(search, whole)
            yield Message(f"choose.blocked.{key}", slots)


def _openings(job: Job, catalogue: Catalogue) -> Iterator[Message]:
    """What lies beyond the catalogue, or beyond the joists a job names, and lets a frame fit."""
    if (job.joist_size or job.joist_spacing) and opens(replace(job, joist_size="", joist_spacing=0), catalogue):
        yield Message("choose.open.joists")
    for posts in range(max(catalogue.posts) + 1, MOST_POSTS + 1):
        if opens(job, replace(catalogue, posts=(posts,))):
            yield Message("choose.open.posts", {"posts": str(posts)})
            break
    rows = max(beam_counts(job, catalogue)) + 1
    if rows <= MOST_ROWS and opens(job, replace(catalogue, rows=(rows - (not job.attached),))):
        yield Message("choose.open.rows", {"rows": str(rows)})
    if job.height and opens(replace(job, height=0.0), catalogue):
        yield from _height_openings(job, catalogue)


def _height_openings(job: Job, catalogue: Catalogue) -> Iterator[Message]:
    """Where the height of the deck is what blocks: a thicker post, or the nearest height that leaves frames."""
    for size in POSTS[POSTS.index(job.post) + 1 :]:
        if opens(replace(job, post=size), catalogue):
            yield Message("choose.open.post", {"size": size})
            break
    for height in (job.height + 2 * n for n in range(1, HIGHER + 1)) if too_low(job, catalogue) else _lower(job):
        if opens(replace(job, height=height), catalogue):
            yield Message("choose.open.height", {"height": height})
            break


def _lower(job: Job) -> Iterator[float]:
    """Whole feet below the height, the nearest first."""
    return (12.0 * foot for foot in range(ceil(job.height / 12) - 1, 0, -1))


def opens(job: Job, catalogue: Catalogue) -> bool:
    return nearest(Search(Members(job, catalogue)), "") is not None


def nearest(search: Search, name: str) -> Whole | None:
    """The frame that passes a limit let go by the least, of the first setbacks that hold any; None when none do."""
    members = search.members
    counts = beam_counts(members.job, members.catalogue)
    ways = [setbacks for count in counts for setbacks in arrangements(members, count)]
    for setbacks in sorted(ways, key=lambda ways: _order(members.job, ways, name == "joist-cantilever")):
        search.try_at(setbacks)
        if any(search.found.values()):
            return min((one for found in search.found.values() for one in found.items()), key=_least_over)[1]
    return None


def _order(job: Job, setbacks: tuple[float, ...], by_cantilever: bool) -> tuple[float, float]:
    """Setbacks with the shortest bays first, or with the shortest cantilever."""
    stands = (0.0, *setbacks) if job.attached else setbacks
    span = max((far - near for near, far in zip(stands, stands[1:], strict=False)), default=0.0)
    past = job.out - setbacks[-1]
    return (past, span) if by_cantilever else (span, past)


def _least_over(one: tuple[Cost, Whole]) -> tuple[int, Cost]:
    return one[0][4], one[0]


def _joist_span(search: Search, whole: Whole) -> tuple[str, Slots]:
    actual = _order(search.members.job, whole.setbacks, False)[0]
    most = max(joist.span for joist in search.members.joists)
    return "joist-span", {"rows": str(len(whole.setbacks)), "actual": actual, "most": most}


def _joist_cantilever(search: Search, whole: Whole) -> tuple[str, Slots]:
    job, members = search.members.job, search.members
    ends = [(job.out - whole.setbacks[-1], search.spans(whole.setbacks)[-1])]
    ends += [] if job.attached else [(whole.setbacks[0], search.spans(whole.setbacks)[0])]
    reach = max(joist.cantilever for joist in members.joists)
    limits = [(end, min(reach, members.joist_share * span)) for end, span in ends]
    actual, most = max(limits, key=lambda limit: limit[0] / limit[1])
    return "joist-cantilever", {"actual": actual, "most": most}


def _beam_span(search: Search, whole: Whole) -> tuple[str, Slots]:
    seat = max(whole.seats, key=lambda seat: seat.layout.bay / seat.most)
    slots: Slots = {"posts": str(seat.layout.count), "actual": seat.layout.bay, "most": seat.most}
    return "beam-span", slots | {"beam": f"{seat.plies}-{seat.size}", "joists": max(search.spans(whole.setbacks))}


def _beam_cantilever(search: Search, whole: Whole) -> tuple[str, Slots]:
    layout = max((seat.layout for seat in whole.seats), key=lambda layout: layout.end / layout.bay)
    most = search.members.beam_share * layout.bay
    return "beam-cantilever", {"posts": str(layout.count), "actual": layout.end, "most": most}


def _pieces(search: Search, whole: Whole) -> tuple[str, Slots]:
    return "pieces", {"most": float(stock.lengths()[-1])}


def _post(search: Search, whole: Whole) -> tuple[str, Slots]:
    """Too tall, or so low that the thinnest joists and beams leave no post at all."""
    job = search.members.job
    key = "post-low" if too_low(job, search.members.catalogue) else "post"
    return key, {"size": job.post, "height": job.height}


def too_low(job: Job, catalogue: Catalogue) -> bool:
    """Whether the thinnest joists and beams leave no room for a post under the deck's surface."""
    thinnest = [min(section(size).d for size in sizes) for sizes in (catalogue.joist_sizes, catalogue.beam_sizes)]
    return job.height < 1 + sum(thinnest)


def _footing(search: Search, whole: Whole) -> tuple[str, Slots]:
    loads = search.loads_at(whole.setbacks)
    worst = [
        (max(search.members.hole(area).side for area in search.members.areas(seat.layout, strip)), seat.layout.bay)
        for seat, (_, strip) in zip(whole.seats, loads, strict=True)
    ]
    actual, most = max(worst, key=lambda one: one[0] / one[1])
    return "footing", {"actual": actual, "most": most}


TOLD: dict[str, Callable[[Search, Whole], tuple[str, Slots]]] = {
    "joist-span": _joist_span,
    "joist-cantilever": _joist_cantilever,
    "beam-span": _beam_span,
    "beam-cantilever": _beam_cantilever,
    "pieces": _pieces,
    "post": _post,
    "footing": _footing,
}
