"""Field books in step: entries kept once, one bad one among good ones, what came after a cursor, whoever sends."""
import json

import pytest

from server.field import walk
from server.web import bundles
from tests.demo import document
from tests.entered import desk_app, entered, in_crew

JOB = "long-side-deck"
DIGEST = document()["digest"]
PATH = f"/api/jobs/{JOB}/entries"


@pytest.fixture(scope="module")
def app(tmp_path_factory):
    return desk_app(tmp_path_factory.mktemp("sync"), demo=True)


@pytest.fixture
def app_anew(tmp_path):
    return desk_app(tmp_path, demo=True)


@pytest.fixture
def phone(app_anew):
    return in_crew(app_anew, JOB)


def note(number, device="phone-1", **more):
    return {
        "id": f"{device}-{number}", "n": number, "device": device, "at": "2026-05-04T08:00:00.000Z", "revision": DIGEST,
        "job": JOB, "step": "heed", "act": 0, "kind": "note", "text": "The gate is on the left.",
    } | more


def send(client, entries, since=0, path=PATH):
    body = json.dumps({"entries": entries, "since": since}).replace("Infinity", "1e400")
    answer = client.post(path, data=body, content_type="application/json")
    assert answer.status_code == 200, answer.text
    return answer.json


def test_entries_are_kept_and_come_to_everyone_but_who_sent_them(phone, app_anew):
    first = send(phone, [note(1), note(2)])
    assert first == {"kept": ["phone-1-1", "phone-1-2"], "refused": [], "entries": [], "since": 2, "more": False}
    other = in_crew(app_anew, JOB)
    with app_anew.app_context():
        assert bundles.store().entries(JOB) == [note(1), note(2)]
    assert send(other, [note(3, "phone-2")])["entries"] == [note(1), note(2)]
    assert send(other, [], since=2)["entries"] == [note(3, "phone-2")]
    assert send(other, [note(1)])["entries"] == [note(2), note(3, "phone-2")], "only what was sent just now stays away"


def test_the_same_again_is_kept_and_doubles_nothing(phone):
    send(phone, [note(1)])
    again = send(phone, [note(1), note(1), note(2)], since=1)
    assert (again["kept"], again["entries"], again["since"]) == (["phone-1-1", "phone-1-2"], [], 2)
    assert send(phone, [], since=2) == {"kept": [], "refused": [], "entries": [], "since": 2, "more": False}


BAD = [
    (7, "entry-kind"), (None, "entry-kind"), ([], "entry-kind"), ({}, "entry-kind"),
    (note(3, kind="dance"), "entry-kind"), (note(3, kind=["note"]), "entry-kind"),
    (note(0), "entry-broken"), (note(3, n="3"), "entry-broken"), (note(3, id=7), "entry-broken"), (note(3, id="x" * 81), "entry-broken"),
    (note(3, job="pear-tree-platform"), "entry-other-job"),
    (note(3, kind="set", point="nowhere"), "entry-point"),
    (note(3, kind="reading", **{"from": "WL", "to": "WR", "inches": 1e400}), "entry-text"),
    (note(3, kind="reading", **{"from": "WL", "to": "WR", "inches": 10**4000}), "entry-text"),
    (note(3, kind="reading", **{"from": "WL", "to": "WR"}), "entry-broken"),
    (note(3, id="nul\0"), "entry-text"), (note(3, device="back\u202e"), "entry-text"), (note(3, text="half \ud83d"), "entry-text"),
    (note(3, text="x" * 16_001), "entry-text"),
]


@pytest.mark.parametrize(("bad", "code"), BAD, ids=lambda value: str(value)[:40])
def test_one_bad_entry_is_refused_with_its_sentence_and_the_good_ones_are_kept(phone, bad, code):
    answer = send(phone, [note(1), bad, note(2)])
    assert answer["kept"] == ["phone-1-1", "phone-1-2"]
    (refused,) = answer["refused"]
    assert refused["error"]["code"] == code
    assert set(refused["error"]) == {"code", "message", "fix", "faults"}
    assert refused["id"] == (bad["id"][:80] if isinstance(bad, dict) and isinstance(bad.get("id"), str) else None)
    assert send(phone, [])["entries"] == [note(1), note(2)]


def test_another_content_under_a_held_id_is_refused_and_the_first_stays(phone):
    send(phone, [note(1)])
    answer = send(phone, [note(1, text="Other words."), note(2)])
    assert [one["error"]["code"] for one in answer["refused"]] == ["entry-clash"]
    assert (answer["refused"][0]["id"], answer["kept"], answer["entries"]) == ("phone-1-1", ["phone-1-2"], [note(1)])


