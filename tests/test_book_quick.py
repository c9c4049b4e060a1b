"""The quick look at an entry says yes only where its schema has nothing to say, and says yes to what a walk makes."""
import math
import random

from hypothesis import example, given
from hypothesis import strategies as st

from server.book import SCHEMAS
from server.book_quick import MOST_N, OWN, plainly_whole
from tests.chaos.phone import Phone
from tests.demo import document

BASE = {"id": "a-1", "n": 1, "device": "a", "at": "2026-05-04T08:00:00.000Z", "revision": "abc", "job": "j", "step": "s", "act": 0}
WHOLE = {
    "heed": {}, "note": {"text": "x"}, "set": {"point": "NL"}, "reading": {"from": "WL", "to": "WR", "inches": 120.5},
    "move": {"point": "NL", "by": [0.5, -1]}, "stake": {"point": "G1-1", "off": None}, "strike": {"strikes": "a-1"},
    "way": {"way": "strings"}, "after": {"what": "marks"},
}
KEYS = [*BASE, "seen", "point", "from", "to", "inches", "cannot", "by", "off", "strikes", "way", "what", "other"]
NUMBERS = st.one_of(st.integers(-2, 3), st.sampled_from([0, 1000, 1001, 10**400, MOST_N, MOST_N + 1, 1.0, math.inf, math.nan, True, False]))
TEXTS = st.sampled_from(["", "a", "x" * 40, "x" * 41, "x" * 80, "x" * 81, "blocked", "tape", "strings", "marks", "1", "NL"])
SIMPLE = st.one_of(st.none(), NUMBERS, TEXTS)
VALUES = st.one_of(
    SIMPLE, st.lists(SIMPLE, max_size=3), st.lists(NUMBERS, min_size=2, max_size=2),
    st.dictionaries(TEXTS, NUMBERS, max_size=3), st.just({str(n): 1 for n in range(51)}), st.just({str(n): 1 for n in range(50)}),
)


@given(st.sampled_from(sorted(WHOLE)), st.dictionaries(st.sampled_from(KEYS), VALUES, max_size=3), st.sets(st.sampled_from(KEYS), max_size=1))
@example("stake", {"off": [1, 2]}, set())
@example("stake", {}, {"off"})
def test_what_is_plainly_whole_its_schema_takes(kind, changed, gone):
    entry = {key: value for key, value in (BASE | WHOLE[kind] | {"kind": kind} | changed).items() if key not in gone}
    if plainly_whole(entry):
        assert SCHEMAS[kind].validate(entry) == {}


def test_each_kind_has_its_quick_look_and_passes_it_when_whole():
    assert set(OWN) == set(SCHEMAS) == set(WHOLE)
    for kind, own in WHOLE.items():
        way = {"way": document()["job"]["ways"][0]} if kind == "way" else {}
        assert plainly_whole(BASE | own | {"kind": kind} | way)
        for key in own:
            if key not in ("text", "inches", "off"):
                assert not plainly_whole({**BASE, **own, **way, "kind": kind, key: 7})


def test_what_a_walk_makes_is_plainly_whole():
    phone = Phone(document(), "wren", "", 0, random.Random(7))
    for _ in range(40):
        phone.work()
    assert all(plainly_whole(entry) for entry in phone.book)
    assert len({entry["kind"] for entry in phone.book}) > 3
