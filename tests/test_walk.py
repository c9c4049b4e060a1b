"""The walk on the demo deck: what is asked, what a reading means, what a move does, what undo takes back."""

from __future__ import annotations

import math
import random
from typing import Any

import pytest

from server.field import say, walk
from server.talk import Walker
from tests.demo import Memory, document
from tests.virtual_crew import Crew, Steady, walk_with

DECK = document()
OWN, WHOLE = "string by string", "whole frame"


class Yard:
    """A walker with short words for tests."""

    def __init__(self, doc: dict[str, Any] = DECK) -> None:
        self.doc = doc
        self.walker = Walker(doc, Memory())  # type: ignore[arg-type]

    @property
    def ask(self) -> dict[str, Any]:
        return self.walker.ask()

    def give(self, **answer: Any) -> dict[str, Any]:
        result = self.walker.take(self.ask, answer)
        assert result["status"] == "ok", result
        return self.ask

    def until(self, kind: str, step: str) -> dict[str, Any]:
        """Answer as planned until an ask of this kind in this step stands."""
        while (ask := self.ask)["ask"] != kind or ask["step"] != step:
            assert ask["ask"] != "end", f"no {kind} in {step}"
            self.give(**({"inches": ask["target"]} if ask["ask"] in ("pull", "again") else {"done": True}))
        return self.ask

    def follow(self, crew: Crew, step: str, blocked: tuple[str, ...] = (), most: int = 80) -> list[dict[str, Any]]:
        """Let a crew answer until a step is come to, no pull taken in the steps that are blocked; the asks answered."""
        crew.points = crew.points or self.doc["yard"]["points"]
        crew.strings = self.doc["yard"]["strings"]
        asked = []
        while (ask := self.ask)["step"] != step:
            asked.append(ask)
            assert len(asked) <= most, f"never came to {step}: {[(one['ask'], one.get('from'), one.get('to')) for one in asked[-4:]]}"
            given = {"cannot": "blocked"} if ask["ask"] == "pull" and ask["step"] in blocked else crew.answer(ask)
            self.give(**({"inches": float(given["reading"][:-1])} if "reading" in given else given))
        return asked

    def text(self, message: dict[str, Any] | None) -> str:
        return self.walker.text(message)


def test_the_order_of_the_work() -> None:
    """trade order: cautions, wall, boards, side strings, far width and diagonals, beam strings (or all strings at once),
    flags, all of them made sure, then footings, keeping the marks; what comes after digging is last."""
    assert [step["id"] for step in DECK["steps"]] == [
        "permit", "utilities", "overhead", "ledger", "wall", "boards", "left-string", "right-string", "frame", "beam-1",
        "strings", "marks-1", "sure", *(f"footing-1-{m}" for m in range(1, 6)), "keep", "ties-1", "back", "anchors-1",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("way", "strings"), [(OWN, ["left-string", "right-string", "frame", "beam-1"]), (WHOLE, ["strings"])]
)
def test_each_way_walks_its_own_strings_and_the_rest_alike(way: str, strings: list[str]) -> None:
    state = walk.start()
    walk.apply(DECK, state, {"kind": "way", "way": way, "step": "", "act": -1, "id": "w", "n": 1, "device": "d"})
    walked = [step["id"] for step in walk.step_list(DECK, state)]
    assert walked == [
        "permit", "utilities", "overhead", "ledger", "wall", "boards", *strings, "marks-1", "sure",
        *(f"footing-1-{m}" for m in range(1, 6)), "keep",
    ]  # fmt: skip
    assert walk.way_of(DECK, walk.start()) == OWN, "the job's own, until another is chosen"


def test_what_was_set_one_way_is_set_in_the_other() -> None:
    yard = Yard()
    yard.until("pull", "left-string")
    yard.walker.keep({"kind": "way", "way": WHOLE, "step": "", "act": -1})
    assert (yard.ask["step"], yard.ask["point"]) == ("strings", "NR"), "the left string's nail is set, the right one's not"
    yard.walker.keep({"kind": "way", "way": OWN, "step": "", "act": -1})
    assert (yard.ask["ask"], yard.ask["step"]) == ("pull", "left-string")


