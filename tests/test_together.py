"""Several phones in one fold: a pure function of the set of entries, that says what to do where two did not know of each other."""

from __future__ import annotations

import copy
import random
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from server.field import say, walk
from tests.crew_phones import Phone, meet, roam
from tests.demo import document

DECK = document()
SLOW = settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def pair(kind: str, step: str) -> tuple[Phone, Phone]:
    """Two phones that know the same: walked as planned until an ask of this kind in this step."""
    one, other = Phone(DECK, "kestrel"), Phone(DECK, "otter")
    one.until(kind, step)
    meet(one, other)
    return one, other


def state_of(*phones: Phone) -> dict[str, Any]:
    """The state of all their entries, which no order of arrival changes."""
    book = {**phones[0].book, **phones[-1].book}
    entries = list(book.values())
    state = walk.fold(DECK, copy.deepcopy(entries))
    assert walk.fold(DECK, copy.deepcopy(entries[::-1])) == state
    return dict(state)


def text(message: dict[str, Any]) -> str:
    return str(say.sentence(DECK["words"], message, "inch"))


@SLOW
@given(seed=st.integers(0, 10**6), count=st.integers(2, 3), turns=st.integers(5, 60), ahead=st.booleans())
def test_the_state_hangs_on_the_set_of_entries_alone(seed: int, count: int, turns: int, ahead: bool) -> None:
    """Two and three phones, any order of arrival, a kept state gone on with from any part of the book."""
    chance = random.Random(seed)
    start = Phone(DECK, "heron")
    if ahead:
        start.until("pull", chance.choice(("left-string", "frame", "sure")))
    crew = roam(DECK, chance, count, turns, start)
    book = {key: entry for one in crew for key, entry in one.book.items()}
    entries = list(book.values())
    state = walk.fold(DECK, copy.deepcopy(entries))
    chance.shuffle(entries)
    assert walk.fold(DECK, copy.deepcopy(entries)) == state
    assert walk.fold(DECK, copy.deepcopy(entries + entries[:3])) == state, "an entry that came twice counts once"
    ordered = sorted(entries, key=walk.order)
    for part in (ordered[: chance.randrange(len(ordered) + 1)], list(crew[0].book.values())):
        kept = {"ids": [one["id"] for one in sorted(part, key=walk.order)], "state": walk.fold(DECK, copy.deepcopy(part))}
        assert walk.resume(DECK, kept, copy.deepcopy(entries)) == state
    everything_can_be_said(state)


def everything_can_be_said(state: dict[str, Any]) -> None:
    """Nothing that a face may ask of a state stops it, or changes it."""
    before = copy.deepcopy(state)
    for step in DECK["steps"]:
        walk.step_ask(DECK, state, step["id"])
    walk.next_ask(DECK, state)
    walk.step_list(DECK, state)
    assert state == before
    truth = walk.truth(DECK, copy.deepcopy(state))
    asks = [walk.next_ask(DECK, copy.deepcopy(state))]
    asks += [walk.step_ask(DECK, copy.deepcopy(state), step["id"]) for step in DECK["steps"]]
    messages = [ask.get(part) for ask in asks for part in ("say", "more", "verdict", "doubt", "why", "suspect")]
    for message in [*messages, *truth["together"]]:
        assert message is None or "{" not in text(message)


@pytest.mark.parametrize("first", ["moved", "read"])
def test_a_reading_taken_while_another_phone_moved_its_nail_is_asked_again(first: str) -> None:
    """The nail's move before or after the reading in the order of the fold: nobody knows which was first in the yard."""
    one, other = pair("pull", "left-string")
    one.give(one.ask(), {"inches": one.ask()["target"] + 1.5})
    meet(one, other)
    assert (one.ask()["ask"], one.ask()["point"]) == ("move", "NL")
    mover, reader = (one, other) if first == "moved" else (other, one)
    if first == "moved":
        reader.sign({"kind": "note"})
    else:
        mover.sign({"kind": "note"})
    mover.give(mover.ask(), {"done": True})
    pull = {"kind": "reading", "step": "left-string", "act": 2, "from": "WR", "to": "SL"}
    before = walk.answer(DECK, reader.state, mover.ask(), {"inches": mover.ask()["target"]})["entry"]
    reader.sign(before)
    assert pull["kind"] == before["kind"]
    state = state_of(one, other)
    taken = [reading for reading in state["readings"] if reading["device"] == reader.device and reading["status"] == "apart"]
    assert len(taken) == 1
    assert taken[0]["number"] not in [reading["number"] for reading in state["readings"] if reading["status"] == "live"]
    ask = walk.next_ask(DECK, state)
    assert (ask["ask"], ask["step"], {ask["from"], ask["to"]}) == ("again", "left-string", {before["from"], before["to"]})
    assert "moved the left string's nail" in text(ask["suspect"])
    meet(one, other)
    one.give(one.ask(), {"inches": one.ask()["target"]})
    assert one.ask()["step"] == "right-string", "read again by one who knows of both: it counts"


