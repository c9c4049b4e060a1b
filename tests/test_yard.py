"""The yard of many decks: points where they belong, readings the tape can give, findings where it cannot."""

from __future__ import annotations

import math
from typing import Any

import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from server import framing, job, steps, yard
from server.field import points
from tests.demo import bare, spec

BEAM = {"setback": "11' 6\"", "plies": 2, "size": "2x10", "posts": {"count": 5, "cantilever": "1' 6\""}}


def laid(**changes: Any) -> yard.Yard:
    wanted = job.read(spec(**changes))
    return yard.yard(wanted, framing.frame(wanted))


@st.composite
def decks(draw: st.DrawFn) -> dict[str, Any]:
    """Job files of decks that can be laid out, in whole inches."""
    width, out = draw(st.integers(72, 480)), draw(st.integers(60, 288))
    count = draw(st.integers(1, 4))
    gap = max((out - 24) // count, 12)
    setbacks = [24 + gap * i for i in range(count) if 24 + gap * i <= out]
    tape = draw(st.integers(max(120, width // 2 + 12, setbacks[-1] + 2), 720))
    posts = draw(st.integers(2, min(7, (width - 12) // 12 + 1)))
    beams = [
        {"setback": f'{at}"', "plies": 2, "size": "2x8", "posts": {"count": posts, "cantilever": '6"'}}
        for at in setbacks
    ]
    face = draw(st.sampled_from(["centre", "house-face", "yard-face"]))
    return spec(width=f'{width}"', out=f'{out}"', beams=beams, tape=f'{tape}"', string_face=face)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(decks())
def test_every_point_computes_to_its_plan(file: dict[str, Any]) -> None:
    """A point's own x and y are what its readings, strings and crossings give with nothing off."""
    wanted = job.read(file)
    ground = yard.plain(yard.yard(wanted, framing.frame(wanted)))
    seen = points.plan_view(ground)
    for name, point in ground["points"].items():
        assert points.place(seen, 0, name) == pytest.approx([point["x"], point["y"]], abs=1e-9)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(decks())
def test_no_reading_is_longer_than_the_tape(file: dict[str, Any]) -> None:
    wanted = job.read(file)
    frame = framing.frame(wanted)
    ground = yard.yard(wanted, frame)
    for row in steps.readings(steps.steps(wanted, ground), wanted.way):
        assert 0 <= row["inches"] <= wanted.tape + 1e-6
    for check in (*ground.triangles.values(),):
        assert check["c"] <= wanted.tape + 1e-6


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(decks())
def test_strings_cross_where_shapely_says(file: dict[str, Any]) -> None:
    wanted = job.read(file)
    ground = yard.yard(wanted, framing.frame(wanted))

    def line(name: str) -> shapely.LineString:
        ends = (ground.points[ground.strings[name][end]] for end in ("from", "to"))
        return shapely.LineString([(point["x"], point["y"]) for point in ends])

    for point in ground.points.values():
        if point["kind"] == "crossing":
            cross = line(point["strings"][0]).intersection(line(point["strings"][1]))
            assert (cross.x, cross.y) == pytest.approx((point["x"], point["y"]), abs=1e-9)
        if point["kind"] == "flag":
            assert line(point["string"]).distance(shapely.Point(point["x"], point["y"])) < 1e-9


def test_the_demo_deck_in_numbers() -> None:
    ground = laid()
    assert [ground.points[f"G1-{m}"]["x"] for m in range(1, 6)] == [16.0, 86.0, 156.0, 226.0, 296.0]
    assert (ground.triangles["left"]["a"], ground.triangles["left"]["b"]) == (300.0, 180.0)
    assert ground.frame_check["diagonal"] == pytest.approx(math.hypot(312, 138))
    assert ground.boards["B1L"] == {"nail": "B1L", "x": -36.0, "y": 138.0, "along": [0.0, 1.0], "length": 24.0}
    assert ground.findings == ()


def test_the_far_width_equals_the_near_width() -> None:
    """Common practice, no source: the width at the far end is the width at the wall, whatever the deck."""
    for width in ("8'", "17' 5 3/16\"", "29' 11\""):
        wanted = job.read(spec(width=width, beams=[BEAM | {"posts": {"count": 2, "cantilever": '6"'}}]))
        ground = yard.yard(wanted, framing.frame(wanted))
        far = points.planned(yard.plain(ground), *ground.frame_check["pulls"][0])
        assert far == pytest.approx(wanted.width, abs=1e-9)


def test_boards_stay_inside_the_room_beside_the_deck() -> None:
    ground = laid(room_left="2' 2\"", room_right="2' 8\"")
    assert ground.boards["B1L"]["x"] == -26.0
    assert ground.boards["B1R"]["x"] == 312.0 + 32.0


@pytest.mark.parametrize(("face", "aside"), [("house-face", 1.5), ("yard-face", -1.5)])
def test_a_string_on_the_face_leaves_the_footing_under_the_beams_centre(face: str, aside: float) -> None:
    ground = laid(string_face=face)
    assert ground.points["X1L"]["y"] == 138.0 - aside
    assert ground.points["G1-3"]["y"] == 138.0
    assert ground.points["G1-3"]["offset"] == [0.0, aside]


def test_a_short_tape_pulls_the_diagonals_nearer_the_wall() -> None:
    ground = laid(tape="27'")
    assert ground.frame_check["at"] == 84.0
    assert ground.frame_check["diagonal"] == pytest.approx(math.hypot(312, 84))


def test_a_tape_that_reaches_no_diagonal_is_said() -> None:
    ground = laid(tape="26' 1\"")
    assert ground.frame_check["diagonal"] == 0.0
    assert ground.frame_check["pulls"] == [("FL", "FR")]
    assert [one.key for one in ground.findings] == ["walk.finding.no-diagonals"]


def test_a_deck_wider_than_the_tape_gets_a_middle_mark_and_is_read_from_both_sides() -> None:
    ground = laid(tape="20'")
    assert ground.points["WR"]["from"] == "WM"
    assert ground.points["WM"]["reading"] + ground.points["WR"]["reading"] == 312.0
    assert ground.points["P1-5"]["from"] == "X1R"
    assert ground.points["P1-5"]["back"] is True
    assert [one.key for one in ground.findings] == ["walk.finding.no-width"]
    wanted = job.read(spec(tape="20'"))
    assert "frame" not in [step.id for step in steps.steps(wanted, ground)]


def test_posts_by_count_stand_in_equal_bays() -> None:
    wanted = job.read(spec(beams=[BEAM | {"posts": {"count": 4, "cantilever": "2'"}}]))
    assert framing.frame(wanted).beams[0].posts == pytest.approx((24.0, 112.0, 200.0, 288.0))


def test_a_beam_end_past_a_quarter_of_its_span_is_said() -> None:
    """IRC 2015 R507.5, from memory: a beam cantilevers at most a quarter of the span beside it."""
    holds = framing.frame(job.read(bare(beams=[BEAM | {"posts": {"count": 5, "cantilever": "4'"}}])))
    assert [one.key for one in holds.findings].count("walk.finding.cantilever") == 2
    just = framing.frame(job.read(bare(beams=[BEAM | {"posts": {"at": ["1'", "5'", "21'", "25'"]}}])))
    assert [one.key for one in just.findings] == ["walk.finding.tables"]


def test_a_free_standing_deck_has_a_beam_near_the_house_and_no_ledger_caution() -> None:
    beams = [BEAM | {"setback": "2'"}, BEAM]
    wanted = job.read(spec(attached=False, beams=beams))
    ground = yard.yard(wanted, framing.frame(wanted))
    ids = [step.id for step in steps.steps(wanted, ground)]
    assert "standing" in ids
    assert "ledger" not in ids
    assert ids.index("beam-1") < ids.index("beam-2") < ids.index("footing-1-1") < ids.index("footing-2-1")