@pytest.mark.parametrize(
    ("what", "times"), [("marks", 1), ("strings", 2), ("marks", 2)]
)
def test_what_comes_after_is_walked_only_once_it_is_begun_and_again_when_it_is_begun_again(what: str, times: int) -> None:
    steps = {"marks": ["ties-1"], "strings": ["back", "anchors-1"]}[what]
    yard = Yard()
    yard.until("heed", "keep")
    yard.give(done=True)
    assert yard.give(done=True)["ask"] == "end"
    for _ in range(times):
        yard.walker.keep({"kind": "after", "what": what, "step": "", "act": -1})
        listed = {step["id"]: step["state"] for step in walk.step_list(DECK, yard.walker.state)}
        assert [name for name, state in listed.items() if state == "open"] == steps
        while (ask := yard.ask)["ask"] != "end":
            assert ask["step"] in steps
            yard.give(**({"inches": ask["target"]} if ask["ask"] in ("pull", "again") else {"done": True}))
    truth = walk.truth(DECK, yard.walker.state)
    anchors = {f"A1-{m}" for m in range(1, 6)} if what == "strings" else set()
    assert {one["point"] for one in truth["anchors"]} == anchors
    assert truth["staked"] == [f"G1-{m}" for m in range(1, 6)]


def test_a_mark_kicked_since_it_was_staked_is_told_by_its_ties() -> None:
    """Kicked 3/4 in. to the right: two ties say so, and the others stand."""
    yard, crew = Yard(), Steady(1)
    yard.follow(crew, "")
    crew.fixed["G1-3"] += 0.75
    yard.walker.keep({"kind": "after", "what": "marks", "step": "", "act": -1})
    asked = yard.follow(crew, "")
    said = [ask["verdict"]["key"] for ask in [*asked, yard.ask] if ask["verdict"]]
    assert said.count("walk.stands.on") == 4
    truth = walk.truth(DECK, yard.walker.state)
    plan = DECK["yard"]["points"]
    for m in range(1, 6):
        off = truth["points"][f"G1-{m}"]["x"] - plan[f"G1-{m}"]["x"]
        assert off == pytest.approx(0.75 if m == 3 else 0.0, abs=0.1)


def test_a_walk_as_planned_ends_with_every_mark_staked() -> None:
    yard = Yard()
    yard.until("heed", "keep")
    yard.give(done=True)
    assert yard.give(done=True)["ask"] == "end"
    truth = walk.truth(DECK, yard.walker.state)
    assert truth["staked"] == [f"G1-{m}" for m in range(1, 6)]
    assert truth["moves"] == 0
    assert all(step["state"] == "done" for step in walk.step_list(DECK, yard.walker.state))
    for mark in truth["marks"]:
        plan = DECK["yard"]["points"][mark["point"]]
        assert (
            math.dist(
                (truth["points"][mark["point"]]["x"], truth["points"][mark["point"]]["y"]), (plan["x"], plan["y"])
            )
            < 1e-6
        )


def test_a_long_diagonal_moves_the_left_nail_right() -> None:
    """The string leans left when the closing side to the right is long: the nail goes right by -L·cot C."""
    yard = Yard()
    ask = yard.until("pull", "left-string")
    moved = yard.give(reading="29' 2 3/16\"")
    c, a, b = 350.1875, 300.0, 180.0
    angle = math.acos((a * a + b * b - c * c) / (2 * a * b))
    assert moved["ask"] == "move"
    assert moved["arrow"] == "right"
    assert moved["inches"] == pytest.approx(-192 / math.tan(angle), rel=0.01)
    assert moved["by"] == [moved["inches"], 0.0]
    assert yard.text(moved["verdict"]) == 'You read 29\' 2 3/16": long by 5/16".'
    assert yard.text(moved["say"]) == "Move the left string's nail 7/16\" to the right."
    assert yard.text(moved["doubt"]) == 'Give or take 3/8"'
    again = yard.give(done=True)
    assert (again["ask"], again["from"], again["to"]) == ("pull", ask["from"], ask["to"])
    after = yard.give(inches=ask["target"])
    assert (after["step"], yard.text(after["verdict"])) == ("right-string", "It holds.")
    assert [kept["reading"] for kept in walk.tries(DECK, yard.walker.state, "left-string")] == [350.1875, ask["target"]]


