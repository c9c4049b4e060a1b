"""Checks of a frame: each member at its limit and a sixteenth beyond it, its level, and the change that would hold."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import combinations
from math import pi

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import integrate

from server import framing
from server.codes import footings as footing_tables
from server.codes import joists as joist_tables
from server.codes import stock
from server.framing import fixes, footings, girders, lengths, patch
from server.framing.checks import failing
from server.framing.placing import place
from server.model import Job, Patch
from server.words import sentence, words
from tests.framed import beam, checked, deck, mended

SIXTEENTH = 1 / 16
SPA = Patch("spa", x=24.0, y=60.0, width=96.0, out=60.0, load=110)


def test_joists_of_southern_pine_span_11_10() -> None:
    """Common practice, no source: 2x8 at 16 in. span 11' 10"."""
    assert checked(deck(out=142.0, beams=(beam(142.0),)))["joist-span-1"].level == "holds"
    long = checked(deck(beams=(beam(142.0 + SIXTEENTH),)))["joist-span-1"]
    assert (long.level, long.limit.most) == ("fails", 142.0)


def test_a_cell_for_joists_without_a_cantilever_serves_no_others() -> None:
    """Redwood 2x6 at 24 in.: the cell is 84 in., the calculation 82. A sixteenth past the beam is none."""
    wood = {"species": "redwood", "joist_size": "2x6", "joist_spacing": 24}

    def span(past: float, **changes: object) -> tuple[str, float, bool]:
        member = checked(deck(out=80.0 + past, beams=(beam(80.0),), **wood, **changes))["joist-span-1"]
        return member.level, member.limit.most, member.limit.source is None

    assert span(1 / 16)[1:] == (84.0, False)
    assert span(1 / 8) == ("engineer", 82.0, True)
    assert span(1 / 8, edition="DCA 6-2012")[2] is False
    alone = deck(attached=False, out=140.0, beams=(beam(12.0), beam(140.0)))
    assert checked(alone)["joist-span-1"].level == "engineer"


def test_a_joist_span_a_little_long_is_mended_by_its_string() -> None:
    fix = mended(deck(beams=(beam(144.0),)), "joist-span-1").fix
    assert fix is not None
    assert sentence(fix.key, fix.slots) == "Beam 1 at a setback of at most 11' 10\" holds."


def test_a_joist_span_far_too_long_is_mended_by_closer_joists() -> None:
    fix = mended(deck(beams=(beam(150.0),), out=160.0), "joist-span-1").fix
    assert fix is not None
    assert sentence(fix.key, fix.slots) == "At 12 in. spacing it holds."
    assert checked(deck(beams=(beam(150.0),), out=160.0, joist_spacing=12))["joist-span-1"].level == "engineer"


def test_joists_between_beams_are_spans_of_their_own() -> None:
    found = checked(deck(out=270.0, beams=(beam(120.0), beam(270.0))))
    assert [found[f"joist-span-{n}"].actual for n in (1, 2)] == [120.0, 150.0]
    assert [found[f"joist-span-{n}"].level for n in (1, 2)] == ["holds", "fails"]


def test_joists_run_past_a_beam_by_the_table_and_by_a_quarter() -> None:
    """DCA 6-2012 Table 2: 2x8 at 16 in. run 2' 0" past; note 3: a quarter of the actual span at most."""
    table = checked(deck(edition="DCA 6-2012", beams=(beam(132.0),)))["joist-cantilever-yard"]
    assert (table.actual, table.limit.most, table.level) == (24.0, 24.0, "holds")
    over = checked(deck(edition="DCA 6-2012", beams=(beam(132.0 - SIXTEENTH),)))["joist-cantilever-yard"]
    assert over.level == "fails"
    short = checked(deck(edition="DCA 6-2012", out=50.0 + SIXTEENTH, beams=(beam(40.0),)))["joist-cantilever-yard"]
    assert (short.limit.most, short.level, short.limit.governs) == (10.0, "fails", "quarter of the span")


def test_a_deck_alone_runs_past_on_the_house_side_too() -> None:
    found = checked(deck(attached=False, beams=(beam(24.0 + SIXTEENTH), beam(140.0)), edition="DCA 6-2012"))
    assert found["joist-cantilever-house"].level == "fails"
    assert found["joist-span-1"].actual == pytest.approx(140.0 - 24.0 - SIXTEENTH)
    assert "ledger" not in found


