"""Beams checked: their bays, their ends, and the pieces they are made of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache

from server.codes import beams as beam_tables
from server.codes import rules, stock
from server.codes.answers import Answer, Source
from server.framing.areas import strips
from server.framing.levels import Limit, Member, level
from server.framing.placing import SLACK, bays, ends, supports
from server.model import Beam, BeamOrder, Job, Message, Slot

# The tables take it that a beam carries this share of its joists' span: joists that run on by a quarter, (5/4)² / 2.
TABLE_SHARE = 0.78125
CLEAR_SPANS = ("DCA 6-2012",)
# How a beam's pieces are said: none will do, one, or more (no ending).
PIECES = {0: "-none", 1: "-one"}


def joist_span(job: Job, beams: tuple[Beam, ...], index: int) -> float:
    """The joist span the beam table is entered with, inches.

    The longer of the spans beside the beam; or, where more deck rests on it than the table means (joists on both
    sides), the span for which the table means that much: the strip it carries / 0.78125.
    """
    stands = supports(job, beams)
    here = index + 1 if job.attached else index
    beside = [far - near for near, far in zip(stands, stands[1:], strict=False)][max(here - 1, 0) : here + 1]
    return max([*beside, strips(job, beams)[1][index] / TABLE_SHARE])


def bay_answer(job: Job, beams: tuple[Beam, ...], index: int, live: float = 0.0) -> Answer:
    """The most a bay of this beam may span as its edition measures it; `live` in place of the deck's own, psf."""
    order = job.beams[index]
    # A whole number of millionths: a span of 12' that floats a hair over it stays in the 12 ft column.
    span = round(joist_span(job, beams, index), 6)
    return beam_tables.span(job.species, order.plies, order.size, span, job.edition, live or job.live)


def clear(job: Job) -> float:
    """What the edition takes off a bay, post centre to post centre: nothing, or its two bearings, inches."""
    return 2 * rules.rule("min_bearing_wood_or_metal").number if job.edition in CLEAR_SPANS else 0.0


def most_bay(job: Job, beams: tuple[Beam, ...], index: int) -> float:
    """The longest bay of this beam, post centre to post centre, inches."""
    return bay_answer(job, beams, index).most + clear(job)


def members(job: Job, beams: tuple[Beam, ...]) -> Iterator[Member]:
    """For each beam its longest bay, each end that runs past its post, and its pieces."""
    for index, beam in enumerate(beams):
        yield _bay(job, beams, index)
        yield from _ends(job, beam)
        yield _pieces(job, beam)


def _bay(job: Job, beams: tuple[Beam, ...], index: int) -> Member:
    beam, order, answer = beams[index], job.beams[index], bay_answer(job, beams, index)
    actual = max(bays(beam)) - clear(job)
    key = "walk.frame.say.beam-span-clear" if clear(job) else "walk.frame.say.beam-span"
    slots: dict[str, Slot] = {
        "beam": str(beam.number),
        "actual": actual,
        "most": answer.most,
    }
    slots["size"] = beam_text(order)
    limit = Limit(answer.most, answer.source, answer.governs, answer.computed)
    stands = level(actual, answer.most, answer.source)
    return Member(f"beam-span-{beam.number}", "beam-span", beam.number, actual, limit, stands, Message(key, slots))


def _ends(job: Job, beam: Beam) -> Iterator[Member]:
    """A beam end runs past its last post by at most a quarter of the bay beside it: IRC R507.5."""
    rule = rules.beam_cantilever_share(job.edition)
    for side, past, bay in ends(beam, job.width):
        if past <= SLACK:
            continue
        most = rule.number * bay
        slots: dict[str, Slot] = {"beam": str(beam.number), "side": {"word": f"walk.side.{side}"}, "actual": past}
        slots["most"] = most
        limit = Limit(most, rule.source, "quarter of the bay", most)
        name = f"beam-cantilever-{beam.number}-{side}"
        say = Message("walk.frame.say.beam-cantilever", slots)
        yield Member(name, "beam-cantilever", beam.number, past, limit, level(past, most, rule.source), say)


def _pieces(job: Job, beam: Beam) -> Member:
    """A beam is spliced only over its inner posts (IRC R507.5), and each piece is a length the yard sells."""
    longest = float(stock.lengths()[-1])
    cut = pieces(beam.posts, job.width)
    actual = max(cut) if cut else longest_run(beam.posts, job.width)
    slots: dict[str, Slot] = {"beam": str(beam.number), "actual": actual, "most": longest}
    slots["pieces"] = feet_text(sold(cut))
    source = sold_source() if len(cut) == 1 else rules.rule("beam_splice_location").source
    limit = Limit(longest, source, "lengths the yard sells", longest)
    stands = level(actual, longest, source)
    say = Message(f"walk.frame.say.beam-piece{PIECES.get(len(cut), '')}", slots)
    return Member(f"beam-piece-{beam.number}", "beam-piece", beam.number, actual, limit, stands, say)


def sold_source() -> Source:
    """Where the lengths that are sold come from."""
    row = stock.item("lumber_lengths")
    return Source(row["source"], "lengths sold", f"{row['value']} ft", row["confidence"])


@cache
def pieces(posts: tuple[float, ...], width: float) -> tuple[float, ...]:
    """The pieces of a beam, left to right, inches: fewest boards, least bought, evenest. () where none do."""
    cuts = (0.0, *posts[1:-1], width)
    best: dict[int, tuple[int, int, float, tuple[float, ...]]] = {0: (0, 0, 0.0, ())}
    for end in range(1, len(cuts)):
        ways = [
            _with_piece(best[start], cuts[end] - cuts[start])
            for start in range(end)
            if start in best and board(cuts[end] - cuts[start])
        ]
        if ways:
            best[end] = min(ways)
    return best[len(cuts) - 1][3] if len(cuts) - 1 in best else ()


def _with_piece(
    before: tuple[int, int, float, tuple[float, ...]], piece: float
) -> tuple[int, int, float, tuple[float, ...]]:
    """So many boards, inches bought, longest piece, pieces; with one piece more."""
    count, bought, longest, cut = before
    return count + 1, bought + board(piece), max(longest, piece), (*cut, piece)


def longest_run(posts: Sequence[float], width: float) -> float:
    """The longest stretch of a beam in which it may not be spliced, inches."""
    cuts = (0.0, *posts[1:-1], width)
    return max(right - left for left, right in zip(cuts, cuts[1:], strict=False))


def board(inches: float) -> int:
    """The shortest length sold that gives this much, inches; 0 where none does."""
    return next((length for length in stock.lengths() if length >= inches - SLACK), 0)


def sold(cut: Sequence[float]) -> tuple[int, ...]:
    """The board each piece is cut from, inches."""
    return tuple(board(piece) for piece in cut)


def feet_text(boards: Sequence[int]) -> str:
    """Boards as the yard sells them, in the feet they are named by: "14 ft + 12 ft"."""
    return " + ".join(f"{length / 12:g} ft" for length in boards)


def beam_text(order: BeamOrder) -> str:
    return f"{order.plies}-{order.size}"