def test_a_short_diagonal_moves_the_right_nail_left_to_right_mirrored() -> None:
    yard = Yard()
    yard.until("pull", "right-string")
    assert yard.give(reading="long by 3/8")["arrow"] == "left"


def test_a_move_the_tape_cannot_see_is_left() -> None:
    yard = Yard()
    yard.until("pull", "left-string")
    after = yard.give(reading="long by 1/16")
    assert after["step"] == "right-string"
    assert yard.text(after["verdict"]).startswith("Leave it: ")


SQUARES = ("left-string", "right-string")


def at_the_frame(blocked: bool, knocked: dict[str, float]) -> tuple[Yard, Crew]:
    """A yard at the frame check: the squares skipped, or taken on strings that stood true; then nails put elsewhere."""
    yard, crew = Yard(), Steady(1)
    yard.follow(crew, "frame", SQUARES if blocked else ())
    crew.slides.update(knocked)
    return yard, crew


@pytest.mark.parametrize("blocked", [True, False])
def test_equal_diagonals_with_unequal_ends_are_a_trapezoid(blocked: bool) -> None:
    """Both side strings 1.4 in. outward at their nails, the squares not taken, or taken before somebody knocked them."""
    yard, crew = at_the_frame(blocked, {"NL": -1.4, "NR": 1.4})
    asked = yard.follow(crew, "beam-1")
    first = next(ask for ask in asked if ask["ask"] == "move")
    assert yard.text(first["verdict"]).startswith("A trapezoid: the diagonals are equal, but the far width is off by 2\"")
    moves = [(ask["point"], ask["arrow"], round(ask["inches"], 1)) for ask in asked if ask["ask"] == "move"]
    assert moves == [("NL", "right", 1.4), ("NR", "left", 1.4)]


@pytest.mark.parametrize("blocked", [True, False])
def test_a_slant_is_a_parallelogram_and_both_nails_move_the_same_way(blocked: bool) -> None:
    """Both side strings 1.5 in. to the right: widths equal, diagonals not."""
    yard, crew = at_the_frame(blocked, {"NL": 1.5, "NR": 1.5})
    asked = yard.follow(crew, "beam-1")
    first = next(ask for ask in asked if ask["ask"] == "move")
    assert yard.text(first["verdict"]).startswith("A parallelogram")
    moves = [(ask["point"], ask["arrow"], round(ask["inches"], 1)) for ask in asked if ask["ask"] == "move"]
    assert moves == [("NL", "left", 1.5), ("NR", "left", 1.5)]


def test_one_nail_knocked_since_its_square_is_found_and_the_other_is_left() -> None:
    yard, crew = at_the_frame(False, {"NR": 1.5})
    asked = yard.follow(crew, "beam-1")
    moves = [(ask["point"], ask["arrow"], round(ask["inches"], 1)) for ask in asked if ask["ask"] == "move"]
    assert moves == [("NR", "left", 1.5)]


def test_a_foot_misread_is_asked_again_before_anything_moves() -> None:
    yard = Yard()
    target = yard.until("pull", "left-string")["target"]
    again = yard.give(inches=target - 12)
    assert (again["ask"], again["from"], again["to"]) == ("again", "TL", "SL")
    assert "A foot misread" in yard.text(again["suspect"])
    yard.until("set", "right-string")
    kept = walk.tries(DECK, yard.walker.state, "left-string")
    assert kept[0]["reading"] == target - 12
    assert len(kept) >= 2
    assert yard.walker.state["moves"] == 0


