"""A new revision in the middle of a walk: what carries over by the document, what moved, what is to be done again."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from server import carry, plan
from server.cli import main
from server.field import walk
from tests.crew_phones import Phone
from tests.demo import spec

POSTS = ["1' 4\"", "7' 2\"", "13'", "18' 10\"", "24' 8\""]
BEAM = {"setback": "11' 6\"", "plies": 2, "size": "2x10"}
# What no revision here is about: the lumber, so that any posts may stand.
JOB = {key: value for key, value in spec().items() if key not in ("species", "edition", "joists", "height", "frost")}


def with_posts(*at: str, **changes: Any) -> dict[str, Any]:
    return {**JOB, "beams": [{**BEAM, "posts": {"at": list(at)}}], **changes}


def planned(job: dict[str, Any], *earlier: tuple[str, dict[str, Any]]) -> dict[str, Any]:
    return dict(json.loads(plan.plan("deck", job, earlier).text))


FIRST_SPEC = with_posts(*POSTS)
FIRST = planned(FIRST_SPEC)
MOVED_SPEC = with_posts(*POSTS[:2], "12' 9 5/8\"", *POSTS[3:])
MOVED = planned(MOVED_SPEC, (FIRST["digest"], FIRST_SPEC))


def walked(document: dict[str, Any], kind: str, step: str) -> Phone:
    phone = Phone(document, "kestrel")
    phone.until(kind, step)
    return phone


def open_steps(document: dict[str, Any], entries: list[dict[str, Any]]) -> list[str]:
    state = walk.fold(document, copy.deepcopy(entries))
    return [step["id"] for step in walk.step_list(document, state) if step["state"] == "open"]


def test_a_footing_that_moved_is_told_with_its_way() -> None:
    told = MOVED["carries"][FIRST["digest"]]
    assert [(one["point"], one["dx"], one["dy"]) for one in told["moved"]] == [("G1-3", pytest.approx(-2.375), 0.0)]
    assert (told["gone"], told["new"]) == ([], [])
    lost = set(MOVED["yard"]["points"]) - set(told["points"])
    assert lost == {"P1-3", "G1-3", "R1-3", "A1-3"}, "only what hangs on its place"


def test_all_but_the_moved_footing_counts_on() -> None:
    phone = walked(FIRST, "heed", "keep")
    entries = list(phone.book.values())
    assert open_steps(FIRST, entries) == ["keep"]
    assert open_steps(MOVED, entries) == ["marks-1", "sure", "footing-1-3", "keep"]
    truth = walk.truth(MOVED, walk.fold(MOVED, copy.deepcopy(entries)))
    assert truth["staked"] == ["G1-1", "G1-2", "G1-4", "G1-5"]
    assert truth["true"] is False


def test_the_moved_footing_is_set_made_sure_and_staked_again() -> None:
    phone = walked(FIRST, "heed", "keep")
    newer = Phone(MOVED, "kestrel")
    newer.book = phone.book
    asked, said = [], {}
    while (ask := newer.ask())["step"] != "keep":
        if ask["ask"] == "set":
            said[ask["point"]] = ask["doubt"]
        asked.append((ask["ask"], ask["step"], ask.get("point", "")))
        newer.give(ask, {"inches": ask["target"]} if ask["ask"] in ("pull", "again") else {"done": True})
    assert asked[0] == ("set", "marks-1", "P1-3")
    assert said["G1-3"] == {"key": "walk.again.plan", "slots": {}}, "its old stake is still in the ground"
    assert ("heed", "sure", "") in asked
    assert asked[-3:-1] == [("set", "footing-1-3", "G1-3"), ("stake", "footing-1-3", "G1-3")]
    before = [entry for entry in newer.book.values() if entry["revision"] == FIRST["digest"]]
    assert before == [entry for entry in phone.book.values() if entry["revision"] == FIRST["digest"]]
    newer.until("heed", "keep")
    assert walk.truth(MOVED, newer.state)["true"] is True


def test_entries_of_a_revision_that_is_not_known_are_passed_over() -> None:
    entries = [entry | {"revision": "0123456789abcdef"} for entry in walked(FIRST, "pull", "frame").book.values()]
    state = walk.fold(MOVED, entries)
    assert (state["readings"], state["born"]) == ([], {})


def test_a_footing_more_or_less_is_told() -> None:
    told = planned(with_posts(*POSTS[:4]), (FIRST["digest"], FIRST_SPEC))["carries"][FIRST["digest"]]
    assert [one["point"] for one in told["gone"]] == ["G1-5"]
    told = planned(FIRST_SPEC, ("four", with_posts(*POSTS[:4])))["carries"]["four"]
    assert [one["point"] for one in told["new"]] == ["G1-5"]


def test_what_hangs_on_a_nail_that_moved_is_to_be_done_again() -> None:
    """A deck a foot farther out: its side nails stand elsewhere, and with them everything that hangs on their strings."""
    newer = planned(with_posts(*POSTS, out="14'"), (FIRST["digest"], FIRST_SPEC))
    told = newer["carries"][FIRST["digest"]]
    assert {one["point"]: one["dy"] for one in told["moved"]} == {"NL": 12.0, "NR": 12.0}
    assert {"WL", "WR"} <= set(told["points"])
    assert not set(told["points"]) & {"NL", "SL", "X1L", "P1-1", "G1-1"}
    entries = list(walked(FIRST, "heed", "keep").book.values())
    again = open_steps(newer, entries)
    assert "wall" not in again
    assert {"boards", "left-string", "right-string", "frame", "marks-1", "sure", "footing-1-1"} <= set(again)


def test_a_new_name_changes_nothing_that_was_done() -> None:
    newer = planned({**FIRST_SPEC, "name": "Long side deck, again"}, (FIRST["digest"], FIRST_SPEC))
    told = newer["carries"][FIRST["digest"]]
    assert set(told["points"]) == set(newer["yard"]["points"])
    assert all(key == value for key, value in told["acts"].items())
    assert len(told["acts"]) == sum(len(step["acts"]) for step in newer["steps"])
    entries = list(walked(FIRST, "stake", "footing-1-2").book.values())
    assert walk.fold(newer, copy.deepcopy(entries)) == walk.fold(FIRST, copy.deepcopy(entries))


def test_the_last_ten_revisions_are_known() -> None:
    earlier = [(f"digest-{number}", FIRST_SPEC) for number in range(14)]
    assert list(planned(MOVED_SPEC, *earlier)["carries"]) == sorted(f"digest-{number}" for number in range(carry.MOST))


def test_a_revision_that_reads_no_more_or_was_left_open_is_left_out() -> None:
    left_open = {key: value for key, value in FIRST_SPEC.items() if key != "beams"}
    earlier = (("broken", {"name": 3}), ("open", left_open), ("", FIRST_SPEC), (FIRST["digest"], FIRST_SPEC))
    assert list(planned(MOVED_SPEC, *earlier)["carries"]) == [FIRST["digest"]]


def test_undo_takes_back_what_carried_over_and_nothing_that_did_not() -> None:
    entries = list(walked(FIRST, "heed", "keep").book.values())
    assert walk.undo(FIRST, entries, "footing-1-3") != ""
    assert walk.undo(MOVED, entries, "footing-1-3") == ""
    assert walk.undo(MOVED, entries, "footing-1-2") == walk.undo(FIRST, entries, "footing-1-2") != ""


def test_a_book_goes_on_on_a_changed_job_file_when_the_earlier_one_is_given(tmp_path: Path) -> None:
    """Job files have no history: without the earlier one the book is refused, and says what to do."""
    for folder, job in (("old", FIRST_SPEC), ("new", MOVED_SPEC)):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "deck.json").write_text(json.dumps(job), encoding="utf-8")
    old, new, book = str(tmp_path / "old" / "deck.json"), str(tmp_path / "new" / "deck.json"), str(tmp_path / "book")
    done = json.dumps({"done": True}) + "\n"
    assert CliRunner().invoke(main, ["walk", old, "--book", book, "--json"], input=3 * done).exit_code == 0
    refused = CliRunner().invoke(main, ["walk", new, "--book", book, "--json"])
    assert refused.exit_code != 0
    assert "--earlier" in refused.output
    went_on = CliRunner().invoke(main, ["walk", new, "--book", book, "--earlier", old, "--json"], input=done)
    assert went_on.exit_code == 0
    asks = [line["step"] for line in map(json.loads, went_on.output.splitlines()) if "ask" in line]
    assert asks == ["ledger", "wall"], "three steps were done on the earlier plan"
    again = CliRunner().invoke(main, ["walk", new, "--book", book, "--earlier", old, "--json"])
    assert json.loads(again.output.splitlines()[1])["step"] == "wall"
    kept = [json.loads(line) for line in Path(book).read_text(encoding="utf-8").splitlines()][1:]
    assert [entry["revision"] for entry in kept[:3]] == [plan.plan("deck", FIRST_SPEC).digest] * 3
    assert kept[3]["revision"] != kept[0]["revision"]
