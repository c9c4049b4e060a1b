"""The yard from the desk: its state on the plan, the field book to read, keep and take in, the report for paper."""
import io
import json
import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

from server import book
from server.field import tape, walk
from server.report import report
from server.web import books, bundles, states, yards
from server.words import sentence, words
from tests.demo import spec
from tests.entered import desk_app, entered, in_crew
from tests.yard_case import DECK, PLATFORM, second_phone, send, slipping, strike, walked

PAGES = ("yard", "yard/part", "book", "report")
HOSTILE = "<img src=x onerror=alert(1)> \u202eback"
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def app(tmp_path):
    return desk_app(tmp_path, demo=True)


@pytest.fixture
def desk(app):
    return entered(app)


def text_of(page):
    """What is read on a page, tags and line breaks away."""
    found = re.sub(r"<[^>]*>", " ", page.text).replace("&#34;", '"').replace("&#39;", "'")
    return re.sub(r"\s+", " ", found)


def drawing(page):
    (found,) = re.findall(r'<svg[^>]*aria-label.*?</svg>', page.text, flags=re.S)
    return ElementTree.fromstring(found)


def classes(root):
    return {one.get("id"): (one.get("class") or "").split() for one in root.iter() if one.get("id")}


def export(app, entries, job_id=DECK, **change):
    with app.app_context():
        document = bundles.newest(job_id)[1].document
    return json.loads(book.write_export(document, entries)) | change


def take_in(desk, content, job_id=DECK):
    content = content if isinstance(content, bytes) else json.dumps(content).encode()
    return desk.post(f"/jobs/{job_id}/book", data={"file": (io.BytesIO(content), "field-book.json")})


# Who may look

def test_the_job_leads_to_its_yard_its_book_and_its_report(desk):
    page = desk.get(f"/jobs/{DECK}").text
    for path in ("yard", "book", "report"):
        assert f'href="/jobs/{DECK}/{path}"' in page


@pytest.mark.parametrize("path", [*PAGES, "book/file"])
def test_only_the_desk_sees_the_yard(app, path):
    for client in (app.test_client(), in_crew(app, DECK)):
        answer = client.get(f"/jobs/{DECK}/{path}")
        assert (answer.status_code, answer.headers["Location"]) == (303, "/enter")
    answer = in_crew(app, DECK).post(f"/jobs/{DECK}/book")
    assert (answer.status_code, answer.headers["Location"]) == (303, "/enter")


@pytest.mark.parametrize("path", PAGES)
def test_no_such_job_is_told(desk, path):
    assert desk.get(f"/jobs/nowhere/{path}").status_code == 404


@pytest.mark.parametrize("path", PAGES)
def test_a_yard_that_nothing_came_from_says_so(desk, path):
    page = desk.get(f"/jobs/{DECK}/{path}")
    assert page.status_code == 200
    assert sentence("desk.yard.none") in text_of(page) or sentence("report.open.nothing") in text_of(page) or sentence("desk.book.none") in text_of(page)


# The yard now

def test_the_plan_carries_the_state_of_every_point_and_string_and_nothing_else_changes(app, desk):
    entries = walked(app)
    cut = [one["kind"] for one in entries].index("stake") + 1
    send(app, entries[:cut])
    page = desk.get(f"/jobs/{DECK}/yard")
    with app.app_context():
        seen_document = bundles.newest(DECK)[1].document
        found = report(seen_document, entries[:cut])
    shown = classes(drawing(page))
    for row in found["points"]:
        if f"point-{row['point']}" in shown:
            assert f"is-{row['state']}" in shown[f"point-{row['point']}"]
    assert "is-staked" in shown["point-G1-1"]
    assert "is-open" in shown["point-G1-2"]
    assert "is-true" in shown["string-beam1"]
    assert {name for name, held in shown.items() if "is-now" in held} == set(found["now"]["lit"]) & set(shown)
    bare = ElementTree.fromstring(seen_document["drawing"])
    plain = drawing(page)
    for root in (bare, plain):
        for one in root.iter():
            one.attrib.pop("class", None)
    assert ElementTree.tostring(bare) == ElementTree.tostring(plain)


def test_every_state_has_a_sign_and_words_of_its_own():
    assert len(set(states.SIGNS.values())) == len(states.SIGNS)
    told = {sentence(f"desk.yard.state.{state}") for state in states.SIGNS}
    assert len(told) == len(states.SIGNS)