def test_two_2x10_under_12_ft_of_joist_span_7_4() -> None:
    """Common practice, no source: a beam of two 2x10 under joists of 12 ft spans 7' 4"."""
    at = checked(deck(out=160.0, beams=(beam(142.0, 24, 112, 200, 288),)))["beam-span-1"]
    assert (at.actual, at.limit.most, at.level) == (88.0, 88.0, "holds")
    over = checked(deck(out=160.0, beams=(beam(142.0, 24, 112 + SIXTEENTH, 200, 288),)))["beam-span-1"]
    assert over.level == "fails"


def test_a_clear_span_is_three_inches_less_than_its_bay() -> None:
    at = checked(deck(edition="DCA 6-2012", beams=(beam(138.0, 24, 112, 200, 288),)))["beam-span-1"]
    assert (at.actual, at.limit.most, at.level) == (85.0, 85.0, "holds")


def test_a_beam_with_joists_on_both_sides_is_entered_by_what_it_carries() -> None:
    """It carries half of both spans, 10 ft; the table's joists of 12.8 ft lay that much on a beam."""
    job = deck(out=240.0, beams=(beam(120.0), beam(240.0)))
    assert girders.joist_span(job, place(job), 0) == pytest.approx(120.0 / 0.78125)
    assert girders.joist_span(job, place(job), 1) == pytest.approx(120.0)
    assert checked(job)["beam-span-1"].limit.most < checked(job)["beam-span-2"].limit.most


def test_a_beam_end_runs_past_its_post_by_a_quarter_of_its_own_bay() -> None:
    found = checked(deck(beams=(beam(138.0, 20, 100, 190, 288),)))
    assert [found[f"beam-cantilever-1-{side}"].limit.most for side in ("left", "right")] == [20.0, 24.5]
    assert {found[f"beam-cantilever-1-{side}"].level for side in ("left", "right")} == {"holds"}
    job = deck(beams=(beam(138.0, 20 + SIXTEENTH, 100, 190, 288),))
    fix = mended(job, "beam-cantilever-1-left").fix
    assert fix is not None
    assert sentence(fix.key, fix.slots) == "The left end of beam 1 at most 1' 8\" past its post holds."


def test_a_26_ft_beam_is_a_14_ft_and_a_12_ft_piece() -> None:
    job = deck(beams=(beam(138.0, 12, 84, 168, 234, 300),))
    assert girders.pieces(place(job)[0].posts, job.width) == (168, 144)
    assert girders.feet_text(girders.sold((168, 144))) == "14 ft + 12 ft"


def test_a_beam_of_one_piece_needs_no_rule_of_splices() -> None:
    assert checked(deck(width=192.0))["beam-piece-1"].level == "holds"
    assert checked(deck())["beam-piece-1"].level == "memory"


def test_a_beam_without_an_inner_post_wants_one() -> None:
    job = deck(width=312.0, beams=(beam(60.0, 30, 282),), out=70.0)
    piece = mended(job, "beam-piece-1")
    assert (piece.level, piece.actual, piece.limit.most) == ("fails", 312.0, 288.0)
    assert piece.fix is not None
    assert sentence(piece.fix.key, piece.fix.slots) == "One post more under beam 1 holds, in equal bays."


@given(st.lists(st.integers(12, 200), min_size=1, max_size=7), st.integers(0, 40), st.integers(0, 40))
def test_pieces_are_the_best_of_every_way_to_cut(gaps: list[int], left: int, right: int) -> None:
    posts = tuple(float(left + sum(gaps[:n])) for n in range(len(gaps) + 1))
    width = posts[-1] + right
    ways = []
    for count in range(len(posts) - 1):
        for cuts in combinations(posts[1:-1], count):
            marks = (0.0, *cuts, width)
            cut = [high - low for low, high in zip(marks, marks[1:], strict=False)]
            if all(piece <= stock.lengths()[-1] for piece in cut):
                bought = sum(min(length for length in stock.lengths() if length >= piece) for piece in cut)
                ways.append((len(cut), bought))
    found = girders.pieces(posts, width)
    assert (len(found), sum(girders.sold(found))) == min(ways) if ways else found == ()


def test_a_post_is_as_tall_as_the_deck_less_what_lies_on_it() -> None:
    """60 in. less 1 in. of decking, 7 1/4 of joist and 9 1/4 of beam."""
    post = checked(deck(height=60.0, edition="IRC 2021"))["post-1"]
    assert (post.actual, post.level) == (42.5, "memory")