def test_a_reading_that_does_not_fit_the_frame_is_asked_again() -> None:
    """One inch burned on a diagonal: the slip itself is asked again, before anything moves."""
    yard = Yard()
    yard.until("pull", "frame")
    yard.give(inches=yard.ask["target"])
    yard.give(inches=yard.ask["target"] + 1.0)
    asked = []
    while (ask := yard.ask)["step"] == "frame":
        asked.append((ask["ask"], ask.get("from"), ask.get("to")))
        yard.give(inches=ask["target"])
    assert ("again", "WL", "FR") in asked
    assert [one for one in asked if one[0] == "move"] == []
    assert len(asked) <= 4
    assert yard.ask["step"] == "beam-1"


def test_a_reading_confirmed_against_all_others_is_set_aside_and_named() -> None:
    """The same inch burned twice: no blame on the tape, no radius blown up, the step stays unsure and says why."""
    yard = Yard()
    yard.until("pull", "frame")
    burned = 0
    for _ in range(12):
        ask = yard.ask
        if ask["step"] != "frame":
            break
        slip = (ask["from"], ask["to"]) == ("WL", "FR") and burned < 2
        burned += slip
        yard.give(inches=ask["target"] + (1.0 if slip else 0.0))
    assert yard.ask["step"] == "beam-1", "it comes to an end"
    yard.until("heed", "keep")
    assert max(mark["within"] for mark in walk.truth(DECK, yard.walker.state)["marks"]) < 0.5


def test_a_pull_that_always_reads_an_inch_long_does_not_keep_the_crew_for_ever() -> None:
    """Whatever is wrong with that one pull (a bent string, a hook that lies on), the check closes, unsure, and names it."""
    yard = Yard()
    yard.until("pull", "frame")
    for _ in range(30):
        ask = yard.ask
        if ask["step"] != "frame":
            break
        yard.give(inches=ask["target"] + (1.0 if (ask["from"], ask["to"]) == ("WL", "FR") else 0.0))
    assert yard.ask["step"] == "beam-1"
    assert yard.text(yard.ask["verdict"]).startswith("28' 6 3/16\" contradicts the other readings")
    assert yard.text(walk.step_ask(DECK, yard.walker.state, "frame")["say"]) == "This step is closed, but not fully checked."


def test_a_beam_string_is_moved_toward_the_house_where_its_setback_is_long() -> None:
    yard = Yard()
    yard.until("pull", "beam-1")
    yard.give(inches=138.0)
    ask = yard.give(inches=138.5)
    assert (ask["point"], ask["arrow"]) == ("B1R", "toward")
    # 1/2 in. at the corner is more at the nail 3 ft beyond it.
    assert ask["inches"] == pytest.approx(0.5 * (312 + 36) / 312, rel=0.01)


def test_a_flag_in_the_wrong_place_is_found_before_its_footing_is_plumbed() -> None:
    """Pinned an inch to the left; the pulls that make the marks sure find it, and it is moved back."""
    yard, crew = Yard(), Steady(1)
    yard.follow(crew, "sure")
    crew.runs["P1-3"] -= 1.0
    asked = yard.follow(crew, "footing-1-1")
    moved = {ask["point"]: ask for ask in asked if ask["ask"] == "move"}
    assert (moved["P1-3"]["arrow"], moved["P1-3"]["inches"]) == ("right", pytest.approx(1.0, abs=0.07))
    assert all(ask["inches"] < 0.13 for name, ask in moved.items() if name != "P1-3")
    yard.follow(crew, "")
    assert all(crew.off(f"G1-{m}") < 0.13 for m in range(1, 6))


def test_a_pull_that_cannot_be_taken_leaves_the_step_unsure() -> None:
    yard = Yard()
    yard.until("pull", "left-string")
    ask = yard.give(cannot="blocked")
    assert ask["step"] == "right-string"
    assert yard.text(ask["verdict"]) == "Not checked: no pull could be taken."
    states = {step["id"]: step["state"] for step in walk.step_list(DECK, yard.walker.state)}
    assert states["left-string"] == "unsure"
    yard.until("stake", "footing-1-5")
    assert yard.ask["within"] < 1.0


