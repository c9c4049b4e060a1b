"""Where a footing may stand: worked numbers, and every answer against all rules looked at one by one."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from server.field import say, walk, window
from server.words import words

# A 26 ft beam on five posts: ends of 3 ft, bays of 5 ft, where a bay may span 7 ft. The string may go 7 in. in, 5 out.
BEAM: dict[str, Any] = {
    "number": 1, "setback": 138.0, "posts": [36.0, 96.0, 156.0, 216.0, 276.0], "span": 84.0, "near": 131.0, "far": 143.0,
    "near_key": "walk.window.limit.left", "far_key": "walk.window.limit.bay",
}  # fmt: skip
WIDTH = 312.0
EVEN: dict[str, Any] = {"width": WIDTH, "share": 0.25, "beams": [BEAM]}


def limits_of(*posts: float, width: float = WIDTH, **rest: Any) -> dict[str, Any]:
    return {"width": width, "share": 0.25, "beams": [BEAM | {"posts": list(posts)} | rest]}


def all_hold(limits: dict[str, Any], posts: list[float], setback: float) -> bool:
    """Every rule written down once more, plainly."""
    beam, close = limits["beams"][0], 1e-6
    bays = [b - a for a, b in zip(posts, posts[1:], strict=False)]
    sides = beam.get("sides") or [0.0] * len(posts)
    touching = [(a + b) / 2 for a, b in zip(sides, sides[1:], strict=False)]
    return (
        posts[0] >= -close
        and posts[-1] <= limits["width"] + close
        and all(bay >= least - close for bay, least in zip(bays, touching, strict=True))
        and (beam["span"] == 0 or max(bays) <= beam["span"] + close)
        and posts[0] <= bays[0] / 4 + close
        and limits["width"] - posts[-1] <= bays[-1] / 4 + close
        and (beam["near"] is None or setback >= beam["near"] - close)
        and (beam["far"] is None or setback <= beam["far"] + close)
    )


def moved(limits: dict[str, Any], m: int, x: float) -> list[float]:
    posts = list(limits["beams"][0]["posts"])
    posts[m - 1] = x
    return posts


def text(message: dict[str, Any], units: str = "inch") -> str:
    return say.sentence(words(), message, units)


@st.composite
def frames(draw: st.DrawFn) -> dict[str, Any]:
    """Beams of two to six posts that hold or nearly hold."""
    count = draw(st.integers(2, 6))
    runs = draw(st.lists(st.floats(40, 96), min_size=count - 1, max_size=count - 1))
    left, right = (draw(st.floats(0, 0.27)) * run for run in (runs[0], runs[-1]))
    posts = [left + sum(runs[:m]) for m in range(count)]
    span = draw(st.sampled_from((0.0, max(runs) * draw(st.floats(0.98, 1.4)))))
    near, far = (draw(st.none() | st.integers(-128, 1280).map(lambda n: n / 64)) for _ in range(2))
    ends = {"near": None if near is None else 138.0 - near, "far": None if far is None else 138.0 + far}
    sides = draw(st.sampled_from((None, [14.0] * count)))
    return limits_of(*posts, width=posts[-1] + right, span=span, sides=sides, **ends)


@pytest.mark.parametrize(
    ("m", "low", "high", "low_key", "high_key"),
    [
        # In bays of 5 ft an end may run past by 15 in.; post 1 would have to stand at 96/5.
        (1, 12.0, 19.2, "bay", "left"),
        (2, 36 + 4 * 36.0, 120.0, "left", "bay"),
        (3, 132.0, 180.0, "bay", "bay"),
        (4, 192.0, 276 - 4 * 36.0, "bay", "right"),
        (5, (312 + 54) / 1.25, 300.0, "right", "bay"),
    ],
)
def test_worked_windows(m: int, low: float, high: float, low_key: str, high_key: str) -> None:
    found = window.bay(EVEN, 1, m)
    assert (found["low"], found["high"]) == pytest.approx((low, high))
    assert (found["low_key"], found["high_key"]) == (f"walk.window.limit.{low_key}", f"walk.window.limit.{high_key}")


def test_two_posts_share_both_ends() -> None:
    """10 ft with posts at 18 and 102 in.: either end may run past by 21 in.; post 1 is held by its own end alone."""
    found = window.bay(limits_of(18.0, 102.0, width=120.0, span=0.0), 1, 1)
    assert (found["low"], found["high"]) == pytest.approx((0.0, 102 / 5))
    assert found["low_key"] == "walk.window.limit.end"


@given(frames(), st.data())
def test_at_a_windows_ends_every_rule_holds_and_a_sixteenth_beyond_one_breaks(frame: dict[str, Any], data: st.DataObject) -> None:
    beam = frame["beams"][0]
    m = data.draw(st.integers(1, len(beam["posts"])))
    found = window.bay(frame, 1, m)
    assume(found["low"] <= found["high"])
    setback = next((end for end in (beam["near"], beam["far"]) if end is not None), 138.0)
    assume(beam["near"] is None or beam["far"] is None or beam["near"] <= beam["far"])
    ends = [all_hold(frame, moved(frame, m, x), setback) for x in (found["low"], found["high"])]
    # Where a rule that this post has no part in breaks already, no place of it makes all rules hold.
    assert ends in ([True, True], [False, False])
    if ends[0]:
        assert not all_hold(frame, moved(frame, m, found["low"] - 1 / 16), setback)
        assert not all_hold(frame, moved(frame, m, found["high"] + 1 / 16), setback)
    else:
        own = {(m,), (m - 1, m), (m, m + 1)}
        others = [one for one in window.rules(frame, beam, beam["posts"]) if one["actual"] > one["most"] + 1e-6]
        assert any(tuple(sorted({one["from"], one["to"]})) not in own for one in others)


@given(frames(), st.data(), st.integers(-500, 500), st.integers(-400, 400))
def test_a_move_agrees_with_all_rules_looked_at(frame: dict[str, Any], data: st.DataObject, dx: int, dy: int) -> None:
    beam = frame["beams"][0]
    m = data.draw(st.integers(1, len(beam["posts"])))
    before = copy.deepcopy(frame)
    dx, dy = data.draw(st.sampled_from(((dx, 0), (0, dy), (0, 0))))
    found = window.move(frame, 1, m, dx / 16, dy / 16)
    assert found["holds"] == all_hold(frame, moved(frame, m, beam["posts"][m - 1] + dx / 16), 138.0 + dy / 16)
    assert frame == before
    said = [text(message) for message in (found["say"], *found["lines"])]
    assert not any("{" in line for line in said)
    assert said[0].startswith("No:") != found["holds"]
    assert any("not checked" in line for line in said) == (beam["span"] == 0)


@given(frames(), st.data(), st.sampled_from((1 / 16, 1 / 25.4)))
def test_the_room_that_is_told_may_be_moved_and_one_step_more_may_not(frame: dict[str, Any], data: st.DataObject, step: float) -> None:
    frame["step"] = step
    beam = frame["beams"][0]
    m = data.draw(st.integers(1, len(beam["posts"])))
    found = window.move(frame, 1, m, 0.0, 0.0)
    assume(found["holds"])
    ways = {"left": (-1, 0), "right": (1, 0), "toward": (0, -1), "away": (0, 1)}
    for line in found["lines"]:
        side = line["key"].rpartition(".")[2]
        if side in ways:
            across, out = ways[side]
            room = line["slots"]["room"]
            assert window.move(frame, 1, m, across * room, out * room)["holds"]
            assert not window.move(frame, 1, m, across * (room + step), out * (room + step))["holds"]


GOOD = limits_of(15.0, 78.0, 156.0, 234.0, 297.0)


def test_a_rock_five_inches() -> None:
    """End bays of 63 in. allow 15.75; bays of 78 in. may be 84."""
    found = window.move(GOOD, 1, 3, -5.0, 0.0)
    assert found["holds"]
    assert text(found["say"]) == 'Yes: footing 3 of beam 1 may move 5" left.'
    assert [text(line) for line in found["lines"][:2]] == [
        "1\" to the left. Limit: the beam's span",
        "11\" to the right. Limit: the beam's span",
    ]
    found = window.move(GOOD, 1, 3, -7.0, 0.0)
    assert not found["holds"]
    assert text(found["say"]) == "No: from footing 3 to footing 4 the beam would span 7' 1\". The most is 7' 0\"."
    assert text(found["lines"][0]) == 'It may move at most 6" left or 6" right.'


def test_each_limit_that_breaks_is_named() -> None:
    left = window.move(GOOD, 1, 1, 1.0, 0.0)
    assert text(left["say"]).startswith("No: the beam's left end would run 1' 4\" past footing 1. The most is 1' 3 1/2\"")
    right = window.move(GOOD, 1, 4, 4.0, 0.0)
    assert right["say"]["key"] == "walk.window.breaks.right"
    assert window.move(GOOD, 1, 1, -16.0, 0.0)["say"]["key"] == "walk.window.breaks.end"
    wide = limits_of(15.0, 78.0, 156.0, 234.0, 297.0, span=0.0, sides=[14.0, 14.0, 16.0, 14.0, 14.0])
    holes = window.move(wide, 1, 3, 64.0, 0.0)
    assert text(holes["say"]).startswith("No: the holes of footings 3 and 4 would run into each other. They need 1' 3\"")
    out = window.move(GOOD, 1, 3, 0.0, 6.0)
    assert text(out["say"]).startswith("No: beam 1 would stand 12' 0\" from the house. The most is 11' 11\". Limit: the beam's span")
    assert text(out["lines"][0]) == 'Its string may move at most 7" toward the house or 5" away.'
    assert text(out["lines"][1]).startswith("This moves the whole string of beam 1")
    far = window.move(limits_of(20.0, 78.0, 156.0, 234.0, 297.0), 1, 3, 0.0, 6.0)
    assert [line["key"].split(".")[2] for line in (far["say"], *far["lines"])] == ["breaks", "breaks", "moves", "moves", "string"]


@given(frames(), st.data(), st.integers(1, 500), st.integers(1, 400))
def test_a_move_both_ways_at_once_is_not_reckoned(frame: dict[str, Any], data: st.DataObject, dx: int, dy: int) -> None:
    """How far the beam may span changes with the string's setback: each way is asked for itself."""
    m = data.draw(st.integers(1, len(frame["beams"][0]["posts"])))
    across, out = (sign * by / 16 for sign, by in zip(data.draw(st.sampled_from(((1, 1), (1, -1), (-1, 1), (-1, -1)))), (dx, dy), strict=True))
    found = window.move(frame, 1, m, across, out)
    assert (found["holds"], found["lines"], found["window"]) == (False, [], None)
    assert text(found["say"]).startswith("Ask one way at a time")