def test_dca_6_asks_for_posts_of_6x6() -> None:
    for height in (0.0, 60.0):
        for post in ("4x4", "4x6"):
            job = deck(edition="DCA 6-2012", beams=(beam(138.0),), post=post, height=height)
            found = mended(job, "post-1")
            assert (found.level, found.fix and sentence(found.fix.key, found.fix.slots)) == ("fails", "6x6 posts hold.")
            assert "6x6 at least" in sentence(found.say.key, found.say.slots)
            assert checked(replace(job, edition="IRC 2021", height=60.0))["post-1"].level != "fails"
        assert failing(deck(edition="DCA 6-2012", post="6x6", height=height)) == frozenset()


def test_a_ledger_is_2x8_at_least() -> None:
    def told(**changes: object) -> list[str]:
        findings = framing.frame(deck(**changes)).findings
        return [sentence(one.key, one.slots) for one in findings if one.key == "walk.frame.note.ledger-size"]

    assert told(joist_size="2x6") == ["The joists are 2x6; the ledger itself is 2x8 at least."]
    assert told(joist_size="2x8") == told(joist_size="2x6", attached=False, beams=(beam(12.0), beam(138.0))) == []


def test_a_square_pad_lies_deep_and_its_post_goes_down_to_it() -> None:
    job = deck(height=60.0, footing="square", frost=36.0)
    assert checked(job)["post-1"].actual == 42.5 + 36.0 - footings.holes(job, place(job))[0][1].thickness


def test_a_slim_tall_post_is_mended_by_a_stouter_one() -> None:
    job = deck(height=180.0, post="4x4", edition="IRC 2021", beams=(beam(138.0, 12, 156, 300),))
    assert checked(job)["post-1"].level == "fails"
    fix = mended(job, "post-1").fix
    assert fix is not None
    assert fix.key == "walk.frame.fix.post"
    assert checked(replace(job, post=str(fix.slots["size"])))["post-1"].level != "fails"


def test_a_deck_too_low_for_its_beam_is_told_how_high() -> None:
    fix = mended(deck(height=14.0), "post-1").fix
    assert fix is not None
    assert sentence(fix.key, fix.slots) == "The deck at least 1' 6\" above the ground holds."


def test_footings_go_below_frost_and_a_foot_at_least() -> None:
    shallow, deep = deck(frost=6.0), deck(frost=40.0)
    assert {hole.depth for hole in footings.holes(shallow, place(shallow))[0]} == {12.0}
    assert {hole.depth for hole in footings.holes(deep, place(deep))[0]} == {40.0}


def test_concrete_is_the_pad_and_its_shaft() -> None:
    job = deck(frost=40.0, edition="IRC 2018")
    hole = footings.holes(job, place(job))[0][2]
    table = footing_tables.size(hole.area, 1500, "IRC 2018", 40)
    assert (hole.side, hole.thickness, hole.level) == (table.round, table.thickness, "memory")
    pad, shaft = pi * 19**2 / 4 * 6, pi * 10**2 / 4 * 34
    assert (hole.side, hole.thickness, hole.shaft) == (19, 6, 10)
    assert hole.concrete == pytest.approx((pad + shaft) / 1728)


def test_a_small_pad_is_poured_straight_up() -> None:
    """A 12 in. tube, wide enough for an 8x8, leaves no 2 in. around it on a 14 in. pad."""
    assert footings.shaft_of("8x8", 14.0, 6.0) == 14.0
    assert footings.shaft_of("4x4", 14.0, 6.0) == 8.0


def test_footings_under_an_edition_without_them_are_an_engineers() -> None:
    assert checked(deck(edition="IRC 2015"))["footing-1"].level == "engineer"
    assert checked(deck(edition="IRC 2018"))["footing-1"].level == "memory"
    assert checked(deck(edition="IRC 2018", soil=1000))["footing-1"].level == "engineer"


def test_a_load_beyond_the_tables_is_an_engineers() -> None:
    found = checked(deck(live=80, beams=(beam(100.0),), out=110.0, edition="IRC 2018"))
    assert {found[name].level for name in ("joist-span-1", "beam-span-1", "footing-1", "ledger")} == {"engineer"}


def test_ledger_fasteners_by_the_span_that_rests_on_it() -> None:
    job = deck(beams=(beam(144.0),), fastener="lag screw")
    assert checked(job)["ledger"].actual == 15.0
    assert checked(replace(job, fastener="bolt"))["ledger"].actual == 29.0
    ledger = framing.sheet(job, framing.frame(job))["ledger"]
    assert [(way["count"], way["pounds"]) for way in ledger["ties"]["ways"]] == [(2, 1500), (4, 750)]
    assert ledger["edges"][0]["bottom_edge"] == 0.75


