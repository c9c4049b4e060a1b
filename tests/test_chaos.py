"""Chaos: 5 phones, 10,000 deliveries that go wrong in every way, a hundred kills; at the end all have the same book."""
import json
import os
from collections import Counter

from tests.chaos.mortal import PLACES
from tests.chaos.run import BETWEEN, Size, chaos, held_by_server, state_of, told
from tests.chaos.wire import FAULTS

SEED = int(os.environ.get("YARDTRUE_CHAOS_SEED", "20260504"))


def text(value):
    return json.dumps(value, sort_keys=True)


def test_every_phone_and_the_server_end_with_the_same_book_whatever_the_wire_and_the_kills_do(tmp_path):
    print(f"seed {SEED} (YARDTRUE_CHAOS_SEED={SEED} does it again)")
    run = chaos(tmp_path, SEED, Size())
    try:
        held = held_by_server(run)
        print(told(run, held))
        assert run.wire.deliveries >= run.size.all_deliveries
        assert run.host.kills >= run.size.all_kills
        assert all(run.wire.counts[fault] > run.size.all_deliveries / 50 for fault in FAULTS)
        assert all(run.places[place] > 0 for place in (*BETWEEN, *PLACES, "storm"))
        check_books(run, held)
    finally:
        run.host.end()


def check_books(run, held):
    """The same set, the same order, the same state, and none of it lost or made up."""
    made = [entry["id"] for phone in run.phones for entry in phone.entries.values() if entry["device"] == phone.device]
    assert Counter(entry["id"] for entry in held) == Counter(made)
    states = {text(state_of(run, held))}
    for phone in run.phones:
        assert phone.refused == []
        assert not phone.unsent
        assert text(phone.book) == text(held)
        states |= {text(phone.folded())}
    assert len(states) == 1
    assert {entry["device"] for entry in held} == {phone.device for phone in run.phones}
    assert len(held) > run.size.asks + run.size.notes // 2
