"""The desk and its API: forms that keep what was typed, one error shape, doors shut to other sites."""
import io
import json
import re
import zipfile

import pytest

from server import job
from server.errors import YardtrueError
from server.places import SEED
from server.web import bundles, faults, forms, speech
from server.words import words
from tests.demo import bare, spec
from tests.entered import desk_app, entered
from tests.test_spans import GOOD as QUESTIONS
from tests.test_sync import note

GOOD = bare()
TUB = {"name": "Hot tub", "x": "2'", "y": "3'", "width": "7'", "out": "7'", "load": 100}
STOVE = {"name": "Stone stove", "x": "20'", "y": "1'", "width": "4'", "out": "3'", "load": 150}
LUMBER = {
    "species": "hem-fir", "edition": "IRC 2021", "joists": {"size": "2x8", "spacing": 16}, "live": 60, "soil": 2000,
    "frost": "3' 6\"", "height": "4'", "post": "8x8", "footing": "square", "fastener": "bolt", "patches": [TUB, STOVE],
}
HOSTILE = '<img src=x onerror=alert(1)> \u202e"back" & co'


@pytest.fixture
def app(tmp_path):
    return desk_app(tmp_path, demo=True, TESTING=False)


@pytest.fixture
def desk(app):
    return entered(app)


def typed(**parts):
    return forms.typed_from(GOOD) | {key.replace("__", "."): value for key, value in parts.items()}


def saved_id(response):
    assert response.status_code == 303
    return response.headers["Location"].rpartition("/")[2]


# Pages

def test_the_list_shows_every_job_with_its_plan(desk):
    page = desk.get("/").text
    assert "Long side deck" in page
    assert "4800 mm × 3600 mm" in page
    assert page.count("<svg") == 2
    assert len(re.findall(r'\bid="', page)) == len(set(re.findall(r'\bid="[^"]*"', page)))


def test_a_job_made_from_the_form_is_planned_and_shown(desk):
    job_id = saved_id(desk.post("/jobs/new", data=typed(name="Fern bank")))
    page = desk.get(f"/jobs/{job_id}").text
    assert "Fern bank" in page
    assert 'id="string-left"' in page
    assert "28&#39; 5 3/16&#34;" in page
    assert f'href="/phone/#/job/{job_id}"' in page


def test_every_reading_of_the_walk_is_on_the_page_and_on_paper(app, desk):
    with app.app_context():
        _, bundle = bundles.newest("pear-tree-platform")
    readings = bundle.document["readings"]
    assert len(readings) > 20
    for path in ("/jobs/pear-tree-platform", "/jobs/pear-tree-platform/print"):
        assert desk.get(path).text.count('<td class="reading">') == len(readings)


def test_all_faults_show_at_their_fields_and_everything_typed_is_still_there(desk):
    wrong = typed(name="Half done", width="113", tape="9'", crew="", beams__0__setback="14x", beams__1__setback="20'")
    response = desk.post("/jobs/new", data=wrong)
    assert response.status_code == 400
    for place in ("width", "tape", "crew", "beams.0.setback", "beams.1.setback", "beams.1.posts"):
        assert f'id="{place}-fault"' in response.text
        assert f'href="#{place}"' in response.text
    for value in ("Half done", "113", "9&#39;", "14x", "20&#39;"):
        assert f'value="{value}"' in response.text
    assert len(desk.get("/api/jobs").json["jobs"]) == 2


def test_the_form_and_the_job_file_are_the_same_thing():
    for path in SEED.glob("*.json"):
        spec = json.loads(path.read_text(encoding="utf-8"))
        assert forms.spec_of(forms.typed_from(spec)) == spec


def test_beam_rows_left_empty_are_no_beams_and_gaps_close(desk):
    fields = forms.typed_of(typed(beams__2__setback="2'", beams__2__posts="at", beams__2__plies="3",
                                  beams__2__size="2x8", **{"beams__2__posts.at": "2'; 13'\r\n24'"}))
    spec = forms.spec_of(fields)
    assert [beam["setback"] for beam in spec["beams"]] == ["11' 6\"", "2'"]
    assert spec["beams"][1] == {"setback": "2'", "plies": 3, "size": "2x8", "posts": {"at": ["2'", "13'", "24'"]}}