def test_a_guard_is_asked_for_above_30_in() -> None:
    def asked(height: float) -> bool:
        return "walk.frame.note.guard" in {one.key for one in framing.frame(deck(height=height)).findings}

    assert not asked(30.0)
    assert asked(30.0 + SIXTEENTH)
    assert checked(deck(height=31.0))["guard"].say.key == "walk.frame.say.guard"


def test_decking_of_joists_24_in_apart_is_thick() -> None:
    found = checked(deck(joist_spacing=24, height=60.0))
    assert found["spacing"].say.key == "walk.frame.say.spacing-thick"
    assert found["post-1"].actual == 42.0


# A patch ---------------------------------------------------------------------------------------------------------


def test_a_patch_over_the_whole_deck_is_the_same_as_that_live_load() -> None:
    """No overhang, no partly loaded span: the even load comes out as the patch's own."""
    whole = Patch("roof", 0.0, 0.0, 312.0, 142.0, 90)
    job = deck(out=142.0, beams=(beam(142.0),), patches=(whole,))
    answer = joist_tables.span("southern pine", "2x8", 16, "IRC 2015", 90)
    assert checked(job)["patch-1-joist-1"].limit.most == answer.computed
    assert patch.joist_live(job, (0.0, 142.0), 0, [(0.0, 142.0, 50 * 16 / 144)]) == pytest.approx(90)
    heavy = deck(out=142.0, beams=(beam(142.0),), live=90)
    loads = [[hole.load for hole in footings.holes(one, place(one))[0]] for one in (job, heavy)]
    assert sum(loads[0]) == pytest.approx(sum(loads[1]))


def test_a_patch_makes_members_an_engineers_or_fails() -> None:
    found = checked(deck(patches=(SPA,), edition="IRC 2018"))
    assert (found["patch-1-joist-1"].level, found["patch-beam-1"].level) == ("fails", "engineer")
    assert found["patch-beam-1"].limit.most < found["beam-span-1"].limit.most
    assert found["footing-1"].level == "engineer"
    strong = checked(
        deck(patches=(SPA,), joist_size="2x12", joist_spacing=12, beams=(beam(138, plies=3, size="2x12"),))
    )
    assert {strong[name].level for name in ("patch-1-joist-1", "patch-beam-1")} == {"engineer"}
    assert checked(deck(patches=(replace(SPA, load=40),))) == checked(deck())


def test_a_patch_on_the_end_of_a_beam_shears_it_beside_its_post() -> None:
    """By hand: 138 in. of joist x 0.78125 at 50 psf is 37.4 lb/in; the patch lays 221.7 on the end."""
    tub = Patch("tub", x=0.0, y=72.0, width=12.0, out=84.0, load=500)
    ends = {"width": 120.0, "species": "hem-fir", "joist_size": "2x12"}
    light = beam(138.0, 12, 60, 108, plies=3, size="2x6")
    job = deck(**ends, beams=(light,), patches=(tub,))
    own = 50 * 138 * 0.78125 / 144
    more = 460 * 84 * (72 + 42) / 138 / 144
    by_hand = max((own + more) * 12, own * 48 / 2 + (own + more) * 72 / 48)
    loads = patch.on_beams(job, place(job))[0]
    assert patch.beam_shear(job, place(job), 0, 0, loads) == pytest.approx(by_hand)
    found = mended(job, "patch-beam-1")
    assert (found.level, found.limit.governs) == ("fails", "shear")
    assert sentence(found.say.key, found.say.slots) == (
        "Beam 1, 3-2x6, carries a part of a heavier patch: beside a post it shears by 3,109 lb; it bears 1,760 lb."
    )
    stout = checked(replace(job, beams=(replace(light, size="2x12"),)))["patch-beam-1"]
    assert (stout.level, stout.say.key) == ("engineer", "walk.frame.say.patch-beam")


