"""Who gets in: the desk with its key, a phone with a job's link to that job alone, nobody else and nothing told."""
import json
import re

import pytest
from click.testing import CliRunner

from server.cli import main
from server.serve_cli import greeting
from server.store import open_store
from server.web import access, bundles, entry
from server.words import words
from tests.entered import KEY, desk_app, entered, in_crew

MINE, OTHER = "long-side-deck", "pear-tree-platform"


@pytest.fixture
def app(tmp_path):
    return desk_app(tmp_path, demo=True)


def digest(app, job):
    return entered(app).get(f"/api/jobs/{job}").json["digest"]


def ids(client):
    answer = client.get("/phone/jobs/index.json")
    assert answer.status_code == 200
    return [job["id"] for job in answer.json["jobs"]]


# The way in

def test_a_page_of_the_desk_leads_to_the_way_in_and_the_key_opens_it(app):
    client = app.test_client()
    for path in ("/", "/jobs/new", f"/jobs/{MINE}", "/jobs/nope", "/spans", f"/jobs/{MINE}/bundle.zip"):
        answer = client.get(path)
        assert (answer.status_code, answer.headers["Location"]) == (303, "/enter")
    assert 'name="key"' in client.get("/enter").text
    assert client.post("/enter", data={"key": KEY.lower().replace("-", " ")}).headers["Location"] == "/"
    assert "Long side deck" in client.get("/").text


def test_a_wrong_key_is_told_and_guessing_slows_down(app, monkeypatch):
    now = [1000.0]
    monkeypatch.setattr(entry.time, "time", lambda: now[0])
    client = app.test_client()
    waits = []
    for _ in range(9):
        answer = client.post("/enter", data={"key": "guess"})
        assert answer.status_code == 403
        assert words()["errors.desk-key-wrong"] in answer.text.replace("&#39;", "'")
        answer = client.post("/enter", data={"key": KEY})
        if answer.status_code == 303:
            waits.append(0)
            with app.app_context():
                bundles.cache.set("guesses 127.0.0.1", (len(waits), 0.0))
            continue
        assert answer.status_code == 429
        waits.append(int(answer.headers["Retry-After"]))
        now[0] += waits[-1]
    assert waits[:3] == [0, 0, 0]
    assert waits[3:] == sorted(waits[3:])
    assert waits[-1] > 30
    assert client.post("/enter", data={"key": KEY}).status_code == 303
    assert client.get("/").status_code == 200


def test_the_cookie_is_kept_from_scripts_and_other_sites_and_lasts(app):
    told = app.test_client().post("/enter", data={"key": KEY}).headers["Set-Cookie"]
    assert told.startswith("yardtrue=")
    for part in ("HttpOnly", "SameSite=Strict", "Path=/"):
        assert part in told
    assert "Secure" not in told
    assert "Secure" in app.test_client().post("/enter", data={"key": KEY}, base_url="https://localhost").headers["Set-Cookie"]
    assert access.DAYS == 400
    assert re.search(r"Expires=\w{3}, \d\d \w{3} 20\d\d", told)


def test_a_new_key_ends_every_desk_session(app):
    client = entered(app)
    assert client.get("/api/jobs").status_code == 200
    app.extensions["store"].new_desk_key()
    assert client.get("/api/jobs").status_code == 401
    assert client.post("/enter", data={"key": KEY}).status_code == 403


def test_a_forged_cookie_opens_nothing(app):
    client = app.test_client()
    for forged in ("x", "eyJkZXNrIjoiMSJ9.aaaa.bbbb", ""):
        client.set_cookie("yardtrue", forged)
        assert client.get("/api/jobs").status_code == 401
        assert ids(client) == []


# Nobody

OPEN = ["/phone/", "/phone/sw.js", "/phone/words.json", "/phone/main.js", "/phone/jobs/index.json", "/enter", "/static/desk.css", "/static/enter.js"]


@pytest.mark.parametrize("path", OPEN)
def test_nobody_sees_the_shell_and_the_way_in(app, path):
    answer = app.test_client().get(path)
    assert answer.status_code == 200
    assert MINE not in answer.text