def test_a_hostile_name_is_only_ever_text(desk):
    job_id = saved_id(desk.post("/jobs/new", data=typed(name=HOSTILE)))
    for path in ("/", f"/jobs/{job_id}", f"/jobs/{job_id}/print", f"/jobs/{job_id}/edit", f"/jobs/{job_id}/delete"):
        page = desk.get(path).text
        assert "<img src=x" not in page
        assert "&lt;img src=x onerror=alert(1)&gt;" in page
    assert desk.get(f"/api/jobs/{job_id}").json["name"] == HOSTILE


@pytest.mark.parametrize("way", ["paste", "upload"])
def test_a_job_file_pasted_or_uploaded_becomes_a_job(desk, way):
    text = json.dumps(GOOD | {"name": "From a file"})
    file = io.BytesIO(b"\xef\xbb\xbf" + text.encode())
    data = {"text": text} if way == "paste" else {"text": "", "file": (file, "x.json")}
    job_id = saved_id(desk.post("/jobs/file", data=data, content_type="multipart/form-data"))
    assert desk.get(f"/jobs/{job_id}/job.json").json == GOOD | {"name": "From a file"}


def test_a_job_file_with_faults_fills_the_form_and_keeps_its_text(desk):
    text = json.dumps(GOOD | {"width": 113, "colour": "red"}, indent=1)
    response = desk.post("/jobs/file", data={"text": text})
    assert response.status_code == 400
    assert 'id="width-fault"' in response.text
    assert 'value="113"' in response.text
    assert "<bdi>colour</bdi>" in response.text
    assert "&#34;colour&#34;: &#34;red&#34;" in response.text


@pytest.mark.parametrize(("content", "said"), [
    (b'{\n "name": }', "line 2, column 10"), (b"\xff\xfe\x00", "not UTF-8"), (b"[1]", "group of named values"),
])
def test_a_file_that_cannot_be_read_says_so(desk, content, said):
    data = {"file": (io.BytesIO(content), "x.json")}
    response = desk.post("/jobs/file", data=data, content_type="multipart/form-data")
    assert response.status_code == 400
    assert said in response.text


def test_an_edit_is_the_next_revision_and_no_change_is_none(desk):
    job_id = saved_id(desk.post("/jobs/new", data=typed()))
    assert 'value="11&#39; 6&#34;"' in desk.get(f"/jobs/{job_id}/edit").text
    saved_id(desk.post(f"/jobs/{job_id}/edit", data=typed()))
    assert desk.get(f"/api/jobs/{job_id}").json["revision"] == 1
    saved_id(desk.post(f"/jobs/{job_id}/edit", data=typed(width="24'")))
    assert desk.get(f"/api/jobs/{job_id}").json["revision"] == 2
    assert desk.post(f"/jobs/{job_id}/edit", data=typed(width="x")).status_code == 400
    assert desk.get(f"/api/jobs/{job_id}").json["spec"]["width"] == "24'"


def test_deleting_asks_first(desk):
    assert "Delete this job?" in desk.get("/jobs/long-side-deck/delete").text
    assert desk.get("/jobs/long-side-deck").status_code == 200
    digest = desk.get("/api/jobs/long-side-deck").json["digest"]
    assert desk.get(f"/phone/jobs/long-side-deck/{digest}.json").status_code == 200
    assert desk.post("/jobs/long-side-deck/delete").status_code == 303
    assert desk.get("/jobs/long-side-deck").status_code == 404
    assert desk.get(f"/phone/jobs/long-side-deck/{digest}.json").status_code == 404


def test_the_downloads_are_whole(desk):
    assert desk.get("/jobs/long-side-deck/job.json").json == spec()
    first, second = (desk.get("/jobs/long-side-deck/bundle.zip") for _ in range(2))
    assert first.data == second.data
    names = zipfile.ZipFile(io.BytesIO(first.data)).namelist()
    digest = desk.get("/api/jobs/long-side-deck").json["digest"]
    assert {"long-side-deck/index.html", "long-side-deck/sw.js",
            f"long-side-deck/jobs/long-side-deck/{digest}.json"} <= set(names)