def test_the_page_says_what_is_open_what_is_asked_and_when_the_last_entry_came(app, desk):
    entries = second_phone(walked(app))
    cut = [one["kind"] for one in entries].index("stake")
    entries[cut - 1]["at"] = "2026-05-04T10:42:00+00:00"
    send(app, entries[:cut])
    text = text_of(desk.get(f"/jobs/{DECK}/yard"))
    assert "4 of 5 footing marks are not set." in text
    assert "1 of 5 footing marks are marked, but not staked." in text
    with app.app_context():
        document = bundles.newest(DECK)[1].document
    ask = walk.next_ask(document, walk.fold(document, entries[:cut]))
    assert f"Asked in the yard now: {yards.lead(sentence(ask['say']['key'], ask['say']['slots']))}" in text
    assert f"Last entry: {yards.moment('2026-05-04T10:42:00+00:00')}, second phone, by its own clock." in text
    assert "First phone: 40 entries" in text


def test_the_part_is_the_pages_own_and_changes_when_an_entry_comes(app, desk):
    entries = walked(app)
    send(app, entries[:30])
    first = desk.get(f"/jobs/{DECK}/yard/part").text
    assert first.strip() in desk.get(f"/jobs/{DECK}/yard").text
    assert desk.get(f"/jobs/{DECK}/yard/part").text == first
    send(app, entries[30:31])
    assert desk.get(f"/jobs/{DECK}/yard/part").text != first


def test_the_yard_is_reckoned_anew_only_when_an_entry_came(app, desk, monkeypatch):
    entries = walked(app)
    times = []
    monkeypatch.setattr(yards, "report", lambda *given: times.append(1) or report(*given))
    for count in (0, 5, 5, 40):
        send(app, entries[:count])
        for path in PAGES:
            desk.get(f"/jobs/{DECK}/{path}")
    assert len(times) == 3


def test_every_entry_is_read_however_many_pages_of_them_the_store_gives(app, desk, monkeypatch):
    entries = walked(app)
    send(app, entries)
    monkeypatch.setattr(yards, "AT_ONCE", 7)
    with app.app_context():
        found, cursor = yards.all_entries(DECK)
    assert sorted(one["id"] for one in found) == sorted(one["id"] for one in entries)
    assert cursor == len(entries)


def test_a_mark_staked_off_and_outside_is_named_with_its_place(app, desk):
    entries = walked(app)
    cut = [one["kind"] for one in entries].index("stake")
    send(app, [*entries[:cut], entries[cut] | {"off": [0.5, -1.0]}])
    page = desk.get(f"/jobs/{DECK}/yard")
    assert "is-off" in classes(drawing(page))["point-G1-1"]
    assert "is-outside" in classes(drawing(page))["point-G1-1"]
    text = text_of(page)
    assert re.search(r'△ staked off its mark 1/2" right, 1" toward the house|△ staked off its mark .*" right, .*" toward the house', text)
    assert 'outside 1/4"' in text


# The field book

def test_every_entry_is_a_sentence_and_what_was_struck_is_struck_through(app, desk):
    entries = walked(app, crew=slipping())
    last = [one for one in entries if one["kind"] == "reading"][-1]
    send(app, [*entries, strike(last, 900)])
    page = desk.get(f"/jobs/{DECK}/book")
    assert page.text.count('<p class="when">') == len(entries) + 1
    struck = re.findall(r"<s>(.*?)</s>", page.text, flags=re.S)
    assert len(struck) == 2
    assert all(text.startswith("Pulled from") for text in struck)
    text = text_of(page)
    assert "does not fit" in text
    assert sentence("desk.book.status.struck") in text
    assert "Taken back on the first phone" in text
    assert "Took back: “Pulled from" in text


def test_the_book_is_shown_by_step_or_phone_through_plain_links(app, desk):
    entries = second_phone(walked(app))
    send(app, entries)
    page = desk.get(f"/jobs/{DECK}/book")
    assert f'href="/jobs/{DECK}/book?phone=2"' in page.text
    assert f'href="/jobs/{DECK}/book?step=frame"' in page.text
    for query, count in (("phone=2", len(entries) - 40), ("step=frame", sum(one["step"] == "frame" for one in entries)),
                         ("step=frame&phone=2", sum(one["step"] == "frame" for one in entries[40:])), ("phone=9", 0), ("step=%3Cb%3E", 0)):
        shown = desk.get(f"/jobs/{DECK}/book?{query}")
        assert shown.text.count('<p class="when">') == count
    assert sentence("desk.book.none-such") in text_of(desk.get(f"/jobs/{DECK}/book?phone=9"))
    assert "<b>" not in re.sub(r"<b>", "", desk.get(f"/jobs/{DECK}/book?step=%3Cb%3E").text.split("<main")[1].split("<form")[0])


