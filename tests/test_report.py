"""The report: what the desk says of a yard is what the field's own walk says of it, and nothing is left out."""

from __future__ import annotations

import copy
import json
import math
import random
from typing import Any

import pytest

from server.field import walk
from server.report import report
from server.report_fold import fold
from server.words import sentence
from tests.crew_phones import Phone, meet, roam
from tests.demo import Memory, document
from tests.virtual_crew import Crew, Steady, walk_with

DECK = document()
PLATFORM = document("pear-tree-platform")
WALKED: dict[Any, list[dict[str, Any]]] = {}


def walked(doc: dict[str, Any] = DECK, seed: int = 3, after: tuple[str, ...] = (), crew: Crew | None = None) -> list[dict[str, Any]]:
    """The entries of a crew that walked to the end."""
    key = (doc["digest"], seed, after)
    if crew is not None or key not in WALKED:
        memory = Memory()
        walk_with(doc, crew or Crew(seed), memory, after=after)
        if crew is not None:
            return memory.entries
        WALKED[key] = memory.entries
    return [dict(entry) for entry in WALKED[key]]


def until(entries: list[dict[str, Any]], kind: str) -> list[dict[str, Any]]:
    """Entries before the first of this kind."""
    return entries[: [entry["kind"] for entry in entries].index(kind)]


def said(message: dict[str, Any], units: str = "inch") -> str:
    return sentence(message["key"], message["slots"], units)


