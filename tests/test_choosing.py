"""Frames that are found: each passes the checks done one by one, none that fits is missed, and what blocks is named."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations, product
from math import ceil
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server import choosing
from server.choosing import FULL, Catalogue, Choice, Option
from server.choosing.catalogue import HALF_BEAM, HALF_POST, LEAST_BAY, NEAR_HOUSE, beam_counts, ends, setbacks
from server.choosing.heavy import heaviest
from server.choosing.holes import hole
from server.codes import beams, joists, posts, rules, stock
from server.codes.wood import section
from server.framing import frame
from server.framing.checks import failing
from server.framing.footings import holes
from server.framing.placing import place
from server.framing.sheet import sheet
from server.job import length_text, read
from server.model import BeamOrder, Job, Patch
from server.words import sentence
from tests.bench.choosing import check_all, open_deck
from tests.demo import spec
from tests.framed import beam, checked, deck

SLACK = 1e-9
SMALL = Catalogue(
    joist_sizes=("2x8", "2x12"), spacings=(16, 24), rows=(1, 2), plies=(2, 3), beam_sizes=("2x8", "2x12"),
    posts=(2, 3, 4), most_setbacks=30, most_bays=2,
)
TINY = replace(SMALL, spacings=(24,), beam_sizes=("2x10",), most_setbacks=12)
OPEN = {"beams": (), "joist_size": "", "joist_spacing": 0}
DECKS: dict[str, dict[str, Any]] = {
    "long side": {},
    "free-standing": {"attached": False, "width": 192.0, "out": 144.0},
    "clear spans, weak lumber": {"edition": "DCA 6-2012", "species": "red pine", "out": 120.0},
    "every cell in print": {"edition": "IRC 2018", "species": "hem-fir", "soil": 2000},
    "slim tall posts": {"height": 110.0, "post": "4x4", "out": 130.0},
    "low": {"height": 20.0, "footing": "square", "frost": 30.0, "width": 200.0},
    "metric": {"units": "millimetre", "width": 4800 / 25.4, "out": 3610 / 25.4},
    "odd sixteenth": {"width": 200.0625, "out": 121.3125},
    "heavier load": {"live": 60, "width": 200.0},
    "spa": {"width": 200.0, "patches": (Patch("spa", 96.0, 24.0, 80.0, 80.0, 100),)},
    "named joists": {"joist_size": "2x10", "joist_spacing": 16},
}


def wanted(**changes: Any) -> Job:
    return deck(**OPEN | changes)


def built(job: Job, option: Option) -> Job:
    """The job with the frame put in, by way of its job file."""
    width, out = (length_text(inches, job.units) for inches in (job.width, job.out))
    said = spec(units=job.units, width=width, out=out, tape="100'", attached=job.attached)
    found = read(said | option.spec())
    return replace(job, beams=found.beams, joist_size=found.joist_size, joist_spacing=found.joist_spacing)


def stands(job: Job, places: tuple[float, ...]) -> tuple[float, ...]:
    return (0.0, *places) if job.attached else places


def gaps(places: tuple[float, ...]) -> list[float]:
    return [far - near for near, far in zip(places, places[1:], strict=False)]


def strip(job: Job, places: tuple[float, ...], at: int) -> float:
    """Deck on one support by moments: each stretch of deck hangs on its two supports, overhangs as levers."""
    carried = 0.0
    for left in range(len(places) - 1):
        low = 0.0 if left == 0 else places[left]
        high = job.out if left == len(places) - 2 else places[left + 1]
        right_part = (high - low) * ((low + high) / 2 - places[left]) / (places[left + 1] - places[left])
        carried += right_part if at == left + 1 else (high - low) - right_part if at == left else 0.0
    return carried


def joist_faults(job: Job, places: tuple[float, ...], size: str, spacing: int) -> list[str]:
    """Every joist limit that these setbacks break."""
    asked = (job.species, size, spacing, job.edition, float(job.live))
    spans, reach = gaps(stands(job, places)), joists.cantilever(*asked).most
    past = [(job.out - places[-1], spans[-1]), *([] if job.attached else [(places[0], spans[0])])]
    faults = ["span" for span in spans if span > joists.span(*asked).most + SLACK]
    faults += ["cantilever" for end, span in past if end > min(reach, span / 4) + SLACK]
    faults += ["bay" for span in spans if span < LEAST_BAY - SLACK]
    near, far = NEAR_HOUSE
    return faults + ([] if job.attached or near <= places[0] <= far else ["house"])


def beam_faults(job: Job, places: tuple[float, ...], index: int, line: Any, joist: tuple[str, int]) -> list[str]:
    """Every limit that one beam on its posts breaks; `line` has plies, size, count, bay, end."""
    at, all_of_it = index + job.attached, stands(job, places)
    beside = gaps(all_of_it)[max(at - 1, 0) : at + 1]
    deep = strip(job, all_of_it, at)
    joist_span = round(max(*beside, deep / 0.78125), 6)
    most = beams.span(job.species, line.plies, line.size, joist_span, job.edition, float(job.live)).most
    clear = 3.0 if job.edition == "DCA 6-2012" else 0.0
    areas = [deep * length / 144 for length in (line.bay / 2 + line.end, line.bay if line.count > 2 else 0.0)]
    faults = ["span"] if line.bay - clear > most + SLACK else []
    faults += ["end"] if line.end > line.bay / 4 + SLACK or line.end < HALF_POST[job.post] - 1 / 16 else []
    faults += ["footing"] if max(hole(job, area, job.live).side for area in areas) > line.bay else []
    return faults + (["post"] if job.height and not post_stands(job, max(areas), line.size, joist) else [])


def post_stands(job: Job, area: float, size: str, joist: tuple[str, int]) -> bool:
    tall = job.height - (1.0 if joist[1] <= 16 else 1.5) - section(joist[0]).d - section(size).d
    most = posts.height(job.species, job.post, max(1.0, round(area, 6)), job.edition, float(job.live)).most
    return tall >= 0 and tall + hole(job, area, job.live).down <= most + SLACK


def bought(cuts: list[float], inner: list[float]) -> Iterator[tuple[int, ...]]:
    """Every way to make a member from 0 to cuts[-1] with joints over some of `inner`, as lengths bought."""
    for count in range(len(inner) + 1):
        for joints in combinations(inner, count):
            pieces = gaps((cuts[0], *joints, cuts[-1]))
            lengths = [[length for length in stock.lengths() if length >= piece - SLACK][:1] for piece in pieces]
            if all(lengths):
                yield tuple(length[0] for length in lengths)


def faults(job: Job, option: Option) -> list[str]:
    """A frame checked member by member, straight from the codes."""
    places = tuple(line.setback for line in option.beams)
    joist = (option.joist_size, option.joist_spacing)
    found = joist_faults(job, places, *joist)
    found += [fault for n, line in enumerate(option.beams) for fault in beam_faults(job, places, n, line, joist)]
    found += ["outside"] if places[-1] > job.out - HALF_BEAM + SLACK else []
    for line in option.beams:
        ways = {tuple(sorted(way, reverse=True)) for way in bought([0.0, job.width], list(line.posts[1:-1]))}
        found += [] if line.pieces in ways else ["pieces"]
        found += [] if line.posts[-1] + line.end == pytest.approx(job.width) else ["posts"]
    return found + ([] if [option.joist_pieces] == joist_boards(job, places) else ["joist pieces"])


def joist_boards(job: Job, places: tuple[float, ...]) -> list[tuple[int, ...]]:
    """What a joist is bought in, between ledger and rim: the fewest boards, then the least; none, or one way."""
    ends = [1.5 if job.attached else 0.0, job.out - 1.5]
    ways = [tuple(sorted(way, reverse=True)) for way in bought(ends, list(stands(job, places)[1:-1]))]
    return sorted(ways, key=lambda way: (len(way), sum(way), way))[:1]


@pytest.mark.parametrize("changes", DECKS.values(), ids=DECKS)
def test_every_frame_passes_the_checks_done_one_by_one(changes: dict[str, Any]) -> None:
    job = wanted(**changes)
    found = choosing.frames(job)
    assert found.frames
    assert not found.blocked
    assert [(option, faults(job, option)) for option in found.frames if faults(job, option)] == []


@pytest.mark.parametrize("changes", DECKS.values(), ids=DECKS)
def test_the_frame_put_into_the_job_has_no_member_that_fails(changes: dict[str, Any]) -> None:
    job = wanted(**changes)
    for option in choosing.frames(job).frames[::7]:
        members = checked(built(job, option))
        assert len(members) > 4
        assert [member.say for member in members.values() if member.level == "fails"] == []


@pytest.mark.parametrize("name", ["long side", "free-standing", "low", "metric", "every cell in print"])
def test_concrete_and_holes_are_those_of_the_frame_when_it_is_checked(name: str) -> None:
    job = wanted(**DECKS[name])
    for option in choosing.frames(job).frames[::9]:
        taken = built(job, option)
        dug = [each for row in holes(taken, place(taken)) for each in row]
        assert option.holes == len(dug)
        assert 0 <= option.concrete - sum(each.concrete for each in dug) <= 0.1 * len(option.beams) + 1e-6
        assert sum(line.concrete for line in option.beams) == pytest.approx(sum(each.concrete for each in dug))


PATCHED: dict[str, dict[str, Any]] = {
    "two overlap": {"patches": (Patch("spa", 60, 30, 84, 84, 100), Patch("stove", 96, 30, 84, 84, 100))},
    "one bridges two": {
        "patches": (Patch("bed", 60, 0, 110, 20, 60), Patch("spa", 20, 30, 60, 60, 100), Patch("tub", 150, 50, 60, 60, 100)),
    },
    "footings in print": {"edition": "IRC 2018", "patches": (Patch("spa", 60, 30, 84, 84, 100),)},
    "posts to deep pads": {
        "edition": "IRC 2021", "footing": "square", "height": 60.0, "frost": 40.0, "patches": (Patch("spa", 60, 30, 84, 84, 100),),
    },
    "off the near overhang": {"attached": False, "patches": (Patch("spa", 0, 24, 240, 120, 100),)},
}


def falls_short(job: Job, option: Option) -> bool:
    """Whether a member fails when the frame is checked, or more concrete is poured than the option says."""
    taken = built(job, option)
    poured = sum(each.concrete for row in holes(taken, place(taken)) for each in row)
    return bool(failing(taken)) or option.concrete < poured - SLACK


@pytest.mark.parametrize("changes", PATCHED.values(), ids=PATCHED)
def test_under_patches_no_member_fails_and_no_concrete_is_left_out(changes: dict[str, Any]) -> None:
    job = wanted(width=240.0, out=144.0, **changes)
    found = choosing.frames(job).frames[::5]
    assert len(found) > 50
    assert [option for option in found if falls_short(job, option)] == []
    assert all(option.engineer for option in found)


PATCHES = st.builds(
    Patch, st.just("spa"), st.integers(0, 200), st.integers(0, 120), st.integers(10, 120), st.integers(10, 120),
    st.sampled_from([30, 60, 100]),
)


@settings(max_examples=15, deadline=None)
@given(patches=st.lists(PATCHES, min_size=1, max_size=4), attached=st.booleans(), edition=st.sampled_from(["IRC 2015", "IRC 2021"]))
def test_under_any_patches_the_frames_of_a_small_catalogue_hold(patches: list[Patch], attached: bool, edition: str) -> None:
    job = wanted(width=240.0, out=144.0, patches=tuple(patches), attached=attached, edition=edition)
    found = choosing.frames(job, replace(TINY, joist_sizes=("2x12",), spacings=(12, 16), beam_sizes=("2x12",), plies=(3,))).frames
    assert [option for option in found if falls_short(job, option)] == []


def test_patches_add_up_only_where_some_joist_runs_under_both() -> None:
    spa, side, far = Patch("spa", 60, 30, 84, 84, 100), Patch("bed", 150, 30, 40, 84, 90), Patch("tub", 60, 114, 84, 20, 70)
    assert heaviest(wanted(patches=(spa, side, far))) == 100
    assert heaviest(wanted(patches=(spa, replace(side, x=143), far))) == 40 + 60 + 50
    assert heaviest(wanted(patches=(spa, replace(side, load=30), replace(far, y=113)))) == 40 + 60 + 30
    assert heaviest(wanted(patches=(replace(spa, x=400),))) == heaviest(wanted()) == 40


@pytest.mark.parametrize("edition", ["IRC 2015", "IRC 2018"])
@pytest.mark.parametrize("shape", ["round", "square"])
def test_a_footing_is_that_of_the_frame_when_it_is_checked_with_and_without_a_patch(edition: str, shape: str) -> None:
    job = deck(edition=edition, footing=shape, width=240.0, beams=(beam(100.0, 12.0, 228.0),))
    for load in (40, 70, 100):
        patched = replace(job, patches=(Patch("spa", 0, 0, 240, 156, load),))
        for each in holes(patched, place(patched))[0]:
            # A patch over the whole deck: its lever on an end post is longer than the deck's own share.
            live = each.load / max(each.area, 1.0) - 10
            mine = hole(patched, each.area, live)
            assert (mine.side, mine.concrete) == pytest.approx((each.side, each.concrete))


STOCK: dict[str, dict[str, Any]] = {
    "long side": {},
    "free-standing": {"attached": False, "width": 192.0, "out": 144.0},
    "an inch past a stock length": {"out": 193.0},
    "jointed over beams": {"out": 300.0, "width": 200.0},
    "jointed, free-standing": {"out": 330.0, "width": 150.0, "attached": False},
}


@pytest.mark.parametrize("changes", STOCK.values(), ids=STOCK)
def test_joists_are_bought_as_the_frame_lists_them(changes: dict[str, Any]) -> None:
    job = wanted(**changes)
    found = choosing.frames(job).frames[::9]
    assert found
    for option in found:
        taken = built(job, option)
        row = next(row for row in sheet(taken, frame(taken))["stock"] if row["of"] == "joist")
        assert (tuple(row["boards"]), row["rows"]) == (option.joist_pieces, ceil(job.width / option.joist_spacing) + 1)
        feet = wood(option.joist_size) * sum(row["boards"]) * row["rows"]
        feet += sum(wood(line.size) * sum(line.pieces) * line.plies for line in option.beams)
        assert option.board_feet == pytest.approx(feet)


# Brute force: plain nested loops over a small catalogue, every limit looked up each time, nothing cut short.


class Post:
    """A beam on its posts, as `beam_faults` reads it."""

    def __init__(self, plies: int, size: str, count: int, end: float, job: Job) -> None:
        self.plies, self.size, self.count, self.end = plies, size, count, end
        self.bay = (job.width - 2 * end) / (count - 1)
        self.posts = [end + self.bay * post for post in range(count)]


def by_hand(job: Job, catalogue: Catalogue) -> set[tuple[float, ...]]:
    """The columns of every frame of the catalogue that fits, beaten or not."""
    found = set()
    kinds = [
        Post(plies, size, count, end, job)
        for plies in catalogue.plies
        for size in catalogue.beam_sizes
        for count in catalogue.posts
        for end in ends(job, count, catalogue, 0.25)
    ]
    for count in beam_counts(job, catalogue):
        for places in setbacks(job, count, catalogue):
            for joist in product(catalogue.joist_sizes, catalogue.spacings):
                if joist_faults(job, places, *joist):
                    continue
                rows = [
                    [(line, way) for line in kinds if not beam_faults(job, places, at, line, joist)
                     for way in bought([0.0, job.width], line.posts[1:-1])]
                    for at in range(count)
                ]
                for over in joist_boards(job, places):
                    for row in product(*rows):
                        found.add(columns(job, places, joist, over, row))
    return found


def columns(job: Job, places: tuple[float, ...], joist: tuple[str, int], over: tuple[int, ...], row: Any) -> tuple[float, ...]:
    """Holes, concrete, board feet, longest piece, joist cantilever, closest, engineer, by their definitions."""
    number = ceil(job.width / joist[1] - SLACK) + 1
    feet = wood(joist[0]) * sum(over) * number + sum(wood(line.size) * sum(way) * line.plies for line, way in row)
    spans, asked = gaps(stands(job, places)), (job.species, *joist, job.edition, float(job.live))
    past = [(job.out - places[-1], spans[-1]), *([] if job.attached else [(places[0], spans[0])])]
    span, reach = joists.span(*asked), joists.cantilever(*asked)
    shares = [max(spans) / span.most, *(end / min(reach.most, beside / 4) for end, beside in past)]
    unsure, poured = span.source is None or reach.source is None, 0.0
    for at, (line, _) in enumerate(row, int(job.attached)):
        deep = strip(job, stands(job, places), at)
        joist_span = round(max(*spans[max(at - 1, 0) : at + 1], deep / 0.78125), 6)
        answer = beams.span(job.species, line.plies, line.size, joist_span, job.edition, float(job.live))
        clear = 3.0 if job.edition == "DCA 6-2012" else 0.0
        shares += [line.bay / (answer.most + clear), 4 * line.end / line.bay]
        outer = hole(job, round(deep, 6) * (line.bay / 2 + line.end) / 144, job.live)
        inner = hole(job, round(deep, 6) * line.bay / 144, job.live) if line.count > 2 else outer
        unsure = unsure or answer.source is None or bool(outer.engineer or inner.engineer)
        poured += ceil(10 * (2 * outer.concrete + (line.count - 2) * inner.concrete) - SLACK)
    longest = max(*over, *(piece for _, way in row for piece in way))
    closest = max(5, ceil(10 * max(shares) - SLACK)) / 10
    holes_dug, cantilever = sum(line.count for line, _ in row), max(end for end, _ in past)
    return (holes_dug, poured / 10, round(feet, 6), longest, round(cantilever, 6), closest, float(unsure))


def wood(size: str) -> float:
    """Board feet of an inch of a nominal size."""
    return 2 * int(size.split("x")[1]) / 144


def beats(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one != other and all(a <= b for a, b in zip(one, other, strict=True))


def unbeaten(every: set[tuple[float, ...]]) -> set[tuple[float, ...]]:
    """Frames that no other is as good as in every column."""
    kept: list[tuple[float, ...]] = []
    for one in sorted(every):  # what beats a frame sorts before it
        if not any(beats(other, one) for other in kept):
            kept.append(one)
    return set(kept)


def seen(choice: Choice) -> list[tuple[float, ...]]:
    return [tuple(round(value, 6) for value in option.columns) for option in choice.frames]


BRUTE: dict[str, dict[str, Any]] = {
    "attached": {"width": 200.0, "out": 130.0},
    "free-standing": {"attached": False, "width": 150.0, "out": 140.0},
    "clear spans": {"edition": "DCA 6-2012", "species": "hem-fir", "width": 180.0, "out": 120.0},
    "low posts": {"width": 170.0, "out": 120.0, "height": 21.0, "footing": "square"},
    "slim tall posts": {"width": 200.0, "out": 150.0, "height": 160.0, "post": "4x4"},
    "metric": {"units": "millimetre", "width": 4275 / 25.4, "out": 3007 / 25.4},
    "footings in print": {"edition": "IRC 2018", "width": 160.0, "out": 100.0, "soil": 3000},
}


@pytest.mark.parametrize("changes", BRUTE.values(), ids=BRUTE)
def test_brute_force_finds_no_frame_the_search_missed_and_none_fewer(changes: dict[str, Any]) -> None:
    job = wanted(**changes)
    every, found = by_hand(job, SMALL), seen(choosing.frames(job, SMALL))
    assert len(every) > 20
    assert len(found) == len(set(found))
    assert set(found) == unbeaten(every)


@settings(max_examples=25, deadline=None)
@given(width=st.integers(48, 420), out=st.integers(48, 260), attached=st.booleans(), live=st.sampled_from([40, 60, 100]))
def test_on_decks_of_any_size_search_and_brute_force_agree(width: int, out: int, attached: bool, live: int) -> None:
    job = wanted(width=float(width), out=float(out), attached=attached, live=live)
    choice = choosing.frames(job, TINY)
    assert set(seen(choice)) == unbeaten(by_hand(job, TINY))
    assert bool(choice.frames) != bool(choice.blocked)


@settings(max_examples=10, deadline=None)
@given(width=st.integers(60, 600), out=st.integers(60, 300), attached=st.booleans(), edition=st.sampled_from(["DCA 6-2012", "IRC 2015", "IRC 2021"]))
def test_on_decks_of_any_size_frames_of_the_full_catalogue_pass(width: int, out: int, attached: bool, edition: str) -> None:
    job = wanted(width=width / 1.0625, out=out / 1.0625, attached=attached, edition=edition)
    for option in choosing.frames(job).frames[::5]:
        assert faults(job, option) == []


def test_no_frame_beats_another_and_the_fewest_holes_come_first() -> None:
    found = seen(choosing.frames(wanted()))
    assert len(found) > 50
    assert not any(beats(one, other) for one in found for other in found)
    assert found == sorted(found)


def test_joists_the_job_names_are_kept_to() -> None:
    found = choosing.frames(wanted(joist_size="2x10", joist_spacing=16)).frames
    assert {(option.joist_size, option.joist_spacing) for option in found} == {("2x10", 16)}


def test_a_whole_inch_is_a_whole_inch_on_the_tape() -> None:
    for option in choosing.frames(wanted()).frames:
        assert all(line.bay == int(line.bay) and line.setback == int(line.setback) for line in option.beams)


def test_shares_name_what_is_closest() -> None:
    for option in choosing.frames(wanted()).frames:
        close = max(share for name, share in option.shares.items() if name != "footing")
        assert option.closest - 0.1 < close <= option.closest or (option.closest == 0.5 and close <= 0.5)
        assert 0 < option.shares["footing"] <= 1


BLOCKED: dict[str, dict[str, Any]] = {
    "joist-span": {"out": 290.0, "joist_size": "2x6", "joist_spacing": 24, "width": 100.0},
    "beam-span": {"width": 1200.0},
    "beam-cantilever": {"width": 1200.0},
    "post": {"height": 200.0},
    "post-low": {"height": 10.0},
    "footing": {"width": 50.0, "out": 200.0, "live": 150, "soil": 120},
}


@pytest.mark.parametrize(("limit", "changes"), BLOCKED.items(), ids=BLOCKED)
def test_where_none_fits_the_limit_is_named(limit: str, changes: dict[str, Any]) -> None:
    choice = choosing.frames(wanted(**changes))
    assert choice.frames == ()
    assert f"choose.blocked.{limit}" in {message.key for message in choice.blocked}
    assert not any("{" in sentence(message.key, message.slots) for message in choice.blocked)


@pytest.mark.parametrize("limit", ["joist-cantilever", "several"])
def test_a_small_catalogue_is_blocked_by_other_limits(limit: str) -> None:
    short = replace(SMALL, rows=(1,), joist_sizes=("2x6",), spacings=(24,), most_setbacks=3)
    job = wanted(out=100.0 if limit == "joist-cantilever" else 300.0, width=120.0)
    assert f"choose.blocked.{limit}" in {message.key for message in choosing.frames(job, short).blocked}


def test_what_is_said_to_open_it_does() -> None:
    wide, deep = wanted(width=1200.0), wanted(out=900.0)
    posts_said = {m.key: m.slots for m in choosing.frames(wide).blocked}["choose.open.posts"]["posts"]
    assert choosing.frames(wide, replace(FULL, posts=(int(str(posts_said)),))).frames
    assert not choosing.frames(wide, replace(FULL, posts=(int(str(posts_said)) - 1,))).frames
    rows_said = {m.key: m.slots for m in choosing.frames(deep).blocked}["choose.open.rows"]["rows"]
    assert choosing.frames(deep, replace(FULL, rows=(int(str(rows_said)),))).frames
    named = wanted(out=290.0, joist_size="2x6", joist_spacing=24, width=100.0)
    assert "choose.open.joists" in {message.key for message in choosing.frames(named).blocked}
    assert choosing.frames(replace(named, joist_size="", joist_spacing=0)).frames


def test_a_frame_goes_into_the_job_file_and_comes_back() -> None:
    job = wanted(**DECKS["metric"])
    option = choosing.frames(job).frames[0]
    taken = built(job, option)
    orders = tuple(BeamOrder(line.setback, line.plies, line.size, count=line.count, cantilever=line.end) for line in option.beams)
    for order, expected in zip(taken.beams, orders, strict=True):
        assert order.setback == pytest.approx(expected.setback, abs=1e-9)
        assert order.cantilever == pytest.approx(expected.cantilever, abs=1e-9)
        assert (order.plies, order.size, order.count) == (expected.plies, expected.size, expected.count)


def test_the_rules_used_are_those_of_the_codes() -> None:
    assert rules.rule("beam_cantilever_max_ratio").number == 0.25
    assert joists.cantilever_share("IRC 2015") == 0.25


def test_the_benchmark_sets_the_search_beside_whole_checks_that_hold() -> None:
    frames = list(choosing.frames(open_deck()).frames)
    assert check_all(open_deck(), frames) == len(frames) > 0
    far = replace(frames[0], beams=(replace(frames[0].beams[0], bay=400.0),))
    deep = replace(frames[0], beams=(replace(frames[0].beams[0], setback=60.0),))
    assert check_all(open_deck(), [far, deep]) == 0
