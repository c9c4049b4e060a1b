"""The headers of every route of the app, whoever asks and by whatever method; over TLS and behind a proxy too."""
import re

import pytest

from server.web import bundles
from tests.entered import KEY, desk_app, entered, in_crew

JOB = "long-side-deck"
ROLES = ("nobody", "crew", "desk")
POLICY = {"default-src 'self'", "object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'", "form-action 'self'"}
# What a route makes of its own: changes are asked with a body that changes nothing.
FILES = {"static": "desk.css", "shell.file": "main.js"}


@pytest.fixture(scope="module")
def app(tmp_path_factory):
    return desk_app(tmp_path_factory.mktemp("headers"), demo=True)


@pytest.fixture(scope="module")
def clients(app):
    return {"nobody": app.test_client(), "crew": in_crew(app, JOB), "desk": entered(app)}


@pytest.fixture(scope="module")
def digest(clients):
    return clients["desk"].get(f"/api/jobs/{JOB}").json["digest"]


def requests(app, digest):
    """Every route with every method: (method, path)."""
    for rule in app.url_map.iter_rules():
        path = re.sub(r"<(path:)?(filename|path)>", FILES.get(rule.endpoint, ""), rule.rule)
        path = path.replace("<job_id>", JOB).replace("<digest>", digest)
        path = re.sub(r"<[^>]+>", "x", path)
        for method in sorted(rule.methods):
            if not path.endswith("/delete") or method != "POST":
                yield method, path


def check(headers, path):
    policy = {part.strip() for part in headers["Content-Security-Policy"].split(";")}
    assert policy >= POLICY, path
    assert not re.search(r"unsafe|\*|data:|blob:|https?:", headers["Content-Security-Policy"]), path
    assert headers["X-Content-Type-Options"] == "nosniff", path
    assert headers["Referrer-Policy"] == "no-referrer", path
    assert headers["Cross-Origin-Opener-Policy"] == "same-origin", path
    # One picture is for the trust page, which is another origin.
    sharing = {"same-origin", "cross-origin"} if path == "/trust/seen.svg" else {"same-origin"}
    assert headers["Cross-Origin-Resource-Policy"] in sharing, path
    assert headers["Cache-Control"], path
    assert "Server" not in headers, path
    for cookie in headers.getlist("Set-Cookie"):
        assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= {part.strip() for part in cookie.split(";")}, path


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("scheme", ["http", "https"])
def test_every_route_carries_the_headers(app, clients, digest, role, scheme):
    seen = 0
    for method, path in requests(app, digest):
        answer = clients[role].open(path, method=method, base_url=f"{scheme}://localhost")
        check(answer.headers, path)
        assert ("Strict-Transport-Security" in answer.headers) == (scheme == "https"), path
        if scheme == "https":
            assert re.fullmatch(r"max-age=\d{7,}", answer.headers["Strict-Transport-Security"])
        seen += 1
    assert seen > 60


@pytest.mark.parametrize(("path", "status"), [
    ("/nope", 404), ("/api/nope", 404), ("/phone", 308), ("/static/nope", 404), ("/phone/nope.js", 404), ("/", 405),
])
def test_errors_and_redirects_carry_them_too(clients, path, status):
    answer = clients["desk"].open(path, method="PUT" if status == 405 else "GET")
    assert answer.status_code == status
    check(answer.headers, path)


def test_a_refused_host_and_a_crash_carry_them_too(tmp_path, monkeypatch):
    app = desk_app(tmp_path, TESTING=False, PROPAGATE_EXCEPTIONS=False)
    refused = app.test_client().get("/", headers={"Host": "<img src=x>"})
    assert (refused.status_code, refused.mimetype) == (403, "text/plain")
    check(refused.headers, "/")
    client = entered(app)
    monkeypatch.setattr("server.web.pages.row", lambda saved: 1 / 0)
    with app.app_context():
        app.extensions["store"].seed_demo(lambda job_id, spec: "x")
    crashed = client.get("/")
    assert crashed.status_code == 500
    check(crashed.headers, "/")


def test_nothing_of_a_session_is_kept_by_what_stands_between(clients, digest):
    """What only some may see is never marked fit for a shared cache, and what sets a cookie never for any."""
    for path in (f"/phone/jobs/{JOB}/{digest}.json", "/phone/jobs/index.json", "/api/jobs", "/"):
        answer = clients["desk"].get(path)
        assert answer.status_code == 200
        assert "public" not in answer.headers["Cache-Control"], path
        assert "Cookie" in answer.headers.get("Vary", ""), path
    assert "public" not in clients["nobody"].post("/enter", data={"key": KEY}).headers["Cache-Control"]
    clients["nobody"].delete_cookie("yardtrue")


def test_a_cookie_given_over_tls_is_told_only_over_tls(app):
    with app.app_context():
        bundles.cache.clear()  # of the wrong keys that the other tests sent
    told = {scheme: app.test_client().post("/enter", data={"key": KEY}, base_url=f"{scheme}://localhost").headers["Set-Cookie"]
            for scheme in ("http", "https")}
    assert ("Secure" in told["http"], "Secure" in told["https"]) == (False, True)


FORWARDED = {"X-Forwarded-Proto": "https", "X-Forwarded-Host": "deck.example", "X-Forwarded-For": "10.1.2.3, 192.0.2.7"}


def test_behind_a_proxy_its_word_counts_for_one_hop(tmp_path):
    app = desk_app(tmp_path, demo=True, BEHIND_PROXY=True, ALLOWED_HOSTS=("deck.example",))
    client = app.test_client()
    answer = client.post("/enter", data={"key": KEY}, headers=FORWARDED)
    assert "Secure" in answer.headers["Set-Cookie"]
    assert "Strict-Transport-Security" in answer.headers
    desk = entered(app)
    link = desk.post(f"/jobs/{JOB}/link", headers=FORWARDED | {"Cookie": answer.headers["Set-Cookie"].partition(";")[0]})
    assert "https://deck.example/phone/#/crew/" in link.text
    client.post("/enter", data={"key": "wrong"}, headers=FORWARDED)
    with app.app_context():
        assert bundles.cache.get("guesses 192.0.2.7")[0] == 1


def test_without_a_proxy_its_word_counts_nothing(tmp_path):
    app = desk_app(tmp_path, demo=True, ALLOWED_HOSTS=("deck.example",))
    answer = app.test_client().post("/enter", data={"key": KEY}, headers=FORWARDED)
    assert "Secure" not in answer.headers["Set-Cookie"]
    assert "Strict-Transport-Security" not in answer.headers
    link = entered(app).post(f"/jobs/{JOB}/link", headers=FORWARDED)
    assert "http://localhost/phone/#/crew/" in link.text
