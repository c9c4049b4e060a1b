"""The walk on the demo deck: what is asked, what a reading means, what a move does, what undo takes back."""

from __future__ import annotations

import math
import random
from typing import Any

import pytest

from server.field import say, walk
from server.talk import Walker
from tests.demo import Memory, document

DECK = document()


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

    def text(self, message: dict[str, Any] | None) -> str:
        return self.walker.text(message)


def test_the_order_of_the_work() -> None:
    """trade order: cautions, wall, boards, side strings, far width and diagonals, beam strings, marks, keeping them."""
    assert [step["id"] for step in DECK["steps"]] == [
        "permit", "utilities", "overhead", "ledger", "wall", "boards", "left-string", "right-string", "frame", "beam-1",
        *(f"footing-1-{m}" for m in range(1, 6)), "keep",
    ]  # fmt: skip


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
    assert yard.text(moved["doubt"]) == 'give or take 3/8"'
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


def test_equal_diagonals_with_unequal_ends_are_a_trapezoid() -> None:
    yard = Yard()
    yard.until("pull", "frame")
    for _ in range(3):
        ask = yard.ask
        wide = {"WL": 1.0, "WR": 1.0}.get(ask["from"], 2.0)
        yard.give(inches=ask["target"] + wide)
        if yard.ask["ask"] == "again":
            yard.give(inches=ask["target"] + wide)
    while yard.ask["ask"] == "again":
        yard.give(inches=yard.ask["target"] + {"WL": 1.0, "WR": 1.0}.get(yard.ask["from"], 2.0))
    assert yard.text(yard.ask["verdict"]).startswith("A trapezoid: ")
    assert yard.ask["ask"] == "move"


def test_a_slant_is_a_parallelogram_and_both_nails_move_the_same_way() -> None:
    """Both side strings knocked 1.5 in. to the right after they were squared: widths equal, diagonals not."""
    yard = Yard()
    yard.until("pull", "frame")
    lean = 1.5 * 138 / 192
    off = {("FL", "FR"): 0.0, ("WL", "FR"): math.hypot(312 + lean, 138), ("WR", "FL"): math.hypot(312 - lean, 138)}
    while yard.ask["ask"] in ("pull", "again"):
        yard.give(inches=off[yard.ask["from"], yard.ask["to"]] or 312.0)
    assert yard.text(yard.ask["verdict"]).startswith("A parallelogram")
    moves = []
    while yard.ask["ask"] == "move":
        moves.append((yard.ask["point"], yard.ask["arrow"], round(yard.ask["inches"], 1)))
        yard.give(done=True)
    assert moves == [("NL", "left", 1.5), ("NR", "left", 1.5)]


def test_a_foot_misread_is_asked_again_before_anything_moves() -> None:
    yard = Yard()
    target = yard.until("pull", "left-string")["target"]
    again = yard.give(inches=target - 12)
    assert again["ask"] == "again"
    assert "A foot misread" in yard.text(again["suspect"])
    assert yard.give(inches=target)["step"] == "right-string"
    assert len(walk.tries(DECK, yard.walker.state, "left-string")) == 2


def test_a_reading_that_does_not_fit_the_frame_is_asked_again() -> None:
    yard = Yard()
    yard.until("pull", "frame")
    yard.give(inches=yard.ask["target"])
    yard.give(inches=yard.ask["target"] + 1.0)
    again = yard.give(inches=yard.ask["target"])
    assert (again["ask"], again["from"], again["to"]) == ("again", "WL", "FR")
    assert yard.give(inches=again["target"])["step"] == "beam-1"


def test_a_reading_confirmed_against_all_others_is_set_aside_and_named() -> None:
    """The same inch burned twice: no blame on the tape, no radius blown up, the step stays unsure and says why."""
    yard = Yard()
    yard.until("pull", "frame")
    yard.give(inches=yard.ask["target"])
    yard.give(inches=yard.ask["target"] + 1.0)
    again = yard.give(inches=yard.ask["target"])
    after = yard.give(inches=again["target"] + 1.0)
    assert after["step"] == "beam-1"
    assert yard.text(after["verdict"]).startswith("28' 6 3/16\" contradicts the other readings")
    assert yard.text(walk.step_ask(DECK, yard.walker.state, "frame")["say"]) == "This step is closed, but not fully checked."
    yard.until("heed", "keep")
    assert max(mark["within"] for mark in walk.truth(DECK, yard.walker.state)["marks"]) < 0.5


def test_a_beam_string_is_moved_toward_the_house_where_its_setback_is_long() -> None:
    yard = Yard()
    yard.until("pull", "beam-1")
    yard.give(inches=138.0)
    ask = yard.give(inches=138.5)
    assert (ask["point"], ask["arrow"]) == ("B1R", "toward")
    # 1/2 in. at the corner is more at the nail 3 ft beyond it.
    assert ask["inches"] == pytest.approx(0.5 * (312 + 36) / 312, rel=0.01)


def test_a_flag_in_the_wrong_place_is_found_by_the_read_back() -> None:
    yard = Yard()
    target = yard.until("pull", "footing-1-3")["target"]
    again = yard.give(inches=target - 1.0)
    assert again["ask"] == "again"
    ask = yard.give(inches=target - 1.0)
    assert (ask["ask"], ask["point"], ask["arrow"]) == ("move", "P1-3", "left")
    assert ask["inches"] == pytest.approx(1.0, abs=0.02)
    yard.give(done=True)
    assert yard.give(inches=target)["ask"] == "set"


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
    assert walk.fold(DECK, [entry]) == walk.start()
    assert walk.fold(DECK, [{**entry, "step": "permit", "act": 9}]) == walk.start()


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


def test_every_sentence_of_every_ask_can_be_said() -> None:
    """Both demo decks, both crews, every face of a string: no key is missing, no slot is left open."""
    for name in ("long-side-deck", "pear-tree-platform"):
        for face in ("centre", "house-face", "yard-face"):
            for crew in (1, 2):
                doc = document(name, string_face=face, crew=crew)
                yard = Yard(doc)
                while (ask := yard.ask)["ask"] != "end":
                    for part in ("say", "more", "verdict", "doubt", "why", "suspect"):
                        if ask.get(part):
                            text = say.sentence(doc["words"], ask[part], doc["job"]["units"])
                            assert "{" not in text
                    yard.give(**({"inches": ask["target"]} if ask["ask"] == "pull" else {"done": True}))