def test_the_room_beside_the_way_that_was_moved_is_not_told() -> None:
    def told(dx: float, dy: float) -> set[str]:
        return {line["key"].rpartition(".")[2] for line in window.move(GOOD, 1, 3, dx, dy)["lines"] if ".room." in line["key"]}

    assert told(0.0, 0.0) == {"left", "right", "toward", "away"}
    assert told(-5.0, 0.0) == {"left", "right"}
    assert told(0.0, 4.0) == {"toward", "away"}


@pytest.mark.parametrize("by", [(0.0, 0.0), (-5.0, 0.0), (0.0, 4.0), (-5.0, 4.0)])
def test_a_deck_with_a_heavier_patch_is_sent_to_the_desk(by: tuple[float, float]) -> None:
    heavy = window.placed(GOOD | {"patched": True}, {"job": {"units": "inch"}, "frame": {}}, walk.start())
    for limits in (GOOD | {"patched": True}, heavy):
        found = window.move(limits, 1, 3, *by)
        assert (found["holds"], found["lines"], found["window"]) == (False, [], None)
        assert text(found["say"]).startswith("Not reckoned here: this deck carries a heavier patch. Change the plan at the desk")
    assert window.move(GOOD | {"patched": False}, 1, 3, 0.0, 0.0)["holds"]