def test_a_reading_whose_nail_nobody_moved_counts() -> None:
    one, other = pair("pull", "left-string")
    one.give(one.ask(), {"inches": one.ask()["target"] + 1.5})
    one.give(one.ask(), {"done": True})
    other.until("pull", "left-string")
    for part in DECK["steps"]:
        if part["id"] == "right-string":
            for index, row in enumerate(part["acts"][:-1]):
                other.sign({"kind": "set", "step": "right-string", "act": index, "point": row["point"]})
            pull = part["acts"][-1]["pulls"][0]
            other.sign({"kind": "reading", "step": "right-string", "act": len(part["acts"]) - 1, "from": pull["from"],
                        "to": pull["to"], "inches": pull["inches"]})
    assert {reading["status"] for reading in state_of(one, other)["readings"]} == {"live"}


def test_what_knows_nothing_of_others_concludes_nothing() -> None:
    """Entries of a Yardtrue that wrote no `seen`."""
    one, other = pair("pull", "left-string")
    one.give(one.ask(), {"inches": one.ask()["target"] + 1.5})
    meet(one, other)
    one.give(one.ask(), {"done": True})
    ask = one.ask()
    other.give({**ask, "step": "left-string"}, {"inches": ask["target"]})
    for entry in [*one.book.values(), *other.book.values()]:
        entry.pop("seen", None)
    state = state_of(one, other)
    assert {reading["status"] for reading in state["readings"]} <= {"live", "struck"}
    assert walk.truth(DECK, state)["together"] == []


@pytest.mark.parametrize("offs", [(None, None), (None, [1.0, 0.0]), ([0.0, 2.0], [0.0, -0.5])])
def test_a_mark_staked_on_two_phones_says_which_stake_to_leave(offs: tuple[Any, Any]) -> None:
    one, other = pair("stake", "footing-1-2")
    for phone, off in zip((one, other), offs, strict=True):
        phone.give(phone.ask(), {"done": True} if off is None else {"off": off})
    state = state_of(one, other)
    row = next(mark for mark in walk.truth(DECK, state)["marks"] if mark["point"] == "G1-2")
    assert (row["state"], row["staked"]) == ("twice", True)
    alone = [walk.truth(DECK, phone.state) for phone in (one, other)]
    each = [next(mark["within"] for mark in truth["marks"] if mark["point"] == "G1-2") for truth in alone]
    assert row["within"] == pytest.approx(max(each)), "no nearer than the farther of the two"
    ask = walk.next_ask(DECK, state)
    assert (ask["ask"], ask["point"]) == ("stake", "G1-2")
    assert text(ask["say"]) == "footing 2 of beam 1 is staked twice: on the first phone and on the second phone."
    assert text(ask["doubt"]).startswith("Leave the stake of the second phone, pull the other one out")
    meet(one, other)
    one.give(one.ask(), {"done": True})
    assert one.ask()["ask"] == "heed"
    assert walk.truth(DECK, one.state)["together"] == []


def test_a_yard_with_a_mark_staked_twice_is_not_called_true() -> None:
    one, other = pair("stake", "footing-1-2")
    for phone in (one, other):
        phone.give(phone.ask(), {"done": True})
    one.until("heed", "keep")
    assert walk.truth(DECK, one.state)["true"] is True
    assert walk.truth(DECK, state_of(one, other))["true"] is False


def test_a_point_set_on_two_phones_counts_as_the_later_one_set_it() -> None:
    """kestrel sets the left nail and reads; otter sets it too: kestrel's pull is asked again, otter's counts."""
    one, other = pair("set", "left-string")
    assert one.ask()["point"] == "NL"
    other.sign({"kind": "note"})
    for phone in (one, other):
        phone.until("pull", "left-string")
    one.give(one.ask(), {"inches": one.ask()["target"]})
    state = state_of(one, other)
    assert [reading["status"] for reading in state["readings"] if reading["device"] == "kestrel"] == ["apart"]
    ask = walk.step_ask(DECK, state, "left-string")
    assert ask["ask"] == "again"
    assert text(ask["suspect"]).endswith("The one set on the second phone counts: pull to that one.")
    told = [text(message) for message in walk.truth(DECK, state)["together"]]
    assert any("the left string's nail was set on the first phone and on the second phone" in line for line in told)


def test_a_nail_moved_on_two_phones_stands_nobody_knows_where() -> None:
    one, other = pair("pull", "left-string")
    one.give(one.ask(), {"inches": one.ask()["target"] + 1.5})
    meet(one, other)
    for phone in (one, other):
        phone.give(phone.ask(), {"done": True})
    state = state_of(one, other)
    assert state["shifts"][-1]["sigma"] == DECK["yard"]["tape"]["eye"]
    ask = walk.next_ask(DECK, state)
    assert (ask["ask"], ask["step"]) == ("pull", "left-string")
    assert any("moved on the first phone and on the second phone" in text(line) for line in walk.truth(DECK, state)["together"])
    meet(one, other)
    one.give(one.ask(), {"inches": one.ask()["target"]})
    assert walk.truth(DECK, one.state)["together"] == []