def test_a_job_that_older_rules_let_through_can_still_be_opened_mended_and_deleted(app, desk):
    with app.app_context():
        bundles.store().add_job(GOOD | {"tape": "5'"}, lambda job_id, spec: "0" * 16, job_id="old-job")
    assert "Needs mending" in desk.get("/").text
    assert desk.get("/jobs/old-job").headers["Location"] == "/jobs/old-job/edit"
    assert 'id="tape-fault"' in desk.get("/jobs/old-job/edit").text
    offered = desk.get("/phone/jobs/index.json").json["jobs"]
    assert [job["id"] for job in offered] == ["long-side-deck", "pear-tree-platform"]
    assert desk.post("/jobs/old-job/edit", data=typed()).status_code == 303
    assert desk.post("/jobs/old-job/delete").status_code == 303


# API

def test_a_job_file_posted_is_saved_and_said_where(desk):
    response = desk.post("/api/jobs", json=GOOD | {"name": "By program"})
    assert response.status_code == 201
    job = desk.get(response.headers["Location"]).json
    assert (job["name"], job["revision"], job["spec"]["width"]) == ("By program", 1, "26'")
    assert desk.get(job["page"]).status_code == 200
    assert {"long-side-deck", job["id"]} < {one["id"] for one in desk.get("/api/jobs").json["jobs"]}


def test_faults_come_in_the_one_shape(desk):
    response = desk.post("/api/jobs", json=GOOD | {"width": 113, "crew": 7})
    assert response.status_code == 400
    error = response.json["error"]
    assert set(error) == {"code", "message", "fix", "faults"}
    found = {(fault["place"], fault["code"]) for fault in error["faults"]}
    assert found == {("width", "bare-number"), ("crew", "whole-range")}
    assert all(set(fault) == {"place", "code", "message", "fix"} for fault in error["faults"])


def test_check_saves_nothing(desk):
    assert desk.post("/api/check", json=GOOD | {"crew": 7}).json["faults"][0]["place"] == "crew"
    good = desk.post("/api/check", json=GOOD).json
    assert good["faults"] == []
    assert any("code tables" in finding for finding in good["findings"])
    assert len(desk.get("/api/jobs").json["jobs"]) == 2


def test_the_schema_is_served(desk):
    response = desk.get("/job-schema.json")
    assert response.content_type == "application/schema+json"
    assert response.json["properties"]["beams"]["maxItems"] == 4


def crash(*_):
    raise ZeroDivisionError("private detail")


WRONG = [
    ("GET", "/api/nope", {}, 404, "not-found"),
    ("GET", "/api/jobs/nope", {}, 404, "no-such-job"),
    ("PUT", "/api/jobs", {}, 405, "wrong-method"),
    ("POST", "/api/jobs", {"data": "{}"}, 415, "not-json"),
    ("POST", "/api/jobs", {"data": "[1]", "content_type": "application/json"}, 400, "job-faults"),
    ("POST", "/api/jobs", {"data": "{", "content_type": "application/json"}, 400, "job-faults"),
    ("POST", "/api/jobs", {"data": b"\xff", "content_type": "application/json"}, 400, "job-faults"),
    ("POST", "/api/jobs", {"data": b"[" * (1024 * 1024 + 1), "content_type": "application/json"}, 413, "too-large"),
]


@pytest.mark.parametrize(("method", "path", "body", "status", "code"), WRONG)
def test_every_error_of_the_api_has_the_one_shape(desk, method, path, body, status, code):
    response = desk.open(path, method=method, **body)
    assert (response.status_code, response.json["error"]["code"]) == (status, code)
    assert set(response.json["error"]) == {"code", "message", "fix", "faults"}
    assert response.json["error"]["message"] == words()[f"errors.{code}"]


def test_a_crash_says_a_sentence_and_keeps_its_details(app, desk, monkeypatch):
    monkeypatch.setattr(bundles, "store", crash)
    api, page = desk.get("/api/jobs"), desk.get("/")
    assert (api.status_code, page.status_code) == (500, 500)
    assert api.json["error"]["code"] == "server-error"
    assert words()["errors.server-error"] in page.text
    assert "private detail" not in api.text + page.text


@pytest.mark.parametrize(("method", "path", "status"), [
    ("GET", "/nope", 404), ("POST", "/", 405), ("GET", "/jobs/x", 404),
])
def test_errors_of_pages_are_pages_with_a_way_out(desk, method, path, status):
    response = desk.open(path, method=method)
    assert response.status_code == status
    assert response.content_type.startswith("text/html")
    assert 'href="/"' in response.text