def test_a_patch_past_the_beam_lifts_the_joists_at_the_house() -> None:
    """A foot of width by hand: 10 psf x (120² - 30²) / 240 holds down 562, 400 psf x 30² / 240 lifts 1500."""
    job = deck(out=150.0, beams=(beam(120.0),), edition="IRC 2018")
    tub = Patch("tub", 0.0, 120.0, 312.0, 30.0, 400)
    found = checked(replace(job, patches=(tub,)))["ledger"]
    assert (found.level, found.limit.source) == ("engineer", None)
    assert "beyond beam 1 can lift them off the house" in sentence(found.say.key, found.say.slots)
    assert checked(job)["ledger"].level == "holds"
    # It turns at 150 psf: 150 x 30² = 10 x (120² - 30²).
    for load, lifts in ((149, False), (151, True)):
        narrow = replace(tub, x=100.0, width=50.0, load=load)
        assert framing.sheet(one := replace(job, patches=(narrow,)), framing.frame(one))["ledger"]["lifted"] is lifts
    near = replace(tub, y=60.0, out=60.0)
    assert checked(replace(job, patches=(near,)))["ledger"].say.key == "walk.frame.say.ledger"


@given(st.floats(0, 200), st.floats(0, 100), st.floats(12, 200), st.floats(12, 150))
def test_what_a_patch_adds_arrives_at_ledger_and_posts(x: float, y: float, width: float, out: float) -> None:
    job = deck(patches=(Patch("planter", x, y, width, out, 100),), beams=(beam(156.0, 0, 100, 200, 312),))
    left, right, near, far = patch.rectangle(job, job.patches[0])
    ledger = sum(load * (high - low) for low, high, load in patch.on_supports(job, place(job))[0])
    assert ledger + sum(patch.on_posts(job, place(job))[0]) == pytest.approx(60 * (right - left) * (far - near) / 144)


@settings(max_examples=40, deadline=None)
@given(st.floats(40, 200), st.floats(0, 0.8), st.floats(0.05, 1), st.floats(0.5, 9), st.floats(0.5, 9))
def test_a_partly_loaded_span_by_integration(span: float, start: float, share: float, base: float, more: float) -> None:
    """Moment and sag from the load itself: shear is the load summed, moment the shear summed, sag by virtual work."""
    low, high = start * span, min(span, start * span + share * span)
    assume(high - low > 1)
    loads = ((0.0, span, base), (low, high, more))
    turning = integrate.quad(lambda x: more * (span - x), low, high)[0] + base * span**2 / 2
    left = turning / span

    def moment(x: float) -> float:
        over = max(0.0, min(x, high) - low)
        return left * x - base * x**2 / 2 - more * over * (x - (low + min(x, high)) / 2 if x > low else 0.0)

    peak = max(moment(span * n / 4000) for n in range(4001))
    assert patch.most_moment(span, loads) == pytest.approx(peak, rel=1e-5)
    virtual = integrate.quad(
        lambda x: (moment(x) + base * x**2 / 2 - base * span * x / 2) * min(x, span - x) / 2,
        0, span, points=sorted({low, high, span / 2}), limit=200,
    )[0]  # fmt: skip
    assert more * patch.sag(span, low, high) == pytest.approx(virtual, rel=1e-6)


# What people read ------------------------------------------------------------------------------------------------


def test_decking_of_16_6_needs_a_second_board_and_16_does_not() -> None:
    by_width = {width: lengths.sheet(one := deck(width=width), place(one))[1] for width in (198.0, 192.0)}
    assert by_width[198.0]["boards"] in ([120, 96], [144, 72])
    assert by_width[198.0]["waste"] == 18.0
    said = by_width[198.0]["say"]
    assert sentence(said["key"], said["slots"]).startswith("16' 6\" of decking needs a second board in every row")
    assert (by_width[192.0]["boards"], by_width[192.0]["waste"]) == ([192], 0.0)


def joist_row(job: Job) -> dict[str, object]:
    return lengths.sheet(job, place(job))[0]


def test_joists_are_counted_at_both_ends_and_every_spacing() -> None:
    """312 in. at 16 in. is 19 1/2 spacings: 20, and one to begin."""
    row = joist_row(deck())
    assert (row["rows"], row["length"], row["boards"]) == (21, 153.0, [168])
    assert joist_row(deck(width=320.0))["rows"] == 21
    alone = deck(attached=False, beams=(beam(12.0), beam(138.0)))
    assert joist_row(alone)["length"] == 154.5


def test_joists_too_long_for_one_board_meet_over_a_beam_between_supports() -> None:
    """297 in. of joist: 24 ft and 8 ft would do, but the only inner beam stands 138.5 in. along it."""
    row = joist_row(deck(out=300.0, beams=(beam(140.0), beam(280.0))))
    assert row["boards"] == [168, 144]
    said = row["say"]
    assert sentence(said["key"], said["slots"]) == (
        "Each joist, 24' 9\", is of pieces that meet over a beam: 14 ft + 12 ft, 1' 3\" waste. 21 joists."
    )