def test_every_other_address_is_shut_to_nobody_and_tells_nothing(app):
    """Every rule of the app, with a job that is there and one that is not: the same answer to the byte."""
    client, checked = app.test_client(), 0
    for rule in app.url_map.iter_rules():
        view = app.view_functions[rule.endpoint]
        if rule.endpoint == "static" or getattr(view, "open_to", "desk") == "anyone":
            continue
        for method in rule.methods - {"OPTIONS", "HEAD"}:
            answers = []
            for job in (MINE, "nope"):
                path = rule.rule.replace("<job_id>", job).replace("<digest>", digest(app, MINE))
                answer = client.open(path, method=method)
                answers.append((answer.status_code, answer.data.replace(job.encode(), b"J")))
                assert answer.status_code in ((401, 404) if access.PROGRAMS[0] in path or access.PROGRAMS[1] in path else (303,)), path
            assert answers[0] == answers[1]
            checked += 1
    assert checked > 20


def test_an_api_call_of_nobody_gets_401_in_the_one_shape(app):
    answer = app.test_client().get("/api/jobs")
    assert answer.status_code == 401
    assert set(answer.json["error"]) == {"code", "message", "fix", "faults"}


# The crew

def test_a_link_opens_its_job_and_no_other(app):
    client = in_crew(app, MINE)
    assert ids(client) == [MINE]
    mine, other = (f"/phone/jobs/{job}/{digest(app, job)}.json" for job in (MINE, OTHER))
    assert client.get(mine).json["job"]["id"] == MINE
    assert client.get(mine).headers["Cache-Control"].startswith("private")
    shut = client.get(other)
    gone = client.get("/phone/jobs/nope/0000000000000000.json")
    assert (shut.status_code, shut.json) == (gone.status_code, gone.json)
    assert shut.json["error"]["code"] == "no-such-document"
    body = {"entries": [], "since": 0}
    assert client.post(f"/api/jobs/{MINE}/entries", json=body).status_code == 200
    shut, gone = (client.post(f"/api/jobs/{job}/entries", json=body) for job in (OTHER, "nope"))
    assert (shut.status_code, shut.json) == (gone.status_code, gone.json)
    assert shut.status_code == 404
    assert client.get("/api/jobs").status_code == 401
    assert client.get(f"/jobs/{MINE}").headers["Location"] == "/enter"


def test_the_link_tells_the_job_as_the_list_has_it(app):
    with app.app_context():
        token = bundles.store().new_link(MINE)
    answer = app.test_client().post("/api/crew", json={"link": token})
    assert answer.json == {"job": next(job for job in entered(app).get("/phone/jobs/index.json").json["jobs"] if job["id"] == MINE)}
    assert answer.headers["Cache-Control"] == "no-store"
    assert MINE not in answer.headers["Set-Cookie"]


def test_a_job_without_a_plan_is_told_by_its_name(app):
    desk = entered(app)
    spec = desk.get(f"/api/jobs/{MINE}").json["spec"]
    with app.app_context():
        bundles.store().save_revision(MINE, spec | {"beams": "choose"}, bundles.digest_of)
        token = bundles.store().new_link(MINE)
    job = app.test_client().post("/api/crew", json={"link": token}).json["job"]
    assert job == {"id": MINE, "name": "Long side deck", "digest": "", "files": []}


@pytest.mark.parametrize("token", ["x", "x" * 200, "nul\0", "half\ud800", "../..", "' OR 1=1 --"])
def test_a_forged_link_opens_nothing(app, token):
    client = app.test_client()
    answer = client.post("/api/crew", json={"link": token})
    assert (answer.status_code, answer.json["error"]["code"]) == (404, "no-such-link")
    assert "Set-Cookie" not in answer.headers
    assert ids(client) == []


def test_a_withdrawn_link_ends_the_session_of_who_came_by_it(app):
    client = in_crew(app, MINE)
    path = f"/phone/jobs/{MINE}/{digest(app, MINE)}.json"
    assert client.get(path).status_code == 200
    assert entered(app).post(f"/jobs/{MINE}/link/withdraw").headers["Location"] == f"/jobs/{MINE}#crew"
    assert client.get(path).status_code == 404
    assert ids(client) == []
    assert client.post(f"/api/jobs/{MINE}/entries", json={"entries": [], "since": 0}).status_code == 401


