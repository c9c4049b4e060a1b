"""What one member may: joists over a row of bays, a beam on its posts. Every look-up of a code is here."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import ceil, pi

from server.choosing.catalogue import SLACK, Catalogue, Layout, joist_pieces, layouts
from server.choosing.fronts import Found, front
from server.choosing.heavy import heaviest
from server.choosing.holes import LEAST_AREA, SQUARE_FOOT, Hole, as_area, hole
from server.codes import beams, joists, posts, rules, stock
from server.codes.answers import Answer
from server.codes.wood import dead_load, section
from server.model import Job

# Closeness is told in tenths, and half a limit or less is told as half: finer, it would set apart what nobody can feel.
LEAST_TENTHS = 5
CLEAR_SPANS = ("DCA 6-2012",)
UNLIMITED = 10**6


@dataclass(frozen=True)
class Joists:
    """Joists over the bays of a deck: pieces in stock inches, and what they use of their span and cantilever."""

    size: str
    spacing: int
    pieces: tuple[int, ...]
    span: float
    cantilever: float


@dataclass(frozen=True)
class Seat:
    """A beam on its posts, before it has a setback. most: the longest bay, inches."""

    plies: int
    size: str
    layout: Layout
    pieces: tuple[int, ...]
    most: float


@dataclass(frozen=True)
class JoistLimit:
    """The most one joist may span and run past, inches; engineer is 1 where no table says so."""

    size: str
    spacing: int
    span: float
    cantilever: float
    engineer: int


@dataclass(frozen=True)
class Carried:
    """What a beam carries: the joist span its table is entered with, the strip of deck on it, inches.

    sizes: for each layout the beams that leave its posts a height they may have; () for all of them.
    """

    joist_span: float
    strip: float
    sizes: tuple[tuple[str, ...], ...]


# A beam of the catalogue: plies, size, the longest bay (inches), 1 where no table says so.
Reach = tuple[int, str, float, int]


class Members:
    """The members of one job that hold. `free`: limits that are not asked for, to see which of them leaves no frame."""

    def __init__(self, job: Job, catalogue: Catalogue, free: frozenset[str] = frozenset()) -> None:
        self.job, self.catalogue, self.free = job, catalogue, free
        self._allowed: dict[tuple[float, float], tuple[tuple[str, ...], ...]] = {}
        self._posts: dict[float, list[float]] = {}
        self._reaches: dict[float, tuple[Reach, ...]] = {}
        self._lumber: dict[tuple[tuple[Reach, ...], int, tuple[str, ...]], list[Found[Seat]]] = {}
        self._seats: dict[Carried, list[Found[Seat]]] = {}

    @cached_property
    def live(self) -> float:
        """The load every member is chosen for, psf."""
        return heaviest(self.job)

    @cached_property
    def lengths(self) -> tuple[int, ...]:
        return (*stock.lengths(), UNLIMITED) if "pieces" in self.free else stock.lengths()

    @cached_property
    def layouts(self) -> tuple[Layout, ...]:
        share = UNLIMITED if "beam-cantilever" in self.free else self.beam_share
        return layouts(self.job, self.catalogue, self.lengths, share)

    @cached_property
    def joist_share(self) -> float:
        return joists.cantilever_share(self.job.edition)

    @cached_property
    def beam_share(self) -> float:
        return beams.cantilever_share(self.job.edition)

    @cached_property
    def clear(self) -> float:
        """What the edition takes off a bay, post centre to post centre: nothing, or its two bearings, inches."""
        return 2 * rules.rule("min_bearing_wood_or_metal").number if self.job.edition in CLEAR_SPANS else 0.0

    @cached_property
    def joists(self) -> list[JoistLimit]:
        """Every joist of the catalogue, or the one the job names."""
        sizes = (self.job.joist_size,) if self.job.joist_size else self.catalogue.joist_sizes
        spacings = (self.job.joist_spacing,) if self.job.joist_spacing else self.catalogue.spacings
        return [self._joist(size, spacing) for size in sizes for spacing in spacings]

    def _joist(self, size: str, spacing: int) -> JoistLimit:
        asked = (self.job.species, size, spacing, self.job.edition, self.live)
        span, past = joists.span(*asked), joists.cantilever(*asked)
        return JoistLimit(size, spacing, span.most, past.most, int(span.source is None or past.source is None))

    @cached_property
    def longest_bay(self) -> float:
        """No joist of the catalogue spans more, inches."""
        return UNLIMITED if "joist-span" in self.free else max(joist.span for joist in self.joists)

    @cached_property
    def longest_cantilever(self) -> float:
        """No joist of the catalogue runs past further, inches."""
        return UNLIMITED if "joist-cantilever" in self.free else max(joist.cantilever for joist in self.joists)

    def joists_over(self, parts: tuple[float, ...]) -> dict[float, list[Found[Joists]]]:
        """Joists that hold over `parts` (past the near support, each bay, past the far one; inches), by their stack.

        None beaten by one of the same stack: a deeper joist leaves shorter posts, which may be what is wanted.
        """
        near, *spans, far = parts
        past = ((near, self.joist_share * spans[0]), (far, self.joist_share * spans[-1]))
        if "joist-cantilever" not in self.free and any(end > most + SLACK for end, most in past):
            return {}
        stacked: dict[float, list[Found[Joists]]] = {}
        for cost, joist in self._joists_over(parts, max(spans), past):
            stacked.setdefault(self.stack(joist), []).append((cost, joist))
        return {stack: front(found) for stack, found in stacked.items()}

    def _joists_over(
        self, parts: tuple[float, ...], span: float, past: Sequence[tuple[float, float]]
    ) -> Iterator[Found[Joists]]:
        furthest, pieces = max(end for end, _ in past), joist_pieces(self.job, parts, self.lengths)
        for joist in self.joists:
            if span > joist.span + SLACK and "joist-span" not in self.free:
                continue
            if furthest > joist.cantilever + SLACK and "joist-cantilever" not in self.free:
                continue
            over = max(end / min(joist.cantilever, most) for end, most in past)
            close, number = tenths(max(span / joist.span, over)), ceil(self.job.width / joist.spacing - SLACK) + 1
            if pieces:
                cost = (0, 0, thirds(joist.size, sum(pieces), number), pieces[0], close, joist.engineer)
                yield cost, Joists(joist.size, joist.spacing, pieces, span / joist.span, over)

    def stack(self, joists: Joists) -> float:
        """Decking and joist above a beam, inches; 0 where posts may have any height."""
        thin = float(rules.rule("decking_5/4_max_joist_spacing").value.split()[0])
        decking = 1.0 if joists.spacing <= thin else 1.5
        return decking + section(joists.size).d if self.job.height else 0.0

    def carried(self, joist_span: float, strip: float, stack: float) -> Carried:
        """What a beam carries, made the same for all that cannot be told apart: inches of span, of deck, of stack."""
        span, strip = round(joist_span, 6), round(strip, 6)
        return Carried(span, strip, self._sizes(strip, stack) if self.job.height else ())

    def _sizes(self, strip: float, stack: float) -> tuple[tuple[str, ...], ...]:
        """For each layout the beam sizes under which its posts hold; () where posts rule none out."""
        if (strip, stack) not in self._allowed:
            every, free = self.catalogue.beam_sizes, "post" in self.free
            talls = [(size, self.job.height - stack - section(size).d) for size in every]
            left = [(size, tall) for size, tall in talls if free or 0 <= tall <= self._post(LEAST_AREA) + SLACK]
            each = tuple(
                tuple(size for size, tall in left if free or tall <= most + SLACK)
                for most in (self._tallest(strip) if left else [0.0] * len(self.layouts))
            )
            self._allowed[strip, stack] = () if all(sizes == every for sizes in each) else each
        return self._allowed[strip, stack]

    def _tallest(self, strip: float) -> list[float]:
        """For each layout how far its most loaded post may stand out of the ground, inches."""
        if strip not in self._posts:
            areas = [max(LEAST_AREA, *self.areas(layout, strip)) for layout in self.layouts]
            self._posts[strip] = [self._post(area) - self._down(area) for area in areas]
        return self._posts[strip]

    def _down(self, area: float) -> float:
        """How far a post goes into the ground, inches: furthest to the thinnest footing, away from a patch."""
        return self.hole(area).down if not self.heavy else hole(self.job, LEAST_AREA, self.job.live).down

    def _post(self, area: float) -> float:
        job, loaded = self.job, round(as_area(self.job, area, self.live), 6)
        return posts.height(job.species, job.post, loaded, job.edition, job.live).most

    def seats(self, carried: Carried) -> list[Found[Seat]]:
        """Beams on posts that hold under it, none beaten."""
        if carried not in self._seats:
            self._seats[carried] = front(self._seated(carried))
        return self._seats[carried]

    def _seated(self, carried: Carried) -> Iterator[Found[Seat]]:
        for index, layout in enumerate(self.layouts):
            sizes = carried.sizes[index] if carried.sizes else self.catalogue.beam_sizes
            lumber = self._lumber_under(carried.joist_span, index, sizes)
            if not lumber:
                continue
            outer, inner = (self.hole(area) for area in self.areas(layout, carried.strip))
            if max(outer.side, inner.side) > layout.bay and "footing" not in self.free:
                continue
            tenth = ceil(10 * (2 * outer.concrete + (layout.count - 2) * inner.concrete) - SLACK)
            unsure = outer.engineer | inner.engineer
            for (holes, _, wood, longest, close, engineer), seat in lumber:
                yield (holes, tenth, wood, longest, close, engineer | unsure), seat

    def hole(self, area: float) -> Hole:
        return hole(self.job, area, self.live)

    def footing_share(self, area: float) -> float:
        """The share of what the soil under a footing bears that its load uses; whole where the tables round it down."""
        side = self.hole(area).side
        base = side**2 if self.job.footing == "square" else pi / 4 * side**2
        return min(1.0, area * (self.live + dead_load()) * SQUARE_FOOT / (base * self.job.soil))

    def areas(self, layout: Layout, strip: float) -> tuple[float, float]:
        """Deck on an end post and on one between (with two posts the same), square feet: halves of bays, whole ends."""
        end = layout.bay / 2 + layout.end
        if self.heavy:  # a patch may lie over an end alone, which then weighs as a lever
            end = max(end, (layout.bay + layout.end) ** 2 / (2 * layout.bay))
        between = layout.bay if layout.count > 2 else end
        return end * strip / SQUARE_FOOT, between * strip / SQUARE_FOOT

    def _lumber_under(self, joist_span: float, index: int, sizes: tuple[str, ...]) -> list[Found[Seat]]:
        """The beams that reach over one layout, none beaten. Joist spans of one table column share them."""
        answers = self._answers(joist_span)
        key = (answers, index, sizes)
        if key not in self._lumber:
            self._lumber[key] = front(self._reach(self.layouts[index], answers, sizes))
        return self._lumber[key]

    def _answers(self, joist_span: float) -> tuple[Reach, ...]:
        """The most each beam of the catalogue may span."""
        if joist_span not in self._reaches:
            kinds = [(plies, size) for plies in self.catalogue.plies for size in self.catalogue.beam_sizes]
            found = [(plies, size, self.beam(plies, size, joist_span)) for plies, size in kinds]
            self._reaches[joist_span] = tuple(
                (plies, size, answer.most + self.clear, int(answer.source is None)) for plies, size, answer in found
            )
        return self._reaches[joist_span]

    def _reach(self, layout: Layout, answers: tuple[Reach, ...], sizes: tuple[str, ...]) -> Iterator[Found[Seat]]:
        for plies, size, most, unsure in answers:
            if size not in sizes or (layout.bay > most + SLACK and "beam-span" not in self.free):
                continue
            close = tenths(max(layout.bay / most, layout.end / (self.beam_share * layout.bay)))
            for pieces in layout.pieces:
                wood = thirds(size, sum(pieces), plies)
                yield (layout.count, 0, wood, pieces[0], close, unsure), Seat(plies, size, layout, pieces, most)

    def beam(self, plies: int, size: str, joist_span: float) -> Answer:
        return beams.span(self.job.species, plies, size, round(joist_span, 6), self.job.edition, self.live)

    @cached_property
    def heavy(self) -> bool:
        """A patch adds to the deck's live load."""
        return self.live > self.job.live


def thirds(size: str, inches: int, times: int) -> int:
    """Lumber as bought, thirds of a board foot: a 2 x D of L ft is 2 D L / 12 board feet; lengths in even feet."""
    return int(size.split("x")[1]) * inches * times // 24


def tenths(share: float) -> int:
    return max(LEAST_TENTHS, ceil(share * 10 - SLACK))