@pytest.mark.parametrize("off", [[-2.0, 0.0], [0.0, 1.5]])
def test_a_string_with_a_post_off_its_planned_place_is_sent_to_the_desk(off: list[float]) -> None:
    state = walk.start()
    state["marks"] = {"G1-2": {"off": off}}
    here = window.placed(GOOD, {"job": {"units": "inch"}, "frame": {}}, state)
    found = window.move(here, 1, 4, 0.0, 2.0)
    assert (found["holds"], found["lines"], found["window"]) == (False, [], None)
    assert text(found["say"]).startswith("Not reckoned here: a footing of beam 1 stands off its planned place")
    along = window.move(here, 1, 4, -2.0, 0.0)
    assert along["holds"]
    stands = window.move(here, 1, 4, 0.0, 0.0)
    assert stands["holds"]
    assert {line["key"].rpartition(".")[2] for line in stands["lines"]} == {"left", "right"}


def test_a_post_staked_on_its_mark_leaves_its_string_to_be_asked() -> None:
    state = walk.start()
    state["marks"] = {"G1-2": {"off": None}, "G1-3": {"off": [0.0, 0.0]}}
    here = window.placed(GOOD, {"job": {"units": "inch"}, "frame": {}}, state)
    assert window.move(here, 1, 4, 0.0, 2.0)["holds"]


def test_a_post_that_stands_outside_is_told_what_would_hold() -> None:
    found = window.move(limits_of(20.0, 78.0, 156.0, 234.0, 297.0), 1, 1, 0.0, 0.0)
    assert text(found["lines"][0]) == "Only a move of 4 7/16\" left to 1' 8\" left holds."
    none = window.move(limits_of(20.0, 78.0, 300.0), 1, 2, 1.0, 0.0)
    assert text(none["lines"][-1]) == "No place along the beam holds with the other footings where they are."


def test_posts_stand_where_they_were_staked() -> None:
    document = {"job": {"units": "inch"}, "frame": {"footings": [{"point": "G1-2", "side": 14.0}]}}
    state = walk.start()
    state["marks"] = {"G1-2": {"off": [-3.0, 1.0]}, "G1-3": {"off": None}}
    here = window.placed(GOOD, document, state)
    assert here["beams"][0]["posts"] == [15.0, 75.0, 156.0, 234.0, 297.0]
    assert here["beams"][0]["sides"] == [0.0, 14.0, 0.0, 0.0, 0.0]
    assert GOOD["beams"][0]["posts"][1] == 78.0
    assert window.move(GOOD, 1, 3, 4.0, 0.0)["holds"]
    assert not window.move(here, 1, 3, 4.0, 0.0)["holds"]
    metric = window.placed(GOOD, document | {"job": {"units": "millimetre"}}, state)
    assert text(window.move(metric, 1, 3, 400.0, 0.0)["lines"][-1], "millimetre") == "It may move at most 152 mm left or 76 mm right."


def test_an_unknown_beam_is_said() -> None:
    with pytest.raises(ValueError, match="no such beam: 4"):
        window.bay(GOOD, 4, 1)