@pytest.mark.parametrize(("page", "first"), [("", 0), ("2", 50), ("3", 100), ("99", 100), ("-1", 0), ("x", 0), ("0", 0), ("²", 0), ("9" * 30, 0)])
def test_a_long_book_has_pages(app, desk, monkeypatch, page, first):
    monkeypatch.setattr(books, "PAGE", 50)
    entries = walked(app, after=("strings",))
    send(app, entries)
    shown = desk.get(f"/jobs/{DECK}/book?page={page}")
    assert shown.status_code == 200
    assert shown.text.count('<p class="when">') == min(50, len(entries) - first)
    assert f"Page {first // 50 + 1} of 3" in text_of(shown)


def test_hostile_text_in_entries_is_text(app, desk):
    entries = walked(app)[:30]
    note = strike(entries[-1], 200) | {"id": "n", "kind": "note", "text": HOSTILE, "at": HOSTILE[:30]}
    odd = strike(entries[-1], 201) | {"id": "o", "kind": "set", "point": HOSTILE, "step": HOSTILE, "revision": "0" * 16}
    send(app, [*entries, note, odd])
    for path in PAGES:
        page = desk.get(f"/jobs/{DECK}/{path}")
        assert page.status_code == 200
        assert "<img src=x" not in page.text
    assert "&lt;img src=x" in desk.get(f"/jobs/{DECK}/book").text


# A file out and in

def test_the_field_book_file_goes_out_and_comes_in_the_same(app, desk, tmp_path):
    entries = walked(app)
    send(app, entries)
    answer = desk.get(f"/jobs/{DECK}/book/file")
    assert answer.headers["Content-Disposition"] == f"attachment; filename=field-book-{DECK}.json"
    document, found = book.read_export(answer.text)
    assert found == sorted(entries, key=lambda one: (one["n"], one["device"], one["id"]))
    (tmp_path / "other").mkdir()
    other = desk_app(tmp_path / "other", demo=True)
    client = entered(other)
    taken = take_in(client, answer.data)
    assert taken.status_code == 303
    assert f"Field book taken in: {len(entries)} new of {len(entries)} entries." in text_of(client.get(taken.headers["Location"]))
    assert client.get(f"/jobs/{DECK}/book/file").data == answer.data
    again = take_in(client, answer.data)
    assert f"Field book taken in: 0 new of {len(entries)} entries." in text_of(client.get(again.headers["Location"]))


def test_a_file_adds_what_is_not_here_yet(app, desk):
    entries = walked(app)
    send(app, entries[:50])
    assert take_in(desk, export(app, entries[30:])).headers["Location"].endswith(f"fresh={len(entries) - 50}&count={len(entries) - 30}")
    with app.app_context():
        assert bundles.store().entries(DECK) == sorted(entries, key=lambda one: one["n"])


def foreign(app):
    return export(app, walked(app, PLATFORM)[:9], PLATFORM)


def wrong_entry(app):
    entries = walked(app)[:9]
    return export(app, entries) | {"entries": [*entries, entries[0] | {"id": "x", "point": "Z9", "kind": "set"}]}


def clashing(app):
    entries = walked(app)[:9]
    send(app, entries)
    return export(app, [*entries[:8], entries[8] | {"at": "2020-01-01T00:00:00Z"}, *walked(app)[20:30]])