def test_a_phone_may_be_in_several_crews_and_enter_the_desk_too(app):
    client = in_crew(app, MINE)
    with app.app_context():
        token = bundles.store().new_link(OTHER)
    assert client.post("/api/crew", json={"link": token}).status_code == 200
    assert ids(client) == [MINE, OTHER]
    assert client.post("/enter", data={"key": KEY}).status_code == 303
    assert client.get("/api/jobs").status_code == 200
    app.extensions["store"].new_desk_key()
    assert client.get("/api/jobs").status_code == 401
    assert ids(client) == [MINE, OTHER]


# The job's page

def test_the_link_is_made_on_the_jobs_page_shown_once_and_made_anew(app):
    desk = entered(app)
    assert words()["desk.crew.make"] in desk.get(f"/jobs/{MINE}").text
    shown = desk.post(f"/jobs/{MINE}/link")
    (link,) = re.findall(r'value="(http://localhost/phone/#/crew/[\w-]{32})"', shown.text)
    assert "<svg" in shown.text
    assert shown.headers["Cache-Control"] == "no-store"
    page = desk.get(f"/jobs/{MINE}").text
    assert words()["desk.crew.anew"] in page
    token = link.rpartition("/")[2]
    assert token not in page
    assert app.test_client().post("/api/crew", json={"link": token}).status_code == 200
    desk.post(f"/jobs/{MINE}/link")
    assert app.test_client().post("/api/crew", json={"link": token}).status_code == 404


def test_neither_inline_script_nor_style_is_in_the_new_pages(app):
    desk = entered(app)
    for page in (desk.get("/enter"), desk.post("/enter", data={"key": "x"}), desk.post(f"/jobs/{MINE}/link")):
        assert not re.search(r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son[a-z]+=", page.text)


# The command

def test_the_first_start_says_the_key_in_the_fragment_and_later_ones_say_nothing_of_it(tmp_path, monkeypatch):
    served = []
    monkeypatch.setattr("server.web.serve_plain", lambda app, host, port: served.append(app))
    database = f"sqlite:///{tmp_path / 'new.sqlite3'}"
    first, later = (CliRunner().invoke(main, ["serve", "--database", database, "--port", "9"]).output for _ in range(2))
    (key,) = re.findall(r"http://127\.0\.0\.1:9/enter#([A-Z2-9-]{31}) ", first)
    assert served[0].extensions["store"].is_desk_key(key)
    assert "http://127.0.0.1:9/ " in later
    assert "#" not in later
    made = CliRunner().invoke(main, ["desk-key", "--database", database]).output
    (new,) = re.findall(r"[A-Z2-9]{7}(?:-[A-Z2-9]{7}){3}", made)
    store = open_store(database)
    assert (store.is_desk_key(key), store.is_desk_key(new)) == (False, True)


def test_a_fixed_key_is_not_printed(tmp_path, monkeypatch):
    monkeypatch.setattr("server.web.serve_plain", lambda app, host, port: None)
    monkeypatch.setenv("YARDTRUE_DESK_KEY", KEY)
    monkeypatch.setenv("YARDTRUE_DATABASE_URL", f"sqlite:///{tmp_path / 'env.sqlite3'}")
    said = CliRunner().invoke(main, ["serve"]).output
    assert KEY not in said
    assert greeting("http://127.0.0.1:8124/", "")[0] in said
    assert open_store().is_desk_key(KEY)
    monkeypatch.setenv("YARDTRUE_DESK_KEY", "short")
    refused = CliRunner().invoke(main, ["serve"])
    assert (refused.exit_code, "too short" in refused.output) == (2, True)


def test_a_torn_database_is_told_at_the_command_line(tmp_path):
    file = tmp_path / "torn.sqlite3"
    file.write_bytes(b"SQLite format 3\0" + b"\xa5" * 9000)
    for command in (["serve"], ["desk-key"]):
        said = CliRunner().invoke(main, [*command, "--database", f"sqlite:///{file}"])
        assert said.exit_code == 2
        assert "is torn" in said.output
    assert file.read_bytes() == b"SQLite format 3\0" + b"\xa5" * 9000


def test_links_stand_in_no_log_line(app):
    """The token is in the fragment and in a body: neither is part of a request line, nor of any address of the API."""
    assert not [rule for rule in app.url_map.iter_rules() if "token" in rule.rule or "key" in rule.rule]
    assert json.dumps(entered(app).get(f"/api/jobs/{MINE}").json).count("crew") == 1  # the size of the crew, in its spec
