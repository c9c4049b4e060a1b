"""Hostile input: whatever is sent, no server error, nothing told that is not the sender's, one error shape; counted."""
import io
import json
import random
from collections import Counter
from itertools import product
from urllib.parse import quote

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    negative_data_rejection,
    response_schema_conformance,
    status_code_conformance,
)

from server import book
from server.errors import BookFault
from server.field import walk
from server.model import WAYS
from server.store.entries import entry_text
from server.web import access, bundles, forms, rehearsals, sync
from tests.demo import Memory, bare, document
from tests.entered import KEY, desk_app, entered, in_crew
from tests.virtual_crew import Crew, walk_with

MINE, OTHER = "long-side-deck", "pear-tree-platform"
DIGEST = document()["digest"]
ROLES = ("nobody", "crew", "desk")
HOSTILE = (
    "<img src=x onerror=alert(1)>", "\u202egnp.xe\u202c", "x" * 10_000, "nul\0byte", "half\ud800", "../../../etc/passwd", "..%2f..%2fetc",
    "' OR 1=1 --", "{{7*7}}${7*7}", "line\r\nSet-Cookie: a=b", "\U0001f9f1" * 50, "", " ", "-1", "null", "//elsewhere.example/", "\ufffe\uffff",
)
SECRETS = ("Traceback", "sqlalchemy", "site-packages", "sqlite", "/server/", KEY, "Error(")
SHAPE = {"code", "message", "fix", "faults"}
EXAMPLES = settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck), database=None)
CONFORMS = [not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance]


@pytest.fixture(scope="module")
def app(tmp_path_factory):
    return desk_app(tmp_path_factory.mktemp("hostile"), demo=True, TESTING=False, PROPAGATE_EXCEPTIONS=False)


@pytest.fixture(scope="module")
def clients(app):
    return {"nobody": app.test_client(), "crew": in_crew(app, MINE), "desk": entered(app)}


@pytest.fixture(scope="module", autouse=True)
def counted(request):
    """Every answer by what it was and its status; printed at the end."""
    tally = Counter()
    yield tally
    with request.config.pluginmanager.getplugin("capturemanager").global_and_fixture_disabled():
        print(f"\nhostile requests: {sum(tally.values())}")
        for what in sorted({what for what, _ in tally}):
            print(f"  {what}: " + ", ".join(f"{count} x {status}" for (one, status), count in sorted(tally.items()) if one == what))
    assert not [status for _, status in tally if status >= 500]


def examine(answer, role, path=""):
    """No server error, nothing told that is not this role's, errors of programs in the one shape, headers on all."""
    text = answer.data.decode("utf-8", "replace")
    assert answer.status_code < 500, (path, text[:300])
    assert not [secret for secret in SECRETS if secret in text], (path, text[:300])
    if role != "desk":
        assert "Pear tree" not in text
    if answer.status_code >= 400 and path.startswith(access.PROGRAMS):
        assert set(answer.json["error"]) == SHAPE, path
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert "Set-Cookie" not in answer.headers or answer.headers["Set-Cookie"].startswith("yardtrue=")


# Generated from the description

def described(app):
    return [found.ok() for found in schemathesis.openapi.from_wsgi("/api/openapi.json", app).get_all_operations()]


def send_generated(operation, mode, cookies, count):
    """Requests made from what one operation says it takes, or against it; each answered as it says."""
    named = {"path_parameters": {"job_id": MINE}} if "{job_id}" in operation.path else {}
    wrong = mode == GenerationMode.NEGATIVE
    told = operation.path == "/api/check"  # its answer to a wrong job file is what is wrong with it
    checks = CONFORMS + ([negative_data_rejection] if wrong and not told else [])

    @EXAMPLES
    @given(case=operation.as_strategy(generation_mode=mode, cookies=cookies, **named))
    def send(case):
        answer = case.call()
        count(answer.status_code)
        case.validate_response(answer, checks=checks)
        assert not (wrong and told and answer.status_code == 200) or answer.json()["faults"]
        sent = repr((case.body, case.query, case.path_parameters))
        assert not [secret for secret in SECRETS if secret.encode() in answer.content and secret not in sent], answer.content[:300]

    send()