@pytest.mark.parametrize(("given", "said"), [
    (lambda app: b"", "errors.book-none"), (lambda app: b"{}", "errors.not-a-book"), (lambda app: b"\xff\xfe", "errors.not-a-book"),
    (lambda app: b"[" * 100_000, "errors.not-a-book"), (lambda app: export(app, []) | {"schema": 9}, "errors.book-schema"),
    (lambda app: export(app, []) | {"entries": [{"id": 1}]}, "errors.entry-kind"),
    (foreign, "errors.book-other-job"), (wrong_entry, "errors.entry-point"), (clashing, "errors.book-clash"),
    (lambda app: export(app, walked(app)[:3]) | {"document": {"job": {"id": DECK, "name": "x"}, "digest": "0" * 16, "yard": {"points": {}}}}, None),
])  # fmt: skip
def test_a_file_that_cannot_be_taken_in_is_told_and_changes_nothing(app, desk, given, said):
    content = given(app)
    with app.app_context():
        before = bundles.store().entries(DECK)
    answer = take_in(desk, content)
    if said is None:  # checked against the plan that is here, not the one the file brings
        assert answer.status_code == 303
        return
    assert answer.status_code == 400
    start = sentence(said, {}).split("{")[0].split("“")[0]
    assert start in text_of(answer)
    assert sentence("desk.book.nothing-taken") in text_of(answer)
    assert answer.text.count('id="take-in"') == 1
    assert answer.text.index('role="alert"') < answer.text.index('id="entries"'), "what is wrong is seen without going down the page"
    with app.app_context():
        assert bundles.store().entries(DECK) == before


def test_a_document_of_the_files_own_making_lets_no_strange_point_in(app, desk):
    entries = walked(app)[:3]
    document = {"job": {"id": DECK, "name": "x"}, "digest": "0" * 16, "yard": {"points": {"Z9": {}}}}
    bad = entries[0] | {"id": "z", "kind": "set", "point": "Z9"}
    answer = take_in(desk, export(app, []) | {"document": document, "entries": [bad]})
    assert answer.status_code == 400
    assert "Z9" in text_of(answer)


def test_a_file_too_large_is_told_by_its_own_limit(desk, monkeypatch):
    monkeypatch.setattr(books, "LARGEST", 2 * 1024 * 1024)
    answer = take_in(desk, b"x" * (3 * 1024 * 1024))
    assert answer.status_code == 400
    assert "larger than 2 MiB" in text_of(answer)


def test_a_book_larger_than_other_bodies_may_be_is_taken_in(app, desk):
    entries = walked(app)
    note = strike(entries[0], 1) | {"kind": "note", "text": "x" * 9000}
    many = [note | {"id": f"n{k}", "n": 1000 + k} for k in range(200)]
    assert take_in(desk, export(app, [*entries, *many])).status_code == 303
    assert f"{len(entries) + 200} entries" in text_of(desk.get(f"/jobs/{DECK}/book"))


# The report

def test_the_report_tells_every_footing_as_the_field_has_it(app, desk):
    for job_id, after in ((DECK, ()), (PLATFORM, ("strings",))):
        entries = walked(app, job_id, after=after)
        send(app, entries, job_id)
        page = desk.get(f"/jobs/{job_id}/report")
        with app.app_context():
            document = bundles.newest(job_id)[1].document
            found = report(document, entries)
        assert found["unfinished"] == []
        assert "Every footing mark is staked and within" in text_of(page)
        rows = re.findall(r'<tr><th scope="row">(.*?)</th>.*?</tr>', page.text, flags=re.S)
        assert len(rows) == len(found["marks"]) + len(found["anchors"])
        text = text_of(page)
        units = document["job"]["units"]
        for row in found["marks"] + found["anchors"]:
            for place in (row["plan"], row["found"]):
                assert "; ".join(tape.show(value, units) for value in place) in text
            assert yards.lead(sentence(row["name"]["key"], row["name"]["slots"], units)) in rows


def test_the_report_says_first_what_is_not_finished(app, desk):
    entries = walked(app, crew=slipping())
    send(app, [*entries[:70], strike(entries[69], 900)])
    text = text_of(desk.get(f"/jobs/{DECK}/report"))
    assert "Every footing mark is staked" not in text
    at = [text.index(part) for part in ("Not finished", "footing marks are not set.", "Footings Plan and found", "Frame", "Signature")]
    assert at == sorted(at)
    assert "1 struck by a check" in text