def by_name(rows: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    return {row["point"]: row for row in rows}


@pytest.mark.parametrize("doc", [DECK, PLATFORM], ids=["deck", "platform"])
@pytest.mark.parametrize("after", [(), ("strings",), ("marks",)])
def test_the_fold_is_the_fields_own_in_whatever_order_entries_came(doc: dict[str, Any], after: tuple[str, ...]) -> None:
    entries = walked(doc, after=after)
    shuffled = list(entries)
    random.Random(1).shuffle(shuffled)
    told = fold(doc, shuffled)
    assert json.dumps(told.state, sort_keys=True) == json.dumps(walk.fold(doc, entries), sort_keys=True)
    assert told.counted == {entry["id"] for entry in entries}


def test_a_walked_yard_is_true_and_nothing_is_unfinished() -> None:
    entries = walked()
    found = report(DECK, entries)
    truth = walk.truth(DECK, walk.fold(DECK, entries))
    assert found["true"] is truth["true"] is True
    assert found["unfinished"] == []
    assert set(by_name(found["points"])) == set(DECK["yard"]["points"])
    for mark in found["marks"]:
        here = truth["points"][mark["point"]]
        plan = DECK["yard"]["points"][mark["point"]]
        assert mark["state"] == "staked"
        assert mark["plan"] == [plan["x"], plan["y"]]
        assert mark["found"] == [here["x"], here["y"]]
        assert mark["off"] == [here["x"] - plan["x"], here["y"] - plan["y"]]
        assert here["within"] <= mark["within"] < here["within"] + 1 / 16
        assert mark["within"] * 16 == pytest.approx(round(mark["within"] * 16))
        assert mark["pulls"] > 5
        assert mark["phone"] == 1
    assert found["counts"]["readings"] == sum(entry["kind"] == "reading" for entry in entries)
    assert found["counts"]["moves"] == len(found["moves"]) == sum(entry["kind"] == "move" for entry in entries)


def test_an_empty_book_says_so_and_sets_nothing() -> None:
    found = report(DECK, [])
    assert [said(one) for one in found["unfinished"]] == ["Nothing has come from the yard yet."]
    assert {row["state"] for row in found["points"] + found["strings"] + found["marks"]} == {"open"}
    assert {row["found"] for row in found["points"]} == {None}
    assert found["last"] is None
    assert found["now"]["say"] is None


def test_a_yard_half_done_says_first_what_is_not_set_and_what_is_asked_now() -> None:
    entries = until(walked(), "stake")
    found = report(DECK, entries)
    count = len(found["marks"])
    texts = [said(one) for one in found["unfinished"]]
    assert texts[:2] == [
        f"{count - 1} of {count} footing marks are not set.", f"1 of {count} footing marks are marked, but not staked.",
    ]
    assert any(text.endswith("steps are open.") for text in texts)
    ask = walk.next_ask(DECK, walk.fold(DECK, entries))
    assert found["now"] == {"say": ask["say"], "step": ask["step"], "lit": ask["lit"]}
    marks = by_name(found["marks"])
    assert marks["G1-1"]["state"] in ("set", "true")
    assert marks["G1-2"]["state"] == "open"
    assert marks["G1-2"]["flagged"] is True
    assert marks["G1-2"]["found"] is None


def test_strings_and_points_go_from_open_to_set_to_true() -> None:
    entries = walked()
    first = next(k for k, entry in enumerate(entries) if entry["kind"] == "set" and entry["point"] == "NL")
    before, after = report(DECK, entries[:first]), report(DECK, entries[: first + 1])
    states = [{row["string"]: row["state"] for row in one["strings"]}["left"] for one in (before, after)]
    assert states == ["open", "set"]
    assert by_name(after["points"])["NL"]["state"] == "set"
    assert by_name(after["points"])["NL"]["inside"] is False
    assert by_name(report(DECK, entries)["points"])["NL"]["state"] == "true"


def test_a_mark_staked_off_is_told_with_its_place_and_is_not_called_true() -> None:
    entries = until(walked(crew=Steady(1)), "stake")
    stake = {"id": "s", "n": 900, "device": "two", "at": "2026-05-04T10:00:00Z", "revision": DECK["digest"],
             "job": DECK["job"]["id"], "step": "footing-1-1", "act": 1, "kind": "stake", "point": "G1-1", "off": [0.5, -1.0]}
    found = report(DECK, [*entries, stake])
    mark = by_name(found["marks"])["G1-1"]
    assert (mark["state"], mark["staked_off"], mark["phone"], mark["at"]) == ("off", [0.5, -1.0], 2, stake["at"])
    assert mark["off"] == pytest.approx([0.5, -1.0], abs=0.05)
    assert mark["within"] > math.hypot(0.5, 1.0)
    assert mark["inside"] is False
    texts = [said(one) for one in found["unfinished"]]
    assert any(text.startswith('Outside 1/4": footing 1 of beam 1, known within') for text in texts)
    assert said(found["last"]["say"]) == 'Staked off its mark, 1/2" right, 1" toward the house: footing 1 of beam 1.'


def test_an_entry_taken_back_is_kept_struck_and_named_by_its_strike() -> None:
    entries = until(walked(), "move")
    reading = entries[-1]
    strike = reading | {"id": "strike", "n": 500, "device": "two", "kind": "strike", "strikes": reading["id"]}
    found = report(DECK, [*entries, {key: value for key, value in strike.items() if key not in ("from", "to", "inches", "text", "held")}])
    row = next(one for one in found["log"] if one["id"] == reading["id"])
    assert (row["struck"], row["counts"], row["why"], row["back"]["phone"]) == (True, False, "struck", 2)
    assert found["counts"]["back"] == 1
    assert found["counts"]["readings"] == 0
    assert said(found["last"]["say"]) == f"Took back: “{said(row['say'])}”"
    assert [one["phone"] for one in found["phones"]] == [1, 2]


def test_a_slip_that_the_check_struck_is_shown_with_what_was_said_of_it() -> None:
    slips = iter([0.0] * 6 + [12.0])

    def slip(reading: float) -> float:
        return reading + next(slips, 0.0)

    crew = Crew(5, slip)
    found = report(DECK, walked(crew=crew))
    assert found["counts"]["struck"] == 1
    (row,) = [one for one in found["log"] if one["status"] == "struck"]
    assert said(row["said"]).startswith("You read")
    assert "does not fit" in said(row["doubt"])
    assert row["counts"] is True, "the entry is part of the book; the check does not believe its reading"
    assert found["true"] is True


def test_phones_are_named_by_the_order_of_their_first_entries() -> None:
    entries = walked()
    for k, entry in enumerate(entries):
        entry["device"] = "zeta" if k < 20 or k % 2 else "alpha"
    found = report(DECK, entries)
    assert [one["phone"] for one in found["phones"]] == [1, 2]
    assert {row["phone"] for row in found["log"] if row["device"] == "zeta"} == {1}
    assert sum(one["count"] for one in found["phones"]) == len(entries)


def test_entries_of_another_revision_are_kept_named_by_their_plan_and_counted_apart() -> None:
    earlier = document(width="24'")
    old = walked(earlier)[:12]
    found = report(DECK, [*old, *walked()], {earlier["digest"]: earlier})
    assert {row["why"] for row in found["log"] if row["revision"] == earlier["digest"]} == {"revision"}
    assert {(one["digest"], one["count"], one["mine"]) for one in found["revisions"]} == {
        (earlier["digest"], 12, False), (DECK["digest"], len(walked()), True),
    }
    assert [said(one) for one in found["unfinished"]] == ["Entries taken on another version of the plan, which do not count here: 12."]
    assert found["true"] is True
    bare = report(DECK, [*old, *walked()])
    assert "Set: WL." in [said(row["say"]) for row in bare["log"]], "without its plan a point keeps its short name"


@pytest.mark.parametrize("wrong", [
    {"act": "0"}, {"act": 2.5}, {"act": True}, {"kind": "reading", "from": "WL", "to": "WL", "inches": 5.0, "step": "left-string", "act": 3},
    {"kind": "reading", "from": "WL", "to": "Z9", "inches": 5.0}, {"kind": "reading", "from": "WL", "to": "WR", "inches": 1e300},
    {"kind": "reading", "from": "WL", "to": "WR", "inches": -4.0}, {"kind": "move", "point": "NL", "by": [1e200, 0.0]},
    {"kind": "stake", "point": "G1-1", "off": [1e9, 0.0]},
])  # fmt: skip
def test_what_no_walk_could_have_made_does_not_count_and_breaks_nothing(wrong: dict[str, Any]) -> None:
    entries = walked()[:20]
    bad = {"id": "bad", "n": 900, "device": "x", "at": "", "revision": DECK["digest"], "job": DECK["job"]["id"], "step": "wall", "act": 0, "kind": "set", "point": "WL"}
    found = report(DECK, [*entries, bad | wrong])
    assert found["log"][-1]["why"] == "odd"
    assert said(found["unfinished"][-1]) == "Entries that no walk of this plan could have made, which do not count: 1."
    good = report(DECK, entries)
    assert found["points"] == good["points"]


def test_flags_that_came_down_are_gone_and_anchors_are_told_beside_the_marks() -> None:
    found = report(PLATFORM, walked(PLATFORM, after=("strings",)))
    points = by_name(found["points"])
    assert {points[name]["state"] for name in points if points[name]["kind"] == "flag" and name[0] in "PSF"} == {"gone"}
    assert [row["point"] for row in found["anchors"]] == [f"A{n}-{m}" for n in (1, 2) for m in (1, 2, 3)]
    assert all(row["ties"] == 2 and row["state"] in ("true", "set") for row in found["anchors"])


def test_every_message_is_a_whole_sentence_in_both_units() -> None:
    for doc in (DECK, PLATFORM):
        found = report(doc, [*walked(doc, after=("strings", "marks"))])
        units = doc["job"]["units"]
        messages = [row["say"] for row in found["log"]] + [row["said"] for row in found["log"] if row["said"]]
        assert len(messages) > 100
        for message in messages:
            text = said(message, units)
            assert "{" not in text
            assert "approved" not in text.lower()
        assert any(" mm" in said(row["say"], units) for row in found["log"]) is (units == "millimetre")
        assert all(row["title"] for row in found["log"] if row["step"])


@pytest.mark.parametrize("seed", range(5))
def test_the_fold_is_the_fields_own_with_several_phones_that_strike_and_do_not_know_of_each_other(seed: int) -> None:
    chance = random.Random(seed)
    start = Phone(DECK, "heron")
    start.until("pull", chance.choice(("left-string", "frame", "sure")))
    crew = roam(DECK, chance, 3, 50, start)
    entries = list({key: entry for one in crew for key, entry in one.book.items()}.values())
    for entry in entries:
        entry["at"] = "2026-05-04T08:00:00Z"
    chance.shuffle(entries)
    entries += copy.deepcopy(entries[:2])
    state = walk.fold(DECK, copy.deepcopy(entries))
    assert fold(DECK, entries).state == state
    found = report(DECK, entries)
    assert found["true"] is walk.truth(DECK, state)["true"]
    assert all("{" not in said(one) for one in found["unfinished"])


def test_a_mark_that_two_phones_staked_at_once_is_told_and_not_called_done() -> None:
    one, other = Phone(DECK, "kestrel"), Phone(DECK, "otter")
    ask = one.until("stake", "footing-1-1")
    meet(one, other)
    one.give(ask, {"done": True})
    other.give(ask, {"off": [0.5, 0.0]})
    meet(one, other)
    found = report(DECK, [entry | {"at": ""} for entry in one.book.values()])
    assert by_name(found["marks"])["G1-1"]["state"] == "twice"
    assert said(found["unfinished"][0]).startswith("footing 1 of beam 1 is staked twice, on the ")


def test_a_reading_overtaken_by_another_phone_is_told_with_what_overtook_it() -> None:
    one, other = Phone(DECK, "kestrel"), Phone(DECK, "otter")
    one.until("pull", "frame")
    meet(one, other)
    ask = one.ask()
    one.give(ask, {"inches": ask["target"]})
    other.sign({"step": "left-string", "act": 3, "kind": "move", "point": "NL", "by": [1.0, 0.0]})
    meet(one, other)
    found = report(DECK, [entry | {"at": ""} for entry in one.book.values()])
    assert found["counts"]["apart"] > 0
    row = next(one for one in found["log"] if one["status"] == "apart")
    assert "moved the left string's nail" in said(row["doubt"])
