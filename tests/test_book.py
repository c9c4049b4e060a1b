"""The field book: nothing written is lost, nothing half-read is kept, two books become one."""
import json
import os

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server import book
from server.errors import BookFault

DOCUMENT = {
    "digest": "d1", "job": {"id": "fern-bank", "name": "Fern bank"}, "yard": {"points": {"WL": {}, "NL": {}, "SL": {}}},
}
BASE = {"device": "dev-a", "at": "2026-05-01T10:00:00Z", "revision": "d1", "job": "fern-bank", "step": "left-string"}
PARTS = {
    "heed": {}, "note": {"text": "rain"}, "set": {"point": "NL"},
    "reading": {"from": "WL", "to": "SL", "inches": 180.0},
    "move": {"point": "NL", "by": [0.5, 0]}, "stake": {"point": "SL", "off": None}, "strike": {"strikes": "e1"},
    "way": {"way": "whole frame", "step": "", "act": -1}, "after": {"what": "marks", "step": "", "act": -1},
}


def entry(n, kind="heed", **parts):
    return BASE | {"id": f"e{n}", "n": n, "kind": kind} | PARTS.get(kind, {}) | parts


def code_of(call, *arguments):
    with pytest.raises(BookFault) as caught:
        call(*arguments)
    said = caught.value.plain()["error"]
    assert "{" not in said["message"] + said["fix"]
    return caught.value.code


@pytest.fixture
def path(tmp_path):
    return tmp_path / "walk.book"


def test_every_entry_is_a_line_on_the_disk_before_append_returns(path, monkeypatch):
    synced = []
    real = os.fsync
    monkeypatch.setattr(os, "fsync", lambda number: (synced.append(path.read_bytes()), real(number)))
    opened = book.open_book(path, DOCUMENT)
    for n, kind in enumerate(PARTS, 1):
        opened.append(entry(n, kind))
        assert synced[-1].count(b"\n") == n + 1
    assert book.open_book(path, DOCUMENT).entries == [entry(n, kind) for n, kind in enumerate(PARTS, 1)]


def test_the_header_says_whose_book_it_is(path):
    book.open_book(str(path), DOCUMENT)
    head = json.loads(path.read_text())
    assert (head["kind"], head["job"], head["revision"]) == ("yardtrue field book", "fern-bank", "d1")


@given(st.integers(1, 200))
def test_a_torn_end_is_reported_dropped_and_written_over(tmp_path_factory, lost):
    path = tmp_path_factory.mktemp("torn") / "walk.book"
    opened = book.open_book(path, DOCUMENT)
    opened.append(entry(1))
    opened.append(entry(2, "reading"))
    content = path.read_bytes()
    last = len(content) - content[:-1].rfind(b"\n") - 1
    path.write_bytes(content[:-min(lost, last - 1)])
    again = book.open_book(path, DOCUMENT)
    if lost == 1:  # only the line's end is missing: the entry is whole
        assert (again.torn, again.entries) == ("", [entry(1), entry(2, "reading")])
    else:
        assert again.torn == content[content[:-1].rfind(b"\n") + 1:-min(lost, last - 1)].decode()
        assert again.entries == [entry(1)]
    again.append(entry(3))
    assert book.open_book(path, DOCUMENT).entries[-1] == entry(3)
    assert book.open_book(path, DOCUMENT).torn == ""


def test_a_broken_line_in_the_middle_is_a_fault_and_the_file_stays(path):
    opened = book.open_book(path, DOCUMENT)
    opened.append(entry(1))
    content = path.read_bytes() + b"{oops}\n" + json.dumps(entry(2)).encode() + b"\n"
    path.write_bytes(content)
    with pytest.raises(BookFault) as caught:
        book.open_book(path, DOCUMENT)
    assert (caught.value.code, caught.value.slots["line"]) == ("book-unreadable", "3")
    assert path.read_bytes() == content


@pytest.mark.parametrize(
    ("head", "code"),
    [
        ({"kind": "shopping list"}, "not-a-book"),
        ([], "not-a-book"),
        ({"schema": 2}, "book-schema"),
        ({"job": "other", "name": "Other"}, "book-other-job"),
        ({"revision": "d0"}, "book-other-revision"),
        ({"entries": []}, "book-is-export"),
    ],
)
def test_a_file_that_is_not_this_jobs_book_is_refused_untouched(path, head, code):
    content = json.dumps(book.header(DOCUMENT) | head if isinstance(head, dict) else head) + "\n"
    path.write_text(content)
    assert code_of(book.open_book, path, DOCUMENT) == code
    assert path.read_text() == content


def test_a_file_of_something_else_is_refused_untouched(path):
    path.write_bytes(b"\xff\xfenot text at all")
    assert code_of(book.open_book, path, DOCUMENT) == "book-unreadable"
    assert path.read_bytes() == b"\xff\xfenot text at all"