def test_what_was_built_on_what_another_phone_took_back_is_asked_again() -> None:
    one, other = pair("pull", "left-string")
    strike = next(entry for entry in one.book.values() if entry.get("point") == "SL")
    other.give(other.ask(), {"inches": other.ask()["target"]})
    one.sign({"kind": "strike", "step": "left-string", "strikes": strike["id"]})
    state = state_of(one, other)
    assert [reading["status"] for reading in state["readings"]] == ["apart"]
    ask = walk.next_ask(DECK, state)
    assert (ask["ask"], ask["point"]) == ("set", "SL"), "set first, then pulled"
    meet(one, other)
    one.give(one.ask(), {"done": True})
    ask = one.ask()
    assert ask["ask"] == "again"
    assert "took back what it had done with the flag on the left string" in text(ask["suspect"])


def test_a_mark_plumbed_while_its_nail_was_moved_elsewhere_is_set_again() -> None:
    one, other = pair("set", "footing-1-2")
    assert other.ask()["point"] == "G1-2"
    other.give(other.ask(), {"done": True})
    other.give(other.ask(), {"done": True})
    seek = next(i for i, row in enumerate(DECK["steps"][12]["acts"]) if row["act"] == "seek")
    one.sign({"kind": "move", "step": "sure", "act": seek, "point": "B1L", "by": [0.0, 0.5]})
    state = state_of(one, other)
    ask = walk.step_ask(DECK, state, "footing-1-2")
    assert (ask["ask"], ask["point"]) == ("set", "G1-2")
    assert "pull it out" in text(ask["doubt"])
    assert "G1-2" not in walk.truth(DECK, state)["staked"]


def test_two_ways_chosen_at_once_are_told_and_the_later_one_is_walked() -> None:
    one, other = pair("heed", "boards")
    one.sign({"kind": "way", "way": "string by string"})
    other.sign({"kind": "way", "way": "whole frame"})
    state = state_of(one, other)
    assert walk.way_of(DECK, state) == "whole frame"
    assert ["way" in text(line) for line in walk.truth(DECK, state)["together"]] == [True]


WEIRD: list[Any] = [None, True, -1, 0, 1.5, 10**12, "", "nowhere", "__proto__", "constructor", [], [1], [1e9, 0.0], {}, {"x": 1}]
KEYS = ("act", "step", "kind", "point", "from", "to", "inches", "by", "off", "cannot", "seen", "strikes", "what", "way", "n",
        "revision", "text", "held")


@SLOW
@given(seed=st.integers(0, 10**6), turns=st.integers(5, 40))
def test_odd_entries_never_stop_the_fold(seed: int, turns: int) -> None:
    """Unknown points, acts, kinds, negative numbers, missing and mistyped parts: passed over or taken, never an error."""
    chance = random.Random(seed)
    start = Phone(DECK, "heron")
    start.until("pull", chance.choice(("left-string", "frame", "sure")))
    crew = roam(DECK, chance, 2, turns, start)
    book = [copy.deepcopy(entry) for one in crew for entry in one.book.values()]
    points = list(DECK["yard"]["points"])
    for number in range(turns):
        entry = copy.deepcopy(chance.choice(book)) | {"id": f"odd-{number}"}
        for key in chance.sample(KEYS, chance.randrange(1, 3)):
            if chance.random() < 0.2:
                entry.pop(key, None)
            else:
                entry[key] = chance.choice([*WEIRD, *points]) if key not in ("from", "to", "point") else chance.choice(points)
        book.append(entry)
    state = walk.fold(DECK, copy.deepcopy(book))
    chance.shuffle(book)
    assert walk.fold(DECK, copy.deepcopy(book)) == state
    everything_can_be_said(state)


@pytest.mark.parametrize("seed", [7, 20])
def test_a_string_put_back_that_fits_badly_is_looked_at_and_stops_nothing(seed: int) -> None:
    """What fits worst may be a string put back, which no pull was read by."""
    chance = random.Random(seed)
    start = Phone(DECK, "heron")
    start.until("pull", chance.choice(("left-string", "frame", "sure")))
    crew = roam(DECK, chance, 3, 50, start)
    assert any(key.startswith("~") for one in crew for key in one.state["probed"])


@pytest.mark.parametrize("seed", range(3))
def test_two_phones_that_meet_come_to_the_end(seed: int) -> None:
    """Whatever was asked again: with both knowing all, what is asked comes to an end."""
    chance = random.Random(seed)
    one, other = roam(DECK, chance, 2, 60)
    meet(one, other)
    state = one.state
    for _ in range(200):
        ask = walk.next_ask(DECK, state)
        if ask["ask"] == "end":
            break
        given = {"inches": ask["target"]} if ask["ask"] in ("pull", "again") else {"done": True}
        walk.apply(DECK, state, one.give(ask, given))
    assert ask["ask"] == "end", (ask["ask"], ask["step"])
    assert one.state == state