@pytest.mark.parametrize("mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE], ids=["as told", "against it"])
@pytest.mark.parametrize("role", ROLES)
def test_requests_generated_from_the_description_are_answered_as_it_says(app, clients, counted, role, mode):
    session = clients[role].get_cookie("yardtrue")
    cookies = {"yardtrue": session.value} if session else {}
    for operation in described(app):
        if operation.body or mode == GenerationMode.POSITIVE:
            send_generated(operation, mode, cookies, lambda status: counted.update({(f"generated, {role}", status): 1}))


# Every address with hostile parts

@pytest.mark.parametrize("role", ROLES)
def test_every_address_with_hostile_parts(app, clients, counted, role):
    for rule in app.url_map.iter_rules():
        for value in HOSTILE if rule.arguments else ():
            part = quote(value, safe="", errors="surrogatepass")
            path = rule.rule.replace("<path:filename>", part).replace("<path:path>", part)
            for name in rule.arguments:
                path = path.replace(f"<{name}>", part)
            for method in rule.methods - {"OPTIONS", "HEAD"}:
                answer = clients[role].open(path, method=method, json={"entries": [], "since": 0} if rule.rule.startswith("/api/") else None)
                counted[f"addresses, {role}", answer.status_code] += 1
                examine(answer, role, path)
                assert answer.status_code != 200 or "<path:" in rule.rule and value in ("", " "), path


@pytest.mark.parametrize("path", [
    "/phone/../server/errors.py", "/phone/%2e%2e/%2e%2e/pyproject.toml", "/static/../app.py", "/static/%2e%2e/app.py", "/static/..%5capp.py",
    "/phone/jobs/../../api/jobs", "/phone/jobs/%2e%2e/index.json", "/phone//etc/passwd", "/phone/jobs/long-side-deck/..%2f..%2fx.json",
])
@pytest.mark.parametrize("role", ROLES)
def test_no_path_leads_out_of_the_tree(clients, counted, role, path):
    answer = clients[role].get(path)
    counted[f"paths, {role}", answer.status_code] += 1
    examine(answer, role)
    assert answer.status_code in (303, 308, 401, 404)


# Bodies

BODIES = {
    "oversize": b'{"entries": [], "since": 0, "x": "' + b"x" * 1024 * 1024 + b'"}',
    "deep lists": b"[" * 200_000, "deep groups": b'{"a":' * 900 + b"1" + b"}" * 900, "deep, closed": b"[" * 990 + b"]" * 990,
    "a long number": b"9" * 100_000, "a wide number": b'{"entries": [], "since": 1e999}', "not a number": b"NaN", "half": b'{"entries": [',
    "not utf-8": b"\xff\xfe{}", "empty": b"", "null": b"null", "text": b'"x"', "twice": b'{"since": 0, "since": 1, "entries": []}',
    "zero bytes": b"\0" * 1000, "a form": b"entries=1&since=0", "half characters": b'{"name": "\\ud800", "link": "\\udfff"}',
    "proto": b'{"__proto__": {"x": 1}, "constructor": 7}',
}
KINDS = ("application/json", "text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "application/json; charset=utf-16", "")


@pytest.mark.parametrize("body", BODIES)
@pytest.mark.parametrize("role", ROLES)
def test_every_address_that_takes_a_body_survives_a_hostile_one(app, clients, counted, role, body):
    for rule in app.url_map.iter_rules():
        if "POST" not in rule.methods or rule.endpoint == "desk.delete":
            continue
        path = rule.rule.replace("<job_id>", MINE)
        for kind in KINDS:
            answer = clients[role].post(path, data=BODIES[body], content_type=kind)
            counted[f"bodies, {role}", answer.status_code] += 1
            examine(answer, role, path)
    clients["crew"].post("/api/crew", json={"link": app.extensions["store"].new_link(MINE)})


# Names

@pytest.mark.parametrize("name", HOSTILE, ids=lambda name: ascii(name)[:20])
def test_a_hostile_name_is_a_name_or_a_fault_and_never_markup(app, clients, counted, name):
    desk = clients["desk"]
    text = json.dumps(bare(name=name))
    answers = [
        desk.post("/api/jobs", data=text, content_type="application/json"), desk.post("/api/check", data=text, content_type="application/json"),
        desk.post("/jobs/file", data={"text": text}), desk.post("/jobs/file", data={"file": (io.BytesIO(text.encode()), "job.json")}),
    ]
    if name.isprintable():
        answers.append(desk.post("/jobs/new", data=forms.typed_from(bare(name=name))))
    pages = ["/", "/phone/jobs/index.json", "/api/jobs"]
    for answer in answers:
        if answer.status_code in (201, 303):
            job_id = answer.headers["Location"].rpartition("/")[2]
            pages += [f"/jobs/{job_id}{part}" for part in ("", "/print", "/edit", "/delete", "/job.json", "/bundle.zip")]
            shown = desk.post(f"/jobs/{job_id}/link")
            examine(shown, "desk")
            assert "<img src=x" not in shown.text
    for answer in [*answers, *map(desk.get, pages)]:
        counted["names, desk", answer.status_code] += 1
        examine(answer, "desk")
        if answer.mimetype == "text/html":
            assert "<img src=x" not in answer.text
    assert all(one.status_code in (200, 201, 303, 400) for one in answers)


@pytest.mark.parametrize("value", [HOSTILE[0], HOSTILE[1], HOSTILE[2], HOSTILE[3], HOSTILE[8], HOSTILE[-1]], ids=lambda value: ascii(value)[:20])
def test_every_field_of_every_form_takes_a_hostile_value(clients, counted, value):
    sent = value.encode("utf-8", "replace").decode()
    for path, fields in {"/jobs/new": forms.all_fields(), "/enter": ["key"], f"/jobs/{OTHER}/frames": ["frame", "revision"]}.items():
        for field in fields:
            answer = clients["desk"].post(path, data=forms.typed_from(bare()) | {field: sent})
            counted["form fields, desk", answer.status_code] += 1
            examine(answer, "desk")
            assert "<img src=x" not in answer.text
    asked = {"/spans": ("question", "species", "live"), f"/jobs/{OTHER}/rehearse": rehearsals.FIELDS, f"/jobs/{OTHER}/frames": ("by",)}
    for path, fields in asked.items():
        for field in fields:
            answer = clients["desk"].get(path, query_string={"yards": "?", field: sent})
            counted["queries, desk", answer.status_code] += 1
            examine(answer, "desk")
            assert "<img src=x" not in answer.text


# Entries

def entry(**parts):
    return {
        "id": "h", "n": 1, "device": "d", "at": "2026-05-04T08:00:00.000Z", "revision": DIGEST, "job": MINE, "step": "heed",
        "act": 0, "kind": "reading", "from": "WL", "to": "WR", "inches": 12.0, "text": "1'", "held": False,
    } | parts


@pytest.mark.parametrize("key", [*entry(), "point", "by", "off", "strikes", "way", "what", "cannot", "seen", "new"])
def test_every_part_of_an_entry_may_be_hostile_and_the_good_one_beside_it_is_kept(app, clients, counted, key):
    strange = [*HOSTILE, None, True, 7, -1, 0, 1.5, 1e308, 10**300, [], {}, [[]], {"x": {}}, ["a"] * 100, {"d": 1}, [1e308, 1], [0, 0]]
    for kind in ("reading", "set", "move", "stake", "strike", "note", "way", "after"):
        sent = [entry(**{"id": f"{kind}-{key}-{n}", "kind": kind, "point": "NL", "by": [0, 0], key: value}) for n, value in enumerate(strange)]
        good = entry(id=f"good-{kind}-{key}")
        answer = clients["crew"].post(f"/api/jobs/{MINE}/entries", json={"entries": [*sent, good], "since": 0})
        counted["entries, crew", answer.status_code] += 1
        examine(answer, "crew", "/api/")
        assert answer.status_code == 200
        assert good["id"] in answer.json["kept"]
        assert len(answer.json["kept"]) + len(answer.json["refused"]) <= len(sent) + 1
        assert all(set(one["error"]) == SHAPE for one in answer.json["refused"])


def test_what_was_kept_of_it_folds(app, counted):
    """Nobody in the crew can stop the others' phones: every entry that was kept, alone and together, gives a state and an ask."""
    deck = document()
    with app.app_context():
        kept = bundles.store().entries(MINE)
    assert len(kept) > 500
    for some in (kept, *([one] for one in kept)):
        state = walk.fold(deck, some)
        assert walk.next_ask(deck, state)["ask"]
        assert walk.truth(deck, state)


@pytest.fixture(scope="module")
def walked():
    """A walk to its end by a crew that slips now and then."""
    memory, dice = Memory(), random.Random(3)
    walk_with(document(way=WAYS[1]), Crew(7, lambda reading: reading + (1.0 if dice.random() < 0.1 else 0.0)), memory)
    return memory.entries


@pytest.mark.parametrize("k", [0, 17, 40])
def test_one_entry_of_a_walk_with_any_part_made_hostile_is_refused_or_folds(walked, k):
    """What the check lets through on the right step and act, where the fold looks closest, gives a state all the same."""
    deck, made = document(way=WAYS[1]), walked
    strange = [*HOSTILE[:4], None, True, 7, -1, 2**53, 1e15, [], {}, [[]], {"x": {}}, [2**53, -(2**53)], "NL", "G1-1", "WL", "X1L"]
    folded = 0
    for key in [*made[k].keys() - {"id", "device", "at", "job", "revision"}, "cannot", "off", "seen", "point"]:
        for value in strange:
            changed = made[k] | {key: value}
            try:
                sync.check_text(changed, entry_text(changed), 1)
                book.check_entry(changed, deck, "1")
            except BookFault:
                continue
            state = walk.fold(deck, [*made[:k], changed])
            assert walk.next_ask(deck, state)["ask"], (key, value)
            assert walk.truth(deck, state)
            folded += 1
    assert folded > 20


# Links and sites

def test_one_jobs_link_opens_nothing_of_another(app, clients, counted):
    digest = clients["desk"].get(f"/api/jobs/{OTHER}").json["digest"]
    foreign = entry(id="foreign", job=OTHER)
    calls = [
        ("GET", f"/phone/jobs/{OTHER}/{digest}.json", {}), ("POST", f"/api/jobs/{OTHER}/entries", {"json": {"entries": [foreign], "since": 0}}),
        ("GET", f"/api/jobs/{OTHER}", {}), ("GET", f"/jobs/{OTHER}", {}), ("POST", f"/jobs/{OTHER}/delete", {}), ("POST", f"/jobs/{OTHER}/link", {}),
    ]
    for method, path, body in calls:
        answer = clients["crew"].open(path, method=method, **body)
        counted["another job, crew", answer.status_code] += 1
        examine(answer, "crew", path)
        assert answer.status_code in (303, 401, 404)
    mine = clients["crew"].post(f"/api/jobs/{MINE}/entries", json={"entries": [foreign], "since": 0})
    assert mine.json["refused"][0]["error"]["code"] == "entry-other-job"
    with app.app_context():
        assert bundles.store().entries(OTHER) == []
        assert OTHER in [job.id for job in bundles.store().jobs()]


@pytest.mark.parametrize("headers", [
    {"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"}, {"Origin": "https://elsewhere.example"}, {"Origin": "null"},
    {"Sec-Fetch-Site": "none", "Origin": "null"}, {"Sec-Fetch-Site": "nonsense"}, {"Origin": "http://localhost.elsewhere.example"},
    {"Origin": "https://["},
], ids=str)
@pytest.mark.parametrize("role", ROLES)
def test_a_post_from_another_site_does_nothing(app, clients, counted, role, headers):
    for rule in app.url_map.iter_rules():
        if "POST" not in rule.methods:
            continue
        path = rule.rule.replace("<job_id>", MINE)
        for kind in KINDS[:3]:
            answer = clients[role].post(path, data=b"{}", content_type=kind, headers=headers)
            counted[f"other sites, {role}", answer.status_code] += 1
            examine(answer, role, path)
            assert answer.status_code == 403, path
    assert clients["desk"].get(f"/api/jobs/{MINE}").status_code == 200


@pytest.mark.parametrize("header", ["Host", "Cookie", "Content-Type", "If-None-Match", "Range", "Accept", "X-Forwarded-For", "X-Forwarded-Proto", "Origin", "Content-Length"])
def test_hostile_headers(clients, counted, header):
    """Every value on every address, and from every role; not every role with every value on every address."""
    values = [value for value in HOSTILE if value.isascii() and value.isprintable()]
    addresses = ("/enter", "/phone/", "/phone/jobs/index.json", "/spans")
    for (number, value), (place, path) in product(enumerate(values), enumerate(addresses)):
        role = ROLES[(number + place) % len(ROLES)]
        given_length = {"CONTENT_LENGTH": value} if header == "Content-Length" else {}
        answer = clients[role].get(path, headers={} if given_length else {header: value}, environ_overrides=given_length)
        counted[f"headers, {role}", answer.status_code] += 1
        examine(answer, "desk")