def test_with_no_pull_at_all_the_marks_claim_nothing() -> None:
    yard = Yard()
    while (ask := yard.ask)["ask"] != "end":
        yard.give(**({"cannot": "alone"} if ask["ask"] == "pull" else {"done": True}))
    truth = walk.truth(DECK, yard.walker.state)
    assert truth["true"] is False
    assert min(mark["within"] for mark in truth["marks"]) > 5.0


def test_a_mark_staked_off_shows_how_far() -> None:
    yard = Yard()
    yard.until("stake", "footing-1-2")
    yard.give(off=[-2.0, 0.5])
    mark = next(mark for mark in walk.truth(DECK, yard.walker.state)["marks"] if mark["point"] == "G1-2")
    assert (mark["state"], mark["off"]) == ("off", [-2.0, 0.5])
    assert mark["within"] > math.hypot(2.0, 0.5)


def test_undo_takes_back_the_newest_entry_of_a_step_and_keeps_it_in_the_book() -> None:
    yard = Yard()
    target = yard.until("pull", "left-string")["target"]
    yard.give(reading="long by 3/8")
    assert yard.ask["ask"] == "move"
    assert yard.walker.undo("left-string")
    assert (yard.ask["ask"], yard.ask["target"]) == ("pull", target)
    assert [entry["kind"] for entry in yard.walker.book.entries][-2:] == ["reading", "strike"]


def test_undo_works_back_to_the_start_of_a_step_and_no_further() -> None:
    yard = Yard()
    yard.until("pull", "left-string")
    taken = 0
    while yard.walker.undo("left-string"):
        taken += 1
    assert taken == 3
    assert (yard.ask["ask"], yard.ask["point"]) == ("set", "NL")
    assert walk.undo(DECK, yard.walker.book.entries, "left-string") == ""


def random_walk(seed: int) -> list[dict[str, Any]]:
    """The entries of a walk with readings off, blocked pulls and undos here and there."""
    chance = random.Random(seed)
    yard = Yard()
    for _ in range(chance.randrange(20, 90)):
        ask = yard.ask
        if ask["ask"] == "end":
            break
        if chance.random() < 0.08:
            yard.walker.undo(yard.walker.last_step())
        elif ask["ask"] in ("pull", "again"):
            off = chance.choice([0, 0, 1 / 16, -1 / 8, 0.5, -1.0, 12.0])
            yard.give(**({"cannot": "blocked"} if chance.random() < 0.1 else {"inches": max(ask["target"] + off, 1.0)}))
        else:
            yard.give(done=True)
    return list(yard.walker.book.entries)


@pytest.mark.parametrize("seed", range(12))
def test_the_state_is_a_fold_whatever_order_the_entries_arrive_in(seed: int) -> None:
    entries = random_walk(seed)
    state = walk.fold(DECK, entries)
    shuffled = entries[:]
    random.Random(seed).shuffle(shuffled)
    assert walk.fold(DECK, shuffled) == state


def kept_after(entries: list[dict[str, Any]]) -> dict[str, Any]:
    return {"ids": [entry["id"] for entry in sorted(entries, key=walk.order)], "state": walk.fold(DECK, entries)}


@pytest.mark.parametrize("seed", range(12))
def test_a_kept_state_is_gone_on_with_to_the_same_end(seed: int) -> None:
    entries = random_walk(seed)
    state = walk.fold(DECK, entries)
    for cut in range(0, len(entries) + 1, 7):
        assert walk.resume(DECK, kept_after(entries[:cut]), entries) == state