BROKEN = [
    (3, "entry-kind"), ({}, "entry-kind"), (entry(1, "dance"), "entry-kind"),
    (entry(1) | {"kind": ["heed"]}, "entry-kind"), (entry(1, "way", way="by eye"), "entry-broken"), (entry(1, "after", what="rain"), "entry-broken"),
    (entry(0), "entry-broken"), (entry(True), "entry-broken"), (entry(1, id=""), "entry-broken"),
    (entry(1, "set", point=3), "entry-broken"), (entry(1, "set", point="XX"), "entry-point"),
    (entry(1, "reading", inches="180"), "entry-broken"), (entry(1, "reading", inches=float("inf")), "entry-broken"),
    (entry(1, "reading", cannot="alone"), "entry-broken"), (entry(1, "move", by=[1]), "entry-broken"),
    (entry(1, "move", by=[1, float("nan")]), "entry-broken"), (entry(1, "stake", off="far"), "entry-broken"),
    (entry(1, "strike", strikes=None), "entry-broken"), (entry(1, job="other"), "entry-other-job"),
    (entry(1, seen=["dev-b"]), "entry-broken"), (entry(1, seen={"dev-b": 0}), "entry-broken"), (entry(1, seen={"dev-b": "3"}), "entry-broken"),
    (entry(1, seen={"": 3}), "entry-broken"), (entry(1, seen={f"dev-{n}": 1 for n in range(51)}), "entry-broken"),
]


@pytest.mark.parametrize(("broken", "code"), BROKEN)
def test_an_entry_that_is_not_whole_never_reaches_the_file(path, broken, code):
    opened = book.open_book(path, DOCUMENT)
    before = path.read_bytes()
    assert code_of(opened.append, broken) == code
    assert (path.read_bytes(), opened.entries) == (before, [])


def test_each_book_of_a_terminal_is_a_device_of_its_own(tmp_path):
    one, other = (book.open_book(tmp_path / name, DOCUMENT) for name in ("one", "other"))
    assert one.device != other.device
    assert book.open_book(tmp_path / "one", DOCUMENT).device == one.device


def test_an_entry_names_what_it_knew_of_the_others(path):
    opened = book.open_book(path, DOCUMENT)
    opened.append(entry(1, seen={}))
    opened.append(entry(2, seen={f"dev-{n}": n for n in range(1, 51)}))
    assert book.open_book(path, DOCUMENT).entries[1]["seen"]["dev-50"] == 50


def test_keys_of_a_later_version_are_kept(path):
    opened = book.open_book(path, DOCUMENT)
    opened.append(entry(1, "reading", text="15' 0\"", weather="dry"))
    assert book.open_book(path, DOCUMENT).entries[0]["weather"] == "dry"


ENTRIES = st.lists(
    st.tuples(st.integers(1, 9), st.sampled_from("abc")), unique=True, max_size=12,
).map(lambda pairs: [BASE | {"id": f"{device}{n}", "n": n, "device": device, "kind": "heed"} for n, device in pairs])


@given(ENTRIES, ENTRIES, ENTRIES)
def test_merging_is_a_union_in_any_order_any_number_of_times(a, b, c):
    both = book.merge(a, b)
    assert both == book.merge(b, a) == book.merge(both, a) == book.merge(both, both)
    assert book.merge(both, c) == book.merge(a, book.merge(b, c))
    assert {one["id"] for one in both} == {one["id"] for one in [*a, *b]}
    assert [(one["n"], one["device"]) for one in both] == sorted((one["n"], one["device"]) for one in both)


def test_two_contents_under_one_id_are_a_fault():
    assert code_of(book.merge, [entry(1)], [entry(1, at="later")]) == "book-clash"


def test_a_phones_book_reads_back():
    entries = [entry(2, "reading"), entry(1)]
    text = book.write_export(DOCUMENT, entries)
    assert book.read_export(text) == (DOCUMENT, [entry(1), entry(2, "reading")])
    assert json.loads(text)["name"] == "Fern bank"


EXPORT = json.loads(book.write_export(DOCUMENT, [entry(1)]))


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "not-a-book"), ("[", "not-a-book"), ("[" * 100_000, "not-a-book"), ("3", "not-a-book"),
        (json.dumps(EXPORT | {"schema": 9}), "book-schema"),
        (json.dumps(EXPORT | {"document": None}), "not-a-book"),
        (json.dumps(EXPORT | {"document": DOCUMENT | {"yard": []}}), "not-a-book"),
        (json.dumps(EXPORT | {"entries": {}}), "not-a-book"),
        (json.dumps(EXPORT | {"job": "other"}), "book-other-job"),
        (json.dumps(EXPORT | {"entries": [entry(1, job="other")]}), "entry-other-job"),
        (json.dumps(EXPORT | {"entries": [entry(1), entry(1, at="x")]}), "book-clash"),
    ],
)
def test_a_file_that_is_no_phones_book_is_refused(text, code):
    assert code_of(book.read_export, text) == code
