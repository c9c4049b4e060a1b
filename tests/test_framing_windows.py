"""Windows: at both ends of one every check holds that should, and a sixteenth beyond it a limit is passed."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from server.framing import joists, windows
from server.framing.levels import FAILS
from server.framing.placing import place
from server.model import Job, Patch
from tests.framed import beam, checked, deck

SIXTEENTH = 1 / 16
STANDS = {f"walk.frame.limit.{what}" for what in ("house", "edge", "beam-nearer", "beam-farther")}
JOISTS = ("joist-span", "joist-cantilever")


@st.composite
def decks(draw: st.DrawFn) -> tuple[Job, int]:
    """A deck of one to three beams and one of them."""
    attached = draw(st.booleans())
    gaps = draw(st.lists(st.integers(16, 150), min_size=1 if attached else 2, max_size=3))
    setbacks = [float(sum(gaps[: n + 1])) for n in range(len(gaps))]
    size = draw(st.sampled_from(("2x6", "2x8", "2x10", "2x12")))
    orders = tuple(beam(at, plies=draw(st.integers(1, 3)), size=size) for at in setbacks)
    job = deck(
        attached=attached,
        out=setbacks[-1] + draw(st.integers(0, 40)),
        beams=orders,
        joist_size=size,
        joist_spacing=draw(st.sampled_from((12, 16, 24))),
        species=draw(st.sampled_from(("southern pine", "hem-fir", "red pine"))),
        edition=draw(st.sampled_from(("DCA 6-2012", "IRC 2015", "IRC 2021"))),
    )
    return job, draw(st.integers(0, len(orders) - 1))


def moved(job: Job, index: int, setback: float) -> Job:
    return replace(job, beams=(*job.beams[:index], replace(job.beams[index], setback=setback), *job.beams[index + 1 :]))


def failures(job: Job, *kinds: str) -> set[str]:
    return {name for name, member in checked(job).items() if member.kind in kinds and member.level == FAILS}


def own(job: Job, index: int, names: set[str]) -> set[str]:
    """The joist checks that a beam's string has a part in. A cantilever of another beam counts by its quarter only:
    beyond the table's length it fails wherever this string stands."""
    first, last = (index + 1 if job.attached else index), len(job.beams) - 1
    most = joists.cantilever_answer(job).most
    mine = {f"joist-span-{first}", f"joist-span-{first + 1}"}
    if index == last or (index == last - 1 and job.out - job.beams[-1].setback <= most):
        mine.add("joist-cantilever-yard")
    if not job.attached and (index == 0 or (index == 1 and job.beams[0].setback <= most)):
        mine.add("joist-cantilever-house")
    return names & mine


@settings(max_examples=150, deadline=None)
@given(decks())
def test_a_window_is_as_wide_as_the_limits_and_no_wider(drawn: tuple[Job, int]) -> None:
    job, index = drawn
    near, far = windows.window(job, place(job), index)
    assume(far[0] - near[0] > 1e-6)
    start = min(max(job.beams[index].setback, near[0]), far[0])
    for (end, key), way in ((near, -1), (far, 1)):
        if key not in STANDS:
            assert not own(job, index, failures(moved(job, index, end), *JOISTS))
        beyond = moved(job, index, end + way * SIXTEENTH)
        if key.endswith("beam-span"):
            before = failures(moved(job, index, start), "beam-span")
            assert failures(moved(job, index, end), "beam-span") <= before
            assert failures(beyond, "beam-span") - before
        elif key not in STANDS:
            assert own(job, index, failures(beyond, *JOISTS))


def test_one_beam_of_a_common_deck() -> None:
    """Southern pine 2x8 at 16 in.: 11' 10" of joist; DCA 6-2012 lets it run 2' 0" past the beam."""
    job = deck(edition="DCA 6-2012")
    (row,) = windows.limits(job, place(job))["beams"]
    assert (row["near"], row["near_key"]) == (132.0, "walk.frame.limit.joist-cantilever")
    assert (row["far"], row["far_key"]) == (142.0, "walk.frame.limit.joist-span")
    assert row["span"] == 88.0
    assert row["posts"] == pytest.approx([12, 84, 156, 228, 300])


def test_a_quarter_of_the_span_is_the_limit_of_a_short_one() -> None:
    job = deck(out=50.0, beams=(beam(44.0),))
    near, far = windows.window(job, place(job), 0)
    assert near == (40.0, "walk.frame.limit.joist-quarter")
    assert far == (50.0, "walk.frame.limit.edge")


def test_longer_joists_that_a_beam_no_longer_carries_end_its_window() -> None:
    """2-2x10 in the 10 ft column: 96 in. of bay; beyond 10 ft of joist it may span 88 in. only."""
    job = deck(out=140.0, beams=(beam(118.0, 20, 116, 212, 308),))
    near, far = windows.window(job, place(job), 0)
    assert far[0] == pytest.approx(120.0, abs=1e-5)
    assert far[1] == "walk.frame.limit.beam-span"


def test_beams_that_fail_do_not_hide_the_limit_of_one_that_holds() -> None:
    orders = (beam(14.0, 6, 226, size="2x6"), beam(109.0, 20, 116, 212), beam(163.0, 6, 226, size="2x6"))
    job = deck(width=232.0, out=233.0, joist_size="2x12", joist_spacing=12, edition="DCA 6-2012", beams=orders)
    assert failures(job, "beam-span") == {"beam-span-1", "beam-span-3"}
    _, far = windows.window(job, place(job), 1)
    assert far[1] == "walk.frame.limit.beam-span"
    assert failures(moved(job, 1, far[0]), "beam-span") == {"beam-span-1", "beam-span-3"}
    assert "beam-span-2" in failures(moved(job, 1, far[0] + SIXTEENTH), "beam-span")


def test_posts_that_hold_go_on_holding_in_a_window() -> None:
    """150² / 2s in. of deck rest on the beam; at 140 5/8 in. that is 80 sq ft a post, and 4x4 posts stand less tall."""
    job = deck(out=150.0, beams=(beam(145.0, 12, 156, 300, plies=3, size="2x12"),), post="4x4", edition="IRC 2021",
        joist_size="2x12", joist_spacing=12, height=130.0)  # fmt: skip
    near, _ = windows.window(job, place(job), 0)
    assert near == (pytest.approx(140.625, abs=1e-5), "walk.frame.limit.post")
    assert not failures(moved(job, 0, near[0]), "post")
    assert failures(moved(job, 0, near[0] - SIXTEENTH), "post") == {"post-1"}


def test_limits_say_that_a_patch_asks_for_more() -> None:
    spa = Patch("spa", 24.0, 60.0, 96.0, 60.0, 110)
    said = [windows.limits(job, place(job))["patched"] for job in (deck(patches=(spa,)), deck())]
    assert said == [True, False]


def test_nothing_is_known_of_a_frame_without_species() -> None:
    (row,) = windows.limits(deck(species=""), place(deck()))["beams"]
    assert (row["span"], row["near"], row["far"]) == (0.0, None, None)


def test_a_window_that_is_shut_has_its_ends_crossed() -> None:
    job = deck(out=200.0, beams=(beam(138.0),))
    near, far = windows.window(job, place(job), 0)
    assert near[0] > far[0]
