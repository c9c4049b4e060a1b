"""Behind a proxy on this machine: what is believed of its headers, and what it is told when one is missing."""
from __future__ import annotations

import http.client
import threading

import pytest
from click.testing import CliRunner
from flask import request

from server.cli import main
from server.web import access, serving
from tests.entered import KEY, desk_app
from tests.lan_case import (
    PATIENCE,
    free_port,
    told_scheme,
)

FORWARDED = {"X-Forwarded-For": "203.0.113.9", "X-Forwarded-Proto": "https", "X-Forwarded-Host": "decks.example"}


@pytest.fixture
def proxied(tmp_path):
    app = desk_app(tmp_path, ALLOWED_HOSTS=("decks.example",), BEHIND_PROXY=True)
    app.add_url_rule("/secure", view_func=secure)
    return app.test_client()


@access.anyone
def secure():
    return {"secure": request.is_secure, "url": request.url, "from": request.remote_addr}


def test_a_proxy_says_scheme_host_and_whom_it_speaks_for(proxied):
    assert proxied.get("/secure", headers=FORWARDED).json == {"secure": True, "url": "https://decks.example/secure", "from": "203.0.113.9"}
    assert proxied.get("/secure").json["secure"] is False


def test_one_hop_is_believed_and_no_more(proxied):
    headers = FORWARDED | {"X-Forwarded-For": "10.9.9.9, 203.0.113.9", "X-Forwarded-Host": "evil.example, decks.example"}
    assert proxied.get("/secure", headers=headers).json["from"] == "203.0.113.9"
    assert proxied.get("/secure", headers=FORWARDED | {"X-Forwarded-Host": "evil.example"}).status_code == 403


@pytest.mark.parametrize("missing", list(FORWARDED))
def test_a_proxy_that_leaves_a_header_out_is_told_which(proxied, missing):
    given = {name: value for name, value in FORWARDED.items() if name != missing}
    answer = proxied.get("/api/jobs", headers=given)
    assert answer.status_code == 403
    assert missing in answer.text


def test_the_command_says_which_headers_and_passes_them_on(tmp_path, monkeypatch):
    """The real server, a proxy's headers on the wire: waitress drops such headers unless it is told not to."""
    monkeypatch.setenv("YARDTRUE_DESK_KEY", KEY)
    answers = []

    def serve(app, host, port):
        app.after_request(told_scheme)
        server = serving.bound(host, port, app)
        thread = threading.Thread(target=server.run, daemon=True)
        thread.start()
        line = http.client.HTTPConnection(host, port, timeout=PATIENCE)
        line.request("GET", "/trust/seen.svg", headers=FORWARDED)
        answers.append(line.getresponse().headers["Seen-As"])
        line.close()
        server.close()

    monkeypatch.setattr("server.web.serve_plain", serve)
    told = ["--port", str(free_port("127.0.0.1")), "--database", f"sqlite:///{tmp_path / 'jobs.sqlite3'}"]
    done = CliRunner().invoke(main, ["serve", "--behind-proxy", "--name", "decks.example", *told])
    assert done.exit_code == 0, done.output
    assert answers == ["https True"]
    for name in FORWARDED:
        assert name in done.output


def test_without_a_proxy_its_headers_are_not_believed(tmp_path):
    app = desk_app(tmp_path)
    app.add_url_rule("/secure", view_func=secure)
    assert app.test_client().get("/secure", headers=FORWARDED).json == {"secure": False, "url": "http://localhost/secure", "from": "127.0.0.1"}