def test_a_kept_state_is_not_believed_once_an_entry_of_it_was_struck_or_another_came_between() -> None:
    entries = random_walk(1)
    lead = entries[:20]
    struck = {**entries[0], "kind": "strike", "strikes": lead[3]["id"], "id": "later", "n": 1000}
    between = {**entries[4], "id": "between", "device": "another"}
    for more in ([struck], [between]):
        assert walk.resume(DECK, kept_after(lead), [*entries, *more]) == walk.fold(DECK, [*entries, *more])
    false = {**kept_after(lead), "state": walk.start()}
    assert walk.resume(DECK, false, entries) != walk.fold(DECK, entries), "a state that leads is what is gone on with"
    assert walk.resume(DECK, kept_after(entries), lead) == walk.fold(DECK, lead)


def test_entries_of_steps_that_are_not_there_are_passed_over() -> None:
    entry = {"id": "x", "n": 1, "device": "d", "kind": "heed", "step": "no-such-step", "act": 0}
    known = {"phones": ["d"], "latest": {"d d": 1}}
    assert walk.fold(DECK, [entry]) == walk.start() | known
    assert walk.fold(DECK, [{**entry, "step": "permit", "act": 9}]) == walk.start() | known


@pytest.mark.parametrize(
    ("step", "kind", "given", "key"),
    [
        ("permit", "heed", {"done": "yes"}, "done"),
        ("left-string", "pull", {}, "reading"),
        ("left-string", "pull", {"inches": True}, "reading"),
        ("left-string", "pull", {"inches": math.nan}, "reading"),
        ("left-string", "pull", {"inches": -3.0}, "tape"),
        ("left-string", "pull", {"inches": 9000.0}, "tape"),
        ("left-string", "pull", {"cannot": "tired"}, "cannot"),
        ("footing-1-1", "stake", {}, "stake"),
        ("footing-1-1", "stake", {"off": [1.0]}, "off"),
        ("footing-1-1", "stake", {"off": ["a", 1.0]}, "off"),
        ("footing-1-1", "stake", {"off": [500.0, 0.0]}, "off"),
    ],
)
def test_an_answer_that_cannot_be_taken_says_why_and_changes_nothing(
    step: str, kind: str, given: dict[str, Any], key: str
) -> None:
    yard = Yard()
    before = yard.until(kind, step)
    result = yard.walker.take(before, given)
    assert result["status"] == "bad"
    assert result["say"]["key"] == f"walk.answer.{key}"
    assert yard.ask == before


def test_a_bare_number_is_asked_about_with_the_likely_one_first() -> None:
    yard = Yard()
    ask = yard.until("pull", "beam-1")
    result = yard.walker.take(ask, {"reading": "116"})
    assert result["status"] == "ask"
    assert result["choices"][0]["text"] == "11' 6\""


def every_sentence(doc: dict[str, Any], ask: dict[str, Any]) -> None:
    for part in ("say", "more", "verdict", "doubt", "why", "suspect"):
        if ask.get(part):
            assert "{" not in say.sentence(doc["words"], ask[part], doc["job"]["units"])


@pytest.mark.parametrize("name", ["long-side-deck", "pear-tree-platform"])
@pytest.mark.parametrize("face", ["centre", "house-face", "yard-face"])
@pytest.mark.parametrize(("crew", "way"), [(1, WHOLE), (2, OWN)])
def test_every_sentence_of_every_ask_can_be_said(name: str, face: str, crew: int, way: str) -> None:
    """Both demo decks, both crews and ways, every face of a string, as planned and in a yard that is off: no key is
    missing, no slot is left open."""
    doc = document(name, string_face=face, crew=crew)
    raw = walk_with(doc, Crew(3), Memory(), way, ("marks", "strings"))["raw"]
    assert {"ties-1", "back", "anchors-1", "sure"} <= {ask["step"] for ask in raw}
    for ask in raw:
        every_sentence(doc, ask)
    yard = Yard(doc)
    while (ask := yard.ask)["ask"] != "end":
        every_sentence(doc, ask)
        yard.give(**({"inches": ask["target"]} if ask["ask"] == "pull" else {"done": True}))