@pytest.mark.parametrize("path", PAGES)
def test_no_page_says_that_it_permits_and_each_defers(app, desk, path):
    send(app, walked(app))
    page = desk.get(f"/jobs/{DECK}/{path}").text.lower()
    assert "approved" not in page
    if path != "yard/part":
        assert "local code" in page
    assert not re.search(r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son[a-z]+=", page)


def test_ids_are_given_once(app, desk):
    send(app, walked(app, PLATFORM, after=("strings",)), PLATFORM)
    for path in ("yard", "book", "report"):
        page = desk.get(f"/jobs/{PLATFORM}/{path}").text
        found = re.findall(r'\sid="([^"]*)"', page)
        assert len(found) == len(set(found))


# Revisions

def test_entries_of_an_earlier_revision_stay_in_the_book_named_and_numbered(app, desk):
    entries = walked(app)[:20]
    send(app, entries)
    with app.app_context():
        number = bundles.store().save_revision(DECK, spec(width="24'"), bundles.digest_of)
    assert number == 2
    page = desk.get(f"/jobs/{DECK}/book")
    text = text_of(page)
    assert text.count("Taken on revision 1.") == 20
    assert "Set: the left wall mark." in text
    assert f"20 entries on revision 1 ({entries[0]['revision']})" in text_of(desk.get(f"/jobs/{DECK}/report"))


def test_a_new_revision_that_leaves_the_marks_where_they_are_leaves_them_staked(app, desk):
    entries = walked(app)
    send(app, entries)
    with app.app_context():
        bundles.store().save_revision(DECK, spec(name="Long side deck, again"), bundles.digest_of)
        assert bundles.newest(DECK)[1].digest != entries[0]["revision"]
    page = desk.get(f"/jobs/{DECK}/report")
    assert "Every footing mark is staked and within" in text_of(page)
    assert f"{len(entries)} entries on revision 1" in text_of(page)
    assert sentence("desk.book.uncounted") not in text_of(desk.get(f"/jobs/{DECK}/book"))


def test_a_mark_that_a_new_revision_moves_is_to_be_done_again(app, desk):
    entries = walked(app)
    send(app, entries)
    moved = spec()
    moved["beams"][0]["setback"] = "11'"
    with app.app_context():
        bundles.store().save_revision(DECK, moved, bundles.digest_of)
    text = text_of(desk.get(f"/jobs/{DECK}/report"))
    assert "5 of 5 footing marks are not set." in text
    assert "Entries taken on another version of the plan, which do not count here:" in text
    assert sentence("desk.book.uncounted") in text_of(desk.get(f"/jobs/{DECK}/book"))


def test_the_yard_stays_in_reach_while_the_desk_has_a_newer_revision_half_done(app, desk):
    entries = walked(app)
    send(app, entries)
    with app.app_context():
        bundles.store().save_revision(DECK, spec(beams="choose"), bundles.digest_of)
    for path in ("yard", "book", "report"):
        text = text_of(desk.get(f"/jobs/{DECK}/{path}"))
        assert "Revision 2 of the job cannot be laid out yet, so this is the yard by revision 1." in text
    assert "Every footing mark is staked and within" in text
    assert len(json.loads(desk.get(f"/jobs/{DECK}/book/file").data)["entries"]) == len(entries)
    assert take_in(desk, desk.get(f"/jobs/{DECK}/book/file").data).status_code == 303


def test_a_job_that_was_never_laid_out_leads_to_its_frames(app, desk):
    with app.app_context():
        job_id = bundles.store().add_job(spec(beams="choose"), bundles.digest_of)
    assert desk.get(f"/jobs/{job_id}/yard").headers["Location"] == f"/jobs/{job_id}/frames"


def test_many_phones_and_versions_are_counted_not_all_listed(app, desk):
    entries = walked(app)[:1]
    send(app, [entries[0] | {"id": f"x{k}", "n": k + 1, "device": f"phone {k}", "revision": f"{k:016x}"} for k in range(500)])
    page = desk.get(f"/jobs/{DECK}/report")
    assert "In all 500 phones and 500 versions of the plan." in text_of(page)
    assert len(page.text) < 100_000


def test_every_sentence_of_these_pages_is_asked_for() -> None:
    """By its key, or by its key's beginning where the end is a state, a count or a phone."""
    root = Path(yards.__file__).parent.parent
    asked = "".join(path.read_text(encoding="utf-8") for path in root.rglob("*") if path.suffix in (".py", ".html"))
    mine = [key.removeprefix("desk.") for key in words() if key.startswith(("desk.yard.", "desk.book.", "desk.report."))]
    assert len(mine) > 100
    heads = {key: key.rpartition(".")[0] + "." for key in mine}
    assert [key for key in mine if not any(mark + part in asked for mark in "\"'" for part in (key, heads[key], "desk." + heads[key]))] == []