def test_every_http_error_we_answer_with_has_words():
    for code in faults.CODES.values():
        assert YardtrueError(code).plain()["error"]["fix"]


# Doors

@pytest.mark.parametrize("path", [
    "/", "/jobs/new", "/jobs/long-side-deck", "/api/jobs", "/phone/", "/phone/sw.js", "/nope", "/static/desk.css",
])
def test_every_answer_carries_the_headers(desk, path):
    headers = desk.get(path).headers
    policy = headers["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert "unsafe" not in policy
    for part in ("object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'", "form-action 'self'"):
        assert part in policy
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "no-referrer"


@pytest.mark.parametrize("path", ["/", "/jobs/new", "/jobs/long-side-deck", "/jobs/long-side-deck/print"])
def test_no_page_needs_inline_script_or_style(desk, path):
    page = desk.get(path).text
    assert not re.search(r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son[a-z]+=", page)


@pytest.mark.parametrize(("headers", "status"), [
    ({"Sec-Fetch-Site": "cross-site"}, 403),
    ({"Sec-Fetch-Site": "same-site"}, 403),
    ({"Origin": "https://elsewhere.example"}, 403),
    ({"Origin": "null"}, 403),
    ({"Origin": "http://localhost:1"}, 403),
    ({"Sec-Fetch-Site": "none", "Origin": "null"}, 403),
    ({"Origin": "http://["}, 403),
    ({"Sec-Fetch-Site": "same-origin", "Origin": "null"}, 303),
    ({"Sec-Fetch-Site": "none"}, 303),
    ({"Origin": "http://localhost"}, 303),
    ({}, 303),
])
def test_a_change_comes_from_this_site_or_from_no_browser(desk, headers, status):
    response = desk.post("/jobs/long-side-deck/delete", headers=headers)
    assert response.status_code == status
    assert desk.get("/jobs/long-side-deck").status_code == (200 if status == 403 else 404)
    if status == 403:
        assert words()["errors.other-site"] in response.text


@pytest.mark.parametrize(("host", "status"), [
    ("localhost:8000", 200), ("127.0.0.1:8000", 200), ("127.0.0.2", 200), ("[::1]:8000", 200), ("yard.localhost", 200),
    ("deck.example:8000", 200), ("evil.example", 403), ("localhost.evil.example", 403), ("10.0.0.1", 403), ("[", 403),
])
def test_only_known_hosts_are_answered(app, host, status):
    app.config["ALLOWED_HOSTS"] = ("deck.example",)
    response = app.test_client().get("/phone/jobs/index.json", headers={"Host": host})
    assert response.status_code == status
    if status == 403:
        assert response.json["error"]["code"] == "unknown-host"


def test_a_form_larger_than_a_mebibyte_is_not_read(desk):
    response = desk.post("/jobs/file", data={"text": "x" * (1024 * 1024 + 10)})
    assert response.status_code == 413
    assert words()["errors.too-large"] in response.text


# Cache

def test_a_bundle_is_built_once_until_something_changes(app, desk, monkeypatch):
    built = []
    real = bundles.plan.plan
    monkeypatch.setattr(bundles.plan, "plan", lambda job_id, *rest: built.append(job_id) or real(job_id, *rest))
    job_id = saved_id(desk.post("/jobs/new", data=typed()))
    digest = desk.get(f"/api/jobs/{job_id}").json["digest"]
    for _ in range(3):
        for path in (f"/jobs/{job_id}", f"/jobs/{job_id}/print", "/phone/jobs/index.json", "/",
                     f"/phone/jobs/{job_id}/{digest}.json", f"/jobs/{job_id}/bundle.zip"):
            assert desk.get(path).status_code == 200
    assert built == [job_id]
    desk.post(f"/jobs/{job_id}/edit", data=typed(out="12'"))
    desk.get(f"/jobs/{job_id}")
    assert built == [job_id, job_id]


@pytest.mark.parametrize("part", ["field_digest", "builder_digest"])
def test_new_field_math_words_or_code_builds_again(app, monkeypatch, part):
    with app.app_context():
        before = bundles.content_key("x", GOOD)
        assert bundles.content_key("x", GOOD) == before
        monkeypatch.setattr(bundles, part, lambda: "changed")
        assert bundles.content_key("x", GOOD) != before
    assert bundles.content_key("x", GOOD | {"crew": 1}) != before


# Words

def test_every_sentence_of_the_desk_is_used_and_every_one_used_is_there(desk):
    """Keys are gathered while pages, faults and forms are shown; the schema's are read by its own function."""
    seen = set()
    real = speech.sentence
    speech.sentence = lambda key, *rest: seen.add(key) or real(key, *rest)
    try:
        show_everything(desk)
    finally:
        speech.sentence = real
    elsewhere = ("desk.schema.", "desk.yard.", "desk.book.", "desk.report.")  # the last three in tests/test_web_yards.py
    mine = {key for key in words() if key.startswith("desk.") and not key.startswith(elsewhere)}
    assert mine - seen == set()


def show_everything(desk):
    desk.get("/nope")
    desk.get("/enter")
    for n in (1, 2):
        body = {"entries": [note(n, job="pear-tree-platform")], "since": 0}
        assert desk.post("/api/jobs/pear-tree-platform/entries", json=body).json["kept"]
        assert f"{n} entr" in desk.get("/jobs/pear-tree-platform/delete").text
    for path in ("", "/link", "/link/withdraw"):
        desk.get("/jobs/pear-tree-platform")
        desk.post(f"/jobs/pear-tree-platform{path}")
    for step in ({"width": "113"}, {"width": "113", "tape": "9'"}, {"width": "26'"}):
        desk.post("/jobs/new", data=typed(**step))
        desk.post("/jobs/long-side-deck/edit", data=typed(**step))
    desk.post("/jobs/new", data=dict.fromkeys(forms.all_fields(), "?"))
    desk.post("/jobs/new", data=typed(patches__more="7"))
    for count in (1, 2):
        desk.post("/jobs/new", data=typed(width="?") | {"patches.0.name": "Tub", "patches.more": json.dumps([TUB] * count)})
    desk.post("/jobs/new", data=typed(attached="false"))
    desk.post("/jobs/long-side-deck/edit", data=typed(out="14'", way="whole frame"))
    for path in ("/", "/jobs/new", "/jobs/long-side-deck", "/jobs/pear-tree-platform", "/jobs/long-side-deck/print", "/jobs/pear-tree-platform/print",
                 "/jobs/long-side-deck/edit", "/jobs/long-side-deck/delete", "/jobs/pear-tree-platform/delete"):
        desk.get(path)
    wide = saved_id(desk.post("/jobs/new", data=typed(name="Wide", width="34'")))
    for query in ("", "yards=?", "yards=1&others=yes"):
        desk.get(f"/jobs/{wide}/rehearse?{query}")
    with desk.application.app_context():
        bundles.store().add_job(GOOD | {"tape": "5'"}, lambda job_id, spec: "0" * 16, job_id="old-job")
    for open_frame in ({"species": "redwood"}, {"species": "redwood", "live": 200, "soil": 500, "width": "60'", "tape": "60'"}):
        job_id = saved_id(desk.post("/jobs/new", data=forms.typed_from(GOOD | {"beams": "choose"} | open_frame)))
        desk.get(f"/jobs/{job_id}/frames")
        desk.post(f"/jobs/{job_id}/frames", data={"frame": "1", "revision": "9"})
    failing = {"beams": [{"setback": "12'", "plies": 1, "size": "2x6", "posts": {"count": 2, "cantilever": "1'"}}]}
    for lumber in (LUMBER, {"species": "southern pine", "joists": {"size": "2x8", "spacing": 16}, "edition": "IRC 2021"}):
        desk.get(f"/jobs/{saved_id(desk.post('/jobs/new', data=forms.typed_from(GOOD | lumber | failing)))}")
    for question, asked in QUESTIONS.items():
        for live in ("40", "90", "heavy"):
            named = {name.replace("-", "_"): value for name, value in asked.items()}
            desk.get("/spans", query_string={"question": question} | named | {"live": live})
    desk.get("/")
    for saved in desk.get("/api/jobs").json["jobs"]:
        desk.post(f"/jobs/{saved['id']}/delete")
    desk.get("/")


def test_a_cleared_measure_is_a_fault_and_not_a_guess(tmp_path):
    """The form starts with the usual room and tolerance; emptied, each is asked for at its field."""
    desk = entered(desk_app(tmp_path))
    typed = {"name": "Deck", "units": "inch", "width": "16'", "out": "12'", "attached": "true", "string_face": "centre",
             "tape": "25'", "crew": "2", "room_left": "", "room_right": " ", "tolerance": "", "beams.0.setback": "11'",
             "beams.0.plies": "2", "beams.0.size": "2x10", "beams.0.posts": "count", "beams.0.posts.count": "3",
             "beams.0.posts.cantilever": "1'"}
    answer = desk.post("/jobs/new", data=typed)
    assert answer.status_code == 400
    assert answer.get_data(as_text=True).count("Nothing is typed yet") == 2 * 3  # in the list and at the field


@pytest.mark.parametrize(("way", "kept"), [("string by string", {}), ("whole frame", {"way": "whole frame"})])
def test_the_way_is_one_choice_of_the_form_and_the_usual_one_is_left_out(tmp_path, way, kept):
    assert forms.spec_of(forms.typed_from(GOOD | {"way": way})) == GOOD | kept
    desk = entered(desk_app(tmp_path))
    job_id = saved_id(desk.post("/jobs/new", data=forms.typed_from(GOOD | {"way": way})))
    page = desk.get(f"/jobs/{job_id}/edit").get_data(as_text=True)
    assert shown_choice(page, "way") == way
    said = f"<dt>Walked</dt><dd>{way.capitalize()}</dd>"
    assert all(said in desk.get(f"/jobs/{job_id}{part}").get_data(as_text=True) for part in ("", "/print"))
    assert "Whole frame: all by eye, few pulls, all moves at once" in page


def test_a_way_that_is_none_is_a_fault_at_its_field(tmp_path):
    desk = entered(desk_app(tmp_path))
    answer = desk.post("/jobs/new", data=forms.typed_from(GOOD | {"way": "by eye"}))
    page = answer.get_data(as_text=True)
    assert answer.status_code == 400
    assert 'href="#way"' in page
    assert "Use one of: string by string, whole frame." in page
    assert shown_choice(page, "way") == "by eye"


# Lumber and loads on the form

def shown_value(page, name):
    """What a text field of the form holds."""
    return re.search(rf'<input id="{re.escape(name)}"[^>]* value="([^"]*)"', page)[1]


def shown_choice(page, name):
    """The value that stands in a select of the form; the first, as a browser takes it, when none is marked."""
    inside = re.search(rf'<select id="{re.escape(name)}".*?</select>', page, flags=re.S)[0]
    return (re.search(r'value="([^"]*)" selected', inside) or re.search(r'value="([^"]*)"', inside))[1]


@pytest.mark.parametrize("extra", [
    {}, LUMBER, {"beams": "choose", "species": "redwood"}, *({key: value} for key, value in LUMBER.items()),
    {"patches": [TUB, STOVE, TUB]},
], ids=lambda extra: "-".join(extra) or "none")
def test_lumber_goes_through_the_form_and_comes_back_the_same(extra):
    spec = GOOD | extra
    assert forms.spec_of(forms.typed_from(spec)) == spec
    assert forms.spec_of(forms.with_rows(forms.typed_of(forms.typed_from(spec)))) == spec


def test_the_usual_stands_in_the_form_and_is_left_out_of_the_file():
    usual = {"edition": "IRC 2015", "live": 40, "soil": 1500, "post": "6x6", "footing": "round", "fastener": "lag screw"}
    assert forms.spec_of(forms.typed_from(GOOD | usual)) == GOOD
    typed_old = forms.typed_from(GOOD)
    assert {key: typed_old[key] for key in usual} == {key: str(value) for key, value in usual.items()}
    assert job.read(GOOD | usual) == job.read(GOOD)


@pytest.mark.parametrize("path", ["/jobs/new", "/jobs/bare/edit"])
def test_the_form_shows_the_usual_and_what_is_not_said(desk, path):
    with desk.application.app_context():
        bundles.store().add_job(GOOD, bundles.digest_of, job_id="bare")
    page = desk.get(path).text
    shown = {name: shown_choice(page, name) for name in ("species", "edition", "joists.size", "joists.spacing", "post", "footing", "fastener")}
    assert shown == {"species": "", "edition": "IRC 2015", "joists.size": "", "joists.spacing": "", "post": "6x6",
                     "footing": "round", "fastener": "lag screw"}
    assert [shown_value(page, name) for name in ("live", "soil", "frost", "height")] == ["40", "1500", "", ""]
    assert re.search(r'name="beams_way" value="given" checked', page)


def test_a_job_with_lumber_is_saved_and_opens_with_all_of_it(desk):
    job_id = saved_id(desk.post("/jobs/new", data=forms.typed_from(GOOD | LUMBER)))
    assert desk.get(f"/jobs/{job_id}/job.json").json == GOOD | LUMBER
    page = desk.get(f"/jobs/{job_id}/edit").text
    assert shown_choice(page, "species") == "hem-fir"
    assert shown_choice(page, "joists.spacing") == "16"
    assert [shown_value(page, name) for name in ("live", "frost", "patches.0.name", "patches.0.load")] == ["60", "3&#39; 6&#34;", "Hot tub", "100"]
    assert "1 more heavier patch" in page


def test_faults_of_lumber_show_at_their_fields_and_keep_what_was_typed(desk):
    wrong = typed(beams_way="choose", live="30 or so", soil="", frost="42", height="21'", joists__size="2x8",
                  patches__0__name="Hot tub", patches__0__x="22'", patches__0__width="7'", patches__0__load="9")
    response = desk.post("/jobs/new", data=wrong)
    assert response.status_code == 400
    for place in ("species", "live", "soil", "frost", "height", "joists.spacing", "patches.0.y", "patches.0.width",
                  "patches.0.out", "patches.0.load"):
        assert f'id="{place}-fault"' in response.text, place
        assert f'href="#{place}"' in response.text
    for name in ("live", "soil", "frost", "height", "patches.0.name", "patches.0.x", "patches.0.load"):
        assert shown_value(response.text, name).replace("&#39;", "'") == wrong[name]
    assert re.search(r'name="beams_way" value="choose" checked', response.text)
    assert "Heavier patch 1, load on it" in response.text
    for row in ("11&#39; 6&#34;", "1&#39; 4&#34;"):
        assert f'value="{row}"' in response.text, "the beams that were typed stay"


def test_a_kept_patch_with_a_fault_is_named_by_its_number(desk):
    spec = GOOD | {"patches": [TUB, STOVE, STOVE | {"x": "25'"}]}
    response = desk.post("/jobs/new", data=forms.typed_from(spec))
    assert response.status_code == 400
    assert '<a href="#patches">Heavier patch 3, along the wall</a>' in response.text
    assert 'id="patches-fault"' in response.text


def test_an_emptied_row_brings_the_next_patch_up_and_loses_none():
    sent = forms.typed_from(GOOD | {"patches": [TUB, STOVE, TUB]}) | {f"patches.0.{key}": " " for key in TUB}
    moved = forms.typed_of(sent)
    assert moved["patches.0.name"] == "Stone stove"
    assert forms.spec_of(moved)["patches"] == [STOVE, TUB]
    assert "patches" not in forms.spec_of(forms.typed_of(forms.typed_from(GOOD | {"patches": [TUB]}) | {f"patches.0.{key}": "" for key in TUB}))


@pytest.mark.parametrize("kept", ["{", "7", "[[", "[7]", '"x"', "[" * 5000, "[NaN]", "[null]"])
def test_kept_patches_that_were_meddled_with_are_named_and_not_dropped(desk, kept):
    response = desk.post("/jobs/new", data=typed(patches__more=kept))
    assert response.status_code == 400
    assert 'href="#patches"' in response.text


@pytest.mark.parametrize("part", [{"joists": 7}, {"patches": 7}, {"patches": [7, TUB]}, {"live": None}, {"species": ["oak"]}])
def test_a_file_with_odd_lumber_fills_the_form_and_keeps_its_text(desk, part):
    text = json.dumps(GOOD | part)
    response = desk.post("/jobs/file", data={"text": text})
    assert response.status_code == 400
    assert f'{next(iter(part))}&#34;: ' in response.text
    assert shown_value(response.text, "width") == "26&#39;"