def test_joists_that_no_boards_sold_reach_are_told() -> None:
    """The one beam is the outer one: a piece past it would hang loose."""
    row = joist_row(deck(out=320.0, beams=(beam(140.0),)))
    assert (row["boards"], row["waste"]) == ([], 0.0)
    said = row["say"]
    assert "no lengths the yard sells fit" in sentence(said["key"], said["slots"])


def test_a_job_without_species_reads_as_before() -> None:
    plain = framing.frame(deck(species=""))
    assert [one.key for one in plain.findings] == ["walk.finding.tables"]
    sheet = framing.sheet(deck(species=""), plain)
    assert (sheet["checked"], sheet["members"], sheet["footings"], sheet["ledger"]) == (False, [], [], None)


def test_a_job_whose_beams_are_still_to_be_found_has_no_members() -> None:
    job = deck(beams=())
    sheet = framing.sheet(job, framing.frame(job))
    assert (sheet["checked"], sheet["members"], sheet["limits"]["beams"]) == (False, [], [])


def test_a_patch_off_the_deck_adds_nothing() -> None:
    away = Patch("pool", 400.0, 0.0, 50.0, 50.0, 200)
    assert checked(deck(patches=(away,))) == checked(deck())


@st.composite
def decks(draw: st.DrawFn) -> Job:
    attached = draw(st.booleans())
    gaps = draw(st.lists(st.integers(20, 200), min_size=1 if attached else 2, max_size=3))
    setbacks = [float(sum(gaps[: n + 1])) for n in range(len(gaps))]
    size = st.sampled_from(("2x6", "2x8", "2x10", "2x12"))
    width = float(draw(st.integers(96, 420)))
    posts = draw(st.integers(2, 6))
    at = tuple(width * (n + 0.3) / posts for n in range(posts))
    return deck(
        units=draw(st.sampled_from(("inch", "millimetre"))),
        width=width,
        out=setbacks[-1] + draw(st.integers(0, 60)),
        attached=attached,
        beams=tuple(beam(setback, *at, plies=draw(st.integers(1, 3)), size=draw(size)) for setback in setbacks),
        species=draw(st.sampled_from(("southern pine", "hem-fir", "western cedars"))),
        edition=draw(st.sampled_from(("DCA 6-2012", "IRC 2015", "IRC 2018", "IRC 2021"))),
        joist_size=draw(size),
        joist_spacing=draw(st.sampled_from((12, 16, 24))),
        live=draw(st.sampled_from((40, 60, 90))),
        soil=draw(st.sampled_from((1000, 1500, 3000))),
        frost=float(draw(st.sampled_from((0, 48)))),
        height=float(draw(st.sampled_from((0, 14, 48, 170)))),
        post=draw(st.sampled_from(("4x4", "6x6"))),
        footing=draw(st.sampled_from(("round", "square"))),
        patches=draw(st.sampled_from(((), (SPA,)))),
    )


@settings(max_examples=60, deadline=None)
@given(decks())
def test_every_sentence_can_be_said_and_none_approves(job: Job) -> None:
    frame = framing.frame(job)
    sheet = framing.sheet(job, frame)
    assert json.loads(json.dumps(sheet)) == sheet
    said = [sentence(one.key, one.slots, job.units) for one in frame.findings]
    messages = [one[part] for one in sheet["members"] for part in ("say", "fix") if one[part]]
    messages += [one["say"] for one in sheet["stock"]] + [sheet["concrete_say"]]
    said += [sentence(one["key"], one["slots"], job.units) for one in messages]
    assert not [text for text in said if "{" in text or "approved" in text.lower()]
    keys = {row[key] for row in sheet["limits"]["beams"] for key in ("near_key", "far_key")}
    assert keys <= set(words())
    assert sum(1 for one in sheet["members"] if one["level"] != "holds") == len(
        [one for one in frame.findings if one.key.startswith("walk.frame.level.")]
    )


@settings(max_examples=40, deadline=None)
@given(decks())
def test_a_change_that_is_named_holds(job: Job) -> None:
    """The first change of the list that mends is the one named; put into the job, the member no longer fails."""
    before = failing(job)
    for name, member in checked(job).items():
        named = fixes.with_fix(job, member, before).fix
        if named is None:
            continue
        assert member.level == "fails"
        changed = next(changed for changed, say in fixes._changes(job, member) if say == named)
        assert name not in failing(changed)