def test_a_long_book_comes_in_parts(phone):
    for start in (1, 401, 801):
        send(phone, [note(n) for n in range(start, start + 400)], since=start - 1)
    seen, since, more = [], 0, True
    while more:
        answer = send(phone, [], since)
        assert len(answer["entries"]) <= 500
        seen += answer["entries"]
        since, more = answer["since"], answer["more"]
    assert [one["n"] for one in seen] == list(range(1, 1201))


def test_entries_of_an_earlier_revision_are_checked_against_it_and_those_of_an_unknown_one_kept(app_anew, phone):
    desk = entered(app_anew)
    old = desk.get(f"/api/jobs/{JOB}").json
    with app_anew.app_context():
        bundles.store().save_revision(JOB, old["spec"] | {"out": "14'"}, bundles.digest_of)
    old_document, new = document(), desk.get(f"/api/jobs/{JOB}").json["digest"]
    assert new != old_document["digest"]
    sent = [note(1, kind="set", point="nowhere"), note(2, kind="set", point="NL"), note(3, kind="set", point="nowhere", revision="0" * 16),
            note(4, kind="set", point="nowhere", revision=new)]
    answer = send(phone, sent)
    assert [(one["id"], one["error"]["code"]) for one in answer["refused"]] == [("phone-1-1", "entry-point"), ("phone-1-4", "entry-point")]
    assert answer["kept"] == ["phone-1-2", "phone-1-3"]


def test_a_job_whose_plan_is_open_again_still_takes_entries(app_anew, phone):
    spec = entered(app_anew).get(f"/api/jobs/{JOB}").json["spec"]
    with app_anew.app_context():
        bundles.store().save_revision(JOB, spec | {"beams": "choose"}, bundles.digest_of)
    assert send(phone, [note(1), note(2, kind="set", point="NL")])["kept"] == ["phone-1-1", "phone-1-2"]


def test_a_whole_walk_goes_up_and_comes_down_to_the_same_state(phone):
    deck = document()
    state, made = walk.fold(deck, []), []
    for n in range(1, 40):
        ask = walk.next_ask(deck, state)
        given = {"inches": ask["target"]} if ask["ask"] == "pull" else {"done": True}
        made.append(note(n) | walk.answer(deck, state, ask, given)["entry"])
        walk.apply(deck, state, made[-1])
    assert send(phone, made)["refused"] == []
    assert walk.next_ask(deck, walk.fold(deck, send(phone, [])["entries"])) == walk.next_ask(deck, state)


WRONG = [
    ({"data": "{}"}, 415, "body-not-json"),
    ({"data": "{", "content_type": "application/json"}, 400, "body-json"),
    ({"data": b"\xff", "content_type": "application/json"}, 400, "body-json"),
    ({"data": '{"entries": [], "since": NaN}', "content_type": "application/json"}, 400, "body-json"),
    ({"data": "[" * 100_000, "content_type": "application/json"}, 400, "body-json"),
    ({"data": '{"entries":' + "[" * 60 + "]" * 60 + "}", "content_type": "application/json"}, 400, "body-json"),
    ({"data": "9" * 5000, "content_type": "application/json"}, 400, "body-json"),
    ({"data": b" " * (1024 * 1024 + 1), "content_type": "application/json"}, 413, "too-large"),
    ({"data": "null", "content_type": "application/json"}, 422, "body-faults"),
    *(({"json": body}, 422, "body-faults") for body in (
        7, [], "x", {}, {"entries": []}, {"since": 0}, {"entries": {}, "since": 0}, {"entries": [], "since": "0"},
        {"entries": [], "since": -1}, {"entries": [], "since": 1.5}, {"entries": [], "since": True}, {"entries": [], "since": 10**30},
        {"entries": None, "since": 0}, {"entries": [1] * 501, "since": 0},
    )),
]


@pytest.mark.parametrize(("body", "status", "code"), WRONG, ids=lambda value: str(value)[:50])
def test_a_body_that_cannot_be_read_is_told_in_the_one_shape(app, body, status, code):
    answer = entered(app).post(PATH, **body)
    assert (answer.status_code, answer.json["error"]["code"]) == (status, code)
    assert set(answer.json["error"]) == {"code", "message", "fix", "faults"}


def test_answers_are_never_stored_on_the_way(phone):
    assert phone.post(PATH, json={"entries": [], "since": 0}).headers["Cache-Control"] == "no-store"
